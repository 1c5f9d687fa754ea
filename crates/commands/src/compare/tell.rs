//! A comparison as people read it.

use oddment_app::compare::NoPlace;
use oddment_core::compare::{Comparison, Question};
use oddment_files::account_words::way_title;

use super::said::ComparisonSaid;
use crate::console::Console;

/// How the comparison stands while it goes on.
pub(super) fn so_far(question: &Question, now: &Comparison) -> String {
    let (looked, of) = now.looked_at;
    let best = match now.best() {
        Some(best) => format!("{:.2}, {}", best.score, way_title(question, best)),
        None => "no way for all parts yet".to_owned(),
    };
    format!("{best}; {looked} of {of} sheets looked at")
}

pub(super) fn tell(
    question: &Question,
    found: &Comparison,
    (said, nowhere): (&ComparisonSaid, &[NoPlace]),
    (currency, orders): (&str, &[String]),
    console: &mut Console<'_>,
) {
    if !question.is_priced() {
        console.say("No price of the material is known: ways are ranked by metal.");
    }
    let unit = if question.is_priced() { currency } else { "kg" };
    for way in &found.ways {
        let of = |s: &oddment_core::compare::ways::SheetUse| &question.candidates[s.candidate];
        let names: Vec<&str> = way.sheets.iter().map(|s| of(s).sheet.name.as_str()).collect();
        let missing: usize = way.missing.iter().sum();
        let missing =
            if missing > 0 { format!(", {missing} parts missing") } else { String::new() };
        console.say(format_args!(
            "{:>9.2} {unit} · {:.0} min · {} · {}{missing}",
            way.score,
            way.account.minutes(),
            way_title(question, way),
            names.join(", "),
        ));
        for (order, name) in orders.iter().enumerate().filter(|_| orders.len() > 1) {
            if let Some((sheet, minutes)) = way.whole_after(question, order) {
                let sheet = sheet + 1;
                console.say(format_args!("{name}: whole after sheet {sheet}, {minutes:.0} min"));
            }
        }
    }
    for none in nowhere {
        console.say(none.words());
    }
    if let (Some(why), Some(best)) = (&said.why, found.best()) {
        console.say(format_args!("The best, {}: {why}.", way_title(question, best)));
    }
    if let Some(gap) = found.gap() {
        let (bound, gap) = (found.bound, 100.0 * gap);
        console.say(format_args!(
            "Proven: no way costs less than {bound:.2} {unit}; the best could be {gap:.0} % too dear at most."
        ));
    }
}
