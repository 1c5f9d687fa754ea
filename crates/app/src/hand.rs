//! Parts in the hand: picked up from the slip or the sheet, moved and turned before they are put
//! down. The plan does not change until then.

use oddment_core::check::Near;
use oddment_core::plan::Job;
use oddment_core::shape::{EdgeSet, PartSpace, Point, Pose, SheetSpace, Vector};

use crate::open_job::{Copy, OpenJob, SheetSlot};
use crate::room::{Room, middle, outline};
use crate::where_it_fits::Wanted;

/// One part in the hand.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    /// The laid copy it is, or none when it comes from the slip.
    pub copy: Option<Copy>,
    /// Which of the wanted parts.
    pub part: usize,
    /// Where it would lie without the shift.
    pose: Pose<PartSpace, SheetSpace>,
}

/// What is in the hand, and the room around it.
#[derive(Debug)]
pub struct Hand {
    held: Vec<Held>,
    shapes: Vec<EdgeSet<SheetSpace>>,
    room: Room,
    shift: Vector,
    clear: bool,
    moved: bool,
}

impl Hand {
    /// Picks laid copies up. `None` if there are none on this sheet.
    pub fn pick_up(open: &OpenJob, slot: SheetSlot, copies: &[Copy]) -> Option<Self> {
        let layout = open.layout(slot)?;
        let held: Vec<Held> = layout
            .placements
            .iter()
            .filter(|p| copies.contains(&Copy::of(p)))
            .map(|p| Held { copy: Some(Copy::of(p)), part: p.part, pose: p.pose })
            .collect();
        let room =
            Room::new(open.job(), slot.stock, Some(layout), |p| copies.contains(&Copy::of(p)));
        (!held.is_empty()).then(|| Self::holding(open.job(), held, room))
    }

    /// Takes a part off the slip, its middle at `at`.
    pub fn take(
        open: &OpenJob,
        slot: SheetSlot,
        part: usize,
        turn: f64,
        at: Point<SheetSpace>,
    ) -> Self {
        let turned = Pose::new(Vector::default(), turn, false);
        let middle = middle(&[outline(open.job(), part, &turned)]);
        Self::take_lying(open, slot, part, Pose::new(at - middle, turn, false))
    }

    /// Takes a part off the slip, lying like this.
    pub fn take_lying(
        open: &OpenJob,
        slot: SheetSlot,
        part: usize,
        pose: Pose<PartSpace, SheetSpace>,
    ) -> Self {
        let room = Room::new(open.job(), slot.stock, open.layout(slot), |_| false);
        let mut hand = Self::holding(open.job(), vec![Held { copy: None, part, pose }], room);
        hand.moved = true;
        hand
    }

    fn holding(job: &Job, held: Vec<Held>, room: Room) -> Self {
        let shapes: Vec<_> = held.iter().map(|h| outline(job, h.part, &h.pose)).collect();
        let clear = room.is_clear(&shapes, Vector::default());
        Self { held, shapes, room, shift: Vector::default(), clear, moved: false }
    }

    /// What is held, and where each lies now.
    pub fn held(&self) -> impl Iterator<Item = (&Held, Pose<PartSpace, SheetSpace>)> {
        self.held.iter().map(|h| (h, self.now(h)))
    }

    fn now(&self, held: &Held) -> Pose<PartSpace, SheetSpace> {
        Pose::new(held.pose.shift + self.shift, held.pose.turn, held.pose.flipped)
    }

    /// Whether a laid copy is in the hand.
    pub fn holds(&self, copy: Copy) -> bool {
        self.held.iter().any(|h| h.copy == Some(copy))
    }

    /// Shift since it was picked up, mm.
    pub fn shift(&self) -> Vector {
        self.shift
    }

    /// Whether it keeps every distance where it is.
    pub fn is_clear(&self) -> bool {
        self.clear
    }

    /// Whether anything was moved or turned since it was picked up.
    pub fn has_moved(&self) -> bool {
        self.moved
    }

    /// Follows the pointer to the shift `to`: sliding along what it meets, or, `freely`, through it.
    pub fn follow(&mut self, to: Vector, freely: bool) {
        self.moved |= (to - self.shift).length() > 0.0;
        if self.clear && !freely {
            self.shift = self.room.slide(&self.shapes, self.shift, to);
        } else {
            self.shift = to;
            self.clear = self.room.is_clear(&self.shapes, to);
        }
    }

    /// Goes along `way` until it stops.
    pub fn push(&mut self, way: Vector) {
        if self.clear {
            let to = self.room.push(&self.shapes, self.shift, way);
            self.moved |= to != self.shift;
            self.shift = to;
        }
    }

    /// Goes to the nearest clear place, if there is one within `reach` mm.
    pub fn snug(&mut self, reach: f64) -> bool {
        let Some(place) = self.room.snug(&self.shapes, self.shift, reach) else { return false };
        self.moved |= place != self.shift;
        (self.shift, self.clear) = (place, true);
        true
    }

    /// Goes to the nearest clear place, within `reach` mm, where it shares a cut with another part.
    pub fn share_cut(&mut self, reach: f64) -> bool {
        let Some(place) = self.room.share_cut(&self.shapes, self.shift, reach) else {
            return false;
        };
        self.moved |= place != self.shift;
        (self.shift, self.clear) = (place, true);
        true
    }

    /// Gives each part the pose that `change` makes of it and of the pivot of all that is held. However it
    /// is turned about that, the pivot stays where it is, so that turning back brings each part back.
    pub fn change(
        &mut self,
        job: &Job,
        change: impl Fn(&Pose<PartSpace, SheetSpace>, Point<SheetSpace>) -> Pose<PartSpace, SheetSpace>,
    ) {
        let about = pivot(job, &self.held);
        for held in &mut self.held {
            held.pose = change(&held.pose, about);
        }
        self.shapes = self.held.iter().map(|h| outline(job, h.part, &h.pose)).collect();
        self.clear = self.room.is_clear(&self.shapes, self.shift);
        self.moved = true;
    }

