//! The cost account: what a cut costs, item by item, each with the figures that it came about from.

use super::policies::{Policies, Policy, PolicyUnit};
use super::question::{Candidate, Source};
use crate::cutting::{Cut, CutFacts};
use crate::job::Stop;
use crate::leftover::{CRUMB, largest_rectangle, take_part};
use crate::plan::{Job, Layout};
use crate::shape::{Bounds, Region, SheetSpace};
use crate::sheet::Sheet;

/// What a figure of an item is, and so where it came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// The shop's policy; what is counted per hour meets minutes.
    Policy(Policy),
    /// Money for an hour of the machine, from the cut data.
    MachinePerHour,
    /// Money for a pierce, from the cut data.
    PerPierce,
    /// Money for a kilogram of the material.
    PricePerKg,
    /// Money for a kilogram of the material's scrap.
    ScrapPerKg,
    /// What the sheet is worth, as recorded in the rack.
    Recorded,
    /// What the sheet was charged.
    Charged,
    /// Kilograms of the whole sheet.
    SheetKg,
    /// Kilograms inside the largest clear rectangle.
    ClearKg,
    /// Kilograms beside the largest clear rectangle.
    RestKg,
    /// Kilograms that go to scrap.
    ScrapKg,
    /// Minutes of the cut.
    CutMinutes,
    /// People at it.
    People,
    /// Pierces.
    Pierces,
    /// Tabs.
    Tabs,
}

/// One figure of an item.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// What it is.
    pub what: Quantity,
    /// The figure as people say it: rates for an hour, minutes, kilograms, shares from 0 to 1.
    pub value: f64,
}

impl Factor {
    /// What it multiplies by: times are minutes, so that what is counted per hour is a sixtieth.
    fn multiplies(&self) -> f64 {
        let per_hour = match self.what {
            Quantity::MachinePerHour => true,
            Quantity::Policy(policy) => policy.unit() == PolicyUnit::MoneyPerHour,
            _ => false,
        };
        if per_hour { self.value / 60.0 } else { self.value }
    }
}

/// What an item is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ItemKind {
    /// The sheet's metal: what lies inside its largest clear rectangle at its price, the rest as
    /// scrap; or what the rack says that it is worth.
    Metal,
    /// What the scrap brings.
    Scrap,
    /// Pulling the sheet.
    Pull,
    /// Pushing a fresh sheet against the stops.
    AgainstStops,
    /// Squaring up a remnant.
    SquareUp,
    /// Dressing what tabs leave.
    Tabs,
    /// Labelling a leftover and bringing it back.
    Return,
    /// Clearing away what is left of a sheet of which nothing is kept.
    Skeleton,
    /// Setting the machine up.
    SetUp,
    /// Machine time, with gas, consumables and whoever stands by.
    Cut,
    /// Pierces.
    Pierces,
    /// What a leftover that goes back is credited with: a share of what pulling it again would be
    /// charged.
    Credit,
    /// The same for all leftovers of a sheet, where they would be credited with more than that
    /// share of what the sheet itself was charged.
    CreditCapped,
}

/// Items that are shown together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Metal, less what its scrap brings.
    Metal,
    /// Work by hand.
    Handling,
    /// The machine.
    Cutting,
    /// What goes back to the rack.
    GoesBack,
}

impl Group {
    /// All of them, in the order that people meet them.
    pub const ALL: [Self; 4] = [Self::Metal, Self::Handling, Self::Cutting, Self::GoesBack];
}

impl ItemKind {
    /// What it is shown with.
    pub fn group(self) -> Group {
        match self {
            Self::Metal | Self::Scrap => Group::Metal,
            Self::SetUp | Self::Cut | Self::Pierces => Group::Cutting,
            Self::Credit | Self::CreditCapped => Group::GoesBack,
            _ => Group::Handling,
        }
    }

    /// Whether it lowers the total.
    pub fn is_credit(self) -> bool {
        matches!(self, Self::Scrap | Self::Credit | Self::CreditCapped)
    }
}

