//! Cut data from its JSON, and the values the program starts with.

use oddment_core::cut_data::{
    CutRow, CutTable, Family, FeedRow, OrderRow, Process, ProcessRow, StartRow,
};
use oddment_core::cutting::OrderRules;
use oddment_core::distances::{EdgeDistance, LeadForm};
use oddment_core::machine::{Bed, Machine, Motion, Slats, Zero};
use oddment_core::shape::Point;
use serde::Deserialize;

/// Why cut data can't be used.
#[derive(Debug, thiserror::Error)]
pub enum CutDataFault {
    /// Not the JSON of cut data.
    #[error("these are not cut data: {0}")]
    NotCutData(#[from] serde_json::Error),
    /// Another format or a later version.
    #[error("these are {0} of version {1}; oddment-cut-data of version 1 in mm are read")]
    OtherFormat(String, u32),
    /// A process nobody knows.
    #[error("row {0}: “{1}” is no process; there are fibre laser, CO2 laser, plasma, waterjet")]
    UnknownProcess(usize, String),
    /// A form of lead-in nobody knows.
    #[error("row {0}: “{1}” is no form of lead-in; there are straight, arc")]
    UnknownForm(usize, String),
    /// A length below zero or beyond all machines.
    #[error("row {0}: {1} is {2}; it must be a length from 0 to 1000 mm")]
    OutOfRange(usize, &'static str, f64),
    /// A family of metals nobody knows.
    #[error("feed {0}: “{1}” is no family of metals; there are steel, stainless, aluminium")]
    UnknownFamily(usize, String),
    /// Slats or teeth that are nearer or farther than any.
    #[error("machine {0}: {1} is {2}; it must be from 2 to 1000 mm")]
    NoPitch(usize, &'static str, f64),
    /// Something that no machine takes as zero.
    #[error("machine {0}: “{1}” is no zero; there are drawing origin, box corner, first pierce")]
    UnknownZero(usize, String),
    /// Something in the order of a cut that can't be.
    #[error(
        "order: {0} is {1}; it must be a length from 0 to {LONGEST} mm, and pieces that are cut up no \
         shorter than {LEAST_PIECE} mm"
    )]
    NoOrder(&'static str, f64),
    /// A speed, a time or an amount of money that can't be.
    #[error("{0} {1}: {2} is {3}; it must be a number from 0 to 1,000,000, and speeds more than 0")]
    NoAmount(&'static str, usize, &'static str, f64),
}

/// Nothing in the order of a cut is longer, mm.
const LONGEST: f64 = 10_000.0;
/// No skeleton is cut up into smaller pieces, mm.
const LEAST_PIECE: f64 = 100.0;

/// The document of the starting points.
pub(crate) const STARTING_CUT_DATA: &str = include_str!("../../../assets/cut_data.json");

/// The starting points that come with the program. They are for a shop to replace by what its own
/// machine and trials say.
///
/// # Errors
/// Never for the data the program was tested with.
pub fn starting_cut_data() -> Result<CutTable, CutDataFault> {
    read_cut_data(STARTING_CUT_DATA)
}

/// Reads cut data; all lengths are mm.
///
/// # Errors
/// A sentence, with the row counted from 1.
pub fn read_cut_data(json: &str) -> Result<CutTable, CutDataFault> {
    let file: CutDataFile = serde_json::from_str(json)?;
    if (file.format.as_str(), file.version, file.units.as_str()) != ("oddment-cut-data", 1, "mm") {
        return Err(CutDataFault::OtherFormat(file.format, file.version));
    }
    let rows = file.rows.into_iter().enumerate().map(|(i, r)| r.checked(i + 1));
    let feeds = file.feeds.into_iter().enumerate().map(|(i, f)| f.checked(i + 1));
    let processes = file.processes.into_iter().enumerate().map(|(i, p)| p.checked(i + 1));
    let machines = file.machines.into_iter().enumerate().map(|(i, m)| m.checked(i + 1));
    Ok(CutTable {
        rows: rows.collect::<Result<_, _>>()?,
        feeds: feeds.collect::<Result<_, _>>()?,
        processes: processes.collect::<Result<_, _>>()?,
        machines: machines.collect::<Result<_, _>>()?,
        order: file.order.checked()?,
    })
}

fn process_named(number: usize, name: String) -> Result<Process, CutDataFault> {
    Process::named(&name).ok_or(CutDataFault::UnknownProcess(number, name))
}

/// Refuses what is no amount; what is named in `speeds` must not be 0 either.
fn amounts(
    list: &'static str,
    number: usize,
    given: &[(&'static str, f64)],
    speeds: &[&str],
) -> Result<(), CutDataFault> {
    for (what, value) in given {
        let speed = speeds.contains(what);
        if !(0.0..=1e6).contains(value) || (speed && *value <= 0.0) {
            return Err(CutDataFault::NoAmount(list, number, what, *value));
        }
    }
    Ok(())
}

/// Feeds are per minute in the file.
const PER_MINUTE: f64 = 1.0 / 60.0;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FeedFile {
    process: String,
    family: String,
    up_to: f64,
    gas: String,
    feed: f64,
    pierce_s: f64,
}

impl FeedFile {
    fn checked(self, number: usize) -> Result<FeedRow, CutDataFault> {
        let process = process_named(number, self.process)?;
        let Some(family) = Family::named(&self.family) else {
            return Err(CutDataFault::UnknownFamily(number, self.family));
        };
        let given = [("up_to", self.up_to), ("feed", self.feed), ("pierce_s", self.pierce_s)];
        amounts("feed", number, &given, &["feed"])?;
        Ok(FeedRow {
            process,
            family,
            up_to: self.up_to,
            gas: self.gas,
            speed: self.feed * PER_MINUTE,
            pierce_seconds: self.pierce_s,
        })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ProcessFile {
    process: String,
    clockwise_outside: bool,
    small_share: f64,
    mark_feed: f64,
    per_hour: f64,
    per_pierce: f64,
    heavy_kg: f64,
    #[serde(default = "yes")]
    tabs: bool,
}

fn yes() -> bool {
    true
}

impl ProcessFile {
    fn checked(self, number: usize) -> Result<ProcessRow, CutDataFault> {
        let given = [
            ("small_share", self.small_share),
            ("mark_feed", self.mark_feed),
            ("per_hour", self.per_hour),
            ("per_pierce", self.per_pierce),
            ("heavy_kg", self.heavy_kg),
        ];
        amounts("process", number, &given, &["small_share", "mark_feed"])?;
        Ok(ProcessRow {
            process: process_named(number, self.process)?,
            clockwise_outside: self.clockwise_outside,
            small_share: self.small_share,
            mark_speed: self.mark_feed * PER_MINUTE,
            per_hour: self.per_hour,
            per_pierce: self.per_pierce,
            heavy: self.heavy_kg,
            tabs: self.tabs,
        })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MachineFile {
    name: String,
    process: String,
    bed_x: f64,
    bed_y: f64,
    slats_deg: f64,
    slat_pitch: f64,
    #[serde(default)]
    tooth_x: Option<f64>,
    #[serde(default)]
    tooth_y: Option<f64>,
    tooth_pitch: f64,
    acceleration: f64,
    rapid: f64,
    corner_jump: f64,
    lift_s: f64,
    touch_off_s: f64,
    zero: String,
    turns: bool,
}

impl MachineFile {
    fn checked(self, number: usize) -> Result<Machine, CutDataFault> {
        let given = [
            ("bed_x", self.bed_x),
            ("bed_y", self.bed_y),
            ("acceleration", self.acceleration),
            ("rapid", self.rapid),
            ("corner_jump", self.corner_jump),
            ("lift_s", self.lift_s),
            ("touch_off_s", self.touch_off_s),
            ("slat_pitch", self.slat_pitch),
            ("tooth_pitch", self.tooth_pitch),
            ("tooth_x", self.tooth_x.unwrap_or(0.0)),
            ("tooth_y", self.tooth_y.unwrap_or(0.0)),
        ];
        let some = ["bed_x", "bed_y", "acceleration", "rapid", "corner_jump"];
        amounts("machine", number, &given, &some)?;
        // Closer teeth than this are as good as a plate, and take long to count.
        for (what, mm) in [("slat_pitch", self.slat_pitch), ("tooth_pitch", self.tooth_pitch)] {
            if !(2.0..=1000.0).contains(&mm) {
                return Err(CutDataFault::NoPitch(number, what, mm));
            }
        }
        if !self.slats_deg.is_finite() {
            return Err(CutDataFault::NoAmount("machine", number, "slats_deg", self.slats_deg));
        }
        let Some(zero) = Zero::named(&self.zero) else {
            return Err(CutDataFault::UnknownZero(number, self.zero));
        };
        Ok(Machine {
            name: self.name,
            process: process_named(number, self.process)?,
            bed: Bed { width: self.bed_x, height: self.bed_y },
            slats: Slats {
                direction: self.slats_deg.to_radians(),
                pitch: self.slat_pitch,
                tooth_pitch: self.tooth_pitch,
                tooth: self.tooth_x.zip(self.tooth_y).map(|(x, y)| Point::new(x, y)),
            },
            motion: Motion {
                acceleration: self.acceleration,
                rapid: self.rapid,
                corner_jump: self.corner_jump,
                lift_seconds: self.lift_s,
                touch_off_seconds: self.touch_off_s,
            },
            zero,
            turns: self.turns,
        })
    }
}

#[derive(Deserialize)]
struct CutDataFile {
    format: String,
    version: u32,
    units: String,
    rows: Vec<Row>,
    #[serde(default)]
    feeds: Vec<FeedFile>,
    #[serde(default)]
    processes: Vec<ProcessFile>,
    #[serde(default)]
    machines: Vec<MachineFile>,
    #[serde(default)]
    order: OrderFile,
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct OrderFile {
    heat_up_to: f64,
    heat_apart: f64,
    crop_least: f64,
    cut_up: f64,
}

impl OrderFile {
    fn checked(&self) -> Result<OrderRow, CutDataFault> {
        let Self { heat_up_to, heat_apart, crop_least, cut_up } = *self;
        for (what, mm) in [
            ("heat_up_to", heat_up_to),
            ("heat_apart", heat_apart),
            ("crop_least", crop_least),
            ("cut_up", cut_up),
        ] {
            if !(0.0..=LONGEST).contains(&mm) {
                return Err(CutDataFault::NoOrder(what, mm));
            }
        }
        if cut_up > 0.0 && cut_up < LEAST_PIECE {
            return Err(CutDataFault::NoOrder("cut_up", cut_up));
        }
        let rules = OrderRules { heat_apart, crop_least, cut_up };
        Ok(OrderRow { rules, heat_up_to })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    process: String,
    up_to: f64,
    kerf: f64,
    web: f64,
    #[serde(default)]
    web_per_mm: f64,
    edge: Edge,
    sensing: Option<f64>,
    head: f64,
    start: StartFile,
    least_hole_per_mm: f64,
    tab: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StartFile {
    pierce: f64,
    pierce_per_mm: f64,
    small_hole_per_mm: f64,
    least_lead: f64,
    lead: f64,
    #[serde(default)]
    lead_out: f64,
    #[serde(default = "straight")]
    form: String,
    #[serde(default)]
    from_edge: bool,
}

fn straight() -> String {
    LeadForm::Straight.words().into()
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Edge {
    own_cut: f64,
    sheared: f64,
    mill: f64,
}

impl Row {
    fn checked(self, number: usize) -> Result<CutRow, CutDataFault> {
        let Some(process) = Process::named(&self.process) else {
            return Err(CutDataFault::UnknownProcess(number, self.process));
        };
        let Edge { own_cut, sheared, mill } = self.edge;
        let StartFile { pierce, pierce_per_mm, small_hole_per_mm, least_lead, lead, .. } =
            self.start;
        let StartFile { lead_out, form, from_edge, .. } = self.start;
        let Some(form) = LeadForm::named(&form) else {
            return Err(CutDataFault::UnknownForm(number, form));
        };
        for (what, mm) in [
            ("up_to", self.up_to),
            ("kerf", self.kerf),
            ("web", self.web),
            ("web_per_mm", self.web_per_mm),
            ("own_cut", own_cut),
            ("sheared", sheared),
            ("mill", mill),
            ("sensing", self.sensing.unwrap_or(0.0)),
            ("head", self.head),
            ("pierce", pierce),
            ("pierce_per_mm", pierce_per_mm),
            ("small_hole_per_mm", small_hole_per_mm),
            ("least_lead", least_lead),
            ("lead", lead),
            ("lead_out", lead_out),
            ("least_hole_per_mm", self.least_hole_per_mm),
            ("tab", self.tab),
        ] {
            if !(0.0..=1000.0).contains(&mm) {
                return Err(CutDataFault::OutOfRange(number, what, mm));
            }
        }
        Ok(CutRow {
            process,
            up_to: self.up_to,
            kerf: self.kerf,
            web: self.web,
            web_per_mm: self.web_per_mm,
            edge: EdgeDistance { own_cut, sheared, mill },
            sensing: self.sensing,
            head: self.head,
            start: StartRow {
                pierce,
                pierce_per_mm,
                small_hole_per_mm,
                least_lead,
                lead,
                lead_out,
                form,
                from_edge,
            },
            least_hole_per_mm: self.least_hole_per_mm,
            tab: self.tab,
        })
    }
}

#[cfg(test)]
mod tests {
    use oddment_core::distances::{Clearances, StartRule};
    use oddment_core::sheet::Metal;

    use super::*;

    fn check(process: Process, thickness: f64, kerf: f64, web: f64, mill: f64) {
        let found = starting_cut_data().unwrap().clearances(process, thickness).unwrap();
        assert_eq!((found.kerf, found.web, found.edge.mill), (kerf, web, mill), "{thickness} mm");
    }

    #[test]
    fn orders_of_size_by_process_and_thickness() {
        check(Process::FibreLaser, 1.0, 0.15, 2.0, 5.0);
        check(Process::FibreLaser, 3.0, 0.3, 3.0, 7.0);
        check(Process::FibreLaser, 6.0, 0.3, 6.0, 7.0);
        check(Process::FibreLaser, 20.0, 0.6, 18.0, 12.0);
        check(Process::Plasma, 3.0, 1.2, 5.0, 10.0);
        check(Process::Plasma, 8.0, 1.8, 8.0, 10.0);
        check(Process::Plasma, 20.0, 3.0, 20.0, 20.0);
        check(Process::Waterjet, 30.0, 1.1, 5.0, 10.0);
    }

    #[test]
    fn where_nothing_is_said_it_is_thin_metal_on_a_fibre_laser() {
        let table = starting_cut_data().unwrap();
        assert_eq!(table.clearances(Process::FibreLaser, 1.5), Some(Clearances::STARTING));
    }

    #[test]
    fn where_nothing_is_said_starts_are_no_nearer_than_for_thin_metal_on_a_fibre_laser() {
        let starts = starting_cut_data().unwrap().starts(Process::FibreLaser, 1.5).unwrap();
        let said = StartRule::STARTING;
        assert_eq!(
            (starts.pierce, starts.least_lead, starts.lead),
            (said.pierce, said.least_lead, said.lead)
        );
        assert!(starts.small_hole <= said.small_hole);
        assert!(!starts.clockwise_outside && !said.clockwise_outside);
    }

    #[test]
    fn every_process_cuts_every_family_of_metals_and_thicker_metal_slower() {
        let table = starting_cut_data().unwrap();
        for process in Process::ALL {
            for (material, density) in [("S235", 7850.0), ("1.4301", 7900.0), ("5754", 2670.0)] {
                let speed = |thickness: f64| {
                    let metal = Metal { material: material.to_owned(), thickness, density };
                    table.facts(process, &metal).map(|f| f.feed.speed)
                };
                let thin = speed(1.0).unwrap();
                assert!(speed(3.0).unwrap() < thin && speed(6.0).unwrap() < speed(3.0).unwrap());
            }
        }
    }

    #[test]
    fn thicker_metal_never_asks_for_less() {
        let table = starting_cut_data().unwrap();
        for process in Process::ALL {
            let up_to = |t: f64| table.clearances(process, t);
            let mut last = up_to(0.5).unwrap();
            for next in (2..200).map_while(|half| up_to(half as f64 * 0.5)) {
                assert!(next.kerf >= last.kerf && next.web >= last.web);
                assert!(next.sensing >= last.sensing && next.edge.mill >= last.edge.mill);
                last = next;
            }
        }
    }

    fn refused(json: &str, sentence: &str) {
        let fault = read_cut_data(json).unwrap_err().to_string();
        assert!(fault.contains(sentence), "{fault}");
    }

    #[test]
    fn what_is_no_cut_data_is_refused() {
        let of = |process: &str, kerf: &str| {
            format!(
                r#"{{"format": "oddment-cut-data", "version": 1, "units": "mm", "rows": [
                {{"process": "{process}", "up_to": 3, "kerf": {kerf}, "web": 2, "sensing": null,
                "head": 9, "edge": {{"own_cut": 1, "sheared": 1, "mill": 1}},
                "start": {{"pierce": 2, "pierce_per_mm": 1, "small_hole_per_mm": 1, "least_lead": 5,
                "lead": 6}}, "least_hole_per_mm": 1, "tab": 2}}],
                "feeds": [{{"process": "plasma", "family": "steel", "up_to": 3, "gas": "air",
                "feed": 4800, "pierce_s": 0.3}}]}}"#
            )
        };
        assert!(read_cut_data(&of("plasma", "1.5")).is_ok());
        refused(&of("plasma", "-1"), "row 1: kerf is -1");
        refused(&of("scissors", "1"), "“scissors” is no process");
        refused(&of("plasma", "1").replace("4800", "0"), "feed 1: feed is 0");
        refused(&of("plasma", "1").replace("\"steel\"", "\"cheese\""), "“cheese” is no family");
        let bent = of("plasma", "1").replace("\"lead\": 6", "\"lead\": 6, \"form\": \"bent\"");
        refused(&bent, "“bent” is no form of lead-in");
        refused(&of("plasma", "\"wide\""), "not cut data");
        refused(&of("plasma", "1").replace("version\": 1", "version\": 2"), "of version 2");
        refused("", "not cut data");
    }
}
