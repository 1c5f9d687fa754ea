//! Filler parts: small parts that are always of use, with how many there should be in stock.

use eframe::egui::{Align2, Context, Grid, RichText, ScrollArea, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::rack::fillers::drawn;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_core::units::LengthUnit;
use oddment_files::words::thickness_words;
use oddment_rack::fillers::{Filler, Stocked};

use crate::theme::{self, Colours, Weight};
use crate::told::Pending;

/// The filler parts, as typed.
pub(super) struct FillersCard {
    rows: Vec<Row>,
    /// Parts that are to be laid no more.
    gone: Vec<String>,
    fault: Option<String>,
    pending: Pending,
}

struct Row {
    filler: Filler,
    /// In stock, least and most, as typed.
    typed: [String; 3],
    /// What was known of it, and so stood there; `None` of a part that is none of them yet.
    known: Option<(Stocked, [String; 3])>,
}

/// No more of the order’s parts are offered.
const OFFERED: usize = 12;

const NAMES: [&str; 3] = ["in stock", "least", "most"];

impl FillersCard {
    pub(super) fn new(desk: &Desk) -> Self {
        Self {
            rows: desk.listing().fillers.iter().map(Row::new).collect(),
            gone: Vec::new(),
            fault: None,
            pending: Pending::default(),
        }
    }

    /// Draws the card; whether it is done with.
    pub(super) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        acts: &mut Vec<Act>,
    ) -> bool {
        let mut closed = self.pending.is_done(session, &mut self.fault);
        let given_up = theme::modal(ctx, c, "Filler parts", 760.0, |ui| {
            let text = "Small parts that are always of use: offered on the Sheet where a plan leaves \
                        metal for them. What is cut counts into stock.";
            ui.label(RichText::new(text).color(c.quiet));
            let high = (ctx.content_rect().height() - 320.0).max(160.0);
            let unit = session.settings().unit();
            ScrollArea::vertical().max_height(high).show(ui, |ui| self.rows(ui, c, unit));
            self.offer(ui, c, session);
            self.pending.show(ui, c, self.fault.as_deref());
            ui.horizontal(|ui| {
                if theme::button(ui, c, "Keep", "", Weight::Plain).clicked() {
                    match self.changed() {
                        Ok(changed) if changed.is_empty() && self.gone.is_empty() => closed = true,
                        Ok(changed) => {
                            let keep = RackAct::KeepFillers(self.gone.clone(), changed);
                            self.pending.ask(Act::Rack(keep), acts);
                        }
                        Err(fault) => self.fault = Some(fault),
                    }
                }
                closed |= theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked();
            });
        });
        closed || given_up
    }

    fn rows(&mut self, ui: &mut Ui, c: &Colours, unit: LengthUnit) {
        let mut gone = None;
        Grid::new("fillers").num_columns(6).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
            if !self.rows.is_empty() {
                for name in ["", "", NAMES[0], NAMES[1], NAMES[2]] {
                    ui.label(RichText::new(name).font(theme::small()).color(c.quiet));
                }
                ui.end_row();
            }
            for (i, row) in self.rows.iter_mut().enumerate() {
                let part = row.filler.part.clone();
                ui.label(RichText::new(&part).font(theme::strong()));
                let thickness = thickness_words(row.filler.thickness, unit);
                let metal = format!("{thickness} {}", row.filler.material);
                ui.label(RichText::new(metal).color(c.quiet));
                for (text, name) in row.typed.iter_mut().zip(NAMES) {
                    let field = TextEdit::singleline(text)
                        .desired_width(60.0)
                        .align(Align2::LEFT_CENTER)
                        .min_size(vec2(60.0, 36.0));
                    ui.add(field).accessible_name(format!("{part} {name}"));
                }
                let away = format!("{part} is no filler part");
                if theme::sign_button(ui, c, "Remove", "", Weight::Words, &away).clicked() {
                    gone = Some(i);
                }
                ui.end_row();
            }
        });
        if let Some(gone) = gone {
            let row = self.rows.remove(gone);
            if row.known.is_some() {
                self.gone.push(row.filler.part);
            }
        }
        if !self.gone.is_empty() {
            let text = format!("Laid no more once you press Keep: {}", self.gone.join(", "));
            ui.label(RichText::new(text).font(theme::small()).color(c.quiet));
        }
    }

    /// The open order's parts that may become filler parts, of the metal of the sheet that is shown.
    fn offer(&mut self, ui: &mut Ui, c: &Colours, session: &Session) {
        let job = session.view().job();
        let stock = session.slot().and_then(|slot| job.stock.get(slot.stock));
        let Some(metal) = stock.and_then(|s| s.sheet.made_of.clone()) else { return };
        let known = |name: &str| self.rows.iter().any(|r| r.filler.part.eq_ignore_ascii_case(name));
        let offered: Vec<_> =
            job.wanted.iter().filter(|w| !known(&w.part.name)).take(OFFERED).collect();
        if offered.is_empty() {
            return;
        }
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new("of the open order").color(c.quiet));
            for wanted in offered {
                let name = &wanted.part.name;
                let says = format!("Make {name} a filler part");
                if theme::spoken_choice(ui, c, name, false, &says).clicked() {
                    let filler = Filler {
                        part: name.clone(),
                        drawn: drawn(&wanted.part),
                        material: metal.material.clone(),
                        thickness: metal.thickness,
                        ..Filler::default()
                    };
                    let typed = ["0", "5", "20"].map(str::to_owned);
                    self.rows.push(Row { filler, typed, known: None });
                }
            }
        });
    }

    /// The filler parts of which something else was typed.
    fn changed(&self) -> Result<Vec<(Option<Stocked>, Filler)>, String> {
        let same = |row: &&Row| row.known.as_ref().is_some_and(|(_, stood)| *stood == row.typed);
        let changed = self.rows.iter().filter(|row| !same(row));
        changed.map(|row| Ok((row.known.as_ref().map(|(s, _)| s.clone()), row.read()?))).collect()
    }
}

impl Row {
    fn new(stocked: &Stocked) -> Self {
        let f = &stocked.filler;
        let typed = [stocked.there, f.least, f.most].map(|n| n.to_string());
        Self { filler: f.clone(), known: Some((stocked.clone(), typed.clone())), typed }
    }

    fn read(&self) -> Result<Filler, String> {
        let number = |i: usize| {
            let text = self.typed[i].trim();
            text.parse::<usize>().ok().filter(|n| *n <= 100_000).ok_or_else(|| {
                format!("{}, {}: “{text}” is no number of parts", self.filler.part, NAMES[i])
            })
        };
        let (counted, least, most) = (number(0)?, number(1)?, number(2)?);
        if most == 0 || least > most {
            return Err(format!(
                "{}: the most is at least 1, and no less than the least",
                self.filler.part
            ));
        }
        Ok(Filler { counted, least, most, ..self.filler.clone() })
    }
}
