//! Squaring up the open plan's sheets: the pointer list, what was measured of it, and how a sheet lies
//! then.

use oddment_core::machine::Machine;
use oddment_core::plan::Job;
use oddment_core::shape::{BedSpace, Loop, Point, SheetSpace};
use oddment_core::square_up::{
    Clamp, Drawn, Feature, Measured, SquaredUp, feature_at, pointer_points, relied_on,
    tightest_spot,
};
use oddment_files::job_file::{PointAt, SheetLay};

use crate::open_job::OpenJob;

/// How far off the pointer may be, mm.
const POINTER: f64 = 0.5;
/// Two places (mm) on the sheet are one.
const SAME: f64 = 0.02;
/// Points on the list, at most, and the letter of the tightest spot.
const MOST: usize = 6;
const TIGHTEST: char = 'T';

/// What can be said of how the sheet that is shown lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LayAct {
    /// A place of the sheet was hit there on the bed, or was not measured.
    Measure(Point<SheetSpace>, Option<Point<BedSpace>>),
    /// What was hit for the first place was the second.
    Instead(Point<SheetSpace>, Point<SheetSpace>),
    /// Where this place was hit counts for nothing, or counts again.
    LeaveOut(Point<SheetSpace>, bool),
    /// A place of the pointer list was driven to and hit, or not.
    Tick(Point<SheetSpace>, bool),
    /// What is nearest to this, a corner, a hole's middle or a place of an edge, is to be measured too, or no more.
    Also(Point<SheetSpace>, bool),
    /// A clamp's lower left corner on the bed, a new clamp, or none of this number any more.
    Clamp(ClampAct),
    /// Forget all that was measured.
    Forget,
    /// Move what became short to the nearest clear place.
    Snug,
    /// Write into the rack how much surer edges are known now.
    WriteBack,
}

/// What can be done with clamps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClampAct {
    /// One more, its lower left corner there.
    Add(Point<BedSpace>),
    /// This one's lower left corner goes there.
    Move(usize, Point<BedSpace>),
    /// This one is taken off.
    Remove(usize),
}

/// Side of a clamp, mm.
pub const CLAMP: f64 = 80.0;

/// A place of the pointer list.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pointed {
    /// Its letter.
    pub letter: char,
    /// What the dot must hit.
    pub feature: Feature,
    /// The part beside it, by its place in the layout's list, where it is the tightest spot.
    pub beside: Option<usize>,
    /// Where it was hit.
    pub on_bed: Option<Point<BedSpace>>,
    /// Whether it was ticked off.
    pub ticked: bool,
    /// Whether a person put it on the list.
    pub asked_for: bool,
    /// Whether where it was hit counts for nothing.
    pub left_out: bool,
}

/// The pointer list of a layout, the tightest spot first and last what a person put on it, with what was said of
/// it.
pub fn pointer_list(open: &OpenJob, layout: usize) -> Vec<Pointed> {
    let job = open.job();
    let Some(laid) = open.plan.layouts.get(layout).filter(|l| l.is_known(job)) else {
        return Vec::new();
    };
    let sheet = &job.stock[laid.stock].sheet;
    let lay = lay_of(open, &sheet.name);
    let with = |letter: char, feature: Feature, beside: Option<usize>| {
        let said = lay.and_then(|l| l.points.iter().find(|p| p.at.distance(feature.at()) < SAME));
        let on_bed = said.and_then(|p| p.on_bed);
        let ticked = said.is_some_and(|p| p.ticked);
        let left_out = said.is_some_and(|p| p.left_out);
        Pointed { letter, feature, beside, on_bed, ticked, asked_for: false, left_out }
    };
    let spot = tightest_spot(job, laid).map(|s| with(TIGHTEST, s.feature, Some(s.placed)));
    let mut letters = ('A'..='Z').filter(|l| *l != TIGHTEST);
    let seen = pointer_points(sheet).into_iter().zip(letters.by_ref());
    let seen = seen.map(|(f, letter)| with(letter, f, None));
    let mut list: Vec<Pointed> = spot.into_iter().chain(seen).take(MOST).collect();
    let asked = lay.iter().flat_map(|l| &l.points).filter(|p| p.asked_for);
    let asked = asked.filter_map(|p| feature_at(sheet, p.at, SAME));
    let others: Vec<Pointed> = asked
        .filter(|f| list.iter().all(|p| p.feature.at().distance(f.at()) >= SAME))
        .zip(letters)
        .map(|(f, letter)| Pointed { asked_for: true, ..with(letter, f, None) })
        .collect();
    list.extend(others);
    list
}

