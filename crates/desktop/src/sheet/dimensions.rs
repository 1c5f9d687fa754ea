//! The distances from what is selected, or in the hand, to what is nearest, and all that are short.

use eframe::egui::{Align2, Painter, Rect, Shape, Stroke, Vec2, vec2};
use oddment_app::open_job::SheetSlot;
use oddment_app::session::Session;
use oddment_core::check::{Fault, RESOLUTION};
use oddment_core::shape::{Gap, SheetSpace};
use oddment_files::words::figures;

use super::draw::Scene;
use super::pointer::Knob;
use crate::theme;

/// Short distances drawn, at most: where nearly all is short, more would cover the plan.
const MOST_SHORT: usize = 24;

/// A distance that is drawn.
#[derive(Clone, Copy)]
struct Dimension {
    gap: Gap<SheetSpace>,
    /// What the rule asks for, mm.
    required: f64,
}

impl Dimension {
    /// Whether it runs between the same two points.
    fn is_as(&self, other: &Self) -> bool {
        let (a, b) = (&self.gap, &other.gap);
        let near = |p, q| oddment_core::shape::Point::distance(p, q) < RESOLUTION;
        near(a.from, b.from) && near(a.to, b.to) || near(a.from, b.to) && near(a.to, b.from)
    }
}

/// The distances to what is nearest, and those on this sheet that are short.
fn to_draw(session: &Session, slot: SheetSlot) -> Vec<Dimension> {
    let near = session.near().iter();
    let mut all: Vec<_> = near.map(|n| Dimension { gap: n.gap, required: n.required }).collect();
    // The check knows nothing of what is in the hand or only a proposal.
    if session.hand().is_some() || session.is_previewed() {
        return all;
    }
    for fault in &session.checked().report().faults {
        if let Fault::Short(m) = fault
            && Some(m.layout) == slot.layout
            && all.len() < MOST_SHORT
        {
            let short = Dimension { gap: m.gap, required: m.required };
            if !all.iter().any(|d| d.is_as(&short)) {
                all.push(short);
            }
        }
    }
    all
}

impl Scene<'_> {
    /// Draws them as dimension lines.
    pub(super) fn dimensions(&self, painter: &Painter) {
        let unit = self.session.settings().unit();
        // The turn handle stands over whatever is below it.
        let knob = Knob::of(self).map(|knob| knob.rect(self.c));
        for Dimension { gap, required } in to_draw(self.session, self.slot) {
            let spare = gap.distance - required;
            let short = spare < -RESOLUTION;
            let colour = if short { self.c.short } else { self.c.strong };
            let (from, to) = (self.view.to_screen(gap.from), self.view.to_screen(gap.to));
            if gap.distance > 0.0 {
                let line = Stroke::new(if short { 2.5 } else { 1.5 }, colour);
                if short {
                    painter.extend(Shape::dashed_line(&[from, to], line, 5.0, 3.0));
                } else {
                    painter.line_segment([from, to], line);
                }
                let across = (to - from).normalized().rot90() * 5.0;
                for end in [from, to] {
                    painter.line_segment([end - across, end + across], line);
                }
            }
            let figures = figures(gap.distance, required, unit);
            let says = if gap.distance < 0.0 {
                format!("overlaps by {}", figures.of(-gap.distance))
            } else if short {
                let (has, by) = (figures.of(gap.distance), figures.of(-spare));
                format!("{has} short by {by}")
            } else {
                figures.of(gap.distance)
            };
            // Beside a long line, and beyond the end of a short one.
            let way = (to - from).normalized();
            let level = way.x.abs() > way.y.abs();
            let (middle, align) = match (level, from.distance(to) < 40.0) {
                (true, true) if way.x > 0.0 => (to + vec2(10.0, 0.0), Align2::LEFT_CENTER),
                (true, true) => (to - vec2(10.0, 0.0), Align2::RIGHT_CENTER),
                (false, true) => (to + way * 16.0, Align2::CENTER_CENTER),
                (true, false) => {
                    (from + (to - from) * 0.5 - vec2(0.0, 12.0), Align2::CENTER_CENTER)
                }
                (false, false) => (from + (to - from) * 0.5 + vec2(8.0, 0.0), Align2::LEFT_CENTER),
            };
            let ground = self.c.metal.gamma_multiply(0.85);
            let font = theme::small_strong();
            let size = painter.layout_no_wrap(says.clone(), font.clone(), colour).size();
            let rect = align.anchor_size(middle, size).expand2(vec2(4.0, 1.0));
            let off = knob.map_or(Vec2::ZERO, |knob| out_of(rect, knob));
            let at = middle + off + into(rect.translate(off), self.free);
            theme::tag(painter, at, align, &says, font, colour, ground);
        }
    }
}

