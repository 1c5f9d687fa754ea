//! `oddment square`: how the sheet of a plan lies on the bed, and the plan checked as it is laid.

use std::sync::Arc;

use oddment_app::open_job::OpenJob;
use oddment_app::square_up::snug_anew;
use oddment_core::check::{CheckedPlan, check_laid};
use oddment_core::machine::Bed;
use oddment_core::plan::{Layout, Plan};
use oddment_core::shape::{BedSpace, Loop, Point, SheetSpace, Vector};
use oddment_core::sheet::Sheet;
use oddment_core::square_up::{
    Clamp, Doubt, Drawn, Explanation, Feature, Fit, Judgement, Measured, SquaredUp, Verdict, What,
    features, judge, pointer_points, sharper, tightest_spot, worth_measuring,
};
use oddment_core::units::{LengthUnit, parse_length};
use oddment_files::job_file::{SourcedJob, sheet_from_drawing};
use oddment_files::outputs::{Besides, Choices, write_outputs};
use oddment_files::plan_file::{read_plan, write_check};
use oddment_files::values::Values;
use oddment_files::words::{feature_words, judgement_words, lies_words, measure_words};
use serde::Serialize;
use serde_json::Value;

use crate::Outcome;
use crate::args::{DrawnArg, SquareArgs};
use crate::console::Console;
use crate::input;
use crate::nest::tell_check;
use crate::refusal::Refusal;

/// A place that is named by its coordinates is looked for so far around them, mm.
const AROUND: f64 = 25.0;
const MM: LengthUnit = LengthUnit::Mm;

#[derive(Serialize)]
struct Document {
    sheet: String,
    points: Vec<PointSaid>,
    pointer_points: Vec<PointerSaid>,
    tightest_spot: Option<PointerSaid>,
    verdict: &'static str,
    said: Vec<String>,
    explanations: Vec<Value>,
    doubts: Vec<Value>,
    lies: Option<LiesSaid>,
    sharper: Vec<Value>,
    moved: Vec<String>,
    poses: Vec<PoseSaid>,
    check: Option<Value>,
    worth_measuring: Vec<Value>,
}

#[derive(Serialize)]
struct PointSaid {
    place: String,
    what: String,
    at: [f64; 2],
    measured: [f64; 2],
    residual_mm: Option<f64>,
    expected_mm: Option<f64>,
}

#[derive(Serialize)]
struct PointerSaid {
    letter: char,
    what: String,
    at: [f64; 2],
    on_bed: Option<[f64; 2]>,
}

#[derive(Serialize)]
struct LiesSaid {
    x: f64,
    y: f64,
    turn_deg: f64,
    /// The most and the least that any point of the sheet may be off.
    lay_mm: [f64; 2],
    /// X, Y and angle to type for the drawing's zero.
    r#type: [f64; 3],
}

#[derive(Serialize)]
struct PoseSaid {
    part: String,
    copy: usize,
    x: f64,
    y: f64,
    turn_deg: f64,
    flipped: bool,
}

