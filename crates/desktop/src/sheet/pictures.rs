//! Shapes made ready to be drawn: polygons fine enough for the zoom, their triangles and hatching.
//! They are made once per shape and fineness, not once per frame.

use std::collections::HashMap;
use std::sync::Arc;

use eframe::egui::{Color32, Mesh, Pos2, Shape, Stroke, pos2};
use geo::TriangulateEarcut;
use oddment_core::part::{Mark, MarkKind};
use oddment_core::shape::{
    Edge, PartSpace, Point, Pose, Region, SheetSpace, Side, Space, flatten_region,
};
use oddment_files::job_file::SourcedJob;

use super::view::View;

/// A region as polygons and triangles, in millimetres.
#[derive(Debug)]
pub(crate) struct Picture<S> {
    /// Outline first, then the holes.
    pub(crate) loops: Vec<Vec<Point<S>>>,
    corners: Vec<Point<S>>,
    triangles: Vec<u32>,
    /// Where its number goes: well inside.
    pub(crate) label: Point<S>,
    /// What lies on it and is not cut.
    pub(crate) marks: Vec<Line<S>>,
}

/// A line that is not cut, in millimetres.
#[derive(Debug)]
pub(crate) struct Line<S> {
    pub(crate) kind: MarkKind,
    pub(crate) points: Vec<Point<S>>,
}

impl Line<PartSpace> {
    fn of(mark: &Mark) -> Self {
        // Of an arc a point every 7.5°: marks are small, and nobody measures them here.
        let steps = |edge: &Edge<PartSpace>| match edge {
            Edge::Line { .. } => 1,
            Edge::Arc { sweep, .. } => (sweep.abs().to_degrees() / 7.5).ceil().max(1.0) as u32,
        };
        let first = mark.edges.first().map(Edge::from);
        let rest = mark.edges.iter().flat_map(|edge| {
            let steps = steps(edge);
            (1..=steps).map(move |i| edge.at(f64::from(i) / f64::from(steps)))
        });
        Self { kind: mark.kind, points: first.into_iter().chain(rest).collect() }
    }
}

impl<S: Space> Picture<S> {
    /// The region, within `bound` mm of its curves.
    pub(crate) fn of(region: &Region<S>, bound: f64) -> Self {
        let loops = flatten_region(region, bound, Side::Outward);
        let ring = |l: &Vec<Point<S>>| geo::LineString::from_iter(l.iter().map(|p| (p.x, p.y)));
        let holes = loops.iter().skip(1).map(ring).collect();
        let raw = geo::Polygon::new(
            loops.first().map(ring).unwrap_or(geo::LineString::new(vec![])),
            holes,
        )
        .earcut_triangles_raw();
        let corners = raw.vertices.iter().map(|v| Point::new(v[0], v[1])).collect();
        let triangles = raw.triangle_indices.iter().map(|i| *i as u32).collect();
        let label = inside(&loops).unwrap_or_else(|| region.bounds().centre());
        Self { loops, corners, triangles, label, marks: Vec::new() }
    }

    /// Whether `point` lies within its outline, be it in a hole.
    pub(crate) fn surrounds(&self, point: Point<S>) -> bool {
        self.loops.first().is_some_and(|outline| crossings(outline, point) % 2 == 1)
    }

    /// Its area in one colour.
    pub(crate) fn fill(&self, to_screen: impl Fn(Point<S>) -> Pos2, colour: Color32) -> Mesh {
        let mut mesh = Mesh::default();
        for corner in &self.corners {
            mesh.colored_vertex(to_screen(*corner), colour);
        }
        mesh.indices.extend_from_slice(&self.triangles);
        mesh
    }

    /// Its edges.
    pub(crate) fn lines(
        &self,
        to_screen: impl Fn(Point<S>) -> Pos2,
        stroke: Stroke,
        holes: Stroke,
    ) -> Vec<Shape> {
        self.loops
            .iter()
            .enumerate()
            .map(|(i, l)| {
                let points = l.iter().map(|p| to_screen(*p)).collect();
                Shape::closed_line(points, if i == 0 { stroke } else { holes })
            })
            .collect()
    }

    /// The lesser of its width and height, mm.
    pub(crate) fn size(&self) -> f64 {
        let outline = self.loops.first().into_iter().flatten().copied();
        let bounds = oddment_core::shape::Bounds::of(outline);
        bounds.width().min(bounds.height())
    }

    /// Whether `point` lies in it (even-odd).
    pub(crate) fn contains(&self, point: Point<S>) -> bool {
        self.loops.iter().map(|l| crossings(l, point)).sum::<usize>() % 2 == 1
    }
}

fn crossings<S: Space>(l: &[Point<S>], p: Point<S>) -> usize {
    let n = l.len();
    (0..n)
        .filter(|i| {
            let (a, b) = (l[*i], l[(i + 1) % n]);
            (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)
        })
        .count()
}

