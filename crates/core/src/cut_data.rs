//! What a cutter needs of the metal around a cut, by process and thickness.

use std::fmt;

use crate::cutting::{CutFacts, Feed, OrderRules};
use crate::distances::{Clearances, EdgeDistance, LeadForm, StartRule};
use crate::machine::Machine;
use crate::shape::Pose;
use crate::sheet::Metal;

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

    /// What does the cutting, and is off while the pointer is driven about.
    pub fn tool(self) -> &'static str {
        match self {
            Self::FibreLaser | Self::Co2Laser => "beam",
            Self::Plasma => "arc",
            Self::Waterjet => "jet",
        }
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
    /// What starts need.
    pub start: StartRow,
    /// The narrowest hole that comes out well, per mm of thickness.
    pub least_hole_per_mm: f64,
    /// Width of a tab.
    pub tab: f64,
}

/// What starts need, as a part of a [`CutRow`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StartRow {
    /// From a pierce to what is kept, at least.
    pub pierce: f64,
    /// The same per mm of thickness; the larger of the two holds.
    pub pierce_per_mm: f64,
    /// Radius of the narrowest hole that is pierced in its middle, per mm of thickness.
    pub small_hole_per_mm: f64,
    /// The shortest lead-in.
    pub least_lead: f64,
    /// The usual lead-in.
    pub lead: f64,
    /// How far the beam goes on into the waste after a contour, at most back along its lead-in.
    pub lead_out: f64,
    /// How lead-ins run.
    pub form: LeadForm,
    /// Whether outlines start from an old edge where one is near; never where the head senses.
    pub from_edge: bool,
}

/// Metals that are cut alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Family {
    /// Structural and mild steel.
    Steel,
    /// Stainless steel.
    Stainless,
    /// Aluminium and its alloys.
    Aluminium,
}

impl Family {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Steel, Self::Stainless, Self::Aluminium];
    /// Lighter metal (kg/m³) is aluminium.
    const LIGHT: f64 = 4000.0;

    /// The family of a metal, by its density and by what stainless steel is called.
    pub fn of(metal: &Metal) -> Self {
        let name = metal.material.to_lowercase();
        let stainless = ["1.4", "x5crni", "304", "316", "430", "inox", "stainless"];
        if metal.density < Self::LIGHT {
            Self::Aluminium
        } else if stainless.iter().any(|s| name.starts_with(s)) {
            Self::Stainless
        } else {
            Self::Steel
        }
    }

    /// The family that people call so.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.to_string() == name)
    }
}

impl fmt::Display for Family {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Steel => "steel",
            Self::Stainless => "stainless",
            Self::Aluminium => "aluminium",
        })
    }
}

/// How fast one process cuts a family of metals, up to a thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct FeedRow {
    /// The process.
    pub process: Process,
    /// The metals.
    pub family: Family,
    /// The thickest metal the row is for, mm.
    pub up_to: f64,
    /// What blows, or what the water carries.
    pub gas: String,
    /// mm/s.
    pub speed: f64,
    /// Seconds.
    pub pierce_seconds: f64,
}

/// What holds for one process whatever the metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProcessRow {
    /// The process.
    pub process: Process,
    /// Whether outlines are cut clockwise and holes the other way.
    pub clockwise_outside: bool,
    /// Share of the feed along small holes.
    pub small_share: f64,
    /// mm/s along marks.
    pub mark_speed: f64,
    /// Money per hour.
    pub per_hour: f64,
    /// Money per pierce.
    pub per_pierce: f64,
    /// Slugs that weigh more (kg) and may tip are held by tabs.
    pub heavy: f64,
    /// Whether tabs are set by themselves.
    pub tabs: bool,
}

/// In which order a shop cuts, and what comes last.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OrderRow {
    /// The rules; heat spreads only in metal that is thin.
    pub rules: OrderRules,
    /// Heat is spread in metal up to so thick (mm); 0 for never.
    pub heat_up_to: f64,
}

impl OrderRow {
    /// The rules for metal so thick (mm).
    pub fn rules(&self, thickness: f64) -> OrderRules {
        let thin = thickness <= self.heat_up_to;
        OrderRules { heat_apart: if thin { self.rules.heat_apart } else { 0.0 }, ..self.rules }
    }
}

