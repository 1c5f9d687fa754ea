//! The rack out into files and in from them, and which shop file is open.

use eframe::egui::{Context, Grid, Key, Label, RichText, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_rack::sheets::Entry;

use super::new_facts::NewFacts;
use crate::theme::{self, Colours, Weight};

/// What is typed of drawings that are to be taken in.
#[derive(Default)]
pub(super) struct ExchangeCard {
    /// Of a folder of drawings, once that is asked for.
    drawings: Option<NewFacts>,
    /// Whether the keyboard was in its first field.
    begun: bool,
    fault: Option<String>,
}

/// What of the rack can go out.
#[derive(Clone, Copy)]
pub(super) struct Offered<'a> {
    /// The sheet that is chosen.
    pub(super) chosen: Option<&'a Entry>,
    /// How many sheets are shown.
    pub(super) shown: usize,
}

/// What became of the card in a frame.
pub(super) enum Answer {
    /// It stays open.
    Open,
    /// It is done with.
    Done,
    /// The labels of the sheets shown are asked for.
    Labels,
}

impl ExchangeCard {
    /// Draws the card.
    pub(super) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        offered: Offered<'_>,
        acts: &mut Vec<Act>,
    ) -> Answer {
        let mut act = None;
        let (mut closed, mut labels) = (false, false);
        // The press that asks for a folder does not go on to choose it.
        let was_begun = self.begun;
        let title = match self.drawings {
            None => "In and out",
            Some(_) => "Take a folder of drawings in",
        };
        let given_up = theme::modal(ctx, c, title, 760.0, |ui| {
            match &mut self.drawings {
                None => {
                    act = self.offers(ui, c, desk, offered, &mut labels);
                }
                Some(facts) => {
                    let text = "Each DXF or SVG becomes a sheet, labelled after its file. What all \
                                of them are made of:";
                    ui.label(RichText::new(text).color(c.quiet));
                    let grid = Grid::new("drawings").num_columns(3).spacing(vec2(14.0, 6.0));
                    let first = grid.show(ui, |ui| facts.rows(ui, c, desk)).inner;
                    if !std::mem::replace(&mut self.begun, true) {
                        first.request_focus();
                    }
                }
            }
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
            ui.add_space(6.0);
            ui.horizontal(|ui| {
                let enter = was_begun && ui.input(|i| i.key_pressed(Key::Enter));
                if let Some(facts) = &self.drawings
                    && (theme::button(ui, c, "Choose the folder", "Enter", Weight::Plain).clicked()
                        || enter)
                {
                    match facts.facts(session.settings().unit()) {
                        Ok(facts) => act = Some(RackAct::PickDrawings(Box::new(facts))),
                        Err(fault) => self.fault = Some(fault),
                    }
                }
                closed = theme::button(ui, c, "Close", "Esc", Weight::Words).clicked();
            });
        });
        closed |= given_up || act.is_some();
        acts.extend(act.map(Act::Rack));
        match (labels, closed) {
            (true, _) => Answer::Labels,
            (false, true) => Answer::Done,
            (false, false) => Answer::Open,
        }
    }

    /// All that can be done, each with what it is good for.
    fn offers(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        desk: &Desk,
        Offered { chosen, shown }: Offered<'_>,
        labels: &mut bool,
    ) -> Option<RackAct> {
        let mut act = None;
        let mut drawings = false;
        heading(ui, c, "Out of the rack");
        rows(ui, "out", |ui| {
            if shown > 0 {
                let help =
                    format!("PDF: of the {shown} sheets and bars shown, each with its QR code");
                *labels = offer(ui, c, "Labels", &help);
            }
            let help = "CSV: a line for each sheet; changed in a spreadsheet it goes in again";
            if offer(ui, c, "The list", help) {
                act = Some(RackAct::PickExport("rack.csv".into()));
            }
            let help =
                "JSON: sheets, history, orders, drawings and pictures, for another shop file";
            if offer(ui, c, "Everything", help) {
                act = Some(RackAct::PickExport("rack.json".into()));
            }
            if let Some(entry) = chosen.filter(|entry| entry.facts.bar.is_none()) {
                let name = format!("{} as a drawing", entry.label);
                if offer(ui, c, &name, "DXF: its edge and cut-outs as they are recorded") {
                    act = Some(RackAct::PickExport(format!("{}.dxf", entry.label)));
                }
            }
        });
        heading(ui, c, "Into the rack");
        rows(ui, "in", |ui| {
            let help =
                "CSV or JSON: what is known of sheets that are there, and sheets that are not";
            if offer(ui, c, "A list, or a whole rack", help) {
                act = Some(RackAct::PickImport);
            }
            let help = "DXF or SVG: each drawing is a sheet with its cut-outs";
            drawings = offer(ui, c, "A folder of drawings", help);
        });
        if drawings {
            self.drawings = Some(NewFacts::default());
        }
        heading(ui, c, "Shop file");
        if let (_, Some(path)) = desk.shop() {
            let text = RichText::new(path.display().to_string()).font(theme::small());
            ui.add(Label::new(text.color(c.quiet)).wrap());
        }
        for notice in desk.notices() {
            ui.add(Label::new(RichText::new(notice).color(c.text)).wrap());
        }
        rows(ui, "file", |ui| {
            if offer(ui, c, "Open another", "the rack of another shop, or one on a share") {
                act = Some(RackAct::PickShop);
            }
            if offer(ui, c, "Start your own", "an empty rack with the materials to start from") {
                act = Some(RackAct::PickNewShop);
            }
            if offer(ui, c, "The sample shop", "to try things with") {
                act = Some(RackAct::OpenSampleShop);
            }
        });
        act
    }
}

fn heading(ui: &mut Ui, c: &Colours, text: &str) {
    ui.add_space(8.0);
    ui.label(RichText::new(text).font(theme::strong()).color(c.text));
}

fn rows(ui: &mut Ui, name: &str, rows: impl FnOnce(&mut Ui)) {
    Grid::new(name).num_columns(2).min_col_width(220.0).spacing(vec2(14.0, 6.0)).show(ui, rows);
}

/// A row: the button, and what it is good for.
fn offer(ui: &mut Ui, c: &Colours, name: &str, help: &str) -> bool {
    let pressed = theme::button(ui, c, name, "", Weight::Plain).clicked();
    ui.label(RichText::new(help).color(c.quiet));
    ui.end_row();
    pressed
}