/// One line of the account: the sum of products of its figures.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// What it is for.
    pub kind: ItemKind,
    /// Which sheet of the way it belongs to.
    pub sheet: usize,
    /// Products to be added up.
    pub terms: Vec<Vec<Factor>>,
    /// Minutes by the clock.
    pub minutes: f64,
}

impl Item {
    /// Money; credits are negative.
    pub fn amount(&self) -> f64 {
        let product = |term: &Vec<Factor>| term.iter().map(Factor::multiplies).product::<f64>();
        let sum: f64 = self.terms.iter().map(product).sum();
        if self.kind.is_credit() { -sum } else { sum }
    }
}

/// All items of a cut.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Account {
    /// Sheet by sheet.
    pub items: Vec<Item>,
}

impl Account {
    /// Money.
    pub fn total(&self) -> f64 {
        self.items.iter().map(Item::amount).sum()
    }

    /// Money of a group.
    pub fn of(&self, group: Group) -> f64 {
        // An empty sum is −0.
        self.items.iter().filter(|i| i.kind.group() == group).map(Item::amount).sum::<f64>() + 0.0
    }

    /// Minutes by the clock of a group.
    pub fn minutes_of(&self, group: Group) -> f64 {
        self.items.iter().filter(|i| i.kind.group() == group).map(|i| i.minutes).sum::<f64>() + 0.0
    }

    /// Minutes by the clock.
    pub fn minutes(&self) -> f64 {
        self.items.iter().map(|i| i.minutes).sum::<f64>() + 0.0
    }
}

/// A piece of metal that goes back to the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct Leftover {
    /// Its metal, where it lay on the sheet.
    pub metal: Region<SheetSpace>,
    /// Its weight, kg.
    pub weight: f64,
    /// The largest clear rectangle in it.
    pub clear: Bounds<SheetSpace>,
}

/// What becomes of a sheet's metal besides its parts, kg.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rest {
    /// What goes back to the rack.
    pub kept: Vec<Leftover>,
    /// What goes to scrap.
    pub scrap: f64,
    /// What the slots take.
    pub slots: f64,
}

impl Rest {
    /// What a cut leaves of a sheet; where the shapes are too tangled to tell, all of it counts as
    /// scrap. `None` where it was asked to stop.
    pub(super) fn of(
        job: &Job,
        layout: &Layout,
        candidate: &Candidate,
        stop: &Stop,
    ) -> Option<Self> {
        let sheet = &job.stock[layout.stock].sheet;
        let Some(made_of) = &sheet.made_of else { return Some(Self::default()) };
        let metal: Vec<Region<SheetSpace>> = sheet.bodies.iter().map(|b| b.region()).collect();
        // Larger parts first: others may lie in their holes.
        let mut parts: Vec<Region<SheetSpace>> = layout
            .placements
            .iter()
            .map(|p| job.wanted[p.part].part.region.placed(&p.pose))
            .collect();
        parts.sort_by(|a, b| b.outer().area().total_cmp(&a.outer().area()));
        let of_parts: f64 = parts.iter().map(Region::area).sum();
        let whole = made_of.weight(sheet.area() - of_parts);
        let left = parts.iter().try_fold(metal, |metal, part| {
            take_part(&metal, part, job.clearances.kerf).filter(|_| !stop.raised())
        });
        if stop.raised() {
            return None;
        }
        let Some(left) = left else {
            return Some(Self { scrap: whole.max(0.0), ..Self::default() });
        };
        let weight: f64 = left.iter().map(|piece| made_of.weight(piece.area())).sum();
        let (kept, gone): (Vec<_>, Vec<_>) =
            left.into_iter().partition(|piece| candidate.keeping.keeps(piece, made_of));
        let kept = kept.into_iter().filter_map(|metal| {
            let clear = largest_rectangle(&metal)?;
            Some(Leftover { weight: made_of.weight(metal.area()), clear, metal })
        });
        Some(Self {
            kept: kept.collect(),
            scrap: gone.iter().map(|piece| made_of.weight(piece.area())).sum::<f64>() + 0.0,
            slots: (whole - weight).max(0.0),
        })
    }
}

