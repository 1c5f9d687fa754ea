//! What helps a hand that traces: the metal's edge drawn to where it is seen.

use oddment_core::capture::fit::Circle;
use oddment_core::capture::trace::{Form, Traced, trace_closed};
use oddment_core::shape::{Loop, Point, SheetSpace, Vector};

use crate::calibrate::Calibrated;
use crate::camera::Camera;
use crate::find::{Offered, beside, corners};
use crate::load::{Photograph, PixelSpace};
use crate::profile::step_near;

type P = Point<SheetSpace>;

/// A weaker step in lightness is no edge.
const LEAST: f64 = 10.0;
/// How far (pixels) a hand may have missed the edge between two places that it pressed.
const REACH: f64 = 9.0;
/// Of what was pressed round at least this share must be seen as an edge, or nothing is drawn to it.
const SEEN: f64 = 0.6;
/// Corners may seem rounded by more than so many tolerances over no more points than this, and by no more than that.
const ROUNDED: f64 = 3.0;
const MOST_ROUNDED: usize = 12;
const FARTHEST: f64 = 6.0;
/// What a place is off that no edge was seen at, pixels.
const BY_HAND: f64 = 2.0;

/// The edge nearest to a place, within `reach` mm: where the strongest step in lightness is along the
/// way that lightness changes there.
pub fn snapped(photo: &Photograph, calibrated: &Calibrated, at: P, reach: f64) -> Option<P> {
    let camera = &calibrated.camera;
    let q = camera.to_picture(at).filter(|q| photo.holds(*q))?;
    let pixels = (reach / camera.pixel(at)?).clamp(3.0, 60.0);
    let ways = (0..8).map(|k| Vector::at_angle(f64::from(k) * std::f64::consts::FRAC_PI_8));
    let steps = ways.filter_map(|way| {
        let step = step_near(photo, q, way, pixels, 0.0)?;
        let place: Point<PixelSpace> = q + way * step.at;
        // Of edges as strong the nearest; across it, not aslant.
        Some((step.rise.abs() / (1.0 + step.at.abs() / pixels), place, step))
    });
    let (_, place, step) = steps.max_by(|a, b| a.0.total_cmp(&b.0))?;
    if step.rise.abs() < LEAST { None } else { camera.to_sheet(place) }
}

/// The contour that was pressed round, place by place: a circle where the picture shows one through them,
/// else its sides drawn to the edge that is seen beside them, as lines and arcs. Where hardly any edge is
/// seen it is what was pressed. `None` where that encloses nothing.
pub fn traced(photo: &Photograph, calibrated: &Calibrated, pressed: &[P]) -> Option<Offered> {
    let camera = &calibrated.camera;
    let straight = Loop::polygon(pressed.iter().copied()).ok()?.directed(true);
    let circle = Circle::of(pressed).and_then(|c| Loop::circle(c.centre, c.radius).ok());
    let pixel = camera.pixel(*pressed.first()?)?;
    let tried = circle.iter().chain([&straight]).filter_map(|shape| {
        let run = along(shape, 1.5 * pixel);
        // Which side is darker is not known before.
        let both = pulled(photo, camera, &run, 0.0, REACH);
        let mut rises: Vec<f64> = both.iter().flatten().map(|f| f.1).collect();
        rises.sort_by(f64::total_cmp);
        let usual = *rises.get(rises.len() / 2)?;
        let found = pulled(photo, camera, &run, usual, REACH);
        let seen = found.iter().flatten().filter(|f| f.1.abs() >= LEAST);
        let points: Vec<P> = seen.clone().map(|f| f.0).collect();
        // Near to what was pressed, and strong, nearly all round.
        let near = |(p, q): (&Option<(P, f64)>, &P)| match p {
            Some((p, rise)) => rise.abs() / (1.0 + p.distance(*q) / (2.0 * pixel)),
            None => 0.0,
        };
        let worth = found.iter().zip(&run).map(near).sum::<f64>() / run.len() as f64;
        (points.len() as f64 >= SEEN * run.len() as f64).then_some((worth, points, usual.abs()))
    });
    let best = tried.max_by(|a, b| a.0.total_cmp(&b.0));
    let by_hand = Offered {
        form: Form::Polygon,
        shape: straight.clone(),
        off: BY_HAND * pixel,
        contrast: 0.0,
    };
    let Some((_, points, contrast)) = best else { return Some(by_hand) };
    let tolerance = (1.5 * pixel).max(0.4);
    let Some(found) = trace_at_corners(&points, tolerance) else { return Some(by_hand) };
    let shape = found.shape.directed(true);
    Some(Offered { form: found.form, shape, off: found.off, contrast })
}

/// A closed run as lines and arcs. Lightness is smeared round corners: there the edges beside them say more.
pub(crate) fn trace_at_corners(points: &[P], tolerance: f64) -> Option<Traced> {
    let round = |t: &Traced| matches!(t.form, Form::Circle | Form::Slot);
    match trace_closed(points, tolerance) {
        Some(whole) if round(&whole) => Some(whole),
        whole => {
            let corners = corners(points);
            let straight: Vec<P> =
                points.iter().zip(&corners).filter(|(_, c)| !**c).map(|(p, _)| *p).collect();
            let few = straight.len() * 2 < points.len();
            // With the corners left out a rectangle could be a slot, and a keyway be nothing.
            let near = |t: &Traced| {
                let edges: Vec<_> = t.shape.edges().collect();
                let off = |p: &P| {
                    let off = edges.iter().map(|e| e.nearest(*p).distance(*p));
                    off.fold(f64::INFINITY, f64::min)
                };
                let is_far = |p: &P| off(p) > ROUNDED * tolerance;
                let far = points.chunk_by(|a, b| is_far(a) == is_far(b));
                let few = far.filter(|run| is_far(&run[0])).all(|run| run.len() <= MOST_ROUNDED);
                few && points.iter().all(|p| off(p) <= FARTHEST * tolerance)
            };
            let sharp = trace_closed(&straight, tolerance);
            sharp.filter(|t| !few && !round(t) && near(t)).or(whole)
        }
    }
}

/// Each point of a closed run where the edge is along its normal, and by how much lightness rises there to the
/// right of the run, which should be about `wanted` (0: the strongest there is); `None` where there is no edge
/// within `reach` pixels.
pub(crate) fn pulled(
    photo: &Photograph,
    camera: &Camera,
    run: &[P],
    wanted: f64,
    reach: f64,
) -> Vec<Option<(P, f64)>> {
    let at = |i: usize| {
        let right = -(beside(run, i, 3) - beside(run, i, -3)).unit()?.left();
        let q = camera.to_picture(run[i])?;
        let beyond = camera.to_picture(run[i] + right * camera.pixel(run[i])?)?;
        let normal = (beyond - q).unit()?;
        let step = step_near(photo, q, normal, reach, wanted)?;
        Some((camera.to_sheet(q + normal * step.at)?, step.rise))
    };
    (0..run.len()).map(at).collect()
}

/// Points along a closed shape, so many mm apart.
fn along(shape: &Loop<SheetSpace>, apart: f64) -> Vec<P> {
    /// More than any contour needs.
    const MOST: f64 = 6_000.0;
    let apart = apart.max(shape.perimeter() / MOST);
    let edges = shape.edges().flat_map(|e| {
        let count = (e.length() / apart).ceil().max(1.0) as usize;
        (0..count).map(move |i| e.at((i as f64 + 0.5) / count as f64))
    });
    edges.collect()
}
