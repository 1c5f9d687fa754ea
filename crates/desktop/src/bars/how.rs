//! What bars are cut from, and on what machine.

use eframe::egui::{Context, Grid, Key, Label, RichText, ScrollArea, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::bars::{BarOrder, find_profile, known_profiles};
use oddment_app::session::Session;
use oddment_core::bars::profile::Profile;
use oddment_core::bars::{CutList, Face, Machine, Stock};
use oddment_core::units::{LengthUnit, parse_length};
use oddment_rack::facts::Material;

use super::piece_card::plain;
use super::{change, typed};
use crate::theme::{self, Colours, Weight};

const FIELD: f32 = 230.0;
const NUMBER: f32 = 96.0;

/// The lengths that are asked for, in the order of the fields.
const FIELDS: [(&str, &str); 11] = [
    ("kerf", "width of a cut"),
    ("near grip", "held and lost at the datum end"),
    ("far grip", "held and lost at the far end"),
    ("tool to grip", "no nearer comes the tool"),
    ("trim", "cut off the datum end first"),
    ("shortest bar", "that can be loaded"),
    ("longest bar", "that can be loaded; empty for any"),
    ("stays from", "shorter ends are scrap"),
    ("straightness", "off straight, in a metre"),
    ("tabs", "left at each part, so that none drops"),
    ("far support", "can stand from … to …, as in 900 to 4200; empty for anywhere"),
];

/// All of it while it is being changed, as typed.
pub(super) struct HowCard {
    title: String,
    profile: String,
    material: String,
    stock: String,
    from_rack: bool,
    fixed_turn: bool,
    seam: Option<Face>,
    lengths: [String; 11],
    seconds: [String; 4],
    fault: Option<String>,
}

impl HowCard {
    pub(super) fn new(session: &Session) -> Self {
        let unit = session.settings().unit();
        let BarOrder { title, list, from_rack, .. } = session.bars().order();
        let shown = |mm: f64| plain(mm / unit.in_mm());
        let m = &list.machine;
        let bar = |bar: &Stock| {
            let count = bar.count.map_or(String::new(), |n| format!("{n} × "));
            let cost = bar.cost.map_or(String::new(), |cost| format!(" at {}", plain(cost)));
            format!("{count}{}{cost}", shown(bar.length))
        };
        Self {
            title: title.clone(),
            profile: list.profile.as_ref().map(|p| p.name.clone()).unwrap_or_default(),
            material: list.material.clone(),
            stock: list.stock.iter().map(bar).collect::<Vec<_>>().join("\n"),
            from_rack: *from_rack,
            fixed_turn: list.fixed_turn,
            seam: list.profile.as_ref().and_then(|profile| profile.seam),
            lengths: [
                shown(list.kerf),
                shown(list.grips[0]),
                shown(list.grips[1]),
                shown(m.tool_to_grip),
                shown(m.trim),
                shown(m.shortest_load),
                m.longest_load.map_or(String::new(), shown),
                shown(m.keep_from),
                shown(m.straightness),
                m.tabs.to_string(),
                m.support.map_or(String::new(), |[a, b]| format!("{} to {}", shown(a), shown(b))),
            ],
            seconds: [m.seconds[0], m.seconds[1], m.seconds[2], m.tab_seconds].map(plain),
            fault: None,
        }
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
        let title = format!("What it is cut from, and on what machine; {unit}");
        let given_up = theme::modal(ctx, c, &title, 1000.0, |ui| {
            let screen = ctx.content_rect();
            let mut writing = false;
            ScrollArea::vertical().max_height((screen.height() - 220.0).max(240.0)).show(
                ui,
                |ui| {
                    ui.horizontal_top(|ui| {
                        ui.vertical(|ui| {
                            ui.set_width(470.0);
                            writing = self.stock_fields(ui, c, session);
                        });
                        ui.vertical(|ui| self.machine_fields(ui, c));
                    });
                },
            );
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
            ui.horizontal(|ui| {
                let enter = ui.input(|i| i.key_pressed(Key::Enter)) && !writing;
                if theme::button(ui, c, "Use this", "Enter", Weight::Plain).clicked() || enter {
                    match self.order(session, unit) {
                        Ok(order) => {
                            acts.push(change("Change what it is cut from", order));
                            closed = true;
                        }
                        Err(why) => self.fault = Some(why),
                    }
                }
                if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked() {
                    closed = true;
                }
            });
        });
        closed || given_up
    }

    /// Order, profile and bars; whether lines are being written.
    fn stock_fields(&mut self, ui: &mut Ui, c: &Colours, session: &Session) -> bool {
        let mut writing = false;
        let help = |ui: &mut Ui, text: &str| {
            ui.label("");
            let text = RichText::new(text).font(theme::small()).color(c.quiet);
            ui.add(Label::new(text).wrap());
            ui.end_row();
        };
        Grid::new("bars of").num_columns(2).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
            ui.label("order");
            typed(ui, "order", &mut self.title, FIELD);
            ui.end_row();
            ui.label("profile");
            typed(ui, "profile", &mut self.profile, FIELD);
            ui.end_row();
            ui.label("");
            ui.horizontal_wrapped(|ui| {
                ui.set_width(360.0);
                for name in self.matching(session) {
                    if theme::choice(ui, c, &name, false).clicked() {
                        self.profile = name;
                    }
                }
            });
            ui.end_row();
            if find_profile(session, &self.profile).is_none() {
                help(ui, "a name, or a kind with its measures: square tube 45x2, flat 35x6");
            }
            ui.label("material");
            typed(ui, "material", &mut self.material, FIELD);
            ui.end_row();
            ui.label("parts");
            ui.horizontal(|ui| {
                if theme::choice(ui, c, "may be turned", !self.fixed_turn).clicked() {
                    self.fixed_turn = false;
                }
                if theme::choice(ui, c, "stay as they lie", self.fixed_turn).clicked() {
                    self.fixed_turn = true;
                }
            });
            ui.end_row();
            ui.label("seam");
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 4.0;
                if theme::spoken_choice(ui, c, "any", self.seam.is_none(), "seam any").clicked() {
                    self.seam = None;
                }
                for face in Face::ALL {
                    let (name, on) = (face.name(), self.seam == Some(face));
                    let spoken = format!("seam {name}");
                    if theme::spoken_choice(ui, c, name, on, &spoken).clicked() {
                        self.seam = Some(face);
                    }
                }
            });
            ui.end_row();
            ui.label("rack");
            ui.horizontal(|ui| {
                if theme::choice(ui, c, "its bars too", self.from_rack).clicked() {
                    self.from_rack = true;
                }
                if theme::choice(ui, c, "only these:", !self.from_rack).clicked() {
                    self.from_rack = false;
                }
            });
            ui.end_row();
            ui.label("full lengths");
            let edit = TextEdit::multiline(&mut self.stock)
                .desired_width(FIELD)
                .desired_rows(3)
                .min_size(vec2(FIELD, 36.0));
            writing = ui.add(edit).accessible_name("full lengths").has_focus();
            ui.end_row();
            help(
                ui,
                "one a line: 6000, or with what one costs 6000 at 31.5, or as many as there are \
                 4 × 3000 at 12",
            );
        });
        writing
    }

    fn machine_fields(&mut self, ui: &mut Ui, c: &Colours) {
        Grid::new("bars on").num_columns(3).spacing(vec2(12.0, 4.0)).show(ui, |ui| {
            let row = |ui: &mut Ui, name: &str, text: &mut String, says: &str| {
                ui.label(name);
                typed(ui, name, text, NUMBER);
                let says = RichText::new(says).font(theme::small()).color(c.quiet);
                ui.add(Label::new(says).wrap());
                ui.end_row();
            };
            for ((name, says), text) in FIELDS.iter().zip(&mut self.lengths) {
                row(ui, name, text, says);
            }
            let [load, cut, hole, tab] = &mut self.seconds;
            row(ui, "to load", load, "seconds for a bar");
            row(ui, "to cut", cut, "seconds for a cut");
            row(ui, "to drill", hole, "seconds for a hole");
            row(ui, "to part", tab, "seconds to part and dress a tab");
        });
    }

    /// Up to six profiles whose names have all the words typed.
    fn matching(&self, session: &Session) -> Vec<String> {
        let typed = self.profile.to_lowercase();
        let words: Vec<&str> = typed.split_whitespace().collect();
        let fits = |name: &str| {
            let name = name.to_lowercase();
            name != typed && words.iter().all(|word| name.contains(word))
        };
        let names = known_profiles(session).into_iter().map(|p| p.name);
        names.filter(|name| fits(name)).take(6).collect()
    }

    /// The profile as typed, in the density of its material where the shop knows that.
    fn profile_typed(&self, session: &Session) -> Result<Option<Profile>, String> {
        let typed = self.profile.trim();
        if typed.is_empty() {
            return Ok(None);
        }
        let now = session.bars().order().list.profile.as_ref().filter(|p| p.name == typed);
        let found = now.cloned().or_else(|| find_profile(session, typed));
        let mut profile = found.ok_or_else(|| {
            format!(
                "profile: “{typed}” is not known; write a kind with its measures, as in square tube \
                 45x2"
            )
        })?;
        let materials = session.rack().map(|desk| desk.listing().materials.as_slice());
        let material = Material::named(materials.unwrap_or_default(), self.material.trim());
        if let Some(density) = material.map(|m| m.density).filter(|density| *density > 0.0) {
            profile.density = density;
        }
        profile.seam = self.seam;
        Ok(Some(profile))
    }

    /// The order as typed.
    fn order(&self, session: &Session, unit: LengthUnit) -> Result<BarOrder, String> {
        let order = session.bars().order();
        let profile = self.profile_typed(session)?;
        let mut mm = [0.0; 9];
        for (i, mm) in mm.iter_mut().enumerate() {
            let (name, text) = (FIELDS[i].0, &self.lengths[i]);
            if !(text.trim().is_empty() && name == "longest bar") {
                *mm = parse_length(text, unit).map_err(|why| format!("{name}: {why}"))?;
            }
        }
        let tabs = self.lengths[9].trim().parse().ok().filter(|tabs| *tabs <= 100);
        let tabs = tabs.ok_or("tabs: write a whole number from 0 to 100")?;
        let support = match self.lengths[10].trim() {
            "" => None,
            typed => {
                let ends = typed.split_once("to").or_else(|| typed.split_once('–'));
                let end = |text: &str| parse_length(text.trim(), unit).ok();
                let ends = ends.and_then(|(from, to)| Some([end(from)?, end(to)?]));
                Some(ends.ok_or("far support: write where it can stand, as in 900 to 4200")?)
            }
        };
        let mut seconds = [0.0; 4];
        for (seconds, text) in seconds.iter_mut().zip(&self.seconds) {
            let typed = text.trim().replace(',', ".").parse().ok();
            *seconds = typed
                .filter(|s| (0.0..=1e6).contains(s))
                .ok_or_else(|| format!("“{text}” is no time; write seconds"))?;
        }
        let [load, cut, hole, tab_seconds] = seconds;
        let [kerf, near, far, tool_to_grip, trim, shortest_load, longest, keep_from, straightness] =
            mm;
        let longest_load = Some(longest).filter(|_| !self.lengths[6].trim().is_empty());
        let stock = stock_of(&self.stock, unit)?;
        let list = CutList {
            kerf,
            grips: [near, far],
            stock,
            parts: order.list.parts.clone(),
            profile,
            material: self.material.trim().to_owned(),
            fixed_turn: self.fixed_turn,
            machine: Machine {
                trim,
                tool_to_grip,
                shortest_load,
                longest_load,
                keep_from,
                support,
                straightness,
                tabs,
                seconds: [load, cut, hole],
                tab_seconds,
            },
            leftovers: order.list.leftovers,
        };
        let title = match self.title.trim() {
            "" => order.title.clone(),
            title => title.to_owned(),
        };
        Ok(BarOrder { title, list, from_rack: self.from_rack, planned: order.planned.clone() })
    }
}

