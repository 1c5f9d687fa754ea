//! The time of the walk through.

use eframe::egui::Ui;
use oddment_core::cutting::Cut;

/// A whole cut is played in about so many seconds.
const WHOLE: f64 = 45.0;
/// And no slower than it is.
const SLOWEST: f64 = 1.0;

/// Where in the cut one is, and whether it runs.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Clock {
    now: f64,
    playing: bool,
}

impl Clock {
    /// Seconds from the start of the cut.
    pub(crate) fn now(&self) -> f64 {
        self.now
    }

    pub(crate) fn playing(&self) -> bool {
        self.playing
    }

    /// Goes to a moment and stays there.
    pub(crate) fn go(&mut self, seconds: f64) {
        self.now = seconds.max(0.0);
        self.playing = false;
    }

    /// Plays, or stops; from the beginning where it has come to the end.
    pub(crate) fn toggle(&mut self, cut: &Cut) {
        self.playing = !self.playing && !cut.legs.is_empty();
        if self.playing && self.now >= cut.seconds {
            self.now = 0.0;
        }
    }

    /// To the end of this contour, or to the beginning of it and then of the one before.
    pub(crate) fn step(&mut self, cut: &Cut, forward: bool) {
        const HERE: f64 = 1e-3;
        let times = (0..cut.passes.len()).map(|pass| cut.times(pass).1);
        let stops: Vec<f64> = std::iter::once(0.0).chain(times).collect();
        let next = if forward {
            stops.iter().copied().find(|t| *t > self.now + HERE)
        } else {
            stops.iter().copied().rev().find(|t| *t < self.now - HERE)
        };
        self.go(next.unwrap_or(if forward { cut.seconds } else { 0.0 }));
    }

    /// Lets time go by.
    pub(crate) fn run(&mut self, ui: &Ui, cut: &Cut) {
        if self.playing {
            let passed = f64::from(ui.input(|i| i.stable_dt)).min(0.1);
            self.now += passed * (cut.seconds / WHOLE).max(SLOWEST);
            self.playing = self.now < cut.seconds;
            ui.ctx().request_repaint();
        }
        self.now = self.now.min(cut.seconds);
    }
}

/// “3:07”.
pub(crate) fn minutes(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}
