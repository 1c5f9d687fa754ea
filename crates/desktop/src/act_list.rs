//! Every act with its key, to be searched.

use eframe::egui::{
    Align2, Context, Id, Key, Modal, Modifiers, RichText, ScrollArea, Sense, TextEdit, Ui,
    WidgetInfo, pos2, vec2,
};
use oddment_app::act::{Act, Listed, listed, search};
use oddment_app::session::Session;

use crate::theme::{self, Colours};

/// The list, while it is open.
#[derive(Default)]
pub(crate) struct ActList {
    typed: String,
    chosen: usize,
}

/// What became of the list in a frame.
pub(crate) enum Outcome {
    /// Still open.
    Open,
    /// Closed without an act.
    Closed,
    /// This was chosen.
    Chosen(Act),
}

impl ActList {
    /// Draws the list.
    pub(crate) fn show(&mut self, ctx: &Context, c: &Colours, session: &Session) -> Outcome {
        let (undoes, redoes) = session.undoes_and_redoes();
        let found = search(listed(), session.settings().place, &self.typed);
        let (mut chosen, mut enter) = (None, false);
        ctx.input_mut(|i| {
            if i.consume_key(Modifiers::NONE, Key::ArrowDown) {
                self.chosen += 1;
            }
            if i.consume_key(Modifiers::NONE, Key::ArrowUp) {
                self.chosen = self.chosen.saturating_sub(1);
            }
            enter = i.consume_key(Modifiers::NONE, Key::Enter);
        });
        self.chosen = self.chosen.min(found.len().saturating_sub(1));
        // It stays where it is however many are found.
        let id = Id::unique("all acts");
        let area = Modal::default_area(id).anchor(Align2::CENTER_TOP, vec2(0.0, 90.0));
        let modal = Modal::new(id).area(area).frame(theme::card(c)).show(ctx, |ui| {
            ui.set_width(520f32.min(ctx.content_rect().width() - 60.0));
            let field = ui.add(
                TextEdit::singleline(&mut self.typed)
                    .hint_text("What do you want to do?")
                    .font(theme::large())
                    .desired_width(f32::INFINITY),
            );
            let field = field.accessible_name("search all acts");
            if field.changed() {
                self.chosen = 0;
            }
            field.request_focus();
            ui.add_space(6.0);
            ScrollArea::vertical().max_height(420.0).min_scrolled_height(420.0).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = 0.0;
                for (i, act) in found.iter().enumerate() {
                    let help = match act.act {
                        Act::Undo => undoes.unwrap_or("there is nothing to take back"),
                        Act::Redo => redoes.unwrap_or("nothing was taken back"),
                        _ => act.help,
                    };
                    if row(ui, c, act, help, i == self.chosen) {
                        chosen = Some(act.act.clone());
                    }
                }
                if found.is_empty() {
                    ui.label(RichText::new("Nothing is called that").color(c.quiet));
                }
            });
        });
        if enter {
            chosen = chosen.or_else(|| found.get(self.chosen).map(|l| l.act.clone()));
        }
        match chosen {
            Some(act) => Outcome::Chosen(act),
            None if modal.should_close() => Outcome::Closed,
            None => Outcome::Open,
        }
    }
}

fn row(ui: &mut Ui, c: &Colours, act: &Listed, help: &str, chosen: bool) -> bool {
    let size = vec2(ui.available_width(), c.touch);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    if chosen || response.hovered() {
        ui.painter().rect_filled(rect, 8, c.rule.gamma_multiply(0.5));
    }
    let painter = ui.painter();
    let y = rect.center().y;
    let name = painter.text(
        pos2(rect.left() + 10.0, y),
        Align2::LEFT_CENTER,
        &act.name,
        theme::body(),
        c.text,
    );
    let help_at = pos2(name.right() + 10.0, y + 1.0);
    let mut help_ends = rect.right() - 10.0;
    if let Some(key) = act.keys.first() {
        let at = pos2(help_ends, y);
        let key = painter.text(at, Align2::RIGHT_CENTER, key.to_string(), theme::body(), c.strong);
        help_ends = key.left() - 10.0;
    }
    let help = theme::shortened(ui, help, &theme::small(), help_ends - help_at.x);
    painter.text(help_at, Align2::LEFT_CENTER, help, theme::small(), c.quiet);
    if chosen {
        response.scroll_to_me(None);
    }
    response.widget_info(|| WidgetInfo::labeled(eframe::egui::Role::Button, true, &act.name));
    response.clicked()
}