/// Full lengths, one a line: `6000`, `6000 at 31.5`, `4 × 3000 at 12`.
fn stock_of(text: &str, unit: LengthUnit) -> Result<Vec<Stock>, String> {
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let one = |line: &str| {
        let wrong = |what: String| format!("full lengths: “{line}”: {what}");
        let (bar, cost) = match line.split_once(" at ") {
            Some((bar, cost)) => {
                let typed = cost.trim().replace(',', ".").parse().ok();
                let cost: f64 =
                    typed.ok_or_else(|| wrong(format!("“{}” is no cost", cost.trim())))?;
                (bar, Some(cost))
            }
            None => (line, None),
        };
        let (count, length) = match bar.split_once(['×', 'x']) {
            Some((count, length)) => {
                let typed = count.trim().parse().ok();
                (
                    Some(
                        typed
                            .ok_or_else(|| wrong("write how many first, as in 4 × 3000".into()))?,
                    ),
                    length,
                )
            }
            None => (None, bar),
        };
        let length = parse_length(length, unit).map_err(|why| wrong(why.to_string()))?;
        Ok(Stock { length, count, cost, ..Stock::default() })
    };
    lines.map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn full_lengths_are_read_as_people_write_them() {
        let read =
            stock_of("6000\n\n6000 at 31,5\n4 × 3000 at 12\n2x1500mm", LengthUnit::Mm).unwrap();
        let said: Vec<_> = read.iter().map(|bar| (bar.length, bar.count, bar.cost)).collect();
        assert_eq!(
            said,
            [
                (6000.0, None, None),
                (6000.0, None, Some(31.5)),
                (3000.0, Some(4), Some(12.0)),
                (1500.0, Some(2), None)
            ]
        );
        for wrong in ["long", "6000 at dear", "many × 3000"] {
            assert!(stock_of(wrong, LengthUnit::Mm).unwrap_err().contains(wrong), "{wrong}");
        }
    }
}
