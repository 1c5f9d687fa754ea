//! Lines that are not cut, given to the part they lie on.

use oddment_core::part::{Mark, MarkKind};
use oddment_core::shape::{Edge, EdgeSet, PartSpace, Point};

use super::join::Piece;
use super::layers::{Role, role};
use super::{Found, Problem};
use crate::words::counted;

/// A line this near (mm) to a cut along its whole length is part of the cut, drawn again.
const ON_CUT: f64 = 0.02;

/// A straight line that ends this near (mm) to the edge on both sides runs across the part.
const ACROSS: f64 = 1.0;

/// What happens to a line that is not cut.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fate {
    Mark,
    OnCut,
    Outside,
}

/// Gives every line to the region it lies on; what lies on none, or on a cut, is left out.
pub(super) fn assign(
    lines: Vec<Piece>,
    regions: &mut [Found],
    layers: &[String],
    problems: &mut Vec<Problem>,
) {
    let edges: Vec<_> = regions.iter().map(|f| f.region.edge_set()).collect();
    let mut told: Vec<((Fate, usize), usize, Point<PartSpace>)> = Vec::new();
    for line in lines {
        let samples = line.samples();
        let (layer, at) = (line.layer, samples[2]);
        let fate = if edges.iter().any(|e| lies_on(&samples, e)) {
            Fate::OnCut
        } else {
            // Of regions within each other only one has metal at a point.
            let owner = (0..regions.len()).find(|i| {
                let inside = samples.iter().filter(|p| edges[*i].covers(**p)).count();
                edges[*i].covers(at) || inside > 2
            });
            match owner {
                Some(i) => {
                    let kind = kind(&line, &samples, &edges[i], &layers[layer]);
                    regions[i].marks.push(Mark { kind, edges: line.edges });
                    Fate::Mark
                }
                None => Fate::Outside,
            }
        };
        match told.iter_mut().find(|(key, ..)| *key == (fate, layer)) {
            Some((_, count, _)) => *count += 1,
            None => told.push(((fate, layer), 1, at)),
        }
    }
    told.sort_by_key(|(key, ..)| *key);
    for ((fate, layer), count, at) in told {
        let ([one, many], done) = match fate {
            Fate::Mark => (
                [
                    "line that encloses no metal, or lies on a layer of marks",
                    "lines that enclose no metal, or lie on a layer of marks",
                ],
                "kept with the part as marks, not cut",
            ),
            Fate::OnCut => (
                ["line along a contour", "lines along a contour"],
                "left out: the contour is cut once",
            ),
            Fate::Outside => {
                (["open line outside every part", "open lines outside every part"], "left out")
            }
        };
        problems.push(Problem {
            what: counted(count, one, many),
            at: Some(at),
            layer: layers.get(layer).cloned(),
            done: done.to_owned(),
            must_settle: false,
        });
    }
}

fn lies_on(samples: &[Point<PartSpace>], edges: &EdgeSet<PartSpace>) -> bool {
    let near = edges.bounds().grown(ON_CUT);
    samples.iter().all(|p| near.contains(*p) && edges.distance_to(*p) <= ON_CUT)
}

fn kind(
    line: &Piece,
    samples: &[Point<PartSpace>; 5],
    edges: &EdgeSet<PartSpace>,
    layer: &str,
) -> MarkKind {
    match role(layer) {
        Role::Bend => return MarkKind::Bend,
        Role::Engrave => return MarkKind::Engrave,
        Role::Cut | Role::Construction => {}
    }
    let straight = matches!(line.edges[..], [Edge::Line { .. }]);
    let across = [samples[0], samples[4]].iter().all(|end| edges.distance_to(*end) <= ACROSS);
    if straight && (across || line.dashed) { MarkKind::Bend } else { MarkKind::Engrave }
}
