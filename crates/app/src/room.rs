//! The room around parts that are being moved: distances, sliding along what they touch, and the
//! nearest clear place.
//!
//! A distance changes by no more than the part moves, so a part may go as far as its least spare
//! without looking again. Where it touches, the part of the motion that leads into the obstacle is
//! taken away (it slides along the tangent), and what is left over from curves is put right by
//! pushing it out along the line of the gap.

use oddment_core::check::{Around, Near, Scene};
use oddment_core::cutting::common::shifts_to_share;
use oddment_core::plan::{Job, Layout, Placement};
use oddment_core::shape::{Bounds, EdgeSet, PartSpace, Point, Pose, SheetSpace, Vector};

/// Spares under this (mm) count as touching; a hundredth of what the check forgives.
const TOUCH: f64 = 1e-5;

/// Steps shorter than this (mm) are not worth the time of a frame; where a part touches is found
/// exactly all the same, by pushing it out.
const LEAST_STEP: f64 = 0.05;

/// Looks at the surroundings in one go: what is not reached by then is reached in the next frame.
const LOOKS: usize = 48;

/// Looks at the surroundings while the nearest clear place is looked for: as long as nobody feels the
/// window wait.
const SNUG_LOOKS: usize = 1500;

/// How far (mm) a sliding part looks ahead at a time.
const SIGHT: f64 = 60.0;

/// Contacts nearer than this (mm) steer the sliding.
const CONTACT: f64 = 2e-3;

/// Everything on one sheet that must stay clear of what is moved. Making one costs as much as a
/// small check, so it is made once per drag.
#[derive(Debug)]
pub struct Room {
    scene: Scene,
    moved: Vec<bool>,
    /// The width of a slot that two parts may share.
    common_cut: Option<f64>,
}

impl Room {
    /// The room on a sheet of `stock` with what `layout` has on it, but for the placements that
    /// `moved` says are being moved.
    pub fn new(
        job: &Job,
        stock: usize,
        layout: Option<&Layout>,
        moved: impl Fn(&Placement) -> bool,
    ) -> Self {
        let empty = Layout { stock, placements: Vec::new() };
        let layout = layout.unwrap_or(&empty);
        Self {
            scene: Scene::new(job, layout),
            moved: layout.placements.iter().map(moved).collect(),
            common_cut: job.clearances.common_cut(),
        }
    }

    /// All that has less than `within` mm to spare from these shapes, the tightest first.
    pub fn near(&self, shapes: &[EdgeSet<SheetSpace>], within: f64) -> Vec<Near> {
        let mut found: Vec<Near> = shapes
            .iter()
            .flat_map(|shape| self.scene.near(shape, |i| !self.moved[i], within))
            .collect();
        found.sort_by(|a, b| a.spare().total_cmp(&b.spare()));
        found
    }

    /// Whether these shapes, shifted, keep every distance.
    pub fn is_clear(&self, shapes: &[EdgeSet<SheetSpace>], shift: Vector) -> bool {
        self.near(&shifted(shapes, shift), 0.0).iter().all(|n| n.spare() >= -TOUCH)
    }

    /// How far the shapes go from the clear shift `from` toward `to`: straight there when it is
    /// clear, else sliding along what they meet.
    pub fn slide(&self, shapes: &[EdgeSet<SheetSpace>], from: Vector, to: Vector) -> Vector {
        if self.is_clear(shapes, to) {
            return to;
        }
        let mut looking = Looking::new(self, shapes);
        let mut at = from;
        while looking.looks < LOOKS {
            let left = to - at;
            if left.length() < TOUCH {
                break;
            }
            let near = looking.near(at, left.length().min(SIGHT) + CONTACT);
            let walls: Vec<Vector> =
                near.iter().filter(|n| n.spare() < CONTACT).filter_map(away).collect();
            let Some(along) = along_walls(left, &walls) else { break };
            let open = near.iter().map(Near::spare).find(|s| *s >= CONTACT).unwrap_or(SIGHT);
            let mut step = along.length().min(open.max(1.0));
            let Some(unit) = along.unit() else { break };
            let reached = loop {
                let tried = looking.settle(at + unit * step, step);
                if let Some(place) = tried
                    && (to - place).length() < left.length() - LEAST_STEP * 0.1
                {
                    break Some(place);
                }
                step *= 0.5;
                if step < LEAST_STEP || looking.looks > LOOKS {
                    break None;
                }
            };
            match reached {
                Some(place) => at = place,
                None => break,
            }
        }
        at
    }