/// Of the middles of some level chords the one furthest from every edge: a place for a number.
fn inside<S: Space>(loops: &[Vec<Point<S>>]) -> Option<Point<S>> {
    const LEVELS: u32 = 24;
    let (low, high) =
        loops.first()?.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p.y), h.max(p.y)));
    let room = |at: Point<S>| {
        let edges = loops.iter().flat_map(|l| l.iter().zip(l.iter().cycle().skip(1)));
        edges
            .map(|(a, b)| Edge::Line { from: *a, to: *b }.nearest(at).distance(at))
            .fold(f64::MAX, f64::min)
    };
    (1..LEVELS)
        .flat_map(|i| {
            let y = low + (high - low) * f64::from(i) / f64::from(LEVELS);
            chords(loops, y).into_iter().map(move |(a, b)| Point::new(0.5 * (a + b), y))
        })
        .max_by(|a, b| room(*a).total_cmp(&room(*b)))
}

/// Where the level line at `y` runs inside, as pairs of x.
fn chords<S: Space>(loops: &[Vec<Point<S>>], y: f64) -> Vec<(f64, f64)> {
    let mut at: Vec<f64> = Vec::new();
    for l in loops {
        for (i, a) in l.iter().enumerate() {
            let b = l[(i + 1) % l.len()];
            if (a.y > y) != (b.y > y) {
                at.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
            }
        }
    }
    at.sort_by(f64::total_cmp);
    at.chunks_exact(2).map(|c| (c[0], c[1])).collect()
}

/// Lines at 45° across the inside of some screen polygons, `spacing` pixels apart; `falling` ones
/// run down to the right.
pub(crate) fn hatch(loops: &[Vec<Pos2>], spacing: f32, falling: bool) -> Vec<[Pos2; 2]> {
    // Turned by 45°, the lines are level.
    let sign = if falling { 1.0 } else { -1.0 };
    let turned: Vec<Vec<Point<SheetSpace>>> = loops
        .iter()
        .map(|l| {
            l.iter()
                .map(|p| Point::new(f64::from(p.x + sign * p.y), f64::from(p.y - sign * p.x)))
                .collect()
        })
        .collect();
    let heights = turned.iter().flatten().map(|p| p.y);
    let (low, high) = heights.fold((f64::MAX, f64::MIN), |(l, h), y| (l.min(y), h.max(y)));
    if low >= high {
        return Vec::new();
    }
    let step = f64::from(spacing) * std::f64::consts::SQRT_2;
    let (first, last) = ((low / step).ceil() as i64, (high / step).floor() as i64);
    let back = |x: f64, y: f64| {
        let (x, y) = (x as f32, y as f32);
        pos2((x - sign * y) / 2.0, (y + sign * x) / 2.0)
    };
    (first..=last.min(first + 4000))
        .flat_map(|i| {
            let y = i as f64 * step;
            chords(&turned, y).into_iter().map(move |(a, b)| (a, b, y))
        })
        .map(|(a, b, y)| [back(a, y), back(b, y)])
        .collect()
}

/// Points of a square grid of `spacing` pixels inside some screen polygons (even-odd), as far as
/// they are in `seen`.
pub(crate) fn dots(rims: &[Vec<Pos2>], seen: eframe::egui::Rect, spacing: f32) -> Vec<Pos2> {
    let rims: Vec<Vec<Point<SheetSpace>>> = rims
        .iter()
        .map(|l| l.iter().map(|p| Point::new(f64::from(p.x), f64::from(p.y))).collect())
        .collect();
    let (first, last) = ((seen.top() / spacing) as i32, (seen.bottom() / spacing) as i32);
    let mut found = Vec::new();
    for row in first..=last {
        // Off the round numbers, on which corners may lie.
        let y = row as f32 * spacing + 0.37;
        for (a, b) in chords(&rims, f64::from(y)) {
            let (a, b) = ((a as f32).max(seen.left()), (b as f32).min(seen.right()));
            let columns = (a / spacing).ceil() as i32..=(b / spacing).floor() as i32;
            found.extend(columns.map(|column| pos2(column as f32 * spacing, y)));
        }
    }
    found
}

/// The pictures of a job's parts and sheets at one fineness.
#[derive(Debug, Default)]
pub(crate) struct Pictures {
    job: Option<Arc<SourcedJob>>,
    fineness: i32,
    parts: HashMap<usize, Arc<Picture<PartSpace>>>,
    bodies: HashMap<(usize, usize), Arc<Picture<SheetSpace>>>,
}

impl Pictures {
    /// Forgets what does not fit the job and the zoom any more.
    pub(crate) fn renew(&mut self, job: &Arc<SourcedJob>, scale: f64) {
        self.renew_as_fine(job, (scale.log2() / 2.0).ceil() as i32);
    }

    /// Forgets what does not fit the job any more, at the zoom there was last.
    pub(crate) fn renew_job(&mut self, job: &Arc<SourcedJob>) {
        self.renew_as_fine(job, self.fineness);
    }

    fn renew_as_fine(&mut self, job: &Arc<SourcedJob>, fineness: i32) {
        if fineness != self.fineness || !self.job.as_ref().is_some_and(|j| Arc::ptr_eq(j, job)) {
            *self = Self { job: Some(job.clone()), fineness, ..Self::default() };
        }
    }

