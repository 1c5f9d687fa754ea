//! The acts by name and key, and how they are searched.

use std::sync::LazyLock;

use oddment_core::shape::Vector;

use super::Act;
use crate::bars::BarsAct;
use crate::capture::CaptureAct;
use crate::compare::CompareAct;
use crate::place::Place;
use crate::rack::{CutSaid, RackAct, RackCard};
use crate::start::sample_orders;

/// A key, with the keys held down with it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeyPress {
    /// Ctrl, or ⌘ on a Mac.
    pub ctrl: bool,
    /// Shift.
    pub shift: bool,
    /// The key itself, by its name on an English keyboard.
    pub key: &'static str,
}

/// An act as listed for people.
#[derive(Clone, Debug)]
pub struct Listed {
    /// The act.
    pub act: Act,
    /// Its name.
    pub name: String,
    /// What it does.
    pub help: &'static str,
    /// Its keys, the first of them shown.
    pub keys: Vec<KeyPress>,
    /// The place where its keys work; everywhere where none is named.
    pub place: Option<Place>,
}

impl Listed {
    /// Whether its keys work in a place.
    pub fn works_in(&self, place: Place) -> bool {
        self.place.is_none_or(|p| p == place)
    }
}

/// A quarter turn, radians.
const QUARTER: f64 = std::f64::consts::FRAC_PI_2;

const LEFT: Vector = Vector::new(-1.0, 0.0);
const RIGHT: Vector = Vector::new(1.0, 0.0);
const UP: Vector = Vector::new(0.0, 1.0);
const DOWN: Vector = Vector::new(0.0, -1.0);

/// All acts that need nothing more than a key or a press, in the order people meet them.
pub fn listed() -> &'static [Listed] {
    // Asked for in every frame, and always the same.
    static ALL: LazyLock<Vec<Listed>> = LazyLock::new(all);
    &ALL
}

fn all() -> Vec<Listed> {
    let plain = |place: Option<Place>, (act, name, help, keys): Row| Listed {
        act,
        name: name.into(),
        help,
        keys: keys.iter().copied().map(KeyPress::read).collect(),
        place,
    };
    let places = Place::ALL.into_iter().map(|place| Listed {
        act: Act::Go(place),
        name: place.name().into(),
        help: place.question(),
        keys: vec![KeyPress::read(place.key())],
        place: None,
    });
    let samples = sample_orders().into_iter().enumerate().map(|(i, name)| Listed {
        act: Act::OpenSample(i),
        name: format!("Sample order: {name}"),
        help: "opens it in place of the work that is open",
        keys: Vec::new(),
        place: Some(Place::Sheet),
    });
    let together = sample_orders().into_iter().enumerate().map(|(i, name)| Listed {
        act: Act::Compare(CompareAct::AddSample(i)),
        name: format!("Together with the sample order {name}"),
        help: "compares both as one",
        keys: Vec::new(),
        place: Some(Place::Compare),
    });
    let on_rack = on_rack().into_iter().map(|row| plain(Some(Place::Rack), row));
    let on_bars = on_bars().into_iter().map(|row| plain(Some(Place::Bars), row));
    let on_bar_ways = on_bar_ways().into_iter().map(|row| plain(Some(Place::BarWays), row));
    let on_sheet = on_sheet().into_iter().map(|row| plain(Some(Place::Sheet), row));
    let on_compare = on_compare().into_iter().map(|row| plain(Some(Place::Compare), row));
    let on_cut = on_cut().into_iter().map(|row| plain(Some(Place::Cut), row));
    on_sheet
        .chain(on_compare)
        .chain(on_cut)
        .chain(on_bars)
        .chain(on_bar_ways)
        .chain(on_rack)
        .chain(places)
        .chain(everywhere().map(|row| plain(None, row)))
        .chain(samples)
        .chain(together)
        .collect()
}

/// An act, its name, what it does, its keys.
type Row = (Act, &'static str, &'static str, &'static [&'static str]);