/// What the metal of a sheet or a leftover is worth: what lies in its largest clear rectangle at its
/// price, the rest as scrap.
fn worth(weight: f64, clear_kg: f64, candidate: &Candidate) -> Vec<Vec<Factor>> {
    let factor = |what, value| Factor { what, value };
    let price = factor(Quantity::PricePerKg, candidate.keeping.price);
    let rest = weight - clear_kg;
    if rest <= 1e-9 * weight {
        return vec![vec![factor(Quantity::SheetKg, weight), price]];
    }
    let scrap = factor(Quantity::ScrapPerKg, candidate.keeping.scrap);
    vec![
        vec![factor(Quantity::ClearKg, clear_kg), price],
        vec![factor(Quantity::RestKg, rest), scrap],
    ]
}

/// What a sheet is charged when it is pulled; nothing where its metal has no price.
pub(super) fn charge(candidate: &Candidate) -> Option<Item> {
    let terms = match candidate.value {
        Some(value) => vec![vec![Factor { what: Quantity::Recorded, value }]],
        None if candidate.keeping.price > 0.0 => {
            worth(candidate.kg(), clear_kg(&candidate.sheet), candidate)
        }
        None => return None,
    };
    Some(Item { kind: ItemKind::Metal, sheet: 0, terms, minutes: 0.0 })
}

/// Weight (kg) inside the largest clear rectangle of a sheet's metal.
fn clear_kg(sheet: &Sheet) -> f64 {
    let Some(made_of) = &sheet.made_of else { return 0.0 };
    let largest = |b: &crate::sheet::Body| largest_rectangle(&b.region());
    let area = |found: Bounds<SheetSpace>| found.width() * found.height();
    made_of.weight(sheet.bodies.iter().filter_map(largest).map(area).fold(0.0, f64::max))
}

/// By which policy stock of a weight (kg) is pulled that is too long for one person or not, and by how
/// many people.
pub fn pulled(weight: f64, long: bool, policies: &Policies) -> (Policy, f64) {
    if weight > policies.get(Policy::TwoCarry) {
        (Policy::PullByLifter, 1.0)
    } else if weight > policies.get(Policy::OneCarries) || long {
        (Policy::PullByTwo, 2.0)
    } else {
        (Policy::PullByOne, 1.0)
    }
}

/// What pulling a sheet and laying it on the bed takes, whatever is cut from it.
pub(super) fn handling(candidate: &Candidate, policies: &Policies) -> [Item; 2] {
    let policy = |policy| Factor { what: Quantity::Policy(policy), value: policies.get(policy) };
    let bounds = candidate.sheet.bounds();
    let long = bounds.width().max(bounds.height()) > policies.get(Policy::OneReaches);
    let (pull, people) = pulled(candidate.weight, long, policies);
    let (kind, lay) = match candidate.source {
        Source::Remnant => (ItemKind::SquareUp, Policy::SquareUp),
        _ => (ItemKind::AgainstStops, Policy::AgainstStops),
    };
    let people = Factor { what: Quantity::People, value: people };
    [
        Item {
            kind: ItemKind::Pull,
            sheet: 0,
            terms: vec![vec![policy(pull), people, policy(Policy::Labour)]],
            minutes: policies.get(pull),
        },
        Item {
            kind,
            sheet: 0,
            terms: vec![vec![policy(lay), policy(Policy::Labour)]],
            minutes: policies.get(lay),
        },
    ]
}

/// Setting the machine up for a sheet.
pub(super) fn set_up(policies: &Policies, facts: &CutFacts) -> Item {
    let minutes = policies.get(Policy::SetUp);
    let terms = vec![vec![
        Factor { what: Quantity::Policy(Policy::SetUp), value: minutes },
        Factor { what: Quantity::MachinePerHour, value: facts.feed.per_hour },
    ]];
    Item { kind: ItemKind::SetUp, sheet: 0, terms, minutes }
}

