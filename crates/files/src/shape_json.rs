//! Outlines with holes as JSON: polygons anybody can read, and beside them, where there are arcs,
//! `curves` with the arcs themselves, from which the program reads back exactly what it wrote.

use oddment_core::shape::{Loop, Point, Region, Side, Space, Vertex, flatten_region};
use serde::Serialize;

use crate::json::{FARTHEST, Faults, Node};
use crate::sound::unsound;

/// More corners than any outline of sheet metal has.
pub(crate) const MOST_VERTICES: usize = 20_000;
/// How far (mm) the polygons that stand beside `curves` may leave them.
const POLYGON_BOUND: f64 = 0.002;

/// A region to be written.
#[derive(Debug, Serialize)]
pub(crate) struct ShapeJson {
    outline: Vec<[f64; 2]>,
    holes: Vec<Vec<[f64; 2]>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    curves: Option<CurvesJson>,
}

/// Loops of vertices x, y, bulge.
#[derive(Debug, Serialize)]
struct CurvesJson {
    outline: Vec<[f64; 3]>,
    holes: Vec<Vec<[f64; 3]>>,
}

impl ShapeJson {
    /// The shape as it is written.
    pub(crate) fn new<S: Space>(region: &Region<S>) -> Self {
        let curved = region.loops().any(|l| l.vertices().iter().any(|v| v.bulge != 0.0));
        let mut polygons = flatten_region(region, POLYGON_BOUND, Side::Inward)
            .into_iter()
            .map(|l| l.into_iter().map(|p| [p.x, p.y]).collect());
        let vertices = |l: &Loop<S>| -> Vec<[f64; 3]> {
            l.vertices().iter().map(|v| [v.point.x, v.point.y, v.bulge]).collect()
        };
        Self {
            outline: polygons.next().unwrap_or_default(),
            holes: polygons.collect(),
            curves: curved.then(|| CurvesJson {
                outline: vertices(region.outer()),
                holes: region.holes().iter().map(vertices).collect(),
            }),
        }
    }
}

/// Reads `outline` and `holes` of `node`, or `curves` where it has them.
pub(crate) fn read_shape<S: Space>(node: &Node<'_>, faults: &mut Faults) -> Option<Region<S>> {
    let (from, curved) = match node.get("curves") {
        Some(curves) => (curves, true),
        None => (node.clone(), false),
    };
    let before = faults.0.len();
    let outline = from.must("outline", faults)?;
    let mut room = MOST_VERTICES;
    let outer = read_loop(&outline, curved, &mut room, faults);
    let holes: Vec<_> = from
        .list_of("holes", faults)
        .iter()
        .filter_map(|hole| read_loop(hole, curved, &mut room, faults))
        .collect();
    if faults.0.len() > before {
        return None;
    }
    let region = Region::new(outer?, holes);
    if let Some(problem) = unsound(&region) {
        faults.add(from.place(), problem.to_string(), "redraw it so that the lines stay apart");
        return None;
    }
    Some(region)
}

/// Reads one loop of `[x, y]` points, or of `[x, y, bulge]` vertices where `curved`; `room` is how
/// many more vertices the shape may have.
fn read_loop<S: Space>(
    node: &Node<'_>,
    curved: bool,
    room: &mut usize,
    faults: &mut Faults,
) -> Option<Loop<S>> {
    let points = node.list(faults);
    if !node.is_list() {
        return None;
    }
    if points.len() > *room {
        let what = format!("the shape has more than {MOST_VERTICES} corners");
        faults.add(node.place(), what, "draw its curves with fewer pieces");
        return None;
    }
    *room -= points.len();
    let range = -FARTHEST..=FARTHEST;
    let vertices: Vec<_> = points
        .iter()
        .map_while(|p| {
            let [x, y, bulge] = if curved {
                p.numbers::<3>(range.clone(), faults)?
            } else {
                let [x, y] = p.numbers::<2>(range.clone(), faults)?;
                [x, y, 0.0]
            };
            Some(Vertex { point: Point::new(x, y), bulge })
        })
        .collect();
    if vertices.len() < points.len() {
        return None;
    }
    match Loop::new(vertices) {
        Ok(made) => Some(made),
        Err(problem) => {
            faults.add(node.place(), problem.to_string(), "give its corners in order, once each");
            None
        }
    }
}
