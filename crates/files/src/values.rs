//! The values a shop works with: those the program starts with, and what was said in place of them –
//! kept by the shop, or tried for one plan.
//!
//! Every value has a key: the names on the way to it in `assets/cut_data.json` (of policies and fresh
//! sizes in `assets/policies.json`), an entry of a list by what tells it from the others, as in
//! `rows/fibre laser/2.5/kerf` or `machines/plasma/bed_x`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use oddment_core::compare::Policies;
use oddment_core::cut_data::{CutTable, Process};
use oddment_core::cutting::CutFacts;
use oddment_core::distances::{Clearances, StartRule};
use oddment_core::machine::{Limits, Machine};
use oddment_core::sheet::Metal;
use serde_json::{Map, Value, json};

use crate::cut_data::{STARTING_CUT_DATA, read_cut_data};
use crate::job_file::CutWishes;
use crate::policies::{STARTING_POLICIES, read_policies, read_sizes};

/// What tells the entries of each list apart.
const LISTS: [(&str, &[&str]); 4] = [
    ("rows", &["process", "up_to"]),
    ("feeds", &["process", "family", "up_to", "gas"]),
    ("processes", &["process"]),
    ("machines", &["name"]),
];
/// Heaviest limit, kg.
const HEAVIEST: f64 = 10_000.0;

/// Key of a value of cut data: what holds for a process up to a thickness.
pub fn row_key(process: Process, up_to: f64, field: &str) -> String {
    format!("rows/{process}/{up_to}/{field}")
}

/// The values that hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Values {
    document: Value,
    table: CutTable,
    limits: Limits,
    policies: Policies,
    fresh_sizes: Vec<[f64; 2]>,
    learnt: Learnt,
}

/// By what factor cuts have taken longer than reckoned so far, by process and material.
pub type Learnt = BTreeMap<(String, String), f64>;

