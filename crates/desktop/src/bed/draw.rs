//! Bed, clamps and pointer points over the sheet.

use eframe::egui::{Align2, Painter, Pos2, Shape, Stroke, vec2};
use oddment_app::lay::Pointed;
use oddment_core::machine::Machine;
use oddment_core::shape::{BedSpace, Bounds, Point, Pose, SheetSpace};
use oddment_core::square_up::Bearing;

use crate::sheet::View;
use crate::theme::{self, Colours};

fn on_screen(
    view: &View,
    pose: &Pose<SheetSpace, BedSpace>,
    bounds: &Bounds<BedSpace>,
) -> Vec<Pos2> {
    let back = pose.inverse();
    bounds.corners().into_iter().map(|p| view.to_screen(back.apply(p))).collect()
}

/// The end of the head's reach.
pub(super) fn bed(
    painter: &Painter,
    c: &Colours,
    view: &View,
    pose: &Pose<SheetSpace, BedSpace>,
    machine: &Machine,
) {
    let (width, height) = (machine.bed.width, machine.bed.height);
    let bounds = Bounds { min: Point::origin(), max: Point::new(width, height) };
    let corners = on_screen(view, pose, &bounds);
    let mut line = corners.clone();
    line.push(corners[0]);
    painter.extend(Shape::dashed_line(&line, Stroke::new(1.5, c.quiet), 10.0, 6.0));
    let says = format!("bed of {}: the head reaches no farther", machine.name);
    let at = corners[0] + vec2(4.0, 6.0);
    theme::tag(painter, at, Align2::LEFT_TOP, &says, theme::small(), c.quiet, c.bed);
}

/// Clamps, cross-hatched, with their numbers; those that bear on no sound metal say so.
pub(super) fn clamps(
    painter: &Painter,
    c: &Colours,
    view: &View,
    pose: &Pose<SheetSpace, BedSpace>,
    clamps: &[Bounds<BedSpace>],
    bearings: &[Bearing],
) {
    for (n, clamp) in clamps.iter().enumerate() {
        let corners = on_screen(view, pose, clamp);
        let pen = Stroke::new(1.0, c.short);
        painter.add(Shape::convex_polygon(corners.clone(), c.card, Stroke::new(2.0, c.short)));
        let between = |a: Pos2, b: Pos2, share: f32| a + (b - a) * share;
        for i in 1..4 {
            let share = i as f32 / 4.0;
            for (from, to) in [(0, 3), (1, 0)] {
                let (a, b) = (corners[from], corners[(from + 1) % 4]);
                let (d, e) = (corners[to], corners[(to + 3) % 4]);
                painter.line_segment([between(a, b, share), between(d, e, share)], pen);
            }
        }
        let middle = between(corners[0], corners[2], 0.5);
        let name = format!("clamp {}", n + 1);
        theme::tag(painter, middle, Align2::CENTER_CENTER, &name, theme::small(), c.text, c.card);
        let says = match bearings.get(n) {
            Some(Bearing::OverCutOut(_)) => "over a cut-out",
            Some(Bearing::OffSheet) => "beside the sheet",
            Some(Bearing::Sound) | None => continue,
        };
        let under = middle + vec2(0.0, 18.0);
        theme::tag(
            painter,
            under,
            Align2::CENTER_CENTER,
            says,
            theme::small_strong(),
            c.short,
            c.card,
        );
    }
}

/// The places to drive to, with their letters.
pub(super) fn points(
    painter: &Painter,
    c: &Colours,
    view: &View,
    points: &[Pointed],
    middle: Point<SheetSpace>,
) {
    for p in points {
        let at = view.to_screen(p.feature.at());
        let colour = if p.ticked { c.fits } else { c.short };
        painter.circle_stroke(at, 6.0, Stroke::new(2.0, colour));
        for across in [vec2(11.0, 0.0), vec2(0.0, 11.0)] {
            painter.line_segment([at - across, at + across], Stroke::new(1.5, colour));
        }
        let toward = view.to_screen(middle) - at;
        let side = vec2(toward.x.signum() * 20.0, toward.y.signum() * 18.0);
        let says = if p.ticked { format!("{} ✓", p.letter) } else { p.letter.to_string() };
        theme::tag(
            painter,
            at + side,
            Align2::CENTER_CENTER,
            &says,
            theme::strong(),
            c.text,
            c.card,
        );
    }
}
