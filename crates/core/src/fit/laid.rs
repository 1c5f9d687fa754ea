//! A part laid at one pose: what bounds its spare there, exactly.

use super::field::Field;
use super::probe::{Disc, Probe};
use crate::shape::{
    Edge, Frame, PartSpace, Point, Pose, SheetSpace, Vector, edge_crossings, edge_gap,
};

/// An edge of the part and a rim of an obstacle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Pair {
    pub(super) edge: u32,
    pub(super) rim: u32,
}

/// Something that bounds what the part can have to spare.
///
/// Its value is a signed distance less what is required: it changes by no more than the point of
/// the part (or, seen from the part, of the obstacle) moves, and wherever the part lies clear with
/// s mm to spare it is at least s. Edges that cross give only minus what is required; a point of
/// either shape inside the other gives its depth as well.
#[derive(Clone, Copy, Debug)]
pub(super) struct Witness {
    /// mm.
    pub(super) value: f64,
    /// No less than the distance of what moves from the pivot, mm.
    pub(super) arm: f64,
    /// Where it acts, from the pivot, in the sheet's directions.
    pub(super) at: Vector,
    /// The direction in which the part gains room there (unit, or null where not known).
    pub(super) toward: Vector,
}

/// A part with its pivot somewhere on a sheet, turned.
pub(super) struct Laid<'a> {
    probe: &'a Probe,
    field: &'a Field,
    pivot: Point<SheetSpace>,
    frame: Frame<PartSpace, SheetSpace>,
    back: Frame<SheetSpace, PartSpace>,
}

impl<'a> Laid<'a> {
    pub(super) fn new(probe: &'a Probe, field: &'a Field, at: Vector, turn: f64) -> Self {
        let pose = Pose::<PartSpace, SheetSpace>::new(at, turn, false);
        let pivot = Point::new(at.x, at.y);
        Self { probe, field, pivot, frame: pose.frame(), back: pose.inverse().frame() }
    }

    /// Where a disc's middle lies.
    pub(super) fn middle(&self, disc: &Disc) -> Point<SheetSpace> {
        self.pivot + self.frame.vector(disc.at)
    }

    /// What a disc of the part tells.
    pub(super) fn disc(&self, disc: &Disc) -> Witness {
        let at = self.frame.vector(disc.at);
        let room = self.field.room(self.pivot + at);
        Witness { value: room.value - disc.radius, arm: disc.arm, at, toward: room.toward }
    }

    /// What an edge and a rim tell; the direction is null where they cross.
    pub(super) fn pair(&self, pair: Pair) -> Witness {
        let rim = self.field.rim(pair.rim as usize);
        let gap = edge_gap(&self.edge(pair.edge as usize), &rim.edge);
        Witness {
            value: gap.distance - rim.required,
            arm: self.probe.arm(pair.edge as usize),
            at: gap.from - self.pivot,
            toward: (gap.from - gap.to).unit().unwrap_or_default(),
        }
    }

    /// The edges and rims that may have less than `limit(edge)` to spare.
    pub(super) fn pairs(&self, limit: impl Fn(usize) -> f64, most: usize) -> Option<Vec<Pair>> {
        let mut found = Vec::new();
        for n in 0..self.probe.shape().edges().len() {
            let edge = self.edge(n);
            self.field.rims_near(&edge.bounds(), limit(n), |rim, _, limit| {
                found.push(Pair { edge: n as u32, rim: rim as u32 });
                if found.len() > most { f64::NEG_INFINITY } else { limit }
            });
            if found.len() > most {
                return None;
            }
        }
        Some(found)
    }

    /// What the discs tell that leave at most `window` more than the tightest of them.
    pub(super) fn tightest_discs(&self, window: f64) -> Vec<Witness> {
        let discs = self.probe.discs();
        let between = |d: &Disc| {
            let (low, high) = self.field.room_between(self.middle(d), 0.1 * window);
            (low - d.radius, high - d.radius)
        };
        let mut least = discs.iter().map(|d| between(d).1).fold(f64::INFINITY, f64::min);
        let mut found = Vec::new();
        for disc in discs {
            if between(disc).0 <= least + window {
                let witness = self.disc(disc);
                least = least.min(witness.value);
                found.push(witness);
            }
        }
        found.retain(|w| w.value <= least + window);
        found
    }