impl Values {
    /// Those the program starts with.
    pub fn starting() -> &'static Self {
        static STARTING: LazyLock<Values> = LazyLock::new(|| {
            // Tests read these very documents.
            let mut document: Value = serde_json::from_str(STARTING_CUT_DATA).unwrap_or_default();
            let more: Value = serde_json::from_str(STARTING_POLICIES).unwrap_or_default();
            for section in ["policies", "fresh"] {
                document[section] = more[section].clone();
            }
            Values::read(document).unwrap_or_else(|_| Values {
                document: Value::Null,
                table: CutTable::default(),
                limits: Limits::STARTING,
                policies: Policies::of(|_| 0.0),
                fresh_sizes: Vec::new(),
                learnt: Learnt::new(),
            })
        });
        &STARTING
    }

    /// These values with what was said in place of some. What can't be is left as it was, and told in
    /// a sentence each.
    pub fn with<'a>(
        &self,
        said: impl IntoIterator<Item = (&'a str, &'a Value)>,
    ) -> (Self, Vec<String>) {
        let mut said: Vec<(&str, &Value)> = said.into_iter().collect();
        // An entry comes before what is said of it.
        said.sort_by_key(|(key, _)| *key);
        if said.is_empty() {
            return (self.clone(), Vec::new());
        }
        let mut document = self.document.clone();
        if said.iter().all(|(key, value)| put(&mut document, key, (*value).clone()))
            && let Ok(values) = Self::read(document)
        {
            return (values.with_learnt(self.learnt.clone()), Vec::new());
        }
        let (mut values, mut problems) = (self.clone(), Vec::new());
        for (key, value) in said {
            match values.with_one(key, value) {
                Ok(with) => values = with,
                Err(why) => problems.push(format!("{key} is left as it was: {why}")),
            }
        }
        (values, problems)
    }

    /// These values with one said otherwise.
    ///
    /// # Errors
    /// A sentence where it can't be so.
    pub fn with_one(&self, key: &str, value: &Value) -> Result<Self, String> {
        let mut document = self.document.clone();
        if !put(&mut document, key, value.clone()) {
            return Err("there is no such value".to_owned());
        }
        Ok(Self::read(document)?.with_learnt(self.learnt.clone()))
    }

    /// These values, with minutes corrected by what was learnt.
    pub fn with_learnt(self, learnt: Learnt) -> Self {
        Self { learnt, ..self }
    }

    fn read(document: Value) -> Result<Self, String> {
        let table = read_cut_data(&document.to_string()).map_err(|why| why.to_string())?;
        let limit = |name: &str, starting: f64| match document["limits"].get(name) {
            None => Ok(starting),
            Some(value) => {
                let kg = value.as_f64().filter(|kg| (0.0..=HEAVIEST).contains(kg));
                kg.ok_or_else(|| format!("{name} is {value}; it must be from 0 to {HEAVIEST} kg"))
            }
        };
        let limits = Limits {
            one_person: limit("one_person_kg", Limits::STARTING.one_person)?,
            two_people: limit("two_people_kg", Limits::STARTING.two_people)?,
        };
        if limits.two_people < limits.one_person {
            return Err("two people lift no less than one".to_owned());
        }
        let usual = &document["usual"]["machine"];
        if !usual.is_null() && usual.as_str().is_none_or(|name| table.machine(Some(name)).is_none())
        {
            return Err(format!("there is no machine {usual}"));
        }
        let policies = read_policies(&document["policies"], limits);
        let policies = policies.map_err(|why| why.to_string())?;
        let sizes = read_sizes(&document["fresh"]["sizes"]).map_err(|why| why.to_string())?;
        Ok(Self { document, table, limits, policies, fresh_sizes: sizes, learnt: Learnt::new() })
    }

    /// Cut data and machines.
    pub fn table(&self) -> &CutTable {
        &self.table
    }

    /// Weights by how they are lifted.
    pub fn limits(&self) -> Limits {
        self.limits
    }

    /// What the shop has decided about handling, rates and leftovers.
    pub fn policies(&self) -> &Policies {
        &self.policies
    }

    /// Sides (mm) of the fresh sheets that can be bought.
    pub fn fresh_sizes(&self) -> &[[f64; 2]] {
        &self.fresh_sizes
    }

    /// A value by its key.
    pub fn get(&self, key: &str) -> Option<&Value> {
        let (section, rest) = key.split_once('/')?;
        let (entry, rest) = find(self.document.get(section)?, section, rest)?;
        rest.split('/').filter(|name| !name.is_empty()).try_fold(entry, |at, name| at.get(name))
    }

    /// A number by its key.
    pub fn number(&self, key: &str) -> Option<f64> {
        self.get(key)?.as_f64()
    }

    /// The machine of this name; without one, or where there is none of it, the shop's usual one.
    pub fn machine(&self, name: Option<&str>) -> Option<&Machine> {
        let usual = self.document["usual"]["machine"].as_str();
        name.and_then(|name| self.table.machine(Some(name)))
            .or_else(|| self.table.machine(usual))
            .or_else(|| self.table.machine(None))
    }

    /// The distances to start a plan with, for metal so thick (mm) on a machine.
    pub fn clearances(&self, machine: Option<&str>, thickness: f64) -> Option<Clearances> {
        self.table.clearances(self.machine(machine)?.process, thickness)
    }

    /// What starts need, for metal so thick (mm) on a machine.
    pub fn starts(&self, machine: Option<&str>, thickness: f64) -> Option<StartRule> {
        self.table.starts(self.machine(machine)?.process, thickness)
    }

    /// What a cut of this metal is worked out with, as a plan wishes it. `None` where no row reaches so
    /// far.
    pub fn cutting(&self, wishes: &CutWishes, metal: &Metal) -> Option<(StartRule, CutFacts)> {
        let machine = self.machine(wishes.machine.as_deref())?;
        let rule = self.table.starts(machine.process, metal.thickness)?;
        let mut facts = self.table.facts_on(machine, metal, wishes.gas.as_deref())?;
        let of = (machine.process.to_string(), metal.material.clone());
        facts.learnt = self.learnt.get(&of).copied();
        Some((rule, facts))
    }
}

