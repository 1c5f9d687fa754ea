//! Common cuts: what the check allows, and that what is shared is cut once.

use oddment_core::check::{Fault, check as check_plan};
use oddment_core::cutting::legs::Doing;
use oddment_core::cutting::tabs::{Gap, point_at};
use oddment_core::cutting::warnings::Concern;
use oddment_core::cutting::{Cut, PassKind};
use oddment_core::distances::Clearances;
use oddment_core::part::Part;
use oddment_core::plan::{Job, Layout, Placement, Plan};
use oddment_core::shape::{Edge, Loop, Point, Pose, Region, SheetSpace, Vector};
use proptest::prelude::*;

use crate::cuts::{KERF, cut, facts, job, laid, rectangle};

fn sharing(parts: Vec<Part>) -> Job {
    let mut job = job(parts, vec![]);
    job.clearances = Clearances { common: true, ..job.clearances };
    job
}

fn plain(w: f64, h: f64) -> Part {
    Part::new("plain", Region::new(rectangle(0.0, 0.0, w, h), vec![]))
}

fn faults(job: &Job, placements: &[Placement]) -> Vec<Fault> {
    let layout = Layout { stock: 0, placements: placements.to_vec() };
    check_plan(job, Plan { layouts: vec![layout] }).report().faults.clone()
}

/// Two plates, the second to the right of the first by so much.
#[track_caller]
fn check(second: Part, apart: f64, up: f64, clear: bool) {
    let job = sharing(vec![plain(100.0, 60.0), second]);
    // However the two are turned together.
    for turn in [0.0, 0.3546183807567797, 1.1, 2.5] {
        let about = Pose::<SheetSpace, SheetSpace>::new(Vector::new(500.0, 250.0), turn, false);
        let placed = |part, x, y| {
            let pose = about.after(&Pose::shifted(Vector::new(x, y)));
            Placement { part, copy: 1, pose, locked: false }
        };
        let placements = [placed(0, 0.0, 0.0), placed(1, 100.0 + apart, up)];
        let found = faults(&job, &placements);
        assert_eq!(found.is_empty(), clear, "turned by {turn}: {found:?}");
        // Where nobody has said that cuts may be shared they may not.
        let mut usual = job.clone();
        usual.clearances.common = false;
        assert!(!faults(&usual, &placements).is_empty());
    }
}

/// A plate whose left side is 30 mm long, with sides that lean away from it by so many degrees.
fn leaning(degrees: f64) -> Part {
    let x = 40.0;
    let out = x / f64::to_radians(degrees).tan();
    let corners = [(0.0, 0.0), (x, -out), (x, 30.0 + out), (0.0, 30.0)];
    let outline = Loop::polygon(corners.map(|(x, y)| Point::new(x, y))).unwrap();
    Part::new("leaning", Region::new(outline, vec![]))
}

#[test]
fn straight_edges_may_lie_one_kerf_apart_and_no_nearer_or_farther_but_as_usual() {
    check(plain(80.0, 60.0), KERF, 0.0, true);
    check(plain(80.0, 40.0), KERF, 10.0, true);
    check(plain(80.0, 60.0), KERF, 50.0, true);
    check(plain(80.0, 60.0), KERF - 0.01, 0.0, false);
    check(plain(80.0, 60.0), KERF + 0.01, 0.0, false);
    check(plain(80.0, 60.0), 2.0 * KERF, 0.0, false);
    // Too little of the edges lies side by side.
    check(plain(80.0, 60.0), KERF, 57.0, false);
    // Round ends meet in a point.
    let disc = Region::new(Loop::circle(Point::new(30.0, 30.0), 30.0).unwrap(), vec![]);
    check(Part::new("disc", disc), KERF, 0.0, false);
}

#[test]
fn no_narrow_sliver_stays_beside_a_common_cut() {
    check(leaning(90.0), KERF, 15.0, true);
    check(leaning(45.0), KERF, 15.0, true);
    check(leaning(20.0), KERF, 15.0, false);
}

