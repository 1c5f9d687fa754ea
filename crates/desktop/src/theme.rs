//! Colours, type and the few controls that look alike everywhere.

use std::sync::Arc;

use eframe::egui::text::{CCursor, CCursorRange};
use eframe::egui::{
    self, Align2, Color32, Context, CornerRadius, CursorIcon, FontData, FontDefinitions,
    FontFamily, FontId, Frame, Galley, Id, Margin, Modal, Rect, Response, RichText, Role, Sense,
    Shadow, Stroke, TextEdit, Theme, Ui, Vec2, WidgetInfo,
};
use oddment_app::settings::Settings;

use crate::fields;

/// The colours of one theme, and how large things to press are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Colours {
    pub(crate) bed: Color32,
    pub(crate) metal: Color32,
    pub(crate) metal_edge: Color32,
    pub(crate) paper: Color32,
    pub(crate) ink: Color32,
    pub(crate) selected: Color32,
    pub(crate) fits: Color32,
    pub(crate) short: Color32,
    pub(crate) text: Color32,
    pub(crate) quiet: Color32,
    pub(crate) card: Color32,
    pub(crate) rule: Color32,
    /// Lines and words that belong to what is selected, and the strong button.
    pub(crate) strong: Color32,
    pub(crate) on_strong: Color32,
    pub(crate) shadow: Color32,
    /// Height and least width of what a finger presses.
    pub(crate) touch: f32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const LIGHT: Colours = Colours {
    bed: rgb(0xE8E4DA),
    metal: rgb(0xCBD1D6),
    metal_edge: rgb(0x55606A),
    paper: rgb(0xFCF8EE),
    ink: rgb(0x20406B),
    selected: rgb(0xFFE6AE),
    fits: rgb(0x00875F),
    short: rgb(0xC24A00),
    text: rgb(0x23282E),
    quiet: rgb(0x5F6870),
    card: rgb(0xFBF9F4),
    rule: rgb(0xD3CDBF),
    strong: rgb(0x20406B),
    on_strong: rgb(0xFFFFFF),
    shadow: Color32::from_black_alpha(34),
    touch: 44.0,
};

const DARK: Colours = Colours {
    bed: rgb(0x1B1F23),
    metal: rgb(0x414A52),
    metal_edge: rgb(0x9AA5AF),
    paper: rgb(0xE9E1CD),
    ink: rgb(0x0E2747),
    selected: rgb(0xFFD27A),
    fits: rgb(0x35C795),
    short: rgb(0xFF8A4C),
    text: rgb(0xECE8DF),
    quiet: rgb(0xA3ABB3),
    card: rgb(0x262B30),
    rule: rgb(0x3A4148),
    strong: rgb(0x9DC1F5),
    on_strong: rgb(0x14202E),
    shadow: Color32::from_black_alpha(90),
    touch: 44.0,
};

impl Colours {
    /// The colours that the settings ask for.
    pub(crate) fn of(settings: &Settings) -> Self {
        let colours = if settings.dark { DARK } else { LIGHT };
        let touch = if settings.large_targets { GLOVE } else { colours.touch };
        Self { touch, ..colours }
    }
}

/// What a glove presses with ease.
const GLOVE: f32 = 60.0;

/// The family of the second weight.
const STRONG: &str = "strong";

/// The places' names.
pub(crate) fn large() -> FontId {
    FontId::new(24.0, FontFamily::Proportional)
}

/// As [`large`], heavier.
pub(crate) fn large_strong() -> FontId {
    FontId::new(24.0, FontFamily::Name(STRONG.into()))
}

/// Most text.
pub(crate) fn body() -> FontId {
    FontId::new(15.0, FontFamily::Proportional)
}

/// As [`body`], heavier.
pub(crate) fn strong() -> FontId {
    FontId::new(15.0, FontFamily::Name(STRONG.into()))
}

/// Numbers that a person carries to the machine.
pub(crate) fn digits() -> FontId {
    FontId::new(18.0, FontFamily::Name(STRONG.into()))
}

/// What accompanies other text.
pub(crate) fn small() -> FontId {
    FontId::new(13.0, FontFamily::Proportional)
}

/// As [`small`], heavier.
pub(crate) fn small_strong() -> FontId {
    FontId::new(13.0, FontFamily::Name(STRONG.into()))
}

