//! Writes a plan.

use oddment_core::check::{Basis, CheckedPlan, Fault, Measure};
use oddment_core::distances::{Clearances, StartRule};
use oddment_core::part::{Mark, MarkKind, Priority, Turning};
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::sheet::{Body, Contour, EdgeFacts, NoGo};
use oddment_core::units::LengthUnit;
use serde::Serialize;

use super::RunFacts;
use crate::job_file::{EDGE_KINDS, Origin, PRIORITIES, SourcedJob, WishesJson, edge_numbers};
use crate::shape_json::ShapeJson;
use crate::words::{fault_words, parties};

/// The plan as JSON, the same bytes for the same plan. Layouts that carry nothing, or something the
/// job does not have, are left out.
pub fn write_plan(job: &SourcedJob, checked: &CheckedPlan, run: RunFacts) -> String {
    let carries = |l: &&Layout| !l.placements.is_empty() && l.is_known(&job.job);
    write(job, checked, checked.plan().layouts.iter().filter(carries), run)
}

/// The same with all of the job's sheets, also those that carry nothing: work that is not done.
pub fn write_work(job: &SourcedJob, checked: &CheckedPlan) -> String {
    let layouts = &checked.plan().layouts;
    let unused = (0..job.job.stock.len())
        .filter(|stock| layouts.iter().all(|l| l.stock != *stock))
        .map(|stock| Layout { stock, placements: Vec::new() });
    let unused: Vec<Layout> = unused.collect();
    let known = layouts.iter().filter(|l| l.is_known(&job.job));
    write(job, checked, known.chain(&unused), RunFacts::default())
}

fn write<'a>(
    job: &'a SourcedJob,
    checked: &CheckedPlan,
    layouts: impl Iterator<Item = &'a Layout>,
    run: RunFacts,
) -> String {
    let (plan, j) = (checked.plan(), &job.job);
    let document = PlanJson {
        format: "oddment-plan",
        version: 1,
        units: "mm",
        clearances: ClearancesJson::new(&j.clearances),
        starts: j.starts.as_ref().map(StartsJson::new),
        cut: WishesJson::new(j, &job.cut),
        wanted: j
            .wanted
            .iter()
            .zip(&job.parts)
            .enumerate()
            .map(|(i, (wanted, origin))| WantedJson::new(wanted, origin, plan.placed(i)))
            .collect(),
        sheets: layouts.map(|l| SheetJson::new(job, l)).collect(),
        check: CheckJson::new(j, checked),
        seconds: run.seconds,
        steps: run.steps,
        seed: run.seed,
    };
    print(&document)
}

/// What the check found, as JSON: what stands under `check` in the plan.
pub fn write_check(job: &Job, checked: &CheckedPlan) -> String {
    print(&CheckJson::new(job, checked))
}

/// Plain structs with text keys: there is nothing in them that can't be written.
fn print(document: &impl Serialize) -> String {
    serde_json::to_string_pretty(document).map(|text| text + "\n").unwrap_or_default()
}

#[derive(Serialize)]
struct PlanJson<'a> {
    format: &'static str,
    version: u32,
    units: &'static str,
    clearances: ClearancesJson,
    #[serde(skip_serializing_if = "Option::is_none")]
    starts: Option<StartsJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cut: Option<WishesJson>,
    wanted: Vec<WantedJson<'a>>,
    sheets: Vec<SheetJson<'a>>,
    check: CheckJson,
    seconds: f64,
    steps: u64,
    seed: u64,
}

/// `edge` is the least of the three where the kinds of edges differ, and `edges` has them all.
#[derive(Serialize)]
struct ClearancesJson {
    kerf: f64,
    web: f64,
    edge: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    edges: Option<EdgesJson>,
    sensing: f64,
    lay: f64,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    common: bool,
}

#[derive(Serialize)]
struct EdgesJson {
    own_cut: f64,
    sheared: f64,
    mill: f64,
}

impl ClearancesJson {
    fn new(c: &Clearances) -> Self {
        let edges =
            EdgesJson { own_cut: c.edge.own_cut, sheared: c.edge.sheared, mill: c.edge.mill };
        let least = edges.own_cut.min(edges.sheared).min(edges.mill);
        let most = edges.own_cut.max(edges.sheared).max(edges.mill);
        Self {
            kerf: c.kerf,
            web: c.web,
            edge: least,
            edges: (least < most).then_some(edges),
            sensing: c.sensing,
            lay: c.lay,
            common: c.common,
        }
    }
}

#[derive(Serialize)]
struct StartsJson {
    pierce: f64,
    small_hole: f64,
    least_lead: f64,
    lead: f64,
    clockwise_outside: bool,
    lead_form: &'static str,
    from_edge: bool,
}

impl StartsJson {
    fn new(rule: &StartRule) -> Self {
        let StartRule { pierce, small_hole, least_lead, lead, .. } = *rule;
        let StartRule { clockwise_outside, form, from_edge, .. } = *rule;
        let lead_form = form.words();
        Self { pierce, small_hole, least_lead, lead, clockwise_outside, lead_form, from_edge }
    }
}

