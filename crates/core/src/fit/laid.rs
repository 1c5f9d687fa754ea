//! A part laid at one pose: what bounds its spare there, exactly.

use super::field::{Field, Rim};
use super::lp::Slope;
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

/// Radii of the balls by which a witness becomes a linear function, as multiples of the move:
/// larger balls bend less, but fewer places have room for them.
const BALLS: [f64; 3] = [100.0, 20.0, 4.0];

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
    /// The signed distance that the value comes from, mm, and to which obstacle.
    pub(super) distance: f64,
    pub(super) obstacle: usize,
}

impl Witness {
    /// How it grows with a small move (mm) and turn (radians).
    pub(super) fn tangent(&self) -> Slope {
        let turning = self.at.left().dot(self.toward);
        Slope { value: self.value, grows: [self.toward.x, self.toward.y, turning] }
    }
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
        let mut witness = self.point(self.pivot + at);
        witness.value -= disc.radius;
        Witness { arm: disc.arm, ..witness }
    }

    /// What a point of the part tells.
    fn point(&self, point: Point<SheetSpace>) -> Witness {
        let room = self.field.room(point);
        let at = point - self.pivot;
        Witness {
            value: room.value,
            arm: at.length(),
            at,
            toward: room.toward,
            distance: room.distance,
            obstacle: room.obstacle,
        }
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
            distance: gap.distance,
            obstacle: rim.obstacle,
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
        let between: Vec<(f64, f64)> = self
            .probe
            .discs()
            .iter()
            .map(|d| {
                let (low, high) = self.field.room_between(self.middle(d), 0.25 * window);
                (low - d.radius, high - d.radius)
            })
            .collect();
        let mut least = between.iter().map(|b| b.1).fold(f64::INFINITY, f64::min);
        let mut found = Vec::new();
        for (disc, (low, _)) in self.probe.discs().iter().zip(&between) {
            if *low <= least + window {
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
            found.extend(ends_and_middles(&edge, others).into_iter().map(|p| self.point(p)));
        }
        let mut rims: Vec<u32> = crossing.iter().map(|p| p.rim).collect();
        rims.sort_unstable();
        rims.dedup();
        for n in rims {
            let rim = self.field.rim(n as usize);
            let others = crossing.iter().filter(|p| p.rim == n).map(|p| self.edge(p.edge as usize));
            for point in ends_and_middles(&rim.edge, others) {
                found.extend(self.swallowed(point, rim));
            }
        }
        found
    }

    /// What a point of a rim tells if it lies in the part.
    pub(super) fn swallowed(&self, point: Point<SheetSpace>, rim: &Rim) -> Option<Witness> {
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
            value: -out.length() - rim.required,
            arm: p.distance(Point::origin()),
            at: self.frame.vector(nearest.to_vector()),
            toward: self.frame.vector(out).unit().unwrap_or_default(),
            distance: -out.length(),
            obstacle: rim.obstacle,
        })
    }

    /// How deep a point lies in the part; 0 outside.
    fn depth(&self, point: Point<SheetSpace>) -> f64 {
        let (shape, p) = (self.probe.shape(), self.back.point(point));
        if shape.covers(p) { shape.distance_to(p) } else { 0.0 }
    }

    /// A witness as a linear function of a move of the pivot (mm) and of the turn (radians), with
    /// what moves of the pivot up to `shift` and turns up to `turn` can add to it.
    ///
    /// Two balls, one in the part and one in the obstacle, touch the places where the witness acts
    /// from within. Wherever the part lies clear with s mm to spare, their middles are s and the
    /// radii and what is required apart, at least. Let d be the distance of the middles and n the
    /// direction between them now, and let the part's move by u. They come to be
    /// |d·n + u| ≤ d + n·u + |u|²/2d apart (√(1 + x) ≤ 1 + x/2); and u is the shift and, for a
    /// middle at c from the pivot, a turn by t: t·left(c) and no more than |c|t²/2.
    pub(super) fn slope(&self, w: &Witness, shift: f64, turn: f64) -> Option<Slope> {
        if w.toward == Vector::default() {
            return None;
        }
        let moves = shift + w.arm * turn;
        let on_part = self.pivot + w.at;
        let on_rim = on_part - w.toward * w.distance;
        let required = w.distance - w.value;
        // A ball that does not quite touch costs what it misses; a point bends more.
        let touches = |missed: f64| missed < 0.1 * moves;
        let sizes = BALLS.map(|b| b * moves);
        let (ours, own) = sizes
            .into_iter()
            .map(|size| (size, on_part + w.toward * size))
            .map(|(size, middle)| (size, middle, self.depth(middle)))
            .find(|(size, _, depth)| touches(size - depth))
            .map_or((on_part, 0.0), |(_, middle, depth)| (middle, depth));
        let (theirs, other) = sizes
            .into_iter()
            .map(|size| (size, on_rim - w.toward * size))
            .map(|(size, middle)| (size, middle, self.field.depth_in(w.obstacle, middle)))
            .find(|(size, _, (depth, least))| touches(size + required - depth - least))
            .map_or((on_rim, required), |(_, middle, (depth, least))| (middle, depth + least));
        let apart = ours - theirs;
        let d = apart.length();
        let n = apart.unit()?;
        let arm = ours - self.pivot;
        let moves = shift + arm.length() * turn;
        Some(Slope {
            value: d - own - other + 0.5 * arm.length() * turn * turn + 0.5 * moves * moves / d,
            grows: [n.x, n.y, n.dot(arm.left())],
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
