//! How everything looks: light or dark, units, sizes, and how long a fill may take.

use eframe::egui::{Context, RichText, Ui};
use oddment_app::act::Act;
use oddment_app::session::Session;

use crate::theme::{self, Colours, Weight};

/// The sizes of text and controls that are offered, percent of the usual one.
const SIZES: [u32; 6] = [80, 100, 120, 150, 175, 200];

/// Draws the card; returns whether it stays open.
pub(crate) fn show(ctx: &Context, c: &Colours, session: &Session, acts: &mut Vec<Act>) -> bool {
    let settings = session.settings();
    let mut open = true;
    let given_up = theme::modal(ctx, c, "Look", 560.0, |ui| {
        row(ui, "Light", |ui| {
            either(ui, c, ["light", "dark"], settings.dark, Act::ToggleTheme, acts);
        });
        row(ui, "Lengths in", |ui| {
            either(ui, c, ["mm", "inches"], settings.inch, Act::ToggleUnit, acts);
        });
        row(ui, "Targets", |ui| {
            let names = ["usual", "for gloves"];
            either(ui, c, names, settings.large_targets, Act::ToggleTargets, acts);
        });
        row(ui, "Text size", |ui| {
            // Named sizes, each one press away: whatever is pressed moves as the text grows.
            for percent in SIZES {
                let (name, on) = (format!("{percent} %"), settings.size_percent == percent);
                if theme::choice(ui, c, &name, on).clicked() {
                    acts.push(Act::SetSize(percent));
                }
            }
        });
        let fits = theme::percent_that_fits(ctx, settings.size_percent);
        if fits < settings.size_percent {
            let says = format!("{fits} % fit in this window");
            ui.label(RichText::new(says).font(theme::small()).color(c.quiet));
        }
        row(ui, "A fill takes", |ui| {
            let now = settings.fill_seconds;
            for (seconds, name) in [(3, "3 s"), (10, "10 s"), (60, "1 min"), (600, "10 min")] {
                if theme::choice(ui, c, name, now == seconds).clicked() {
                    acts.push(Act::SetFillSeconds(seconds));
                }
            }
        });
        if theme::button(ui, c, "Done", "Esc", Weight::Plain).clicked() {
            open = false;
        }
    });
    open && !given_up
}

fn row(ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        let (rect, _) =
            ui.allocate_exact_size(eframe::egui::vec2(110.0, 44.0), eframe::egui::Sense::hover());
        let at = rect.left_center();
        let ink = ui.visuals().text_color();
        ui.painter().text(at, eframe::egui::Align2::LEFT_CENTER, name, theme::body(), ink);
        contents(ui);
    });
}

/// Two ways, of which the second holds where `second` says so; `act` changes from one to the other.
fn either(ui: &mut Ui, c: &Colours, names: [&str; 2], second: bool, act: Act, acts: &mut Vec<Act>) {
    for (name, on) in names.into_iter().zip([!second, second]) {
        if theme::choice(ui, c, name, on).clicked() && !on {
            acts.push(act.clone());
        }
    }
}