/// What was said of how a sheet lies.
pub fn lay_of<'a>(open: &'a OpenJob, sheet: &str) -> Option<&'a SheetLay> {
    open.sourced.cut.lays.iter().find(|l| l.sheet == sheet)
}

/// What was measured of a layout's sheet and counts.
pub fn measured(open: &OpenJob, layout: usize) -> Vec<Measured> {
    let points = pointer_list(open, layout).into_iter().filter(|p| !p.left_out);
    let hit =
        |p: Pointed| Some(Measured { feature: p.feature, at: p.on_bed?, give_or_take: POINTER });
    points.filter_map(hit).collect()
}

/// How a layout's sheet lies on a machine's bed, by what was measured; `None` where that can't be
/// relied on. `head` is how far (mm) the head keeps from clamps.
pub fn squared_up(
    open: &OpenJob,
    layout: usize,
    machine: Option<&Machine>,
    head: f64,
) -> Option<SquaredUp> {
    let mut s = SquaredUp::new(&relied_on(&measured(open, layout))?)?;
    s.bed = machine.map(|m| m.bed);
    s.drawn = match machine {
        Some(m) if m.turns => Drawn::OnSheet,
        Some(_) => Drawn::Turned,
        None => Drawn::OnBed,
    };
    s.ticked = pointer_list(open, layout).iter().all(|p| p.ticked);
    let name = &open.job().stock[open.plan.layouts[layout].stock].sheet.name;
    let clamps = lay_of(open, name).map_or(&[][..], |l| l.clamps.as_slice());
    let clamp = |(n, b): (usize, &oddment_core::shape::Bounds<BedSpace>)| {
        let shape = Loop::rectangle(b.min, b.max).ok()?;
        Some(Clamp { name: format!("clamp {}", n + 1), shape, clearance: head })
    };
    s.clamps = clamps.iter().enumerate().filter_map(clamp).collect();
    Some(s)
}

/// Changes what is said of a sheet; measuring anew takes the ticks back, for they were of another lay.
pub(crate) fn change(lays: &mut Vec<SheetLay>, sheet: &str, act: &LayAct) {
    if !lays.iter().any(|l| l.sheet == sheet) {
        lays.push(SheetLay { sheet: sheet.to_owned(), ..SheetLay::default() });
    }
    let Some(lay) = lays.iter_mut().find(|l| l.sheet == sheet) else { return };
    let said = |lay: &mut SheetLay, at: Point<SheetSpace>| -> usize {
        let known = lay.points.iter().position(|p| p.at.distance(at) < SAME);
        known.unwrap_or_else(|| {
            lay.points.push(PointAt {
                at,
                on_bed: None,
                ticked: false,
                asked_for: false,
                left_out: false,
            });
            lay.points.len() - 1
        })
    };
    match *act {
        LayAct::Measure(at, on_bed) => {
            let n = said(lay, at);
            lay.points[n].on_bed = on_bed;
            // With another measurement all may agree.
            lay.points.iter_mut().for_each(|p| (p.ticked, p.left_out) = (false, false));
        }
        LayAct::LeaveOut(at, left_out) => {
            let n = said(lay, at);
            lay.points[n].left_out = left_out;
            lay.points.iter_mut().for_each(|p| p.ticked = false);
        }
        LayAct::Instead(taken_for, really) => {
            let n = said(lay, taken_for);
            let on_bed = lay.points[n].on_bed.take();
            let n = said(lay, really);
            lay.points[n].on_bed = on_bed;
            lay.points[n].asked_for = true;
            lay.points.iter_mut().for_each(|p| (p.ticked, p.left_out) = (false, false));
        }
        LayAct::Tick(at, ticked) => {
            let n = said(lay, at);
            lay.points[n].ticked = ticked;
        }
        LayAct::Also(at, true) => {
            let n = said(lay, at);
            lay.points[n].asked_for = true;
        }
        LayAct::Also(at, false) => lay.points.retain(|p| p.at.distance(at) >= SAME),
        LayAct::Clamp(act) => {
            let square = |min: Point<BedSpace>| oddment_core::shape::Bounds {
                min,
                max: min + oddment_core::shape::Vector::new(CLAMP, CLAMP),
            };
            match act {
                ClampAct::Add(at) => lay.clamps.push(square(at)),
                ClampAct::Move(n, at) => {
                    if let Some(clamp) = lay.clamps.get_mut(n) {
                        *clamp = square(at);
                    }
                }
                ClampAct::Remove(n) if n < lay.clamps.len() => {
                    lay.clamps.remove(n);
                }
                ClampAct::Remove(_) => {}
            }
        }
        LayAct::Forget => lay.points.clear(),
        LayAct::Snug | LayAct::WriteBack => {}
    }
    lays.retain(|l| !l.points.is_empty() || !l.clamps.is_empty());
}

