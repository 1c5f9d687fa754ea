//! The places at which a contour could start, as far as its own part allows.

use std::f64::consts::FRAC_PI_2;

use super::{PartChoices, Start};
use crate::check::RESOLUTION;
use crate::distances::{Clearances, LeadForm, StartRule};
use crate::leftover::largest_circle;
use crate::shape::{Edge, EdgeSet, Loop, PartSpace, Point, Region, Vector};

/// Between places along an edge, mm at least.
const STEP: f64 = 6.0;
/// Places along one edge, and along one contour, at most.
const MOST_ON_EDGE: usize = 32;
const MOST_PLACES: usize = 160;
/// A corner that sticks out by less (radians) is none, and one that turns by more has no room.
const LEAST_TURN: f64 = 0.35;
const MOST_TURN: f64 = 2.6;
/// Angles (degrees) of lead-ins to the path: steep ones mark the edge least.
const ANGLES: [f64; 5] = [90.0, 60.0, 45.0, 30.0, 75.0];
/// No lead-in is longer than so many times the usual length.
const LONGEST: f64 = 1.5;
/// What a place beside an inside corner costs more: as much as one on a fit.
const BESIDE_CORNER: f64 = 20.0;
/// What a straight lead-in costs more, where others are wanted: more than its angle or its place on
/// an edge, less than a worse kind of edge.
const STRAIGHT_LATER: f64 = 4.0;
/// tan(π/8): the bulge of a quarter circle.
const QUARTER: f64 = std::f64::consts::SQRT_2 - 1.0;
/// Directions from which a small hole's path is joined.
const WAYS_OUT: usize = 8;

/// A place on a contour where it could start.
#[derive(Clone, Copy)]
struct Place {
    /// On the beam's path.
    on_path: Point<PartSpace>,
    /// Directions of travel before and after it.
    before: Vector,
    after: Vector,
    /// Better places have less.
    cost: f64,
}

/// For every contour of a part the starts that its own shape allows, best first: outline, then
/// holes. `flipped` says whether the part lies with its other face up: the direction of travel is
/// then the other one in its drawing.
///
/// This is also what a packer needs to know: of each contour at least one of these must stay clear,
/// its pierce by [`StartRule::pierce`] and its lead-in by [`Clearances::lead_to_part`] from other
/// parts, by [`StartRule::pierce_to_old_edge`] and [`Clearances::lead_to_old_edge`] from old edges.
pub fn choices(
    region: &Region<PartSpace>,
    clearances: &Clearances,
    rule: &StartRule,
    flipped: bool,
) -> PartChoices {
    let own = region.edge_set();
    let metal_left = rule.clockwise_outside == flipped;
    let of = |contour: &Loop<PartSpace>| {
        Contour { contour, own: &own, half: clearances.beam(), rule, metal_left }.choices()
    };
    region.loops().map(of).collect()
}

struct Contour<'a> {
    contour: &'a Loop<PartSpace>,
    own: &'a EdgeSet<PartSpace>,
    half: f64,
    rule: &'a StartRule,
    /// Whether the beam runs as the region's contours do, with metal on its left.
    metal_left: bool,
}