/// The entry of a list, or the section itself, that a key means, and the names that are left of it.
fn find<'a, 'k>(at: &'a Value, section: &str, rest: &'k str) -> Option<(&'a Value, &'k str)> {
    match at {
        Value::Array(list) => {
            let (identity, rest) = identity(section, rest)?;
            Some((list.iter().find(|entry| is(entry, &identity))?, rest))
        }
        other => Some((other, rest)),
    }
}

/// What tells an entry of a list apart, taken off the front of a key.
fn identity<'k>(
    section: &str,
    mut rest: &'k str,
) -> Option<(Vec<(&'static str, &'k str)>, &'k str)> {
    let names = LISTS.iter().find(|(name, _)| *name == section)?.1;
    let mut identity = Vec::new();
    for name in names {
        let (is, after) = rest.split_once('/').unwrap_or((rest, ""));
        identity.push((*name, is));
        rest = after;
    }
    Some((identity, rest))
}

fn is(entry: &Value, identity: &[(&str, &str)]) -> bool {
    identity.iter().all(|(name, is)| match &entry[*name] {
        Value::String(text) => text == is,
        number => number.as_f64().is_some_and(|n| is.parse() == Ok(n)),
    })
}

/// Puts a value in its place, or a whole entry into a list; whether there is such a place.
fn put(document: &mut Value, key: &str, value: Value) -> bool {
    let Some((section, rest)) = key.split_once('/') else { return false };
    let Some(at) = document.get_mut(section) else { return false };
    let (mut at, rest) = match at {
        Value::Array(list) => {
            let Some((identity, rest)) = identity(section, rest) else { return false };
            let known = list.iter().position(|entry| is(entry, &identity));
            if rest.is_empty() {
                let Value::Object(mut entry) = value else { return false };
                name_entry(&mut entry, &identity);
                match known {
                    Some(known) => list[known] = Value::Object(entry),
                    None => list.push(Value::Object(entry)),
                }
                return true;
            }
            match known {
                Some(known) => (&mut list[known], rest),
                None => return false,
            }
        }
        other => (other, rest),
    };
    for name in rest.split('/') {
        let Some(next) = at.get_mut(name) else { return false };
        at = next;
    }
    *at = value;
    true
}

