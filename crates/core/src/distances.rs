//! The rule of distances: how far a part's outline must stay from everything else. No other module
//! adds a kerf.
//!
//! The kerf is the full width of the slot, all of it on the waste side of the outline, so that the
//! beam's centre runs half a kerf outside.

use crate::shape::{Edge, EdgeSet, Loop, Point, SheetSpace};
use crate::sheet::{Contour, EdgeFacts, EdgeKind, Sheet};

/// Metal to leave along an outer edge, mm, by how the edge was made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeDistance {
    /// Along an edge cut here.
    pub own_cut: f64,
    /// Along a sheared edge.
    pub sheared: f64,
    /// Along a mill edge.
    pub mill: f64,
}

impl EdgeDistance {
    /// The same for every kind of edge.
    pub const fn all(mm: f64) -> Self {
        Self { own_cut: mm, sheared: mm, mill: mm }
    }

    /// The distance for one kind.
    pub fn of(&self, kind: EdgeKind) -> f64 {
        match kind {
            EdgeKind::OwnCut => self.own_cut,
            EdgeKind::Sheared => self.sheared,
            EdgeKind::Mill => self.mill,
        }
    }
}

/// What the rule is made of; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearances {
    /// Full width of the slot.
    pub kerf: f64,
    /// Metal left between two cuts.
    pub web: f64,
    /// Metal left along the sheet's outer edges.
    pub edge: EdgeDistance,
    /// Distance inside which the head loses the surface beside an old edge.
    pub sensing: f64,
    /// How far the sheet may lie from where the plan has it.
    pub lay: f64,
    /// Whether two parts may share one cut between straight edges that lie a kerf apart.
    pub common: bool,
}

impl Clearances {
    /// Where parts may touch each other, old edges and the rim.
    pub const NONE: Self = Self {
        kerf: 0.0,
        web: 0.0,
        edge: EdgeDistance::all(0.0),
        sensing: 0.0,
        lay: 0.0,
        common: false,
    };

    /// What stands where a shop has not said otherwise: thin steel on a laser. A starting point to
    /// be replaced by what the shop's own machine and trials say.
    pub const STARTING: Self = Self {
        kerf: 0.15,
        web: 2.0,
        edge: EdgeDistance::all(5.0),
        sensing: 2.0,
        lay: 0.0,
        common: false,
    };

    /// Between the outlines of two parts of one plan.
    pub fn between_parts(&self) -> f64 {
        2.0 * self.kerf + self.web
    }

    /// Between the outlines of two parts along a cut that they share; none where they may not, or
    /// where the slot has no width to share.
    pub fn common_cut(&self) -> Option<f64> {
        (self.common && self.kerf > 0.0).then_some(self.kerf)
    }

    /// From a part's outline to the edge of an old cut-out.
    pub fn to_cutout(&self, give_or_take: f64) -> f64 {
        self.kerf + self.web.max(self.sensing) + give_or_take + self.lay
    }

    /// From a part's outline to the sheet's outer edge.
    pub fn to_edge(&self, facts: EdgeFacts) -> f64 {
        self.kerf + self.edge.of(facts.kind) + facts.give_or_take + self.lay
    }

    /// From a part's outline to a no-go zone from which the head must keep `head` mm.
    pub fn to_no_go(&self, head: f64) -> f64 {
        self.kerf / 2.0 + head + self.lay
    }

    /// From the beam's centre to the outline that it cuts out.
    pub fn beam(&self) -> f64 {
        self.kerf / 2.0
    }

    /// From the middle of a lead-in to another part's outline: the slots of both stay apart.
    pub fn lead_to_part(&self) -> f64 {
        1.5 * self.kerf
    }

    /// From a part's outline to the far side of its slot, where a cut through the skeleton ends.
    pub fn slot(&self) -> f64 {
        self.kerf
    }

    /// From a part's outline to the middle of a straight cut past it: a web stays between the slots.
    pub fn past_part(&self) -> f64 {
        1.5 * self.kerf + self.web
    }

    /// From a pierce to another contour's lead-in, and between lead-ins: a slot's width of metal
    /// stays between them.
    pub fn between_leads(&self) -> f64 {
        2.0 * self.kerf
    }

    /// From the middle of a lead-in to an old edge: all of the slot lies in metal.
    pub fn lead_to_old_edge(&self, give_or_take: f64) -> f64 {
        self.kerf / 2.0 + give_or_take + self.lay
    }
}

