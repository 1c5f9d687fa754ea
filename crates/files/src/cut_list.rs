//! Cut lists for bars, in JSON: `{"kerf", "grips": [near, far], "stock": [{"length", "count",
//! "cost"}], "parts": [{"length", "count"}]}`.
//!
//! Lengths are numbers in mm or texts with a unit, such as `"23 5/8in"`.

use oddment_core::bars::{CutList, Stock, Wanted};
use oddment_core::units::{LengthUnit, parse_length};
use serde_json::Value;

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

/// Reads a cut list.
///
/// # Errors
/// All that is wrong with it, each with its place.
pub fn read_cut_list(text: &str) -> Result<ReadCutList, Vec<JobFault>> {
    let value: Value = serde_json::from_str(text.trim_start_matches('\u{feff}')).map_err(|e| {
        let place = format!("line {}, column {}", e.line(), e.column());
        let what = format!("this is not JSON: {e}");
        vec![JobFault { place, what, remedy: "mend it there".to_owned() }]
    })?;
    let root = Node::root(&value);
    let mut faults = Faults::default();
    let mut unknown = root.other_keys(&["kerf", "grips", "stock", "parts"]);
    let mut list = CutList::default();
    if let Some(kerf) = root.get("kerf") {
        list.kerf = length(&kerf, &mut faults).unwrap_or(0.0);
    }
    if let Some(grips) = root.get("grips") {
        let given = grips.list(&mut faults);
        if grips.is_list() && given.len() != 2 {
            faults.add("grips", "there are two ends", "write [near, far], 0 where none is lost");
        }
        for (grip, node) in list.grips.iter_mut().zip(&given) {
            *grip = length(node, &mut faults).unwrap_or(0.0);
        }
    }
    for node in root.must("stock", &mut faults).map_or_else(Vec::new, |n| n.list(&mut faults)) {
        unknown.extend(node.other_keys(&["length", "count", "cost"]));
        let bar = Stock {
            length: must_length(&node, &mut faults),
            count: node.get("count").and_then(|n| n.whole(0..=MOST, &mut faults)),
            cost: node.get("cost").and_then(|n| n.number(ANY, &mut faults)),
        };
        list.stock.push(bar);
    }
    for node in root.must("parts", &mut faults).map_or_else(Vec::new, |n| n.list(&mut faults)) {
        unknown.extend(node.other_keys(&["length", "count"]));
        let count = node.get("count");
        let count = count.map_or(Some(1), |n| n.whole(0..=MOST, &mut faults)).unwrap_or(1);
        list.parts.push(Wanted { length: must_length(&node, &mut faults), count });
    }
    faults.or(Some(ReadCutList { list, unknown }))
}

/// The length of a bar or part; 1 mm where there is none, beside the fault that says so.
fn must_length(node: &Node<'_>, faults: &mut Faults) -> f64 {
    node.must("length", faults).and_then(|n| length(&n, faults)).unwrap_or(1.0)
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
        let faults = read_cut_list(text).unwrap_err();
        faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn a_list_is_read() {
        let read = read_cut_list(
            r#"{"kerf": "1/8in", "grips": [0, 40], "note": "Monday", "stock":
                [{"length": 6000, "count": null, "cost": 31.5}, {"length": "1200mm", "count": 2, "colour": 3}],
                "parts": [{"length": 300, "count": 4}, {"length": "10in"}]}"#,
        )
        .unwrap();
        assert_eq!(read.list.kerf, 3.175);
        assert_eq!(read.list.grips, [0.0, 40.0]);
        assert_eq!(read.list.stock[0], Stock { length: 6000.0, count: None, cost: Some(31.5) });
        assert_eq!(read.list.stock[1], Stock { length: 1200.0, count: Some(2), cost: None });
        assert_eq!(
            read.list.parts,
            [Wanted { length: 300.0, count: 4 }, Wanted { length: 254.0, count: 1 }]
        );
        assert_eq!(read.unknown, ["note", "stock[1].colour"]);
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
