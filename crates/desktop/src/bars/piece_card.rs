//! A line of the order: the part's length, ends, holes and when it is cut.

use eframe::egui::{Context, Grid, Key, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_core::bars::{Hole, Wanted};
use oddment_core::units::{LengthUnit, parse_length};

use super::{change, slip, typed};
use crate::theme::{self, Colours, Weight};

const FIELD: f32 = 190.0;

/// A line while it is being changed, as typed.
pub(super) struct PieceCard {
    index: usize,
    name: String,
    length: String,
    count: String,
    ends: [String; 2],
    turn: String,
    holes: String,
    first: bool,
    fault: Option<String>,
}

impl PieceCard {
    /// The card of a line; `None` where there is no such line.
    pub(super) fn new(session: &Session, index: usize) -> Option<Self> {
        let unit = session.settings().unit();
        let part = session.bars().order().list.parts.get(index)?;
        let degrees = |angle: f64| match angle {
            0.0 => String::new(),
            angle => plain(angle.to_degrees()),
        };
        let hole = |hole: &Hole| {
            let [at, size] = [hole.at, hole.size].map(|mm| plain(mm / unit.in_mm()));
            let cope = if hole.cope { "cope " } else { "" };
            format!("{cope}{size} at {at} {}", hole.face).trim_end().to_owned()
        };
        Some(Self {
            index,
            name: part.name.clone(),
            length: plain(part.length / unit.in_mm()),
            count: part.count.to_string(),
            ends: part.ends.map(degrees),
            turn: degrees(part.ends_turn),
            holes: part.holes.iter().map(hole).collect::<Vec<_>>().join("\n"),
            first: part.priority > 0,
            fault: None,
        })
    }

    /// Draws the card; whether it is closed.
    pub(super) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        acts: &mut Vec<Act>,
    ) -> bool {
        let unit = session.settings().unit();
        let mut closed = false;
        let title = format!("A part, {unit}");
        let given_up = theme::modal(ctx, c, &title, 640.0, |ui| {
            let writing = self.fields(ui, c);
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
            ui.horizontal(|ui| {
                let enter = ui.input(|i| i.key_pressed(Key::Enter)) && !writing;
                let order = session.bars().order();
                if theme::button(ui, c, "Use this", "Enter", Weight::Plain).clicked() || enter {
                    match self.part(unit, order.list.parts.get(self.index)) {
                        Ok(part) => {
                            let mut order = order.clone();
                            let name = format!("Change {}", part.called());
                            if let Some(line) = order.list.parts.get_mut(self.index) {
                                *line = part;
                            }
                            acts.push(change(name, order));
                            closed = true;
                        }
                        Err(why) => self.fault = Some(why),
                    }
                }
                if theme::button(ui, c, "Take it off the order", "", Weight::Words).clicked() {
                    let mut order = order.clone();
                    if self.index < order.list.parts.len() {
                        let part = order.list.parts.remove(self.index);
                        acts.push(change(format!("Take {} off the order", part.called()), order));
                    }
                    closed = true;
                }
                if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked() {
                    closed = true;
                }
            });
        });
        closed || given_up
    }

    /// Draws the fields; whether lines are being written in one of them.
    fn fields(&mut self, ui: &mut Ui, c: &Colours) -> bool {
        let mut writing = false;
        let [first, second] = &mut self.ends;
        let rows = [
            ("name", &mut self.name, "what it is called"),
            ("length", &mut self.length, "between its farthest points"),
            ("count", &mut self.count, "how many are wanted"),
            ("first end", first, "degrees off square; empty where it is square"),
            ("second end", second, "degrees off square"),
            (
                "ends turned",
                &mut self.turn,
                "how the second end’s long side is turned about the bar: 0 where one side is \
                 longer, 180 where both are alike",
            ),
        ];
        Grid::new("part of bars").num_columns(3).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
            let help = |ui: &mut Ui, text: &str| {
                let text = RichText::new(text).font(theme::small()).color(c.quiet);
                ui.add(eframe::egui::Label::new(text).wrap());
                ui.end_row();
            };
            for (name, text, says) in rows {
                ui.label(name);
                typed(ui, name, text, FIELD);
                help(ui, says);
            }
            ui.label("holes");
            let edit = TextEdit::multiline(&mut self.holes)
                .desired_width(FIELD)
                .desired_rows(2)
                .min_size(vec2(FIELD, 36.0));
            writing = ui.add(edit).accessible_name("holes").has_focus();
            help(
                ui,
                "holes and copes, one a line: size along the bar at place from the first end, and the \
                 face as the part is described (top, bottom, front, back): 9 at 40 top, or \
                 cope 20 at 60 front",
            );
            ui.label("when");
            ui.horizontal(|ui| {
                if theme::choice(ui, c, "with the others", !self.first).clicked() {
                    self.first = false;
                }
                if theme::choice(ui, c, "first", self.first).clicked() {
                    self.first = true;
                }
            });
            help(ui, "bars with parts to be cut first come first");
        });
        writing
    }

    /// The line as typed.
    fn part(&self, unit: LengthUnit, before: Option<&Wanted>) -> Result<Wanted, String> {
        let length = |name: &str, text: &str| {
            parse_length(text, unit).map_err(|why| format!("{name}: {why}"))
        };
        let angle = |name: &str, text: &str| match text.trim().trim_end_matches('°').trim() {
            "" => Ok(0.0),
            typed => typed
                .replace(',', ".")
                .parse::<f64>()
                .ok()
                .filter(|degrees| degrees.is_finite())
                .map(f64::to_radians)
                .ok_or_else(|| format!("{name}: “{typed}” is no angle; write degrees, as in 45")),
        };
        let holes = self.holes.lines().map(str::trim).filter(|line| !line.is_empty());
        let hole = |line: &str| {
            let wrong = || format!("holes: “{line}”; write size at place, as in 9 at 40 top");
            let cope = line.strip_prefix("cope ");
            let (size, rest) = cope.unwrap_or(line).split_once(" at ").ok_or_else(wrong)?;
            let (at, face) = rest.trim().split_once(' ').unwrap_or((rest.trim(), ""));
            let face = face.trim().to_owned();
            let [at, size] = [length("holes", at)?, length("holes", size)?];
            Ok::<_, String>(Hole { at, size, face, cope: cope.is_some() })
        };
        let priority = before.map_or(0, |part| part.priority);
        Ok(Wanted {
            name: self.name.trim().to_owned(),
            length: length("length", &self.length)?,
            count: slip::count(&self.count)?,
            ends: [angle("first end", &self.ends[0])?, angle("second end", &self.ends[1])?],
            ends_turn: angle("ends turned", &self.turn)?,
            holes: holes.map(hole).collect::<Result<_, _>>()?,
            priority: if self.first { priority.max(1) } else { 0 },
        })
    }
}

/// A number without needless zeros, to a ten-thousandth.
pub(super) fn plain(number: f64) -> String {
    ((number * 1e4).round() / 1e4).to_string()
}
