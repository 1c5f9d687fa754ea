//! Plans for bars as JSON, `oddment-bar-plan`, version 1, with the cut list that they are for:
//!
//! ```json
//! {"format": "oddment-bar-plan", "version": 1, "units": "mm", "title", "list": {…},
//!  "bars": [{"stock", "pieces": [{"part", "at", "reversed", "turned_over"}]}],
//!  "missing": [count of each part], "cost", "lower_bound", "proven", "steps"}
//! ```
//!
//! `list` is a cut list as crates/commands/BARS.md describes it; entries are counted from 0. A plan
//! that was not made yet has no bars, and everything is missing.

use oddment_core::bars::{
    BarPlan, CutBar, CutList, Face, Hole, Leftovers, Machine, Piece, Stock, Wanted,
};
use serde_json::{Value, json};

use super::list_json::{Beside, cut_list_at};
use super::profiles::{kind_and_measures, measures_of};
use crate::json::{Faults, JobFault, Node, document};

const FORMAT: &str = "oddment-bar-plan";
/// No number in a plan means anything beyond this.
const ANY: std::ops::RangeInclusive<f64> = -1e12..=1e12;
const MOST: usize = 1_000_000;

/// A plan with the list that it is for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadBarPlan {
    /// What the order is called; may be empty.
    pub title: String,
    /// The list.
    pub list: CutList,
    /// The plan, not checked.
    pub plan: BarPlan,
}

/// A plan as text.
pub fn write_bar_plan(title: &str, list: &CutList, plan: &BarPlan) -> String {
    let piece = |piece: &Piece| {
        json!({"part": piece.part, "at": piece.at, "reversed": piece.reversed,
               "turned_over": piece.turned_over})
    };
    let bar = |bar: &CutBar| json!({"stock": bar.stock, "pieces": each(&bar.pieces, piece)});
    let document = json!({
        "format": FORMAT, "version": 1, "units": "mm", "title": text(title),
        "list": list_value(list),
        "bars": each(&plan.bars, bar),
        "missing": plan.missing, "cost": plan.cost, "lower_bound": plan.lower_bound,
        "proven": plan.proven, "steps": plan.steps,
    });
    format!("{document:#}\n")
}

/// A cut list that reads back as the same.
pub fn write_cut_list(list: &CutList) -> String {
    format!("{:#}\n", list_value(list))
}

fn list_value(list: &CutList) -> Value {
    let stock = |bar: &Stock| {
        json!({"length": bar.length, "count": bar.count, "cost": bar.cost,
               "name": text(&bar.name), "heat": text(&bar.heat), "place": text(&bar.place),
               "give_or_take": bar.give_or_take, "handling": bar.handling,
               "cut_before": bar.cut_before, "end": degrees(bar.end)})
    };
    let hole = |hole: &Hole| json!({"at": hole.at, "size": hole.size, "face": text(&hole.face), "cope": hole.cope});
    let part = |part: &Wanted| {
        json!({"name": text(&part.name), "length": part.length, "count": part.count,
               "ends": part.ends.map(degrees), "ends_turn": degrees(part.ends_turn),
               "holes": each(&part.holes, hole), "priority": part.priority})
    };
    let Machine { trim, tool_to_grip, shortest_load, longest_load, keep_from, .. } = list.machine;
    let mut value = json!({
        "kerf": list.kerf, "grips": list.grips, "material": text(&list.material),
        "fixed_turn": list.fixed_turn,
        "machine": {"trim": trim, "tool_to_grip": tool_to_grip, "shortest_load": shortest_load,
                    "longest_load": longest_load, "keep_from": keep_from,
                    "support": list.machine.support, "straightness": list.machine.straightness, "tabs": list.machine.tabs,
                    "seconds": list.machine.seconds, "tab_seconds": list.machine.tab_seconds},
        "stock": each(&list.stock, stock),
        "parts": each(&list.parts, part),
    });
    if let Some(Leftovers { credit, scrap, bring_back }) = list.leftovers {
        value["leftovers"] =
            json!({"credit_per_m": credit, "scrap_per_m": scrap, "bring_back": bring_back});
    }
    if let Some(profile) = &list.profile {
        let (kind, mm) = kind_and_measures(&profile.section);
        let mut said = json!({"kind": kind, "name": profile.name, "density": profile.density});
        for (name, mm) in measures_of(kind).unwrap_or_default().iter().zip(mm) {
            said[*name] = json!(mm);
        }
        said["seam"] = json!(profile.seam.map(Face::name));
        value["profile"] = said;
    }
    value
}

/// A text; nothing where it is blank.
fn text(text: &str) -> Option<&str> {
    Some(text).filter(|text| !text.trim().is_empty())
}

fn each<T>(all: &[T], one: impl Fn(&T) -> Value) -> Vec<Value> {
    all.iter().map(one).collect()
}

/// Degrees that read back as the same radians: the nearest short number where that does.
fn degrees(radians: f64) -> f64 {
    let exact = radians.to_degrees();
    let short = (exact * 1e9).round() / 1e9;
    if short.to_radians() == radians { short } else { exact }
}

/// Whether a text is of a plan for bars, and not of some other file.
pub fn is_bar_plan(text: &str) -> bool {
    document(text, FORMAT).is_ok()
}

