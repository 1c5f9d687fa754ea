//! A cut list: what a saw or tube cutter is to cut, from what, and on what machine.

use super::hole::Hole;
use super::leftovers::Leftovers;
use super::profile::{Profile, SectionFault};

/// How far (mm) lengths may seem to be over through the rounding of decimal numbers.
pub(super) const ROUNDING: f64 = 1e-6;

/// The longest length (mm) and highest cost that are taken for meant.
const LONGEST: f64 = 1e6;
/// What is cut off at least where a bar's datum end is not square.
const LEAST_TRIM: f64 = 1.0;
/// As many parts as can be planned.
const MOST_PARTS: usize = 10_000;
/// The steepest mitre, from square.
pub const STEEPEST: f64 = 80.0 / 180.0 * std::f64::consts::PI;

/// What is to be cut from what. Lengths are mm along the bar, angles radians.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutList {
    /// The width of every cut, square across it.
    pub kerf: f64,
    /// What the machine holds on to and is lost, at the datum end and at the far end.
    pub grips: [f64; 2],
    /// Full lengths and remnants.
    pub stock: Vec<Stock>,
    /// The parts.
    pub parts: Vec<Wanted>,
    /// The section of all bars, where it is known.
    pub profile: Option<Profile>,
    /// What all bars are made of, such as S235; may be empty.
    pub material: String,
    /// Whether a seam or a finish keeps parts from being turned about the bar or end for end.
    pub fixed_turn: bool,
    /// The machine.
    pub machine: Machine,
    /// What leftovers are worth, where all bars cost money.
    pub leftovers: Option<Leftovers>,
}

/// What the machine asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Machine {
    /// What is cut off the datum end of every bar before the first part.
    pub trim: f64,
    /// How near the tool may come to a grip.
    pub tool_to_grip: f64,
    /// The shortest bar that can be loaded.
    pub shortest_load: f64,
    /// The longest bar that can be loaded; `None` for any.
    pub longest_load: Option<f64>,
    /// What is left of a bar goes back to the rack if it is at least this long.
    pub keep_from: f64,
    /// Where the far support can stand, from the datum end: from here to there; `None` for anywhere.
    pub support: Option<[f64; 2]>,
    /// How far a bar may be off straight, mm per metre.
    pub straightness: f64,
    /// Tabs that hold each part until it is taken off, so that none drops.
    pub tabs: usize,
    /// Seconds to load a bar, to make a cut, and to make a hole.
    pub seconds: [f64; 3],
    /// Seconds to part a tab and dress what it leaves.
    pub tab_seconds: f64,
}

impl Default for Machine {
    fn default() -> Self {
        Self {
            trim: 0.0,
            tool_to_grip: 0.0,
            shortest_load: 0.0,
            longest_load: None,
            keep_from: 300.0,
            support: None,
            straightness: 2.0,
            tabs: 0,
            seconds: [60.0, 20.0, 10.0],
            tab_seconds: 15.0,
        }
    }
}

/// Bars of one length.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stock {
    /// What the shop calls it; may be empty.
    pub name: String,
    /// Its heat number; may be empty.
    pub heat: String,
    /// Where it stands; may be empty.
    pub place: String,
    /// The length.
    pub length: f64,
    /// How far it may really be shorter.
    pub give_or_take: f64,
    /// How many there are; `None` for as many as are wanted.
    pub count: Option<usize>,
    /// What one costs; its length where nothing is said.
    pub cost: Option<f64>,
    /// What it costs besides to bring one to the machine, whatever is cut from it.
    pub handling: f64,
    /// How much of it was cut off at the datum end before.
    pub cut_before: f64,
    /// By how much its datum end is off square, as the last cut left it; its length counts from
    /// where its section is whole.
    pub end: f64,
}

impl Stock {
    /// What one costs.
    pub fn cost(&self) -> f64 {
        self.cost.unwrap_or(self.length) + self.handling
    }

    /// As long as it is for certain.
    pub fn sure_length(&self) -> f64 {
        self.length - self.give_or_take
    }
}

/// Parts of one kind.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wanted {
    /// What it is called; may be empty.
    pub name: String,
    /// The finished length, between its farthest points.
    pub length: f64,
    /// How many.
    pub count: usize,
    /// By how much each end is off square; 0 for a square end.
    pub ends: [f64; 2],
    /// How the long side of the second end is turned about the bar from that of the first: 0 where
    /// one side of the part is longer, half a turn where both are alike.
    pub ends_turn: f64,
    /// Holes and copes along it.
    pub holes: Vec<Hole>,
    /// Bars with parts of a higher priority are cut first.
    pub priority: u32,
}

