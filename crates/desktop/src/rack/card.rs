//! A sheet as a card: its silhouette, its label, where it stands, and what else one asks first.

use eframe::egui::{
    Align2, Color32, CursorIcon, Rect, Response, Role, Sense, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use oddment_core::units::LengthUnit;
use oddment_rack::facts::Whereabouts;
use oddment_rack::find::Room;
use oddment_rack::sheets::{Entry, age};
use oddment_rack::stock_take::{Mark, StockTake};

use super::silhouette::{Scale, Silhouette, draw};
use crate::theme::{self, Colours};

/// Between cards.
pub(super) const GAP: f32 = 16.0;
/// No card is narrower.
pub(super) const LEAST: f32 = 280.0;
/// White round what stands on a card.
pub(super) const PAD: f32 = 18.0;
/// What stands under the silhouette.
const WORDS: f32 = 84.0;

/// Height of all cards where silhouettes are to this scale.
pub(super) fn height(scale: &Scale) -> f32 {
    PAD + scale.height + 12.0 + WORDS
}

/// What a card tells.
pub(super) struct Facts<'a> {
    pub(super) entry: &'a Entry,
    pub(super) room: Option<&'a Room>,
    /// Whether the machine goes by the bow, and this sheet's is not known.
    pub(super) lacks_bow: bool,
    pub(super) walk: Option<&'a StockTake>,
    /// What lengths are shown in.
    pub(super) unit: LengthUnit,
}

pub(super) fn show(
    ui: &mut Ui,
    c: &Colours,
    facts: &Facts<'_>,
    silhouette: Option<&Silhouette>,
    scale: &Scale,
    size: Vec2,
    chosen: bool,
) -> Response {
    let entry = facts.entry;
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let painter = ui.painter_at(rect.expand(4.0));
    theme::card_to_choose(ui, c, &response, chosen);
    let room = Rect::from_min_size(
        rect.min + vec2(PAD, PAD),
        vec2(rect.width() - 2.0 * PAD, scale.height),
    );
    if let Some(silhouette) = silhouette {
        draw(&painter, c, silhouette, scale, entry.facts.bar.is_some(), room);
    }
    let (left, right) = (rect.left() + PAD, rect.right() - PAD);
    let mut y = room.bottom() + 12.0;
    let place = painter.text(
        pos2(right, y),
        Align2::RIGHT_TOP,
        shortened(&entry.facts.stands, 18),
        theme::body(),
        c.text,
    );
    painter
        .with_clip_rect(Rect::from_min_max(rect.min, pos2(place.left() - 8.0, rect.bottom())))
        .text(pos2(left, y), Align2::LEFT_TOP, &entry.label, theme::strong(), c.text);
    y += 26.0;
    let quiet = |y: f32, text: &str, ink: Color32, heavy: bool| {
        let font = if heavy { theme::small_strong() } else { theme::small() };
        let inside = Rect::from_min_max(rect.min, pos2(right, rect.bottom()));
        painter.with_clip_rect(inside).text(pos2(left, y), Align2::LEFT_TOP, text, font, ink)
    };
    quiet(y, &size_words(entry, facts.unit), c.quiet, false);
    let (state, ink, heavy) = state(facts, c);
    let stated = quiet(y + 22.0, &state, ink, heavy);
    if facts.walk.is_none() && facts.room.is_none() && !entry.facts.heat.is_empty() {
        let heat = format!("heat {}", entry.facts.heat);
        let heat = painter.layout_no_wrap(shortened(&heat, 22), theme::small(), c.quiet);
        let at = pos2(right - heat.size().x, y + 22.0);
        // A long state leaves no room for it; the line along the bottom tells it too.
        if at.x > stated.right() + 8.0 {
            painter.galley(at, heat, c.quiet);
        }
    }
    let spoken = format!(
        "{}, {}, stands {}, {state}",
        entry.label,
        metal(entry, facts.unit),
        entry.facts.stands
    );
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, &spoken));
    response.on_hover_cursor(CursorIcon::PointingHand)
}

/// “3 mm S235 · 941 × 328 · 7.3 kg · heat 61853”, “Square tube 40 × 2, S235 · 1830 mm · 4.3 kg”.
pub(super) fn metal(entry: &Entry, unit: LengthUnit) -> String {
    let mut text = size_words(entry, unit);
    if !entry.facts.heat.is_empty() {
        text += &format!(" · heat {}", entry.facts.heat);
    }
    text
}

fn size_words(entry: &Entry, unit: LengthUnit) -> String {
    let length = |mm: f64| match unit {
        LengthUnit::Mm => format!("{mm:.0}"),
        LengthUnit::Inch => unit.show(mm),
    };
    let [width, height] = entry.size.map(length);
    let size = match entry.facts.bar {
        Some(_) => format!("{width} {unit}"),
        None => format!("{width} × {height}"),
    };
    format!("{} · {size} · {:.1} kg", entry.what_in(unit), entry.weight())
}

/// What matters most now: whether it has room, was seen, is held; else its age.
fn state(facts: &Facts<'_>, c: &Colours) -> (String, Color32, bool) {
    let entry = facts.entry;
    let said = facts.walk.and_then(|w| w.marks.iter().find(|(label, _)| *label == entry.label));
    if let Some(walk) = facts.walk {
        let is_looked_for = walk.left.iter().any(|e| e.label == entry.label);
        match said {
            Some((_, Mark::There)) => return ("seen".into(), c.fits, true),
            Some((_, Mark::Missing)) => return ("missing".into(), c.short, true),
            Some((_, Mark::Moved(place))) => return (format!("moved to {place}"), c.fits, true),
            Some((_, Mark::Damaged(how))) => return (format!("damaged: {how}"), c.short, true),
            None if is_looked_for => return ("not seen yet".into(), c.quiet, true),
            None => {}
        }
    }
    match facts.room {
        Some(Room::Has { .. }) if facts.lacks_bow => {
            return ("has room · bow not known".into(), c.text, true);
        }
        Some(Room::Has { .. }) => return ("has room".into(), c.fits, true),
        Some(Room::None { short: Some(short) }) => {
            return (format!("cannot fit: {short:.1} short"), c.quiet, true);
        }
        Some(Room::None { short: None }) => {
            return ("cannot fit: too small".into(), c.quiet, true);
        }
        Some(Room::NotDecided) => return ("not decided".into(), c.quiet, true),
        None => {}
    }
    let f = &entry.facts;
    if f.whereabouts == Whereabouts::Missing {
        return ("missing since the stock-take".into(), c.short, true);
    }
    if let Some(damage) = f.notes.lines().find(|line| line.starts_with("damaged: ")) {
        return (damage.to_owned(), c.short, true);
    }
    if f.setup.is_some() {
        return ("on the bed".into(), c.text, true);
    }
    if let Some(hold) = f.held() {
        return (hold.words(), c.text, true);
    }
    (format!("here since {}", age(f.came)), c.quiet, false)
}

fn shortened(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