/// What can be done wherever one is.
fn everywhere() -> [Row; 7] {
    [
        (Act::FindAct, "All acts", "search everything there is to do", &["Ctrl+K", "Slash"]),
        (Act::Look, "Look", "light or dark, units, sizes", &[]),
        (Act::ToggleTheme, "Light or dark", "", &["Ctrl+D"]),
        (Act::ToggleUnit, "Millimetres or inches", "", &["Ctrl+U"]),
        (Act::Larger, "Larger text", "and larger controls", &["Ctrl+Plus", "Ctrl+Equals"]),
        (Act::Smaller, "Smaller text", "and smaller controls", &["Ctrl+Minus"]),
        (Act::ToggleTargets, "Targets for gloves", "or the usual ones", &[]),
    ]
}

/// What can be done about ways of cutting the order.
fn on_compare() -> [Row; 7] {
    let act = Act::Compare;
    [
        (act(CompareAct::Begin), "Compare the ways", "of cutting the order", &["Enter"]),
        (act(CompareAct::Stop), "Stop comparing", "what was found stays", &["Ctrl+Period"]),
        (act(CompareAct::SearchOn), "Search on", "for as long again, for cheaper ways", &["O"]),
        (act(CompareAct::Take), "Take this way", "its sheets and plan, to the Sheet", &["T"]),
        (act(CompareAct::Hold), "Hold its sheets", "those of the rack, for the order", &["H"]),
        (act(CompareAct::Export), "Write the ways", "as a table and to print", &["Ctrl+E"]),
        (act(CompareAct::AddOrder), "Add an order", "to be cut from the same sheets", &["Ctrl+I"]),
    ]
}

/// What can be done with the cut.
fn on_cut() -> [Row; 2] {
    [
        (Act::Undo, "Undo, at the cut", "takes back the last act", &["Ctrl+Z"]),
        (Act::Redo, "Redo, at the cut", "does it again", &["Ctrl+Shift+Z", "Ctrl+Y"]),
    ]
}

/// What can be done with the order of bars.
fn on_bars() -> Vec<Row> {
    let bars = Act::Bars;
    vec![
        (bars(BarsAct::Fill), "Fill the bars", "plans what is cut from which bar", &["F"]),
        (bars(BarsAct::Compare), "Compare ways to cut the bars", "beside each other", &["W"]),
        (Act::KeepBest, "Keep the best so far, of bars", "ends the planning", &["Enter"]),
        (Act::StopFill, "Stop planning bars", "and go back to the plan before", &["Ctrl+Period"]),
        (
            bars(BarsAct::Record(Box::default())),
            "Record the cut of bars",
            "as planned: what is left is the bar’s new length in the rack",
            &["Ctrl+Enter"],
        ),
        (
            Act::RecordParts,
            "Record bars part by part",
            "what is good, scrap, half cut or was not begun; minutes, heat number",
            &["Ctrl+R"],
        ),
        (bars(BarsAct::Undo), "Undo, at the bars", "takes back the last act", &["Ctrl+Z"]),
        (bars(BarsAct::Redo), "Redo, at the bars", "does it again", &["Ctrl+Shift+Z", "Ctrl+Y"]),
        (Act::Open, "Open an order of bars", "a plan or a cut list", &["Ctrl+O"]),
        (Act::Save, "Save the plan for bars", "", &["Ctrl+S"]),
        (Act::SaveAs, "Save the plan for bars elsewhere", "", &["Ctrl+Shift+S"]),
        (
            Act::Export,
            "Print the bars",
            "set-up sheet and plan, into a folder",
            &["Ctrl+E", "Ctrl+P"],
        ),
        (bars(BarsAct::New), "New order of bars", "of the same profile on the same machine", &[]),
        (bars(BarsAct::OpenSample), "Sample order of bars", "frame tubes for cargo bikes", &[]),
    ]
}

/// What can be done about ways of cutting the bars.
fn on_bar_ways() -> [Row; 2] {
    let bars = Act::Bars;
    [
        (bars(BarsAct::Compare), "Compare the bars", "ways of cutting the order", &["Enter"]),
        (bars(BarsAct::TakeWay), "Take this way to cut the bars", "its bars and plan", &["T"]),
    ]
}

