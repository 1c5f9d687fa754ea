//! What a cutter needs of the metal around a cut, by process and thickness.

use std::fmt;

use crate::distances::{Clearances, EdgeDistance};

/// How metal is cut.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Process {
    /// Laser with the light in a fibre, around 1 µm.
    #[default]
    FibreLaser,
    /// Laser with CO2, around 10 µm.
    Co2Laser,
    /// Plasma arc.
    Plasma,
    /// Water with abrasive.
    Waterjet,
}

impl Process {
    /// All of them, most usual first.
    pub const ALL: [Self; 4] = [Self::FibreLaser, Self::Co2Laser, Self::Plasma, Self::Waterjet];

    /// The process that people call so.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.to_string().eq_ignore_ascii_case(name.trim()))
    }
}

impl fmt::Display for Process {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::FibreLaser => "fibre laser",
            Self::Co2Laser => "CO2 laser",
            Self::Plasma => "plasma",
            Self::Waterjet => "waterjet",
        })
    }
}

/// What one process needs, up to a thickness. Lengths are mm.
#[derive(Clone, Debug, PartialEq)]
pub struct CutRow {
    /// The process.
    pub process: Process,
    /// The thickest metal the row is for.
    pub up_to: f64,
    /// Full width of the slot.
    pub kerf: f64,
    /// Metal to leave between two cuts, at least.
    pub web: f64,
    /// The same per mm of thickness; the larger of the two holds.
    pub web_per_mm: f64,
    /// Metal to leave along the sheet's outer edges.
    pub edge: EdgeDistance,
    /// Distance inside which the head loses the surface beside an old edge; `None` where the
    /// cutter does not sense it.
    pub sensing: Option<f64>,
    /// How far the head must keep from clamps and whatever else stands on the bed.
    pub head: f64,
}

impl CutRow {
    /// The lengths of the rule of distances for metal `thickness` mm thick, laid exactly.
    pub fn clearances(&self, thickness: f64) -> Clearances {
        let web = self.web.max(self.web_per_mm * thickness);
        Clearances {
            kerf: self.kerf,
            web,
            edge: self.edge,
            sensing: self.sensing.unwrap_or(web),
            lay: 0.0,
        }
    }
}

/// Cut data of several processes and thicknesses.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutTable {
    /// In any order.
    pub rows: Vec<CutRow>,
}

impl CutTable {
    /// The row for this process and metal `thickness` mm thick: of those that reach so far, the
    /// thinnest. `None` where no row does.
    pub fn row(&self, process: Process, thickness: f64) -> Option<&CutRow> {
        self.rows
            .iter()
            .filter(|r| r.process == process && thickness <= r.up_to)
            .min_by(|a, b| a.up_to.total_cmp(&b.up_to))
    }

    /// The clearances to start from for this process and metal `thickness` mm thick.
    pub fn clearances(&self, process: Process, thickness: f64) -> Option<Clearances> {
        self.row(process, thickness).map(|r| r.clearances(thickness))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(up_to: f64, web: f64, web_per_mm: f64, sensing: Option<f64>) -> CutRow {
        let edge = EdgeDistance { own_cut: 3.0, sheared: 5.0, mill: 7.0 };
        let process = Process::Plasma;
        CutRow { process, up_to, kerf: 1.2, web, web_per_mm, edge, sensing, head: 30.0 }
    }

    fn check(thickness: f64, up_to: Option<f64>) {
        let rows = vec![row(10.0, 8.0, 0.0, None), row(3.0, 5.0, 0.0, None)];
        let table = CutTable { rows };
        let found = table.row(Process::Plasma, thickness).map(|r| r.up_to);
        assert_eq!(found, up_to, "{thickness} mm");
        assert_eq!(table.row(Process::Waterjet, thickness), None);
    }

    #[test]
    fn the_thinnest_row_that_reaches_is_taken() {
        check(0.5, Some(3.0));
        check(3.0, Some(3.0));
        check(3.01, Some(10.0));
        check(10.5, None);
        check(f64::NAN, None);
    }

    #[test]
    fn web_grows_with_thickness_and_stands_in_for_sensing() {
        assert_eq!(row(40.0, 10.0, 1.0, None).clearances(6.0).web, 10.0);
        let thick = row(40.0, 10.0, 1.0, None).clearances(25.0);
        assert_eq!((thick.web, thick.sensing), (25.0, 25.0));
        assert_eq!(row(40.0, 10.0, 1.0, Some(4.0)).clearances(25.0).sensing, 4.0);
    }

    #[test]
    fn processes_are_found_by_their_names() {
        for process in Process::ALL {
            assert_eq!(Process::named(&process.to_string().to_uppercase()), Some(process));
        }
        assert_eq!(Process::named("scissors"), None);
    }
}
