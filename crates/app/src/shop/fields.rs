//! The values by name, each with its key and what it is.

use oddment_core::compare::Policy;
use oddment_core::compare::policies::PolicyUnit;
use oddment_core::cut_data::{Family, Process};
use oddment_core::distances::LeadForm;
use oddment_core::machine::Zero;
use oddment_files::account_words::policy_words;
use oddment_files::policies::policy_key;
use oddment_files::values::row_key;

use super::{Kind, MATERIALS};

/// A value that can be said otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub help: &'static str,
    /// Of which kind it is.
    pub kind: Kind,
}

const PROCESSES: &[&str] = &["fibre laser", "CO2 laser", "plasma", "waterjet"];
const LEAD_FORMS: &[&str] = &[LeadForm::ALL[0].words(), LeadForm::ALL[1].words()];
const ZEROS: &[&str] = &[Zero::ALL[0].words(), Zero::ALL[1].words(), Zero::ALL[2].words()];

type Row = (&'static str, &'static str, &'static str, Kind);

fn fields(key: impl Fn(&str) -> String, rows: &[Row]) -> Vec<Field> {
    let field =
        |(field, name, help, kind): &Row| Field { key: key(field), name, help, kind: *kind };
    rows.iter().map(field).collect()
}

/// What a process needs round a cut, in metal up to a thickness.
pub fn cut_fields(process: Process, up_to: f64) -> Vec<Field> {
    fields(
        |field| row_key(process, up_to, field),
        &[
            ("kerf", "kerf", "full width of the slot, all of it on the waste side", Kind::Length),
            ("web", "web", "metal left between two cuts, at least", Kind::Length),
            (
                "web_per_mm",
                "web by thickness",
                "the same, growing with the thickness; the larger of the two holds",
                Kind::PerThickness,
            ),
            (
                "edge/mill",
                "mill edge",
                "metal left along an edge as it came from the mill",
                Kind::Length,
            ),
            ("edge/sheared", "sheared edge", "metal left along a sheared edge", Kind::Length),
            ("edge/own_cut", "own cut", "metal left along an edge cut here", Kind::Length),
            (
                "sensing",
                "sensing",
                "nearer to an old edge the head loses the surface; none where it does not sense",
                Kind::LengthOrNone,
            ),
            ("start/pierce", "pierce", "from a pierce to what is kept, at least", Kind::Length),
            (
                "start/pierce_per_mm",
                "pierce by thickness",
                "the same, growing with the thickness; the larger of the two holds",
                Kind::PerThickness,
            ),
            (
                "head",
                "head",
                "what it keeps from clamps and whatever else stands on the bed",
                Kind::Length,
            ),
            (
                "start/form",
                "lead-in runs",
                "straight, or onto the path along a quarter circle; out of the middle of small holes",
                Kind::Choice(LEAD_FORMS),
            ),
            (
                "start/from_edge",
                "starts from old edges",
                "of outlines, with no pierce; never where the head senses",
                Kind::Flag,
            ),
            ("start/lead", "lead-in", "its usual length", Kind::Length),
            ("start/least_lead", "shortest lead-in", "no lead-in is shorter", Kind::Length),
            (
                "start/lead_out",
                "lead-out",
                "how far the beam goes on into the waste, back along the lead-in",
                Kind::Length,
            ),
            (
                "start/small_hole_per_mm",
                "hole pierced in its middle",
                "radius of the narrowest hole that may be pierced in its middle",
                Kind::PerThickness,
            ),
            (
                "least_hole_per_mm",
                "least hole",
                "the narrowest hole that comes out well",
                Kind::PerThickness,
            ),
            ("tab", "tab", "what is left of a tab once cut", Kind::Length),
        ],
    )
}

/// How fast a metal is cut with a gas.
pub fn feed_fields(process: Process, family: Family, up_to: f64, gas: &str) -> Vec<Field> {
    fields(
        |field| format!("feeds/{process}/{family}/{up_to}/{gas}/{field}"),
        &[
            ("feed", "feed", "how fast it cuts", Kind::Feed),
            ("pierce_s", "pierce time", "how long it takes to go through", Kind::Seconds),
        ],
    )
}

/// What holds for a process whatever the metal.
pub fn process_fields(process: Process) -> Vec<Field> {
    fields(
        |field| format!("processes/{process}/{field}"),
        &[
            ("small_share", "feed along small holes", "share of the feed", Kind::Share),
            ("mark_feed", "engraving", "how fast it engraves", Kind::Feed),
            (
                "per_hour",
                "an hour costs",
                "machine, gas, consumables, whoever stands by",
                Kind::Money,
            ),
            ("per_pierce", "a pierce costs", "what of nozzle and gas it takes", Kind::Money),
            (
                "heavy_kg",
                "heavy slug",
                "slugs that weigh more and may tip get tabs",
                Kind::Kilograms,
            ),
            ("tabs", "tabs by themselves", "on parts that may tip or fall through", Kind::Flag),
            (
                "clockwise_outside",
                "outlines clockwise",
                "and holes the other way, as the swirl of plasma asks for",
                Kind::Flag,
            ),
        ],
    )
}

/// What is known of a machine.
pub fn machine_fields(name: &str) -> Vec<Field> {
    fields(
        |field| format!("machines/{name}/{field}"),
        &[
            ("process", "cuts by", "its process", Kind::Choice(PROCESSES)),
            ("bed_x", "bed along X", "how far the head reaches", Kind::Length),
            ("bed_y", "bed along Y", "how far the head reaches", Kind::Length),
            ("slats_deg", "slats run at", "from X; 90 is across the bed", Kind::Degrees),
            ("slat_pitch", "slat to slat", "from the middle of one to the next", Kind::Length),
            ("tooth_pitch", "tooth to tooth", "along a slat", Kind::Length),
            (
                "tooth_x",
                "a tooth at X",
                "of the bed, where one was measured; none where teeth may be anywhere",
                Kind::LengthOrNone,
            ),
            ("tooth_y", "and Y", "of the same tooth", Kind::LengthOrNone),
            ("acceleration", "acceleration", "how hard it speeds up", Kind::Acceleration),
            ("rapid", "rapid", "speed without the beam", Kind::Speed),
            ("corner_jump", "jump in corners", "change of speed it makes at once", Kind::Speed),
            ("lift_s", "lift and down", "of the head, over what may snag", Kind::Seconds),
            ("touch_off_s", "finding the surface", "before a pierce", Kind::Seconds),
            ("zero", "takes as zero", "of a drawing", Kind::Choice(ZEROS)),
            ("turns", "can turn a job", "one that can’t is given drawings turned", Kind::Flag),
        ],
    )
}

/// In which order is cut, and what comes last.
pub fn order_fields() -> Vec<Field> {
    fields(
        |field| format!("order/{field}"),
        &[
            ("heat_up_to", "heat spreads in metal up to", "0 for never", Kind::Length),
            (
                "heat_apart",
                "cuts then lie apart",
                "what is cut next lies so far from what was cut last, where there is such",
                Kind::Length,
            ),
            (
                "crop_least",
                "a strip is cropped off from",
                "so wide that no part lies in it; 0 for no crop line",
                Kind::Length,
            ),
            (
                "cut_up",
                "the skeleton is cut up into",
                "pieces no longer than this, last of all; 0 for not",
                Kind::Length,
            ),
        ],
    )
}

/// Weights by how they are lifted.
pub fn limit_fields() -> Vec<Field> {
    fields(
        |field| format!("limits/{field}"),
        &[
            ("one_person_kg", "one person", "lifts up to", Kind::Kilograms),
            ("two_people_kg", "two people", "lift up to; more takes a lifter", Kind::Kilograms),
        ],
    )
}

/// What the shop has decided about handling, rates, leftovers and what can be bought. What people carry
/// stands with the limits of weight.
pub fn policy_fields() -> Vec<Field> {
    let field = |policy: Policy| {
        let (name, help) = policy_words(policy);
        let kind = match policy.unit() {
            PolicyUnit::MoneyPerHour => Kind::Money,
            PolicyUnit::Minutes => Kind::Minutes,
            PolicyUnit::Kilograms => Kind::Kilograms,
            PolicyUnit::Millimetres => Kind::Length,
            PolicyUnit::Share => Kind::Share,
        };
        Field { key: policy_key(policy), name, help, kind }
    };
    let carried = |p: &Policy| matches!(p, Policy::OneCarries | Policy::TwoCarry);
    let mut all: Vec<Field> = Policy::ALL.into_iter().filter(|p| !carried(p)).map(field).collect();
    all.push(Field {
        key: "fresh/sizes".into(),
        name: "fresh sheets",
        help: "sizes that can be bought, with commas between",
        kind: Kind::Sizes,
    });
    all
}

/// What is known of a material.
pub fn material_fields(name: &str) -> Vec<Field> {
    fields(
        |field| format!("{MATERIALS}{name}/{field}"),
        &[
            ("density", "density", "weight of a cubic metre", Kind::Density),
            ("price", "a kilogram costs", "as bought", Kind::Money),
            ("scrap", "scrap brings", "for a kilogram", Kind::Money),
            ("keep_amount", "kept from", "worth more than scrap by so much", Kind::Money),
            ("keep_x", "kept if it holds", "a rectangle so wide", Kind::Length),
            ("keep_y", "and so high", "either way round", Kind::Length),
            ("stand_ins", "may be replaced by", "other materials, with commas between", Kind::Text),
        ],
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use oddment_files::values::Values;

    #[test]
    fn every_value_that_can_be_said_is_one_that_the_program_starts_with() {
        let values = Values::starting();
        let mut all = limit_fields();
        all.extend(policy_fields());
        all.extend(order_fields());
        for machine in &values.table().machines {
            all.extend(machine_fields(&machine.name));
        }
        for process in Process::ALL {
            all.extend(process_fields(process));
        }
        for row in &values.table().rows {
            all.extend(cut_fields(row.process, row.up_to));
        }
        for feed in &values.table().feeds {
            all.extend(feed_fields(feed.process, feed.family, feed.up_to, &feed.gas));
        }
        for field in &all {
            let now = values.get(&field.key);
            assert!(now.is_some(), "{}", field.key);
            // As it is shown it can be typed, and holds then.
            let shown = field.kind.show(now, oddment_core::units::LengthUnit::Mm);
            let typed = field.kind.read(&shown, oddment_core::units::LengthUnit::Mm).unwrap();
            assert!(values.with_one(&field.key, &typed).is_ok(), "{}: {shown}", field.key);
        }
        let mut keys: Vec<&str> = all.iter().map(|f| f.key.as_str()).collect();
        keys.sort_unstable();
        let count = keys.len();
        keys.dedup();
        assert_eq!(keys.len(), count);
    }

    #[test]
    fn names_of_processes_are_those_that_are_read() {
        let names: Vec<String> = Process::ALL.iter().map(ToString::to_string).collect();
        assert_eq!(names, PROCESSES);
    }
}