/// What is wrong with a cut list.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CutListFault {
    /// A kerf or grip that is none.
    #[error("{0} is {1} mm; give a length of 0 or more")]
    NotAWidth(&'static str, f64),
    /// A length that is none.
    #[error(
        "{line} has the length {length} mm; give one that is more than 0 and at most a kilometre"
    )]
    NotALength {
        /// Which line.
        line: Line,
        /// What it says.
        length: f64,
    },
    /// A cost that is none.
    #[error("{0} costs {1}; give a cost from 0 to a million, or none to count its length")]
    NotACost(Line, f64),
    /// A part longer than what is left of every bar beside the grips.
    #[error(
        "{line} is {length} mm long, but the longest bar gives {longest} mm beside the grips and \
         their cuts; shorten it, or add a longer bar"
    )]
    TooLong {
        /// Which line.
        line: Line,
        /// The part's length.
        length: f64,
        /// What the longest bar gives.
        longest: f64,
    },
    /// A give or take that leaves nothing sure.
    #[error("{0} has a give or take of {1} mm; give one from 0 to less than its length")]
    NotAGiveOrTake(Line, f64),
    /// An end too steep to be cut.
    #[error("{0} has an end {1:.1}° off square; give an angle from 0 to 80°")]
    NotAMitre(Line, f64),
    /// A part whose mitres run into each other.
    #[error("{0} is shorter than its mitred ends; lengthen it, or make the ends less steep")]
    MitresMeet(Line),
    /// A hole that does not lie in the part.
    #[error(
        "{line}: the hole at {at} mm, {size} mm wide, does not lie between the ends on its face; \
         move it"
    )]
    HoleOutside {
        /// Which line.
        line: Line,
        /// Where its middle is.
        at: f64,
        /// How wide it is.
        size: f64,
    },
    /// A profile that is none.
    #[error("profile: {0}")]
    Section(#[from] SectionFault),
    /// Money for leftovers that is none.
    #[error("{0} is said to be {1} in money; give from 0 to a million")]
    NotMoney(&'static str, f64),
    /// A range of the far support that is none.
    #[error("the far support can stand from {} to {} mm; give two places, the nearer first", .0[0], .0[1])]
    NotARange([f64; 2]),
    /// No parts.
    #[error("no parts are wanted; list at least one with a count of 1 or more")]
    NoParts,
    /// No bars.
    #[error("there is no bar to cut from; list at least one")]
    NoStock,
    /// Too many parts.
    #[error("more than {MOST_PARTS} parts are wanted; plan them in several lists")]
    TooMany,
}

/// A line of a cut list, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Line {
    /// A bar.
    Stock(usize),
    /// A part.
    Part(usize),
}

impl std::fmt::Display for Line {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Stock(line) => write!(f, "stock line {line}"),
            Self::Part(line) => write!(f, "part line {line}"),
        }
    }
}

impl CutList {
    /// All that is wrong with it.
    pub fn faults(&self) -> Vec<CutListFault> {
        let mut faults = Vec::new();
        if let Some(profile) = &self.profile {
            faults.extend(profile.section.faults().into_iter().map(CutListFault::Section));
        }
        let widths = [
            ("kerf", self.kerf),
            ("the near grip", self.grips[0]),
            ("the far grip", self.grips[1]),
            ("the trim cut", self.machine.trim),
            ("the tool’s distance from a grip", self.machine.tool_to_grip),
            ("the shortest bar to load", self.machine.shortest_load),
            ("the longest bar to load", self.machine.longest_load.unwrap_or(0.0)),
            ("the least remnant to keep", self.machine.keep_from),
            ("the straightness allowance", self.machine.straightness),
        ];
        for (what, mm) in widths {
            if !(0.0..=LONGEST).contains(&mm) {
                faults.push(CutListFault::NotAWidth(what, mm));
            }
        }
        if let Some([from, to]) = self.machine.support
            && !(0.0 <= from && from <= to && to > 0.0 && to <= LONGEST)
        {
            faults.push(CutListFault::NotARange([from, to]));
        }
        if let Some(Leftovers { credit, scrap, bring_back }) = self.leftovers {
            let each = [
                ("a metre of a leftover", credit),
                ("a metre of scrap", scrap),
                ("bringing a leftover back", bring_back),
            ];
            for (what, money) in each.into_iter().filter(|(_, m)| !(0.0..=1e6).contains(m)) {
                faults.push(CutListFault::NotMoney(what, money));
            }
        }
        for (i, bar) in self.stock.iter().enumerate() {
            bar.faults(Line::Stock(i + 1), &mut faults);
        }
        let whole = faults.is_empty();
        let there = self.stock.iter().filter(|bar| bar.count != Some(0) && self.loads(bar));
        let longest = there.map(|bar| self.longest_part(bar)).reduce(f64::max);
        for (i, part) in self.parts.iter().enumerate() {
            let line = Line::Part(i + 1);
            let before = faults.len();
            part.faults(line, self.height(), &mut faults);
            let length = part.length;
            if let Some(longest) = longest.filter(|l| whole && length > l + ROUNDING)
                && faults.len() == before
            {
                let longest = longest.max(0.0);
                faults.push(CutListFault::TooLong { line, length, longest });
            }
        }
        match self.parts.iter().fold(0, |n: usize, part| n.saturating_add(part.count)) {
            0 => faults.push(CutListFault::NoParts),
            n if n > MOST_PARTS => faults.push(CutListFault::TooMany),
            _ => {}
        }
        if whole && longest.is_none() {
            faults.push(CutListFault::NoStock);
        }
        faults
    }

