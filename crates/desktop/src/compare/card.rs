//! A way as a card: its picture, its sheets, what it costs and what goes back.

use eframe::egui::{
    Align2, Color32, CursorIcon, FontId, Rect, Response, Role, Sense, Ui, Vec2, WidgetInfo, pos2,
    vec2,
};
use oddment_app::compare::Posed;
use oddment_app::session::Session;
use oddment_app::words::capital;
use oddment_core::compare::ways::SheetUse;
use oddment_core::compare::{Group, Way};
use oddment_files::account_words::{group_words, way_title};

use super::plain;
use super::thumbs::Thumbs;
use crate::theme::{self, Colours};

/// No card is narrower.
pub(super) const LEAST: f32 = 290.0;
/// White round what stands on a card.
const PAD: f32 = 18.0;
/// Height of what stands under the picture.
const WORDS: f32 = 188.0;
/// Height of the picture, as a share of its width.
const PICTURE: f32 = 0.5;

/// The picture is no lower, even where a card is higher than the room for it.
const LOWEST: f32 = 46.0;

/// Height of cards so wide, which should be seen whole in a place so high.
pub(super) fn height(wide: f32, high: f32) -> f32 {
    let below = PAD + 12.0 + WORDS;
    below + ((wide - 2.0 * PAD) * PICTURE).min((high - below).max(LOWEST))
}

/// What a card shows.
pub(super) struct Shown<'a> {
    pub(super) session: &'a Session,
    pub(super) posed: &'a Posed,
    pub(super) way: &'a Way,
    pub(super) rank: usize,
}

pub(super) fn show(
    ui: &mut Ui,
    c: &Colours,
    shown: &Shown<'_>,
    thumbs: &mut Thumbs,
    size: Vec2,
    chosen: bool,
) -> Response {
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let way = shown.way;
    let question = &shown.posed.question;
    theme::card_to_choose(ui, c, &response, chosen);
    let wide = rect.width() - 2.0 * PAD;
    let picture = vec2(wide, rect.height() - PAD - 12.0 - WORDS);
    let room = Rect::from_min_size(rect.min + vec2(PAD, PAD), picture);
    let inside = ui.painter_at(rect.shrink(6.0));
    thumbs.draw(&inside, c, way, room);
    let left = rect.left() + PAD;
    let mut y = room.bottom() + 12.0;
    let line = |y: f32, text: &str, font: FontId, ink: Color32| {
        inside.text(pos2(left, y), Align2::LEFT_TOP, text, font, ink)
    };
    let title = capital(&way_title(question, way));
    line(y, &title, theme::strong(), c.text);
    y += 22.0;
    let sheets = sheets_in_words(shown);
    line(y, &theme::shortened(ui, &sheets, &theme::small(), wide), theme::small(), c.quiet);
    y += 22.0;
    let priced = question.is_priced();
    let total = if priced { format!("{:.2}", way.score) } else { format!("{:.1} kg", way.score) };
    let big = FontId::new(26.0, theme::strong().family);
    let at = line(y, &total, big, c.text);
    let currency = shown.session.rack().map_or("", |r| r.currency());
    let beside = if priced {
        format!("{currency} · {:.0} min", way.account.minutes())
    } else {
        format!("{:.0} min", way.account.minutes())
    };
    let beside_at = pos2(at.right() + 10.0, at.bottom() - 4.0);
    inside.text(beside_at, Align2::LEFT_BOTTOM, beside, theme::body(), c.text);
    y += 38.0;
    for (i, group) in Group::ALL.into_iter().enumerate() {
        let at = pos2(left + wide * i as f32 / 4.0, y);
        inside.text(at, Align2::LEFT_TOP, group_words(group), theme::small(), c.quiet);
        let amount = format!("{:.2}", way.account.of(group));
        let at = at + vec2(0.0, 17.0);
        inside.text(at, Align2::LEFT_TOP, amount, theme::small_strong(), c.text);
    }
    y += 44.0;
    let back = back_in_words(shown);
    let used = format!("yield {:.0} % · {back}", 100.0 * way.metal_yield(question));
    line(y, &theme::shortened(ui, &used, &theme::small(), wide), theme::small(), c.quiet);
    y += 20.0;
    let state = state(shown);
    if let Some((words, bad)) = &state {
        let ink = if *bad { c.short } else { c.fits };
        let words = theme::shortened(ui, words, &theme::small_strong(), wide);
        line(y, &words, theme::small_strong(), ink);
    }
    let state = state.map(|s| format!(", {}", s.0)).unwrap_or_default();
    let spoken = format!(
        "Way {}: {title}, {sheets}, {total}, {:.0} min, {used}{state}",
        shown.rank + 1,
        way.account.minutes()
    );
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, &spoken));
    response.on_hover_cursor(CursorIcon::PointingHand).on_hover_text("twice: take it to the Sheet")
}

