//! The entries that job files and plan files share: clearances, sheets, parts, poses.

use oddment_core::distances::{EdgeDistance, LeadForm, StartRule};
use oddment_core::part::{MadeFrom, Mark, MarkKind, Part, Priority, Turning};
use oddment_core::plan::{Count, Stock, Wanted};
use oddment_core::shape::{Edge, PartSpace, Point, Pose, Region, SheetSpace, Vector};
use oddment_core::sheet::{Body, Contour, EdgeFacts, EdgeKind, Metal, NoGo, Sheet};

use super::{Drawings, GivenClearances, MOST_COPIES, Origin, sheet_rectangle};
use crate::json::{FARTHEST, Faults, Node};
use crate::shape_json::{MOST_VERTICES, read_shape};

/// No clearance or give or take (mm) is more.
const WIDEST: f64 = 1000.0;

pub(crate) fn read_clearances(node: &Node<'_>, faults: &mut Faults) -> GivenClearances {
    node.only_keys(&["kerf", "web", "edge", "edges", "sensing", "lay", "common"], faults);
    let mut length = |node: &Node<'_>, key| node.get(key)?.number(0.0..=WIDEST, faults);
    let mut given = GivenClearances {
        kerf: length(node, "kerf"),
        web: length(node, "web"),
        edge: length(node, "edge").map(EdgeDistance::all),
        sensing: length(node, "sensing"),
        lay: length(node, "lay"),
        common: None,
    };
    if let Some(edges) = node.get("edges") {
        let (own_cut, sheared, mill) =
            (length(&edges, "own_cut"), length(&edges, "sheared"), length(&edges, "mill"));
        edges.only_keys(&["own_cut", "sheared", "mill"], faults);
        match (own_cut, sheared, mill) {
            (Some(own_cut), Some(sheared), Some(mill)) => {
                given.edge = Some(EdgeDistance { own_cut, sheared, mill });
            }
            _ => {
                faults.add(edges.place(), "one of three is missing", "give own_cut, sheared, mill")
            }
        }
    }
    given.common = node.get("common").and_then(|n| n.flag(faults));
    given
}

/// What every contour needs to be started, where `starts` says so; what it does not say is as it
/// stands where a shop has not said otherwise.
pub(crate) fn read_starts(root: &Node<'_>, faults: &mut Faults) -> Option<StartRule> {
    let node = root.get("starts")?;
    let lengths = ["pierce", "small_hole", "least_lead", "lead"];
    let others = ["clockwise_outside", "lead_form", "from_edge"];
    node.only_keys(&[&lengths[..], &others].concat(), faults);
    let starting = StartRule::STARTING;
    let mut length = |key, otherwise| {
        node.get(key).and_then(|n| n.number(0.0..=WIDEST, faults)).unwrap_or(otherwise)
    };
    let pierce = length("pierce", starting.pierce);
    let small_hole = length("small_hole", pierce);
    let least_lead = length("least_lead", starting.least_lead);
    let lead = length("lead", starting.lead.max(least_lead));
    let clockwise_outside = node.flag_of("clockwise_outside", faults);
    let from_edge = node.flag_of("from_edge", faults);
    let form = node.get("lead_form").map_or(starting.form, |n| {
        LeadForm::named(n.value().as_str().unwrap_or_default()).unwrap_or_else(|| {
            faults.add(n.place(), "this is no form of lead-in", "write straight or arc");
            starting.form
        })
    });
    Some(StartRule { pierce, small_hole, least_lead, lead, clockwise_outside, form, from_edge })
}

