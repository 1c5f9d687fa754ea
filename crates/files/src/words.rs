//! The check's findings in words, the same wherever a person reads them.

use oddment_core::check::{Fault, Measure, Party, RESOLUTION};
use oddment_core::cutting::common::sharing;
use oddment_core::cutting::starts::never_starts;
use oddment_core::cutting::support::Rest;
use oddment_core::cutting::warnings::Concern;
use oddment_core::cutting::{ContourNo, Cut};
use oddment_core::distances::{Clearances, StartRule};
use oddment_core::part::Part;
use oddment_core::plan::{Job, Layout, Placement, Plan};
use oddment_core::shape::{Point, SheetSpace};
use oddment_core::sheet::Sheet;
use oddment_core::square_up::{
    Bearing, Drawn, Explanation, Feature, How, Judgement, Measured, Missing, Rim, SquaredUp,
    Verdict, What,
};
use oddment_core::units::LengthUnit;

/// “1 bar”, “2 bars”.
pub fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// “1 part”, “2 parts”.
pub fn parts_words(count: usize) -> String {
    counted(count, "part", "parts")
}

/// A placed part by name and copy, such as `gusset #2`.
pub fn placed_name(job: &Job, layout: &Layout, placed: usize) -> String {
    let placement = layout.placements.get(placed);
    let part = placement.and_then(|p| job.wanted.get(p.part));
    match (placement, part) {
        (Some(placement), Some(wanted)) => format!("{} #{}", wanted.part.name, placement.copy),
        _ => "a part the job does not have".to_owned(),
    }
}

/// The two things a distance is between.
pub fn parties(job: &Job, plan: &Plan, measure: &Measure, unit: LengthUnit) -> [String; 2] {
    let Some(layout) = plan.layouts.get(measure.layout) else { return Default::default() };
    let other = match &measure.other {
        Party::Placed(other) => placed_name(job, layout, *other),
        Party::SheetEdge => "the sheet’s edge".to_owned(),
        Party::CutOut(_, at) => {
            format!("the old cut-out at {}, {}", unit.show(at.x), unit.show(at.y))
        }
        Party::NoGo(n) => job
            .stock
            .get(layout.stock)
            .and_then(|s| s.sheet.no_go.get(*n))
            .map_or_else(|| "something on the bed".to_owned(), |zone| zone.name.clone()),
    };
    [placed_name(job, layout, measure.placed), other]
}

/// A distance and what is required of it as figures: as few digits as tell the two apart, and never fewer
/// than lengths are read with.
pub fn figures(distance: f64, required: f64, unit: LengthUnit) -> Figures {
    let least = match unit {
        LengthUnit::Mm => 1,
        LengthUnit::Inch => 3,
    };
    let mut figures = Figures { digits: least, unit };
    let short = required - distance > RESOLUTION;
    while short && figures.digits < least + 2 && figures.of(distance) == figures.of(required) {
        figures.digits += 1;
    }
    figures
}

/// How many digits lengths are written with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Figures {
    digits: usize,
    unit: LengthUnit,
}

impl Figures {
    /// A length (mm), without its unit.
    pub fn of(self, mm: f64) -> String {
        let tens = 10f64.powi(self.digits as i32);
        // Adding zero turns −0 into 0.
        format!("{:.*}", self.digits, (mm / self.unit.in_mm() * tens).round() / tens + 0.0)
    }
}

/// A distance in words, such as `gusset #2 is 1.2 mm from the sheet’s edge, needs 2.3`.
pub fn measure_words(job: &Job, plan: &Plan, measure: &Measure, unit: LengthUnit) -> String {
    let [part, other] = parties(job, plan, measure, unit);
    let distance = measure.gap.distance;
    let figures = figures(distance, measure.required, unit);
    let required = figures.of(measure.required);
    if distance < 0.0 {
        let over = match measure.other {
            Party::SheetEdge => "over",
            _ => "deep in",
        };
        let depth = figures.of(-distance);
        return format!("{part} lies {depth} {unit} {over} {other}, needs {required} clear");
    }
    format!("{part} is {} {unit} from {other}, needs {required}", figures.of(distance))
}

