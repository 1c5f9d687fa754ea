//! A window on the sample shop's rack, worked at by the names of things.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::vec2;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use oddment_app::act::Act;
use oddment_app::keep::Keep;
use oddment_app::session::Session;
use oddment_app::start::first_job;
use tempfile::TempDir;

use crate::window::Window;

/// The window, and the folder of its files.
pub(crate) struct Bench {
    pub(crate) harness: Harness<'static, Option<Window>>,
    pub(crate) folder: PathBuf,
    /// Goes after the window, which keeps its work there to the last.
    _folder: TempDir,
}

/// A window on the sample shop's rack, in a folder of its own.
pub(crate) fn bench(name: &str) -> Bench {
    let kept = tempfile::Builder::new().prefix(&format!("oddment-{name}-")).tempdir().unwrap();
    let folder = kept.path().to_path_buf();
    let keep = Keep::in_folder(&folder);
    let harness =
        Harness::builder().with_size(vec2(1400.0, 900.0)).with_max_steps(400).build_ui_state(
            move |ui, window: &mut Option<Window>| {
                let window = window.get_or_insert_with(|| {
                    let wake = Arc::new(|| {});
                    let session = Session::new(first_job().unwrap(), Some(keep.clone()), wake);
                    Window::new(ui.ctx(), session)
                });
                window.main_ui(ui);
            },
            None,
        );
    let mut bench = Bench { harness, folder, _folder: kept };
    bench.until(|s| s.rack().is_some_and(|r| r.listing().sheets.len() == 13));
    bench
}

impl Bench {
    pub(crate) fn session(&self) -> &Session {
        self.harness.state().as_ref().unwrap().session()
    }

    /// Draws frames until it is so; other threads have their time.
    #[track_caller]
    pub(crate) fn until(&mut self, is_so: impl Fn(&Session) -> bool) {
        let begun = Instant::now();
        loop {
            self.harness.run_steps(2);
            if is_so(self.session()) {
                break;
            }
            let rack = self.session().rack();
            let said = rack.and_then(|r| {
                let said = r.refused().or(r.said()).map(str::to_owned);
                said.or(r.problem().map(|p| p.to_string()))
            });
            assert!(begun.elapsed() < Duration::from_secs(60), "it never came to be so: {said:?}");
            std::thread::sleep(Duration::from_millis(10));
        }
        self.harness.run_steps(2);
    }

    /// Does an act as a key or a press would.
    pub(crate) fn act(&mut self, act: Act) {
        self.harness.state_mut().as_mut().unwrap().act(act);
        self.harness.run_steps(3);
    }

    pub(crate) fn press(&mut self, name: &str) {
        self.harness.get_by(|n| n.label().is_some_and(|l| l.starts_with(name))).click();
        // What opens over the place takes a frame to find its size.
        self.harness.run_steps(4);
    }

    pub(crate) fn type_into(&mut self, name: &str, text: &str) {
        // The field comes after the words that name it.
        self.harness.get_all_by_label(name).last().unwrap().focus();
        self.harness.run_steps(1);
        self.harness.get_all_by_label(name).last().unwrap().type_text(text);
        self.harness.run_steps(2);
    }

    pub(crate) fn says(&self, text: &str) -> bool {
        let says = |said: Option<String>| said.is_some_and(|said| said.contains(text));
        self.harness.query_all_by(|n| says(n.label()) || says(n.value())).next().is_some()
    }

    pub(crate) fn sheet(&self, label: &str) -> oddment_rack::sheets::Entry {
        let listing = self.session().rack().unwrap().listing().clone();
        listing.sheets.iter().find(|e| e.label == label).unwrap().clone()
    }
}
