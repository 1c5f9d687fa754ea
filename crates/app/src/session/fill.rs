//! Starting, stopping and keeping a fill.

use std::time::Duration;

use super::Session;
use crate::filling::Filling;

impl Session {
    /// Whoever has laid a part needs no hint.
    pub(super) fn hint_is_read(&mut self) {
        if !self.settings.hint_read {
            self.set(|s| s.hint_read = true);
        }
    }

    pub(super) fn fill(&mut self) {
        self.hand = None;
        self.hint_is_read();
        // A fill that is still running is replaced: the latest request wins.
        self.filling = None;
        self.preview = None;
        if self.open.job().wanted.is_empty() {
            self.notice = Some("Nothing is wanted yet: drop a drawing on the slip".into());
            return;
        }
        let limit = Duration::from_secs(u64::from(self.settings.fill_seconds));
        let wake = self.wake.clone();
        match Filling::start(self.open.sourced.clone(), self.open.plan.clone(), limit, move || {
            wake()
        }) {
            Ok(filling) => self.filling = Some(filling),
            Err(fault) => self.notice = Some(format!("The fill could not be started: {fault}")),
        }
    }

    pub(super) fn stop_fill(&mut self) {
        if self.filling.take().is_some() {
            self.preview = None;
            self.revision += 1;
            self.notice = Some("Fill stopped; the plan is as it was".into());
        }
    }

    pub(super) fn keep_best(&mut self) {
        let Some(filling) = self.filling.take() else { return };
        self.preview = None;
        self.revision += 1;
        if let Some(plan) = filling.best().filter(|p| **p != self.open.plan) {
            let plan = plan.clone();
            self.change("Fill", |open| open.plan = plan);
        }
        let (laid, wanted) = self.open.totals();
        let missing = self.open.missing_in_words();
        self.notice = Some(if missing.is_empty() {
            format!("{laid} of {wanted} laid")
        } else {
            format!("{laid} of {wanted} laid; no place was found for {missing}")
        });
    }
}
