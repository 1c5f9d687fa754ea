//! A comparison as it is printed for programs.

use oddment_app::compare::NoPlace;
use oddment_core::compare::{Comparison, Group, Question, Source, Way, WayKind};
use oddment_files::account_words::{formula_words, item_words};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct ComparisonSaid {
    pub(super) currency: String,
    ranked_by: &'static str,
    ways: Vec<WaySaid>,
    pub(super) why: Option<String>,
    bound: f64,
    gap: Option<f64>,
    pub(super) no_place: Vec<NoPlaceSaid>,
    pub(super) held: Vec<String>,
    looked_at: usize,
    candidates: usize,
    settled: bool,
    pub(super) seconds: f64,
    steps: u64,
}

/// A part that no way places.
#[derive(Serialize)]
pub(super) struct NoPlaceSaid {
    part: String,
    sheet: String,
    proven: bool,
    short_mm: Option<f64>,
}

impl NoPlaceSaid {
    pub(super) fn of(none: &NoPlace) -> Self {
        let (part, sheet) = (none.part.clone(), none.sheet.clone());
        Self { part, sheet, proven: none.proven, short_mm: none.short }
    }
}

#[derive(Serialize)]
struct WaySaid {
    kind: &'static str,
    complete: bool,
    placed: usize,
    missing: Vec<MissingSaid>,
    total: Option<f64>,
    #[serde(rename = "yield")]
    of_metal: f64,
    metal_kg: MetalSaid,
    money: MoneySaid,
    minutes: MinutesSaid,
    sheets: Vec<SheetSaid>,
    orders: Vec<OrderSaid>,
    account: Vec<ItemSaid>,
}

#[derive(Serialize)]
struct OrderSaid {
    order: String,
    whole_after_sheet: Option<usize>,
    whole_after_min: Option<f64>,
}

#[derive(Serialize)]
struct MissingSaid {
    part: String,
    count: usize,
}

#[derive(Serialize)]
struct MetalSaid {
    pulled: f64,
    back: f64,
    scrap: f64,
    ranked: Option<f64>,
}

#[derive(Serialize)]
struct MoneySaid {
    metal: f64,
    handling: f64,
    cutting: f64,
    goes_back: f64,
}

#[derive(Serialize)]
struct MinutesSaid {
    by_hand: f64,
    machine: f64,
}

#[derive(Serialize)]
struct SheetSaid {
    sheet: String,
    source: &'static str,
    parts: usize,
    #[serde(rename = "yield")]
    used: f64,
    back_kg: Vec<f64>,
    scrap_kg: f64,
}

#[derive(Serialize)]
struct ItemSaid {
    sheet: usize,
    item: &'static str,
    formula: String,
    amount: f64,
    minutes: f64,
}

impl ComparisonSaid {
    /// What was found; what else there is to say is added by whoever knows it.
    pub(super) fn new(question: &Question, found: &Comparison, orders: &[String]) -> Self {
        Self {
            currency: String::new(),
            ranked_by: if question.is_priced() { "money" } else { "metal" },
            ways: found.ways.iter().map(|w| way(question, w, orders)).collect(),
            why: None,
            bound: found.bound,
            gap: found.gap(),
            no_place: Vec::new(),
            held: Vec::new(),
            looked_at: found.looked_at.0,
            candidates: found.looked_at.1,
            settled: found.settled,
            seconds: 0.0,
            steps: found.steps,
        }
    }
}

fn way(question: &Question, way: &Way, orders: &[String]) -> WaySaid {
    let metal = way.metal(question);
    let (by_hand, machine) = way.minutes();
    let missing = question.wanted.iter().zip(&way.missing).filter(|(_, n)| **n > 0);
    let sheets = way.sheets.iter().zip(&way.checked.plan().layouts).map(|(s, layout)| SheetSaid {
        sheet: question.candidates[s.candidate].sheet.name.clone(),
        source: match question.candidates[s.candidate].source {
            Source::Remnant => "remnant",
            Source::InStock => "in_stock",
            Source::ToBuy => "to_buy",
        },
        parts: layout.placements.len(),
        used: s.used,
        back_kg: s.rest.kept.iter().map(|l| l.weight).collect(),
        scrap_kg: s.rest.scrap,
    });
    let orders = orders.iter().enumerate().map(|(order, name)| {
        let whole = way.whole_after(question, order);
        OrderSaid {
            order: name.clone(),
            whole_after_sheet: whole.map(|w| w.0),
            whole_after_min: whole.map(|w| w.1),
        }
    });
    let items = way.account.items.iter().map(|item| ItemSaid {
        sheet: item.sheet,
        item: item_words(item.kind),
        formula: formula_words(item),
        amount: item.amount(),
        minutes: item.minutes,
    });
    WaySaid {
        kind: match way.kind {
            WayKind::OneRemnant => "one_remnant",
            WayKind::RemnantsOnly => "remnants_only",
            WayKind::RemnantsFirst => "remnants_first",
            WayKind::FreshOnly => "fresh_only",
            WayKind::Mix => "mix",
        },
        complete: way.is_complete(),
        placed: way.placed(),
        missing: missing
            .map(|(w, n)| MissingSaid { part: w.part.name.clone(), count: *n })
            .collect(),
        total: question.is_priced().then(|| way.account.total()),
        of_metal: way.metal_yield(question),
        metal_kg: MetalSaid {
            pulled: metal.pulled,
            back: metal.back,
            scrap: metal.scrap,
            ranked: (!question.is_priced()).then_some(way.score),
        },
        money: MoneySaid {
            metal: way.account.of(Group::Metal),
            handling: way.account.of(Group::Handling),
            cutting: way.account.of(Group::Cutting),
            goes_back: way.account.of(Group::GoesBack),
        },
        minutes: MinutesSaid { by_hand, machine },
        sheets: sheets.collect(),
        orders: orders.collect(),
        account: items.collect(),
    }
}
