//! `oddment fit`: is there any place for one of a part?

use oddment_core::fit::{RESOLUTION, Verdict, fit};
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::units::LengthUnit;
use oddment_files::words::{measure_words, parties};
use serde::Serialize;

use crate::Outcome;
use crate::args::FitArgs;
use crate::console::Console;
use crate::job::{self, Reading};
use crate::refusal::Refusal;
use crate::search::{Limits, within};

#[derive(Serialize)]
struct Document {
    answer: &'static str,
    pose: Option<PoseSaid>,
    tightest: Option<TightestSaid>,
    shortfall_mm: Option<f64>,
    resolution_mm: f64,
    seconds: f64,
}

#[derive(Serialize)]
struct PoseSaid {
    x: f64,
    y: f64,
    turn_deg: f64,
    flipped: bool,
}

#[derive(Serialize)]
struct TightestSaid {
    between: [String; 2],
    distance: f64,
    required: f64,
}

pub(crate) fn run(args: &FitArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let reading = Reading {
        clearances: args.clearances,
        turning: &args.turning,
        units: args.units.unit(),
        shop: None,
    };
    let (sheets, parts) = ([args.sheet.clone()], [args.part.clone()]);
    let sourced = job::from_flags(&sheets, &parts, &reading)?;
    job::tell_notes(&sourced, console);
    let Job { stock, wanted, clearances, .. } = sourced.job;
    let ([stock], [wanted]) = (&stock[..], &wanted[..]) else {
        let sentence = format!(
            "there are {} parts in this drawing and fit asks about one; save it in a drawing of its own",
            wanted.len()
        );
        return Err(Refusal::about(args.part.display(), sentence));
    };
    let limits = Limits::new(args.seconds, None);
    let (answer, seconds) = within(limits, console, |budget, _| {
        fit(&stock.sheet, &wanted.part, &clearances, RESOLUTION, budget)
    });

    let one = Job {
        stock: vec![Stock { sheet: stock.sheet.clone(), count: 1 }],
        wanted: vec![Wanted { part: wanted.part.clone(), count: Count::Exactly(1) }],
        clearances,
        starts: None,
    };
    let placements = answer
        .pose
        .map(|pose| Placement { part: 0, copy: 1, pose, locked: false })
        .into_iter()
        .collect();
    let plan = Plan { layouts: vec![Layout { stock: 0, placements }] };
    let document = Document {
        answer: match answer.verdict {
            Verdict::Fits => "fits",
            Verdict::CannotFit => "cannot_fit",
            Verdict::Undecided => "undecided",
        },
        pose: answer.pose.map(|pose| PoseSaid {
            x: pose.shift.x,
            y: pose.shift.y,
            turn_deg: pose.turn.to_degrees(),
            flipped: pose.flipped,
        }),
        tightest: answer.tightest.as_ref().map(|measure| TightestSaid {
            between: parties(&one, &plan, measure, LengthUnit::Mm),
            distance: measure.gap.distance,
            required: measure.required,
        }),
        shortfall_mm: answer.shortfall(),
        resolution_mm: answer.resolution,
        seconds,
    };
    console.json(args.json.wanted, &document)?;
    tell(&wanted.part.name, &stock.sheet.name, &document, console);
    if let Some(tightest) = &answer.tightest {
        let tightest = measure_words(&one, &plan, tightest, LengthUnit::Mm);
        console.say(format_args!("Tightest there: {tightest}."));
    }
    Ok(Outcome::of(answer.verdict == Verdict::Fits))
}

fn tell(part: &str, sheet: &str, document: &Document, console: &mut Console<'_>) {
    let Document { answer, pose, shortfall_mm, resolution_mm, seconds, .. } = document;
    let verdict = match *answer {
        "fits" => format!("{part} fits on {sheet}"),
        "cannot_fit" => format!(
            "{part} cannot fit on {sheet}: at no angle allowed is there a place, even with all \
             distances {resolution_mm} mm less"
        ),
        _ => format!("Whether {part} fits on {sheet} could not be decided"),
    };
    console.say(format_args!("{verdict} ({seconds:.1} s)."));
    if let Some(PoseSaid { x, y, turn_deg, flipped }) = pose {
        let face = if *flipped { ", other face up" } else { "" };
        let place = if *answer == "fits" { "It lies at" } else { "The best place found is" };
        let short = match shortfall_mm {
            Some(mm) if *mm > 0.0 => format!(", {mm:.3} mm short"),
            _ => String::new(),
        };
        console
            .say(format_args!("{place} x {x:.3}, y {y:.3}, turned {turn_deg:.3}°{face}{short}."));
    }
}
