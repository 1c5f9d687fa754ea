//! What is known of a sheet, put right; its pictures; and who holds it, until when.

use std::collections::HashMap;
use std::path::PathBuf;

use eframe::egui::{
    Align, Align2, ColorImage, Context, Grid, Key, Layout, RichText, ScrollArea, TextEdit,
    TextureHandle, TextureOptions, Ui, vec2,
};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_core::gauge::parse_thickness;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_rack::facts::Facts;
use oddment_rack::sheets::Entry;
use oddment_rack::when;

use crate::theme::{self, Colours, Weight};
use crate::told::{Pending, Told};

/// The facts of a sheet, as typed.
pub(super) struct FactsCard {
    label: String,
    known: Facts,
    unit: LengthUnit,
    rows: Vec<Row>,
    notes: String,
    order: String,
    /// The order that is open, for which it is held where no other is typed.
    open_order: String,
    until: String,
    picture: String,
    textures: HashMap<String, TextureHandle>,
    /// What was said when the card was opened.
    said: Option<String>,
    /// The list of which the sheet's history was asked for.
    told: Option<u64>,
    /// Pictures that were asked for last.
    asked: Vec<String>,
    fault: Option<String>,
    pending: Pending,
}

/// How wide the fields are, points.
const FIELDS: f32 = 580.0;

/// Where the window is narrower (points) pictures and history stand below the fields.
const NARROW: f32 = 1000.0;

/// How high pictures are shown, points.
const PICTURE: f32 = 150.0;

struct Row {
    name: &'static str,
    text: String,
    /// What stood there when the card was opened.
    was: String,
    help: String,
}