/// The least shift that takes `rect` off `other`, along one axis; none where they are apart.
fn out_of(rect: Rect, other: Rect) -> Vec2 {
    if !rect.intersects(other) {
        return Vec2::ZERO;
    }
    [
        vec2(other.left() - rect.right(), 0.0),
        vec2(other.right() - rect.left(), 0.0),
        vec2(0.0, other.top() - rect.bottom()),
        vec2(0.0, other.bottom() - rect.top()),
    ]
    .into_iter()
    .min_by(|a, b| a.length().total_cmp(&b.length()))
    .unwrap_or(Vec2::ZERO)
}

/// The least shift that brings `rect` into `room`.
fn into(rect: Rect, room: Rect) -> Vec2 {
    let back = (rect.max - room.max).max(Vec2::ZERO);
    let on = (room.min - rect.min).max(Vec2::ZERO);
    on - back
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tests::bench::{Bench, bench};
    use eframe::egui::pos2;
    use oddment_app::act::Act;
    use oddment_core::shape::Vector;

    #[test]
    fn short_distances_are_drawn_whatever_is_selected_and_each_once() {
        let mut bench = bench("short-distances");
        let row = bench.session().view().job().wanted.len() - 1;
        bench.act(Act::PlaceOne(row));
        let slot = bench.session().slot().unwrap();
        let short = |bench: &Bench| {
            let all = to_draw(bench.session(), slot);
            all.iter().filter(|d| d.gap.distance < d.required - RESOLUTION).count()
        };
        assert_eq!(short(&bench), 0);
        // A millimetre from the left edge, in the middle of it where no cut-out is near.
        bench.act(Act::MoveTo(Vector::new(1.0, 280.0)));
        assert_eq!((short(&bench), bench.session().near().is_empty()), (1, false));
        bench.act(Act::SelectNone);
        assert_eq!((short(&bench), bench.session().near().is_empty()), (1, true));
    }

    #[test]
    fn a_number_beyond_the_canvas_moves_into_it_by_the_shortest_way() {
        let canvas = Rect::from_min_max(pos2(300.0, 60.0), pos2(1372.0, 790.0));
        for (at, by) in [
            ((1370.0, 400.0), vec2(-13.0, 0.0)),
            ((310.0, 50.0), vec2(5.0, 18.0)),
            ((700.0, 788.0), vec2(0.0, -6.0)),
            ((700.0, 400.0), Vec2::ZERO),
        ] {
            let number = Rect::from_center_size(pos2(at.0, at.1), vec2(30.0, 16.0));
            assert_eq!(into(number, canvas), by);
            assert!(canvas.contains_rect(number.translate(by)));
        }
    }

    #[test]
    fn a_number_moves_off_the_turn_handle_by_the_shortest_way() {
        let knob = Rect::from_center_size(pos2(100.0, 100.0), vec2(44.0, 44.0));
        let check = |at: (f32, f32), by: Vec2| {
            let number = Rect::from_center_size(pos2(at.0, at.1), vec2(30.0, 16.0));
            let moved = out_of(number, knob);
            assert_eq!(moved, by);
            assert!(!number.translate(moved * 1.001).shrink(0.01).intersects(knob));
        };
        check((100.0, 80.0), vec2(0.0, -10.0));
        check((130.0, 100.0), vec2(7.0, 0.0));
        check((300.0, 100.0), Vec2::ZERO);
    }
}