#[test]
fn two_plates_are_cut_round_but_for_the_edge_that_is_made() {
    let job = sharing(vec![plain(100.0, 60.0)]);
    let placements = vec![laid(0, 1, 100.0, 100.0, 0.0), laid(0, 2, 200.0 + KERF, 100.0, 0.0)];
    let mut facts = facts();
    facts.tabs = false;
    let cut = cut(&job, placements, &facts, &Default::default());
    let round = 2.0 * (100.0 + 60.0 + 2.0 * KERF);
    let leads: f64 = cut.passes.iter().map(lead).sum();
    assert!((cut.length - leads - (2.0 * round - (60.0 + KERF))).abs() < 1e-6);
    let [first, second] = &cut.passes[..] else { panic!("{cut:?}") };
    assert!(first.shared.is_empty() && second.shared.len() == 1);
    assert_eq!(cut.pierces, 2, "from the edge that is made the second goes on without a pierce");
    // What a machine is given that keeps half a kerf off by itself: three sides of the second.
    let outline = rectangle::<oddment_core::shape::PartSpace>(0.0, 0.0, 100.0, 60.0)
        .placed::<SheetSpace>(&Pose::shifted(Vector::new(
            if second.placed == Some(0) { 100.0 } else { 200.0 + KERF },
            100.0,
        )));
    let open: f64 = second.unshared(&outline).unwrap().iter().flatten().map(Edge::length).sum();
    assert!((open - (2.0 * 100.0 + 60.0)).abs() < 1e-6, "{open}");
    assert_eq!(first.unshared(&outline), None);
}

/// Plates with a round hole each in a strip across the sheet, their edges shared.
fn strip_of_plates(count: usize) -> (Job, Vec<Placement>) {
    let hole = Loop::circle(Point::new(50.0, 30.0), 12.0).unwrap();
    let plate = Part::new("plate", Region::new(rectangle(0.0, 0.0, 100.0, 60.0), vec![hole]));
    let placements =
        (0..count).map(|n| laid(0, n + 1, 700.0, 50.0 + (60.0 + KERF) * n as f64, 0.0));
    (sharing(vec![plate]), placements.collect())
}

#[test]
fn in_a_strip_one_part_follows_beside_the_other_and_no_hole_after_an_edge_of_its_outline() {
    let (job, placements) = strip_of_plates(8);
    for (heat_apart, tabs) in [(0.0, false), (0.0, true), (150.0, false), (150.0, true)] {
        let mut facts = facts();
        (facts.order.heat_apart, facts.tabs) = (heat_apart, tabs);
        let cut = cut(&job, placements.clone(), &facts, &Default::default());
        assert_eq!(cut.passes.len(), 16);
        let mut gone: Vec<usize> = Vec::new();
        let mut holes: Vec<usize> = Vec::new();
        for pass in &cut.passes {
            let placed = pass.placed.unwrap();
            let beside = |n: usize| n.abs_diff(placed) == 1;
            if pass.kind == PassKind::Hole {
                assert!(!gone.iter().any(|n| beside(*n)), "a hole beside a part that is gone");
                holes.push(placed);
                continue;
            }
            let both = gone.iter().filter(|n| beside(**n)).count() == 2;
            assert!(!both, "left over between two that are gone: {gone:?}, {placed}");
            let neighbours = (0..8).filter(|n| beside(*n) && !gone.contains(n));
            assert!(neighbours.chain([placed]).all(|n| holes.contains(&n)));
            gone.push(placed);
        }
    }
}

#[test]
fn along_a_slot_beside_a_freed_part_the_head_is_lifted_and_what_may_tip_is_told() {
    let (job, placements) = strip_of_plates(4);
    for tabs in [false, true] {
        let mut facts = facts();
        facts.tabs = tabs;
        let cut = cut(&job, placements.clone(), &facts, &Default::default());
        let (mut low, mut lifted) = (0, 0);
        for pass in cut.passes.iter().filter(|p| !p.shared.is_empty()) {
            let legs = &cut.legs[pass.legs.clone()];
            let cuts = legs.iter().position(|l| l.doing == Doing::Cutting).unwrap();
            let doing = |doing| legs[cuts..].iter().filter(|l| l.doing == doing).count();
            low += doing(Doing::AlongCut);
            lifted += doing(Doing::Moving { lifted: true });
        }
        // Plates of 100 mm may tip on slats 75 mm apart: with tabs none of them is free.
        assert_eq!((low, lifted), if tabs { (3, 0) } else { (0, 3) });
        let told = cut.warnings.iter().any(|w| w.concern == Concern::OverFreed);
        assert_eq!(told, !tabs);
    }
}