/// Reads a sheet whose name stands under `name_key`.
pub(crate) fn read_sheet(
    node: &Node<'_>,
    name_key: &str,
    drawings: &mut Drawings,
    faults: &mut Faults,
) -> Option<(Stock, Origin)> {
    let name = node.must(name_key, faults).and_then(|n| n.text(faults));
    let count = match node.get("count") {
        Some(count) => count.whole(1..=MOST_COPIES, faults),
        None => Some(1),
    };
    let metal = read_metal(node, drawings, faults);
    let give_or_take = match node.get("give_or_take") {
        Some(number) => number.number(0.0..=WIDEST, faults),
        None => Some(0.0),
    };
    let grain = read_angle(node, "grain_deg", faults);
    let no_go = node
        .list_of("no_go", faults)
        .iter()
        .enumerate()
        .filter_map(|(i, zone)| read_no_go(i, zone, faults))
        .collect();
    let made_of = node.get("made_of").and_then(|n| read_made_of(&n, faults));
    let (metal, origin) = metal?;
    let facts = EdgeFacts { kind: EdgeKind::Mill, give_or_take: give_or_take? };
    let mut sheet = Sheet { no_go, grain, made_of, ..Sheet::new(name?, &metal, facts) };
    if let Some(list) = node.get("edge_facts") {
        read_edge_facts(&list, &mut sheet.bodies, faults);
    }
    Some((Stock { sheet, count: count? }, origin))
}

/// The pieces of metal of a sheet.
fn read_metal(
    node: &Node<'_>,
    drawings: &mut Drawings,
    faults: &mut Faults,
) -> Option<(Vec<Region<SheetSpace>>, Origin)> {
    if let Some(source) = one_of(node, &["source", "rectangle", "outline", "curves"], faults)? {
        return drawings.sheet(node, &source, faults);
    }
    if let Some(sides) = node.get("rectangle") {
        let [width, height] = sides.numbers::<2>(0.01..=FARTHEST, faults)?;
        let (sheet, origin) = sheet_rectangle("", width, height).ok()?;
        return Some((sheet.bodies.iter().map(Body::region).collect(), origin));
    }
    let mut metal = vec![read_shape(node, faults)?];
    for body in node.list_of("bodies", faults) {
        metal.push(read_shape(&body, faults)?);
    }
    Some((metal, Origin::Outline))
}

/// The `source` of an entry if it has one; `None` after a fault unless exactly one of the ways to
/// give a shape is used.
fn one_of<'a>(node: &Node<'a>, ways: &[&str], faults: &mut Faults) -> Option<Option<Node<'a>>> {
    let used: Vec<&str> = ways.iter().copied().filter(|key| node.get(key).is_some()).collect();
    match used[..] {
        // An outline is the polygon that stands beside the curves.
        [_] | ["outline", "curves"] => Some(node.get("source")),
        [] => {
            let remedy = format!("give one of {}", ways[..ways.len() - 1].join(", "));
            faults.add(node.place(), "it has no shape", remedy);
            None
        }
        [first, second, ..] => {
            let what = format!("it has both {first} and {second}");
            faults.add(node.place(), what, "keep one of them");
            None
        }
    }
}

fn read_no_go(index: usize, zone: &Node<'_>, faults: &mut Faults) -> Option<NoGo> {
    zone.only_keys(&["name", "outline", "holes", "curves", "distance", "stands_up"], faults);
    let name = match zone.get("name") {
        Some(name) => name.text(faults)?.to_owned(),
        None => format!("no-go zone {}", index + 1),
    };
    let shape: Option<Region<SheetSpace>> = read_shape(zone, faults);
    let clearance = match zone.get("distance") {
        Some(distance) => distance.number(0.0..=WIDEST, faults)?,
        None => 0.0,
    };
    // Where the file leaves it open, the head keeps clear of it lifted too.
    let stands_up = zone.get("stands_up").is_none_or(|said| said.flag(faults).unwrap_or(true));
    Some(NoGo { name, shape: shape?.outer().clone(), clearance, stands_up })
}

fn read_made_of(node: &Node<'_>, faults: &mut Faults) -> Option<Metal> {
    node.only_keys(&["material", "thickness", "density"], faults);
    let material = node.must("material", faults).and_then(|n| n.text(faults));
    let thickness = node.must("thickness", faults).and_then(|n| n.number(0.01..=WIDEST, faults));
    let density = node.must("density", faults).and_then(|n| n.number(100.0..=30_000.0, faults));
    Some(Metal { material: material?.to_owned(), thickness: thickness?, density: density? })
}

