//! Ways of cutting and their costs in words.

use oddment_core::compare::account::Factor;
use oddment_core::compare::policies::PolicyUnit;
use oddment_core::compare::{
    Group, Item, ItemKind, Policy, Quantity, Question, Reason, Source, Way,
};

/// What a way is called, by the sheets that it takes: “one remnant and a fresh sheet”. A full sheet is one in
/// stock, a fresh one has to be bought.
pub fn way_title(question: &Question, way: &Way) -> String {
    let sheets = |source: Source, one: &str, many: &str| match way.sheets_of(question, source) {
        0 => None,
        1 => Some(one.to_owned()),
        n => Some(format!("{n} {many}")),
    };
    let sheets = [
        sheets(Source::Remnant, "one remnant", "remnants"),
        sheets(Source::InStock, "a full sheet", "full sheets"),
        sheets(Source::ToBuy, "a fresh sheet", "fresh sheets"),
    ];
    sheets.into_iter().flatten().collect::<Vec<_>>().join(" and ")
}

/// What items of an account are shown together under.
pub fn group_words(group: Group) -> &'static str {
    match group {
        Group::Metal => "metal",
        Group::Handling => "handling",
        Group::Cutting => "cutting",
        Group::GoesBack => "goes back",
    }
}

/// What an item of an account is for.
pub fn item_words(kind: ItemKind) -> &'static str {
    match kind {
        ItemKind::Metal => "metal",
        ItemKind::Scrap => "scrap sold",
        ItemKind::Pull => "pull the sheet",
        ItemKind::AgainstStops => "push against the stops",
        ItemKind::SquareUp => "square up",
        ItemKind::Tabs => "dress tabs",
        ItemKind::Return => "label and bring back",
        ItemKind::Skeleton => "clear the skeleton away",
        ItemKind::SetUp => "set up",
        ItemKind::Cut => "cut",
        ItemKind::Pierces => "pierces",
        ItemKind::Credit | ItemKind::CreditCapped => "goes back to the rack",
    }
}

/// How an item came about: “4 min × 1 person × 40.00 an hour”.
pub fn formula_words(item: &Item) -> String {
    let term = |term: &Vec<Factor>| term.iter().map(factor_words).collect::<Vec<_>>().join(" × ");
    let sum = item.terms.iter().map(term).collect::<Vec<_>>().join(" + ");
    match item.kind {
        ItemKind::CreditCapped => format!("at most {sum}"),
        _ => sum,
    }
}

/// What a figure is and who says it: “40.00 an hour: one person, by the shop’s policies”.
pub fn figure_words(factor: &Factor) -> String {
    let what = match factor.what {
        Quantity::Policy(policy) => match policy_words(policy).1 {
            "" => format!("{}, a policy of the shop", policy_words(policy).0),
            help => format!("{} ({help}), a policy of the shop", policy_words(policy).0),
        },
        Quantity::MachinePerHour => "the machine with gas and consumables, by the cut data".into(),
        Quantity::PerPierce => "what a pierce wears, by the cut data".into(),
        Quantity::PricePerKg => "price of the material".into(),
        Quantity::ScrapPerKg => "what scrap of the material brings".into(),
        Quantity::Recorded => "worth of the sheet, as the rack has it".into(),
        Quantity::Charged => "the sheet’s metal, above".into(),
        Quantity::SheetKg => "weight, from its area, thickness and density".into(),
        Quantity::ClearKg => "what lies in the largest clear rectangle counts in full".into(),
        Quantity::RestKg => "what lies beside it counts as scrap".into(),
        Quantity::ScrapKg => "what is left and not kept, by the material’s keep rule".into(),
        Quantity::CutMinutes => "time of the cut, worked out from its path".into(),
        Quantity::People => "by weight and length of the sheet".into(),
        Quantity::Pierces => "counted in the cut".into(),
        Quantity::Tabs => "counted in the cut".into(),
    };
    format!("{}: {what}", factor_words(factor))
}

/// What a policy is called, and what it means.
pub fn policy_words(policy: Policy) -> (&'static str, &'static str) {
    match policy {
        Policy::Labour => ("an hour by hand", "what an hour of one person costs"),
        Policy::PullByOne => ("pull, one person", "to fetch a sheet that one person carries"),
        Policy::PullByTwo => ("pull, two people", "to fetch a sheet that takes two"),
        Policy::PullByLifter => ("pull, lifter", "to fetch a sheet that takes a lifter"),
        Policy::OneCarries => ("one person", "lifts up to"),
        Policy::TwoCarry => ("two people", "lift up to; more takes a lifter"),
        Policy::OneReaches => ("one person reaches", "longer sheets take two"),
        Policy::AgainstStops => ("against the stops", "to push a fresh sheet there"),
        Policy::SquareUp => ("square up", "to find how a remnant lies"),
        Policy::SetUp => ("set up", "the machine, for each sheet"),
        Policy::Return => ("bring back", "to label a leftover and put it in the rack"),
        Policy::ReturnBar => ("bring a bar back", "to label what is left of a bar and put it back"),
        Policy::TabCleanUp => ("dress a tab", "what one tab leaves"),
        Policy::Skeleton => ("clear a skeleton", "away, where nothing of a sheet is kept"),
        Policy::CreditShare => (
            "credit for leftovers",
            "at most this much of what pulling them again is charged, so that waste is never free",
        ),
    }
}