fn lead(pass: &oddment_core::cutting::Pass) -> f64 {
    pass.start.iter().flat_map(|s| &s.lead).chain(&pass.out).map(Edge::length).sum()
}

/// Two rows of plates with their edges shared, one row shifted along the other, the whole turned.
fn rows() -> impl Strategy<Value = (Vec<Part>, Vec<Placement>)> {
    let widths = prop::collection::vec(20.0..80.0_f64, 1..5);
    (widths.clone(), widths, 20.0..60.0_f64, 20.0..60.0_f64, -30.0..30.0_f64, 0.0..0.6_f64)
        .prop_map(|(low, high, h_low, h_high, shift, turn)| {
            let (mut parts, mut placements) = (Vec::new(), Vec::new());
            let about = Pose::<SheetSpace, SheetSpace>::new(Vector::new(400.0, 150.0), turn, false);
            for (widths, h, x, y) in [(low, h_low, 0.0, 0.0), (high, h_high, shift, h_low + KERF)] {
                let mut x = x;
                for w in widths {
                    let pose = about.after(&Pose::shifted(Vector::new(x, y)));
                    let part = parts.len();
                    placements.push(Placement { part, copy: 1, pose, locked: false });
                    parts.push(plain(w, h));
                    x += w + KERF;
                }
            }
            (parts, placements)
        })
}

/// How often the beam, cutting, runs over a point.
fn times_cut(cut: &Cut, at: Point<SheetSpace>) -> usize {
    let over = |pass: &oddment_core::cutting::Pass| {
        pass.pieces().iter().flatten().any(|e| e.nearest(at).distance(at) < 2e-3)
    };
    cut.passes.iter().filter(|p| over(p)).count()
}

proptest! {
    #[test]
    fn all_of_every_outline_is_cut_and_what_is_shared_once((parts, placements) in rows()) {
        let job = sharing(parts);
        // Where edges of the two rows meet over less than 5 mm they share no cut: then one row alone.
        let mut placements = placements;
        if !faults(&job, &placements).is_empty() {
            let low = placements[0].pose.shift;
            let up = Vector::at_angle(placements[0].pose.turn).left();
            placements.retain(|p| up.dot(p.pose.shift - low) < 1.0);
        }
        prop_assert_eq!(faults(&job, &placements), vec![]);
        for tabs in [false, true] {
            let mut facts = facts();
            facts.tabs = tabs;
            let cut = cut(&job, placements.clone(), &facts, &Default::default());
            prop_assert_eq!(cut.passes.len(), placements.len());
            for pass in &cut.passes {
                prop_assert_eq!(pass.kind, PassKind::Outline);
                let total: f64 = pass.run.iter().map(Edge::length).sum();
                let held = pass.tabs.iter().copied().map(Gap::from).collect::<Vec<_>>();
                for n in 0..200 {
                    let along = (f64::from(n) + 0.5) / 200.0 * total;
                    let at = point_at(&pass.run, along);
                    let on_tab = held.iter().any(|g| (g.from..g.to).contains(&along));
                    let times = times_cut(&cut, at);
                    // Where pieces begin and end it is a matter of micrometres.
                    let at_an_end = cut.passes.iter().any(|p| {
                        let pieces = p.pieces();
                        let mut ends = pieces.iter().flatten().flat_map(|e| [e.from(), e.to()]);
                        ends.any(|end| end.distance(at) < 0.01)
                    });
                    prop_assert!(at_an_end || times == usize::from(!on_tab), "{times} at {at:?}");
                }
                for gap in held {
                    let other = |p: &&oddment_core::cutting::Pass| p.placed != pass.placed;
                    let middle = point_at(&pass.run, 0.5 * (gap.from + gap.to));
                    let off = cut.passes.iter().filter(other).flat_map(|p| &p.run)
                        .map(|e| e.nearest(middle).distance(middle))
                        .fold(f64::INFINITY, f64::min);
                    prop_assert!(off > 0.5 * (gap.to - gap.from), "a tab on a common cut");
                }
            }
        }
    }
}
