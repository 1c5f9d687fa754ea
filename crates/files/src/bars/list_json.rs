//! Cut lists for bars, in JSON: `{"kerf", "grips": [near, far], "stock": [{"length", "count",
//! "cost"}], "parts": [{"length", "count"}]}`, and beside those what crates/commands/BARS.md lists.
//!
//! Lengths are numbers in mm or texts with a unit, such as `"23 5/8in"`; angles are degrees.

use oddment_core::bars::profile::{Profile, STEEL};
use oddment_core::bars::{CutList, Face, Hole, Leftovers, Line, Machine, Stock, Wanted};
use oddment_core::units::{LengthUnit, parse_length};
use serde_json::Value;

use super::profiles::{is_same_name, measures_of, profile_among, profile_named, section};
use crate::json::{Faults, JobFault, Node};

/// Numbers that are worth a sentence of their own if a shop can't mean them.
const ANY: std::ops::RangeInclusive<f64> = -1e12..=1e12;
/// As many of one thing as can be asked for.
const MOST: usize = 1_000_000;

/// A cut list, and what was read past in it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadCutList {
    /// The list.
    pub list: CutList,
    /// Places of keys that mean nothing here.
    pub unknown: Vec<String>,
}

/// What there is besides the text of a cut list.
#[derive(Clone, Debug, Default)]
pub struct Beside {
    /// Parts from elsewhere; those of the list come after them, and may be missing.
    pub parts: Vec<Wanted>,
    /// Bars come from elsewhere too, so that the list may name none.
    pub stock: bool,
    /// The shop's own profiles, found by name before those that everybody starts with.
    pub profiles: Vec<Profile>,
}

/// Reads a cut list.
///
/// # Errors
/// All that is wrong with it, each with its place.
pub fn read_cut_list(text: &str, beside: Beside) -> Result<ReadCutList, Vec<JobFault>> {
    let value: Value = serde_json::from_str(text.trim_start_matches('\u{feff}')).map_err(|e| {
        let place = format!("line {}, column {}", e.line(), e.column());
        let what = format!("this is not JSON: {e}");
        vec![JobFault { place, what, remedy: "mend it there".to_owned() }]
    })?;
    let mut faults = Faults::default();
    let read = cut_list_at(&Node::root(&value), beside, &mut faults);
    faults.or(Some(read))
}

/// The cut list that stands at a node.
pub(super) fn cut_list_at(root: &Node<'_>, beside: Beside, faults: &mut Faults) -> ReadCutList {
    let known = [
        "kerf",
        "grips",
        "stock",
        "parts",
        "profile",
        "material",
        "fixed_turn",
        "machine",
        "leftovers",
    ];
    let mut unknown = root.other_keys(&known);
    let with_parts = !beside.parts.is_empty();
    let mut list = CutList { parts: beside.parts, ..CutList::default() };
    if let Some(kerf) = root.get("kerf") {
        list.kerf = length(&kerf, faults).unwrap_or(0.0);
    }
    if let Some(grips) = root.get("grips") {
        let given = grips.list(faults);
        if grips.is_list() && given.len() != 2 {
            faults.add("grips", "there are two ends", "write [near, far], 0 where none is lost");
        }
        for (grip, node) in list.grips.iter_mut().zip(&given) {
            *grip = length(node, faults).unwrap_or(0.0);
        }
    }
    list.material = text_of(root, "material", faults);
    list.fixed_turn = root.flag_of("fixed_turn", faults);
    list.profile = root.get("profile").and_then(|node| profile(&node, &beside.profiles, faults));
    if let Some(node) = root.get("machine") {
        list.machine = machine(&node, faults, &mut unknown);
    }
    if let Some(node) = root.get("leftovers") {
        unknown.extend(node.other_keys(&["credit_per_m", "scrap_per_m", "bring_back"]));
        list.leftovers = Some(Leftovers {
            credit: number_of(&node, "credit_per_m", 0.0, faults),
            scrap: number_of(&node, "scrap_per_m", 0.0, faults),
            bring_back: number_of(&node, "bring_back", 0.0, faults),
        });
    }
    let mut named = Vec::new();
    let stock = if beside.stock { root.get("stock") } else { root.must("stock", faults) };
    for node in stock.map_or_else(Vec::new, |n| n.list(faults)) {
        let known = [
            "length",
            "count",
            "cost",
            "handling",
            "name",
            "heat",
            "place",
            "give_or_take",
            "cut_before",
            "end",
            "profile",
        ];
        unknown.extend(node.other_keys(&known));
        let line = Line::Stock(list.stock.len() + 1);
        named.extend(profile_of(&node, line, faults));
        list.stock.push(Stock {
            name: text_of(&node, "name", faults),
            heat: text_of(&node, "heat", faults),
            place: text_of(&node, "place", faults),
            length: must_length(&node, faults),
            give_or_take: length_of(&node, "give_or_take", 0.0, faults),
            count: node.get("count").and_then(|n| n.whole(0..=MOST, faults)),
            cost: node.get("cost").and_then(|n| n.number(ANY, faults)),
            handling: number_of(&node, "handling", 0.0, faults),
            cut_before: length_of(&node, "cut_before", 0.0, faults),
            end: number_of(&node, "end", 0.0, faults).to_radians(),
        });
    }
    let parts = if with_parts { root.get("parts") } else { root.must("parts", faults) };
    for node in parts.map_or_else(Vec::new, |n| n.list(faults)) {
        let known =
            ["length", "count", "name", "ends", "ends_turn", "holes", "priority", "profile"];
        unknown.extend(node.other_keys(&known));
        let line = Line::Part(list.parts.len() + 1);
        named.extend(profile_of(&node, line, faults));
        list.parts.push(part(&node, faults, &mut unknown));
    }
    one_profile(&list, &named, faults);
    ReadCutList { list, unknown }
}