    /// How far the shapes go from the clear shift `from` straight along the unit vector `way`
    /// before something stops them.
    pub fn push(&self, shapes: &[EdgeSet<SheetSpace>], from: Vector, way: Vector) -> Vector {
        const STRIDE: f64 = 4.0;
        let mut far = 0.0;
        while far < 1e5 && self.is_clear(shapes, from + way * (far + STRIDE)) {
            far += STRIDE;
        }
        let mut blocked = far + STRIDE;
        while blocked - far > TOUCH {
            let middle = 0.5 * (far + blocked);
            if self.is_clear(shapes, from + way * middle) {
                far = middle;
            } else {
                blocked = middle;
            }
        }
        from + way * far
    }

    /// What is nearest, at most four in different directions, the nearest first.
    pub fn nearest(&self, shapes: &[EdgeSet<SheetSpace>]) -> Vec<Near> {
        // Looking far costs: as far as two are found.
        let mut kept = Vec::new();
        for within in [40.0, 160.0, 640.0, f64::INFINITY] {
            kept = in_different_directions(self.near(shapes, within));
            if kept.len() > 1 {
                break;
            }
        }
        kept
    }

    /// The nearest clear shift found around `at`, at most `reach` mm away and not after long.
    pub fn snug(&self, shapes: &[EdgeSet<SheetSpace>], at: Vector, reach: f64) -> Option<Vector> {
        let mut looking = Looking::new(self, shapes);
        if let Some(place) = looking.settle(at, reach.min(20.0)) {
            return Some(place);
        }
        let mut radius = 1.0;
        while radius <= reach && looking.looks < SNUG_LOOKS {
            let ring: Vec<Vector> = (0..24)
                .filter_map(|i| {
                    let way = Vector::at_angle(f64::from(i) * std::f64::consts::TAU / 24.0);
                    looking.settle(at + way * radius, radius * 0.5)
                })
                .collect();
            let best = ring
                .into_iter()
                .map(|place| self.slide(shapes, place, at))
                .min_by(|a, b| (*a - at).length_squared().total_cmp(&(*b - at).length_squared()));
            if best.is_some() {
                return best;
            }
            radius *= 1.6;
        }
        None
    }

    /// The clear shift nearest to `at`, at most `reach` mm away, with which one of the shapes shares a
    /// cut with a part that lies there.
    pub fn share_cut(
        &self,
        shapes: &[EdgeSet<SheetSpace>],
        at: Vector,
        reach: f64,
    ) -> Option<Vector> {
        let kerf = self.common_cut?;
        let now = shifted(shapes, at);
        let others = self.scene.laid().iter().zip(&self.moved).filter(|(_, moved)| !**moved);
        let mut ways: Vec<Vector> = others
            .flat_map(|(other, _)| now.iter().map(move |shape| (shape, other)))
            .flat_map(|(shape, other)| shifts_to_share(shape, other, kerf, reach))
            .collect();
        ways.sort_by(|a, b| a.length_squared().total_cmp(&b.length_squared()));
        ways.into_iter().map(|way| at + way).find(|place| self.is_clear(shapes, *place))
    }
}

