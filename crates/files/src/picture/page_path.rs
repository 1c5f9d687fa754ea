//! Outlines on a page: straight lines and cubic curves, which all kinds of pictures know.

use std::f64::consts::FRAC_PI_2;

use oddment_core::shape::{Edge, Loop, Point, Space};

use super::PageSpace;

/// Outlines on a page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PagePath {
    /// Its steps.
    pub steps: Vec<Step>,
}

/// One step of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    /// Begins a new outline.
    Move(Point<PageSpace>),
    /// Runs straight.
    Line(Point<PageSpace>),
    /// Runs along a cubic curve with two control points.
    Curve(Point<PageSpace>, Point<PageSpace>, Point<PageSpace>),
    /// Runs back to where the outline began.
    Close,
}

impl PagePath {
    /// The chain of lines through `points`.
    pub fn polyline(points: impl IntoIterator<Item = Point<PageSpace>>, closed: bool) -> Self {
        let mut steps: Vec<Step> = points.into_iter().map(Step::Line).collect();
        if let Some(first) = steps.first_mut()
            && let Step::Line(start) = *first
        {
            *first = Step::Move(start);
            if closed {
                steps.push(Step::Close);
            }
        }
        Self { steps }
    }

    /// The axis-parallel rectangle between two corners.
    pub fn rectangle(min: Point<PageSpace>, max: Point<PageSpace>) -> Self {
        Self::polyline([min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)], true)
    }

    /// The circle.
    pub fn circle(centre: Point<PageSpace>, radius: f64) -> Self {
        let mut path = Self::default();
        if let Ok(circle) = Loop::circle(centre, radius) {
            path.add_loop(&circle, &|p| p);
        }
        path
    }

    /// Adds a loop, brought to the page by `to_page`, which may shift, turn, mirror and scale.
    pub(crate) fn add_loop<S: Space>(
        &mut self,
        l: &Loop<S>,
        to_page: &impl Fn(Point<S>) -> Point<PageSpace>,
    ) {
        self.steps.push(Step::Move(to_page(l.vertices()[0].point)));
        l.edges().for_each(|edge| self.run(&edge, to_page));
        self.steps.push(Step::Close);
    }

    /// Adds a line or an arc by itself, as [`add_loop`](Self::add_loop) does loops.
    pub(crate) fn add_edge<S: Space>(
        &mut self,
        edge: &Edge<S>,
        to_page: &impl Fn(Point<S>) -> Point<PageSpace>,
    ) {
        self.steps.push(Step::Move(to_page(edge.from())));
        self.run(edge, to_page);
    }

    /// Runs on along an edge. A cubic stands for a quarter of a circle to 0.03 % of its radius.
    fn run<S: Space>(&mut self, edge: &Edge<S>, to_page: &impl Fn(Point<S>) -> Point<PageSpace>) {
        let Edge::Arc { radius, sweep, .. } = *edge else {
            self.steps.push(Step::Line(to_page(edge.to())));
            return;
        };
        let pieces = (sweep.abs() / FRAC_PI_2).ceil().max(1.0);
        for i in 0..pieces as usize {
            let (start, end) = (i as f64 / pieces, (i as f64 + 1.0) / pieces);
            let reach = 4.0 / 3.0 * (sweep.abs() / pieces / 4.0).tan() * radius;
            let (from, to) = (edge.at(start), edge.at(end));
            self.steps.push(Step::Curve(
                to_page(from + edge.direction(start) * reach),
                to_page(to - edge.direction(end) * reach),
                to_page(to),
            ));
        }
    }
}