fn factor_words(factor: &Factor) -> String {
    let v = factor.value;
    match factor.what {
        Quantity::Policy(policy) => match policy.unit() {
            PolicyUnit::MoneyPerHour => format!("{v:.2} an hour"),
            PolicyUnit::Minutes if policy == Policy::TabCleanUp => format!("{v} min each"),
            PolicyUnit::Minutes => format!("{v} min"),
            PolicyUnit::Kilograms => format!("{v} kg"),
            PolicyUnit::Millimetres => format!("{v} mm"),
            PolicyUnit::Share => format!("{:.0} %", 100.0 * v),
        },
        Quantity::MachinePerHour => format!("{v:.2} an hour of the machine"),
        Quantity::PerPierce => format!("{v} a pierce"),
        Quantity::PricePerKg => format!("{v:.2} a kg"),
        Quantity::ScrapPerKg => format!("{v:.2} a kg as scrap"),
        Quantity::Recorded => format!("{v:.2} as recorded in the rack"),
        Quantity::Charged => format!("{v:.2} that the sheet was charged"),
        Quantity::SheetKg => format!("{v:.2} kg"),
        Quantity::ClearKg => format!("{v:.2} kg in its largest clear rectangle"),
        Quantity::RestKg => format!("{v:.2} kg beside it"),
        Quantity::ScrapKg => format!("{v:.2} kg"),
        Quantity::CutMinutes => format!("{v:.1} min"),
        Quantity::People if v == 1.0 => "1 person".to_owned(),
        Quantity::People => format!("{v} people"),
        Quantity::Pierces => format!("{v} pierces"),
        Quantity::Tabs => format!("{v} tabs"),
    }
}

/// Why a way goes before another, which is named: “saves 38.20 against a fresh sheet; costs 6 minutes
/// more by hand; uses up 2 remnants, 2 of them older than a year; …”. What ways are ranked by is money,
/// or kilograms where prices are missing.
pub fn reason_words(reason: &Reason, against: &str, priced: bool) -> String {
    let unit = if priced { "" } else { " kg of metal" };
    let mut words = vec![format!("saves {:.2}{unit} against {against}", reason.saves)];
    let mut minutes = |more: f64, whose: &str| {
        if more.abs() >= 0.5 {
            let (verb, how) = if more > 0.0 { ("costs", "more") } else { ("takes", "less") };
            words.push(format!("{verb} {:.0} min {how} {whose}", more.abs()));
        }
    };
    minutes(reason.by_hand, "by hand");
    minutes(reason.at_machine, "at the machine");
    match (reason.uses_up, reason.old) {
        (0, _) => {}
        (1, 0) => words.push("uses up a remnant".to_owned()),
        (1, _) => words.push("uses up a remnant older than a year".to_owned()),
        (n, 0) => words.push(format!("uses up {n} remnants")),
        (n, old) => words.push(format!("uses up {n} remnants, {old} older than a year")),
    }
    if let Some(minutes) = reason.break_even {
        words.push(format!("the other wins if pulling a remnant takes over {minutes:.0} min"));
    }
    words.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reasons_are_said_in_a_sentence() {
        let reason = Reason {
            saves: 38.2,
            by_hand: 6.0,
            at_machine: 0.1,
            uses_up: 2,
            old: 2,
            break_even: Some(14.2),
        };
        assert_eq!(
            reason_words(&reason, "2 fresh sheets", true),
            "saves 38.20 against 2 fresh sheets; costs 6 min more by hand; uses up 2 remnants, 2 \
             older than a year; the other wins if pulling a remnant takes over 14 min"
        );
    }

    #[test]
    fn a_number_says_how_it_came_about() {
        let factor = |what, value| Factor { what, value };
        let labour = factor(Quantity::Policy(Policy::Labour), 40.0);
        let pull = factor(Quantity::Policy(Policy::PullByTwo), 6.0);
        let terms = vec![vec![pull, factor(Quantity::People, 2.0), labour]];
        let item = Item { kind: ItemKind::Pull, sheet: 0, terms, minutes: 6.0 };
        assert_eq!(formula_words(&item), "6 min × 2 people × 40.00 an hour");
        assert!((item.amount() - 8.0).abs() < 1e-12);
    }
}