/// Shapes looked at again and again at shifts that lie near each other: what is around is gathered
/// once for as far as that reaches.
struct Looking<'a> {
    room: &'a Room,
    shapes: &'a [EdgeSet<SheetSpace>],
    /// Where the shapes were when it was gathered, and what was found.
    gathered: Option<(Vector, Around)>,
    /// How often it was looked.
    looks: usize,
}

/// What is gathered serves for shifts this far (mm) off, and for looking so far from there.
const GATHERED: f64 = 40.0;
const FARTHEST_LOOK: f64 = SIGHT + CONTACT;

impl<'a> Looking<'a> {
    fn new(room: &'a Room, shapes: &'a [EdgeSet<SheetSpace>]) -> Self {
        Self { room, shapes, gathered: None, looks: 0 }
    }

    /// All that has less than `within` mm to spare from the shapes at this shift, the tightest first.
    fn near(&mut self, at: Vector, within: f64) -> Vec<Near> {
        debug_assert!(within <= FARTHEST_LOOK);
        self.looks += 1;
        let serves = |(from, _): &(Vector, Around)| (at - *from).length() <= GATHERED;
        if !self.gathered.as_ref().is_some_and(serves) {
            let bounds = self.shapes.iter().map(EdgeSet::bounds).fold(Bounds::EMPTY, Bounds::union);
            let area = Bounds { min: bounds.min + at, max: bounds.max + at }.grown(GATHERED);
            let room = self.room;
            let around = room.scene.around(area, |i| !room.moved[i], FARTHEST_LOOK);
            self.gathered = Some((at, around));
        }
        let Some((_, around)) = &self.gathered else { return Vec::new() };
        let mut found: Vec<Near> = shifted(self.shapes, at)
            .iter()
            .flat_map(|shape| self.room.scene.near_of(around, shape, within))
            .collect();
        found.sort_by(|a, b| a.spare().total_cmp(&b.spare()));
        found
    }

    /// Pushed out of what is too near, by at most `most` mm; `None` where that does not help.
    fn settle(&mut self, at: Vector, most: f64) -> Option<Vector> {
        let mut place = at;
        for _ in 0..12 {
            let near = self.near(place, 0.0);
            let worst = match near.first() {
                Some(worst) if worst.spare() < -TOUCH * 0.5 => worst,
                _ => return Some(place),
            };
            place += away(worst)? * (-worst.spare() + TOUCH * 0.1);
            if (place - at).length() > most {
                return None;
            }
        }
        self.room.is_clear(self.shapes, place).then_some(place)
    }
}

/// A part's edges where it lies.
pub fn outline(job: &Job, part: usize, pose: &Pose<PartSpace, SheetSpace>) -> EdgeSet<SheetSpace> {
    job.wanted[part].part.region.edge_set().placed(pose)
}

/// The middle of the box around some shapes.
pub fn middle(shapes: &[EdgeSet<SheetSpace>]) -> Point<SheetSpace> {
    shapes.iter().map(EdgeSet::bounds).fold(Bounds::EMPTY, Bounds::union).centre()
}

fn shifted(shapes: &[EdgeSet<SheetSpace>], by: Vector) -> Vec<EdgeSet<SheetSpace>> {
    let pose = Pose::<SheetSpace, SheetSpace>::shifted(by);
    shapes.iter().map(|s| s.placed(&pose)).collect()
}

/// At most four in directions a good way apart, the nearest first; after the two nearest nothing
/// that is much further away than those.
fn in_different_directions(mut all: Vec<Near>) -> Vec<Near> {
    all.sort_by(|a, b| a.gap.distance.total_cmp(&b.gap.distance));
    let mut kept: Vec<Near> = Vec::new();
    for near in all {
        let apart = |k: &Near| match (away(k), away(&near)) {
            (Some(a), Some(b)) => a.dot(b) < 0.6,
            _ => true,
        };
        let worth_it = kept
            .get(1)
            .is_none_or(|second| near.gap.distance <= 2.0 * second.gap.distance.max(20.0));
        if kept.len() < 4 && worth_it && kept.iter().all(apart) {
            kept.push(near);
        }
    }
    kept
}

