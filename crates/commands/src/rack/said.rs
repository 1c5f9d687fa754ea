//! Sheets and events as they are printed for programs.

use oddment_rack::facts::{Facts, Whereabouts};
use oddment_rack::history::Event;
use oddment_rack::sheets::Entry;
use serde::Serialize;

/// A sheet of the list.
#[derive(Serialize)]
pub(super) struct SheetSaid<'a> {
    label: &'a str,
    kind: &'static str,
    material: &'a str,
    grade: &'a str,
    thickness_mm: f64,
    width_mm: f64,
    height_mm: f64,
    metal_mm2: f64,
    weight_kg: f64,
    stands: &'a str,
    heat: &'a str,
    certificate: &'a str,
    finish: &'a str,
    coating: &'a str,
    face_up: &'a str,
    grain_deg: Option<f64>,
    bow_mm: Option<f64>,
    value: Option<f64>,
    notes: &'a str,
    held_for: Option<&'a str>,
    held_by: Option<&'a str>,
    held_until: Option<i64>,
    came: i64,
    seen: i64,
    on_bed: bool,
    whereabouts: Whereabouts,
    parent: Option<&'a str>,
    #[serde(flatten)]
    bar: Option<BarSaid<'a>>,
}

/// What is said of a bar besides.
#[derive(Serialize)]
struct BarSaid<'a> {
    profile: &'a str,
    length_mm: f64,
    give_or_take_mm: f64,
    delivered_mm: f64,
    end_deg: f64,
}

impl<'a> SheetSaid<'a> {
    pub(super) fn new(entry: &'a Entry) -> Self {
        let f: &Facts = &entry.facts;
        let held = f.held();
        Self {
            label: &entry.label,
            kind: if f.bar.is_some() { "bar" } else { "sheet" },
            material: &f.material,
            grade: &f.grade,
            thickness_mm: f.thickness,
            width_mm: entry.size[0],
            height_mm: entry.size[1],
            metal_mm2: entry.area,
            weight_kg: entry.weight(),
            stands: &f.stands,
            heat: &f.heat,
            certificate: &f.certificate,
            finish: &f.finish,
            coating: &f.coating,
            face_up: &f.face_up,
            grain_deg: f.grain_deg,
            bow_mm: f.bow,
            value: f.value,
            notes: &f.notes,
            held_for: held.map(|h| h.order.as_str()),
            held_by: held.map(|h| h.who.as_str()),
            held_until: held.and_then(|h| h.until),
            came: f.came,
            seen: f.seen,
            on_bed: f.setup.is_some(),
            whereabouts: f.whereabouts,
            parent: f.parent.as_deref(),
            bar: f.bar.as_ref().map(|bar| BarSaid {
                profile: &bar.profile.name,
                length_mm: entry.size[0],
                give_or_take_mm: bar.give_or_take,
                delivered_mm: bar.delivered,
                end_deg: bar.end_deg,
            }),
        }
    }
}

/// A sheet in one line for people.
pub(super) fn line(entry: &Entry) -> String {
    let f = &entry.facts;
    let [width, height] = entry.size;
    let size = match &f.bar {
        Some(_) => format!("{width:>5.0} mm   "),
        None => format!("{width:>5.0} × {height:<5.0}"),
    };
    let mut line = format!(
        "{:<10} {:<12} {size} {:>7.1} kg  {}",
        entry.label,
        entry.what(),
        entry.weight(),
        f.stands
    );
    if !f.heat.is_empty() {
        line += &format!(" · heat {}", f.heat);
    }
    if let Some(hold) = f.held() {
        line += &format!(" · {}", hold.words());
    }
    if f.setup.is_some() {
        line += " · on the bed";
    }
    if f.whereabouts != Whereabouts::Here {
        line += &format!(" · {}", f.whereabouts.words());
    }
    line
}

/// An event.
#[derive(Serialize)]
pub(super) struct EventSaid<'a> {
    event: i64,
    at: i64,
    who: &'a str,
    kind: &'a str,
    said: &'a str,
    undoes: Option<i64>,
    undone_by: Option<i64>,
}

impl<'a> EventSaid<'a> {
    pub(super) fn new(event: &'a Event) -> Self {
        Self {
            event: event.number,
            at: event.at,
            who: &event.who,
            kind: &event.kind,
            said: &event.said,
            undoes: event.undoes,
            undone_by: event.undone_by,
        }
    }
}