    /// Everything that leaves at most `window` more than the tightest does.
    pub(super) fn tightest(&self, window: f64) -> Vec<Witness> {
        let mut found = self.tightest_discs(window);
        let mut least = found.iter().map(|w| w.value).fold(f64::INFINITY, f64::min);
        let mut crossing = Vec::new();
        for n in 0..self.probe.shape().edges().len() {
            let edge = self.edge(n);
            self.field.rims_near(&edge.bounds(), least + window, |rim, _, _| {
                let pair = Pair { edge: n as u32, rim: rim as u32 };
                let witness = self.pair(pair);
                if witness.toward == Vector::default() {
                    crossing.push(pair);
                } else {
                    found.push(witness);
                }
                least = least.min(witness.value);
                least + window
            });
        }
        found.extend(self.depths(&crossing));
        least = found.iter().map(|w| w.value).fold(least, f64::min);
        found.retain(|w| w.value <= least + window);
        found
    }

    /// How deep the shapes lie in each other where these edges and rims cross: the crossings cut
    /// edges and rims into pieces; the ends and middles of those that lie inside tell. (The middle
    /// of a piece is at least half as deep as any point of it where the shape is convex there.)
    pub(super) fn depths(&self, crossing: &[Pair]) -> Vec<Witness> {
        let mut found = Vec::new();
        let mut edges: Vec<u32> = crossing.iter().map(|p| p.edge).collect();
        edges.sort_unstable();
        edges.dedup();
        for n in edges {
            let edge = self.edge(n as usize);
            let rims = crossing.iter().filter(|p| p.edge == n);
            let others = rims.map(|p| self.field.rim(p.rim as usize).edge);
            for point in ends_and_middles(&edge, others) {
                let room = self.field.room(point);
                let at = point - self.pivot;
                found.push(Witness {
                    value: room.value,
                    arm: at.length(),
                    at,
                    toward: room.toward,
                });
            }
        }
        let mut rims: Vec<u32> = crossing.iter().map(|p| p.rim).collect();
        rims.sort_unstable();
        rims.dedup();
        for n in rims {
            let rim = self.field.rim(n as usize);
            let others = crossing.iter().filter(|p| p.rim == n).map(|p| self.edge(p.edge as usize));
            for point in ends_and_middles(&rim.edge, others) {
                found.extend(self.swallowed(point, rim.required));
            }
        }
        found
    }

    /// What a point of an obstacle tells if it lies in the part.
    pub(super) fn swallowed(&self, point: Point<SheetSpace>, required: f64) -> Option<Witness> {
        let shape = self.probe.shape();
        let p = self.back.point(point);
        if !shape.covers(p) {
            return None;
        }
        let nearest = shape
            .edges()
            .iter()
            .map(|e| e.nearest(p))
            .min_by(|a, b| (*a - p).length_squared().total_cmp(&(*b - p).length_squared()))?;
        let out = p - nearest;
        Some(Witness {
            value: -out.length() - required,
            arm: p.distance(Point::origin()),
            at: self.frame.vector(nearest.to_vector()),
            toward: self.frame.vector(out).unit().unwrap_or_default(),
        })
    }

    fn edge(&self, n: usize) -> Edge<SheetSpace> {
        self.probe.shape().edges()[n].carried(&self.frame)
    }
}

/// The ends of an edge, and the middles of the pieces that crossings with `others` cut it into.
fn ends_and_middles(
    edge: &Edge<SheetSpace>,
    others: impl Iterator<Item = Edge<SheetSpace>>,
) -> Vec<Point<SheetSpace>> {
    let mut cuts: Vec<f64> = others
        .flat_map(|o| edge_crossings(edge, &o).into_iter().flatten())
        .map(|p| edge.share_at(p))
        .chain([0.0, 1.0])
        .collect();
    cuts.sort_by(f64::total_cmp);
    let middles = cuts.windows(2).map(|w| edge.at(0.5 * (w[0] + w[1])));
    middles.chain([edge.from(), edge.to()]).collect()
}
