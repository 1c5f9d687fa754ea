//! What the order is cut from: a card above the order slip, where its name always has room.

use eframe::egui::text::{LayoutJob, TextWrapping};
use eframe::egui::{FontId, Pos2, Rect, Role, Sense, Ui, UiBuilder, WidgetInfo, pos2, vec2};

use crate::theme::{self, Colours, Weight};

/// What stands on the card.
pub(crate) struct StockCard<'a> {
    /// What it is called.
    pub(crate) name: &'a str,
    /// What is known of it.
    pub(crate) facts: &'a str,
    /// What a press on it is for.
    pub(crate) help: &'a str,
    /// Which of how many it is, counted from 0.
    pub(crate) shown: (usize, usize),
}

/// What was pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pressed {
    /// The card.
    Itself,
    /// The way to the one before.
    Before,
    /// The way to the next.
    Next,
}

const SIDE: f32 = 16.0;
const ABOVE: f32 = 10.0;

impl StockCard<'_> {
    /// Draws the card from `corner` on, as high as what is on it; returns where it ends and what was
    /// pressed. It is spoken as `what`, its name and its facts.
    pub(crate) fn show(
        &self,
        ui: &mut Ui,
        c: &Colours,
        what: &str,
        corner: Pos2,
        wide: f32,
    ) -> (f32, Option<Pressed>) {
        let room = wide - 2.0 * SIDE;
        let name = ui.painter().layout_job(one_line(self.name, theme::digits(), c, room));
        let facts = ui.painter().layout(self.facts.to_owned(), theme::small(), c.quiet, room);
        let (at, of) = self.shown;
        let pager = if of > 1 { c.touch } else { 0.0 };
        let words = name.size().y + 2.0 + facts.size().y;
        let rect = Rect::from_min_size(corner, vec2(wide, 2.0 * ABOVE + words + pager));
        let id = ui.scope_id().with("stock");
        let response = ui.interact(rect, id, Sense::click_and_drag());
        theme::card_to_choose(ui, c, &response, false);
        let top = pos2(rect.left() + SIDE, rect.top() + ABOVE);
        let below = pos2(top.x, top.y + name.size().y + 2.0);
        ui.painter().galley(top, name, c.text);
        ui.painter().galley(below, facts, c.quiet);
        let spoken = format!("{what}: {} · {}", self.name, self.facts);
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
        let mut pressed = response.clicked().then_some(Pressed::Itself);
        response.on_hover_text(format!("{}: {}", self.name, self.help));
        if of > 1 {
            let row = Rect::from_min_max(
                pos2(rect.left() + 6.0, rect.bottom() - c.touch - 4.0),
                pos2(rect.right() - 6.0, rect.bottom() - 4.0),
            );
            let mut ui = ui.new_child(UiBuilder::new().max_rect(row).id_salt("pages"));
            ui.horizontal(|ui| {
                let mut turn = |ui: &mut Ui, sign: &str, says: &str, to: Pressed, there: bool| {
                    ui.add_enabled_ui(there, |ui| {
                        if theme::sign_button(ui, c, sign, "", Weight::Words, says).clicked() {
                            pressed = Some(to);
                        }
                    });
                };
                turn(ui, "‹", "Sheet before", Pressed::Before, at > 0);
                ui.label(format!("{} of {of}", at + 1));
                turn(ui, "›", "Next sheet", Pressed::Next, at + 1 < of);
            });
        }
        (rect.bottom(), pressed)
    }
}

/// A line that ends with a sign where there is more of it than room.
fn one_line(text: &str, font: FontId, c: &Colours, room: f32) -> LayoutJob {
    let mut job = LayoutJob::simple(text.to_owned(), font, c.text, room);
    job.wrap =
        TextWrapping { max_rows: 1, break_anywhere: true, ..TextWrapping::wrap_at_width(room) };
    job
}
