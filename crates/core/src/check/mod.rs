//! The check: whether a plan is clear, measured on the true lines and arcs: as recorded, or as laid
//! where sheets were squared up on the bed.
//!
//! It shares with the packer the shapes, the rule of distances and the distance of two shapes, and
//! nothing else. A [`CheckedPlan`] can only be made here; what exports or records a plan asks for
//! one.

mod scene;

use crate::cutting::ContourNo;
use crate::cutting::starts::find_starts;
use crate::plan::{Count, Job, Layout, Plan};
use crate::shape::{Gap, Point, SheetSpace};
use crate::square_up::SquaredUp;

pub use scene::{Around, Near, Scene, to_obstacle};

/// A distance is short when it is under what is required by more than this (mm).
pub const RESOLUTION: f64 = 0.001;

/// One of the two things a distance is between.
#[derive(Clone, Debug, PartialEq)]
pub enum Party {
    /// A placed part, by its place in the layout's list.
    Placed(usize),
    /// The sheet's outer edge.
    SheetEdge,
    /// An old cut-out, counted over the sheet's bodies, and the middle of its box.
    CutOut(usize, Point<SheetSpace>),
    /// A no-go zone, by its place in the sheet's list; what stands on the bed follows the sheet's own.
    NoGo(usize),
}

/// A distance between two parties of a layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// Which layout of the plan.
    pub layout: usize,
    /// The part, by its place in the layout's list.
    pub placed: usize,
    /// What it is measured to.
    pub other: Party,
    /// The two points and their distance; minus the depth of the overlap where interiors meet.
    pub gap: Gap<SheetSpace>,
    /// What the rule asks for, mm.
    pub required: f64,
}

impl Measure {
    /// Distance left over (mm), negative where it is short.
    pub fn spare(&self) -> f64 {
        self.gap.distance - self.required
    }
}

/// Why a plan is not clear.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// Two things are too near each other.
    Short(Measure),
    /// A part lies at an angle, or on a face, that it may not.
    Turned {
        /// Which layout of the plan.
        layout: usize,
        /// The part, by its place in the layout's list.
        placed: usize,
    },
    /// A part lies on a sheet of another metal or thickness than it must be made of.
    WrongMetal {
        /// Which layout of the plan.
        layout: usize,
        /// The part, by its place in the layout's list.
        placed: usize,
    },
    /// A pose that is not a number, or a part or sheet that the job does not have.
    Unknown {
        /// Which layout of the plan.
        layout: usize,
    },
    /// More of a part are laid than are wanted.
    TooMany {
        /// Which of the job's wanted parts.
        part: usize,
        /// How many are laid.
        laid: usize,
        /// How many are wanted.
        wanted: usize,
    },
    /// More sheets of one stock are used than there are.
    TooFewSheets {
        /// Which of the job's stock.
        stock: usize,
        /// How many are used.
        used: usize,
        /// How many there are.
        there: usize,
    },
    /// A contour has no place where it could start, and the job asks for one.
    NoStart {
        /// Which layout of the plan.
        layout: usize,
        /// The part, by its place in the layout's list.
        placed: usize,
        /// Which contour of the part: 0 the outline, from 1 its holes.
        contour: ContourNo,
    },
    /// Two placements of one part carry the same copy number.
    SameCopy {
        /// Which of the job's wanted parts.
        part: usize,
        /// The number.
        copy: usize,
    },
}

/// What the check found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Report {
    /// All faults, worst distance first within a sheet.
    pub faults: Vec<Fault>,
    /// The distance with the least to spare.
    pub tightest: Option<Measure>,
}

impl Report {
    /// Whether nothing is wrong.
    pub fn is_clear(&self) -> bool {
        self.faults.is_empty()
    }
}

/// What a plan was checked against, the surer after the less sure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// The sheet as recorded, lying within the planned lay of where the plan has it.
    Recorded,
    /// The sheet as it was squared up on the bed; its pointer points are not ticked off yet.
    SquaredUp,
    /// The sheet as it was squared up, every pointer point ticked off.
    Laid,
}

impl Basis {
    /// As in “clear as laid”.
    pub fn words(self) -> &'static str {
        match self {
            Self::Recorded => "as recorded",
            Self::SquaredUp => "as squared up",
            Self::Laid => "as laid",
        }
    }
}

/// A plan with the verdict of the check; only [`check`] and [`check_laid`] make one.
#[derive(Clone, Debug)]
pub struct CheckedPlan {
    plan: Plan,
    report: Report,
    squared_up: Vec<Option<SquaredUp>>,
}

impl CheckedPlan {
    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// What the check found.
    pub fn report(&self) -> &Report {
        &self.report
    }

    /// Whether the plan is clear on its [`basis`](Self::basis).
    pub fn is_clear(&self) -> bool {
        self.report.is_clear()
    }