pub(crate) fn run(args: &SquareArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let about = |why: String| Refusal::about(args.plan.display(), why);
    let text = input::text(&args.plan)?;
    let (job, plan) = read_plan(&text, args.drawings.as_deref())
        .map_err(|faults| Refusal::each(args.plan.display(), &faults))?;
    let layout = args.sheet - 1;
    let laid = plan.layouts.get(layout).ok_or_else(|| {
        about(format!("it has no sheet {}; its last is {}", args.sheet, plan.layouts.len()))
    })?;
    let sheet = job.job.stock[laid.stock].sheet.clone();
    let spot = tightest_spot(&job.job, laid).map(|s| s.feature);
    let (names, measured) = points(args, &sheet, spot)?;
    let rivals = rivals(args)?;
    let judged = judge(&sheet, &measured, &rivals);
    let squared_up = judged.relied_on().and_then(SquaredUp::new);
    let squared_up = squared_up.map(|s| set_up(args, s)).transpose()?;
    let rival_names: Vec<String> = rivals.iter().map(|r| r.name.clone()).collect();
    let named = |i: usize| names.get(i).cloned().unwrap_or_default();
    let mut document = Document {
        sheet: sheet.name.clone(),
        points: points_said(&names, &measured, judged.fit.as_ref()),
        pointer_points: ('A'..)
            .zip(&pointer_points(&sheet))
            .map(|(letter, f)| pointer_said(letter, f, squared_up.as_ref()))
            .collect(),
        tightest_spot: spot.as_ref().map(|s| pointer_said('T', s, squared_up.as_ref())),
        verdict: match judged.verdict {
            Verdict::Open(_) => "open",
            Verdict::Untested => "untested",
            Verdict::Fine => "fine",
            Verdict::Outvoted(_) => "outvoted",
            Verdict::TooLarge(_) => "too_large",
        },
        said: judgement_words(&judged, &measured, named, &rival_names, MM),
        explanations: explanations(&judged, &names, &rival_names),
        doubts: judged.doubts.iter().map(doubt).collect(),
        lies: squared_up.as_ref().map(|s| lies(s, &sheet)),
        sharper: Vec::new(),
        moved: Vec::new(),
        poses: Vec::new(),
        check: None,
        worth_measuring: Vec::new(),
    };
    tell(&document, console);
    let (Some(s), Some(fit)) = (squared_up, &judged.fit) else {
        console.json(args.json.wanted, &document)?;
        return Ok(Outcome::No);
    };
    console.say(lies_words(&s, sheet.bounds().min, MM));
    document.sharper = sharpened(&sheet, &judged.counted(&measured), fit, console);
    let (checked, moved) = checked(args, &job, plan, layout, &s);
    for name in &moved {
        console.say(format_args!("{name} was snugged anew"));
    }
    document.moved = moved;
    let with_bed = checked.with_bed(&job.job);
    document.poses = poses(&job, &checked.plan().layouts[layout], &s);
    document.check = serde_json::from_str(&write_check(&with_bed, &checked)).ok();
    for worth in worth_measuring(&job.job, &checked) {
        let said = measure_words(&with_bed, checked.plan(), &worth.measure, MM);
        let (short, of) = (MM.show(worth.short), MM.show(worth.give_or_take));
        console.say(format_args!(
            "worth measuring: {said}: {short} short, of which {of} is give or take of this edge"
        ));
        let (from, to) = (worth.edge.from(), worth.edge.to());
        document.worth_measuring.push(serde_json::json!({
            "edge": [[from.x, from.y], [to.x, to.y]],
            "short_mm": worth.short,
            "give_or_take": worth.give_or_take,
        }));
    }
    if let Some(dir) = &args.out {
        crate::nest::prepare(dir)?;
        write_outputs(
            dir,
            &job,
            &checked,
            Values::starting(),
            &Choices::default(),
            &Besides::default(),
        )
        .map_err(|fault| Refusal::about(dir.display(), fault))?;
    }
    console.json(args.json.wanted, &document)?;
    tell_check(&with_bed, &checked, console);
    Ok(Outcome::of(checked.is_clear()))
}

/// Checks the plan as laid, where wanted after what became short was snugged anew.
fn checked(
    args: &SquareArgs,
    job: &SourcedJob,
    plan: Plan,
    layout: usize,
    squared_up: &SquaredUp,
) -> (CheckedPlan, Vec<String>) {
    let open = OpenJob { title: String::new(), sourced: Arc::new(job.clone()), plan };
    let (mut plan, mut moved) = (open.plan.clone(), Vec::new());
    if args.snug {
        let snugged = snug_anew(&open, layout, squared_up);
        moved = snugged.moved.iter().map(|copy| open.name_of(*copy)).collect();
        plan = snugged.plan;
    }
    let mut lie = vec![None; plan.layouts.len()];
    lie[layout] = Some(squared_up.clone());
    (check_laid(&job.job, plan, lie), moved)
}

/// What was measured, with the names that were given.
fn points(
    args: &SquareArgs,
    sheet: &Sheet,
    spot: Option<Feature>,
) -> Result<(Vec<String>, Vec<Measured>), Refusal> {
    let mut given: Vec<String> = args.point.clone();
    if let Some(file) = &args.points {
        let text = input::text(file)?;
        let rows = text.lines().map(str::trim).filter(|l| !l.is_empty() && !l.starts_with('#'));
        given.extend(rows.map(ToOwned::to_owned));
    }
    let (mut names, mut measured) = (Vec::new(), Vec::new());
    let mut refusal = Refusal::default();
    for text in &given {
        match point(text, sheet, spot) {
            Ok((name, feature, at)) => {
                names.push(name);
                measured.push(Measured { feature, at, give_or_take: args.pointer });
            }
            Err(why) => refusal.add(Refusal::about(format!("--point {text}"), why)),
        }
    }
    refusal.or((names, measured))
}

