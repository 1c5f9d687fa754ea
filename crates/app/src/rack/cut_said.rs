//! What a person says of a cut, and what the plan says besides.

use std::collections::HashMap;
use std::sync::Arc;

use oddment_core::check::CheckedPlan;
use oddment_core::cutting::Cut;
use oddment_core::cutting::starts::Start;
use oddment_core::plan::{Job, Layout};
use oddment_core::shape::SheetSpace;
use oddment_core::units::LengthUnit;
use oddment_files::job_file::SourcedJob;
use oddment_files::outputs::{cut_of, last_cuts_of};
use oddment_files::values::Values;
use oddment_rack::crop::Line;
use oddment_rack::drawings::Drawn;
use oddment_rack::record::{Keep, Outcome, Preview, Reckoned, Recorded, Recording};
use oddment_rack::{Shop, ShopFault};

/// What a person says of the cut of one sheet. The default is: cut as planned, and lifted off the bed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutSaid {
    /// What became of parts, by name and copy; the others are good.
    pub outcomes: HashMap<(String, usize), Outcome>,
    /// Whether the sheet still lies on the bed as it was cut.
    pub on_bed: bool,
    /// Minutes it took.
    pub minutes: Option<f64>,
    /// Whether contours were begun elsewhere than the place Cut has their lead-ins: then nobody knows
    /// where.
    pub other_starts: bool,
    /// Straight cuts across the sheet that were made too.
    pub crops: Vec<Line>,
    /// Where the heat number was marked anew, mm on the sheet.
    pub heat_marked_at: Option<[f64; 2]>,
    /// Whether the order asks for a certificate.
    pub certificate: bool,
    /// Which leftovers stay.
    pub keep: Keep,
    /// It was cut though the plan is not clear.
    pub anyway: bool,
}

impl CutSaid {
    /// As planned, and the sheet still lies on the bed.
    pub fn on_bed() -> Self {
        Self { on_bed: true, ..Self::default() }
    }

    /// As it is recorded, but for lead-ins, the order and the plan's text.
    fn recording(&self, job: &Job, layout: &Layout) -> Recording {
        let bounds = job.stock[layout.stock].sheet.bounds();
        let slot = |line: &Line| line.slot(&bounds, job.clearances.kerf);
        Recording {
            outcomes: self.outcomes.clone(),
            on_bed: self.on_bed,
            minutes: self.minutes,
            also_gone: self.crops.iter().filter_map(slot).collect(),
            heat_marked_at: self.heat_marked_at,
            certificate: self.certificate,
            keep: self.keep,
            anyway: self.anyway,
            ..Recording::default()
        }
    }
}

/// What recording a cut would do.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// What would stay and go, or why the cut can't be recorded so.
    pub outcome: Result<Preview, String>,
    /// Minutes that the cut of the whole plan is likely to take, where its metal is known.
    pub likely_minutes: Option<f64>,
}

/// The cut of one sheet of a job, to be recorded.
pub(crate) struct CutOfJob {
    pub(crate) sourced: Arc<SourcedJob>,
    pub(crate) checked: CheckedPlan,
    /// Which of the plan's layouts.
    pub(crate) layout: usize,
    /// What was said of it.
    pub(crate) said: CutSaid,
    /// What lengths are told in.
    pub(crate) unit: LengthUnit,
    /// The order it is cut for, and the plan as text.
    pub(crate) order_and_plan: (String, String),
    /// The values that the cut is worked out with.
    pub(crate) values: Arc<Values>,
}

impl CutOfJob {
    fn cut(&self) -> Option<Cut> {
        cut_of(&self.sourced, &self.checked, self.layout, &self.values)
    }

    /// As it is recorded.
    fn recorded(&self, cut: Option<&Cut>) -> Result<(usize, String, Recording), ShopFault> {
        let job = &self.sourced.job;
        let layout = self.checked.plan().layouts.get(self.layout);
        let layout = layout.ok_or_else(|| ShopFault::refused("nothing lies on this sheet"))?;
        let cut = cut.filter(|_| !self.said.other_starts);
        let (order, plan) = self.order_and_plan.clone();
        let mut said = self.said.recording(job, layout);
        said.also_gone.extend(last_cuts_of(&self.sourced, layout, &self.values));
        let timed = self.said.minutes.is_some();
        let reckon = || Reckoned::of(&self.sourced, &self.checked, self.layout, &self.values);
        let recording = Recording {
            starts: cut.map(|cut| starts_of(job, layout, cut)).unwrap_or_default(),
            squared_up: self.checked.squared_up(self.layout).map(|squared_up| {
                let pose = squared_up.pose();
                [pose.shift.x, pose.shift.y, pose.turn.to_degrees()]
            }),
            order: Some(order),
            unit: self.unit,
            plan,
            reckoned: timed.then(reckon).flatten(),
            ..said
        };
        Ok((self.layout, job.stock[layout.stock].sheet.name.clone(), recording))
    }

    /// Records it.
    pub(crate) fn record(&self, shop: &mut Shop) -> Result<Vec<Recorded>, ShopFault> {
        let (layout, label, said) = self.recorded(self.cut().as_ref())?;
        let cut = (layout, label, Recording { drawings: Drawn::of_parts(&self.sourced), ..said });
        shop.record(&self.sourced.job, &self.checked, &[cut])
    }

    /// Works out what recording it would do.
    pub(crate) fn try_out(&self, shop: &Shop) -> (Result<Preview, ShopFault>, Option<f64>) {
        let cut = self.cut();
        let preview = self.recorded(cut.as_ref()).and_then(|as_recorded| {
            let previews = shop.preview(&self.sourced.job, &self.checked, &[as_recorded])?;
            previews.into_iter().next().ok_or_else(|| ShopFault::refused("nothing lies there"))
        });
        (preview, cut.map(|cut| cut.likely_seconds / 60.0))
    }
}

/// Where a planned cut begins the contours of parts, by the part's name and copy.
pub fn starts_of(
    job: &Job,
    layout: &Layout,
    cut: &Cut,
) -> HashMap<(String, usize), Vec<Start<SheetSpace>>> {
    let mut starts: HashMap<_, Vec<_>> = HashMap::new();
    for pass in &cut.passes {
        if let Some(start) = &pass.start {
            let Some(placed) = pass.placed else { continue };
            let p = &layout.placements[placed];
            let name = (job.wanted[p.part].part.name.clone(), p.copy);
            starts.entry(name).or_default().push(start.clone());
        }
    }
    starts
}