/// Loads the one family in its two weights. It has digits of one width.
pub(crate) fn load_fonts(ctx: &Context) {
    const FAMILY: &[u8] = include_bytes!("../../../assets/fonts/IBMPlexSans.ttf");
    let mut fonts = FontDefinitions::default();
    let mut heavy = FontData::from_static(FAMILY);
    heavy.tweak.coords = egui::epaint::text::VariationCoords::new([("wght", 600.0)]);
    fonts.font_data.insert("regular".into(), FontData::from_static(FAMILY).into());
    fonts.font_data.insert("heavy".into(), heavy.into());
    let fallback = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    let with = |first: &str| {
        std::iter::once(first.to_owned()).chain(fallback.iter().cloned()).collect::<Vec<_>>()
    };
    fonts.families.insert(FontFamily::Proportional, with("regular"));
    fonts.families.insert(FontFamily::Name(STRONG.into()), with("heavy"));
    ctx.set_fonts(fonts);
}

/// The smallest window that has room for everything at the usual size of text.
const LEAST_WINDOW: Vec2 = Vec2::new(840.0, 560.0);

/// The size of text asked for (percent of the usual one), or, where that is more than the usual one, as
/// much of it as the window has room for.
pub(crate) fn percent_that_fits(ctx: &Context, asked: u32) -> u32 {
    let window = ctx.content_rect().size() * ctx.zoom_factor() / LEAST_WINDOW;
    asked.min((100.0 * window.min_elem()).max(100.0) as u32)
}

/// Gives egui's own controls our colours, and sizes so large (percent of the usual ones).
pub(crate) fn dress(ctx: &Context, settings: &Settings, percent: u32) {
    let c = Colours::of(settings);
    ctx.set_theme(if settings.dark { Theme::Dark } else { Theme::Light });
    ctx.set_zoom_factor(percent as f32 / 100.0);
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (egui::TextStyle::Heading, large()),
            (egui::TextStyle::Body, body()),
            (egui::TextStyle::Button, body()),
            (egui::TextStyle::Small, small()),
            (egui::TextStyle::Monospace, body()),
        ]
        .into();
        style.spacing.item_spacing = Vec2::new(8.0, 6.0);
        style.spacing.interact_size.y = 32.0;
        style.interaction.selectable_labels = false;
        // That there is more is to be seen before the pointer is there.
        style.spacing.scroll.dormant_handle_opacity = 0.4;
        let v = &mut style.visuals;
        v.override_text_color = Some(c.text);
        v.weak_text_color = Some(c.quiet);
        v.panel_fill = c.bed;
        v.window_fill = c.card;
        v.window_stroke = Stroke::new(1.0, c.rule);
        v.extreme_bg_color = if settings.dark { rgb(0x1F2428) } else { rgb(0xFFFFFF) };
        v.selection.bg_fill = c.strong.gamma_multiply(0.35);
        v.selection.stroke = Stroke::new(1.5, c.strong);
        v.window_shadow = Shadow { offset: [0, 4], blur: 16, spread: 0, color: c.shadow };
        v.popup_shadow = v.window_shadow;
        for w in [
            &mut v.widgets.inactive,
            &mut v.widgets.hovered,
            &mut v.widgets.active,
            &mut v.widgets.open,
            &mut v.widgets.noninteractive,
        ] {
            w.corner_radius = CornerRadius::same(8);
            w.bg_stroke = Stroke::new(1.0, c.rule);
        }
    });
}

/// A card: paper with a fine rule and a little shadow.
pub(crate) fn card(c: &Colours) -> Frame {
    Frame::new()
        .fill(c.card)
        .stroke(Stroke::new(1.0, c.rule))
        .corner_radius(10)
        .shadow(Shadow { offset: [1, 3], blur: 3, spread: 0, color: c.shadow })
        .inner_margin(Margin::symmetric(16, 10))
}

/// A card with a title that lies over everything until it is answered, as wide as asked (points) where
/// the window is; whether it is given up. A press beside it is a slip of the hand, and loses nothing; while
/// it is open Enter leaves no field.
pub(crate) fn modal(
    ctx: &Context,
    c: &Colours,
    title: &str,
    wide: f32,
    contents: impl FnOnce(&mut Ui),
) -> bool {
    let field = fields::field_in_focus(ctx);
    let modal = Modal::new(Id::unique(title)).frame(card(c)).show(ctx, |ui| {
        ui.set_width(wide.min(ctx.content_rect().width() - 60.0));
        ui.label(RichText::new(title).font(strong()));
        contents(ui);
    });
    if let Some(field) = field {
        fields::stay(ctx, field);
    }
    !modal.backdrop_response.clicked() && modal.should_close()
}

