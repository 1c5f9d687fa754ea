//! Distances, faults and verdicts in words, and words as sentences.

use std::collections::BTreeSet;

use oddment_core::check::{Basis, CheckedPlan, Fault, Party};
use oddment_core::shape::{Point, SheetSpace};
use oddment_core::units::LengthUnit;
use oddment_files::words::{fault_words, figures};

use crate::open_job::{Copy, OpenJob};
use crate::rack::RackAct;
use crate::session::{Bar, Barred};

/// A fault for people, and where to look.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultInWords {
    /// The sentence.
    pub text: String,
    /// Which layout it is in, where it is in one.
    pub layout: Option<usize>,
    /// The laid copies it is about.
    pub copies: Vec<Copy>,
    /// Where on the sheet.
    pub at: Option<Point<SheetSpace>>,
    /// What a press on it does to mend it.
    pub mends: Option<RackAct>,
}

impl FaultInWords {
    /// That a sheet must not be cut so.
    pub fn of_sheet(barred: &Barred) -> Self {
        let mends = match barred.why {
            Bar::Changed => Some(RackAct::TakeAgain(barred.label.clone())),
            _ => None,
        };
        let says = match mends {
            Some(_) => "press here to take it again",
            None => barred.mend_words(),
        };
        let text = format!("{}; {says}", barred.words());
        Self { text, layout: None, copies: Vec::new(), at: None, mends }
    }
}

/// What stands in the corner.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// Nothing is laid yet.
    Nothing,
    /// Clear, on this basis.
    Clear(Basis),
    /// Not clear: so many faults.
    Faults(usize),
    /// A sheet must not be cut as planned, for this reason.
    Barred(Bar),
}

impl Verdict {
    /// Of a plan that was checked.
    pub fn of(checked: &CheckedPlan) -> Self {
        match checked.report().faults.len() {
            0 if checked.plan().layouts.is_empty() => Self::Nothing,
            0 => Self::Clear(checked.basis()),
            n => Self::Faults(n),
        }
    }

    /// In words.
    pub fn text(&self) -> String {
        match self {
            Self::Nothing => "nothing laid yet".into(),
            Self::Clear(basis) => format!("clear {}", basis.words()),
            Self::Barred(Bar::Uncertified(_, lacks)) => format!("no {lacks}"),
            Self::Barred(Bar::Held(_)) => "the sheet is held".into(),
            Self::Barred(Bar::Gone | Bar::Changed) => "the sheet has changed".into(),
            Self::Faults(1) => "not clear: 1 fault".into(),
            Self::Faults(n) => format!("not clear: {n} faults"),
        }
    }

    /// What stands below it: what is still to be done at the machine, or was.
    pub fn below(&self) -> Option<&'static str> {
        match self {
            Self::Clear(Basis::Recorded) => Some("not measured on the bed yet"),
            Self::Clear(Basis::SquaredUp) => Some("pointer points not ticked off yet"),
            Self::Clear(Basis::Laid) => Some("measured, and all points ticked off"),
            Self::Nothing | Self::Faults(_) | Self::Barred(_) => None,
        }
    }
}

/// With a capital letter.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first: String = letters.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    first + letters.as_str()
}

/// With a capital letter and a full stop.
pub fn in_a_sentence(text: &str) -> String {
    format!("{}.", capital(text).trim_end_matches('.'))
}

/// All that is wrong, in one line.
pub fn joined<T: ToString>(faults: &[T]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

/// What a distance is to: “the sheet's edge”, “the cut-out at 418, 296”, “gusset #3”.
pub fn party(open: &OpenJob, layout: usize, other: &Party, unit: LengthUnit) -> String {
    let layout = open.plan.layouts.get(layout);
    match other {
        Party::SheetEdge => "the sheet's edge".into(),
        Party::CutOut(_, at) => format!("the cut-out at {}", place(*at, unit)),
        Party::NoGo(i) => layout
            .and_then(|l| open.job().stock.get(l.stock)?.sheet.no_go.get(*i))
            .map_or_else(|| "a no-go zone".into(), |zone| zone.name.clone()),
        Party::Placed(i) => layout
            .and_then(|l| l.placements.get(*i))
            .map_or_else(|| "a part".into(), |p| open.name_of(Copy::of(p))),
    }
}

/// “418, 296”.
pub fn place(at: Point<SheetSpace>, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{:.0}, {:.0}", at.x + 0.0, at.y + 0.0),
        LengthUnit::Inch => format!("{}, {}", unit.show(at.x), unit.show(at.y)),
    }
}