/// What can be done with the rack.
fn on_rack() -> Vec<Row> {
    let begin = Act::Rack(RackAct::BeginWalk(String::new()));
    let ask = |card| Act::Rack(RackAct::Ask(card));
    let (photo, page) = (Act::Capture(CaptureAct::Pick), Act::Capture(CaptureAct::PickPage));
    let write = |name: &str| Act::Rack(RackAct::PickExport(name.to_owned()));
    let page_help = "a page of squares to photograph with a sheet";
    vec![
        (ask(RackCard::Sheet), "Add a sheet", "typed, pointed at or drawn", &["N"]),
        (ask(RackCard::Bars), "Add bars", "of one profile and length", &[]),
        (ask(RackCard::Fillers), "Filler parts", "small parts that are always of use", &[]),
        (ask(RackCard::Exchange), "In and out", "labels, lists, drawings, shop files", &[]),
        (ask(RackCard::EndWalk), "End the stock-take", "what differs is said first", &[]),
        (photo, "A sheet from a photograph", "its edges and cut-outs are found in it", &[]),
        (page, "Print the page for photographs", page_help, &[]),
        (
            Act::Rack(RackAct::Undo(None)),
            "Undo in the rack",
            "takes back its newest event",
            &["Ctrl+Z"],
        ),
        (write("rack.csv"), "Write the rack’s list", "CSV, for a spreadsheet", &[]),
        (write("rack.json"), "Write the whole rack", "JSON, for another shop file", &[]),
        (Act::Rack(RackAct::PickImport), "Take into the rack", "a list or a whole rack", &[]),
        (Act::Rack(RackAct::PickShop), "Open another shop file", "another rack", &[]),
        (Act::Rack(RackAct::PickNewShop), "Start a rack of your own", "an empty shop file", &[]),
        (begin, "Begin a stock-take", "or go on with the one under way", &[]),
        (Act::Rack(RackAct::FindNoMore), "Show all sheets", "whether they have room or not", &[]),
    ]
}

