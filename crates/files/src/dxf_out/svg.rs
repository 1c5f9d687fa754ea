//! The same lines as an SVG: full size, y up turned to y down, each path of the class of its layer.

use std::fmt::Write as _;

use oddment_core::shape::{Bounds, Edge, Loop, Point, SheetSpace};
use oddment_core::units::LengthUnit;

use super::pen::Pen;
use super::writer::{Layer, decimal};

/// White (mm) round the drawing.
const MARGIN: f64 = 5.0;
/// Width of the lines, mm.
const LINE: f64 = 0.2;

/// Puts an SVG together.
pub(super) struct SvgPen {
    paths: String,
    bounds: Bounds<SheetSpace>,
    unit: LengthUnit,
}

// Writing to a text can't fail, hence `let _` below.
impl SvgPen {
    /// A drawing whose size is told in `unit`; its coordinates are of that unit too.
    pub(super) fn new(unit: LengthUnit) -> Self {
        Self { paths: String::new(), bounds: Bounds::EMPTY, unit }
    }

    fn length(&self, mm: f64) -> String {
        decimal(mm / self.unit.in_mm(), 6)
    }

    fn point(&self, p: Point<SheetSpace>) -> String {
        format!("{} {}", self.length(p.x), self.length(-p.y))
    }

    fn path(&mut self, layer: &Layer, edges: &[Edge<SheetSpace>], closed: bool) {
        let Some(first) = edges.first() else { return };
        self.bounds = edges.iter().map(Edge::bounds).fold(self.bounds, Bounds::union);
        let dash = if layer.dashed { " stroke-dasharray=\"4 2\"" } else { "" };
        let mut path = format!(
            "<path class=\"{}\" stroke=\"{}\"{dash} d=\"M {}",
            layer.name,
            colour(layer.colour),
            self.point(first.from())
        );
        for edge in edges {
            // Arcs of half a turn and more are drawn by halves: ends alone do not tell them apart.
            let halves = match edge {
                Edge::Arc { sweep, .. } if sweep.abs() > 3.0 => {
                    vec![edge.between(0.0, 0.5), edge.between(0.5, 1.0)]
                }
                _ => vec![*edge],
            };
            for piece in halves {
                let to = self.point(piece.to());
                let _ = match piece {
                    Edge::Line { .. } => write!(path, " L {to}"),
                    Edge::Arc { radius, sweep, .. } => {
                        // Counter-clockwise with y up is against the clock with y down as well.
                        let (r, clockwise) = (self.length(radius), u8::from(sweep < 0.0));
                        write!(path, " A {r} {r} 0 0 {clockwise} {to}")
                    }
                };
            }
        }
        path += if closed { " Z\"/>\n" } else { "\"/>\n" };
        self.paths += &path;
    }

    /// The file.
    pub(super) fn finish(self) -> String {
        let all = if self.bounds.is_empty() { Bounds::of([Point::origin()]) } else { self.bounds }
            .grown(MARGIN);
        let (x, y) = (self.length(all.min.x), self.length(-all.max.y));
        let (w, h) = (self.length(all.width()), self.length(all.height()));
        let (unit, line) = (self.unit, self.length(LINE));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}{unit}\" height=\"{h}{unit}\" \
             viewBox=\"{x} {y} {w} {h}\" fill=\"none\" stroke-width=\"{line}\">\n{}</svg>\n",
            self.paths
        )
    }
}

impl Pen for SvgPen {
    fn contour(&mut self, layer: &Layer, contour: &Loop<SheetSpace>) {
        let edges: Vec<Edge<SheetSpace>> = contour.edges().collect();
        self.path(layer, &edges, true);
    }

    fn chain(&mut self, layer: &Layer, edges: &[Edge<SheetSpace>]) {
        self.path(layer, edges, false);
    }

    fn edge(&mut self, layer: &Layer, edge: &Edge<SheetSpace>) {
        self.path(layer, &[*edge], false);
    }
}

/// The colours of the DXF's palette that our layers have.
fn colour(number: u8) -> &'static str {
    match number {
        1 => "#d00000",
        2 => "#b08000",
        3 => "#008000",
        4 => "#007a8a",
        5 => "#0040d0",
        6 => "#a000a0",
        30 => "#c06000",
        _ => "#808080",
    }
}