/// `edge_facts`: for each contour (body by body, outer edge and then cut-outs) `[kind, give or
/// take]` once for all its edges, or once for each.
fn read_edge_facts(list: &Node<'_>, bodies: &mut [Body], faults: &mut Faults) {
    let entries = list.list(faults);
    let contours: Vec<&mut Contour> = bodies
        .iter_mut()
        .flat_map(|b| std::iter::once(&mut b.outer).chain(&mut b.cutouts))
        .collect();
    if contours.len() != entries.len() {
        let what = format!("{} contours are told of {}", entries.len(), contours.len());
        return faults.add(list.place(), what, "give one list for each contour");
    }
    for (contour, entry) in contours.into_iter().zip(entries) {
        let facts: Option<Vec<EdgeFacts>> =
            entry.list(faults).iter().map(|fact| read_fact(fact, faults)).collect();
        let Some(facts) = facts else { continue };
        let shape = contour.shape().clone();
        let made = match facts[..] {
            [all] => Some(Contour::uniform(shape, all)),
            _ => Contour::with_facts(shape, facts),
        };
        match made {
            Some(made) => *contour = made,
            None => faults.add(
                entry.place(),
                format!("the contour has {} edges", contour.facts().len()),
                "give one entry for all, or one for each",
            ),
        }
    }
}

fn read_fact(fact: &Node<'_>, faults: &mut Faults) -> Option<EdgeFacts> {
    let pair = fact.list(faults);
    let kind = pair.first().and_then(Node::as_text).and_then(edge_kind_named);
    let (Some(kind), [_, give_or_take]) = (kind, &pair[..]) else {
        faults.add(
            fact.place(),
            "this says nothing of an edge",
            "write [\"mill\", 0.3]; kinds are mill, sheared, own_cut",
        );
        return None;
    };
    Some(EdgeFacts { kind, give_or_take: give_or_take.number(0.0..=WIDEST, faults)? })
}

/// How kinds of edges are written.
pub(crate) const EDGE_KINDS: [(EdgeKind, &str); 3] =
    [(EdgeKind::Mill, "mill"), (EdgeKind::Sheared, "sheared"), (EdgeKind::OwnCut, "own_cut")];

fn edge_kind_named(name: &str) -> Option<EdgeKind> {
    EDGE_KINDS.iter().find(|(_, n)| *n == name).map(|(kind, _)| *kind)
}

/// Reads a part whose name stands under `name_key`.
pub(crate) fn read_part(
    node: &Node<'_>,
    name_key: &str,
    drawings: &mut Drawings,
    faults: &mut Faults,
) -> Option<(Wanted, Origin)> {
    let name = node.must(name_key, faults).and_then(|n| n.text(faults));
    let count = read_count(node, faults);
    let found = match one_of(node, &["source", "outline", "curves"], faults) {
        Some(Some(source)) => drawings.part(node, &source, faults),
        Some(None) => read_shape(node, faults).map(|region| {
            let marks =
                node.list_of("marks", faults).iter().filter_map(|m| read_mark(m, faults)).collect();
            (region, marks, Origin::Outline)
        }),
        None => None,
    };
    let turning = read_turning(node, faults);
    let flip = node.flag_of("flip", faults);
    let grain = read_angle(node, "grain_deg", faults);
    let made_from = node.get("made_from").and_then(|n| read_made_from(&n, faults));
    let priority = read_priority(node, faults);
    let (region, marks, origin) = found?;
    let part = Part {
        marks,
        turning: turning?,
        flip,
        grain,
        made_from,
        priority: priority?,
        ..Part::new(name?, region)
    };
    Some((Wanted { part, count: count? }, origin))
}

fn read_made_from(node: &Node<'_>, faults: &mut Faults) -> Option<MadeFrom> {
    node.only_keys(&["material", "thickness"], faults);
    let material = node.must("material", faults).and_then(|n| n.text(faults));
    let thickness = node.must("thickness", faults).and_then(|n| n.number(0.01..=WIDEST, faults));
    Some(MadeFrom { material: material?.to_owned(), thickness: thickness? })
}

/// How priorities are written.
pub(crate) const PRIORITIES: [(Priority, &str); 3] =
    [(Priority::First, "first"), (Priority::Usual, "usual"), (Priority::IfRoom, "if_room")];