#[derive(Serialize)]
struct WantedJson<'a> {
    part: &'a str,
    #[serde(flatten)]
    source: Option<SourceJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    region: Option<usize>,
    #[serde(flatten)]
    shape: Option<ShapeJson>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    marks: Vec<MarkJson>,
    turn: TurnJson,
    flip: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    grain_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    made_from: Option<MadeFromJson<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    priority: Option<&'static str>,
    count: Option<usize>,
    placed: usize,
}

impl<'a> WantedJson<'a> {
    fn new(wanted: &'a Wanted, origin: &Origin, placed: usize) -> Self {
        let part = &wanted.part;
        let (source, region) = match origin {
            Origin::Drawing { region, .. } => (SourceJson::new(origin), Some(*region)),
            Origin::Rectangle { .. } | Origin::Outline => (None, None),
        };
        let drawn = source.is_some();
        Self {
            part: &part.name,
            source,
            region,
            shape: (!drawn).then(|| ShapeJson::new(&part.region)),
            marks: if drawn { Vec::new() } else { part.marks.iter().map(MarkJson::new).collect() },
            turn: TurnJson::new(&part.turning),
            flip: part.flip,
            grain_deg: part.grain.map(degrees),
            made_from: part
                .made_from
                .as_ref()
                .map(|m| MadeFromJson { material: &m.material, thickness: m.thickness }),
            priority: PRIORITIES
                .iter()
                .find(|(p, _)| *p == part.priority && *p != Priority::default())
                .map(|(_, name)| *name),
            count: match wanted.count {
                Count::Exactly(n) => Some(n),
                Count::Max => None,
            },
            placed,
        }
    }
}

#[derive(Serialize)]
struct MadeFromJson<'a> {
    material: &'a str,
    thickness: f64,
}

#[derive(Serialize)]
struct SourceJson {
    source: String,
    mm_per_unit: f64,
}

impl SourceJson {
    fn new(origin: &Origin) -> Option<Self> {
        let Origin::Drawing { path, mm_per_unit, .. } = origin else { return None };
        Some(Self { source: path.display().to_string(), mm_per_unit: *mm_per_unit })
    }
}

/// Lines and arcs as x, y of start and end, bulge.
#[derive(Serialize)]
struct MarkJson {
    kind: &'static str,
    edges: Vec<[f64; 5]>,
}

impl MarkJson {
    fn new(mark: &Mark) -> Self {
        let kind = match mark.kind {
            MarkKind::Engrave => "engrave",
            MarkKind::Bend => "bend",
        };
        Self { kind, edges: mark.edges.iter().map(edge_numbers).collect() }
    }
}

#[derive(Serialize)]
#[serde(untagged)]
enum TurnJson {
    Word(&'static str),
    Step(f64),
    Angles(Vec<f64>),
}

impl TurnJson {
    fn new(turning: &Turning) -> Self {
        match turning {
            Turning::Free => Self::Word("free"),
            only if *only == Turning::none() => Self::Word("none"),
            Turning::Only(angles) => match angles[..] {
                [_, step, ..] if *turning == Turning::steps(step) => Self::Step(degrees(step)),
                _ => Self::Angles(angles.iter().copied().map(degrees).collect()),
            },
        }
    }
}

#[derive(Serialize)]
struct SheetJson<'a> {
    sheet: &'a str,
    #[serde(flatten)]
    source: Option<SourceJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rectangle: Option<[f64; 2]>,
    #[serde(flatten)]
    shape: Option<ShapeJson>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    bodies: Vec<ShapeJson>,
    count: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    give_or_take: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    edge_facts: Option<Vec<Vec<FactJson>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    grain_deg: Option<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    no_go: Vec<NoGoJson<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    made_of: Option<MetalJson<'a>>,
    metal_mm2: f64,
    r#yield: f64,
    placements: Vec<PlacementJson<'a>>,
}

impl<'a> SheetJson<'a> {
    fn new(job: &'a SourcedJob, layout: &'a Layout) -> Self {
        let Stock { sheet, count } = &job.job.stock[layout.stock];
        let origin = &job.sheets[layout.stock];
        let (mut shape, mut bodies) = (None, Vec::new());
        if *origin == Origin::Outline {
            let mut shapes = sheet.bodies.iter().map(|b| ShapeJson::new(&b.region()));
            shape = shapes.next();
            bodies = shapes.collect();
        }
        let (give_or_take, edge_facts) = facts(&sheet.bodies);
        Self {
            sheet: &sheet.name,
            source: SourceJson::new(origin),
            rectangle: match origin {
                Origin::Rectangle { width, height } => Some([*width, *height]),
                Origin::Drawing { .. } | Origin::Outline => None,
            },
            shape,
            bodies,
            count: *count,
            give_or_take,
            edge_facts,
            grain_deg: sheet.grain.map(degrees),
            no_go: sheet.no_go.iter().map(NoGoJson::new).collect(),
            made_of: sheet.made_of.as_ref().map(|m| MetalJson {
                material: &m.material,
                thickness: m.thickness,
                density: m.density,
            }),
            metal_mm2: sheet.area(),
            r#yield: layout.yield_of(&job.job),
            placements: layout.placements.iter().map(|p| PlacementJson::new(&job.job, p)).collect(),
        }
    }
}