/// Paints the card that a person may choose where `response` stands, before what is on it.
pub(crate) fn card_to_choose(ui: &Ui, c: &Colours, response: &Response, chosen: bool) {
    let rect = response.rect.shrink(1.0);
    let painter = ui.painter_at(response.rect.expand(4.0));
    painter.add(card(c).inner_margin(0).paint(rect));
    if chosen {
        painter.rect_stroke(rect, 10, Stroke::new(2.5, c.strong), egui::StrokeKind::Inside);
    } else if response.hovered() {
        painter.rect_stroke(rect, 10, Stroke::new(1.5, c.quiet), egui::StrokeKind::Inside);
    }
    focus_ring(ui, c, response, 10);
}

/// How much a button is to be noticed.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weight {
    /// The one strong button of a place.
    Strong,
    /// A button on a card, with a rule round it.
    Plain,
    /// Words that can be pressed.
    Words,
}

/// A button of our own: its name, and its key beside it.
pub(crate) fn button(ui: &mut Ui, c: &Colours, name: &str, key: &str, weight: Weight) -> Response {
    sign_button(ui, c, name, key, weight, name)
}

/// The same showing a sign, such as +, that is spoken as `spoken`.
pub(crate) fn sign_button(
    ui: &mut Ui,
    c: &Colours,
    name: &str,
    key: &str,
    weight: Weight,
    spoken: &str,
) -> Response {
    let Lettering { text, key, between, size } = Lettering::of(ui, c, name, key, weight);
    let (ink, fill) = inks(c, weight);
    let key_ink = if weight == Weight::Strong { ink.gamma_multiply(0.75) } else { c.quiet };
    let wide = text.size().x + between + key.size().x;
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let lift = if response.is_pointer_button_down_on() {
        0.82
    } else if response.hovered() {
        0.92
    } else {
        1.0
    };
    let round = if weight == Weight::Strong { (c.touch / 2.0) as u8 } else { 8 };
    let fill = if weight == Weight::Strong { fill.gamma_multiply(lift) } else { fill };
    let hover = response.hovered() && weight != Weight::Strong;
    ui.painter().rect(
        rect,
        CornerRadius::same(round),
        if hover { c.rule.gamma_multiply(0.5) } else { fill },
        if weight == Weight::Plain { Stroke::new(1.0, c.rule) } else { Stroke::NONE },
        egui::StrokeKind::Inside,
    );
    focus_ring(ui, c, &response, round);
    let ink = if hover { c.text } else { ink };
    let left = rect.center().x - wide / 2.0;
    let at = egui::pos2(left, rect.center().y - text.size().y / 2.0);
    let key_at =
        egui::pos2(left + text.size().x + between, rect.center().y - key.size().y / 2.0 + 1.0);
    ui.painter().galley_with_override_text_color(at, text, ink);
    ui.painter().galley_with_override_text_color(key_at, key, key_ink);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), spoken));
    response.on_hover_cursor(CursorIcon::PointingHand)
}

/// How large a button of this name and key is.
pub(crate) fn button_size(ui: &Ui, c: &Colours, name: &str, key: &str, weight: Weight) -> Vec2 {
    Lettering::of(ui, c, name, key, weight).size
}

/// What stands on a button, and how large that makes it.
struct Lettering {
    text: Arc<Galley>,
    key: Arc<Galley>,
    between: f32,
    size: Vec2,
}

impl Lettering {
    fn of(ui: &Ui, c: &Colours, name: &str, key: &str, weight: Weight) -> Self {
        let strong = weight == Weight::Strong;
        let font = if strong { FontId::new(17.0, FontFamily::Name(STRONG.into())) } else { body() };
        let (ink, _) = inks(c, weight);
        let text = ui.painter().layout_no_wrap(name.to_owned(), font, ink);
        let key = ui.painter().layout_no_wrap(key.to_owned(), small(), ink);
        let between = if key.size().x > 0.0 { 8.0 } else { 0.0 };
        let pad = if weight == Weight::Words { 10.0 } else { 16.0 };
        let least = if strong { 120.0 } else { c.touch };
        let wide = text.size().x + between + key.size().x + 2.0 * pad;
        Self { text, key, between, size: Vec2::new(wide.max(least), c.touch) }
    }
}

