//! What the set-up sheet says of the cut: its length, pierces and minutes, what to watch, and the
//! code by which the plan is found again.

use oddment_core::cut_data::Process;
use oddment_core::cutting::Cut;
use oddment_core::cutting::warnings::Concern;
use oddment_core::plan::{Job, Plan};
use oddment_core::shape::Point;
use oddment_core::units::LengthUnit;

use super::page::Page;
use crate::picture::{NoPdf, draw_code};
use crate::words::{concern_words, cut_length};

/// Side of the code, points.
const CODE: f64 = 34.0;
/// Parts named beside a concern, at most.
const MOST_NAMED: usize = 8;

/// Labels and values for the row of facts, lengths in `unit` or for people's sake in metres.
pub(super) fn facts(cut: &Cut, unit: LengthUnit) -> [(&'static str, String); 4] {
    let tabs: usize = cut.passes.iter().map(|p| p.tabs.len()).sum();
    let [least, most] = cut.within(cut.likely_seconds).map(|seconds| seconds / 60.0);
    [
        ("Cut length", cut_length(cut, unit)),
        ("Pierces", cut.pierces.to_string()),
        ("Minutes, about", format!("{least:.1} to {most:.1}")),
        ("Tabs", tabs.to_string()),
    ]
}

/// What is to be ticked off because of how it is cut.
pub(super) fn cautions(process: Process) -> &'static [&'static str] {
    match process {
        Process::FibreLaser | Process::Co2Laser => &[FUMES, REFLECTS, FIRE, HOT],
        Process::Plasma => &[FUMES, ARC, FIRE, HOT],
        Process::Waterjet => &[JET, WASHED, SHARP],
    }
}

/// Where nobody knows how it is cut.
pub(super) const ANY_PROCESS: &[&str] = &[FUMES, REFLECTS, FIRE, HOT];

const FUMES: &str = "Extraction is on. Galvanised, coated, painted or oily metal gives off harmful \
    fumes: clean it or do not cut it.";
const REFLECTS: &str =
    "Copper, brass and polished metal reflect the beam: only if the machine’s manual allows them.";
const ARC: &str = "The arc blinds and burns, and is loud: screens stand, and all who could see it wear \
    shaded visors and ear protection.";
const FIRE: &str = "Nothing that burns lies near or below; an extinguisher is at hand; somebody keeps \
    watch during the cut and after it.";
const HOT: &str = "Gloves for sharp edges. Drops and slugs are hot, and small parts may tip up into \
    the head’s way.";
const JET: &str = "The jet cuts through a hand: guards are closed, and nobody reaches over or below the \
    sheet while there is pressure. A wound by the jet is for a hospital at once.";
const WASHED: &str = "The sheet is held down: water lifts light sheets and carries small parts away. Eyes \
    and ears are protected.";
const SHARP: &str = "Gloves for sharp edges. Small parts may tip up into the head’s way.";

/// What to watch, each concern once with the numbers of the parts.
pub(super) fn watch(cut: &Cut) -> Vec<String> {
    let mut said: Vec<(Concern, Vec<Option<usize>>)> = Vec::new();
    for warning in &cut.warnings {
        match said.iter_mut().find(|(c, _)| *c == warning.concern) {
            Some((_, parts)) if parts.contains(&warning.placed) => {}
            Some((_, parts)) => parts.push(warning.placed),
            None => said.push((warning.concern, vec![warning.placed])),
        }
    }
    let line = |(concern, parts): (Concern, Vec<Option<usize>>)| {
        let name = |p: &Option<usize>| {
            p.map_or_else(|| "skeleton".to_owned(), |placed| format!("No. {}", placed + 1))
        };
        let named: Vec<String> = parts.iter().take(MOST_NAMED).map(name).collect();
        let more = if parts.len() > MOST_NAMED { " and more" } else { "" };
        format!("{}{more}: {}", named.join(", "), concern_words(concern))
    };
    said.into_iter().map(line).collect()
}

/// Draws the code of the plan below the top right corner of a page.
///
/// # Errors
/// Where the sheet's name is too long for a code.
pub(super) fn draw_plan_code(
    page: &mut Page,
    job: &Job,
    plan: &Plan,
    sheet: &str,
) -> Result<(), NoPdf> {
    let text = format!("ODDMENT {} {:016X}", sheet.to_uppercase(), fingerprint(job, plan));
    let at = Point::new(page.right() - CODE, page.y + 13.0);
    draw_code(&mut page.picture, &text, at, CODE)
}

/// The same number for the same plan: FNV-1a over what lies where.
fn fingerprint(job: &Job, plan: &Plan) -> u64 {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    let mut add = |bytes: &[u8]| {
        for byte in bytes {
            hash = (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    };
    for layout in plan.layouts.iter().filter(|l| l.is_known(job)) {
        add(job.stock[layout.stock].sheet.name.as_bytes());
        for p in &layout.placements {
            add(job.wanted[p.part].part.name.as_bytes());
            add(&p.copy.to_le_bytes());
            for number in [p.pose.shift.x, p.pose.shift.y, p.pose.turn] {
                add(&number.to_le_bytes());
            }
            add(&[u8::from(p.pose.flipped)]);
        }
    }
    hash
}
