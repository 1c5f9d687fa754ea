//! The line along the top: the places by name, what the place shows, and what works everywhere.

use eframe::egui::{Align, Layout, Popup, Role, Sense, Stroke, Ui, WidgetInfo, vec2};
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
const NARROW: f32 = 1330.0;

/// A word on the line that can be pressed.
pub(crate) struct Word {
    name: String,
    key: &'static str,
    help: String,
    /// How it is spoken, where that is more than its name.
    spoken: String,
    weight: Weight,
    act: Act,
}

impl Word {
    /// A word, and what a press on it does.
    pub(crate) fn new(name: impl Into<String>, help: &str, act: Act) -> Self {
        let (name, help) = (name.into(), help.to_owned());
        let spoken = name.clone();
        Self { name, key: "", help, spoken, weight: Weight::Words, act }
    }

    /// The same with a rule round it.
    pub(crate) fn plain(self) -> Self {
        Self { weight: Weight::Plain, ..self }
    }

    /// A step back or forth, with the name of the act that it is about.
    pub(crate) fn step(name: &'static str, what: &str, act: Act) -> Self {
        let says = format!("{name}: {what}");
        Self { spoken: says.clone(), ..Self::new(name, &says, act) }
    }

    fn with_key(self, key: &'static str) -> Self {
        Self { key, ..self }
    }
}

/// What is to be done everywhere, the most wanted first.
fn everywhere() -> [Word; 3] {
    [
        Word::new("All acts", "Search everything there is to do", Act::FindAct).with_key("/"),
        Word::new(Place::Shop.name(), Place::Shop.question(), Act::Go(Place::Shop))
            .with_key(Place::Shop.key()),
        Word::new("Look", "Light or dark, units, sizes", Act::Look),
    ]
}

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
            ui.add_space(8.0);
            let all = view.words(session).into_iter().chain(everywhere()).collect();
            words(ui, c, here, all, view.heading_room(), acts);
            ui.add_space(8.0);
            // In a window too narrow for it the places still have their keys.
            if ui.available_width() >= view.heading_room() - 20.0 {
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    view.heading(ui, c, session, acts);
                });
            }
        });
    });
}

/// As many words as have room beside `taken` points for what is shown, the rest under one of them;
/// from right to left.
fn words(
    ui: &mut Ui,
    c: &Colours,
    here: Place,
    mut all: Vec<Word>,
    taken: f32,
    acts: &mut Vec<Act>,
) {
    let gap = ui.spacing().item_spacing.x;
    let wide = |ui: &Ui, name: &str, key: &str, weight: Weight| {
        theme::button_size(ui, c, name, key, weight).x + gap
    };
    let more = wide(ui, "More", "", Weight::Words);
    let room = ui.available_width() - taken;
    let (mut used, mut fit) = (0.0, 0);
    for (i, word) in all.iter().enumerate() {
        used += wide(ui, &word.name, word.key, word.weight);
        let last = i + 1 == all.len();
        if used + if last { 0.0 } else { more } > room {
            break;
        }
        fit = i + 1;
    }
    let rest = all.split_off(fit);
    for word in all {
        press(ui, c, here, word, acts);
    }
    if rest.is_empty() {
        return;
    }
    let more = theme::button(ui, c, "More", "", Weight::Words);
    Popup::menu(&more).frame(theme::card(c)).show(|ui| {
        for word in rest {
            press(ui, c, here, word, acts);
        }
    });
}

fn press(ui: &mut Ui, c: &Colours, here: Place, word: Word, acts: &mut Vec<Act>) {
    let weight = if word.act == Act::Go(here) { Weight::Plain } else { word.weight };
    let button = theme::sign_button(ui, c, &word.name, word.key, weight, &word.spoken);
    if button.on_hover_text(word.help).clicked() {
        acts.push(word.act);
    }
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
