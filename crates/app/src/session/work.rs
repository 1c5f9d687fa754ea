//! Starting, stopping and keeping long work.

use std::time::Duration;

use oddment_core::plan::{Count, Placement, Plan};
use oddment_core::shape::Vector;
use oddment_files::words::{counted, never_starts_words, wrong_metal_words};

use super::Session;
use crate::any_place::AnyPlace;
use crate::work::{Task, start};

/// What is being worked on, for people.
#[derive(Clone, Debug, PartialEq)]
pub struct AtWork {
    /// What is done, and how far it is.
    pub says: String,
    /// Time since it started.
    pub elapsed: Duration,
    /// How long it may take.
    pub limit: Duration,
    /// How long it will still take, where the work can tell.
    pub estimate: Option<Duration>,
    /// Time since the best so far was found, where there is one.
    pub unchanged: Option<Duration>,
    /// How much of what is wanted the best so far has, 0 to 1.
    pub share: Option<f32>,
    /// What it is called to keep the best so far, where there is one.
    pub keep: Option<&'static str>,
}

impl AtWork {
    /// “0:03, about 0:04 to go”; where nobody can tell, how long it takes at most.
    pub fn time_in_words(&self) -> String {
        let spent = clock(self.elapsed);
        match self.estimate {
            Some(left) => format!("{spent}, about {} to go", clock(left)),
            None => {
                let left = clock(self.limit.saturating_sub(self.elapsed));
                format!("{spent}, no estimate, at most {left} more")
            }
        }
    }

    /// “nothing better for 0:05”, once that is worth knowing.
    pub fn unchanged_in_words(&self) -> Option<String> {
        let long = self.unchanged.filter(|long| long.as_secs() >= 2)?;
        Some(format!("nothing better for {}", clock(long)))
    }
}

/// “0:03”.
fn clock(time: Duration) -> String {
    let whole = time.as_secs();
    format!("{}:{:02}", whole / 60, whole % 60)
}

impl Session {
    /// Whether anything would be lost if the program ended now.
    pub fn is_at_work(&self) -> bool {
        let captures = self.capture().is_some_and(|c| c.seen().is_some());
        self.work.is_some() || self.bars.is_at_work() || self.exchange.is_busy() || captures
    }

    /// Whether whoever ends the program now may not have meant to: something would be lost, a comparison is
    /// under way, or drawings are being taken in.
    pub fn ends_early(&self) -> bool {
        let compares = self.compare.running().is_some_and(|r| r.is_running());
        let takes_in = self.rack.as_ref().is_some_and(|rack| rack.importing().is_some());
        self.is_at_work() || compares || takes_in
    }

    /// The long work that is going on.
    pub fn at_work(&self) -> Option<AtWork> {
        if let Some((task, work)) = &self.work {
            let (laid, wanted) = self.view().totals();
            let (says, share) = match task {
                Task::Fill => (
                    format!("best so far {laid} of {wanted} laid"),
                    Some(if wanted == 0 { 0.0 } else { laid as f32 / wanted as f32 }),
                ),
                Task::Shorten { .. } => (self.shortened_in_words(), None),
            };
            return Some(AtWork {
                says,
                elapsed: work.elapsed(),
                limit: work.limit(),
                estimate: work.estimate(),
                unchanged: work.unchanged(),
                share,
                keep: work.best().map(|_| "Keep this"),
            });
        }
        let search = self.any_place.as_ref()?;
        let name = self.part_name(search.part);
        Some(AtWork {
            says: match search.closest() {
                Some((short, _)) => {
                    let unit = self.settings.unit();
                    format!("{name}: closest so far {} {unit} short", unit.show(short))
                }
                None => format!("any place for {name}?"),
            },
            elapsed: search.elapsed(),
            limit: search.limit(),
            estimate: None,
            unchanged: search.unchanged(),
            share: None,
            keep: search.closest().map(|_| "Keep the closest"),
        })
    }

