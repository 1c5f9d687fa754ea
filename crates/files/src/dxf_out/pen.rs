//! What draws lines on layers: a DXF drawing, or an SVG of the same.

use oddment_core::shape::{Edge, Loop, SheetSpace};

use super::writer::Layer;

/// Draws lines and arcs.
pub(super) trait Pen {
    /// A closed contour.
    fn contour(&mut self, layer: &Layer, contour: &Loop<SheetSpace>);
    /// Lines and arcs that follow each other.
    fn chain(&mut self, layer: &Layer, edges: &[Edge<SheetSpace>]);
    /// A line or an arc by itself.
    fn edge(&mut self, layer: &Layer, edge: &Edge<SheetSpace>);
}
