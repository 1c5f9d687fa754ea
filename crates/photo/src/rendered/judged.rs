//! What was found beside the truth.

use oddment_core::shape::{Loop, Point, SheetSpace};

use super::Scene;
use crate::captured::Stated;
use crate::find::{Found, Offered};

/// How far what was found is from the truth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Judged {
    /// The farthest (mm) that the outline found lies from the true one or the true one from it; infinite
    /// where none was found.
    pub outline: f64,
    /// The farthest that any hole found lies from its true one, or its true one from it, mm.
    pub hole: f64,
    /// Holes that there are.
    pub holes: usize,
    /// Of these, how many were not offered.
    pub missed: usize,
    /// What was offered and is no hole.
    pub wrong: usize,
    /// The share of edges found that lie within what they are said to be off, all along.
    pub held: f64,
    /// The greatest that an edge was said to be off, mm.
    pub said: f64,
}

/// Holes are the same whose middles lie within this (mm), or half of their size.
const SAME: f64 = 4.0;

/// Sets what was found beside the truth. The scene's coordinates are those of what was placed.
pub fn judged(scene: &Scene, found: &Found, stated: &Stated) -> Judged {
    let mut judged = Judged { holes: scene.metal.holes().len(), ..Judged::default() };
    let (mut held, mut edges) = (0, 0);
    let mut hold = |offered: &Offered, truth: &Loop<SheetSpace>, judged: &mut Judged| {
        for edge in offered.shape.edges() {
            let places = [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| edge.at(share));
            let unsure =
                |p: &Point<SheetSpace>| found.calibrated.unsure(*p, stated).hypot(offered.off);
            let said = places.iter().map(unsure).fold(0.0, f64::max);
            let off = places.iter().map(|p| from_rim(truth, *p)).fold(0.0, f64::max);
            edges += 1;
            held += usize::from(off <= said);
            judged.said = judged.said.max(said);
        }
    };
    judged.outline = f64::INFINITY;
    if let Some(outline) = &found.outline {
        judged.outline = apart(&outline.shape, scene.metal.outer());
        hold(outline, scene.metal.outer(), &mut judged);
    }
    let mut left: Vec<&Offered> = found.holes.iter().collect();
    for truth in scene.metal.holes() {
        let middle = truth.bounds().centre();
        let size = truth.bounds().width().max(truth.bounds().height());
        let near = left.iter().position(|o| {
            o.shape.bounds().centre().distance(middle) < SAME.max(0.25 * size) + scene.bow
        });
        match near {
            Some(i) => {
                let offered = left.swap_remove(i);
                judged.hole = judged.hole.max(apart(&offered.shape, truth));
                hold(offered, truth, &mut judged);
            }
            None => judged.missed += 1,
        }
    }
    judged.wrong = left.len();
    judged.held = f64::from(held as u32) / f64::from(edges.max(1) as u32);
    judged
}

/// The farthest that one rim lies from the other, mm.
pub(super) fn apart(a: &Loop<SheetSpace>, b: &Loop<SheetSpace>) -> f64 {
    let one_way = |a: &Loop<SheetSpace>, b: &Loop<SheetSpace>| {
        let places = a.edges().flat_map(|e| {
            let count = (e.length() / 4.0).ceil().max(4.0) as usize;
            (0..=count).map(move |i| e.at(i as f64 / count as f64))
        });
        places.map(|p| from_rim(b, p)).fold(0.0, f64::max)
    };
    one_way(a, b).max(one_way(b, a))
}

fn from_rim(rim: &Loop<SheetSpace>, p: Point<SheetSpace>) -> f64 {
    rim.edges().map(|e| e.nearest(p).distance(p)).fold(f64::INFINITY, f64::min)
}