/// What can be done with the sheet and the order.
fn on_sheet() -> Vec<Row> {
    let degree = 1f64.to_radians();
    let keep = Act::Rack(RackAct::AddShown);
    vec![
        (keep, "Keep this sheet in the rack", "as it was drawn or comes with a plan", &[]),
        (Act::Fill, "Fill", "places the order's parts around what is locked", &["F"]),
        (Act::KeepBest, "Keep the best so far", "ends the fill and keeps what it has", &["Enter"]),
        (Act::StopFill, "Stop the work", "and go back to the plan from before", &["Ctrl+Period"]),
        (Act::Turn(QUARTER), "Turn a quarter", "counter-clockwise", &["R"]),
        (Act::Turn(-QUARTER), "Turn a quarter back", "clockwise", &["Shift+R"]),
        (Act::Turn(degree), "Turn one degree", "counter-clockwise", &["Comma"]),
        (Act::Turn(-degree), "Turn one degree back", "clockwise", &["Period"]),
        (Act::Mirror, "Mirror", "lays the part with its other face up, where it may", &["M"]),
        (Act::AlignToEdge, "Along the edge", "turns a long edge along the sheet's nearest", &["E"]),
        (Act::AlignToGrain, "Along the grain", "turns a long edge along the grain", &["G"]),
        (Act::Duplicate, "Duplicate", "lays one more beside it", &["D"]),
        (Act::Lock, "Lock or unlock", "locked parts stay where they are in a fill", &["L"]),
        (Act::Snug, "Snug", "moves the part to the nearest clear place", &["S"]),
        (
            Act::ShareCut,
            "Share a cut",
            "with the nearest straight edge of a part beside it",
            &["J"],
        ),
        (Act::PutBack, "Put back", "takes the part off the sheet", &["Delete", "Backspace"]),
        (Act::Nudge(LEFT), "Nudge left", "by the step on the line below", &["ArrowLeft"]),
        (Act::Nudge(RIGHT), "Nudge right", "by the step on the line below", &["ArrowRight"]),
        (Act::Nudge(UP), "Nudge up", "by the step on the line below", &["ArrowUp"]),
        (Act::Nudge(DOWN), "Nudge down", "by the step on the line below", &["ArrowDown"]),
        (Act::Push(LEFT), "Push left", "until it stops", &["Shift+ArrowLeft"]),
        (Act::Push(RIGHT), "Push right", "until it stops", &["Shift+ArrowRight"]),
        (Act::Push(UP), "Push up", "until it stops", &["Shift+ArrowUp"]),
        (Act::Push(DOWN), "Push down", "until it stops", &["Shift+ArrowDown"]),
        (Act::SelectNext(true), "Next part", "selects the laid part that comes next", &["N"]),
        (Act::SelectNext(false), "Part before", "selects the laid part before it", &["Shift+N"]),
        (Act::SelectAll, "Select all", "on this sheet", &["Ctrl+A"]),
        (Act::SelectAlike, "Select all like it", "every laid copy of it", &["A"]),
        (Act::SelectNone, "Select nothing", "", &["Escape"]),
        (Act::Shorten(LEFT), "Shorten to the left", "brings the loose parts together", &[]),
        (Act::Shorten(RIGHT), "Shorten to the right", "brings the loose parts together", &[]),
        (Act::Shorten(DOWN), "Shorten down", "brings the loose parts together", &[]),
        (Act::Shorten(UP), "Shorten up", "brings the loose parts together", &[]),
        (Act::NewOrder, "New order", "nothing is wanted; the sheet stays", &[]),
        (Act::ClearSheet, "Clear the sheets", "of everything that is not locked", &["Ctrl+Delete"]),
        (
            Act::Rack(RackAct::Record(Box::default())),
            "Record the cut",
            "as planned: the parts leave the sheet, in the rack too",
            &["Ctrl+Enter"],
        ),
        (
            Act::Rack(RackAct::Record(Box::new(CutSaid::on_bed()))),
            "Record the cut, still on the bed",
            "its new edges are known better until it is lifted",
            &["Ctrl+Shift+Enter"],
        ),
        (
            Act::RecordParts,
            "Record part by part",
            "what is good, scrap or was not begun; minutes, leftovers, a straight cut",
            &["Ctrl+R"],
        ),
        (
            Act::Rack(RackAct::LayFillers),
            "Ask for filler parts",
            "where the order leaves metal on this sheet",
            &[],
        ),
        (Act::Undo, "Undo", "takes back the last act", &["Ctrl+Z"]),
        (Act::Redo, "Redo", "does it again", &["Ctrl+Shift+Z", "Ctrl+Y"]),
        (Act::AddDrawings, "Add drawings", "DXF or SVG, to the order", &["Ctrl+I"]),
        (Act::Open, "Open a plan", "", &["Ctrl+O"]),
        (Act::Save, "Save the plan", "", &["Ctrl+S"]),
        (Act::SaveAs, "Save the plan elsewhere", "", &["Ctrl+Shift+S"]),
        (
            Act::Export,
            "Export",
            "cut and layout as DXF, set-up sheet and travellers to print, plan",
            &["Ctrl+E", "Ctrl+P"],
        ),
        (Act::NextSheet, "Next sheet", "", &["PageDown"]),
        (Act::PreviousSheet, "Sheet before", "", &["PageUp"]),
        (Act::FitView, "Whole sheet", "fits the sheet to the window", &["Home", "0"]),
        (Act::ZoomIn, "Closer", "", &["Plus", "Equals"]),
        (Act::ZoomOut, "Further away", "", &["Minus"]),
        (Act::Distances, "Distances", "kerf, web and edge distances to keep", &[]),
        (Act::SheetFacts, "The sheet", "its metal, grain and size; or a plain one", &[]),
        (
            Act::PickSheet,
            "Take a sheet from a drawing",
            "or a plan, in place of the sheets there are",
            &[],
        ),
    ]
}