/// The unit vector from the other to the moved part, where they do not overlap.
fn away(near: &Near) -> Option<Vector> {
    if near.gap.distance > 0.0 { (near.gap.from - near.gap.to).unit() } else { None }
}

/// What is left of a motion that may not lead into any of the walls: all of it, or its share along
/// one wall. `None` in a corner.
fn along_walls(motion: Vector, walls: &[Vector]) -> Option<Vector> {
    let allowed = |v: Vector| walls.iter().all(|n| v.dot(*n) >= -1e-6 * v.length());
    if allowed(motion) {
        return Some(motion);
    }
    walls
        .iter()
        .filter(|n| motion.dot(**n) < 0.0)
        .map(|n| motion - *n * motion.dot(*n))
        .filter(|v| v.length() > TOUCH && allowed(*v))
        .max_by(|a, b| a.length().total_cmp(&b.length()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{clearances, job, place, rectangle, sheet_with_hole};

    /// A 100 × 60 part at (200, 200) on a 1000 × 600 sheet with a round hole of 80 about (500, 300).
    fn scene() -> (Job, Vec<EdgeSet<SheetSpace>>) {
        let job = job(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 2)]);
        let shapes = vec![outline(&job, 0, &place(200.0, 200.0, 0.0))];
        (job, shapes)
    }

    #[track_caller]
    fn check(from: (f64, f64), to: (f64, f64), expected: (f64, f64)) {
        let (job, shapes) = scene();
        let room = Room::new(&job, 0, None, |_| false);
        let (from, to) = (Vector::new(from.0, from.1), Vector::new(to.0, to.1));
        let at = room.slide(&shapes, from, to);
        let off = (at - Vector::new(expected.0, expected.1)).length();
        assert!(off < 1e-3, "{at:?} is {off} from where it should be");
        assert!(room.is_clear(&shapes, at));
    }

    #[test]
    fn free_motion_is_followed() {
        check((0.0, 0.0), (50.0, -30.0), (50.0, -30.0));
    }

    #[test]
    fn it_stops_at_exactly_the_distance_from_an_edge() {
        let edge = clearances().kerf + clearances().edge.mill;
        check((0.0, 0.0), (0.0, -500.0), (0.0, edge - 200.0));
    }

    #[test]
    fn it_slides_along_an_edge() {
        let edge = clearances().kerf + clearances().edge.mill;
        check((0.0, 0.0), (300.0, -500.0), (300.0, edge - 200.0));
    }

    #[test]
    fn it_stops_in_a_corner() {
        let edge = clearances().kerf + clearances().edge.mill;
        check((0.0, 0.0), (-900.0, -500.0), (edge - 200.0, edge - 200.0));
    }

    #[test]
    fn it_slides_round_a_hole_without_entering_it() {
        let (job, shapes) = scene();
        let room = Room::new(&job, 0, None, |_| false);
        // Pushed against the hole from the left and below its middle: it gives way downward.
        let to = Vector::new(240.0, 50.0);
        let at = room.slide(&shapes, Vector::default(), to);
        assert!(room.is_clear(&shapes, at));
        let near = room.near(&shifted(&shapes, at), 1.0);
        assert!(near.first().is_some_and(|n| n.spare().abs() < 1e-3), "{near:?}");
        assert!((to - at).length() < to.length());
    }

    #[test]
    fn snug_finds_the_nearest_clear_place() {
        let (job, shapes) = scene();
        let room = Room::new(&job, 0, None, |_| false);
        // Right on the hole.
        let at = Vector::new(250.0, 70.0);
        let place = room.snug(&shapes, at, 300.0).unwrap();
        assert!(room.is_clear(&shapes, place));
        // Straight up or down it need not go further than half the hole, half the part and the web.
        assert!((place - at).length() < 40.0 + 30.0 + 6.0, "{place:?}");
    }
}
