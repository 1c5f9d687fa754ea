//! The cut, worked out on a thread of its own; the newest question is the one that is answered.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};

use eframe::egui::Context;
use oddment_app::session::Session;
use oddment_core::cutting::steady::{Unsteady, unsteady};
use oddment_core::cutting::{Cut, CutFacts, plan_cut};
use oddment_core::distances::StartRule;
use oddment_core::plan::Layout;
use oddment_core::sheet::Metal;
use oddment_core::square_up::SquaredUp;
use oddment_files::job_file::SourcedJob;
use oddment_files::values::Values;

/// What is taken where a sheet's metal is not recorded.
const ASSUMED: (&str, f64, f64) = ("steel", 2.0, 7850.0);

/// A cut and what it was worked out with.
pub(crate) struct Planned {
    pub(crate) cut: Cut,
    /// What would not stay flat, and what would help.
    pub(crate) unsteady: Vec<Unsteady>,
    pub(crate) layout: Layout,
    pub(crate) rule: StartRule,
    pub(crate) facts: CutFacts,
    /// The metal was not recorded.
    pub(crate) assumed: bool,
    /// How many parts the job had.
    parts: usize,
    asked: Asked,
}

impl Planned {
    /// A placed part by name and copy, or “the skeleton”.
    pub(crate) fn name(&self, placed: Option<usize>, session: &Session) -> String {
        let Some(placed) = placed else { return "the skeleton".to_owned() };
        let p = &self.layout.placements[placed];
        let part = session.view().job().wanted.get(p.part);
        format!("{} #{}", part.map_or("a part", |w| w.part.name.as_str()), p.copy)
    }
}

/// What a cut answers.
#[derive(Clone, Copy, PartialEq)]
struct Asked {
    revision: u64,
    sheet: usize,
}

/// The newest cut, and the one being worked out.
#[derive(Default)]
pub(crate) struct Work {
    newest: Option<Arc<Planned>>,
    asked: Option<Asked>,
    coming: Option<Receiver<Option<Planned>>>,
}

impl Work {
    /// Asks for the cut of the sheet that is shown, where it is not known yet.
    pub(crate) fn ask(&mut self, ctx: &Context, session: &Session) {
        if let Some(coming) = &self.coming
            && let Ok(planned) = coming.try_recv()
        {
            self.coming = None;
            self.newest = planned.map(Arc::new);
        }
        let asked = Asked { revision: session.revision(), sheet: session.shown().0 };
        let layout = session.slot().and_then(|slot| session.view().layout(slot)).cloned();
        // A start or tab that was moved leaves the cut from before to be seen until the new one is there.
        let other = |n: &Arc<Planned>| {
            n.asked.sheet != asked.sheet
                || layout.as_ref() != Some(&n.layout)
                || session.view().job().wanted.len() != n.parts
        };
        if self.newest.as_ref().is_some_and(other) {
            self.newest = None;
        }
        if self.asked.as_ref() == Some(&asked) || self.coming.is_some() {
            return;
        }
        self.asked = Some(asked);
        let Some(layout) = layout.filter(|l| !l.placements.is_empty()) else {
            self.newest = None;
            return;
        };
        let (sourced, values) = (session.view().sourced.clone(), session.values().clone());
        let lies = session.squared_up().cloned();
        let (send, coming) = channel();
        let ctx = ctx.clone();
        let work = move || {
            // Nobody may be waiting any more.
            let _ = send.send(planned(&sourced, &values, layout, lies.as_ref(), asked));
            ctx.request_repaint();
        };
        if std::thread::Builder::new().name("cut".into()).spawn(work).is_ok() {
            self.coming = Some(coming);
        }
    }

    pub(crate) fn newest(&self) -> Option<Arc<Planned>> {
        self.newest.clone()
    }
}

fn planned(
    sourced: &SourcedJob,
    values: &Values,
    layout: Layout,
    lies: Option<&SquaredUp>,
    asked: Asked,
) -> Option<Planned> {
    let (job, wishes) = (&sourced.job, &sourced.cut);
    let known = job.stock.get(layout.stock)?.sheet.made_of.clone();
    let (assumed, (material, thickness, density)) = (known.is_none(), ASSUMED);
    let metal = known.unwrap_or_else(|| Metal { material: material.into(), thickness, density });
    let (rule, mut facts) = values.cutting(wishes, &metal)?;
    let as_laid = lies.map(|s| s.as_laid(job, layout.stock));
    if let Some(s) = lies {
        facts.lies = s.pose();
    }
    let as_it_lies = as_laid.as_ref().unwrap_or(job);
    let cut = plan_cut(as_it_lies, &layout, &rule, &facts, &wishes.by_hand);
    let unsteady = unsteady(as_it_lies, &layout, &job.starts.unwrap_or(rule), &facts, &cut);
    let parts = job.wanted.len();
    Some(Planned { cut, unsteady, layout, rule, facts, assumed, parts, asked })
}
