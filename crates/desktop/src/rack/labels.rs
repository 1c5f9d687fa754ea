//! What labels are printed on.

use eframe::egui::Context;
use oddment_app::act::Act;
use oddment_app::rack::RackAct;
use oddment_files::labels::Stickers;

use crate::theme::{self, Colours, Weight};

const PAPERS: [(Stickers, &str); 3] = [
    (Stickers::A4, "A4, eight on a sheet"),
    (Stickers::Letter, "Letter, eight on a sheet"),
    (Stickers::Roll62, "A roll, 62 mm wide"),
];

/// Labels that are to be printed.
pub(super) struct LabelsCard {
    labels: Vec<String>,
}

impl LabelsCard {
    pub(super) fn new(labels: Vec<String>) -> Self {
        Self { labels }
    }

    /// Draws the card; whether it is done with. `last` is what labels were printed on before.
    pub(super) fn show(
        &self,
        ctx: &Context,
        c: &Colours,
        last: &mut Option<Stickers>,
        acts: &mut Vec<Act>,
    ) -> bool {
        let mut closed = false;
        let title = match &self.labels[..] {
            [one] => format!("The label of {one} as PDF"),
            many => format!("The labels of {} sheets as PDF", many.len()),
        };
        let given_up = theme::modal(ctx, c, &title, 360.0, |ui| {
            for (paper, name) in PAPERS {
                let weight = if *last == Some(paper) { Weight::Strong } else { Weight::Plain };
                if theme::button(ui, c, name, "", weight).clicked() {
                    acts.push(Act::Rack(RackAct::PickLabels(self.labels.clone(), paper)));
                    *last = Some(paper);
                    closed = true;
                }
            }
            closed |= theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked();
        });
        closed || given_up
    }
}