/// Kind of an edge and its give or take, mm.
#[derive(Serialize)]
struct FactJson(&'static str, f64);

/// One give or take where all edges are mill edges known alike, the facts of each contour where
/// they are not.
fn facts(bodies: &[Body]) -> (Option<f64>, Option<Vec<Vec<FactJson>>>) {
    let contours = || bodies.iter().flat_map(|b| std::iter::once(&b.outer).chain(&b.cutouts));
    let Some(first) = contours().flat_map(Contour::facts).next() else { return (None, None) };
    if *first == (EdgeFacts { give_or_take: first.give_or_take, ..EdgeFacts::default() })
        && contours().flat_map(Contour::facts).all(|f| f == first)
    {
        return ((first.give_or_take != 0.0).then_some(first.give_or_take), None);
    }
    let one = |fact: &EdgeFacts| {
        let name = EDGE_KINDS.iter().find(|(kind, _)| *kind == fact.kind).map_or("mill", |k| k.1);
        FactJson(name, fact.give_or_take)
    };
    let of_contour = |contour: &Contour| match contour.facts() {
        [first, rest @ ..] if rest.iter().all(|f| f == first) => vec![one(first)],
        all => all.iter().map(one).collect(),
    };
    (None, Some(contours().map(of_contour).collect()))
}

#[derive(Serialize)]
struct NoGoJson<'a> {
    name: &'a str,
    #[serde(flatten)]
    shape: ShapeJson,
    distance: f64,
    stands_up: bool,
}

impl<'a> NoGoJson<'a> {
    fn new(zone: &'a NoGo) -> Self {
        let region = oddment_core::shape::Region::new(zone.shape.clone(), Vec::new());
        let NoGo { name, clearance, stands_up, .. } = zone;
        Self { name, shape: ShapeJson::new(&region), distance: *clearance, stands_up: *stands_up }
    }
}

#[derive(Serialize)]
struct MetalJson<'a> {
    material: &'a str,
    thickness: f64,
    density: f64,
}

#[derive(Serialize)]
struct PlacementJson<'a> {
    part: &'a str,
    copy: usize,
    x: f64,
    y: f64,
    turn_deg: f64,
    flipped: bool,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    locked: bool,
}

impl<'a> PlacementJson<'a> {
    fn new(job: &'a Job, placement: &Placement) -> Self {
        let pose = &placement.pose;
        Self {
            part: &job.wanted[placement.part].part.name,
            copy: placement.copy,
            x: pose.shift.x,
            y: pose.shift.y,
            turn_deg: degrees(pose.turn),
            flipped: pose.flipped,
            locked: placement.locked,
        }
    }
}

#[derive(Serialize)]
struct CheckJson {
    clear: bool,
    r#as: &'static str,
    faults: Vec<FaultJson>,
    tightest: Option<MeasureJson>,
}

impl CheckJson {
    fn new(job: &Job, checked: &CheckedPlan) -> Self {
        let (plan, report) = (checked.plan(), checked.report());
        Self {
            clear: report.is_clear(),
            r#as: match checked.basis() {
                Basis::Recorded => "recorded",
                Basis::SquaredUp => "squared_up",
                Basis::Laid => "laid",
            },
            faults: report.faults.iter().map(|f| FaultJson::new(job, plan, f)).collect(),
            tightest: report.tightest.as_ref().map(|m| MeasureJson::new(job, plan, m)),
        }
    }
}

#[derive(Serialize)]
struct FaultJson {
    what: String,
    #[serde(flatten)]
    measure: Option<MeasureJson>,
}

impl FaultJson {
    fn new(job: &Job, plan: &Plan, fault: &Fault) -> Self {
        let measure = match fault {
            Fault::Short(measure) => Some(MeasureJson::new(job, plan, measure)),
            _ => None,
        };
        Self { what: fault_words(job, plan, fault, LengthUnit::Mm), measure }
    }
}

#[derive(Serialize)]
struct MeasureJson {
    between: [String; 2],
    distance: f64,
    required: f64,
}

impl MeasureJson {
    fn new(job: &Job, plan: &Plan, measure: &Measure) -> Self {
        Self {
            between: parties(job, plan, measure, LengthUnit::Mm),
            distance: measure.gap.distance,
            required: measure.required,
        }
    }
}

/// The shortest number of degrees near `radians` that reads back as exactly these radians; where
/// there is none, the nearest.
fn degrees(radians: f64) -> f64 {
    let nearest = radians.to_degrees();
    let (mut below, mut above) = (nearest, nearest);
    let mut candidates = vec![nearest];
    for _ in 0..4 {
        (below, above) = (below.next_down(), above.next_up());
        candidates.extend([below, above]);
    }
    candidates
        .into_iter()
        .filter(|d| d.to_radians() == radians)
        .min_by_key(|d| d.to_string().len())
        .unwrap_or(nearest)
}