    /// A quarter of a pixel, in mm.
    fn bound(&self) -> f64 {
        (0.25 / 4f64.powi(self.fineness)).clamp(1e-3, 5.0)
    }

    /// The picture of a wanted part.
    pub(crate) fn part(&mut self, part: usize) -> Option<Arc<Picture<PartSpace>>> {
        let bound = self.bound();
        let wanted = self.job.as_ref()?.job.wanted.get(part)?;
        let picture = self.parts.entry(part).or_insert_with(|| {
            let marks = wanted.part.marks.iter().map(Line::of).collect();
            Arc::new(Picture { marks, ..Picture::of(&wanted.part.region, bound) })
        });
        Some(picture.clone())
    }

    /// The picture of a piece of a sheet's metal.
    pub(crate) fn body(&mut self, stock: usize, body: usize) -> Option<Arc<Picture<SheetSpace>>> {
        let bound = self.bound();
        let metal = self.job.as_ref()?.job.stock.get(stock)?.sheet.bodies.get(body)?;
        let picture = self
            .bodies
            .entry((stock, body))
            .or_insert_with(|| Arc::new(Picture::of(&metal.region(), bound)));
        Some(picture.clone())
    }
}

/// Where a part's point is on the screen.
pub(crate) fn placed(
    view: View,
    pose: Pose<PartSpace, SheetSpace>,
) -> impl Fn(Point<PartSpace>) -> Pos2 + Copy {
    move |p| view.to_screen(pose.apply(p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use oddment_core::shape::{Loop, PartSpace};

    fn ring() -> Region<PartSpace> {
        let outer = Loop::rectangle(Point::origin(), Point::new(100.0, 60.0)).unwrap();
        let hole = Loop::circle(Point::new(50.0, 30.0), 20.0).unwrap();
        Region::new(outer, vec![hole])
    }

    #[test]
    fn triangles_cover_the_metal_and_not_the_hole() {
        let picture = Picture::of(&ring(), 0.01);
        let area: f64 = picture
            .triangles
            .chunks_exact(3)
            .map(|t| {
                let [a, b, c] = [0, 1, 2].map(|i| picture.corners[t[i] as usize]);
                ((b - a).cross(c - a) / 2.0).abs()
            })
            .sum();
        assert!((area - ring().area()).abs() < 5.0, "{area}");
        assert!(picture.contains(Point::new(5.0, 5.0)));
        assert!(!picture.contains(Point::new(50.0, 30.0)));
        assert!(picture.surrounds(Point::new(50.0, 30.0)));
        assert!(!picture.surrounds(Point::new(500.0, 30.0)));
        assert!(picture.contains(picture.label));
    }

    #[test]
    fn a_bend_line_and_an_engraved_arc_are_drawn_where_they_lie() {
        let (from, to) = (Point::new(0.0, 5.0), Point::new(20.0, 5.0));
        let half = Edge::new(to, Point::new(20.0, 15.0), 1.0);
        let bend = Mark { kind: MarkKind::Bend, edges: vec![Edge::Line { from, to }] };
        let line = Line::of(&bend);
        assert_eq!((line.kind, &line.points[..]), (MarkKind::Bend, &[from, to][..]));
        let arc = Line::of(&Mark { kind: MarkKind::Engrave, edges: vec![half] });
        assert_eq!(arc.points.len(), 25);
        let middle = Point::new(20.0, 10.0);
        assert!(arc.points.iter().all(|p| (p.distance(middle) - 5.0).abs() < 1e-9));
    }

    #[test]
    fn dots_fill_the_inside_and_leave_holes_out() {
        let square = |a: f32, b: f32| vec![pos2(a, a), pos2(b, a), pos2(b, b), pos2(a, b)];
        let seen = eframe::egui::Rect::from_min_max(pos2(0.0, 0.0), pos2(500.0, 500.0));
        let found = dots(&[square(5.0, 105.0), square(45.0, 65.0)], seen, 10.0);
        // Ten by ten of them, less two by two in the hole.
        assert_eq!(found.len(), 100 - 4);
        assert!(dots(&[square(600.0, 700.0)], seen, 10.0).is_empty());
    }

    #[test]
    fn hatching_stays_inside_and_fills_it() {
        let square = vec![pos2(0.0, 0.0), pos2(70.0, 0.0), pos2(70.0, 70.0), pos2(0.0, 70.0)];
        for falling in [false, true] {
            let lines = hatch(std::slice::from_ref(&square), 7.0, falling);
            // The diagonal is 70 √2 long: a line every 7 pixels across it.
            assert!((12..=15).contains(&lines.len()), "{}", lines.len());
            for p in lines.iter().flatten() {
                assert!((-0.01..=70.01).contains(&p.x) && (-0.01..=70.01).contains(&p.y), "{p:?}");
            }
        }
        assert!(hatch(&[], 7.0, true).is_empty());
    }
}
