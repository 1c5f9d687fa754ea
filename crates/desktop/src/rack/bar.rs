//! The filter: words that sheets must match, and what they must have room for.

use eframe::egui::{Key, Rect, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct, Sought};
use oddment_app::session::Session;
use oddment_core::part::Part;
use oddment_core::shape::{Loop, Point, Region};
use oddment_core::units::LengthUnit;

use crate::fields;
use crate::loads::{LoadsField, size, size_example};
use crate::sheet::card;
use crate::theme::{self, Colours, Weight};

/// So many parts of the order are shown, unless all are wanted.
const PARTS: usize = 5;

/// What is typed.
#[derive(Default)]
pub(super) struct Bar {
    typed: String,
    size: String,
    fault: bool,
    loads: LoadsField,
    /// Whether all parts of the order are shown, however many.
    all_parts: bool,
    /// Height of what was shown last.
    tall: f32,
}

impl Bar {
    /// The words that sheets must match.
    pub(super) fn typed(&self) -> &str {
        &self.typed
    }

    /// How much room it takes.
    pub(super) fn height(&self, c: &Colours) -> f32 {
        20.0 + c.touch.max(self.tall)
    }

    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        rect: Rect,
        acts: &mut Vec<Act>,
    ) {
        card(ui, c, rect, |ui| {
            ui.spacing_mut().interact_size.y = c.touch;
            let shown = ui.horizontal_wrapped(|ui| {
                ui.spacing_mut().item_spacing.y = 2.0;
                let field = TextEdit::singleline(&mut self.typed)
                    .hint_text("label, material, place, heat, order …")
                    .desired_width(260.0)
                    .align(eframe::egui::Align2::LEFT_CENTER)
                    .min_size(vec2(260.0, c.touch - 8.0));
                ui.add(field).accessible_name("filter the rack");
                ui.label(RichText::new("has room for").color(c.quiet));
                match desk.finding() {
                    Some(finding) => {
                        let name = &finding.sought().part.name;
                        let more = theme::choice(ui, c, name, true).clicked();
                        ui.label(RichText::new(finding.words()).color(c.quiet));
                        if theme::button(ui, c, "Show all", "", Weight::Words).clicked() || more {
                            acts.push(Act::Rack(RackAct::FindNoMore));
                        }
                    }
                    None => self.ask(ui, c, session, acts),
                }
            });
            let tall = shown.response.rect.height();
            if (tall - self.tall).abs() > 0.5 {
                self.tall = tall;
                ui.ctx().request_repaint();
            }
        });
    }

    /// What sheets are to have room for, and what the machine can load.
    fn ask(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        self.parts(ui, c, session, acts);
        let field = TextEdit::singleline(&mut self.size)
            .hint_text("or W×H")
            .desired_width(100.0)
            .align(eframe::egui::Align2::LEFT_CENTER)
            .min_size(vec2(100.0, c.touch - 8.0));
        let field = ui.add(field).accessible_name("has room for a size");
        if field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter)) {
            match rectangle(&self.size, session.settings().unit()) {
                Some(part) => {
                    self.fault = false;
                    acts.push(self.seek(part, None, session));
                }
                None => {
                    self.fault = !self.size.trim().is_empty();
                    if self.fault {
                        fields::stay(ui.ctx(), field.id);
                    }
                }
            }
        }
        if field.changed() {
            self.fault = false;
        }
        self.loads.show(ui, c, session, acts);
        if self.fault {
            let text = format!("write for example {}", size_example(session.settings().unit()));
            ui.label(RichText::new(text).color(c.short).font(theme::small()));
        }
    }

    /// The open order's parts, to be pressed.
    fn parts(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let job = session.view().job();
        let shown = session.slot().map_or(0, |slot| slot.stock);
        let made_of = job.stock.get(shown).and_then(|s| s.sheet.made_of.as_ref());
        let most = if self.all_parts { usize::MAX } else { PARTS };
        for wanted in job.wanted.iter().take(most) {
            let part = &wanted.part;
            if theme::choice(ui, c, &part.name, false).clicked() {
                // A part that does not say is of what lies there.
                let metal = match &part.made_from {
                    Some(metal) => Some((metal.material.clone(), metal.thickness)),
                    None => made_of.map(|m| (m.material.clone(), m.thickness)),
                };
                acts.push(self.seek(part.clone(), metal, session));
            }
        }
        let more = job.wanted.len().saturating_sub(PARTS);
        let says = if self.all_parts { "fewer parts".into() } else { format!("{more} more parts") };
        if more > 0 && theme::choice(ui, c, &says, self.all_parts).clicked() {
            self.all_parts = !self.all_parts;
        }
    }

    fn seek(&self, part: Part, metal: Option<(String, f64)>, session: &Session) -> Act {
        let loadable = session.settings().loadable;
        Act::Rack(RackAct::Find(Box::new(Sought {
            part,
            typed: self.typed.clone(),
            metal,
            loadable,
            order: session.view().title.clone(),
        })))
    }
}

/// The rectangle of a typed size, such as 400x300.
fn rectangle(text: &str, unit: LengthUnit) -> Option<Part> {
    let [width, height] = size(text, unit)?;
    let outer = Loop::rectangle(Point::origin(), Point::new(width, height)).ok()?;
    Some(Part::new(text.trim(), Region::new(outer, Vec::new())))
}