/// What every contour needs to be started: lengths (mm) of a pierce and its lead-in.
///
/// A pierce keeps `pierce` from every outline that is kept and from old edges; its lead-in runs in
/// metal, off every other part's slot. Both keep from no-go zones as cuts do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StartRule {
    /// From the middle of a pierce to any outline that is kept, and to old edges, at least.
    pub pierce: f64,
    /// A hole with no place so far from its outline may be pierced where it is widest, if a circle
    /// of this radius goes in there.
    pub small_hole: f64,
    /// The shortest lead-in, but for small holes.
    pub least_lead: f64,
    /// The lead-in's usual length.
    pub lead: f64,
    /// Whether outlines are cut clockwise, seen from above, and holes the other way round.
    pub clockwise_outside: bool,
    /// How lead-ins run, but for those out of the middle of small holes.
    pub form: LeadForm,
    /// Whether outlines start from an old edge where one is near: nothing is pierced there.
    pub from_edge: bool,
}

/// How a lead-in runs onto the beam's path.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum LeadForm {
    /// Straight, at an angle.
    #[default]
    Straight,
    /// Straight and then round a quarter circle, so that the beam comes onto the path along it; where
    /// there is no room for that, straight.
    Arc,
}

impl LeadForm {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Straight, Self::Arc];

    /// What people call it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::Arc => "arc",
        }
    }

    /// The one that people call so.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.words() == name)
    }
}

impl StartRule {
    /// What stands where a shop has not said otherwise: thin steel on a laser, as for
    /// [`Clearances::STARTING`].
    pub const STARTING: Self = Self {
        pierce: 1.5,
        small_hole: 1.5,
        least_lead: 2.0,
        lead: 3.0,
        clockwise_outside: false,
        form: LeadForm::Straight,
        from_edge: false,
    };

    /// From the middle of a pierce to an old edge.
    pub fn pierce_to_old_edge(&self, clearances: &Clearances, give_or_take: f64) -> f64 {
        self.pierce + give_or_take + clearances.lay
    }
}

/// What an obstacle is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ObstacleKind {
    /// The sheet's outer edge and all that lies beyond it.
    Outside,
    /// An old cut-out; the number counts the sheet's cut-outs from 0, body by body.
    CutOut(usize),
    /// A no-go zone, by its place in the sheet's list.
    NoGo(usize),
}

/// Something that parts must stay clear of.
#[derive(Clone, Debug)]
pub struct Obstacle {
    /// What it is.
    pub kind: ObstacleKind,
    /// The area no part may enter.
    pub solid: EdgeSet<SheetSpace>,
    /// Its rim in runs of one required distance (mm) each, by the rule. The edges run as those of
    /// `solid` do: with the obstacle on the left, or on the right where that is a complement.
    pub rims: Vec<(EdgeSet<SheetSpace>, f64)>,
    /// Somewhere to point at: the middle of its box.
    pub middle: Point<SheetSpace>,
}

impl Obstacle {
    /// Middle and radius (mm) of an obstacle that is one full disc with one distance required.
    pub fn as_circle(&self) -> Option<(Point<SheetSpace>, f64)> {
        /// Arcs this near (mm) to one circle are of it.
        const SAME: f64 = 1e-4;
        if self.kind == ObstacleKind::Outside || self.rims.len() != 1 {
            return None;
        }
        let mut found = None;
        let mut swept = 0.0_f64;
        for edge in self.solid.edges() {
            let Edge::Arc { centre, radius, sweep, .. } = *edge else { return None };
            let (middle, first) = *found.get_or_insert((centre, radius));
            if middle.distance(centre) > SAME || (first - radius).abs() > SAME {
                return None;
            }
            swept += sweep;
        }
        found.filter(|_| (swept.abs() - std::f64::consts::TAU).abs() < 1e-6)
    }
}

/// All that a part must stay clear of on `sheet`, each with the distance the rule asks for.
///
/// Metal inside a cut-out is an island: the cut-out is the ring between, and the island's edge is
/// the cut-out's edge.
pub fn obstacles(sheet: &Sheet, clearances: &Clearances) -> Vec<Obstacle> {
    obstacles_by(
        sheet,
        |facts| clearances.to_edge(facts),
        |facts| clearances.to_cutout(facts.give_or_take),
        |head| clearances.to_no_go(head),
    )
}

/// All that a lead-in must stay clear of on `sheet`, each with the distance its middle must keep.
pub fn lead_obstacles(sheet: &Sheet, clearances: &Clearances) -> Vec<Obstacle> {
    let old_edge = |facts: EdgeFacts| clearances.lead_to_old_edge(facts.give_or_take);
    obstacles_by(sheet, old_edge, old_edge, |head| clearances.to_no_go(head))
}

