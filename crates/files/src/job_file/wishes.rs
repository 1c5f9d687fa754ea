//! How a person wants a plan cut, where that is otherwise than it comes by itself: what stands under
//! `cut` in a plan file.
//!
//! ```json
//! {"machine": "plasma", "gas": "air", "tried": {"rows/plasma/3/kerf": 1.3},
//!  "starts": [{"part", "copy", "contour": 0, "pierce": [x, y], "lead": [[x, y, x, y, bulge]]}],
//!  "tabs": [{"part", "copy", "contour", "at": [[x, y]]}], "lays": […]}
//! ```

use std::collections::BTreeMap;

use oddment_core::cutting::ByHand;
use oddment_core::cutting::cut::ContourKey;
use oddment_core::cutting::starts::Start;
use oddment_core::plan::{Job, Wanted};
use oddment_core::shape::{Edge, PartSpace, Point};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::lays::{LayJson, SheetLay};
use crate::json::{FARTHEST, Faults, Node};

/// More values than anybody tries for one plan.
const MOST_TRIED: usize = 1_000;

/// How a plan is to be cut.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutWishes {
    /// On this machine; the shop's usual one where none is named.
    pub machine: Option<String>,
    /// With this gas; the usual one where none is named.
    pub gas: Option<String>,
    /// Values for this plan only, in place of the shop's, by their keys.
    pub tried: BTreeMap<String, Value>,
    /// Starts, tabs and whatever else was chosen by hand.
    pub by_hand: ByHand,
    /// What was measured of how sheets lie on the bed.
    pub lays: Vec<SheetLay>,
}

impl CutWishes {
    /// Forgets what was chosen by hand for a part that is taken off the job.
    pub fn remove_part(&mut self, part: usize) {
        let moved = |key: ContourKey| match key.0.cmp(&part) {
            std::cmp::Ordering::Less => Some(key),
            std::cmp::Ordering::Equal => None,
            std::cmp::Ordering::Greater => Some((key.0 - 1, key.1, key.2)),
        };
        let by_hand = &mut self.by_hand;
        let starts = std::mem::take(&mut by_hand.starts).into_iter();
        by_hand.starts = starts.filter_map(|(key, start)| Some((moved(key)?, start))).collect();
        let tabs = std::mem::take(&mut by_hand.tabs).into_iter();
        by_hand.tabs = tabs.filter_map(|(key, at)| Some((moved(key)?, at))).collect();
    }
}

#[derive(Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct WishesJson {
    #[serde(skip_serializing_if = "Option::is_none")]
    machine: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gas: Option<String>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    tried: BTreeMap<String, Value>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    starts: Vec<StartJson>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    tabs: Vec<TabsJson>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    lays: Vec<LayJson>,
}

#[derive(Serialize, Deserialize)]
struct StartJson {
    #[serde(flatten)]
    of: ContourJson,
    pierce: [f64; 2],
    lead: Vec<[f64; 5]>,
}

#[derive(Serialize, Deserialize)]
struct TabsJson {
    #[serde(flatten)]
    of: ContourJson,
    at: Vec<[f64; 2]>,
}

#[derive(Serialize, Deserialize)]
struct ContourJson {
    part: String,
    copy: usize,
    contour: usize,
}

impl WishesJson {
    /// What there is to write; `None` where nothing is otherwise than it comes.
    pub(crate) fn new(job: &Job, wishes: &CutWishes) -> Option<Self> {
        if *wishes == CutWishes::default() {
            return None;
        }
        let of = |key: &ContourKey| {
            let part = job.wanted.get(key.0)?.part.name.clone();
            Some(ContourJson { part, copy: key.1, contour: key.2 })
        };
        let start = |(key, start): (&ContourKey, &Start<PartSpace>)| {
            let lead = start.lead.iter().map(edge_numbers).collect();
            Some(StartJson { of: of(key)?, pierce: [start.pierce.x, start.pierce.y], lead })
        };
        let tabs = |(key, at): (&ContourKey, &Vec<Point<PartSpace>>)| {
            Some(TabsJson { of: of(key)?, at: at.iter().map(|p| [p.x, p.y]).collect() })
        };
        let CutWishes { machine, gas, tried, by_hand, lays } = wishes;
        Some(Self {
            machine: machine.clone(),
            gas: gas.clone(),
            tried: tried.clone(),
            starts: by_hand.starts.iter().filter_map(start).collect(),
            tabs: by_hand.tabs.iter().filter_map(tabs).collect(),
            lays: lays.iter().map(LayJson::new).collect(),
        })
    }
}

/// x, y of start and end, bulge.
pub(crate) fn edge_numbers(edge: &Edge<PartSpace>) -> [f64; 5] {
    let (from, to) = (edge.from(), edge.to());
    [from.x, from.y, to.x, to.y, edge.bulge()]
}

/// Reads `cut` where a document has it. What it says of parts the job does not have is passed over.
pub(crate) fn read_wishes(root: &Node<'_>, wanted: &[Wanted], faults: &mut Faults) -> CutWishes {
    let Some(node) = root.get("cut") else { return CutWishes::default() };
    let json: WishesJson = match serde_json::from_value(node.value().clone()) {
        Ok(json) => json,
        Err(why) => {
            faults.add(node.place(), format!("this will not do: {why}"), "leave “cut” out");
            return CutWishes::default();
        }
    };
    let numbers = json.starts.iter().flat_map(|s| s.pierce.iter().chain(s.lead.iter().flatten()));
    let numbers = numbers.chain(json.tabs.iter().flat_map(|t| t.at.iter().flatten()));
    let near = json.lays.iter().all(LayJson::are_near);
    if !near || numbers.into_iter().any(|n| !(-FARTHEST..=FARTHEST).contains(n)) {
        faults.add(node.place(), "a number is beyond a kilometre", "leave “cut” out");
        return CutWishes::default();
    }
    if json.tried.len() > MOST_TRIED {
        faults.add(node.place_of("tried"), "these are too many values", "leave some out");
        return CutWishes::default();
    }
    let key = |of: &ContourJson| {
        let part = wanted.iter().position(|w| w.part.name == of.part)?;
        let known = of.contour <= wanted[part].part.region.holes().len();
        known.then_some((part, of.copy, of.contour))
    };
    let start = |s: &StartJson| {
        let edge = |n: &[f64; 5]| Edge::new(Point::new(n[0], n[1]), Point::new(n[2], n[3]), n[4]);
        let lead = s.lead.iter().map(edge).collect();
        let pierce = Point::new(s.pierce[0], s.pierce[1]);
        Some((key(&s.of)?, Start { pierce, lead, from_edge: false }))
    };
    let tabs =
        |t: &TabsJson| Some((key(&t.of)?, t.at.iter().map(|[x, y]| Point::new(*x, *y)).collect()));
    let by_hand = ByHand {
        starts: json.starts.iter().filter_map(start).collect(),
        tabs: json.tabs.iter().filter_map(tabs).collect(),
    };
    let lays = json.lays.iter().map(LayJson::read).collect();
    CutWishes { machine: json.machine, gas: json.gas, tried: json.tried, by_hand, lays }
}