/// A sheet's edges known so much surer, in the open job.
pub(crate) fn sharpen(job: &mut Job, stock: usize, edges: &[(usize, usize, f64)]) {
    let Some(stock) = job.stock.get_mut(stock) else { return };
    let bodies = stock.sheet.bodies.iter_mut();
    let contours = bodies.flat_map(|b| std::iter::once(&mut b.outer).chain(&mut b.cutouts));
    for (n, contour) in contours.enumerate() {
        let mut facts = contour.facts().to_vec();
        for (_, edge, mm) in edges.iter().filter(|e| e.0 == n) {
            if let Some(facts) = facts.get_mut(*edge) {
                facts.give_or_take = *mm;
            }
        }
        if let Some(known) =
            oddment_core::sheet::Contour::with_facts(contour.shape().clone(), facts)
        {
            *contour = known;
        }
    }
}

#[cfg(test)]
mod tests {
    use oddment_core::shape::{Pose, Vector};
    use oddment_core::sheet::{Contour, EdgeFacts};
    use oddment_core::square_up::{Sharper, sharper};

    use super::*;
    use crate::trial::{open, placement, rectangle, sheet_with_hole};

    fn laid() -> OpenJob {
        let mut open = open(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 1)]);
        let slot = open.slots()[0];
        open.lay(slot, placement(0, 300.0, 280.0));
        open
    }

    #[test]
    fn a_sheet_is_squared_up_by_what_was_hit_and_clear_as_laid_once_all_is_ticked_off() {
        let mut open = laid();
        let list = pointer_list(&open, 0);
        assert_eq!(list[0].letter, 'T');
        // The plate's right side is 60 mm from the hole's edge: nothing old is nearer.
        assert!(list[0].feature.distance(Point::new(460.0, 300.0)) < 2.0, "{:?}", list[0]);
        let lies = Pose::<SheetSpace, BedSpace>::new(Vector::new(80.0, 40.0), 0.03, false);
        assert!(squared_up(&open, 0, None, 10.0).is_none());
        for p in &list[1..4] {
            let act = LayAct::Measure(p.feature.at(), Some(lies.apply(p.feature.at())));
            change(&mut open.job_mut().cut.lays, "R-1", &act);
        }
        let s = squared_up(&open, 0, None, 10.0).unwrap();
        assert!((s.pose().shift.x - 80.0).abs() < 1e-6 && (s.pose().turn - 0.03).abs() < 1e-9);
        assert!(!s.ticked);
        for p in pointer_list(&open, 0) {
            change(&mut open.job_mut().cut.lays, "R-1", &LayAct::Tick(p.feature.at(), true));
        }
        assert!(squared_up(&open, 0, None, 10.0).unwrap().ticked);
        // What moves the tightest spot makes it one more place to drive to.
        open.plan.layouts[0].placements[0].pose.shift.y += 40.0;
        assert!(!squared_up(&open, 0, None, 10.0).unwrap().ticked);
        open.plan.layouts[0].placements[0].pose.shift.y -= 40.0;
        // A place hit in place of another is that one's.
        let (first, last) = (list[1].feature.at(), list[4].feature.at());
        let hit = |open: &OpenJob, n: usize| pointer_list(open, 0)[n].on_bed;
        let was = hit(&open, 1);
        change(&mut open.job_mut().cut.lays, "R-1", &LayAct::Instead(first, last));
        assert_eq!((hit(&open, 1), hit(&open, 4)), (None, was));
        change(&mut open.job_mut().cut.lays, "R-1", &LayAct::Instead(last, first));
        assert_eq!((hit(&open, 1), hit(&open, 4)), (was, None));
        // So does measuring anew.
        let act = LayAct::Measure(list[1].feature.at(), Some(lies.apply(list[1].feature.at())));
        change(&mut open.job_mut().cut.lays, "R-1", &act);
        assert!(!squared_up(&open, 0, None, 10.0).unwrap().ticked);
        change(&mut open.job_mut().cut.lays, "R-1", &LayAct::Forget);
        assert!(open.sourced.cut.lays.is_empty());
    }

    #[test]
    fn an_edge_that_a_person_puts_on_the_list_is_known_better_once_it_was_measured() {
        let mut sheet = sheet_with_hole();
        // The left edge is from a photograph.
        let facts = [0.5, 0.5, 0.5, 3.0]
            .map(|give_or_take| EdgeFacts { give_or_take, ..EdgeFacts::default() });
        let outer = sheet.bodies[0].outer.shape().clone();
        sheet.bodies[0].outer = Contour::with_facts(outer, facts.to_vec()).unwrap();
        let mut open = open(sheet.clone(), vec![(rectangle("plate", 100.0, 60.0), 1)]);
        let slot = open.slots()[0];
        open.lay(slot, placement(0, 300.0, 280.0));
        let lies = Pose::<SheetSpace, BedSpace>::new(Vector::new(80.0, 40.0), 0.03, false);
        let left = [Point::new(0.0, 60.0), Point::new(0.0, 540.0)];
        // One on the bottom edge too: the turn is known better then.
        let places = [left[0], left[1], Point::new(60.0, 0.0)];
        for at in places {
            change(&mut open.job_mut().cut.lays, "R-1", &LayAct::Also(at, true));
        }
        let list = pointer_list(&open, 0);
        let asked: Vec<&Pointed> = list.iter().filter(|p| p.asked_for).collect();
        assert_eq!(asked.len(), 3);
        assert!(asked.iter().all(|p| places.iter().any(|l| l.distance(p.feature.at()) < 1e-9)));
        // Two corners on the right, and the three places.
        let right: Vec<_> = list.iter().filter(|p| p.feature.at().x > 999.0).take(2).collect();
        for p in right.into_iter().chain(asked) {
            let at = p.feature.at();
            let act = LayAct::Measure(at, Some(lies.apply(at)));
            change(&mut open.job_mut().cut.lays, "R-1", &act);
        }
        let measured = measured(&open, 0);
        assert_eq!(measured.len(), 5);
        let fit = relied_on(&measured).unwrap();
        let known = sharper(&sheet, &measured, &fit);
        let on_left = |s: &Sharper| {
            let edge = sheet.bodies[0].outer.shape().edges().nth(s.edge).unwrap();
            s.contour == 0 && edge.at(0.5).x.abs() < 1e-9 && s.is < s.was
        };
        assert!(known.iter().any(on_left), "{known:?}");
        change(&mut open.job_mut().cut.lays, "R-1", &LayAct::Also(left[0], false));
        assert_eq!(pointer_list(&open, 0).iter().filter(|p| p.asked_for).count(), 2);
    }

    #[test]
    fn the_middle_of_a_hole_goes_on_the_list_and_letters_follow_each_other() {
        let outer = Loop::rectangle(Point::origin(), Point::new(1000.0, 600.0)).unwrap();
        let holes = [(470.0, 300.0), (500.0, 300.0), (530.0, 300.0)];
        let holes = holes.map(|(x, y)| Loop::circle(Point::new(x, y), 6.0).unwrap());
        let region = oddment_core::shape::Region::new(outer, holes.to_vec());
        let sheet = oddment_core::sheet::Sheet::new("R-1", &[region], EdgeFacts::default());
        let mut open = open(sheet, vec![(rectangle("plate", 100.0, 60.0), 1)]);
        let slot = open.slots()[0];
        open.lay(slot, placement(0, 300.0, 80.0));
        for at in [Point::new(530.0, 300.0), Point::new(700.0, 0.0)] {
            change(&mut open.job_mut().cut.lays, "R-1", &LayAct::Also(at, true));
        }
        let list = pointer_list(&open, 0);
        let letters: String = list.iter().map(|p| p.letter).collect();
        assert_eq!(letters, "TABCDEFG", "{list:?}");
        let asked: Vec<Feature> = list.iter().filter(|p| p.asked_for).map(|p| p.feature).collect();
        assert!(asked[0].is_point() && asked[0].at() == Point::new(530.0, 300.0), "{asked:?}");
        assert!(!asked[1].is_point() && asked[1].at().distance(Point::new(700.0, 0.0)) < 1e-9);
        // A dot anywhere along the edge is on it.
        let lies = Pose::<SheetSpace, BedSpace>::new(Vector::new(80.0, 40.0), 0.03, false);
        let beside = lies.apply(Point::new(740.0, 0.4));
        assert!((asked[1].off(&lies, beside) - 0.4).abs() < 1e-9);
    }

    #[test]
    fn clamps_are_added_moved_and_taken_off() {
        let mut lays = Vec::new();
        let mut clamp = |act| change(&mut lays, "S", &LayAct::Clamp(act));
        clamp(ClampAct::Add(Point::new(10.0, 20.0)));
        clamp(ClampAct::Add(Point::new(500.0, 20.0)));
        clamp(ClampAct::Move(1, Point::new(600.0, 30.0)));
        clamp(ClampAct::Remove(0));
        clamp(ClampAct::Remove(7));
        assert_eq!(lays[0].clamps.len(), 1);
        assert_eq!(lays[0].clamps[0].min, Point::new(600.0, 30.0));
        assert_eq!(lays[0].clamps[0].width(), CLAMP);
    }
}