fn read_priority(node: &Node<'_>, faults: &mut Faults) -> Option<Priority> {
    let Some(priority) = node.get("priority") else { return Some(Priority::default()) };
    let name = priority.as_text();
    let found = PRIORITIES.iter().find(|(_, n)| Some(*n) == name).map(|(p, _)| *p);
    if found.is_none() {
        faults.add(priority.place(), "this is no priority", "write first, usual or if_room");
    }
    found
}

/// One where nothing is said; `"max"`, or null as plans write it, for as many as go in.
fn read_count(node: &Node<'_>, faults: &mut Faults) -> Option<Count> {
    let Some(count) = node.get("count") else {
        return Some(if node.has_null("count") { Count::Max } else { Count::Exactly(1) });
    };
    if count.as_text() == Some("max") {
        return Some(Count::Max);
    }
    if count.as_text().is_some() {
        faults.add(count.place(), "this is no count", "write a number, or \"max\"");
        return None;
    }
    count.whole(1..=MOST_COPIES, faults).map(Count::Exactly)
}

fn read_turning(node: &Node<'_>, faults: &mut Faults) -> Option<Turning> {
    let Some(turn) = node.get("turn") else { return Some(Turning::Free) };
    if turn.is_list() {
        let angles: Option<Vec<f64>> = turn
            .list(faults)
            .iter()
            .map(|a| a.number(-FARTHEST..=FARTHEST, faults).map(f64::to_radians))
            .collect();
        if angles.as_ref().is_some_and(Vec::is_empty) {
            faults.add(turn.place(), "no angle is allowed", "name at least one, or write \"free\"");
            return None;
        }
        return angles.map(Turning::Only);
    }
    match turn.as_text() {
        Some("free") => Some(Turning::Free),
        Some("none") => Some(Turning::none()),
        Some(_) => {
            let remedy = "write \"free\", \"none\", degrees, or a list of degrees";
            faults.add(turn.place(), "this is no way to turn", remedy);
            None
        }
        None => turn.number(0.001..=360.0, faults).map(|d| Turning::steps(d.to_radians())),
    }
}

fn read_angle(node: &Node<'_>, key: &str, faults: &mut Faults) -> Option<f64> {
    node.get(key)?.number(-FARTHEST..=FARTHEST, faults).map(f64::to_radians)
}

fn read_mark(node: &Node<'_>, faults: &mut Faults) -> Option<Mark> {
    let kind = match node.must("kind", faults)?.text(faults)? {
        "engrave" => MarkKind::Engrave,
        "bend" => MarkKind::Bend,
        _ => {
            faults.add(node.place_of("kind"), "this kind is not known", "write engrave or bend");
            return None;
        }
    };
    let edges = node.must("edges", faults)?.list(faults);
    if edges.len() > MOST_VERTICES {
        faults.add(node.place_of("edges"), "too many lines", "leave some out");
        return None;
    }
    let edges: Option<Vec<Edge<PartSpace>>> = edges
        .iter()
        .map(|edge| {
            let [x, y, to_x, to_y, bulge] = edge.numbers::<5>(-FARTHEST..=FARTHEST, faults)?;
            Some(Edge::new(Point::new(x, y), Point::new(to_x, to_y), bulge))
        })
        .collect();
    Some(Mark { kind, edges: edges? })
}

/// Reads `x`, `y`, `turn_deg` (0 where it is left out) and `flipped`.
pub(crate) fn read_pose(
    node: &Node<'_>,
    faults: &mut Faults,
) -> Option<Pose<PartSpace, SheetSpace>> {
    let mut coordinate =
        |key: &str| node.must(key, faults).and_then(|n| n.number(-FARTHEST..=FARTHEST, faults));
    let (x, y) = (coordinate("x"), coordinate("y"));
    let turn = match node.get("turn_deg") {
        Some(turn) => turn.number(-FARTHEST..=FARTHEST, faults)?,
        None => 0.0,
    };
    let flipped = node.flag_of("flipped", faults);
    Some(Pose::new(Vector::new(x?, y?), turn.to_radians(), flipped))
}