/// Reads `PLACE=X,Y`.
fn point(
    text: &str,
    sheet: &Sheet,
    spot: Option<Feature>,
) -> Result<(String, Feature, Point<BedSpace>), String> {
    const HOW: &str = "write PLACE=X,Y with a letter of the pointer list, corner:X,Y, hole:X,Y or \
                       edge:X,Y for the place, as in A=12.3,5.1 or edge:500,0=512.4,5.2";
    let (place, at) = text.rsplit_once('=').ok_or_else(|| format!("there is no “=”; {HOW}"))?;
    let at: Vector = pair(at).ok_or_else(|| format!("“{at}” is no X,Y; {HOW}"))?;
    let at = Point::<BedSpace>::origin() + at;
    let place = place.trim();
    if let Some((kind, where_)) = place.split_once(':') {
        let on: Vector = pair(where_).ok_or_else(|| format!("“{where_}” is no X,Y; {HOW}"))?;
        let on = Point::<SheetSpace>::origin() + on;
        let wanted = |f: &Feature| match kind {
            "corner" => matches!(f.what, What::Corner(..)),
            "hole" => matches!(f.what, What::Middle(..)),
            "edge" => matches!(f.what, What::Along(_)),
            _ => false,
        };
        let found = features(sheet).into_iter().filter(wanted);
        let found = found.min_by(|a, b| a.distance(on).total_cmp(&b.distance(on)));
        return match found.filter(|f| f.distance(on) <= AROUND) {
            Some(feature) => Ok((place.to_owned(), feature, at)),
            None => Err(format!("the sheet has no {kind} within {AROUND} mm of there; {HOW}")),
        };
    }
    if place.eq_ignore_ascii_case("T")
        && let Some(spot) = spot
    {
        return Ok(("T".to_owned(), spot, at));
    }
    let letters = pointer_points(sheet);
    let mut letter = place.chars();
    let index = letter.next().map(|c| c.to_ascii_uppercase() as usize).unwrap_or(0);
    let feature = index.checked_sub('A' as usize).and_then(|n| letters.get(n));
    match feature.filter(|_| letter.next().is_none()) {
        Some(feature) => Ok((place.to_ascii_uppercase(), *feature, at)),
        None => Err(format!("the pointer list has no “{place}”; {HOW}")),
    }
}

fn numbers(text: &str) -> Option<Vec<f64>> {
    text.split(',').map(|n| parse_length(n, MM).ok()).collect()
}

fn pair(text: &str) -> Option<Vector> {
    match numbers(text)?[..] {
        [x, y] => Some(Vector::new(x, y)),
        _ => None,
    }
}

fn rivals(args: &SquareArgs) -> Result<Vec<Sheet>, Refusal> {
    let one = |path: &std::path::PathBuf| {
        let drawing = input::drawing(path, None)?;
        Ok(sheet_from_drawing(path, &drawing).0)
    };
    args.other.iter().map(one).collect()
}

/// Bed, clamps, and how the drawing is written.
fn set_up(args: &SquareArgs, mut s: SquaredUp) -> Result<SquaredUp, Refusal> {
    s.bed = args.bed.map(|[width, height]| Bed { width, height });
    s.ticked = args.ticked;
    s.drawn = match args.drawn {
        DrawnArg::Bed => Drawn::OnBed,
        DrawnArg::Turned => Drawn::Turned,
        DrawnArg::Sheet => Drawn::OnSheet,
    };
    for (n, text) in args.clamp.iter().enumerate() {
        let clamp = match numbers(text).as_deref() {
            Some([x, y, width, height]) => Some((*x, *y, *width, *height, args.head)),
            Some([x, y, width, height, head]) => Some((*x, *y, *width, *height, *head)),
            _ => None,
        };
        let rectangle = |(x, y, width, height, head): (f64, f64, f64, f64, f64)| {
            let min = Point::new(x, y);
            let shape = Loop::rectangle(min, min + Vector::new(width, height)).ok()?;
            Some((shape, head)).filter(|_| width > 0.0 && height > 0.0 && head >= 0.0)
        };
        let Some((shape, clearance)) = clamp.and_then(rectangle) else {
            let why = "this is no clamp; write X,Y,WIDTH,HEIGHT on the bed, and after it how far the \
                       head keeps from it, if not as --head says";
            return Err(Refusal::about(format!("--clamp {text}"), why));
        };
        s.clamps.push(Clamp { name: format!("clamp {}", n + 1), shape, clearance });
    }
    Ok(s)
}