impl KeyPress {
    fn read(text: &'static str) -> Self {
        let mut rest = text;
        let mut press = Self { ctrl: false, shift: false, key: text };
        loop {
            if let Some(after) = rest.strip_prefix("Ctrl+") {
                (press.ctrl, rest) = (true, after);
            } else if let Some(after) = rest.strip_prefix("Shift+") {
                (press.shift, rest) = (true, after);
            } else {
                press.key = rest;
                return press;
            }
        }
    }
}

impl std::fmt::Display for KeyPress {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.ctrl {
            f.write_str("Ctrl ")?;
        }
        if self.shift {
            f.write_str("Shift ")?;
        }
        f.write_str(match self.key {
            "ArrowLeft" => "←",
            "ArrowRight" => "→",
            "ArrowUp" => "↑",
            "ArrowDown" => "↓",
            "Comma" => ",",
            "Period" => ".",
            "Slash" => "/",
            "Plus" => "+",
            "Minus" => "−",
            "Equals" => "=",
            key => key,
        })
    }
}

/// The listed acts that fit what was typed: every word must be in the name or the help. Acts of the
/// place where it was typed come first, and among them those whose names begin with it, then those whose
/// names have it.
pub fn search(acts: &[Listed], here: Place, typed: &str) -> Vec<Listed> {
    let typed = typed.trim().to_lowercase().replace('\'', "’");
    let mut found: Vec<&Listed> = acts
        .iter()
        .filter(|l| {
            let text = format!("{} {}", l.name, l.help).to_lowercase();
            let also = |word: &str| {
                ALSO.iter().any(|(said, called)| said.starts_with(word) && text.contains(called))
            };
            typed.split_whitespace().all(|word| text.contains(word) || also(word))
        })
        .collect();
    found.sort_by_key(|l| {
        let name = l.name.to_lowercase();
        let named = typed.split_whitespace().all(|word| name.contains(word));
        (!l.works_in(here), !name.starts_with(&typed), !named)
    });
    found.into_iter().cloned().collect()
}

/// What else people call what acts do, and how it is put here.
const ALSO: [(&str, &str); 11] = [
    ("align", "along the"),
    ("copy", "duplicate"),
    ("delete", "put back"),
    ("flip", "mirror"),
    ("import", "add drawings"),
    ("nest", "fill"),
    ("move", "nudge"),
    ("remove", "put back"),
    ("rotate", "turn"),
    ("settings", "look"),
    ("zoom", "whole sheet"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_does_two_things_in_a_place() {
        for place in Place::ALL {
            let here = listed().iter().filter(|l| l.works_in(place));
            let mut keys: Vec<KeyPress> = here.flat_map(|l| l.keys.clone()).collect();
            let all = keys.len();
            keys.sort_by_key(|k| (k.ctrl, k.shift, k.key));
            keys.dedup();
            assert_eq!(keys.len(), all);
        }
    }

    #[test]
    fn keys_read_as_written() {
        let press = KeyPress::read("Ctrl+Shift+Z");
        assert_eq!(press, KeyPress { ctrl: true, shift: true, key: "Z" });
        assert_eq!(press.to_string(), "Ctrl Shift Z");
        assert_eq!(KeyPress::read("Plus").to_string(), "+");
    }

    #[test]
    fn searching_looks_at_this_place_and_at_names_first() {
        let search = |typed| search(listed(), Place::Sheet, typed);
        assert_eq!(search("lock")[0].act, Act::Lock);
        assert_eq!(search("fill")[0].act, Act::Fill);
        // “Print the bars” is what another place does.
        assert_eq!(search("print")[0].act, Act::Export);
        assert_eq!(search("quarter back").len(), 1);
        assert_eq!(search("rack's list").len(), 1);
        // What other people call it.
        assert_eq!(search("align").len(), 2);
        assert_eq!(search("rotate quarter").len(), 2);
        assert!(search("delete").iter().any(|l| l.act == Act::PutBack));
        assert!(search("no such act").is_empty());
        assert_eq!(search("").len(), listed().len());
    }
}
