//! Cut data from its JSON, and the values the program starts with.

use oddment_core::cut_data::{CutRow, CutTable, Process};
use oddment_core::distances::EdgeDistance;
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
    /// A length below zero or beyond all machines.
    #[error("row {0}: {1} is {2}; it must be a length from 0 to 1000 mm")]
    OutOfRange(usize, &'static str, f64),
}

/// The starting points that come with the program. They are for a shop to replace by what its own
/// machine and trials say.
///
/// # Errors
/// Never for the data the program was tested with.
pub fn starting_cut_data() -> Result<CutTable, CutDataFault> {
    read_cut_data(include_str!("../../../assets/cut_data.json"))
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
    Ok(CutTable { rows: rows.collect::<Result<_, _>>()? })
}

#[derive(Deserialize)]
struct CutDataFile {
    format: String,
    version: u32,
    units: String,
    rows: Vec<Row>,
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
        })
    }
}

#[cfg(test)]
mod tests {
    use oddment_core::distances::Clearances;

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
                "head": 9, "edge": {{"own_cut": 1, "sheared": 1, "mill": 1}}}}]}}"#
            )
        };
        assert!(read_cut_data(&of("plasma", "1.5")).is_ok());
        refused(&of("plasma", "-1"), "row 1: kerf is -1");
        refused(&of("scissors", "1"), "“scissors” is no process");
        refused(&of("plasma", "\"wide\""), "not cut data");
        refused(&of("plasma", "1").replace("version\": 1", "version\": 2"), "of version 2");
        refused("", "not cut data");
    }
}