/// “S3-041, then 2 × 2000 × 1000”.
fn sheets_in_words(shown: &Shown<'_>) -> String {
    let name = |s: &SheetUse| shown.posed.question.candidates[s.candidate].sheet.name.clone();
    let mut names: Vec<(String, usize)> = Vec::new();
    for sheet in &shown.way.sheets {
        let name = name(sheet);
        match names.iter_mut().find(|n| n.0 == name) {
            Some(known) => known.1 += 1,
            None => names.push((name, 1)),
        }
    }
    let word = |(name, count): (String, usize)| {
        let name = name.replacen('x', " × ", 1);
        if count > 1 { format!("{count} of {name}") } else { name }
    };
    names.into_iter().map(word).collect::<Vec<_>>().join(", then ")
}

/// “a 410 × 300 goes back”.
fn back_in_words(shown: &Shown<'_>) -> String {
    let unit = shown.session.settings().unit();
    let kept: Vec<_> = shown.way.sheets.iter().flat_map(|s| &s.rest.kept).collect();
    match kept.as_slice() {
        [] => "nothing goes back".to_owned(),
        [one] => {
            // Whole millimetres do for what is looked at.
            let (w, h) = (one.clear.width().floor(), one.clear.height().floor());
            format!("{} × {} {unit} goes back", plain(w, unit), plain(h, unit))
        }
        many => {
            let kg: f64 = many.iter().map(|l| l.weight).sum();
            format!("{} pieces go back, {kg:.1} kg", many.len())
        }
    }
}

/// What is missing, what is held, when orders are whole; whether that is bad.
fn state(shown: &Shown<'_>) -> Option<(String, bool)> {
    let (way, session) = (shown.way, shown.session);
    if !way.is_complete() {
        let missing = shown.posed.question.wanted.iter().zip(&way.missing).filter(|m| *m.1 > 0);
        let words: Vec<String> = missing.map(|(w, n)| format!("{n} {}", w.part.name)).collect();
        return Some((format!("missing: {}", words.join(", ")), true));
    }
    let labels: Vec<&String> =
        way.sheets.iter().filter_map(|s| shown.posed.labels[s.candidate].as_ref()).collect();
    let listing = session.rack().map(|r| r.listing().clone()).unwrap_or_default();
    let held = |label: &&String| {
        let entry = listing.sheets.iter().find(|e| e.label == **label);
        entry.is_some_and(|e| e.facts.held().is_some())
    };
    if !labels.is_empty() && labels.iter().all(held) {
        return Some(("its sheets are held".to_owned(), false));
    }
    let names = session.compare().names();
    if names.len() > 1 {
        let whole = |(order, name): (usize, &String)| {
            let (_, minutes) = way.whole_after(&shown.posed.question, order)?;
            Some(format!("{name} after {minutes:.0} min"))
        };
        let words: Vec<String> = names.iter().enumerate().filter_map(whole).collect();
        return Some((words.join(", "), false));
    }
    None
}
