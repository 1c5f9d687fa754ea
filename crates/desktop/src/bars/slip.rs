//! The order slip of bars: lines of parts, and a row to type the next.

use eframe::egui::{
    Align2, CursorIcon, Key, Rect, RichText, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::bars::BarOrder;
use oddment_app::session::Session;
use oddment_core::bars::Wanted;
use oddment_core::units::{LengthUnit, parse_length};

use super::{change, draw};
use crate::sheet::card;
use crate::theme::{self, Colours, Weight};

/// The line that is being typed.
#[derive(Default)]
pub(super) struct Slip {
    length: String,
    count: String,
    name: String,
    fault: Option<String>,
    /// The length is typed next.
    begin: bool,
}

/// What was asked for.
pub(super) enum Asked {
    /// To paste a list.
    Paste,
    /// More about a line.
    Piece(usize),
}

impl Slip {
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        rect: Rect,
        acts: &mut Vec<Act>,
    ) -> Option<Asked> {
        let mut asked = None;
        // As high as what is on it, which is known from the frame before.
        let id = ui.scope_id().with("height");
        let high: f32 = ui.data(|d| d.get_temp(id)).unwrap_or(rect.height());
        let paper = Rect::from_min_size(rect.min, vec2(rect.width(), high.min(rect.height())));
        let mut used = 0.0;
        card(ui, c, paper, |ui| {
            let top = ui.cursor().top();
            let order = session.bars().order();
            ui.label(RichText::new(format!("Order · {}", order.title)).font(theme::strong()));
            let planned = session.bars().shown();
            let says = match planned {
                Some(planned) => {
                    let missing: usize = planned.plan.missing.iter().sum();
                    let wanted = order.wanted();
                    format!("{} of {wanted} parts have a bar", wanted.saturating_sub(missing))
                }
                None => format!("{} parts", order.wanted()),
            };
            ui.label(RichText::new(says).font(theme::small()).color(c.quiet));
            ui.add_space(4.0);
            let below = 2.0 * c.touch + 44.0;
            let room = (rect.bottom() - ui.cursor().top() - below).max(80.0);
            ScrollArea::vertical().max_height(room).show(ui, |ui| {
                for i in 0..order.list.parts.len() {
                    if line(ui, c, session, i) {
                        asked = Some(Asked::Piece(i));
                    }
                }
                if order.list.parts.is_empty() {
                    let text = "Nothing is wanted yet. Type a length below, or paste a cut list.";
                    ui.label(RichText::new(text).color(c.quiet));
                }
            });
            ui.add_space(6.0);
            self.next_line(ui, c, session, acts);
            if theme::button(ui, c, "Paste a list", "or drop a CSV here", Weight::Words)
                .on_hover_text("From a table or CSV, looked at before it is taken")
                .clicked()
            {
                asked = Some(Asked::Paste);
            }
            used = ui.cursor().top() - top + 16.0;
        });
        ui.data_mut(|d| d.insert_temp(id, used));
        asked
    }

    /// A row of fields: length, how many, name.
    fn next_line(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let unit = session.settings().unit();
        let mut done = false;
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            let enter = |ui: &Ui| ui.input(|i| i.key_pressed(Key::Enter));
            let fields = [
                ("next length", &mut self.length, 76.0, unit.to_string()),
                ("how many of it", &mut self.count, 48.0, "× 1".to_owned()),
                ("its name", &mut self.name, 84.0, "name".to_owned()),
            ];
            for (i, (name, text, wide, hint)) in fields.into_iter().enumerate() {
                let edit = eframe::egui::TextEdit::singleline(text)
                    .hint_text(hint)
                    .desired_width(wide)
                    .align(Align2::LEFT_CENTER)
                    .min_size(vec2(wide, 36.0));
                let field = ui.add(edit).accessible_name(name);
                if i == 0 && std::mem::take(&mut self.begin) {
                    field.request_focus();
                }
                done |= field.lost_focus() && enter(ui);
            }
            done |= theme::sign_button(ui, c, "+", "", Weight::Plain, "Add this line").clicked();
        });
        if done {
            match self.part(unit) {
                Ok(part) => {
                    let mut order = session.bars().order().clone();
                    let name = format!("Add {}", part.called());
                    order.list.parts.push(part);
                    acts.push(change(name, order));
                    *self = Self { begin: true, ..Self::default() };
                }
                Err(why) => {
                    self.fault = Some(why);
                    self.begin = true;
                }
            }
        }
        if let Some(fault) = &self.fault {
            ui.label(RichText::new(fault).font(theme::small()).color(c.short));
        }
    }

    fn part(&self, unit: LengthUnit) -> Result<Wanted, String> {
        let length = parse_length(&self.length, unit).map_err(|why| format!("length: {why}"))?;
        let count = count(&self.count)?;
        Ok(Wanted { name: self.name.trim().to_owned(), length, count, ..Wanted::default() })
    }
}

