//! The way back: what was measured on the bed says how sure the record is, and which edge is worth
//! measuring.

use super::fit::{Fit, Measured};
use super::{Feature, What};
use crate::check::{CheckedPlan, Fault, Measure, Party};
use crate::plan::Job;
use crate::shape::{Edge, SheetSpace};
use crate::sheet::{Contour, Sheet};

/// The pointer measures an edge to this (mm), and the sheet squared up by several points may be off as
/// much again.
const POINTER: f64 = 0.5;
/// A straight edge is known when it was measured at two places this share of its length apart.
const APART: f64 = 0.6;
/// A give or take that is better by less than this (mm) is not worth a change.
const WORTH: f64 = 0.1;

/// An edge whose give or take is to be changed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sharper {
    /// Which of the sheet's contours, counted body by body, the outer one first.
    pub contour: usize,
    /// Which edge of it.
    pub edge: usize,
    /// Give or take as recorded, mm.
    pub was: f64,
    /// Give or take by what was measured, mm; more than before where the record was too sure of itself.
    pub is: f64,
}

fn contours(sheet: &Sheet) -> impl Iterator<Item = &Contour> {
    sheet.bodies.iter().flat_map(|b| std::iter::once(&b.outer).chain(&b.cutouts))
}

/// The straight edges that were measured at two places far apart, directly or at their corners, with
/// the give or take that follows: how far off the edge was found there at most, the pointer's give or
/// take, and the lay of the fit at that place. All of the edges stay where they are recorded.
pub fn sharper(sheet: &Sheet, measured: &[Measured], fit: &Fit) -> Vec<Sharper> {
    let back = fit.pose.inverse();
    let mut found = Vec::new();
    for (contour, c) in contours(sheet).enumerate() {
        for (n, (edge, facts)) in c.shape().edges().zip(c.facts()).enumerate() {
            let Edge::Line { from, to } = edge else { continue };
            let Some(along) = (to - from).unit() else { continue };
            let (mut places, mut elsewhere) = (Vec::new(), false);
            for m in measured.iter().filter(|m| touches(&m.feature, &edge)) {
                let at = back.apply(m.at);
                let off = along.left().dot(at - from).abs();
                let unsure = m.give_or_take + fit.lay.at(at);
                elsewhere |= off > facts.give_or_take + unsure;
                places.push((along.dot(at - from), off + unsure));
            }
            let (least, most) = places
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), p| (a.min(p.0), b.max(p.0)));
            if places.len() < 2 || most - least < APART * edge.length() {
                continue;
            }
            let is = places.iter().map(|p| p.1).fold(0.0, f64::max);
            // Measuring never makes an edge less sure, unless it was found where it can't be: farther off
            // than the record and the measurement allow together.
            if is < facts.give_or_take - WORTH || elsewhere {
                found.push(Sharper { contour, edge: n, was: facts.give_or_take, is });
            }
        }
    }
    found
}

/// Whether a measurement of the feature is one of the edge.
fn touches(feature: &Feature, edge: &Edge<SheetSpace>) -> bool {
    match feature.what {
        // It may be a piece of the edge.
        What::Along(along) => [0.0, 0.5, 1.0]
            .iter()
            .all(|share| edge.nearest(along.at(*share)).distance(along.at(*share)) < 1e-6),
        What::Corner(at, _) => at == edge.from() || at == edge.to(),
        What::Middle(..) => false,
    }
}

/// An edge that is worth measuring: without its give or take the distance would not be short.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// The distance.
    pub measure: Measure,
    /// By how much it is short, mm.
    pub short: f64,
    /// How much of what is required is give or take of this edge, mm.
    pub give_or_take: f64,
    /// The edge, where it is recorded.
    pub edge: Edge<SheetSpace>,
}

/// The edges that are worth measuring before a plan is changed: the pointer would leave so little give
/// or take that the distance would do.
pub fn worth_measuring(job: &Job, checked: &CheckedPlan) -> Vec<Worth> {
    let mut found: Vec<Worth> = Vec::new();
    for fault in &checked.report().faults {
        let Fault::Short(measure) = fault else { continue };
        if !matches!(measure.other, Party::SheetEdge | Party::CutOut(..)) {
            continue;
        }
        let Some(layout) = checked.plan().layouts.get(measure.layout) else { continue };
        let Some(stock) = job.stock.get(layout.stock) else { continue };
        let edges = contours(&stock.sheet).flat_map(|c| c.shape().edges().zip(c.facts()));
        let off = |e: &Edge<SheetSpace>| e.nearest(measure.gap.to).distance(measure.gap.to);
        let Some((edge, facts)) = edges.min_by(|a, b| off(&a.0).total_cmp(&off(&b.0))) else {
            continue;
        };
        let (short, give_or_take) = (-measure.spare(), facts.give_or_take);
        if give_or_take - POINTER >= short && found.iter().all(|w| w.edge != edge) {
            found.push(Worth { measure: measure.clone(), short, give_or_take, edge });
        }
    }
    found
}
