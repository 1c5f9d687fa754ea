//! The curves of SVG's shapes, in the element's own coordinates. Arcs stay arcs.

use std::f64::consts::{PI, TAU};

use oddment_core::shape::{Edge, Point, Vector};
use roxmltree::Node;
use svgtypes::{PathParser, PathSegment, PointsParser};

use super::super::DrawingFault;
use super::super::curve::{Curve, Drawn, arc};
use super::{fault, length};

/// The strokes of an element; what is only `filled` closes itself.
pub(super) fn of(node: Node, filled: bool) -> Result<Vec<Vec<Curve>>, DrawingFault> {
    let mut pen = Pen { closes: filled, ..Pen::default() };
    let get = |name| length(node, name).map(|l| l.unwrap_or(0.0));
    match node.tag_name().name() {
        "rect" => {
            let (x, y, w, h) = (get("x")?, get("y")?, get("width")?, get("height")?);
            let (rx, ry) = (length(node, "rx")?, length(node, "ry")?);
            let rx = rx.or(ry).unwrap_or(0.0).clamp(0.0, (w / 2.0).max(0.0));
            let ry = ry.or(length(node, "rx")?).unwrap_or(0.0).clamp(0.0, (h / 2.0).max(0.0));
            if w > 0.0 && h > 0.0 {
                pen.rectangle(Point::new(x, y), Vector::new(w, h), Vector::new(rx, ry));
            }
        }
        "circle" => {
            let radius = get("r")?;
            if radius > 0.0 {
                pen.done.push(arc(Point::new(get("cx")?, get("cy")?), radius, 0.0, TAU));
            }
        }
        "ellipse" => {
            let (centre, rx, ry) = (Point::new(get("cx")?, get("cy")?), get("rx")?, get("ry")?);
            if rx > 0.0 && ry > 0.0 {
                let (u, v) = (Vector::new(rx, 0.0), Vector::new(0.0, ry));
                pen.done.push(vec![Curve::Ellipse { centre, u, v, start: 0.0, sweep: TAU }]);
            }
        }
        "line" => {
            pen.move_to(Point::new(get("x1")?, get("y1")?));
            pen.line_to(Point::new(get("x2")?, get("y2")?));
            pen.closes = false;
        }
        "polyline" | "polygon" => {
            let points = PointsParser::from(node.attribute("points").unwrap_or_default());
            for (i, (x, y)) in points.enumerate() {
                let point = Point::new(x, y);
                if i == 0 { pen.move_to(point) } else { pen.line_to(point) }
            }
            pen.closes |= node.tag_name().name() == "polygon";
        }
        _ => {
            for segment in PathParser::from(node.attribute("d").unwrap_or_default()) {
                let segment = segment.map_err(|_| fault(node, "its path data can't be read"))?;
                pen.follow(segment);
            }
        }
    }
    pen.lift();
    let fits = |p: Point<Drawn>| p.is_finite() && p.x.abs() <= 1e9 && p.y.abs() <= 1e9;
    let near = |c: &Curve| fits(c.at(0.0).0) && fits(c.at(0.5).0) && fits(c.at(1.0).0);
    if pen.done.iter().flatten().all(near) {
        Ok(pen.done)
    } else {
        Err(fault(node, "a coordinate can't be a length"))
    }
}

/// Draws path data.
#[derive(Default)]
struct Pen {
    done: Vec<Vec<Curve>>,
    stroke: Vec<Curve>,
    at: Option<Point<Drawn>>,
    start: Option<Point<Drawn>>,
    /// Where the last curve's handle would go on, mirrored at its end: for `S` and for `T`.
    handle: [Option<Point<Drawn>>; 2],
    closes: bool,
}

impl Pen {
    fn lift(&mut self) {
        if let (true, Some(start), [_, ..]) = (self.closes, self.start, &self.stroke[..]) {
            self.line_to(start);
        }
        if !self.stroke.is_empty() {
            self.done.push(std::mem::take(&mut self.stroke));
        }
    }

    fn move_to(&mut self, to: Point<Drawn>) {
        self.lift();
        (self.at, self.start) = (Some(to), Some(to));
    }

    fn line_to(&mut self, to: Point<Drawn>) {
        if let Some(from) = self.at
            && from != to
        {
            self.stroke.push(Curve::Edge(Edge::Line { from, to }));
        }
        self.at = Some(to);
    }

    fn bezier(&mut self, points: &[Point<Drawn>]) {
        let Some(from) = self.at else { return };
        let all = std::iter::once(&from).chain(points);
        if all.clone().any(|p| *p != from) {
            self.stroke.push(Curve::Bezier(all.map(|p| (*p, 1.0)).collect()));
        }
        self.at = points.last().copied();
    }

