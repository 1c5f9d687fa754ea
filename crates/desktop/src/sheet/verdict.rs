//! The check, in the corner and in words.

use eframe::egui::{
    CursorIcon, Painter, Pos2, Rect, Role, ScrollArea, Sense, Shape, Stroke, Ui, WidgetInfo, pos2,
    vec2,
};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_app::words::{FaultInWords, Verdict, faults};
use oddment_core::shape::{Point, SheetSpace};

use crate::theme::{self, Colours};

/// Whether the list of faults is open, and how high it came out in the frame before.
#[derive(Default)]
pub(crate) struct Opened {
    open: bool,
    high: f32,
}

impl Opened {
    /// Whether the list is open.
    pub(crate) fn is_open(&self) -> bool {
        self.open
    }
}

/// Most room (points) that the list takes.
const HIGH: f32 = 360.0;

/// Draws the corner; returns where to look when a fault was pressed.
pub(crate) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    opened: &mut Opened,
    rect: Rect,
    acts: &mut Vec<Act>,
) -> Option<Point<SheetSpace>> {
    let barred = session.barred();
    let verdict = match barred {
        [] => Verdict::of(session.checked()),
        [first, ..] => Verdict::Barred(first.why.clone()),
    };
    let mut found: Vec<_> = barred.iter().map(FaultInWords::of_sheet).collect();
    found.extend(faults(session.view(), session.checked(), session.settings().unit()));
    let at_work = session.is_previewed();
    opened.open &= !found.is_empty() && !at_work;
    let ground = super::card(ui, c, rect, |_| {});
    let text = if at_work { "working…".into() } else { verdict.text() };
    let (ink, mark) = match verdict {
        _ if at_work => (c.quiet, Mark::None),
        Verdict::Clear(_) => (c.fits, Mark::Tick),
        Verdict::Faults(_) | Verdict::Barred(_) => (c.short, Mark::Cross),
        Verdict::Nothing => (c.quiet, Mark::None),
    };
    let at = pos2(rect.left() + 28.0, rect.center().y);
    paint_mark(ui.painter(), mark, at, ink);
    let left = if mark == Mark::None { rect.left() + 18.0 } else { rect.left() + 48.0 };
    let says = ui.painter().layout_no_wrap(text.clone(), theme::strong(), c.text);
    let tall = says.size().y;
    // What is clear as recorded is not yet clear as it lies on the bed.
    let below = verdict.below().filter(|_| !at_work);
    let up = if below.is_some() { 9.0 } else { 0.0 };
    ui.painter().galley(pos2(left, rect.center().y - up - tall / 2.0), says, c.text);
    if let Some(below) = below {
        let at = pos2(left, rect.center().y + 11.0);
        let align = eframe::egui::Align2::LEFT_CENTER;
        ui.painter().text(at, align, below, theme::small(), c.quiet);
    }
    if !found.is_empty() && !at_work {
        let more = if opened.open { "hide" } else { "show" };
        let at = pos2(rect.right() - 18.0, rect.center().y);
        let align = eframe::egui::Align2::RIGHT_CENTER;
        ui.painter().text(at, align, more, theme::body(), c.quiet);
    }
    let spoken = [Some(text.as_str()), below].into_iter().flatten().collect::<Vec<_>>().join(", ");
    let spoken = format!("check: {spoken}");
    ground.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
    if !found.is_empty() && ground.on_hover_cursor(CursorIcon::PointingHand).clicked() {
        opened.open = !opened.open;
    }
    if opened.open { list(ui, c, &found, rect, &mut opened.high, acts) } else { None }
}

/// The faults, above the corner.
fn list(
    ui: &mut Ui,
    c: &Colours,
    found: &[FaultInWords],
    corner: Rect,
    known: &mut f32,
    acts: &mut Vec<Act>,
) -> Option<Point<SheetSpace>> {
    let wide = 420f32.min(corner.right() - 40.0);
    let high = known.clamp(c.touch + 16.0, HIGH);
    let bottom = corner.top() - 12.0;
    let rect = Rect::from_min_max(
        pos2(corner.right() - wide, bottom - high),
        pos2(corner.right(), bottom),
    );
    let (mut look, mut used) = (None, 0.0);
    super::card(&mut super::child(ui, rect, "faults"), c, rect, |ui| {
        let scrolled = ScrollArea::vertical().max_height(HIGH - 16.0).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            for fault in found {
                let wide = ui.available_width();
                // As high as what is said, however many lines that takes.
                let room = wide - 12.0;
                let text = ui.painter().layout(fault.text.clone(), theme::body(), c.text, room);
                let size = vec2(wide, c.touch.max(text.size().y + 12.0));
                let (row, response) = ui.allocate_exact_size(size, Sense::click());
                if response.hovered() {
                    ui.painter().rect_filled(
                        row.expand2(vec2(8.0, 0.0)),
                        6,
                        c.rule.gamma_multiply(0.5),
                    );
                }
                let at = pos2(row.left(), row.center().y - text.size().y / 2.0);
                ui.painter().galley(at, text, c.text);
                theme::focus_ring(ui, c, &response, 6);
                response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &fault.text));
                if response.on_hover_cursor(CursorIcon::PointingHand).clicked() {
                    acts.push(Act::Select(fault.copies.clone()));
                    acts.extend(fault.mends.clone().map(Act::Rack));
                    look = fault.at;
                }
            }
        });
        used = scrolled.content_size.y + 16.0;
    });
    if used != *known {
        *known = used;
        ui.ctx().request_discard("the list of faults has another height");
    }
    look
}

/// The sign of an answer.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    None,
    Tick,
    Cross,
}

pub(crate) fn paint_mark(painter: &Painter, mark: Mark, at: Pos2, ink: eframe::egui::Color32) {
    let line = Stroke::new(3.0, ink);
    let to = |x: f32, y: f32| at + vec2(x, y);
    match mark {
        Mark::None => {}
        Mark::Tick => {
            let points = vec![to(-9.0, 0.0), to(-3.0, 7.0), to(9.0, -8.0)];
            painter.add(Shape::line(points, line));
        }
        Mark::Cross => {
            painter.line_segment([to(-7.0, -7.0), to(7.0, 7.0)], line);
            painter.line_segment([to(-7.0, 7.0), to(7.0, -7.0)], line);
        }
    }
}
