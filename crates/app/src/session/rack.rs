//! The rack and the open job: sheets taken from it, cuts recorded in it.

use oddment_core::plan::{Count, Stock};
use oddment_core::sheet::Sheet;
use oddment_files::job_file::Origin;
use oddment_files::plan_file::{RunFacts, write_plan};
use oddment_rack::record::{Outcome, Recorded, Recording};

use super::Session;
use crate::place::Place;
use crate::rack::{Desk, Done, RackAct};

impl Session {
    /// The rack, where there is one.
    pub fn rack(&self) -> Option<&Desk> {
        self.rack.as_ref()
    }

    /// Whether what lies on the sheet that is shown can be recorded as cut: something lies there, and
    /// the rack has the sheet.
    pub fn can_record(&self) -> bool {
        let shown = self.slot().filter(|s| s.layout.is_some());
        shown.is_some_and(|slot| {
            let name = &self.view().job().stock[slot.stock].sheet.name;
            self.rack.as_ref().is_some_and(|rack| rack.has(name))
        })
    }

    pub(super) fn poll_rack(&mut self) {
        let done = self.rack.as_mut().map(Desk::poll).unwrap_or_default();
        self.take_values();
        for done in done {
            match done {
                Done::Took(sheet) => {
                    self.keep_best();
                    self.new_sheet(Stock { sheet: sheet.sheet(), count: 1 }, Origin::Outline);
                    self.set(|s| s.place = Place::Sheet);
                }
                Done::Recorded(recorded) => self.recorded(recorded),
            }
        }
    }

    pub(super) fn rack_act(&mut self, act: RackAct) {
        match act {
            RackAct::Record(on_bed) => self.record_shown(on_bed),
            other => match &mut self.rack {
                Some(rack) => rack.act(other),
                None => self.notice = Some("There is no rack here".into()),
            },
        }
    }

    /// Records what lies on the sheet that is shown as cut as planned.
    fn record_shown(&mut self, on_bed: bool) {
        self.keep_best();
        self.hand = None;
        let slot = self.slot();
        let Some((slot, layout)) = slot.and_then(|s| Some((s, s.layout?))) else {
            self.notice = Some("Nothing lies on this sheet, so there is nothing to record".into());
            return;
        };
        let label = self.open.job().stock[slot.stock].sheet.name.clone();
        let recording = Recording {
            on_bed,
            order: Some(self.open.title.clone()),
            plan: write_plan(&self.open.sourced, &self.checked, RunFacts::default()),
            ..Recording::default()
        };
        let (job, checked) = (self.open.job().clone(), self.checked.clone());
        match &mut self.rack {
            Some(rack) => rack.record(job, checked, vec![(layout, label, recording)]),
            None => self.notice = Some("There is no rack here".into()),
        }
    }

    /// What was cut lies on the sheets no more: they are as the rack has them now, and the order asks
    /// for what was not made.
    fn recorded(&mut self, recorded: Vec<(Recorded, Option<Sheet>)>) {
        for (recorded, now) in recorded {
            self.notice = Some(recorded.words());
            if recorded.event == 0 {
                continue;
            }
            let label = recorded.label.clone();
            self.change(format!("Record the cut of {label}"), |open| {
                let Some(stock) = open.job().stock.iter().position(|s| s.sheet.name == label)
                else {
                    return;
                };
                let failed = |name: &str, copy: usize| {
                    recorded
                        .not_made
                        .iter()
                        .any(|(n, c, why)| n == name && *c == copy && *why != Outcome::Good)
                };
                let mut made = vec![0; open.job().wanted.len()];
                for p in open
                    .plan
                    .layouts
                    .iter()
                    .filter(|l| l.stock == stock)
                    .flat_map(|l| &l.placements)
                {
                    if !failed(&open.job().wanted[p.part].part.name, p.copy) {
                        made[p.part] += 1;
                    }
                }
                open.plan.layouts.retain(|l| l.stock != stock);
                for part in (0..made.len()).rev() {
                    let Count::Exactly(wanted) = open.job().wanted[part].count else { continue };
                    match wanted.saturating_sub(made[part]) {
                        0 if made[part] > 0 => open.remove_part(part),
                        left => open.job_mut().job.wanted[part].count = Count::Exactly(left),
                    }
                }
                match now {
                    Some(sheet) => open.job_mut().job.stock[stock].sheet = sheet,
                    None if open.job().stock.len() > 1 => {
                        let sourced = open.job_mut();
                        sourced.job.stock.remove(stock);
                        sourced.sheets.remove(stock);
                        for layout in open.plan.layouts.iter_mut().filter(|l| l.stock > stock) {
                            layout.stock -= 1;
                        }
                    }
                    None => {
                        let sourced = open.job_mut();
                        sourced.job.stock.clear();
                        sourced.sheets.clear();
                    }
                }
            });
        }
    }
}