/// Holes up to so many times the thickness wide are cut slower.
const SMALL_HOLE: f64 = 3.0;

impl CutRow {
    /// What starts need in metal `thickness` mm thick.
    pub fn starts(&self, thickness: f64, clockwise_outside: bool) -> StartRule {
        let StartRow { pierce, pierce_per_mm, small_hole_per_mm, least_lead, lead, form, .. } =
            self.start;
        let pierce = pierce.max(pierce_per_mm * thickness);
        let small_hole = (small_hole_per_mm * thickness).max(self.kerf).min(pierce);
        // Beside an edge a head that senses loses the surface.
        let from_edge = self.start.from_edge && self.sensing.is_none();
        StartRule { pierce, small_hole, least_lead, lead, clockwise_outside, form, from_edge }
    }

    /// The lengths of the rule of distances for metal `thickness` mm thick, laid exactly.
    pub fn clearances(&self, thickness: f64) -> Clearances {
        let web = self.web.max(self.web_per_mm * thickness);
        Clearances {
            kerf: self.kerf,
            web,
            edge: self.edge,
            sensing: self.sensing.unwrap_or(web),
            lay: 0.0,
            common: false,
        }
    }
}

/// Cut data of several processes and thicknesses, and the machines that cut.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutTable {
    /// In any order.
    pub rows: Vec<CutRow>,
    /// In any order.
    pub feeds: Vec<FeedRow>,
    /// One for each process.
    pub processes: Vec<ProcessRow>,
    /// The most usual first.
    pub machines: Vec<Machine>,
    /// The shop's order.
    pub order: OrderRow,
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

    /// What holds for a process.
    pub fn process(&self, process: Process) -> Option<&ProcessRow> {
        self.processes.iter().find(|p| p.process == process)
    }

    /// What starts need, to start from, for this process and metal `thickness` mm thick.
    pub fn starts(&self, process: Process, thickness: f64) -> Option<StartRule> {
        let clockwise = self.process(process)?.clockwise_outside;
        self.row(process, thickness).map(|r| r.starts(thickness, clockwise))
    }

    /// The machine of this name; without one the first.
    pub fn machine(&self, name: Option<&str>) -> Option<&Machine> {
        match name {
            Some(name) => self.machines.iter().find(|m| m.name == name),
            None => self.machines.first(),
        }
    }

    /// The gases that a metal is cut with, the one that is taken where nobody says otherwise first.
    pub fn gases(&self, process: Process, metal: &Metal) -> Vec<&str> {
        let mut found: Vec<&str> = Vec::new();
        for feed in self.feeds_for(process, metal) {
            if !found.contains(&feed.gas.as_str()) {
                found.push(&feed.gas);
            }
        }
        found
    }

    /// What says how fast a metal is cut, with this gas where there is such a row.
    pub fn feed(&self, process: Process, metal: &Metal, gas: Option<&str>) -> Option<&FeedRow> {
        let feeds = self.feeds_for(process, metal);
        let wanted = feeds.iter().find(|f| gas.is_some_and(|gas| f.gas == gas));
        wanted.or(feeds.first()).copied()
    }

    /// The rows that reach as far as a metal is thick, the thinnest first.
    fn feeds_for(&self, process: Process, metal: &Metal) -> Vec<&FeedRow> {
        let alike = (process, Family::of(metal));
        let reaches = |f: &&FeedRow| (f.process, f.family) == alike && metal.thickness <= f.up_to;
        let mut feeds: Vec<&FeedRow> = self.feeds.iter().filter(reaches).collect();
        feeds.sort_by(|a, b| a.up_to.total_cmp(&b.up_to));
        feeds
    }

    /// What a cut of this metal is worked out with, to start from, on the first machine of a process.
    /// `None` where no row reaches so far.
    pub fn facts(&self, process: Process, metal: &Metal) -> Option<CutFacts> {
        let machine = self.machines.iter().find(|m| m.process == process)?;
        self.facts_on(machine, metal, None)
    }

    /// What a cut of this metal is worked out with on a machine, and with this gas where there is a
    /// row for it. `None` where no row reaches so far.
    pub fn facts_on(
        &self,
        machine: &Machine,
        metal: &Metal,
        gas: Option<&str>,
    ) -> Option<CutFacts> {
        let (process, thickness) = (machine.process, metal.thickness);
        let (row, of_process) = (self.row(process, thickness)?, self.process(process)?);
        let feed = self.feed(process, metal, gas)?;
        let clearances = row.clearances(thickness);
        Some(CutFacts {
            machine: machine.clone(),
            feed: Feed {
                gas: feed.gas.clone(),
                speed: feed.speed,
                small_speed: feed.speed * of_process.small_share,
                small_below: SMALL_HOLE * thickness,
                mark_speed: of_process.mark_speed,
                pierce_seconds: feed.pierce_seconds,
                per_hour: of_process.per_hour,
                per_pierce: of_process.per_pierce,
            },
            lies: Pose::identity(),
            lead_out: row.start.lead_out,
            order: self.order.rules(thickness),
            tab: row.tab,
            tabs: of_process.tabs,
            heavy: of_process.heavy,
            least_hole: row.least_hole_per_mm * thickness,
            least_web: clearances.web.min(thickness),
            senses: row.sensing.is_some(),
            learnt: None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(up_to: f64, web: f64, web_per_mm: f64, sensing: Option<f64>) -> CutRow {
        let edge = EdgeDistance { own_cut: 3.0, sheared: 5.0, mill: 7.0 };
        let process = Process::Plasma;
        let (least_lead, lead) = (5.0, 6.0);
        let (pierce, pierce_per_mm, small_hole_per_mm) = (2.5, 1.25, 0.75);
        let lead_out = 2.0;
        let start = StartRow {
            pierce,
            pierce_per_mm,
            small_hole_per_mm,
            least_lead,
            lead,
            lead_out,
            form: LeadForm::Arc,
            from_edge: true,
        };
        let (head, least_hole_per_mm, tab) = (30.0, 1.5, 2.0);
        CutRow {
            process,
            up_to,
            kerf: 1.2,
            web,
            web_per_mm,
            edge,
            sensing,
            head,
            start,
            least_hole_per_mm,
            tab,
        }
    }

    #[test]
    fn pierces_keep_off_by_the_thickness_and_small_holes_by_what_there_is() {
        let thin = row(3.0, 5.0, 0.0, None).starts(1.0, true);
        assert_eq!((thin.pierce, thin.small_hole, thin.lead), (2.5, 1.2, 6.0));
        let thick = row(40.0, 10.0, 1.0, None).starts(20.0, true);
        assert_eq!((thick.pierce, thick.small_hole), (25.0, 15.0));
    }

    #[test]
    fn a_head_that_senses_starts_from_no_old_edge() {
        assert!(row(3.0, 5.0, 0.0, None).starts(1.0, true).from_edge);
        assert!(!row(3.0, 5.0, 0.0, Some(4.0)).starts(1.0, true).from_edge);
    }

    #[test]
    fn heat_is_spread_in_thin_metal_only() {
        let rules = OrderRules { heat_apart: 60.0, crop_least: 200.0, cut_up: 0.0 };
        let order = OrderRow { rules, heat_up_to: 1.5 };
        assert_eq!(order.rules(1.5), rules);
        assert_eq!(order.rules(2.0), OrderRules { heat_apart: 0.0, ..rules });
    }

    #[test]
    fn metals_are_known_by_density_and_name() {
        let of = |material: &str, density| {
            Family::of(&Metal { material: material.to_owned(), thickness: 2.0, density })
        };
        assert_eq!(of("S235", 7850.0), Family::Steel);
        assert_eq!(of("1.4301", 7900.0), Family::Stainless);
        assert_eq!(of("5754", 2670.0), Family::Aluminium);
    }

    fn check(thickness: f64, up_to: Option<f64>) {
        let rows = vec![row(10.0, 8.0, 0.0, None), row(3.0, 5.0, 0.0, None)];
        let table = CutTable { rows, ..CutTable::default() };
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
