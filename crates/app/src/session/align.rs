//! Turning a part along an edge of the sheet or its grain.

use std::f64::consts::PI;

use oddment_core::shape::{Edge, Point, SheetSpace, Vector};

use super::Session;

/// Edges shorter than this share of the part's longest straight edge are not turned to.
const WORTH: f64 = 0.3;

/// Directions (radians) nearer than this are the same.
const SAME: f64 = 1e-5;

impl Session {
    /// Turns what is selected so that a long straight edge of it runs along the nearest edge of the
    /// sheet, or along its grain: the nearest by turn, or the next where one does already.
    pub(super) fn align(&mut self, to_grain: bool) {
        let lying = self.lying();
        let Some(&(part, turn, flipped)) = lying.first() else { return };
        let Some(slot) = self.slot() else { return };
        let sheet = &self.open.job().stock[slot.stock].sheet;
        let along = if to_grain {
            match sheet.grain {
                Some(grain) => grain,
                None => {
                    let says = format!("{} does not say how its grain runs", sheet.name);
                    self.refuse(says);
                    return;
                }
            }
        } else {
            let Some(corner) = self.selected_corner() else { return };
            let edges = sheet.bodies.iter().flat_map(|b| b.outer.shape().edges());
            match nearest_line(edges, corner) {
                Some(angle) => angle,
                None => {
                    self.refuse("The sheet has no straight edge");
                    return;
                }
            }
        };
        let region = &self.open.job().wanted[part].part.region;
        let edges = long_directions(region.outer().edges());
        let lies = |a: f64| if flipped { turn - a } else { turn + a };
        let allowed = |by: &f64| {
            let grain = sheet.grain;
            lying.iter().all(|(part, turn, flipped)| {
                self.open.job().wanted[*part].part.may_lie(grain, turn + by, *flipped)
            })
        };
        let turns: Vec<f64> = edges.into_iter().map(|a| half_turn(along - lies(a))).collect();
        match choose(&turns, allowed) {
            Some(by) => self.turn_all(&lying, by),
            None if turns.is_empty() => {
                self.refuse(format!("{} has no straight edge", self.part_name(part)));
            }
            None => {
                let name = self.part_name(part);
                self.refuse(format!("{name} has no other edge that may lie so"));
            }
        }
    }
}

/// A turn of the same direction between a quarter turn back and a quarter turn on.
fn half_turn(angle: f64) -> f64 {
    let angle = angle.rem_euclid(PI);
    if angle > PI / 2.0 + SAME { angle - PI } else { angle }
}

/// Of some turns the least; the next one on, where one of them is no turn at all.
fn choose(turns: &[f64], allowed: impl Fn(&f64) -> bool) -> Option<f64> {
    let lies = turns.iter().any(|t| t.abs() < SAME);
    let rest = turns.iter().copied().filter(|t| t.abs() >= SAME).filter(allowed);
    let effort = |t: &f64| if lies { t.rem_euclid(PI) } else { t.abs() };
    rest.min_by(|a, b| effort(a).total_cmp(&effort(b)))
}

/// Directions (radians, 0 to π) of the long straight edges.
fn long_directions<S: oddment_core::shape::Space>(
    edges: impl Iterator<Item = Edge<S>>,
) -> Vec<f64> {
    let lines: Vec<Vector> = edges
        .filter_map(|e| match e {
            Edge::Line { from, to } => Some(to - from),
            Edge::Arc { .. } => None,
        })
        .collect();
    let longest = lines.iter().map(|v| v.length()).fold(0.0, f64::max);
    let mut found: Vec<f64> = Vec::new();
    for v in lines.iter().filter(|v| v.length() >= WORTH * longest) {
        let angle = v.y.atan2(v.x).rem_euclid(PI);
        if found.iter().all(|f| half_turn(f - angle).abs() > SAME) {
            found.push(angle);
        }
    }
    found
}

/// Direction (radians) of the straight edge nearest to a point.
fn nearest_line(
    edges: impl Iterator<Item = Edge<SheetSpace>>,
    at: Point<SheetSpace>,
) -> Option<f64> {
    let off = |e: &Edge<SheetSpace>| e.nearest(at).distance(at);
    edges
        .filter_map(|e| match e {
            Edge::Line { from, to } => Some((off(&e), to - from)),
            Edge::Arc { .. } => None,
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, v)| v.y.atan2(v.x))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_turn_first_and_then_the_next() {
        let any = |_: &f64| true;
        assert_eq!(choose(&[0.4, -0.2], any), Some(-0.2));
        assert_eq!(choose(&[0.0, -0.2, 0.4], any), Some(0.4));
        assert_eq!(choose(&[0.0, -0.2], any), Some(-0.2));
        assert_eq!(choose(&[0.0, 1e-9], any), None);
        assert_eq!(choose(&[0.4, -0.2], |t| *t > 0.0), Some(0.4));
    }

    #[test]
    fn directions_have_no_sense() {
        assert!((half_turn(PI) - 0.0).abs() < 1e-12);
        assert!((half_turn(3.0) - (3.0 - PI)).abs() < 1e-12);
        assert!((half_turn(-0.1) + 0.1).abs() < 1e-12);
    }
}
