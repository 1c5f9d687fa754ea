//! Round holes too small to be cut become marks at their centres, to be drilled.

use oddment_core::part::{Mark, MarkKind};
use oddment_core::shape::{Edge, PartSpace, Point, Region, Vector};

use super::{Found, Problem};
use crate::words::counted;

/// Half the length (mm) of the lines of a mark.
const ARM: f64 = 1.0;

/// How many round holes of a region are less than `diameter` mm across.
pub(super) fn count(region: &Region<PartSpace>, diameter: f64) -> usize {
    region.holes().iter().filter(|h| is_small(h, diameter)).count()
}

/// Makes marks of the round holes less than `diameter` mm across.
pub(super) fn mark(regions: &mut [Found], diameter: f64, problems: &mut Vec<Problem>) {
    let (mut marked, mut first) = (0, None);
    for found in regions {
        let (small, kept): (Vec<_>, Vec<_>) =
            found.region.holes().iter().cloned().partition(|h| is_small(h, diameter));
        for (centre, _) in small.iter().filter_map(|h| h.as_circle()) {
            found.marks.extend(cross(centre));
            first.get_or_insert(centre);
            marked += 1;
        }
        if !small.is_empty() {
            found.region = Region::new(found.region.outer().clone(), kept);
        }
    }
    if marked > 0 {
        problems.push(Problem {
            what: format!(
                "{} less than {diameter} mm across",
                counted(marked, "round hole is", "round holes are")
            ),
            at: first,
            layer: None,
            done: "made centre marks, to be drilled".to_owned(),
            must_settle: false,
        });
    }
}

fn is_small(hole: &oddment_core::shape::Loop<PartSpace>, diameter: f64) -> bool {
    hole.as_circle().is_some_and(|(_, radius)| 2.0 * radius < diameter)
}

/// Two short lines across each other.
fn cross(at: Point<PartSpace>) -> [Mark; 2] {
    [Vector::new(ARM, 0.0), Vector::new(0.0, ARM)].map(|arm| Mark {
        kind: MarkKind::Engrave,
        edges: vec![Edge::Line { from: at - arm, to: at + arm }],
    })
}
