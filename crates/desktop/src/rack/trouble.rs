//! Why the shop file can't be used, or not wholly, and what to do about it.

use eframe::egui::{Label, Pos2, Rect, RichText, Ui, UiBuilder, pos2};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::words::in_a_sentence;
use oddment_rack::ShopFault;

use crate::theme::{self, Colours, Weight};

/// Draws it from `at` to the right; returns where it ends below.
pub(super) fn show(
    ui: &mut Ui,
    c: &Colours,
    desk: &Desk,
    problem: &ShopFault,
    at: Pos2,
    right: f32,
    acts: &mut Vec<Act>,
) -> f32 {
    let room = Rect::from_min_max(at, pos2(right, at.y + 200.0));
    let mut inside = ui.new_child(UiBuilder::new().max_rect(room).id_salt("trouble"));
    let shown = theme::card(c).stroke((2.0, c.short)).show(&mut inside, |ui| {
        ui.set_width(ui.available_width());
        let name = desk.shop().1.map(|path| format!("{}: ", path.display())).unwrap_or_default();
        let words = in_a_sentence(&format!("{name}{problem}"));
        ui.add(Label::new(RichText::new(words).color(c.text)).wrap());
        ui.horizontal(|ui| {
            let mut offer = |name: &str, act: RackAct, weight: Weight| {
                if theme::button(ui, c, name, "", weight).clicked() {
                    acts.push(Act::Rack(act));
                }
            };
            if let ShopFault::Damaged { backup: Some(_), .. } = problem {
                offer("Go on from the backup", RackAct::PutBack, Weight::Plain);
            }
            offer("Open another", RackAct::PickShop, Weight::Words);
            offer("The sample shop", RackAct::OpenSampleShop, Weight::Words);
        });
    });
    shown.response.rect.bottom()
}