fn part(node: &Node<'_>, faults: &mut Faults, unknown: &mut Vec<String>) -> Wanted {
    let ends = node.get("ends").and_then(|n| n.numbers::<2>(ANY, faults)).unwrap_or_default();
    let turn = node.get("ends_turn").and_then(|n| n.number(ANY, faults)).unwrap_or(0.0);
    let mut holes = Vec::new();
    for hole in node.list_of("holes", faults) {
        unknown.extend(hole.other_keys(&["at", "size", "face", "cope"]));
        let must = |key: &str, faults: &mut Faults| {
            hole.must(key, faults).and_then(|n| length(&n, faults)).unwrap_or(1.0)
        };
        holes.push(Hole {
            at: must("at", faults),
            size: must("size", faults),
            face: text_of(&hole, "face", faults),
            cope: hole.flag_of("cope", faults),
        });
    }
    Wanted {
        name: text_of(node, "name", faults),
        length: must_length(node, faults),
        count: node.get("count").map_or(Some(1), |n| n.whole(0..=MOST, faults)).unwrap_or(1),
        ends: ends.map(f64::to_radians),
        ends_turn: turn.to_radians(),
        holes,
        priority: node
            .get("priority")
            .and_then(|n| n.whole(0..=1000, faults))
            .and_then(|n| u32::try_from(n).ok())
            .unwrap_or(0),
    }
}

/// A profile by the name of a starting one, or by its kind and measures.
fn profile(node: &Node<'_>, own: &[Profile], faults: &mut Faults) -> Option<Profile> {
    if let Some(name) = node.as_text() {
        let known = profile_among(own, name).cloned().or_else(|| profile_named(name));
        if known.is_none() {
            let what = format!("“{name}” is no profile that is known here");
            let remedy = "write it as {\"kind\": …} with its measures (see BARS.md)";
            faults.add(node.place(), what, remedy);
        }
        return known;
    }
    let kind = node.must("kind", faults)?.text(faults)?;
    let Some(measures) = measures_of(kind) else {
        let remedy = "write round, round tube, flat, rectangular tube, angle or channel";
        faults.add(node.place_of("kind"), format!("“{kind}” is not known"), remedy);
        return None;
    };
    let mut mm = Vec::new();
    for measure in measures {
        // Corners may be sharp; all else must be given.
        mm.push(match *measure {
            "corner" => length_of(node, "corner", 0.0, faults),
            _ => node.must(measure, faults).and_then(|n| length(&n, faults))?,
        });
    }
    let name = match text_of(node, "name", faults) {
        name if name.is_empty() => kind.to_owned(),
        name => name,
    };
    let density =
        node.get("density").map_or(Some(STEEL), |n| n.number(100.0..=25_000.0, faults))?;
    let seam = text_of(node, "seam", faults);
    if !seam.is_empty() && Face::named(&seam).is_none() {
        let what = format!("“{seam}” is no face of a bar");
        faults.add(
            node.place_of("seam"),
            what,
            "write top, bottom, front or back, or leave it out",
        );
    }
    Some(Profile { name, section: section(kind, &mm)?, density, seam: Face::named(&seam) })
}