    fn follow(&mut self, segment: PathSegment) {
        let at = self.at.unwrap_or(Point::origin());
        let point = |abs: bool, x: f64, y: f64| {
            if abs { Point::new(x, y) } else { at + Vector::new(x, y) }
        };
        let handle = std::mem::take(&mut self.handle);
        match segment {
            PathSegment::MoveTo { abs, x, y } => self.move_to(point(abs, x, y)),
            PathSegment::LineTo { abs, x, y } => self.line_to(point(abs, x, y)),
            PathSegment::HorizontalLineTo { abs, x } => {
                self.line_to(Point::new(if abs { x } else { at.x + x }, at.y));
            }
            PathSegment::VerticalLineTo { abs, y } => {
                self.line_to(Point::new(at.x, if abs { y } else { at.y + y }));
            }
            PathSegment::CurveTo { abs, x1, y1, x2, y2, x, y } => {
                self.cubic(point(abs, x1, y1), point(abs, x2, y2), point(abs, x, y));
            }
            PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => {
                self.cubic(handle[0].unwrap_or(at), point(abs, x2, y2), point(abs, x, y));
            }
            PathSegment::Quadratic { abs, x1, y1, x, y } => {
                self.quadratic(point(abs, x1, y1), point(abs, x, y));
            }
            PathSegment::SmoothQuadratic { abs, x, y } => {
                self.quadratic(handle[1].unwrap_or(at), point(abs, x, y));
            }
            PathSegment::EllipticalArc { abs, rx, ry, x_axis_rotation, large_arc, sweep, x, y } => {
                let to = point(abs, x, y);
                let radii = Vector::new(rx.abs(), ry.abs());
                self.elliptical(radii, x_axis_rotation.to_radians(), large_arc, sweep, to);
            }
            PathSegment::ClosePath { .. } => {
                if let Some(start) = self.start {
                    self.line_to(start);
                    self.move_to(start);
                }
            }
        }
    }

    fn cubic(&mut self, first: Point<Drawn>, second: Point<Drawn>, to: Point<Drawn>) {
        self.bezier(&[first, second, to]);
        self.handle[0] = Some(to + (to - second));
    }

    fn quadratic(&mut self, middle: Point<Drawn>, to: Point<Drawn>) {
        self.bezier(&[middle, to]);
        self.handle[1] = Some(to + (to - middle));
    }

    /// The arc of an ellipse to `to`, from its radii, the turn of its axes and which of the four
    /// possible arcs it is (SVG 2, appendix B.2.4).
    fn elliptical(&mut self, radii: Vector, turn: f64, large: bool, sweep: bool, to: Point<Drawn>) {
        let Some(from) = self.at else { return };
        if from == to {
            return;
        }
        if radii.x == 0.0 || radii.y == 0.0 {
            return self.line_to(to);
        }
        // Where both axes are one long and along x and y, the ellipse is the unit circle.
        let axis = Vector::at_angle(turn);
        let unit = |v: Vector| Vector::new(v.dot(axis) / radii.x, v.dot(axis.left()) / radii.y);
        let chord = unit(to - from);
        let half = chord.length() / 2.0;
        // Radii too small for the chord grow until they fit.
        let grown = half.max(1.0);
        let off = (grown * grown - half * half).max(0.0).sqrt() / (2.0 * half);
        let left = if large == sweep { -1.0 } else { 1.0 };
        let centre = chord * 0.5 + chord.left() * (off * left);
        let (start, end) = ((-centre).angle(), (chord - centre).angle());
        let turned =
            if sweep { (end - start).rem_euclid(TAU) } else { -(start - end).rem_euclid(TAU) };
        let centre = from + axis * (centre.x * radii.x) + axis.left() * (centre.y * radii.y);
        let (u, v) = (axis * (radii.x * grown), axis.left() * (radii.y * grown));
        self.at = Some(to);
        if radii.x != radii.y {
            self.stroke.push(Curve::Ellipse { centre, u, v, start, sweep: turned });
            return;
        }
        let mut add = |from, to, turned: f64| {
            self.stroke.push(Curve::Edge(Edge::new(from, to, (turned / 4.0).tan())));
        };
        if turned.abs() <= PI {
            return add(from, to, turned);
        }
        let middle = start + turned / 2.0;
        let between = centre + u * middle.cos() + v * middle.sin();
        add(from, between, turned / 2.0);
        add(between, to, turned / 2.0);
    }

    fn rectangle(&mut self, corner: Point<Drawn>, size: Vector, radii: Vector) {
        let (far, rx, ry) = (corner + size, radii.x, radii.y);
        let rounded = rx > 0.0 && ry > 0.0;
        let (rx, ry) = if rounded { (rx, ry) } else { (0.0, 0.0) };
        let corners = [
            (Point::new(far.x - rx, corner.y), Point::new(far.x, corner.y + ry)),
            (Point::new(far.x, far.y - ry), Point::new(far.x - rx, far.y)),
            (Point::new(corner.x + rx, far.y), Point::new(corner.x, far.y - ry)),
            (Point::new(corner.x, corner.y + ry), Point::new(corner.x + rx, corner.y)),
        ];
        self.move_to(corners[3].1);
        for (before, after) in corners {
            self.line_to(before);
            if rounded {
                self.elliptical(Vector::new(rx, ry), 0.0, false, true, after);
            }
        }
    }
}
