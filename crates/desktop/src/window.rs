//! The window: the top line, the place below it, and what asks the person something.

use eframe::egui::{self, Context, Rect, Ui, UiBuilder, pos2, vec2};
use oddment_app::session::{Ask, Session};

use crate::act_list::{ActList, Outcome};
use crate::sheet::SheetPlace;
use crate::theme::{self, Colours};
use crate::{keys, top_line};

/// Everything in the window.
pub(crate) struct Window {
    session: Session,
    sheet: SheetPlace,
    acts: Option<ActList>,
    dressed: Option<(bool, u32)>,
}

impl Window {
    /// A window on this session.
    pub(crate) fn new(ctx: &Context, session: Session) -> Self {
        theme::load_fonts(ctx);
        ctx.options_mut(|o| o.zoom_with_keyboard = false);
        Self { session, sheet: SheetPlace::default(), acts: None, dressed: None }
    }

    /// Draws a frame: what was done is carried out in the end, in order.
    pub(crate) fn main_ui(&mut self, ui: &mut Ui) {
        self.session.poll();
        let ctx = ui.ctx().clone();
        let look = (self.session.settings().dark, self.session.settings().size_percent);
        if self.dressed != Some(look) {
            theme::dress(&ctx, self.session.settings());
            self.dressed = Some(look);
        }
        let c = Colours::of(self.session.settings());
        let mut acts = if self.acts.is_none() { keys::pressed(&ctx) } else { Vec::new() };
        let whole = ui.max_rect();
        ui.painter().rect_filled(whole, 0, c.bed);
        let top =
            Rect::from_min_max(whole.min, pos2(whole.right(), whole.top() + top_line::HEIGHT));
        let place = Rect::from_min_max(pos2(whole.left(), top.bottom()), whole.max);
        acts.extend(self.sheet.show(ui, &c, &self.session, place));
        let mut line = ui.new_child(UiBuilder::new().max_rect(top.shrink2(vec2(20.0, 8.0))));
        top_line::show(&mut line, &c, &self.session, &mut acts);
        if let Some(list) = &mut self.acts {
            match list.show(&ctx, &c) {
                Outcome::Open => {}
                Outcome::Closed => self.acts = None,
                Outcome::Chosen(act) => {
                    self.acts = None;
                    acts.push(act);
                }
            }
        }
        if !acts.is_empty() {
            ctx.request_repaint();
        }
        for act in acts {
            if let Some(ask) = self.session.apply(act) {
                self.answer(ask);
            }
        }
    }

    fn answer(&mut self, ask: Ask) {
        match ask {
            Ask::FindAct => self.acts = Some(ActList::default()),
            other => self.sheet.answer(other),
        }
    }
}

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.main_ui(ui);
    }

    fn clear_color(&self, _visuals: &egui::Visuals) -> [f32; 4] {
        Colours::of(self.session.settings()).bed.to_normalized_gamma_f32()
    }
}