fn machine(node: &Node<'_>, faults: &mut Faults, unknown: &mut Vec<String>) -> Machine {
    let known = [
        "trim",
        "tool_to_grip",
        "shortest_load",
        "longest_load",
        "keep_from",
        "support",
        "straightness",
        "tabs",
        "seconds",
        "tab_seconds",
    ];
    unknown.extend(node.other_keys(&known));
    let usual = Machine::default();
    let seconds = node.get("seconds").and_then(|n| n.numbers::<3>(0.0..=1e6, faults));
    Machine {
        trim: length_of(node, "trim", usual.trim, faults),
        tool_to_grip: length_of(node, "tool_to_grip", usual.tool_to_grip, faults),
        shortest_load: length_of(node, "shortest_load", usual.shortest_load, faults),
        longest_load: node.get("longest_load").and_then(|n| length(&n, faults)),
        keep_from: length_of(node, "keep_from", usual.keep_from, faults),
        support: node.get("support").and_then(|n| n.numbers::<2>(0.0..=1e6, faults)),
        straightness: length_of(node, "straightness", usual.straightness, faults),
        tabs: node.get("tabs").and_then(|n| n.whole(0..=100, faults)).unwrap_or(usual.tabs),
        seconds: seconds.unwrap_or(usual.seconds),
        tab_seconds: node
            .get("tab_seconds")
            .and_then(|n| n.number(0.0..=1e6, faults))
            .unwrap_or(usual.tab_seconds),
    }
}

/// What a line says of which profile it is.
struct Named {
    line: Line,
    place: String,
    profile: String,
}

fn profile_of(node: &Node<'_>, line: Line, faults: &mut Faults) -> Option<Named> {
    let profile = node.get("profile")?.text(faults)?.to_owned();
    Some(Named { line, place: node.place_of("profile"), profile })
}

/// All that a list is about must be of one profile.
fn one_profile(list: &CutList, named: &[Named], faults: &mut Faults) {
    let first = named.first();
    let of = match (&list.profile, first) {
        (Some(profile), _) => (profile.name.as_str(), "the list".to_owned()),
        (None, Some(first)) => (first.profile.as_str(), first.line.to_string()),
        (None, None) => return,
    };
    for Named { line, place, profile } in named.iter().filter(|n| !is_same_name(&n.profile, of.0)) {
        let what = format!("{line} is of {profile}, {} is of {}", of.1, of.0);
        faults.add(place, what, "plan each profile in a list of its own");
    }
}

/// The length of a bar or part; 1 mm where there is none, beside the fault that says so.
fn must_length(node: &Node<'_>, faults: &mut Faults) -> f64 {
    node.must("length", faults).and_then(|n| length(&n, faults)).unwrap_or(1.0)
}

fn length_of(node: &Node<'_>, key: &str, usual: f64, faults: &mut Faults) -> f64 {
    node.get(key).and_then(|n| length(&n, faults)).unwrap_or(usual)
}

fn number_of(node: &Node<'_>, key: &str, usual: f64, faults: &mut Faults) -> f64 {
    node.get(key).and_then(|n| n.number(ANY, faults)).unwrap_or(usual)
}

fn text_of(node: &Node<'_>, key: &str, faults: &mut Faults) -> String {
    node.get(key).and_then(|n| n.text(faults)).unwrap_or_default().to_owned()
}

