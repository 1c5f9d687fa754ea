//! Everything a person can do, in one list: its name, its key and what it does, in words.

use std::path::PathBuf;

use oddment_core::distances::Clearances;
use oddment_core::part::Turning;
use oddment_core::plan::Count;
use oddment_core::shape::{Point, SheetSpace, Vector};
use oddment_core::units::LengthUnit;

use crate::exchange::ReadAs;
use crate::open_job::Copy;
use crate::start::sample_orders;

/// One act. [`crate::session::Session::apply`] is the only place that carries it out.
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// Place the order's parts around what is locked.
    Fill,
    /// End the fill and keep its best so far.
    KeepBest,
    /// End the fill and go back to the plan from before it.
    StopFill,
    /// Take back the last act.
    Undo,
    /// Do again what was taken back.
    Redo,
    /// Turn what is selected by so many radians.
    Turn(f64),
    /// Turn what is selected to so many radians.
    TurnTo(f64),
    /// Lay what is selected with its other face up.
    Mirror,
    /// Lock what is selected, or unlock it when all of it is locked.
    Lock,
    /// Put what is selected back on the order slip.
    PutBack,
    /// Move what is selected to the nearest clear place.
    Snug,
    /// Slide what is selected as far as it goes along this unit vector.
    Push(Vector),
    /// Move what is selected by a typed step along this unit vector.
    Nudge(Vector),
    /// Put the lower left corner of the selected part's box at this distance from the datum.
    MoveTo(Vector),
    /// Select everything on the sheet.
    SelectAll,
    /// Select nothing.
    SelectNone,
    /// Select these.
    Select(Vec<Copy>),
    /// Lay one more of a part at a clear place near the middle of the sheet that is shown.
    PlaceOne(usize),
    /// Pick these laid parts up, to move them.
    PickUp(Vec<Copy>),
    /// Take one of a part off the slip, its middle at this point of the sheet.
    Take(usize, Point<SheetSpace>),
    /// What is in the hand goes to this shift from where it was picked up; through what is in the
    /// way, where the second is true.
    Follow(Vector, bool),
    /// Put down what is in the hand.
    PutDown,
    /// Let go of what is in the hand: it goes back to where it was picked up.
    LetGo,
    /// Want so many of a part.
    SetCount(usize, Count),
    /// How a part may be turned.
    SetTurning(usize, Turning),
    /// Whether a part may be laid with its other face up.
    SetFlip(usize, bool),
    /// Take a part off the order.
    RemovePart(usize),
    /// Take everything off the sheets that is not locked.
    ClearSheet,
    /// Show another sheet.
    ShowSheet(usize),
    /// Show the next sheet.
    NextSheet,
    /// Show the sheet before.
    PreviousSheet,
    /// Ask which drawings to add to the order.
    AddDrawings,
    /// Ask which drawing is the sheet.
    PickSheet,
    /// Take these files in: plans and jobs are opened, drawings are added to the order.
    TakeFiles(Vec<PathBuf>),
    /// Read these drawings.
    Read(Vec<PathBuf>, ReadAs),
    /// Read the drawings that were read last once more, in other units or for something else.
    ReadAgain(ReadAs, Option<LengthUnit>),
    /// Put away what was said about the drawings that were read last.
    CloseReport,
    /// A plain sheet, millimetres along x and y, in place of the sheets there are.
    PlainSheet(f64, f64),
    /// Ask which distances to keep.
    Distances,
    /// Keep these distances.
    SetClearances(Clearances),
    /// Ask which plan to open.
    Open,
    /// Open this plan.
    OpenFile(PathBuf),
    /// Save the plan where it was saved last; ask where the first time.
    Save,
    /// Ask where to save the plan.
    SaveAs,
    /// Save the plan here.
    SaveFile(PathBuf),
    /// Ask for the folder to export to.
    Export,
    /// Write drawing, picture, set-up sheet and plan into this folder.
    ExportTo(PathBuf),
    /// Open one of the sample shop's orders on the sheets it goes on.
    OpenSample(usize),
    /// Show the whole sheet.
    FitView,
    /// Look closer.
    ZoomIn,
    /// Look from further away.
    ZoomOut,
    /// Search all acts.
    FindAct,
    /// Light or dark.
    ToggleTheme,
    /// Millimetres or inches.
    ToggleUnit,
    /// Larger text and controls.
    Larger,
    /// Smaller text and controls.
    Smaller,
    /// How far a nudge moves, mm.
    SetNudge(f64),
    /// Put the hint of the first start away.
    HideHint,
}

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
}

/// A quarter turn, radians.
const QUARTER: f64 = std::f64::consts::FRAC_PI_2;

const LEFT: Vector = Vector::new(-1.0, 0.0);
const RIGHT: Vector = Vector::new(1.0, 0.0);
const UP: Vector = Vector::new(0.0, 1.0);
const DOWN: Vector = Vector::new(0.0, -1.0);