    /// The middle of the box around what is held.
    pub fn middle(&self) -> Point<SheetSpace> {
        middle(&self.shapes) + self.shift
    }

    /// What is held and how it lies about its middle.
    pub fn wanted(&self) -> Vec<Wanted> {
        let middle = middle(&self.shapes).to_vector();
        let one = |held: &Held| Wanted {
            part: held.part,
            turn: held.pose.turn,
            flipped: held.pose.flipped,
            from_middle: held.pose.shift - middle,
        };
        self.held.iter().map(one).collect()
    }

    /// What is nearest, at most four in different directions, tightest first.
    pub fn nearest(&self) -> Vec<Near> {
        let pose = Pose::<SheetSpace, SheetSpace>::shifted(self.shift);
        let shapes: Vec<_> = self.shapes.iter().map(|s| s.placed(&pose)).collect();
        self.room.nearest(&shapes)
    }
}

/// The middle of the parts' middles as they are drawn.
fn pivot(job: &Job, held: &[Held]) -> Point<SheetSpace> {
    let middles = held.iter().map(|h| {
        let region = &job.wanted[h.part].part.region;
        h.pose.apply(region.bounds().centre()).to_vector()
    });
    let sum = middles.fold(Vector::default(), |sum, middle| sum + middle);
    Point::origin() + sum * (1.0 / held.len().max(1) as f64)
}

/// Turned by `by` radians about `about`.
pub fn turned(
    pose: &Pose<PartSpace, SheetSpace>,
    by: f64,
    about: Point<SheetSpace>,
) -> Pose<PartSpace, SheetSpace> {
    let turn = Pose::<SheetSpace, SheetSpace>::new(Vector::default(), by, false);
    let shift = about.to_vector() + turn.apply_vector(pose.shift - about.to_vector());
    Pose::new(shift, (pose.turn + by).rem_euclid(std::f64::consts::TAU), pose.flipped)
}

/// Laid with the other face up, mirrored left to right about `about`.
pub fn mirrored(
    pose: &Pose<PartSpace, SheetSpace>,
    about: Point<SheetSpace>,
) -> Pose<PartSpace, SheetSpace> {
    let shift = Vector::new(2.0 * about.x - pose.shift.x, pose.shift.y);
    // x → −x after the turn is a mirror before it and the turn the other way.
    Pose::new(shift, (-pose.turn).rem_euclid(std::f64::consts::TAU), !pose.flipped)
}

#[cfg(test)]
mod tests {
    use oddment_core::part::Part;
    use oddment_core::shape::{Loop, Region};

    use super::*;
    use crate::trial::{open, place, placement, rectangle, sheet_with_hole};

    #[test]
    fn turning_and_mirroring_keep_the_middle() {
        let about = Point::new(250.0, 130.0);
        let pose = place(200.0, 100.0, 0.3);
        let inside = pose.inverse().apply(about);
        for changed in [turned(&pose, 1.1, about), mirrored(&pose, about)] {
            assert!(changed.apply(inside).distance(about) < 1e-9);
        }
        let point = Point::new(7.0, 11.0);
        let (there, mirror) = (pose.apply(point), mirrored(&pose, about).apply(point));
        assert!((there.x + mirror.x - 2.0 * about.x).abs() < 1e-9);
        assert!((there.y - mirror.y).abs() < 1e-9);
    }

    #[test]
    fn turning_there_and_back_brings_parts_back() {
        let corners = [(0.0, 0.0), (90.0, 0.0), (20.0, 70.0)].map(|(x, y)| Point::new(x, y));
        let region = Region::new(Loop::polygon(corners).unwrap(), Vec::new());
        let corner = Part::new("corner", region);
        let mut open = open(sheet_with_hole(), vec![(corner, 2)]);
        let slot = open.slots()[0];
        let first = open.lay(slot, placement(0, 100.0, 100.0));
        let slot = open.slots()[0];
        let second = open.lay(slot, placement(0, 300.0, 130.0));
        for held in [vec![first], vec![first, second]] {
            let slot = open.slots()[0];
            let mut hand = Hand::pick_up(&open, slot, &held).unwrap();
            let before: Vec<_> = hand.held().map(|(_, pose)| pose).collect();
            for by in [0.3, 1.7, -0.9, 2.2, -3.3_f64] {
                hand.change(open.job(), |pose, about| turned(pose, by, about));
            }
            for ((_, now), before) in hand.held().zip(before) {
                assert!((now.shift - before.shift).length() < 1e-9);
            }
        }
    }

    #[test]
    fn what_is_held_is_no_obstacle_to_itself() {
        let mut open = open(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 2)]);
        let slot = open.slots()[0];
        let first = open.lay(slot, placement(0, 100.0, 100.0));
        let slot = open.slots()[0];
        open.lay(slot, placement(0, 300.0, 100.0));
        let slot = open.slots()[0];
        let mut hand = Hand::pick_up(&open, slot, &[first]).unwrap();
        assert!(hand.is_clear() && !hand.has_moved());
        hand.follow(Vector::new(5.0, 0.0), false);
        assert!(hand.is_clear() && hand.has_moved());
        assert_eq!(hand.shift(), Vector::new(5.0, 0.0));
        // The other plate is 100 mm away and must stay 2 × 0.5 + 3 away.
        hand.push(Vector::new(1.0, 0.0));
        assert!((hand.shift().x - 96.0).abs() < 1e-3, "{:?}", hand.shift());
    }
}