/// A fault in words.
pub fn fault_words(job: &Job, plan: &Plan, fault: &Fault, unit: LengthUnit) -> String {
    let sheet = |layout: usize| {
        let stock = plan.layouts.get(layout).and_then(|l| job.stock.get(l.stock));
        stock.map_or("a sheet the job does not have", |s| s.sheet.name.as_str())
    };
    let part = |part: usize| job.wanted.get(part).map_or("a part", |w| w.part.name.as_str());
    match fault {
        Fault::Short(measure) => {
            let place = if plan.layouts.len() > 1 {
                format!("{} (sheet {}): ", sheet(measure.layout), measure.layout + 1)
            } else {
                String::new()
            };
            format!("{place}{}", measure_words(job, plan, measure, unit))
        }
        Fault::Turned { layout, placed } => match plan.layouts.get(*layout) {
            Some(l) => format!(
                "{} lies at an angle or on a face that it may not",
                placed_name(job, l, *placed)
            ),
            None => "a part lies at an angle or on a face that it may not".to_owned(),
        },
        Fault::WrongMetal { layout, placed } => {
            let words = plan.layouts.get(*layout).and_then(|l| {
                let part = &job.wanted.get(l.placements.get(*placed)?.part)?.part;
                let sheet = &job.stock.get(l.stock)?.sheet;
                wrong_metal_words(part, sheet, unit)
            });
            words.unwrap_or_else(|| "a part lies on another metal than it must be made of".into())
        }
        Fault::NoStart { layout, placed, contour } => {
            let name = plan
                .layouts
                .get(*layout)
                .map_or_else(|| "a part".to_owned(), |l| placed_name(job, l, *placed));
            let which = contour_words(*contour);
            let pierce = job.starts.map_or(0.0, |rule| rule.pierce);
            let beside = plan.layouts.get(*layout).map_or(0, |l| sharing_with(job, l, *placed));
            let closed_in = match (contour, beside) {
                (0, 1..) => format!(
                    "; it shares cuts with {}: lay it with more of its outline free",
                    counted(beside, "part", "parts")
                ),
                _ => String::new(),
            };
            format!(
                "{name} has no place to start {which}: a pierce {} {unit} from what is kept, and its \
                 lead-in, in waste metal{closed_in}",
                unit.show(pierce)
            )
        }
        Fault::Unknown { layout } => format!(
            "{} (sheet {}) carries a part that the job does not have, or a position that is no number",
            sheet(*layout),
            layout + 1
        ),
        Fault::TooMany { part: p, laid, wanted } => {
            format!("{laid} of {} are laid, {wanted} wanted", part(*p))
        }
        Fault::TooFewSheets { stock, used, there } => {
            let name = job.stock.get(*stock).map_or("a sheet", |s| s.sheet.name.as_str());
            format!("{used} of {name} are used, there are {there}")
        }
        Fault::SameCopy { part: p, copy } => {
            format!("two placements of {} both bear the number {copy}", part(*p))
        }
    }
}

/// That a sheet is not what a part must be made of; `None` where it is, or nothing is known.
pub fn wrong_metal_words(part: &Part, sheet: &Sheet, unit: LengthUnit) -> Option<String> {
    let (wanted, metal) = (part.made_from.as_ref()?, sheet.made_of.as_ref()?);
    (!wanted.suits(metal)).then(|| {
        format!(
            "{} must be {} {}; {} is {} {}",
            part.name,
            thickness_words(wanted.thickness, unit),
            wanted.material,
            sheet.name,
            thickness_words(metal.thickness, unit),
            metal.material
        )
    })
}

/// Why a part can be laid nowhere, where that is because a cut of it can't start: “two holes: no cut can
/// start in its hole of 0.8 mm; mark its centre instead”.
pub fn never_starts_words(
    part: &Part,
    clearances: &Clearances,
    rule: &StartRule,
) -> Option<String> {
    let contour = never_starts(part, clearances, rule)?;
    let name = &part.name;
    Some(match contour.checked_sub(1).map(|hole| part.region.holes()[hole].bounds()) {
        Some(hole) => format!(
            "{name}: no cut can start in its hole of {:.1} mm; mark its centre instead",
            hole.width().min(hole.height())
        ),
        None => format!("{name}: no cut of its outline can start"),
    })
}

/// A thickness with its unit, such as `3 mm` or `0.118 in`.
pub fn thickness_words(mm: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{} mm", (mm * 100.0).round() / 100.0),
        LengthUnit::Inch => format!("{:.3} in", mm / unit.in_mm()),
    }
}