/// Reads a plan. The check tells whether it is clear.
///
/// # Errors
/// All that is wrong with it, each with its place.
pub fn read_bar_plan(text: &str) -> Result<ReadBarPlan, Vec<JobFault>> {
    let value = document(text, FORMAT).map_err(|fault| vec![fault])?;
    let root = Node::root(&value);
    let mut faults = Faults::default();
    let title = root.get("title").and_then(|n| n.text(&mut faults)).unwrap_or_default().to_owned();
    let list = root
        .must("list", &mut faults)
        .map(|node| cut_list_at(&node, Beside::default(), &mut faults).list)
        .unwrap_or_default();
    let mut plan = BarPlan::default();
    for bar in root.list_of("bars", &mut faults) {
        let stock = bar.must("stock", &mut faults);
        let stock = stock.and_then(|n| n.whole(0..=MOST, &mut faults)).unwrap_or_default();
        let mut pieces = Vec::new();
        for piece in bar.list_of("pieces", &mut faults) {
            let part = piece.must("part", &mut faults);
            let at = piece.must("at", &mut faults);
            pieces.push(Piece {
                part: part.and_then(|n| n.whole(0..=MOST, &mut faults)).unwrap_or_default(),
                at: at.and_then(|n| n.number(ANY, &mut faults)).unwrap_or_default(),
                reversed: piece.flag_of("reversed", &mut faults),
                turned_over: piece.flag_of("turned_over", &mut faults),
            });
        }
        plan.bars.push(CutBar { stock, pieces });
    }
    for node in root.list_of("missing", &mut faults) {
        plan.missing.push(node.whole(0..=MOST, &mut faults).unwrap_or_default());
    }
    let mut number = |key: &str| {
        root.must(key, &mut faults).and_then(|n| n.number(ANY, &mut faults)).unwrap_or_default()
    };
    (plan.cost, plan.lower_bound) = (number("cost"), number("lower_bound"));
    plan.steps = number("steps").clamp(0.0, 1e15) as u64;
    plan.proven = root.flag_of("proven", &mut faults);
    faults.or(Some(ReadBarPlan { title, list, plan }))
}

#[cfg(test)]
mod tests {
    use oddment_core::bars::{clear, profile::Profile};
    use oddment_core::job::{Budget, Stop};

    use super::*;
    use crate::bars::{profile_named, read_cut_list};

    fn list() -> CutList {
        let text = r#"{"kerf": "1/8in", "grips": [40, 0], "profile": "Square tube 40 × 2",
            "material": "S235", "leftovers": {"credit_per_m": 1.9, "scrap_per_m": 0.4, "bring_back": 2},
            "machine": {"trim": 5, "support": [900, 4000], "tabs": 2, "longest_load": 6500, "tab_seconds": 4},
            "stock": [{"length": 6000, "cost": 31.5}, {"length": 1500, "count": 1, "cost": 0,
                       "name": "B-7", "heat": "4711", "place": "bay 2", "give_or_take": 2, "handling": 1.5,
                       "cut_before": 4500, "end": 30.5}],
            "parts": [{"length": "23 5/8in", "count": 4, "name": "rail", "ends": [45, 30.5],
                       "ends_turn": 180, "priority": 2, "holes": [{"at": 100, "size": 12, "face": "top", "cope": true}]},
                      {"length": 333.3, "count": 7}]}"#;
        read_cut_list(text, Beside::default()).unwrap().list
    }

    #[test]
    fn lists_and_plans_read_back_as_the_same() {
        let list = list();
        let again = read_cut_list(&write_cut_list(&list), Beside::default()).unwrap();
        assert_eq!(again.unknown, [""; 0]);
        assert_eq!(again.list, list);
        let budget = Budget { steps: Some(100), time_up: &|| false, stop: Stop::default() };
        let plan = list.plan(&budget, &mut |_| {}).unwrap();
        clear(&list, &plan).unwrap();
        let text = write_bar_plan("stand", &list, &plan);
        assert!(is_bar_plan(&text));
        assert_eq!(
            read_bar_plan(&text).unwrap(),
            ReadBarPlan { title: "stand".into(), list, plan }
        );
    }

    #[test]
    fn profiles_of_every_kind_read_back_as_the_same() {
        for name in [
            "Round 6",
            "Round tube 30 × 2",
            "Flat 20 × 5",
            "Tube 40 × 20 × 2",
            "Angle 30 × 30 × 3",
            "Channel 80 × 45",
        ] {
            let profile = profile_named(name).map(|p| Profile { seam: Some(Face::Front), ..p });
            let list = CutList { profile, ..list() };
            assert!(list.profile.is_some(), "{name}");
            let again = read_cut_list(&write_cut_list(&list), Beside::default()).unwrap();
            assert_eq!(again.list, list);
        }
    }

    #[test]
    fn what_is_no_plan_is_told_with_its_place() {
        let said = |text: &str| {
            let faults = read_bar_plan(text).unwrap_err();
            faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
        };
        assert!(said("{}").contains("oddment-bar-plan"));
        let text = r#"{"format": "oddment-bar-plan", "version": 1, "list": {"stock": [], "parts": [{}]},
            "bars": [{"stock": -1, "pieces": [{"part": 0}]}], "cost": "dear"}"#;
        for words in ["list.parts[0]", "bars[0].stock", "bars[0].pieces[0]", "cost", "steps"] {
            assert!(said(text).contains(words), "{words} in {}", said(text));
        }
    }
}