/// How many, as typed; one where nothing is.
pub(super) fn count(text: &str) -> Result<usize, String> {
    match text.trim().trim_start_matches(['×', 'x']).trim() {
        "" => Ok(1),
        typed => typed
            .parse()
            .ok()
            .filter(|n| (1..=10_000).contains(n))
            .ok_or_else(|| format!("“{typed}” is no count; write a whole number from 1")),
    }
}

/// A line of the order; whether it was pressed.
fn line(ui: &mut Ui, c: &Colours, session: &Session, i: usize) -> bool {
    let order = session.bars().order();
    let unit = session.settings().unit();
    let part = &order.list.parts[i];
    let (wide, high) = (ui.available_width(), c.touch + 8.0);
    let (rect, response) = ui.allocate_exact_size(vec2(wide, high), Sense::click());
    let painter = ui.painter();
    if response.hovered() {
        painter.rect_filled(rect.expand2(vec2(8.0, 0.0)), 8, c.rule.gamma_multiply(0.35));
    }
    let frame = Rect::from_center_size(
        pos2(rect.left() + 29.0, rect.center().y),
        vec2(longness(order, part) * 58.0, 15.0),
    );
    draw::strip(painter, c, &order.list, part, frame);
    let left = rect.left() + 70.0;
    let at = pos2(left, rect.center().y - 10.0);
    let title = if part.name.is_empty() { "part" } else { &part.name };
    let length = format!("{} {unit}", unit.show(part.length));
    painter.text(at, Align2::LEFT_CENTER, title, theme::body(), c.text);
    let right = pos2(rect.right(), at.y);
    painter.text(right, Align2::RIGHT_CENTER, &length, theme::small_strong(), c.text);
    let cut = session.bars().shown().map(|planned| planned.cut(i));
    let (count, ink) = match cut {
        Some(cut) if cut == part.count => (format!("{cut} of {cut}  ✓"), c.fits),
        Some(cut) => (format!("{cut} of {}", part.count), c.short),
        None => (format!("{} wanted", part.count), c.quiet),
    };
    let at = pos2(left, rect.center().y + 11.0);
    let count = painter.text(at, Align2::LEFT_CENTER, &count, theme::small(), ink);
    let details = details(part);
    if !details.is_empty() {
        let at = pos2(count.right() + 10.0, at.y);
        painter.text(at, Align2::LEFT_CENTER, &details, theme::small(), c.quiet);
    }
    theme::focus_ring(ui, c, &response, 8);
    let spoken = format!("{title}, {length}, {} wanted", part.count);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
    response
        .on_hover_cursor(CursorIcon::PointingHand)
        .on_hover_text("Press for its ends, holes and priority")
        .clicked()
}

/// How long a part is beside the longest of the order, as much as can be seen.
fn longness(order: &BarOrder, part: &Wanted) -> f32 {
    let longest = order.list.parts.iter().map(|p| p.length).fold(1.0, f64::max);
    (part.length / longest).sqrt().clamp(0.3, 1.0) as f32
}

/// “45° / 45°, 2 holes”.
fn details(part: &Wanted) -> String {
    let mut said = Vec::new();
    if part.ends.iter().any(|end| *end > 0.0) {
        let degrees = |angle: f64| format!("{}°", (angle.to_degrees() * 10.0).round() / 10.0);
        said.push(format!("{} / {}", degrees(part.ends[0]), degrees(part.ends[1])));
    }
    match part.holes.len() {
        0 => {}
        1 => said.push("1 hole".to_owned()),
        n => said.push(format!("{n} holes")),
    }
    if part.priority > 0 {
        said.push("first".to_owned());
    }
    said.join(", ")
}
