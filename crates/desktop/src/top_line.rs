//! The line along the top: the places by name, what the place shows, and what works everywhere.

use eframe::egui::{Align, Layout, Role, Sense, Stroke, Ui, WidgetInfo, vec2};
use oddment_app::act::Act;
use oddment_app::place::Place;
use oddment_app::session::Session;

use crate::place::PlaceView;
use crate::theme::{self, Colours, Weight};

/// Its height.
pub(crate) fn height(c: &Colours) -> f32 {
    c.touch + 20.0
}

/// Narrower than this (points) the places are written smaller.
const NARROW: f32 = 1150.0;

/// Draws the line.
pub(crate) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    view: &mut dyn PlaceView,
    acts: &mut Vec<Act>,
) {
    ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        let here = session.settings().place.named();
        // In a narrow window what is done with the plan needs the room.
        let narrow = ui.available_width() < NARROW;
        for place in Place::ALL.into_iter().filter(|p| !p.is_behind() && p.named() == *p) {
            if name(ui, c, place, here == place, narrow).clicked() {
                // Whoever works on bars goes on with bars.
                let of_bars = session.settings().place.is_for_bars();
                acts.push(Act::Go(if of_bars { place.for_bars() } else { place }));
            }
        }
        ui.add_space(14.0);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.spacing_mut().item_spacing.x = 2.0;
            view.strong(ui, c, session, acts);
            for place in Place::ALL.into_iter().filter(|p| p.is_behind()) {
                let here = session.settings().place == place;
                let weight = if here { Weight::Plain } else { Weight::Words };
                let button = theme::button(ui, c, place.name(), place.key(), weight);
                if button.on_hover_text(place.question()).clicked() {
                    acts.push(Act::Go(place));
                }
            }
            if theme::button(ui, c, "All acts", "/", Weight::Words).clicked() {
                acts.push(Act::FindAct);
            }
            if theme::button(ui, c, "Look", "", Weight::Words)
                .on_hover_text("Light or dark, units, sizes")
                .clicked()
            {
                acts.push(Act::Look);
            }
            ui.add_space(10.0);
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                view.heading(ui, c, session, acts);
            });
        });
    });
}

/// A place's name; the one that is shown is underlined.
fn name(
    ui: &mut Ui,
    c: &Colours,
    place: Place,
    here: bool,
    narrow: bool,
) -> eframe::egui::Response {
    let font = match (narrow, here) {
        (false, true) => theme::large_strong(),
        (false, false) => theme::large(),
        (true, true) => theme::strong(),
        (true, false) => theme::body(),
    };
    let text = ui.painter().layout_no_wrap(place.name().into(), font, c.text);
    let size = vec2(text.size().x + 12.0, c.touch);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let at = rect.center() - text.size() / 2.0;
    let ink = if here || response.hovered() { c.text } else { c.quiet };
    let (left, right, under) = (at.x, at.x + text.size().x, at.y + text.size().y + 1.0);
    ui.painter().galley_with_override_text_color(at, text, ink);
    if here {
        ui.painter().hline(left..=right, under, Stroke::new(2.5, c.strong));
    }
    theme::focus_ring(ui, c, &response, 8);
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, here, place.name()));
    response.on_hover_text(format!("{} ({})", place.question(), place.key()))
}
