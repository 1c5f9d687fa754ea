//! What there is to say of a comparison besides its ways.

use std::time::Instant;

use oddment_core::compare::{Comparison, Question, WayKind, reason};
use oddment_core::fit::{RESOLUTION, Verdict, fit};
use oddment_core::job::{Budget, Stop};
use oddment_files::account_words::{reason_words, way_title};
use oddment_files::words::never_starts_words;

/// Seconds that are spent on proving by how much parts do not fit.
const PROOF: f64 = 2.0;

/// Why the best way goes before the one it is measured against, what follows its title and a colon: before
/// fresh sheets, else the cheapest of another kind, else the next way.
pub fn why(question: &Question, found: &Comparison) -> Option<String> {
    let best = found.best()?;
    let others = || found.ways.iter().filter(|w| w.is_complete() && w.key() != best.key());
    let other_kind = || others().filter(|w| w.kind != best.kind);
    let fresh = other_kind().find(|w| w.kind == WayKind::FreshOnly);
    let other = fresh.or_else(|| other_kind().next()).or_else(|| others().next())?;
    let title = way_title(question, other);
    let is_alike = title == way_title(question, best);
    let against = if is_alike { "the next way" } else { &title };
    Some(reason_words(&reason(question, best, other), against, question.is_priced()))
}

/// A part that no way places.
#[derive(Clone, Debug, PartialEq)]
pub struct NoPlace {
    /// Its name.
    pub part: String,
    /// The largest sheet.
    pub sheet: String,
    /// Whether it is proven that it does not go on that.
    pub proven: bool,
    /// By how much (mm) the distances would have to shrink at the best place found; `None` where it is
    /// too small however the part is turned.
    pub short: Option<f64>,
    /// Why it goes nowhere, where that is because a cut of it can't start.
    pub never_starts: Option<String>,
}

impl NoPlace {
    /// “hull goes on no sheet; on 3000x1500: 12.0 mm short at its best place.”
    pub fn words(&self) -> String {
        if let Some(why) = &self.never_starts {
            return format!("{why}.");
        }
        let short = match self.short {
            Some(mm) => format!("{mm:.1} mm short at its best place"),
            None => "too small however it is turned".to_owned(),
        };
        format!("{} goes on no sheet; on {}: {short}.", self.part, self.sheet)
    }
}

/// The parts of which no way places any, and by how much the largest sheet is too small.
pub fn no_place(question: &Question, found: &Comparison, stop: &Stop) -> Vec<NoPlace> {
    let area = |c: &oddment_core::compare::Candidate| c.sheet.area();
    let largest = question.candidates.iter().max_by(|a, b| area(a).total_cmp(&area(b)));
    let Some(largest) = largest else { return Vec::new() };
    let nowhere = |i: &usize| {
        let wanted = question.wanted[*i].count;
        wanted > 0 && found.ways.iter().all(|w| w.missing[*i] == wanted)
    };
    let began = Instant::now();
    let time_up = || began.elapsed().as_secs_f64() > PROOF;
    let budget = Budget { steps: None, time_up: &time_up, stop: stop.clone() };
    let proof = |i: usize| {
        let part = &question.wanted[i].part;
        let answer = fit(&largest.sheet, part, &question.clearances, RESOLUTION, &budget);
        NoPlace {
            part: part.name.clone(),
            sheet: largest.sheet.name.clone(),
            proven: answer.verdict == Verdict::CannotFit,
            short: answer.shortfall(),
            never_starts: question
                .starts
                .as_ref()
                .and_then(|rule| never_starts_words(part, &question.clearances, rule)),
        }
    };
    (0..question.wanted.len()).filter(nowhere).map(proof).collect()
}