/// All acts that need nothing more than a key or a press, in the order people meet them.
pub fn listed() -> Vec<Listed> {
    let degree = 1f64.to_radians();
    let rows: [(Act, &str, &str, &[&str]); 41] = [
        (Act::Fill, "Fill", "places the order's parts around what is locked", &["F"]),
        (Act::KeepBest, "Keep the best so far", "ends the fill and keeps what it has", &["Enter"]),
        (Act::StopFill, "Stop the fill", "and go back to the plan from before", &["Ctrl+Period"]),
        (Act::Turn(QUARTER), "Turn a quarter", "counter-clockwise", &["R"]),
        (Act::Turn(-QUARTER), "Turn a quarter back", "clockwise", &["Shift+R"]),
        (Act::Turn(degree), "Turn one degree", "counter-clockwise", &["Comma"]),
        (Act::Turn(-degree), "Turn one degree back", "clockwise", &["Period"]),
        (Act::Mirror, "Mirror", "lays the part with its other face up, where it may", &["M"]),
        (Act::Lock, "Lock or unlock", "locked parts stay where they are in a fill", &["L"]),
        (Act::Snug, "Snug", "moves the part to the nearest clear place", &["S"]),
        (Act::PutBack, "Put back", "takes the part off the sheet", &["Delete", "Backspace"]),
        (Act::Nudge(LEFT), "Nudge left", "by the step on the line below", &["ArrowLeft"]),
        (Act::Nudge(RIGHT), "Nudge right", "by the step on the line below", &["ArrowRight"]),
        (Act::Nudge(UP), "Nudge up", "by the step on the line below", &["ArrowUp"]),
        (Act::Nudge(DOWN), "Nudge down", "by the step on the line below", &["ArrowDown"]),
        (Act::Push(LEFT), "Push left", "until it stops", &["Shift+ArrowLeft"]),
        (Act::Push(RIGHT), "Push right", "until it stops", &["Shift+ArrowRight"]),
        (Act::Push(UP), "Push up", "until it stops", &["Shift+ArrowUp"]),
        (Act::Push(DOWN), "Push down", "until it stops", &["Shift+ArrowDown"]),
        (Act::SelectAll, "Select all", "on this sheet", &["Ctrl+A"]),
        (Act::SelectNone, "Select nothing", "", &["Escape"]),
        (Act::ClearSheet, "Clear the sheets", "of everything that is not locked", &["Ctrl+Delete"]),
        (Act::Undo, "Undo", "takes back the last act", &["Ctrl+Z"]),
        (Act::Redo, "Redo", "does it again", &["Ctrl+Shift+Z", "Ctrl+Y"]),
        (Act::AddDrawings, "Add drawings", "DXF or SVG, to the order", &["Ctrl+I"]),
        (Act::Open, "Open a plan", "", &["Ctrl+O"]),
        (Act::Save, "Save the plan", "", &["Ctrl+S"]),
        (Act::SaveAs, "Save the plan elsewhere", "", &["Ctrl+Shift+S"]),
        (Act::Export, "Export", "layout as DXF, picture, set-up sheet and plan", &["Ctrl+E"]),
        (Act::NextSheet, "Next sheet", "", &["PageDown"]),
        (Act::PreviousSheet, "Sheet before", "", &["PageUp"]),
        (Act::FitView, "Whole sheet", "fits the sheet to the window", &["Home", "0"]),
        (Act::ZoomIn, "Closer", "", &["Plus", "Equals"]),
        (Act::ZoomOut, "Further away", "", &["Minus"]),
        (Act::FindAct, "All acts", "search everything there is to do", &["Ctrl+K", "Slash"]),
        (Act::ToggleTheme, "Light or dark", "", &["Ctrl+D"]),
        (Act::ToggleUnit, "Millimetres or inches", "", &["Ctrl+U"]),
        (Act::Larger, "Larger text", "and larger controls", &["Ctrl+Plus", "Ctrl+Equals"]),
        (Act::Smaller, "Smaller text", "and smaller controls", &["Ctrl+Minus"]),
        (Act::Distances, "Distances", "kerf, web and edge distances to keep", &[]),
        (Act::PickSheet, "Take a sheet from a drawing", "in place of the sheets there are", &[]),
    ];
    let plain = rows.into_iter().map(|(act, name, help, keys)| Listed {
        act,
        name: name.into(),
        help,
        keys: keys.iter().copied().map(KeyPress::read).collect(),
    });
    let samples = sample_orders().into_iter().enumerate().map(|(i, name)| Listed {
        act: Act::OpenSample(i),
        name: format!("Sample order: {name}"),
        help: "opens it in place of the work that is open",
        keys: Vec::new(),
    });
    plain.chain(samples).collect()
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

/// The listed acts that fit what was typed: every word must be in the name or the help, and names
/// that begin with it come first.
pub fn search(acts: &[Listed], typed: &str) -> Vec<Listed> {
    let typed = typed.trim().to_lowercase();
    let mut found: Vec<&Listed> = acts
        .iter()
        .filter(|l| {
            let text = format!("{} {}", l.name, l.help).to_lowercase();
            typed.split_whitespace().all(|word| text.contains(word))
        })
        .collect();
    found.sort_by_key(|l| !l.name.to_lowercase().starts_with(&typed));
    found.into_iter().cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_does_two_things() {
        let mut keys: Vec<KeyPress> = listed().into_iter().flat_map(|l| l.keys).collect();
        let all = keys.len();
        keys.sort_by_key(|k| (k.ctrl, k.shift, k.key));
        keys.dedup();
        assert_eq!(keys.len(), all);
    }

    #[test]
    fn keys_read_as_written() {
        let press = KeyPress::read("Ctrl+Shift+Z");
        assert_eq!(press, KeyPress { ctrl: true, shift: true, key: "Z" });
        assert_eq!(press.to_string(), "Ctrl Shift Z");
        assert_eq!(KeyPress::read("Plus").to_string(), "+");
    }

    #[test]
    fn searching_looks_at_names_first() {
        let all = listed();
        assert_eq!(search(&all, "lock")[0].act, Act::Lock);
        assert_eq!(search(&all, "fill")[0].act, Act::Fill);
        assert_eq!(search(&all, "quarter back").len(), 1);
        assert!(search(&all, "no such act").is_empty());
        assert_eq!(search(&all, "").len(), all.len());
    }
}