impl Contour<'_> {
    fn choices(&self) -> Vec<Start<PartSpace>> {
        let is_hole = self.contour.signed_area() < 0.0;
        let mut found: Vec<(f64, Start<PartSpace>)> = Vec::new();
        let middle = if is_hole { self.middle() } else { None };
        if let Some((centre, radius)) = middle
            && radius <= self.rule.lead.max(self.rule.pierce) + self.half
            && radius >= self.rule.small_hole.min(self.rule.pierce) - RESOLUTION
        {
            found.extend(self.out_of_middle(centre, radius).into_iter().map(|s| (0.0, s)));
        }
        let mut places = self.places();
        places.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        places.truncate(MOST_PLACES);
        for place in places {
            for (cost, start) in self.leads_to(&place) {
                if self.is_clear(&start, self.rule.pierce) {
                    found.push((place.cost + cost, start));
                }
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        found.into_iter().map(|(_, start)| start).collect()
    }

    /// Where a hole is widest.
    fn middle(&self) -> Option<(Point<PartSpace>, f64)> {
        self.contour.as_circle().or_else(|| {
            let filled = Region::new(self.contour.clone(), Vec::new());
            largest_circle(&filled, 0.01).map(|c| (c.centre, c.radius))
        })
    }

    /// Straight out from the middle of a small hole, also where that is nearer to its outline than
    /// a pierce should be.
    fn out_of_middle(&self, centre: Point<PartSpace>, radius: f64) -> Vec<Start<PartSpace>> {
        let ways = (0..WAYS_OUT).filter_map(|i| {
            let way = Vector::at_angle(i as f64 / WAYS_OUT as f64 * 4.0 * FRAC_PI_2);
            let on_rim = self.own.edges().iter().map(|e| e.nearest(centre + way * radius));
            let rim = on_rim.min_by(|a, b| {
                let off = |p: &Point<PartSpace>| p.distance(centre + way * radius);
                off(a).total_cmp(&off(b))
            })?;
            let out = (rim - centre).unit()?;
            let to = rim - out * self.half;
            let lead = vec![Edge::Line { from: centre, to }];
            let start = Start { pierce: centre, lead, from_edge: false };
            let long_enough = centre.distance(to) > self.half;
            (long_enough && self.is_clear(&start, self.rule.small_hole.min(self.rule.pierce)))
                .then_some(start)
        });
        ways.collect()
    }

    /// The contour in the direction of travel.
    fn travelled(&self) -> Vec<Edge<PartSpace>> {
        let as_it_runs: Vec<_> = self.contour.edges().collect();
        if self.metal_left {
            as_it_runs
        } else {
            as_it_runs.iter().rev().map(Edge::reversed).collect()
        }
    }

    /// The unit vector toward waste where the beam travels in direction `along`.
    fn toward_waste(&self, along: Vector) -> Vector {
        if self.metal_left { -along.left() } else { along.left() }
    }

    fn places(&self) -> Vec<Place> {
        let edges = self.travelled();
        let has_lines = edges.iter().any(|e| matches!(e, Edge::Line { .. }) && e.length() >= STEP);
        let mut places = Vec::new();
        for (i, edge) in edges.iter().enumerate() {
            places.extend(self.corner(edge, &edges[(i + 1) % edges.len()]));
            let count = ((edge.length() / STEP) as usize).clamp(1, MOST_ON_EDGE);
            for n in 0..count {
                let share = (n as f64 + 0.5) / count as f64;
                let along = edge.direction(share);
                let on_path = edge.at(share) + self.toward_waste(along) * self.half;
                // Middles of edges before their ends; arcs may be fits.
                let off_middle = (share - 0.5).abs();
                let cost = match edge {
                    Edge::Line { .. } => 10.0,
                    Edge::Arc { .. } if has_lines => 30.0,
                    Edge::Arc { .. } => 10.0,
                };
                let cost = cost + off_middle + if edge.length() < STEP { 5.0 } else { 0.0 };
                places.push(Place { on_path, before: along, after: along, cost });
            }
        }
        // Into a relief or a notch neither the lead-in nor what drips off it should go.
        let inside = self.inside_corners(&edges);
        let reach = 2.0 * self.rule.lead.max(self.rule.least_lead);
        for place in &mut places {
            if inside.iter().any(|corner| corner.distance(place.on_path) < reach) {
                place.cost += BESIDE_CORNER;
            }
        }
        places
    }

    /// The corners at which the metal goes round the beam.
    fn inside_corners(&self, edges: &[Edge<PartSpace>]) -> Vec<Point<PartSpace>> {
        let pairs = (0..edges.len()).map(|i| (&edges[i], &edges[(i + 1) % edges.len()]));
        let inside = |(edge, next): &(&Edge<PartSpace>, &Edge<PartSpace>)| {
            self.turn(edge, next) < -LEAST_TURN
        };
        pairs.filter(inside).map(|(edge, _)| edge.to()).collect()
    }

    /// By how much (radians) the beam turns from one edge to the next, toward the metal.
    fn turn(&self, edge: &Edge<PartSpace>, next: &Edge<PartSpace>) -> f64 {
        let (before, after) = (edge.direction(1.0), next.direction(0.0));
        let left = before.cross(after).atan2(before.dot(after));
        if self.metal_left { left } else { -left }
    }

    /// The place outside a corner of the metal, where the beam's path has its own corner.
    fn corner(&self, edge: &Edge<PartSpace>, next: &Edge<PartSpace>) -> Option<Place> {
        let (before, after) = (edge.direction(1.0), next.direction(0.0));
        let turn = self.turn(edge, next);
        if !(LEAST_TURN..=MOST_TURN).contains(&turn) {
            return None;
        }
        let out = (self.toward_waste(before) + self.toward_waste(after)).unit()?;
        let on_path = edge.to() + out * (self.half / (0.5 * turn).cos());
        // Square corners first; far from a corner's tip a lead-in has most room.
        let cost = (turn - FRAC_PI_2).abs();
        Some(Place { on_path, before, after, cost })
    }

    /// Lead-ins to a place, with what is added to its cost.
    fn leads_to(&self, place: &Place) -> Vec<(f64, Start<PartSpace>)> {
        let StartRule { pierce, least_lead, lead, .. } = *self.rule;
        let usual = lead.max(least_lead);
        let mut found = Vec::new();
        let straight = |toward: Vector, length: f64| {
            let from = place.on_path - toward * length;
            let lead = vec![Edge::Line { from, to: place.on_path }];
            Start { pierce: from, lead, from_edge: false }
        };
        let at_corner = place.before != place.after;
        if at_corner {
            // Along the edge that comes next, as if the beam had always run there; or straight in.
            let inward = (place.after - self.toward_waste(place.before)).unit();
            let bisector =
                (self.toward_waste(place.before) + self.toward_waste(place.after)).unit();
            let ways = [Some(place.after), inward, bisector.map(|b| -b)];
            for (i, way) in ways.into_iter().flatten().enumerate() {
                let cost = 0.2 * i as f64;
                found.push((cost, straight(way, usual)));
                for length in [least_lead.max(pierce), least_lead] {
                    if length < usual {
                        found.push((cost + 0.1, straight(way, length)));
                    }
                }
            }
            return found;
        }
        let waste = self.toward_waste(place.after);
        if self.rule.form == LeadForm::Arc {
            found.extend(self.round_onto(place, waste));
        }
        // What is straight comes after what runs onto the path along it, where that is wanted.
        let later = if found.is_empty() { 0.0 } else { STRAIGHT_LATER };
        for (i, degrees) in ANGLES.into_iter().enumerate() {
            let (sin, cos) = f64::to_radians(degrees).sin_cos();
            let toward = place.after * cos - waste * sin;
            // No shorter than it takes for the pierce to be far enough from a straight edge.
            let least = ((pierce - self.half) / sin).max(least_lead);
            let cost = 0.6 * i as f64 + later;
            if usual > least {
                found.push((cost, straight(toward, usual)));
            }
            if least <= LONGEST * usual {
                found.push((cost + 0.3, straight(toward, least)));
            }
        }
        found
    }

    /// Lead-ins to a place that run toward the contour first and then round a quarter circle onto the
    /// path: the wider the circle, the better.
    fn round_onto(&self, place: &Place, waste: Vector) -> Vec<(f64, Start<PartSpace>)> {
        let StartRule { pierce, least_lead, lead, .. } = *self.rule;
        let usual = lead.max(least_lead);
        let round = |(cost, radius): (f64, f64)| {
            let bend = FRAC_PI_2 * radius;
            let straight = (pierce - self.half - radius).max(least_lead - bend).max(0.0);
            if straight + bend > LONGEST * usual {
                return None;
            }
            let begins = place.on_path + (waste - place.after) * radius;
            let from = begins + waste * straight;
            let turns_left = -waste.cross(place.after) > 0.0;
            let bulge = if turns_left { QUARTER } else { -QUARTER };
            let mut run = vec![Edge::new(begins, place.on_path, bulge)];
            if straight > RESOLUTION {
                run.insert(0, Edge::Line { from, to: begins });
            }
            Some((cost, Start { pierce: run[0].from(), lead: run, from_edge: false }))
        };
        [(0.0, 0.5 * usual), (0.3, 0.25 * usual)].into_iter().filter_map(round).collect()
    }

    /// Whether a start keeps off the part itself: its pierce by `least`, its lead-in by half a kerf.
    fn is_clear(&self, start: &Start<PartSpace>, least: f64) -> bool {
        // Its very end may touch the outline where the slot has no width.
        let short = start.lead.iter().map(|e| e.between(0.0, 1.0 - 2.0 * RESOLUTION / e.length()));
        let lead = EdgeSet::new([short.collect()]);
        let half = (self.half - RESOLUTION).max(0.1 * RESOLUTION);
        self.own.distance_to(start.pierce) >= least - RESOLUTION
            && !self.own.covers(start.pierce)
            && self.encloses_or_not(start.pierce)
            && self.own.distance_to(start.joins()) >= self.half - RESOLUTION
            && self.own.boundary_gap(&lead, half).is_none()
    }

    /// A hole starts inside it, an outline outside of it.
    fn encloses_or_not(&self, pierce: Point<PartSpace>) -> bool {
        self.contour.encloses(pierce) == (self.contour.signed_area() < 0.0)
    }
}