impl FactsCard {
    /// The card of a sheet; `order` is offered for a hold.
    pub(super) fn new(entry: &Entry, order: &str, unit: LengthUnit, desk: &Desk) -> Self {
        let f = &entry.facts;
        let row = |name, text: String, help: &str| Row {
            name,
            was: text.clone(),
            text,
            help: help.to_owned(),
        };
        let number = |n: Option<f64>| n.map(|n| n.to_string()).unwrap_or_default();
        let length = |mm: f64| (mm / unit.in_mm()).to_string();
        let mut rows = vec![row("material", f.material.clone(), "")];
        // A bar's is its profile's.
        if f.bar.is_none() {
            rows.push(row("thickness", length(f.thickness), &unit.to_string()));
        }
        rows.extend([
            row("grade", f.grade.clone(), "as ordered"),
            row("heat", f.heat.clone(), "heat number"),
            row("certificate", f.certificate.clone(), ""),
            row("stands", f.stands.clone(), ""),
            row("grain", number(f.grain_deg), "degrees from X"),
            row("finish", f.finish.clone(), ""),
            row("coating", f.coating.clone(), "or film"),
            row("face up", f.face_up.clone(), ""),
            row("bow", f.bow.map(length).unwrap_or_default(), &unit.to_string()),
            row("weight", number(f.weighed), "kg, where it was weighed"),
            row("value", number(f.value), "where it is not that of its metal"),
        ]);
        let held = f.held();
        Self {
            label: entry.label.clone(),
            known: f.clone(),
            unit,
            rows,
            notes: f.notes.clone(),
            order: held.map_or_else(String::new, |h| h.order.clone()),
            open_order: order.to_owned(),
            picture: String::new(),
            textures: HashMap::new(),
            said: desk.said().map(str::to_owned),
            told: None,
            asked: Vec::new(),
            until: held.and_then(|h| h.until).map(when::day).unwrap_or_default(),
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
        desk: &Desk,
        acts: &mut Vec<Act>,
    ) -> bool {
        let mut closed = self.pending.is_done(session, &mut self.fault);
        let title = format!("What is known of {}", self.label);
        let given_up = theme::modal(ctx, c, &title, 1000.0, |ui| {
            let high = (ctx.content_rect().height() - 300.0).max(160.0);
            let (layout, high) = match ctx.content_rect().width() < NARROW {
                true => (Layout::top_down(Align::Min), 0.5 * high),
                false => (Layout::left_to_right(Align::Min), high),
            };
            ui.with_layout(layout, |ui| {
                let fields = ScrollArea::vertical().id_salt("fields").max_height(high);
                fields.max_width(FIELDS).show(ui, |ui| self.fields(ui, c));
                ui.add_space(12.0);
                let beside = ScrollArea::vertical().id_salt("beside").max_height(high);
                beside.show(ui, |ui| {
                    ui.vertical(|ui| {
                        self.pictures(ui, c, desk, acts);
                        self.history(ui, c, desk, acts);
                    });
                });
            });
            ui.separator();
            self.hold(ui, c, acts);
            self.pending.show(ui, c, self.fault.as_deref());
            ui.horizontal(|ui| {
                let enter = ui.input(|i| i.modifiers.command && i.key_pressed(Key::Enter));
                if theme::button(ui, c, "Put right", "Ctrl Enter", Weight::Strong).clicked()
                    || enter
                {
                    match self.facts() {
                        Ok(facts) => self.pending.ask(self.correct(facts), acts),
                        Err(fault) => self.fault = Some(fault),
                    }
                }
                closed |= theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked();
            });
        });
        closed || given_up
    }

    fn fields(&mut self, ui: &mut Ui, c: &Colours) {
        Grid::new("facts").num_columns(3).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
            for row in &mut self.rows {
                ui.label(row.name);
                let field = TextEdit::singleline(&mut row.text)
                    .desired_width(260.0)
                    .align(Align2::LEFT_CENTER)
                    .min_size(vec2(260.0, 36.0));
                ui.add(field).accessible_name(row.name);
                ui.label(RichText::new(&row.help).font(theme::small()).color(c.quiet));
                ui.end_row();
            }
            ui.label("notes");
            let field = TextEdit::multiline(&mut self.notes).desired_width(260.0).desired_rows(2);
            ui.add(field).accessible_name("notes");
            ui.end_row();
        });
    }

    /// What ever happened to the sheet, the newest first.
    fn history(&mut self, ui: &mut Ui, c: &Colours, desk: &Desk, acts: &mut Vec<Act>) {
        if self.told != Some(desk.revision()) {
            self.told = Some(desk.revision());
            acts.push(Act::Rack(RackAct::History(self.label.clone())));
        }
        for event in desk.history(&self.label) {
            let taken_back = if event.undone_by.is_some() { " (taken back)" } else { "" };
            let text =
                format!("{} · {}: {}{taken_back}", when::moment(event.at), event.who, event.said);
            ui.label(RichText::new(text).font(theme::small()).color(c.quiet));
        }
    }

    /// The sheet's pictures, and the way to another.
    fn pictures(&mut self, ui: &mut Ui, c: &Colours, desk: &Desk, acts: &mut Vec<Act>) {
        let now = desk.listing().sheets.iter().find(|e| e.label == self.label);
        let hashes = now.map_or(&[][..], |e| &e.facts.pictures);
        let unknown: Vec<String> =
            hashes.iter().filter(|h| desk.picture(h).is_none()).cloned().collect();
        // Asked for once: from then on they are on their way.
        if !unknown.is_empty() && self.asked != unknown {
            self.asked.clone_from(&unknown);
            acts.push(Act::Rack(RackAct::Pictures(unknown)));
        }
        ui.horizontal_wrapped(|ui| {
            for (i, hash) in hashes.iter().enumerate() {
                let name = format!("picture {}", i + 1);
                ui.vertical(|ui| {
                    match desk.picture(hash) {
                        Some(Some(picture)) => {
                            let texture = self.textures.entry(hash.clone()).or_insert_with(|| {
                                let image =
                                    ColorImage::from_rgba_unmultiplied(picture.size, &picture.rgba);
                                ui.ctx().load_texture(hash, image, TextureOptions::LINEAR)
                            });
                            let size = texture.size_vec2();
                            let size = size * (PICTURE / size.y).min(2.0 * PICTURE / size.x);
                            ui.image((texture.id(), size));
                        }
                        Some(None) => {
                            let text = format!("{name} can’t be shown");
                            ui.label(RichText::new(text).color(c.short));
                        }
                        None => {
                            ui.label(RichText::new("…").color(c.quiet));
                        }
                    }
                    let away = format!("Take {name} away");
                    if theme::sign_button(ui, c, "Remove", "", Weight::Words, &away).clicked() {
                        let act = RackAct::RemovePicture(self.label.clone(), hash.clone());
                        acts.push(Act::Rack(act));
                    }
                });
            }
        });
        ui.horizontal(|ui| {
            ui.label("picture");
            let field = TextEdit::singleline(&mut self.picture)
                .hint_text("PNG or JPEG; or drop it here")
                .desired_width(230.0)
                .align(Align2::LEFT_CENTER)
                .min_size(vec2(230.0, 36.0));
            ui.add(field).accessible_name("picture");
            if theme::button(ui, c, "Add it", "", Weight::Words).clicked()
                && !self.picture.trim().is_empty()
            {
                let file = PathBuf::from(self.picture.trim());
                acts.push(Act::Rack(RackAct::AddPicture(self.label.clone(), file)));
                self.picture.clear();
            }
        });
        // What was said before the card was opened is no news; what it asked for is told below.
        let refused = desk.refused().filter(|_| self.fault.is_none());
        if let Some(why) = refused {
            ui.label(Told::Refusal(why).text(c, c.text).font(theme::small()));
        } else if let Some(said) = desk.said().filter(|said| self.said.as_deref() != Some(*said)) {
            ui.label(RichText::new(said).font(theme::small()).color(c.quiet));
        }
    }

    /// Who holds it.
    fn hold(&mut self, ui: &mut Ui, c: &Colours, acts: &mut Vec<Act>) {
        ui.horizontal(|ui| {
            ui.label("held for");
            let mut field = |text: &mut String, name: &str, hint: &str, wide: f32| {
                let field = TextEdit::singleline(text)
                    .hint_text(hint)
                    .desired_width(wide)
                    .align(Align2::LEFT_CENTER)
                    .min_size(vec2(wide, 36.0));
                ui.add(field).accessible_name(name);
            };
            // What stands there pale is meant where nothing is typed.
            field(&mut self.order, "held for", &self.open_order, 170.0);
            let soon = when::day(when::now() + 14 * 86_400);
            field(&mut self.until, "held until", &format!("until {soon}"), 150.0);
            if theme::button(ui, c, "Hold it", "", Weight::Plain).clicked() {
                let until = match self.until.trim() {
                    "" => Ok(None),
                    typed => when::last_day(typed).map(Some),
                };
                match until {
                    Ok(until) => {
                        let order = match self.order.trim() {
                            "" => &self.open_order,
                            order => order,
                        };
                        let hold = RackAct::Hold(self.label.clone(), order.to_owned(), until);
                        self.with_facts(Act::Rack(hold), acts);
                    }
                    Err(fault) => self.fault = Some(fault),
                }
            }
            if self.known.held().is_some()
                && theme::button(ui, c, "Let go of it", "", Weight::Words).clicked()
            {
                self.with_facts(Act::Rack(RackAct::Release(self.label.clone())), acts);
            }
        });
    }

    /// Asks for this, and for what was typed above.
    fn with_facts(&mut self, act: Act, acts: &mut Vec<Act>) {
        match self.facts() {
            Ok(facts) if facts == self.known => self.pending.ask(act, acts),
            Ok(facts) => {
                acts.push(act);
                self.pending.ask(self.correct(facts), acts);
            }
            Err(fault) => self.fault = Some(fault),
        }
    }

    fn correct(&self, facts: Facts) -> Act {
        let facts = Box::new((self.known.clone(), facts));
        Act::Rack(RackAct::Correct(self.label.clone(), facts))
    }

    /// What was typed; what stands as it stood is as it was known.
    fn facts(&self) -> Result<Facts, String> {
        let mut facts = self.known.clone();
        if self.notes != facts.notes {
            facts.notes = self.notes.trim().to_owned();
        }
        for row in self.rows.iter().filter(|row| row.text != row.was) {
            let (name, typed) = (row.name, row.text.trim());
            let number = || match typed.replace(',', ".").parse::<f64>() {
                _ if typed.is_empty() => Ok(None),
                Ok(number) if number.is_finite() => Ok(Some(number)),
                _ => Err(format!("{name}: “{typed}” is no number")),
            };
            let length =
                || parse_length(typed, self.unit).map_err(|fault| format!("{name}: {fault}"));
            match name {
                "thickness" => {
                    let material = facts.material.clone();
                    facts.thickness = parse_thickness(typed, self.unit, &material)
                        .map_err(|fault| format!("{name}: {fault}"))?;
                }
                "bow" => facts.bow = if typed.is_empty() { None } else { Some(length()?) },
                "grain" => facts.grain_deg = number()?,
                "weight" => facts.weighed = number()?,
                "value" => facts.value = number()?,
                "material" => facts.material = typed.to_owned(),
                "grade" => facts.grade = typed.to_owned(),
                "heat" => facts.heat = typed.to_owned(),
                "certificate" => facts.certificate = typed.to_owned(),
                "stands" => facts.stands = typed.to_owned(),
                "finish" => facts.finish = typed.to_owned(),
                "coating" => facts.coating = typed.to_owned(),
                _ => facts.face_up = typed.to_owned(),
            }
        }
        Ok(facts)
    }
}