/// What the pointer's dot must hit.
pub fn feature_words(feature: &Feature, unit: LengthUnit) -> String {
    match (feature.what, feature.rim) {
        (What::Corner(_, true), Rim::Outer) => "corner of the sheet".to_owned(),
        (What::Corner(_, false), Rim::Outer) => "inner corner of the sheet".to_owned(),
        (What::Corner(..), Rim::CutOut) => "corner of old cut-out".to_owned(),
        (What::Middle(_, radius), _) => {
            format!("middle of old hole, Ø {}", unit.show(2.0 * radius))
        }
        (What::Along(_), Rim::Outer) => "edge of the sheet".to_owned(),
        (What::Along(_), Rim::CutOut) => "edge of old cut-out".to_owned(),
    }
}

/// How a squared-up sheet lies, and what is typed at the machine with its drawing.
pub fn lies_words(s: &SquaredUp, datum: Point<SheetSpace>, unit: LengthUnit) -> String {
    let corner = s.pose().apply(datum);
    let lies = format!(
        "X and Y are on the bed: the datum corner lies at {}, {} {unit}, the sheet turned by {:.3}°.",
        unit.show(corner.x),
        unit.show(corner.y),
        s.pose().turn.to_degrees()
    );
    let (shift, turn) = s.to_type(datum);
    let shift = format!("{}, {} {unit}", unit.show(shift.x), unit.show(shift.y));
    let typed = match s.drawn {
        Drawn::OnBed => "The drawing is written where it is cut: nothing is typed.".to_owned(),
        Drawn::Turned => format!("The drawing is written turned: type {shift} for its zero."),
        Drawn::OnSheet => {
            format!("Type {shift} and {:.3}° for the drawing’s zero.", turn.to_degrees())
        }
    };
    format!("{lies} {typed}")
}

/// How a sheet lies otherwise than it was taken to.
pub fn how_words(how: How) -> String {
    let turned = match how.quarters % 4 {
        0 => "",
        1 => "turned by 90°",
        2 => "turned by 180°",
        _ => "turned by 270°",
    };
    match (how.flipped, turned) {
        (false, "") => "as it was taken to".to_owned(),
        (false, turned) => turned.to_owned(),
        (true, "") => "with its other face up".to_owned(),
        (true, turned) => format!("with its other face up and {turned}"),
    }
}

/// What was made of measurements, in sentences, the verdict first; `named` names a measurement, and
/// `rivals` the sheets it was compared with.
pub fn judgement_words(
    judged: &Judgement,
    measured: &[Measured],
    named: impl Fn(usize) -> String,
    rivals: &[String],
    unit: LengthUnit,
) -> Vec<String> {
    let place = |f: &Feature| {
        format!("{} at {}, {}", feature_words(f, unit), unit.show(f.at().x), unit.show(f.at().y))
    };
    let explained = |explanation: &Explanation| match explanation {
        Explanation::Bad(i, _) => {
            format!("{} is off, and the others fit: measure it again", named(*i))
        }
        Explanation::Otherwise(How::AS_TAKEN, taken, _) => {
            let others = taken.iter().zip(measured).enumerate();
            let others = others.filter(|(_, (now, was))| now.feature != was.feature);
            let said =
                others.map(|(i, (now, _))| format!("{} is the {}", named(i), place(&now.feature)));
            said.collect::<Vec<_>>().join(", ")
        }
        Explanation::Otherwise(how, ..) => format!("the sheet lies {}", how_words(*how)),
        Explanation::OtherSheet(n, _) => {
            format!("it is another sheet, {}", rivals.get(*n).map_or("one of those given", |r| r))
        }
    };
    let mut said = vec![match &judged.verdict {
        Verdict::Open(Missing::Points) => "Measure two points or more.".to_owned(),
        Verdict::Open(Missing::OtherWay) => {
            "These leave a shift open: measure an edge that runs the other way, or a corner."
                .to_owned()
        }
        Verdict::Open(Missing::Turn) => {
            "How the sheet is turned is open: measure a point far from these.".to_owned()
        }
        Verdict::Untested => "Nothing would show a mistake yet: measure one more point.".to_owned(),
        Verdict::Fine => "The measurements fit the sheet.".to_owned(),
        Verdict::Outvoted(bad) => format!(
            "The measurements fit the sheet but for {}, which counts for nothing: measure it again.",
            named(*bad)
        ),
        Verdict::TooLarge(found) => match &found[..] {
            [] => {
                "They do not fit this sheet, and nothing tried explains it: is it the right one? \
                   Measure again."
                    .to_owned()
            }
            [first, ..] => format!("They do not fit this sheet. Likeliest: {}.", explained(first)),
        },
    }];
    if let Verdict::TooLarge(found) = &judged.verdict {
        said.extend(found.iter().skip(1).map(|e| format!("Or {}.", explained(e))));
    }
    let otherwise = |how: How| match how {
        How::AS_TAKEN => "with other corners or holes hit".to_owned(),
        how => format!("with the sheet {}", how_words(how)),
    };
    let same_tell = judged.doubts.chunk_by(|a, b| a.tell == b.tell);
    said.extend(same_tell.map(|doubts| {
        let ways: Vec<String> = doubts.iter().map(|d| otherwise(d.how)).collect();
        let (ways, tell) = (ways.join(", or "), place(&doubts[0].tell));
        format!("They fit as well {ways}: measure the {tell} to know.")
    }));
    said
}

