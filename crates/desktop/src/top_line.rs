//! The line along the top: the places by name, what the place shows, and what works everywhere.

use eframe::egui::{
    Align, Layout, Popup, Rect, Role, Sense, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::place::Place;
use oddment_app::session::Session;

use crate::line::{End, apart};
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
    /// Whether it can be done now; a word that can't keeps its place.
    can: bool,
    act: Act,
}

impl Word {
    /// A word, and what a press on it does.
    pub(crate) fn new(name: impl Into<String>, help: &str, act: Act) -> Self {
        let (name, help) = (name.into(), help.to_owned());
        let spoken = name.clone();
        Self { name, key: "", help, spoken, weight: Weight::Words, can: true, act }
    }

    /// The same with a rule round it.
    pub(crate) fn plain(self) -> Self {
        Self { weight: Weight::Plain, ..self }
    }

    /// The same, to be pressed where it can be done now.
    pub(crate) fn where_it(self, can: bool) -> Self {
        Self { can, ..self }
    }

    /// A step back or forth, with the name of the act that it is about; it keeps its place where there is
    /// nothing to step to.
    pub(crate) fn step(name: &str, what: Option<&str>, act: Act) -> Self {
        let says = what.map_or_else(|| name.to_owned(), |what| format!("{name}: {what}"));
        let word = Self::new(name, &says, act);
        Self { spoken: says, can: what.is_some(), ..word }
    }

    /// The steps back and forth, in the order of [`PlaceView::words`].
    pub(crate) fn steps(
        (undoes, redoes): (Option<&str>, Option<&str>),
        (undo, redo): (Act, Act),
    ) -> [Self; 2] {
        [Self::step("Redo", redoes, redo), Self::step("Undo", undoes, undo)]
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
        apart(ui, |ui, end| match end {
            End::Left => {
                ui.spacing_mut().item_spacing.x = 2.0;
                heading_and_words(ui, c, session, view, acts);
            }
            End::Right => view.strong(ui, c, session, acts),
        });
    });
}

/// What is shown, and before the right edge as many words as have room beside it, the most wanted last;
/// the rest of them under one.
fn heading_and_words(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    view: &mut dyn PlaceView,
    acts: &mut Vec<Act>,
) {
    let here = session.settings().place;
    let all: Vec<Word> = view.words(session).into_iter().chain(everywhere()).collect();
    let gap = ui.spacing().item_spacing.x;
    let wide = |name: &str, key: &str, weight: Weight| {
        theme::button_size(ui, c, name, key, weight).x + gap
    };
    let more = wide("More", "", Weight::Words);
    let whole = ui.available_rect_before_wrap();
    let room = whole.width() - view.heading_room();
    let (mut used, mut fit) = (0.0, 0);
    for (i, word) in all.iter().enumerate() {
        let with = used + wide(&word.name, word.key, word.weight);
        let last = i + 1 == all.len();
        if with + if last { 0.0 } else { more } > room {
            break;
        }
        (used, fit) = (with, i + 1);
    }
    let (on_line, rest) = all.split_at(fit);
    let begin = (whole.right() - used - if rest.is_empty() { 0.0 } else { more }).max(whole.left());
    let group = |ui: &mut Ui, rect: Rect, name: &str| {
        let layout = Layout::left_to_right(Align::Center);
        ui.new_child(UiBuilder::new().max_rect(rect).layout(layout).id_salt(name))
    };
    let shown = Rect::from_min_max(whole.min, pos2(begin - 8.0, whole.bottom()));
    // In a window too narrow for it the places still have their keys.
    if shown.width() >= view.heading_room() - 20.0 {
        view.heading(&mut group(ui, shown, "heading"), c, session, acts);
    }
    let words = Rect::from_min_max(pos2(begin, whole.top()), whole.max);
    let mut ui = group(ui, words, "words");
    if !rest.is_empty() {
        let more = theme::button(&mut ui, c, "More", "", Weight::Words);
        Popup::menu(&more).frame(theme::card(c)).show(|ui| {
            for word in rest {
                press(ui, c, here, word, acts);
            }
        });
    }
    for word in on_line.iter().rev() {
        press(&mut ui, c, here, word, acts);
    }
}

fn press(ui: &mut Ui, c: &Colours, here: Place, word: &Word, acts: &mut Vec<Act>) {
    let weight = if word.act == Act::Go(here) { Weight::Plain } else { word.weight };
    ui.add_enabled_ui(word.can, |ui| {
        let button = theme::sign_button(ui, c, &word.name, word.key, weight, &word.spoken);
        if button.on_hover_text(&word.help).clicked() {
            acts.push(word.act.clone());
        }
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