    /// Whether the machine takes bars of this length.
    pub fn loads(&self, bar: &Stock) -> bool {
        let Machine { shortest_load, longest_load, .. } = self.machine;
        bar.length >= shortest_load && longest_load.is_none_or(|longest| bar.length <= longest)
    }

    /// What is lost at the datum end and at the far end, without the cut that parts it off.
    pub fn lost(&self) -> [f64; 2] {
        let held = |grip: f64| if grip > 0.0 { grip + self.machine.tool_to_grip } else { 0.0 };
        let squared = if self.stock.iter().any(|bar| bar.end > 0.0) { LEAST_TRIM } else { 0.0 };
        [held(self.grips[0]).max(self.machine.trim).max(squared), held(self.grips[1])]
    }

    /// The longest part with square ends that can be cut from a bar.
    pub fn longest_part(&self, bar: &Stock) -> f64 {
        let lost = self.lost();
        let cuts = lost.iter().filter(|l| **l > 0.0).count() as f64;
        bar.sure_length() - lost[0] - lost[1] - cuts * self.kerf
    }

    /// The ways in which a part with sloping ends may lie, the first as it is described: end for end, and
    /// turned over. The section must be the same then, and the seam on its side.
    pub fn ways_to_lie(&self) -> Vec<(bool, bool)> {
        const WAYS: [(bool, bool); 4] =
            [(false, false), (false, true), (true, false), (true, true)];
        let profile = self.profile.as_ref().filter(|_| !self.fixed_turn);
        let Some(profile) = profile.filter(|p| p.section.same_turned_over()) else {
            return vec![WAYS[0]];
        };
        let seam_stays = |(reversed, over): &(bool, bool)| {
            profile.seam.is_none_or(|seam| seam.laid(*reversed, *over) == seam)
        };
        WAYS.into_iter().filter(seam_stays).collect()
    }

    /// How far a mitre runs across the section, mm; 0 where the section is not known.
    pub fn height(&self) -> f64 {
        self.profile.as_ref().map_or(0.0, |profile| profile.section.size().1)
    }
}

impl Stock {
    fn faults(&self, line: Line, faults: &mut Vec<CutListFault>) {
        if !sound(self.length) {
            faults.push(CutListFault::NotALength { line, length: self.length });
        } else if !(0.0..self.length).contains(&self.give_or_take) {
            faults.push(CutListFault::NotAGiveOrTake(line, self.give_or_take));
        }
        for cost in self.cost.into_iter().chain([self.handling]) {
            if !(0.0..=1e6).contains(&cost) {
                faults.push(CutListFault::NotACost(line, cost));
            }
        }
        if !(0.0..=STEEPEST + 1e-9).contains(&self.end) {
            faults.push(CutListFault::NotAMitre(line, self.end.to_degrees()));
        }
        if !(0.0..=LONGEST).contains(&self.cut_before) {
            faults.push(CutListFault::NotAWidth("what was cut off before", self.cut_before));
        }
    }
}

impl Wanted {
    /// Its name, or its length where it has none.
    pub fn called(&self) -> String {
        if self.name.is_empty() { format!("{} mm", self.length) } else { self.name.clone() }
    }

    /// How much shorter the part is on its short side, at each end, in a section of `height`.
    pub fn slopes(&self, height: f64) -> [f64; 2] {
        self.ends.map(|angle| height * angle.tan())
    }

    fn faults(&self, line: Line, height: f64, faults: &mut Vec<CutListFault>) {
        if !sound(self.length) {
            faults.push(CutListFault::NotALength { line, length: self.length });
            return;
        }
        let steep = self.ends.iter().find(|end| !(0.0..=STEEPEST + 1e-9).contains(*end));
        if let Some(end) = steep {
            faults.push(CutListFault::NotAMitre(line, end.to_degrees()));
        } else if self.slopes(height).iter().sum::<f64>() > self.length {
            faults.push(CutListFault::MitresMeet(line));
        }
        for hole in &self.holes {
            let Hole { at, size, .. } = *hole;
            let least = [0, 1].map(|end| hole.least_from_end(self, end, height));
            if !(size > 0.0 && at > least[0] && at < self.length - least[1]) {
                faults.push(CutListFault::HoleOutside { line, at, size });
            }
        }
    }
}

/// Whether it is a length.
fn sound(mm: f64) -> bool {
    mm > ROUNDING && mm <= LONGEST
}
