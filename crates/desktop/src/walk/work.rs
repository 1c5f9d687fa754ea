//! The cut, worked out on a thread of its own; the newest question is the one that is answered.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};

use eframe::egui::Context;
use oddment_app::session::Session;
use oddment_core::cut_data::Process;
use oddment_core::cutting::{ByHand, Cut, CutFacts, plan_cut};
use oddment_core::distances::StartRule;
use oddment_core::plan::{Job, Layout};
use oddment_core::sheet::Metal;
use oddment_files::cut_data::starting_cut_data;

/// What is taken where a sheet's metal is not recorded.
const ASSUMED: (&str, f64, f64) = ("steel", 2.0, 7850.0);

/// A cut and what it was worked out with.
pub(crate) struct Planned {
    pub(crate) cut: Cut,
    pub(crate) layout: Layout,
    pub(crate) rule: StartRule,
    pub(crate) facts: CutFacts,
    /// The metal was not recorded.
    pub(crate) assumed: bool,
    asked: Asked,
}

/// What a cut answers.
#[derive(Clone, PartialEq)]
struct Asked {
    revision: u64,
    sheet: usize,
    by_hand: ByHand,
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
    pub(crate) fn ask(&mut self, ctx: &Context, session: &Session, by_hand: &ByHand) {
        if let Some(coming) = &self.coming
            && let Ok(planned) = coming.try_recv()
        {
            self.coming = None;
            self.newest = planned.map(Arc::new);
        }
        let asked = Asked {
            revision: session.revision(),
            sheet: session.shown().0,
            by_hand: by_hand.clone(),
        };
        let stale = self
            .newest
            .as_ref()
            .is_some_and(|n| (n.asked.revision, n.asked.sheet) != (asked.revision, asked.sheet));
        if stale {
            self.newest = None;
        }
        if self.asked.as_ref() == Some(&asked) || self.coming.is_some() {
            return;
        }
        self.asked = Some(asked.clone());
        let layout = session.slot().and_then(|slot| session.view().layout(slot)).cloned();
        let Some(layout) = layout.filter(|l| !l.placements.is_empty()) else {
            self.newest = None;
            return;
        };
        let job = session.view().job().clone();
        let (send, coming) = channel();
        let ctx = ctx.clone();
        let work = move || {
            // Nobody may be waiting any more.
            let _ = send.send(planned(job, layout, asked));
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

fn planned(job: Job, layout: Layout, asked: Asked) -> Option<Planned> {
    let table = starting_cut_data().ok()?;
    let known = job.stock.get(layout.stock)?.sheet.made_of.clone();
    let (assumed, (material, thickness, density)) = (known.is_none(), ASSUMED);
    let metal = known.unwrap_or_else(|| Metal { material: material.into(), thickness, density });
    let rule = table.starts(Process::FibreLaser, metal.thickness)?;
    let facts = table.facts(Process::FibreLaser, &metal)?;
    let cut = plan_cut(&job, &layout, &rule, &facts, &asked.by_hand);
    Some(Planned { cut, layout, rule, facts, assumed, asked })
}
