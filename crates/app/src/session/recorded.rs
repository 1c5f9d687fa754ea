//! Cuts that were recorded in the rack, and taken back.

use std::path::{Path, PathBuf};

use oddment_core::plan::Count;
use oddment_core::shape::Vector;
use oddment_core::sheet::Sheet;
use oddment_files::job_file::SheetLay;
use oddment_rack::record::{Kept, Outcome, Recorded};

use super::Session;
use crate::rack::RackAct;

/// A cut that was recorded from here and not taken back.
pub(super) struct RecordedCut {
    /// What the history calls it.
    pub(super) name: String,
    /// The rack's event.
    event: i64,
    /// The shop file that it was recorded in.
    shop: Option<PathBuf>,
}

impl Session {
    /// The shop file that is open.
    fn shop_file(&self) -> Option<PathBuf> {
        self.rack.as_ref().and_then(|rack| rack.shop().1).map(Path::to_path_buf)
    }

    /// Cuts of sheets, or of bars, that are not taken back, with the act that undo is about there.
    fn recorded_of(&mut self, bars: bool) -> (&mut Vec<RecordedCut>, Option<&str>) {
        match bars {
            true => (&mut self.recorded_bars, self.bars.undoes_and_redoes().0),
            false => (&mut self.recorded, self.history.undoes()),
        }
    }

    /// Takes the cut that undo is about, of sheets or of `bars`, back in the rack too; whether undo is about
    /// one. `None` where undo must not go on: another shop file is open.
    pub(super) fn take_back_cut(&mut self, bars: bool) -> Option<bool> {
        let open = self.shop_file();
        let (recorded, undoes) = self.recorded_of(bars);
        let Some(cut) = recorded.pop_if(|cut| undoes == Some(cut.name.as_str())) else {
            return Some(false);
        };
        if cut.shop != open {
            let shop = cut.shop.as_ref().map(|path| path.display().to_string());
            let shop = shop.unwrap_or_default();
            let why = format!("{} is in {shop}: open that shop file first", cut.name);
            recorded.push(cut);
            self.refuse(why);
            return None;
        }
        if let Some(rack) = &mut self.rack {
            rack.act(RackAct::Undo(Some(cut.event)));
        }
        Some(true)
    }

    /// What was cut lies on the sheets no more: they are as the rack has them now, and the order asks
    /// for what was not made.
    pub(super) fn recorded(&mut self, recorded: Vec<(Recorded, Option<Sheet>)>) {
        for (recorded, now) in recorded {
            self.notice = Some(recorded.words(self.settings.unit()));
            if recorded.event == 0 {
                continue;
            }
            let label = recorded.label.clone();
            let name = format!("Record the cut of {label}");
            let shop = self.shop_file();
            self.recorded.push(RecordedCut { name: name.clone(), event: recorded.event, shop });
            self.change(name, |open| {
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
                    Some(sheet) => {
                        if let Some(left) = recorded.left_on_bed() {
                            stays_on_bed(&mut open.job_mut().cut.lays, &label, left);
                        }
                        open.job_mut().job.stock[stock].sheet = sheet;
                    }
                    None => open.remove_sheet(stock),
                }
            });
        }
    }

    /// A cut that was recorded here was taken back in the rack: the job, or the order of bars, is as before
    /// it, where that was the last act on it.
    pub(super) fn taken_back(&mut self, event: i64) {
        let shop = self.shop_file();
        let mut was_last = |bars: bool| {
            let (recorded, undoes) = self.recorded_of(bars);
            let is_it = |cut: &mut RecordedCut| {
                cut.event == event && cut.shop == shop && undoes == Some(cut.name.as_str())
            };
            recorded.pop_if(is_it).is_some()
        };
        let (sheets, bars) = (was_last(false), was_last(true));
        // To be done again it must be recorded again.
        if sheets {
            self.hand = None;
            self.history.undo(&mut self.open);
            self.history.forget_undone();
            self.changed();
        }
        if bars {
            self.bars.step(true);
            self.bars.forget_undone();
        }
    }

    /// A cut of bars was recorded here under this name.
    pub(super) fn bars_are_recorded(&mut self, name: &str, event: i64) {
        let shop = self.shop_file();
        self.recorded_bars.push(RecordedCut { name: name.to_owned(), event, shop });
    }
}

/// What was measured of how a sheet lies is so of what of it still lies there, seen from its own corner.
fn stays_on_bed(lays: &mut [SheetLay], sheet: &str, left: &Kept) {
    let corner = left.on_bed.map_or(Vector::default(), |[x, y]| Vector::new(x, y));
    for lay in lays.iter_mut().filter(|lay| lay.sheet == sheet) {
        lay.sheet.clone_from(&left.label);
        for point in &mut lay.points {
            point.at = point.at - corner;
        }
    }
}
