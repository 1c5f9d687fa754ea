//! Where points were hit, as it is typed or pasted.

use std::collections::BTreeMap;

use eframe::egui::{Align2, Id, Key, Modifiers, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::lay::{LayAct, Pointed};
use oddment_core::shape::Point;
use oddment_core::units::{LengthUnit, parse_length};

use crate::theme::{self, Colours};

/// What is typed and not yet taken, by the letter of the point: X and Y as they stand.
#[derive(Default)]
pub(super) struct Typing(BTreeMap<char, [String; 2]>);

const AXES: [&str; 2] = ["X", "Y"];

/// The two fields of one of the points.
pub(super) fn fields(
    ui: &mut Ui,
    c: &Colours,
    (points, n): (&[Pointed], usize),
    typing: &mut Typing,
    unit: LengthUnit,
    acts: &mut Vec<Act>,
) {
    let point = &points[n];
    let shown = point.on_bed.map_or_else(Default::default, |b| [unit.show(b.x), unit.show(b.y)]);
    let mut texts = typing.0.get(&point.letter).unwrap_or(&shown).clone();
    let mut left = false;
    for (axis, text) in texts.iter_mut().enumerate() {
        ui.label(RichText::new(AXES[axis]).color(c.quiet));
        let unread = !text.trim().is_empty() && parse_length(text, unit).is_err();
        // Named by its point, so that it keeps the keyboard when more is said beside it.
        let mut field = TextEdit::singleline(text)
            .id(id(point, axis))
            .desired_width(84.0)
            .font(theme::digits())
            .align(Align2::RIGHT_CENTER)
            .min_size(vec2(84.0, 40.0));
        if unread {
            field = field.text_color(c.short);
        }
        let response = theme::typed_over(ui, field, false);
        if response.lost_focus() {
            left = true;
            // Taken here, or it would end the next field too.
            if ui.input_mut(|i| i.consume_key(Modifiers::NONE, Key::Enter))
                && let Some(next) = next(points, n, axis)
            {
                ui.memory_mut(|m| m.request_focus(next));
            }
        }
        let name = format!("{} of {} on the bed", AXES[axis], point.letter);
        response.accessible_name(&name);
    }
    ui.label(RichText::new(unit.to_string()).font(theme::small()).color(c.quiet));
    if texts == shown {
        typing.0.remove(&point.letter);
        return;
    }
    typing.0.insert(point.letter, texts.clone());
    if !left {
        return;
    }
    let rows = rows(&texts.join(" "));
    if rows.len() > 1 || rows.first().is_some_and(|r| r.letter.is_some()) {
        typing.0.remove(&point.letter);
        let letters: Vec<char> = points.iter().map(|p| p.letter).collect();
        for (at, texts) in placed(rows, &letters, n) {
            take(&points[at], texts, typing, unit, acts);
        }
        return;
    }
    let texts = rows.into_iter().next().map_or(texts, |row| row.texts);
    take(point, texts, typing, unit, acts);
}

fn id(point: &Pointed, axis: usize) -> Id {
    Id::unique(("hit", point.letter, AXES[axis]))
}

/// The field after this one: Y after X, then X of the next point that was not hit yet.
fn next(points: &[Pointed], n: usize, axis: usize) -> Option<Id> {
    if axis == 0 {
        return Some(id(&points[n], 1));
    }
    points[n + 1..].iter().find(|p| p.on_bed.is_none()).map(|p| id(p, 0))
}

/// Takes what was typed of a point, or keeps it where it can't be read.
fn take(
    point: &Pointed,
    texts: [String; 2],
    typing: &mut Typing,
    unit: LengthUnit,
    acts: &mut Vec<Act>,
) {
    let at = point.feature.at();
    let hit = match [parse_length(&texts[0], unit), parse_length(&texts[1], unit)] {
        [Ok(x), Ok(y)] => Some(Point::new(x, y)),
        _ if texts.iter().all(|t| t.trim().is_empty()) => None,
        // Half of a place is none yet.
        _ => {
            typing.0.insert(point.letter, texts);
            return;
        }
    };
    typing.0.remove(&point.letter);
    acts.push(Act::Lay(LayAct::Measure(at, hit)));
}

/// What is typed of a point and can't be taken, in words.
pub(super) fn unread(typing: &Typing, point: &Pointed, unit: LengthUnit) -> Option<String> {
    let texts = typing.0.get(&point.letter)?;
    let is_bad = |t: &&String| !t.trim().is_empty() && parse_length(t, unit).is_err();
    let bad = texts.iter().find(is_bad)?;
    Some(format!("“{}” is no length", bad.trim()))
}

/// A place as it was pasted, with the letter before it.
#[derive(Debug, PartialEq)]
struct Row {
    letter: Option<char>,
    texts: [String; 2],
}

/// Places in a text, in pairs: “A 112.6,80.4 B 2509.9;1260.2”, “112.6 80.4”. A comma between digits parts
/// them where numbers have points, or where each letter has one word; else it is a decimal comma.
fn rows(text: &str) -> Vec<Row> {
    let is_gap = |c: char| c.is_whitespace() || c == ';';
    let words =
        text.split(is_gap).map(|w| w.trim_end_matches([',', ':'])).filter(|w| !w.is_empty());
    let letter_of = |word: &str| {
        let mut letters = word.chars();
        let one = letters.next().filter(char::is_ascii_alphabetic);
        one.filter(|_| letters.next().is_none()).map(|l| l.to_ascii_uppercase())
    };
    let letters = words.clone().filter(|w| letter_of(w).is_some()).count();
    let parts = text.contains('.') || (letters > 0 && words.clone().count() == 2 * letters);
    let comma = if parts { ',' } else { ';' };
    let mut rows = Vec::new();
    let (mut letter, mut x) = (None, None);
    for word in words.flat_map(|w| w.split(comma)) {
        match (letter_of(word), x.take()) {
            (Some(one), _) => letter = Some(one),
            (None, None) => x = Some(word.to_owned()),
            (None, Some(x)) => {
                rows.push(Row { letter: letter.take(), texts: [x, word.to_owned()] });
            }
        }
    }
    if let Some(x) = x {
        rows.push(Row { letter, texts: [x, String::new()] });
    }
    rows
}

/// Which of the points each place is of: the one of its letter, else the next from `first` on.
fn placed(rows: Vec<Row>, letters: &[char], first: usize) -> Vec<(usize, [String; 2])> {
    let mut next = first;
    let mut placed = Vec::new();
    for row in rows {
        let at = match row.letter {
            Some(letter) => letters.iter().position(|l| *l == letter),
            None => Some(next),
        };
        let Some(at) = at.filter(|at| *at < letters.len()) else { continue };
        next = at + 1;
        placed.push((at, row.texts));
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_pasted_with_and_without_letters() {
        let read = |text: &str| {
            let rows = placed(rows(text), &['T', 'A', 'B', 'C'], 1);
            rows.into_iter().map(|(at, [x, y])| (at, x, y)).collect::<Vec<_>>()
        };
        let is = |at: usize, x: &str, y: &str| (at, x.to_owned(), y.to_owned());
        let two = vec![is(1, "112.6", "80.4"), is(2, "2509.9", "1260.2")];
        assert_eq!(read("A 112.6,80.4 B 2509.9,1260.2"), two);
        assert_eq!(read("112.6, 80.4 2509.9;1260.2"), two);
        assert_eq!(read("a: 112.6 80.4\nB 2509.9 1260.2"), two);
        assert_eq!(read("C 1 2"), [is(3, "1", "2")]);
        assert_eq!(read("A 100,80"), [is(1, "100", "80")]);
        // Decimal commas; and what goes beyond the list is nobody's.
        assert_eq!(read("112,6 80,4"), [is(1, "112,6", "80,4")]);
        assert_eq!(read("1 2 3 4 5 6 7 8").len(), 3);
        assert_eq!(read("12.5"), [is(1, "12.5", "")]);
        assert_eq!(read(""), []);
    }
}