/// Millimetres, from a number or a text with a unit.
fn length(node: &Node<'_>, faults: &mut Faults) -> Option<f64> {
    let Some(text) = node.as_text() else { return node.number(ANY, faults) };
    match parse_length(text, LengthUnit::Mm) {
        Ok(mm) => Some(mm),
        Err(fault) => {
            let said = fault.to_string();
            let (what, remedy) = said.split_once("; ").unwrap_or((&said, "mend it"));
            faults.add(node.place(), what, remedy);
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn said(text: &str) -> String {
        let faults = read_cut_list(text, Beside::default()).unwrap_err();
        faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn a_list_is_read() {
        let read = read_cut_list(
            r#"{"kerf": "1/8in", "grips": [0, 40], "note": "Monday", "stock":
                [{"length": 6000, "count": null, "cost": 31.5}, {"length": "1200mm", "count": 2, "colour": 3}],
                "parts": [{"length": 300, "count": 4}, {"length": "10in"}]}"#,
            Beside::default(),
        )
        .unwrap();
        assert_eq!(read.list.kerf, 3.175);
        assert_eq!(read.list.grips, [0.0, 40.0]);
        assert_eq!(
            read.list.stock[0],
            Stock { length: 6000.0, cost: Some(31.5), ..Stock::default() }
        );
        assert_eq!(
            read.list.stock[1],
            Stock { length: 1200.0, count: Some(2), ..Stock::default() }
        );
        let parts: Vec<_> = read.list.parts.iter().map(|p| (p.length, p.count)).collect();
        assert_eq!(parts, [(300.0, 4), (254.0, 1)]);
        assert_eq!(read.unknown, ["note", "stock[1].colour"]);
    }

    #[test]
    fn all_that_can_be_said_is_read() {
        let text = r#"{"profile": {"kind": "round tube", "diameter": "1in", "wall": 2},
            "fixed_turn": true,
            "machine": {"trim": 5, "longest_load": 6500, "tabs": 2, "seconds": [30, 10, 5]},
            "stock": [{"length": 1500, "name": "B-7", "heat": "4711", "place": "bay 2", "give_or_take": 2}],
            "parts": [{"length": 300, "name": "rail", "ends": [45, 0], "ends_turn": 180, "priority": 2,
                       "holes": [{"at": 100, "size": 12, "face": "top", "cope": true}]}]}"#;
        let read = read_cut_list(text, Beside::default()).unwrap();
        assert_eq!(read.unknown, [""; 0]);
        let list = read.list;
        assert!((list.height() - 25.4).abs() < 1e-9 && list.fixed_turn);
        assert_eq!(list.machine.seconds, [30.0, 10.0, 5.0]);
        assert_eq!((list.machine.trim, list.machine.longest_load), (5.0, Some(6500.0)));
        assert_eq!(list.stock[0].heat, "4711");
        assert_eq!(list.parts[0].ends, [std::f64::consts::FRAC_PI_4, 0.0]);
        assert_eq!(
            (list.parts[0].holes[0].face.as_str(), list.parts[0].holes[0].cope),
            ("top", true)
        );
        let known = r#"{"profile": "Square tube 40x2", "stock": [{"length": 9}]}"#;
        let part = Wanted { length: 1.0, count: 1, ..Wanted::default() };
        let read = read_cut_list(known, Beside { parts: vec![part], ..Beside::default() }).unwrap();
        assert_eq!(read.list.height(), 40.0);
    }

    #[test]
    fn mixed_profiles_are_refused() {
        let text = r#"{"profile": "Square tube 40 × 2", "stock": [{"length": 9}],
            "parts": [{"length": 1, "profile": "Square tube 40 × 2"}, {"length": 1, "profile": "Flat 20 × 5"}]}"#;
        let said = said(text);
        assert!(
            said.starts_with("parts[1].profile: part line 2 is of Flat 20 × 5, the list"),
            "{said}"
        );
        let text = r#"{"stock": [{"length": 9, "profile": "Round 10"}],
            "parts": [{"length": 1, "profile": "round 10"}, {"length": 1, "profile": "Round 12"}]}"#;
        let said = self::said(text);
        assert!(said.contains("part line 2 is of Round 12, stock line 1 is of Round 10"), "{said}");
    }

    #[test]
    fn every_fault_is_told_with_its_place() {
        let text = r#"{"kerf": "thick", "grips": [1], "stock": [{"length": []}],
            "parts": [{"count": 2.5, "length": 1}, {"count": -1, "length": 2}, {"count": 3}]}"#;
        for words in [
            "kerf: “thick”",
            "grips: there are two ends",
            "stock[0].length",
            "parts[0].count: 2.5",
            "parts[1].count: -1",
            "parts[2]: “length” is missing",
        ] {
            assert!(said(text).contains(words), "{words} in {}", said(text));
        }
        assert!(said("{").contains("not JSON"));
        assert!(said("[]").contains("“stock” is missing"));
    }
}