/// The obstacles with what is required to outer edges, to cut-outs' edges, and to no-go zones.
fn obstacles_by(
    sheet: &Sheet,
    to_edge: impl Fn(EdgeFacts) -> f64,
    to_cutout: impl Fn(EdgeFacts) -> f64,
    to_no_go: impl Fn(f64) -> f64,
) -> Vec<Obstacle> {
    let cutouts: Vec<&Contour> = sheet.bodies.iter().flat_map(|b| &b.cutouts).collect();
    let holder_of = |l: &Loop<SheetSpace>| {
        let start = l.vertices()[0].point;
        (0..cutouts.len())
            .filter(|i| cutouts[*i].shape().encloses(start))
            .min_by(|i, j| cutouts[*i].shape().area().total_cmp(&cutouts[*j].shape().area()))
    };
    // Contours, and whether they are to run counter-clockwise.
    let mut outside: Vec<(&Contour, bool)> = Vec::new();
    let mut islands: Vec<Vec<&Contour>> = vec![Vec::new(); cutouts.len()];
    for body in &sheet.bodies {
        match holder_of(body.outer.shape()) {
            Some(cutout) => islands[cutout].push(&body.outer),
            None => outside.push((&body.outer, true)),
        }
    }
    let mut found = Vec::with_capacity(1 + cutouts.len() + sheet.no_go.len());
    let solid = EdgeSet::new(
        outside.iter().map(|(c, _)| c.shape().clone().directed(true).edges().collect()),
    );
    found.push(obstacle(ObstacleKind::Outside, solid.complement(), &outside, &to_edge));
    for (i, cutout) in cutouts.iter().enumerate() {
        let hole = cutout.shape().clone().directed(true).edges().collect();
        let inner = islands[i].iter().map(|c| c.shape().clone().directed(false).edges().collect());
        let solid = EdgeSet::new(std::iter::once(hole).chain(inner));
        let inner = islands[i].iter().map(|island| (*island, false));
        let contours: Vec<_> = std::iter::once((*cutout, true)).chain(inner).collect();
        found.push(obstacle(ObstacleKind::CutOut(i), solid, &contours, &to_cutout));
    }
    for (i, zone) in sheet.no_go.iter().enumerate() {
        let solid = EdgeSet::new([zone.shape.clone().directed(true).edges().collect()]);
        let rims = vec![(solid.clone(), to_no_go(zone.clearance))];
        let middle = solid.bounds().centre();
        found.push(Obstacle { kind: ObstacleKind::NoGo(i), solid, rims, middle });
    }
    found
}

fn obstacle(
    kind: ObstacleKind,
    solid: EdgeSet<SheetSpace>,
    contours: &[(&Contour, bool)],
    required: impl Fn(EdgeFacts) -> f64,
) -> Obstacle {
    let mut runs: Vec<(f64, Vec<_>)> = Vec::new();
    for (contour, counter_clockwise) in contours {
        let as_it_runs = (contour.shape().signed_area() > 0.0) == *counter_clockwise;
        for (edge, facts) in contour.shape().edges().zip(contour.facts()) {
            let edge = if as_it_runs { edge } else { edge.reversed() };
            let distance = required(*facts);
            match runs.iter_mut().find(|(d, _)| *d == distance) {
                Some((_, edges)) => edges.push(edge),
                None => runs.push((distance, vec![edge])),
            }
        }
    }
    let rims = runs.into_iter().map(|(d, edges)| (EdgeSet::new([edges]), d)).collect();
    let middle = solid.bounds().centre();
    Obstacle { kind, solid, rims, middle }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{Point, Region};

    #[test]
    fn rims_run_with_the_obstacle_on_the_left_however_they_were_drawn() {
        let circle = |x: f64, r: f64| Loop::circle(Point::new(x, 50.0), r).unwrap();
        let outer = Loop::rectangle(Point::origin(), Point::new(200.0, 100.0)).unwrap();
        for reversed in [false, true] {
            let turn = |l: Loop<SheetSpace>| if reversed { l.reversed() } else { l };
            let uniform = |l| Contour::uniform(turn(l), EdgeFacts::default());
            let island = Region::new(circle(60.0, 10.0), Vec::new());
            let mut sheet = Sheet::new("s", &[island], EdgeFacts::default());
            sheet.bodies.push(crate::sheet::Body {
                outer: uniform(outer.clone()),
                cutouts: vec![uniform(circle(60.0, 30.0)), uniform(circle(150.0, 20.0))],
            });
            let found = obstacles(&sheet, &Clearances::STARTING);
            assert_eq!(found.len(), 3);
            for obstacle in found {
                for edge in obstacle.rims.iter().flat_map(|(rim, _)| rim.edges()) {
                    let left = edge.at(0.5) + edge.direction(0.5).left() * 0.01;
                    let covered = obstacle.solid.covers(left);
                    assert_eq!(covered, !obstacle.solid.is_complement(), "{:?}", obstacle.kind);
                }
            }
        }
    }
}
