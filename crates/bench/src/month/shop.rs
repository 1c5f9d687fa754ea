//! The shop of the month: its orders, its rack, and what each policy does with them.

use fastrand::Rng;
use oddment_app::compare::fresh_sheet;
use oddment_app::rack::sample_materials;
use oddment_app::sample_shop::{SampleShop, SampleShopFault};
use oddment_core::compare::{Candidate, Comparer, Group, Question, Source, Want, Way};
use oddment_core::job::{Budget, Stop};
use oddment_core::leftover::{Keeping, largest_rectangle};
use oddment_core::part::Part;
use oddment_core::sheet::{EdgeFacts, EdgeKind, Metal, Sheet};
use oddment_files::job_file::CutWishes;
use oddment_files::values::Values;

/// Steps of search for an order: whatever the machine, the same month.
pub(super) const STEPS: u64 = 12_000;
/// Parts of an order.
pub(super) const LEAST: usize = 2;
pub(super) const MOST: usize = 60;
/// Remnants that are tried by eye before a fresh sheet is taken, and steps of search for each.
const TRIED: usize = 6;
const BY_EYE: u64 = 1_000;
/// Give or take (mm) of the edges of what was cut here earlier.
const CUT_EARLIER: f64 = 1.0;

/// How sheets are chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum By {
    /// Fresh sheets, always.
    FreshOnly,
    /// The smallest remnant that takes it all, else fresh ones.
    Eye,
    /// The cheapest way found.
    Compare,
}

impl By {
    pub(super) const ALL: [Self; 3] = [Self::FreshOnly, Self::Eye, Self::Compare];

    pub(super) fn words(self) -> &'static str {
        match self {
            Self::FreshOnly => "fresh only",
            Self::Eye => "smallest by eye",
            Self::Compare => "compare",
        }
    }
}

/// A metal that the shop works in, and its parts.
struct Line {
    metal: Metal,
    keeping: Keeping,
    parts: Vec<Part>,
}

/// Orders without end.
pub(super) struct Stream {
    lines: Vec<Line>,
    seed: u64,
    /// Parts of an order at most.
    most: usize,
}

impl Stream {
    /// The orders of a seed, each of no more parts than this.
    pub(super) fn new(seed: u64, most: usize) -> Result<Self, SampleShopFault> {
        let (shop, materials) = (SampleShop::load()?, sample_materials()?);
        let mut lines: Vec<Line> = Vec::new();
        for part in &shop.parts {
            let material = materials.iter().find(|m| m.name == part.material);
            let Some(material) = material else { continue };
            let metal = Metal {
                material: part.material.clone(),
                thickness: part.thickness,
                density: material.density,
            };
            let part = Part { made_from: None, ..part.part()? };
            match lines.iter_mut().find(|l| l.metal == metal) {
                Some(line) => line.parts.push(part),
                None => {
                    lines.push(Line { metal, keeping: material.keeping(), parts: vec![part] });
                }
            }
        }
        Ok(Self { lines, seed, most })
    }

    /// The order of this number: which metal, and what is wanted of it.
    fn order(&self, number: usize) -> (usize, Vec<Want>) {
        let mut rng = Rng::with_seed(self.seed << 32 ^ number as u64);
        let line = rng.usize(0..self.lines.len());
        let parts = &self.lines[line].parts;
        let count = rng.usize(LEAST..=self.most);
        let kinds = rng.usize(1..=parts.len().min(4)).min(count);
        let mut chosen: Vec<usize> = (0..parts.len()).collect();
        rng.shuffle(&mut chosen);
        let mut wanted: Vec<Want> = chosen[..kinds]
            .iter()
            .map(|p| Want { part: parts[*p].clone(), count: 1, order: 0, due: None })
            .collect();
        for _ in kinds..count {
            let n = rng.usize(0..kinds);
            wanted[n].count += 1;
        }
        (line, wanted)
    }
}

/// What became of a month.
#[derive(Default)]
pub(super) struct Month {
    steps: u64,
    rack: Vec<(usize, Candidate)>,
    made: usize,
    pub(super) fresh: usize,
    pub(super) bought: f64,
    pub(super) scrap: f64,
    slots: f64,
    parts: f64,
    /// Minutes.
    pub(super) by_hand: f64,
    /// Minutes.
    pub(super) machine: f64,
    /// Fresh metal, hands and machine, less what scrap brings.
    pub(super) spent: f64,
    /// What the rack's clear rectangles cost as bought.
    pub(super) worth: f64,
    pub(super) missing: usize,
    /// Sheets in the rack after each order.
    pub(super) racks: Vec<usize>,
}

impl Month {
    /// Cuts so many orders, each with so many steps of search.
    pub(super) fn run(stream: &Stream, by: By, orders: usize, steps: u64) -> Self {
        let mut month = Self { steps, ..Self::default() };
        for number in 0..orders {
            let (line, wanted) = stream.order(number);
            month.cut(&stream.lines[line], line, wanted, by);
            month.racks.push(month.rack.len());
        }
        let clear = |c: &Candidate| {
            let area = |b: &oddment_core::sheet::Body| {
                largest_rectangle(&b.region()).map_or(0.0, |r| r.width() * r.height())
            };
            let area = c.sheet.bodies.iter().map(area).fold(0.0, f64::max);
            c.sheet.made_of.as_ref().map_or(0.0, |m| m.weight(area)) * c.keeping.price
        };
        month.worth = month.rack.iter().map(|(_, c)| clear(c)).sum();
        month
    }