/// The account of one sheet's cut.
pub(super) fn account(
    candidate: &Candidate,
    policies: &Policies,
    rest: &Rest,
    charged: Option<&Item>,
    cut: Option<(&Cut, &CutFacts)>,
) -> Account {
    let factor = |what, value| Factor { what, value };
    let policy = |policy| Factor { what: Quantity::Policy(policy), value: policies.get(policy) };
    let by_hand = |kind, minutes: Policy, count: Option<Factor>| Item {
        kind,
        sheet: 0,
        terms: vec![count.into_iter().chain([policy(minutes), policy(Policy::Labour)]).collect()],
        minutes: policies.get(minutes) * count.map_or(1.0, |c| c.value),
    };
    let mut items: Vec<Item> = charged.into_iter().cloned().collect();
    let priced = charged.is_some();
    if priced && rest.scrap > 0.0 && candidate.keeping.scrap > 0.0 {
        let terms = vec![vec![
            factor(Quantity::ScrapKg, rest.scrap),
            factor(Quantity::ScrapPerKg, candidate.keeping.scrap),
        ]];
        items.push(Item { kind: ItemKind::Scrap, sheet: 0, terms, minutes: 0.0 });
    }
    items.extend(handling(candidate, policies));
    if let Some((cut, facts)) = cut {
        let minutes = cut.likely_seconds / 60.0;
        let tabs: usize = cut.passes.iter().map(|p| p.tabs.len()).sum();
        if tabs > 0 {
            let count = factor(Quantity::Tabs, tabs as f64);
            items.push(by_hand(ItemKind::Tabs, Policy::TabCleanUp, Some(count)));
        }
        items.push(set_up(policies, facts));
        let rate = factor(Quantity::MachinePerHour, facts.feed.per_hour);
        let terms = vec![vec![factor(Quantity::CutMinutes, minutes), rate]];
        items.push(Item { kind: ItemKind::Cut, sheet: 0, terms, minutes });
        let terms = vec![vec![
            factor(Quantity::Pierces, cut.pierces as f64),
            factor(Quantity::PerPierce, facts.feed.per_pierce),
        ]];
        items.push(Item { kind: ItemKind::Pierces, sheet: 0, terms, minutes: 0.0 });
    }
    let returns = rest.kept.iter().map(|_| by_hand(ItemKind::Return, Policy::Return, None));
    items.extend(returns);
    let made_of = candidate.sheet.made_of.as_ref();
    let crumb = made_of.map_or(0.0, |m| m.weight(CRUMB));
    if rest.kept.is_empty() && rest.scrap > crumb {
        items.push(by_hand(ItemKind::Skeleton, Policy::Skeleton, None));
    }
    if let Some(charged) = charged {
        items.extend(credits(candidate, policy(Policy::CreditShare), rest, charged.amount()));
    }
    Account { items }
}

/// What the leftovers are credited with: each with a share of what pulling it again would be charged,
/// and all of them with no more than that share of what the sheet was charged.
fn credits(candidate: &Candidate, share: Factor, rest: &Rest, charged: f64) -> Vec<Item> {
    let item = |kind, terms| Item { kind, sheet: 0, terms, minutes: 0.0 };
    let credit = |left: &Leftover| {
        let made_of = candidate.sheet.made_of.as_ref();
        let clear = left.clear.width() * left.clear.height();
        let clear_kg = made_of.map_or(0.0, |m| m.weight(clear));
        let terms = worth(left.weight, clear_kg, candidate);
        let shared = terms.into_iter().map(|mut term| {
            term.insert(0, share);
            term
        });
        item(ItemKind::Credit, shared.collect())
    };
    let each: Vec<Item> = rest.kept.iter().map(credit).collect();
    let sum: f64 = -each.iter().map(Item::amount).sum::<f64>();
    if sum <= share.value * charged {
        return each;
    }
    let charged = Factor { what: Quantity::Charged, value: charged };
    vec![item(ItemKind::CreditCapped, vec![vec![share, charged]])]
}