fn points_said(names: &[String], measured: &[Measured], fit: Option<&Fit>) -> Vec<PointSaid> {
    let one = |(i, m): (usize, &Measured)| {
        let residual = fit.and_then(|f| f.residuals.get(i));
        PointSaid {
            place: names[i].clone(),
            what: feature_words(&m.feature, MM),
            at: [m.feature.at().x, m.feature.at().y],
            measured: [m.at.x, m.at.y],
            residual_mm: residual.map(|r| r.off.length()),
            expected_mm: residual.map(|r| r.expected),
        }
    };
    measured.iter().enumerate().map(one).collect()
}

fn pointer_said(letter: char, f: &Feature, squared_up: Option<&SquaredUp>) -> PointerSaid {
    PointerSaid {
        letter,
        what: feature_words(f, MM),
        at: [f.at().x, f.at().y],
        on_bed: squared_up.map(|s| s.pose().apply(f.at())).map(|p| [p.x, p.y]),
    }
}

fn explanations(judged: &Judgement, names: &[String], rivals: &[String]) -> Vec<Value> {
    let bad = |i: usize| serde_json::json!({"kind": "bad_point", "point": names[i]});
    let found = match &judged.verdict {
        Verdict::TooLarge(found) => found,
        Verdict::Outvoted(i) => return vec![bad(*i)],
        _ => return Vec::new(),
    };
    let one = |explanation: &Explanation| match explanation {
        Explanation::Bad(i, _) => bad(*i),
        Explanation::Otherwise(how, taken, _) => {
            let at = |m: &Measured| [m.feature.at().x, m.feature.at().y];
            serde_json::json!({"kind": "lies_otherwise", "turned_deg": 90 * u32::from(how.quarters),
                "flipped": how.flipped, "hit": taken.iter().map(at).collect::<Vec<_>>()})
        }
        Explanation::OtherSheet(n, how) => serde_json::json!({"kind": "other_sheet",
            "sheet": rivals[*n], "turned_deg": 90 * u32::from(how.quarters),
            "flipped": how.flipped}),
    };
    found.iter().map(one).collect()
}

fn doubt(d: &Doubt) -> Value {
    serde_json::json!({"turned_deg": 90 * u32::from(d.how.quarters), "flipped": d.how.flipped,
        "measure": [d.tell.at().x, d.tell.at().y]})
}

fn lies(s: &SquaredUp, sheet: &Sheet) -> LiesSaid {
    let bounds = sheet.bounds();
    let (shift, turn) = s.to_type(bounds.min);
    LiesSaid {
        x: s.pose().shift.x,
        y: s.pose().shift.y,
        turn_deg: s.pose().turn.to_degrees(),
        lay_mm: [s.lay().within(&bounds), s.lay().at(bounds.centre())],
        r#type: [shift.x, shift.y, turn.to_degrees()],
    }
}

fn sharpened(
    sheet: &Sheet,
    measured: &[Measured],
    fit: &Fit,
    console: &mut Console<'_>,
) -> Vec<Value> {
    let found = sharper(sheet, measured, fit);
    for s in &found {
        console.say(format_args!(
            "contour {}, edge {}: give or take {} instead of {} mm",
            s.contour,
            s.edge,
            MM.show(s.is),
            MM.show(s.was)
        ));
    }
    let one = |s: &oddment_core::square_up::Sharper| serde_json::json!({"contour": s.contour, "edge": s.edge, "was": s.was, "is": s.is});
    found.iter().map(one).collect()
}

fn poses(job: &SourcedJob, layout: &Layout, s: &SquaredUp) -> Vec<PoseSaid> {
    let one = |p: &oddment_core::plan::Placement| {
        let pose = s.pose().after(&p.pose);
        PoseSaid {
            part: job.job.wanted[p.part].part.name.clone(),
            copy: p.copy,
            x: pose.shift.x,
            y: pose.shift.y,
            turn_deg: pose.turn.to_degrees(),
            flipped: pose.flipped,
        }
    };
    layout.placements.iter().map(one).collect()
}

fn tell(document: &Document, console: &mut Console<'_>) {
    for p in document.pointer_points.iter().chain(&document.tightest_spot) {
        let at = p.on_bed.map_or_else(String::new, |[x, y]| {
            format!(", on the bed {}, {}", MM.show(x), MM.show(y))
        });
        let [x, y] = p.at;
        console.say(format_args!("{}  {} at {}, {}{at}", p.letter, p.what, MM.show(x), MM.show(y)));
    }
    for p in &document.points {
        if let (Some(off), Some(expected)) = (p.residual_mm, p.expected_mm) {
            console.say(format_args!(
                "{}: {} mm off, up to {} is to be expected",
                p.place,
                MM.show(off),
                MM.show(expected)
            ));
        }
    }
    for said in &document.said {
        console.say(said);
    }
}