fn name_entry(entry: &mut Map<String, Value>, identity: &[(&str, &str)]) {
    for (name, is) in identity {
        let value = match is.parse::<f64>() {
            Ok(number) if *name == "up_to" => json!(number),
            _ => json!(is),
        };
        entry.insert((*name).to_owned(), value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_program_starts_with_holds_until_something_else_is_said() {
        let starting = Values::starting();
        let key = row_key(Process::FibreLaser, 2.5, "kerf");
        assert_eq!(starting.number(&key), Some(0.15));
        assert_eq!(starting.limits(), Limits::STARTING);
        assert_eq!(starting.machine(None).unwrap().process, Process::FibreLaser);
        let said = [
            (key.clone(), json!(0.18)),
            ("rows/plasma/3/edge/mill".into(), json!(12)),
            ("limits/two_people_kg".into(), json!(40)),
            ("usual/machine".into(), json!("plasma")),
        ];
        let (values, problems) = starting.with(said.iter().map(|(k, v)| (k.as_str(), v)));
        assert_eq!(problems, Vec::<String>::new());
        assert_eq!(values.number(&key), Some(0.18));
        let clearances = values.table().clearances(Process::FibreLaser, 1.5).unwrap();
        assert_eq!(clearances.kerf, 0.18);
        assert_eq!(values.clearances(None, 2.0).unwrap().edge.mill, 12.0);
        assert_eq!(values.limits().two_people, 40.0);
        // What was not said is as it was.
        assert_eq!(values.table().clearances(Process::FibreLaser, 6.0).unwrap().kerf, 0.3);
    }

    #[test]
    fn a_machine_of_the_shops_own_comes_first_and_what_is_said_of_it_after() {
        let mut machine = Values::starting().get("machines/plasma").unwrap().clone();
        machine["bed_x"] = json!(2000);
        let (whole, slats) =
            (("machines/Old Bess", machine), ("machines/Old Bess/slat_pitch", json!(60)));
        let said = [(slats.0, &slats.1), (whole.0, &whole.1)];
        let (values, problems) = Values::starting().with(said);
        assert_eq!(problems, Vec::<String>::new());
        let bess = values.machine(Some("Old Bess")).unwrap();
        assert_eq!(
            (bess.process, bess.bed.width, bess.slats.pitch),
            (Process::Plasma, 2000.0, 60.0)
        );
        // Nobody knows another: the usual one is meant.
        assert_eq!(values.machine(Some("none")).unwrap().name, "fibre laser");
    }

    #[test]
    fn what_can_not_be_is_left_as_it_was_and_said() {
        let said = [
            ("rows/plasma/3/kerf", json!(-1)),
            ("rows/plasma/3/colour", json!("blue")),
            ("rows/scissors/3/kerf", json!(1)),
            ("machines/plasma/zero", json!("the middle")),
            ("machines/plasma/tooth_pitch", json!(0)),
            ("usual/machine", json!("scissors")),
            ("limits/one_person_kg", json!(90)),
            ("rows/plasma/3/web", json!(6)),
            ("nowhere", json!(6)),
        ];
        let (values, problems) = Values::starting().with(said.iter().map(|(k, v)| (*k, v)));
        assert_eq!(problems.len(), 8, "{problems:?}");
        assert_eq!(values.table().row(Process::Plasma, 2.0).unwrap().web, 6.0);
        assert_eq!(values.table().row(Process::Plasma, 2.0).unwrap().kerf, 1.2);
        assert!(problems.iter().any(|p| p.contains("kerf is -1")), "{problems:?}");
    }

    #[test]
    fn what_was_learnt_corrects_the_minutes_of_its_metal_and_process_only() {
        let learnt = Learnt::from([(("fibre laser".to_owned(), "S235".to_owned()), 1.3)]);
        let values = Values::starting().clone().with_learnt(learnt);
        let factor = |values: &Values, material: &str, machine: Option<&str>| {
            let wishes = CutWishes { machine: machine.map(str::to_owned), ..CutWishes::default() };
            let metal = Metal { material: material.into(), thickness: 3.0, density: 7850.0 };
            values.cutting(&wishes, &metal).unwrap().1.learnt
        };
        assert_eq!(factor(&values, "S235", None), Some(1.3));
        assert_eq!(factor(&values, "S355", None), None);
        assert_eq!(factor(&values, "S235", Some("plasma")), None);
        let tried = values.with_one("rows/fibre laser/8/kerf", &json!(0.31)).unwrap();
        assert_eq!(factor(&tried, "S235", None), Some(1.3));
    }

    #[test]
    fn a_gas_of_the_shops_own_is_taken_where_it_is_asked_for() {
        let steel = Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 };
        let feed = json!({"feed": 4200, "pierce_s": 0.3});
        let (values, _) = Values::starting().with([("feeds/fibre laser/steel/3/air", &feed)]);
        let gases = values.table().gases(Process::FibreLaser, &steel);
        assert_eq!(gases, ["oxygen", "nitrogen", "air"]);
        let machine = values.machine(None).unwrap();
        let speed = |gas| values.table().facts_on(machine, &steel, gas).unwrap().feed.speed;
        assert_eq!(
            (speed(Some("air")), speed(None), speed(Some("steam"))),
            (70.0, 3800.0 / 60.0, 3800.0 / 60.0)
        );
    }
}