    /// By how much the loose parts have come together.
    fn shortened_in_words(&self) -> String {
        let Some((Task::Shorten { layout, way }, _)) = self.work else {
            return String::new();
        };
        let reach = |open: &crate::open_job::OpenJob| {
            let l = open.plan.layouts.get(layout)?;
            let far = |p: &oddment_core::plan::Placement| {
                let bounds = open.job().wanted[p.part].part.region.placed(&p.pose).bounds();
                bounds.min.to_vector().dot(-way).max(bounds.max.to_vector().dot(-way))
            };
            l.placements.iter().filter(|p| !p.locked).map(far).reduce(f64::max)
        };
        let unit = self.settings.unit();
        match reach(&self.open).zip(reach(self.view())) {
            Some((before, now)) => format!("shorter by {} {unit}", unit.show(before - now)),
            None => String::new(),
        }
    }

    /// Whoever has laid a part needs no hint.
    pub(super) fn hint_is_read(&mut self) {
        if !self.settings.hint_read {
            self.set(|s| s.hint_read = true);
        }
    }

    pub(super) fn fill(&mut self) {
        self.hint_is_read();
        if self.open.job().wanted.is_empty() {
            self.refuse("Nothing is wanted yet: drop a drawing on the slip");
            return;
        }
        self.refused = self.on_no_sheet();
        self.start(Task::Fill);
    }

    pub(super) fn shorten(&mut self, way: Vector) {
        let layout = self.slot().and_then(|s| s.layout);
        let loose = layout
            .and_then(|l| self.open.plan.layouts.get(l))
            .is_some_and(|l| l.placements.iter().any(|p| !p.locked));
        match layout.filter(|_| loose) {
            Some(layout) => self.start(Task::Shorten { layout, way }),
            None => self.refuse("Nothing loose lies on this sheet"),
        }
    }

    fn start(&mut self, task: Task) {
        self.hand = None;
        self.any_place = None;
        // Work that is still running is replaced: the latest request wins.
        self.work = None;
        self.preview = None;
        let limit = Duration::from_secs(u64::from(self.settings.fill_seconds));
        let (job, plan, wake) = (
            self.as_it_lies(&self.open).sourced.clone(),
            self.open.plan.clone(),
            self.wake.clone(),
        );
        match start(task, job, plan, limit, wake) {
            Ok(work) => self.work = Some((task, work)),
            Err(fault) => self.refuse(format!("The work could not be started: {fault}")),
        }
    }

    /// The parts still wanted that no sheet here is the right metal for, in words.
    fn on_no_sheet(&self) -> Vec<String> {
        let job = self.open.job();
        self.missing_parts()
            .filter_map(|part| {
                let part = &job.wanted[part].part;
                let says = |s: &oddment_core::plan::Stock| {
                    wrong_metal_words(part, &s.sheet, self.settings.unit())
                };
                // Refused only where every sheet refuses it.
                job.stock.iter().map(says).collect::<Option<Vec<_>>>()?.into_iter().next()
            })
            .collect()
    }

    pub(super) fn stop_work(&mut self) {
        if self.bars.stop() {
            self.notice = Some("Stopped; the plan for bars is as it was".into());
        }
        if self.any_place.take().is_some() {
            self.notice = Some("Stopped looking".into());
        }
        if let Some((task, _)) = self.work.take() {
            self.preview = None;
            self.revision += 1;
            self.notice = Some(format!("{} stopped; the plan is as it was", task.name()));
        }
    }

    /// Ends the work and keeps its best so far.
    pub(super) fn keep_best(&mut self) {
        self.end_work(false);
    }