    /// How the sheet of a layout lies, where it was squared up.
    pub fn squared_up(&self, layout: usize) -> Option<&SquaredUp> {
        self.squared_up.get(layout)?.as_ref()
    }

    /// The job with what stands on the bed, and the end of the head's reach, among the no-go zones of the
    /// sheets that were squared up: what words and pictures of the plan are made from.
    pub fn with_bed(&self, job: &Job) -> Job {
        let mut job = job.clone();
        for (l, layout) in self.plan.layouts.iter().enumerate() {
            let (Some(s), Some(stock)) = (self.squared_up(l), job.stock.get_mut(layout.stock))
            else {
                continue;
            };
            let zones = s.zones(&stock.sheet.bounds());
            stock.sheet.no_go.extend(zones);
        }
        job
    }

    /// What a layout was checked against.
    pub fn basis_of(&self, layout: usize) -> Basis {
        match self.squared_up(layout) {
            None => Basis::Recorded,
            Some(squared_up) if squared_up.ticked => Basis::Laid,
            Some(_) => Basis::SquaredUp,
        }
    }

    /// The least sure of what its layouts were checked against.
    pub fn basis(&self) -> Basis {
        let layouts = 0..self.plan.layouts.len();
        layouts.map(|l| self.basis_of(l)).min().unwrap_or(Basis::Recorded)
    }
}

/// Checks a plan against its job, as recorded.
pub fn check(job: &Job, plan: Plan) -> CheckedPlan {
    check_laid(job, plan, Vec::new())
}

/// Checks a plan against its job, each layout whose sheet was squared up as it is laid: with the lay that
/// remains, with what stands on the bed, and within the head's reach. Layouts that the list says nothing
/// of are checked as recorded.
pub fn check_laid(job: &Job, plan: Plan, mut squared_up: Vec<Option<SquaredUp>>) -> CheckedPlan {
    squared_up.resize(plan.layouts.len(), None);
    let mut report = Report::default();
    counts(job, &plan, &mut report.faults);
    for (l, layout) in plan.layouts.iter().enumerate() {
        if !layout.is_known(job) {
            report.faults.push(Fault::Unknown { layout: l });
            continue;
        }
        let sheet = &job.stock[layout.stock].sheet;
        for (i, p) in layout.placements.iter().enumerate() {
            if !job.wanted[p.part].part.may_lie(sheet.grain, p.pose.turn, p.pose.flipped) {
                report.faults.push(Fault::Turned { layout: l, placed: i });
            }
            if !job.wanted[p.part].part.may_be_of(sheet.made_of.as_ref()) {
                report.faults.push(Fault::WrongMetal { layout: l, placed: i });
            }
        }
        match &squared_up[l] {
            Some(s) => distances(&s.as_laid(job, layout.stock), l, layout, &mut report),
            None => distances(job, l, layout, &mut report),
        }
    }
    CheckedPlan { plan, report, squared_up }
}

fn counts(job: &Job, plan: &Plan, faults: &mut Vec<Fault>) {
    for (stock, s) in job.stock.iter().enumerate() {
        let used = plan.layouts.iter().filter(|l| l.stock == stock).count();
        if used > s.count {
            faults.push(Fault::TooFewSheets { stock, used, there: s.count });
        }
    }
    for (part, w) in job.wanted.iter().enumerate() {
        let mut copies: Vec<usize> =
            plan.placements().filter(|p| p.part == part).map(|p| p.copy).collect();
        if let Count::Exactly(wanted) = w.count
            && copies.len() > wanted
        {
            faults.push(Fault::TooMany { part, laid: copies.len(), wanted });
        }
        copies.sort_unstable();
        for pair in copies.windows(2).filter(|pair| pair[0] == pair[1]) {
            faults.push(Fault::SameCopy { part, copy: pair[0] });
        }
    }
}

fn distances(job: &Job, l: usize, layout: &Layout, report: &mut Report) {
    let scene = Scene::new(job, layout);
    let mut short = Vec::new();
    // Beyond this spare a distance is neither short nor the tightest.
    let mut most = f64::INFINITY;
    for (i, shape) in scene.laid().iter().enumerate() {
        scene.visit(shape, i + 1..scene.laid().len(), most, |near| {
            most = most.min(near.spare().max(0.0));
            let Near { other, gap, required } = near;
            let measure = Measure { layout: l, placed: i, other, gap, required };
            if report.tightest.as_ref().is_none_or(|t| measure.spare() < t.spare()) {
                report.tightest = Some(measure.clone());
            }
            if measure.spare() < -RESOLUTION {
                short.push(measure);
            }
            most
        });
    }
    short.sort_by(|a, b| a.spare().total_cmp(&b.spare()));
    report.faults.extend(short.into_iter().map(Fault::Short));
    let starts = find_starts(job, layout, &scene);
    let no_start = |(placed, contour)| Fault::NoStart { layout: l, placed, contour };
    report.faults.extend(starts.missing().map(no_start));
}