/// What a piece does once free.
pub fn rest_words(rest: Rest) -> &'static str {
    match rest {
        Rest::Flat => "stays flat",
        Rest::MayTip => "may tip up",
        Rest::FallsThrough => "may fall between the slats",
    }
}

/// What is wrong with what a clamp holds; nothing where it bears on sound metal.
pub fn bearing_words(bearing: Bearing) -> Option<&'static str> {
    match bearing {
        Bearing::Sound => None,
        Bearing::OverCutOut(_) => Some("reaches over an old cut-out: it bears on no sound metal"),
        Bearing::OffSheet => Some("hardly holds the sheet: most of it lies beside the metal"),
    }
}

/// What something is cut on, “fibre laser with oxygen”.
pub fn cut_on(machine: &str, gas: &str) -> String {
    match gas {
        "" => machine.to_owned(),
        gas => format!("{machine} with {gas}"),
    }
}

/// What a person should know of a cut.
pub fn concern_words(concern: Concern) -> &'static str {
    match concern {
        Concern::NoStart => {
            "no place to start in waste metal: choose one at the machine, or lay it elsewhere"
        }
        Concern::BadStart => "the start chosen by hand is not clear here: another is taken",
        Concern::OutsideBed => "the head would have to leave the bed",
        Concern::InNoGo => "the head comes into a clamp or another no-go zone",
        Concern::OverNothing => "the cut would run over an old cut-out or beyond the sheet",
        Concern::OverFreed => {
            "the head, lifted, passes over a freed piece that may have tipped up: watch it"
        }
        Concern::LockHeight => "close beside an old edge: lock the height here",
        Concern::SmallHole => "a hole too small for this thickness: it may not come out well",
        Concern::ThinWeb => {
            "less metal between two of its contours than this thickness should have"
        }
        Concern::NothingToCut => "a hole narrower than the slot: it is not cut",
        Concern::MayTip => "may tip up once free: no tabs keep it from that",
        Concern::FallsThrough => "may fall between the slats once free: no tabs keep it from that",
        Concern::SlugMayTip => "what is cut out of a hole may tip up: no tabs keep it from that",
    }
}

/// How many parts of a layout share a cut with one of them.
fn sharing_with(job: &Job, layout: &Layout, placed: usize) -> usize {
    let Some(kerf) = job.clearances.common_cut() else { return 0 };
    let region = |p: &Placement| job.wanted[p.part].part.region.placed(&p.pose);
    sharing(&layout.placements.iter().map(region).collect::<Vec<_>>(), placed, kerf).len()
}

/// “6.80 m”, or in feet.
pub fn cut_length(cut: &Cut, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{:.2} m", cut.length / 1000.0),
        LengthUnit::Inch => format!("{:.1} ft", cut.length / (12.0 * unit.in_mm())),
    }
}

/// A speed in mm/s as a shop says it: “3.8 m/min”, “150 in/min”.
pub fn feed_words(speed: f64, unit: LengthUnit) -> String {
    let per_minute = 60.0 * speed;
    match unit {
        LengthUnit::Mm => format!("{:.1} m/min", per_minute / 1000.0),
        LengthUnit::Inch => format!("{:.0} in/min", per_minute / unit.in_mm()),
    }
}

/// A contour of a part: its outline, or which of its holes.
pub fn contour_words(contour: ContourNo) -> String {
    match contour {
        0 => "its outline".to_owned(),
        hole => format!("its hole {hole}"),
    }
}