    /// Keeps the best of the work, which has come to its end or is ended before that.
    pub(super) fn end_work(&mut self, at_its_end: bool) {
        let Some((task, work)) = self.work.take() else { return };
        self.preview = None;
        self.revision += 1;
        let least = self.least_laid();
        let better = |p: &&Plan| **p != self.open.plan && self.open.metal_laid(p) >= least;
        let mut moved = 0;
        if let Some(plan) = work.best().filter(better) {
            let (plan, before) = (plan.clone(), self.open.plan.clone());
            let moves = |p: &&Placement| !plan.placements().any(|now| now == *p);
            moved = before.placements().filter(moves).count();
            self.change(task.name(), |open| open.plan = plan);
        }
        if task == Task::Fill {
            let (laid, wanted) = self.open.totals();
            let missing = self.open.missing_in_words();
            let mut says = vec![format!("{laid} of {wanted} laid")];
            says.append(&mut self.refused);
            if says.len() == 1 && !missing.is_empty() {
                let never = self.never_starting();
                says.extend((!never.is_empty()).then(|| never.join("; ")));
                let others = self.missing_parts().count() > never.len();
                says.extend(others.then(|| match at_its_end {
                    true => format!("no place was found for {missing}"),
                    false => format!("ended before a place was found for {missing}"),
                }));
            }
            if moved > 0 {
                let parts = counted(moved, "loose part that lay here", "loose parts that lay here");
                says.push(format!("{parts} moved; L locks what is to stay"));
            }
            self.notice = Some(says.join("; "));
        }
    }

    /// What a plan that takes the place of the open one must lay at least, as [`OpenJob::metal_laid`]: a
    /// clear plan is never given up for one with less in it.
    pub(super) fn least_laid(&self) -> [u64; 3] {
        if self.checked.is_clear() { self.open.metal_laid(&self.open.plan) } else { [0; 3] }
    }

    /// The parts that are still wanted.
    fn missing_parts(&self) -> impl Iterator<Item = usize> {
        (0..self.open.job().wanted.len()).filter(|part| self.open.wants_more(*part))
    }

    /// Why parts that are missing can be laid nowhere, where a cut of theirs can't start.
    fn never_starting(&self) -> Vec<String> {
        let job = self.open.job();
        let Some(rule) = &job.starts else { return Vec::new() };
        self.missing_parts()
            .filter_map(|p| never_starts_words(&job.wanted[p].part, &job.clearances, rule))
            .collect()
    }

    /// Ends the search for any place and lays the part at the closest so far, which is not clear.
    pub(super) fn keep_closest(&mut self) {
        let Some(search) = self.any_place.take() else { return };
        let Some((_, pose)) = search.closest() else { return };
        self.lay_found(&search, pose);
        self.notice =
            Some("Laid at the closest place, which is not clear; the check says where".into());
    }

    /// A fill that has ended by itself without laying everything asks for a proof, part by part; but not of
    /// parts whose cut can start nowhere.
    pub(super) fn look_for_missing(&mut self) {
        let (job, Some(slot)) = (self.open.job(), self.slot()) else { return };
        let metal = job.stock[slot.stock].sheet.made_of.as_ref();
        let missing = (0..job.wanted.len()).find(|part| {
            let wanted = &job.wanted[*part];
            let starts = job.starts.as_ref().is_none_or(|rule| {
                never_starts_words(&wanted.part, &job.clearances, rule).is_none()
            });
            matches!(wanted.count, Count::Exactly(_))
                && self.open.wants_more(*part)
                && wanted.part.may_be_of(metal)
                && starts
        });
        // Of several sheets one may still have room: then no proof about this one helps.
        if let (Some(part), 1) = (missing, self.open.slots().len()) {
            let wake = self.wake.clone();
            let open = self.as_it_lies(&self.open);
            self.any_place = AnyPlace::start(&open, slot, part, None, wake).ok();
            self.filled.clone_from(&self.notice);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(spent: u64, estimate: Option<u64>, unchanged: Option<u64>, says: [&str; 2]) {
        let work = AtWork {
            says: String::new(),
            elapsed: Duration::from_millis(spent),
            limit: Duration::from_secs(130),
            estimate: estimate.map(Duration::from_millis),
            unchanged: unchanged.map(Duration::from_millis),
            share: None,
            keep: None,
        };
        let unchanged = work.unchanged_in_words().unwrap_or_default();
        assert_eq!([work.time_in_words(), unchanged], says);
    }

    #[test]
    fn times_are_told_as_far_as_they_are_known() {
        check(3900, Some(64_000), None, ["0:03, about 1:04 to go", ""]);
        check(5000, None, Some(1900), ["0:05, no estimate, at most 2:05 more", ""]);
        let says = ["2:11, no estimate, at most 0:00 more", "nothing better for 0:07"];
        check(131_000, None, Some(7000), says);
    }
}