    /// Sheets in the rack.
    pub(super) fn rack(&self) -> usize {
        self.rack.len()
    }

    /// Share of the metal bought that is neither part, scrap, slot nor in the rack.
    pub(super) fn imbalance(&self) -> f64 {
        let rack: f64 = self.rack.iter().map(|(_, c)| c.kg()).sum();
        let found = self.parts + self.scrap + self.slots + rack;
        (self.bought - found).abs() / self.bought.max(1e-9)
    }

    fn cut(&mut self, line: &Line, index: usize, wanted: Vec<Want>, by: By) {
        let values = Values::starting();
        let Some(clearances) = values.clearances(None, line.metal.thickness) else { return };
        let sizes = values.fresh_sizes().iter();
        let fresh: Vec<Candidate> =
            sizes.filter_map(|s| fresh_sheet(*s, &line.metal, line.keeping)).collect();
        let remnants = self.rack.iter().filter(|(of, _)| *of == index).map(|(_, c)| c.clone());
        let mut remnants: Vec<Candidate> = remnants.collect();
        let ask = |candidates: Vec<Candidate>| Question {
            wanted: wanted.clone(),
            candidates,
            clearances,
            starts: values.starts(None, line.metal.thickness),
            cut: values.cutting(&CutWishes::default(), &line.metal),
            policies: *values.policies(),
        };
        let area: f64 = wanted.iter().map(|w| w.part.region.area() * w.count as f64).sum();
        let found = match by {
            By::FreshOnly => best(ask(fresh), self.steps),
            By::Compare => best(ask(remnants.into_iter().chain(fresh).collect()), self.steps),
            By::Eye => {
                remnants.retain(|c| c.sheet.area() > area);
                remnants.sort_by(|a, b| a.sheet.area().total_cmp(&b.sheet.area()));
                let takes_all =
                    |c: Candidate| best(ask(vec![c]), BY_EYE).filter(|(_, way)| way.is_complete());
                let one = remnants.into_iter().take(TRIED).find_map(takes_all);
                one.or_else(|| best(ask(fresh), self.steps))
            }
        };
        match found {
            Some((question, way)) => self.take(index, &question, &way),
            None => self.missing += wanted.iter().map(|w| w.count).sum::<usize>(),
        }
    }

    /// Cuts as a way says: its sheets leave the rack, what is kept of them comes back.
    fn take(&mut self, line: usize, question: &Question, way: &Way) {
        let (by_hand, machine) = way.minutes();
        self.by_hand += by_hand;
        self.machine += machine;
        self.missing += way.missing.iter().sum::<usize>();
        self.spent += way.account.of(Group::Handling) + way.account.of(Group::Cutting);
        for p in way.checked.plan().placements() {
            let area = question.wanted[p.part].part.region.area();
            self.parts +=
                question.candidates[0].sheet.made_of.as_ref().map_or(0.0, |m| m.weight(area));
        }
        for used in &way.sheets {
            let candidate = &question.candidates[used.candidate];
            match candidate.source {
                Source::Remnant => self.rack.retain(|(_, c)| c.sheet.name != candidate.sheet.name),
                _ => {
                    self.fresh += 1;
                    self.bought += candidate.kg();
                    self.spent += candidate.kg() * candidate.keeping.price;
                }
            }
            self.scrap += used.rest.scrap;
            self.spent -= used.rest.scrap * candidate.keeping.scrap;
            self.slots += used.rest.slots;
            for left in &used.rest.kept {
                self.made += 1;
                let facts = EdgeFacts { kind: EdgeKind::OwnCut, give_or_take: CUT_EARLIER };
                let name = format!("R-{:04}", self.made);
                let sheet = Sheet {
                    made_of: candidate.sheet.made_of.clone(),
                    grain: candidate.sheet.grain,
                    ..Sheet::new(name, std::slice::from_ref(&left.metal), facts)
                };
                let back = Candidate {
                    sheet,
                    count: 1,
                    source: Source::Remnant,
                    weight: left.weight,
                    value: None,
                    keeping: candidate.keeping,
                    days: None,
                };
                self.rack.push((line, back));
            }
        }
    }
}

/// The best way for a question found at a glance, with the question.
fn best(question: Question, steps: u64) -> Option<(Question, Way)> {
    let budget = Budget { steps: Some(steps), time_up: &|| false, stop: Stop::default() };
    let mut comparer = Comparer::new(&question, 1).at_a_glance();
    let way = comparer.search(&budget, &mut |_| {}).ways.first().cloned()?;
    Some((question, way))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn metal_is_neither_made_nor_lost_and_every_part_is_cut() {
        let stream = Stream::new(7, 4).unwrap();
        for by in By::ALL {
            let month = Month::run(&stream, by, 3, 60);
            assert!(month.imbalance() < 1e-3, "{}: {}", by.words(), month.imbalance());
            assert_eq!(month.missing, 0, "{}", by.words());
            assert!(month.fresh > 0 && month.spent > 0.0 && month.racks.len() == 3);
        }
    }
}