/// A button's ink and ground.
fn inks(c: &Colours, weight: Weight) -> (Color32, Color32) {
    match weight {
        Weight::Strong => (c.on_strong, c.strong),
        Weight::Plain => (c.text, c.card),
        Weight::Words => (c.quiet, Color32::TRANSPARENT),
    }
}

/// Shows which control the keyboard speaks to.
pub(crate) fn focus_ring(ui: &Ui, c: &Colours, response: &Response, round: u8) {
    if response.has_focus() {
        let ring = Stroke::new(2.0, c.strong);
        ui.painter().rect_stroke(response.rect.expand(2.0), round, ring, egui::StrokeKind::Outside);
    }
}

/// A choice that is on or off.
pub(crate) fn choice(ui: &mut Ui, c: &Colours, text: &str, on: bool) -> Response {
    spoken_choice(ui, c, text, on, text)
}

/// The same for what can be typed in the field beside it too: the keyboard goes past it.
pub(crate) fn proposal(ui: &mut Ui, c: &Colours, text: &str, on: bool) -> Response {
    pill(ui, c, text, on, text, Sense::CLICK)
}

/// The same spoken with more words than there is room for.
pub(crate) fn spoken_choice(
    ui: &mut Ui,
    c: &Colours,
    text: &str,
    on: bool,
    spoken: &str,
) -> Response {
    pill(ui, c, text, on, spoken, Sense::click())
}

fn pill(ui: &mut Ui, c: &Colours, text: &str, on: bool, spoken: &str, sense: Sense) -> Response {
    let galley = ui.painter().layout_no_wrap(text.to_owned(), small(), c.text);
    let size = Vec2::new(galley.size().x + 18.0, c.touch - 8.0);
    let (rect, response) = ui.allocate_exact_size(size, sense);
    let (fill, ink, line) = if on {
        (c.strong, c.on_strong, Stroke::NONE)
    } else if response.hovered() {
        (c.rule.gamma_multiply(0.6), c.text, Stroke::new(1.0, c.rule))
    } else {
        (Color32::TRANSPARENT, c.text, Stroke::new(1.0, c.rule))
    };
    ui.painter().rect(
        rect.shrink2(Vec2::new(0.0, 3.0)),
        (c.touch / 2.0 - 7.0) as u8,
        fill,
        line,
        egui::StrokeKind::Inside,
    );
    let at = rect.center() - galley.size() / 2.0;
    ui.painter().galley_with_override_text_color(at, galley, ink);
    focus_ring(ui, c, &response, 15);
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, on, spoken));
    response.on_hover_cursor(CursorIcon::PointingHand)
}

/// Adds a field whose text is typed over once the keyboard comes to it: at once, where it is `called`.
pub(crate) fn typed_over(ui: &mut Ui, field: TextEdit<'_>, called: bool) -> Response {
    let mut output = field.show(ui);
    let response = output.response.response;
    if called {
        response.request_focus();
    }
    if response.gained_focus() {
        let end = CCursor::new(output.galley.text().chars().count());
        output.state.cursor.set_char_range(Some(CCursorRange::two(CCursor::new(0), end)));
        output.state.store(ui.ctx(), response.id);
    }
    response
}

/// As much of a text as has room in so many pixels, with a sign that there is more.
pub(crate) fn shortened(ui: &Ui, text: &str, font: &FontId, room: f32) -> String {
    let wide = |text: &str| {
        ui.painter().layout_no_wrap(text.to_owned(), font.clone(), Color32::WHITE).size().x
    };
    let mut shown = text.to_owned();
    while !shown.is_empty() && wide(&shown) > room {
        shown = shown.trim_end_matches('…').to_owned();
        shown.pop();
        shown.push('…');
        if shown == "…" {
            break;
        }
    }
    shown
}

/// Text on the canvas with a ground of its own, so that it can be read over anything.
pub(crate) fn tag(
    painter: &egui::Painter,
    at: egui::Pos2,
    align: Align2,
    text: &str,
    font: FontId,
    ink: Color32,
    ground: Color32,
) -> Rect {
    let galley = painter.layout_no_wrap(text.to_owned(), font, ink);
    let rect = align.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand2(Vec2::new(4.0, 1.0)), 4, ground);
    painter.galley(rect.min, galley, ink);
    rect
}