/// “2.6 to the cut-out at 418, 296 (needs 2.1)”; an overlap is said to be one.
pub fn distance(distance: f64, to: &str, required: f64, unit: LengthUnit) -> String {
    let figures = figures(distance, required, unit);
    let needs = figures.of(required);
    if distance < 0.0 {
        return format!("overlaps {to} by {} (needs {needs})", figures.of(-distance));
    }
    format!("{} to {to} (needs {needs})", figures.of(distance))
}

/// The laid copies that faults are about.
pub fn faulty(open: &OpenJob, checked: &CheckedPlan) -> BTreeSet<Copy> {
    checked.report().faults.iter().flat_map(|f| copies_in(open, f)).collect()
}

fn copies_in(open: &OpenJob, fault: &Fault) -> Vec<Copy> {
    let copy_at = |layout: usize, placed: usize| {
        open.plan.layouts.get(layout).and_then(|l| l.placements.get(placed)).map(Copy::of)
    };
    match fault {
        Fault::Short(m) => {
            let other = match m.other {
                Party::Placed(i) => copy_at(m.layout, i),
                _ => None,
            };
            copy_at(m.layout, m.placed).into_iter().chain(other).collect()
        }
        Fault::Turned { layout, placed }
        | Fault::WrongMetal { layout, placed }
        | Fault::NoStart { layout, placed, .. } => copy_at(*layout, *placed).into_iter().collect(),
        Fault::SameCopy { part, copy } => vec![Copy { part: *part, number: *copy }],
        Fault::Unknown { .. } | Fault::TooMany { .. } | Fault::TooFewSheets { .. } => Vec::new(),
    }
}

/// All faults in words, in the order of the check.
pub fn faults(open: &OpenJob, checked: &CheckedPlan, unit: LengthUnit) -> Vec<FaultInWords> {
    checked.report().faults.iter().map(|f| fault(open, f, unit)).collect()
}

fn fault(open: &OpenJob, fault: &Fault, unit: LengthUnit) -> FaultInWords {
    let (layout, at) = match fault {
        Fault::Short(m) => (Some(m.layout), Some(m.gap.from.midpoint(m.gap.to))),
        Fault::Turned { layout, .. }
        | Fault::WrongMetal { layout, .. }
        | Fault::NoStart { layout, .. }
        | Fault::Unknown { layout } => (Some(*layout), None),
        Fault::SameCopy { .. } | Fault::TooMany { .. } | Fault::TooFewSheets { .. } => (None, None),
    };
    let copies = copies_in(open, fault);
    let text = fault_words(open.job(), &open.plan, fault, unit);
    FaultInWords { text, layout, copies, at, mends: None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{open, placement, rectangle, sheet_with_hole};
    use oddment_core::check::check;

    #[track_caller]
    fn says(distance_mm: f64, required: f64, unit: LengthUnit, expected: &str) {
        assert_eq!(distance(distance_mm, "the sheet's edge", required, unit), expected);
    }

    #[test]
    fn distances_say_what_they_are_to_and_what_is_needed() {
        says(2.6, 2.1, LengthUnit::Mm, "2.6 to the sheet's edge (needs 2.1)");
        says(-3.0, 2.1, LengthUnit::Mm, "overlaps the sheet's edge by 3.0 (needs 2.1)");
        says(25.4, 12.7, LengthUnit::Inch, "1.000 to the sheet's edge (needs 0.500)");
        says(2.07, 2.13, LengthUnit::Mm, "2.07 to the sheet's edge (needs 2.13)");
    }

    #[test]
    fn faults_name_both_parties_and_the_place() {
        let mut open = open(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 2)]);
        for x in [100.0, 202.0] {
            let slot = open.slots()[0];
            open.lay(slot, placement(0, x, 100.0));
        }
        let checked = check(open.job(), open.plan.clone());
        assert_eq!(Verdict::of(&checked).text(), "not clear: 1 fault");
        let found = faults(&open, &checked, LengthUnit::Mm);
        assert!(found[0].text.contains("plate #1") && found[0].text.contains("plate #2"));
        assert_eq!(found[0].copies.len(), 2);
        let at = found[0].at.unwrap();
        assert!((at.x - 201.0).abs() < 1e-9, "{at:?}");
    }

    #[test]
    fn the_corner_says_what_a_clear_plan_was_checked_against() {
        let says = |basis| Verdict::Clear(basis).text();
        assert_eq!(says(Basis::Recorded), "clear as recorded");
        assert_eq!(says(Basis::SquaredUp), "clear as squared up");
        assert_eq!(says(Basis::Laid), "clear as laid");
        assert!(Verdict::Clear(Basis::Recorded).below().unwrap().contains("not measured"));
        assert!(!Verdict::Clear(Basis::Laid).below().unwrap().contains("not"));
    }
}
