//! The place *Shop*: what is it all worked out with? Subjects on the left, their values on paper in
//! the middle, and on the right the one value that was pressed, to be said otherwise.

mod sketch;
mod value_card;

use eframe::egui::{Label, Rect, RichText, ScrollArea, Ui, pos2};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_app::shop::{
    Field, Kind, ShopAct, cut_fields, feed_fields, limit_fields, machine_fields, material_fields,
    new_machine, new_material, order_fields, policy_fields, process_fields,
};
use oddment_core::cut_data::{Family, Process};
use oddment_core::units::LengthUnit;
use oddment_rack::facts::Material;
use serde_json::json;

use crate::place::PlaceView;
use crate::sheet::{card, child};
use crate::theme::{self, Colours, Weight};
use value_card::{ValueCard, tags};

const EDGE: f32 = 20.0;
const SUBJECTS: f32 = 170.0;
const VALUE: f32 = 340.0;

/// What the values are about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Subject {
    #[default]
    Machines,
    CutData,
    Order,
    Materials,
    Policies,
    Weights,
}

impl Subject {
    const ALL: [Self; 6] = [
        Self::Machines,
        Self::CutData,
        Self::Order,
        Self::Materials,
        Self::Policies,
        Self::Weights,
    ];

    fn name(self) -> &'static str {
        match self {
            Self::Machines => "Machines",
            Self::CutData => "Cut data",
            Self::Order => "Order of a cut",
            Self::Materials => "Materials",
            Self::Policies => "Policies",
            Self::Weights => "Weights",
        }
    }
}

/// What the place remembers from frame to frame.
#[derive(Default)]
pub(crate) struct ShopPlace {
    subject: Subject,
    machine: Option<String>,
    material: Option<String>,
    /// The name of a material to be added, while it is typed.
    new_material: Option<String>,
    process: Process,
    family: Option<Family>,
    /// The thickness that cut data are shown for, mm.
    thickness: Option<f64>,
    value: ValueCard,
}

impl PlaceView for ShopPlace {
    fn heading(&mut self, ui: &mut Ui, c: &Colours, session: &Session, _acts: &mut Vec<Act>) {
        let name = session.rack().map_or("", |rack| rack.shop().0);
        let text = "starting values are to be verified on your own machine";
        let text = if name.is_empty() { text.to_owned() } else { format!("{name} · {text}") };
        ui.add(Label::new(RichText::new(text).color(c.quiet)).truncate());
    }

    fn strong(&mut self, _ui: &mut Ui, _c: &Colours, _session: &Session, _acts: &mut Vec<Act>) {}

    fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    ) {
        let (top, bottom) = (area.top() + 8.0, area.bottom() - EDGE);
        let left = area.left() + EDGE;
        let value_left = (area.right() - EDGE - VALUE).max(left + SUBJECTS + 200.0);
        let subjects = Rect::from_min_max(pos2(left, top), pos2(left + SUBJECTS, bottom));
        let paper =
            Rect::from_min_max(pos2(subjects.right() + 14.0, top), pos2(value_left - 14.0, bottom));
        let value = Rect::from_min_max(pos2(value_left, top), pos2(area.right() - EDGE, bottom));
        let mut side = child(ui, subjects, "subjects");
        for subject in Subject::ALL {
            let weight = if subject == self.subject { Weight::Plain } else { Weight::Words };
            if theme::button(&mut side, c, subject.name(), "", weight).clicked() {
                self.subject = subject;
            }
        }
        let mut paper_ui = child(ui, paper, "paper");
        card(&mut paper_ui, c, paper, |ui| {
            ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| match self.subject {
                Subject::Machines => self.machines(ui, c, session, acts),
                Subject::CutData => self.cut_data(ui, c, session, acts),
                Subject::Order => self.order(ui, c, session, acts),
                Subject::Materials => self.materials(ui, c, session, acts),
                Subject::Policies => {
                    title(ui, c, "What work costs", "asked whenever ways are compared");
                    self.list(ui, c, session, &policy_fields(), acts);
                }
                Subject::Weights => {
                    title(ui, c, "Who lifts what", "heavier than the second takes a lifter");
                    self.list(ui, c, session, &limit_fields(), acts);
                }
            });
        });
        let mut value_ui = child(ui, value, "value");
        card(&mut value_ui, c, value, |ui| {
            self.value.show(ui, c, session, acts);
        });
    }
}

impl ShopPlace {
    fn list(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        fields: &[Field],
        acts: &mut Vec<Act>,
    ) {
        if let Some(chosen) = tags(ui, c, session, fields, self.value.key()) {
            self.choose(chosen, session, acts);
        }
    }

    fn choose(&mut self, field: Field, session: &Session, acts: &mut Vec<Act>) {
        acts.push(Act::Shop(ShopAct::History(field.key.clone())));
        self.value.choose(field, session);
    }

    fn machines(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let values = session.values();
        let of_plan = session.view().sourced.cut.machine.clone();
        let used = values.machine(of_plan.as_deref()).map(|m| m.name.clone());
        let usual = session.shop_values().machine(None).map(|m| m.name.clone());
        let known = self.machine.as_deref().filter(|m| values.table().machine(Some(m)).is_some());
        let Some(name) = known.map(str::to_owned).or(used.clone()) else { return };
        ui.horizontal_wrapped(|ui| {
            for machine in &values.table().machines {
                if theme::choice(ui, c, &machine.name, machine.name == name).clicked() {
                    self.machine = Some(machine.name.clone());
                }
            }
        });
        let says = match (usual.as_ref() == Some(&name), used.as_ref() == Some(&name)) {
            (true, true) => "the usual one, and this plan is cut on it",
            (true, false) => "the usual one; this plan is cut on another",
            (false, true) => "this plan is cut on it",
            (false, false) => "",
        };
        title(ui, c, &name, says);
        if let Some(machine) = values.machine(Some(&name)) {
            sketch::bed(ui, c, machine, session.settings().unit());
        }
        ui.horizontal_wrapped(|ui| {
            if used.as_ref() != Some(&name)
                && theme::button(ui, c, "Cut this plan on it", "", Weight::Plain).clicked()
            {
                acts.push(Act::Shop(ShopAct::UseMachine(Some(name.clone()))));
            }
            if usual.as_ref() != Some(&name)
                && theme::button(ui, c, "Make it the usual one", "", Weight::Plain).clicked()
            {
                let value = Some(json!(name));
                let said = format!("the usual machine is {name}");
                acts.push(Act::Shop(ShopAct::Keep(vec![("usual/machine".into(), value)], said)));
            }
            if theme::button(ui, c, "Add one like it", "", Weight::Words).clicked()
                && let Some((key, machine, new)) = new_machine(values, &name, &format!("{name} 2"))
            {
                let said = format!("machine {new} added");
                acts.push(Act::Shop(ShopAct::Keep(vec![(key, Some(machine))], said)));
                self.machine = Some(new);
            }
        });
        self.list(ui, c, session, &machine_fields(&name), acts);
        if let Some(process) = values.machine(Some(&name)).map(|m| m.process) {
            title(ui, c, &format!("All {process}s"), "whatever the metal");
            self.list(ui, c, session, &process_fields(process), acts);
        }
    }

    fn cut_data(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let table = session.values().table();
        ui.horizontal_wrapped(|ui| {
            for process in Process::ALL {
                if theme::choice(ui, c, &process.to_string(), self.process == process).clicked() {
                    self.process = process;
                }
            }
        });
        let (process, family) = (self.process, self.family.unwrap_or(Family::Steel));
        ui.horizontal_wrapped(|ui| {
            for other in Family::ALL {
                if theme::choice(ui, c, &other.to_string(), other == family).clicked() {
                    self.family = Some(other);
                }
            }
        });
        let feeds =
            |f: &&oddment_core::cut_data::FeedRow| (f.process, f.family) == (process, family);
        let mut up_to: Vec<f64> = table.feeds.iter().filter(feeds).map(|f| f.up_to).collect();
        up_to.sort_by(f64::total_cmp);
        up_to.dedup();
        let wanted = self.thickness.unwrap_or(3.0);
        let Some(thickness) =
            up_to.iter().copied().find(|t| *t >= wanted).or(up_to.last().copied())
        else {
            return;
        };
        let unit = session.settings().unit();
        ui.horizontal_wrapped(|ui| {
            for t in up_to {
                if theme::choice(ui, c, &length(t, unit), t == thickness).clicked() {
                    self.thickness = Some(t);
                }
            }
        });
        let Some(row) = table.row(self.process, thickness) else { return };
        let fields = cut_fields(self.process, row.up_to);
        title(
            ui,
            c,
            "Round a cut",
            &format!("the same for all metal up to {}", length(row.up_to, unit)),
        );
        sketch::cut(ui, c, row, unit);
        self.list(ui, c, session, &fields, acts);
        let alike = |f: &&oddment_core::cut_data::FeedRow| feeds(f) && f.up_to == thickness;
        let gases: Vec<String> = table.feeds.iter().filter(alike).map(|f| f.gas.clone()).collect();
        for gas in gases {
            title(
                ui,
                c,
                &format!("With {gas}"),
                &format!("{family} up to {}", length(thickness, unit)),
            );
            self.gas(ui, c, session, &gas, acts);
            let fields = feed_fields(self.process, family, thickness, &gas);
            self.list(ui, c, session, &fields, acts);
        }
    }

    /// Cuts the open plan with a gas, or again with the usual one.
    fn gas(&self, ui: &mut Ui, c: &Colours, session: &Session, gas: &str, acts: &mut Vec<Act>) {
        let wishes = &session.view().sourced.cut;
        let machine = session.values().machine(wishes.machine.as_deref());
        if machine.is_none_or(|m| m.process != self.process) {
            return;
        }
        let wished = wishes.gas.as_deref() == Some(gas);
        let (name, wish) = if wished {
            ("Cut this plan with the usual gas".to_owned(), None)
        } else {
            (format!("Cut this plan with {gas}"), Some(gas.to_owned()))
        };
        if theme::button(ui, c, &name, "", Weight::Words).clicked() {
            acts.push(Act::Shop(ShopAct::UseGas(wish)));
        }
    }

    fn order(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        title(ui, c, "In which order", "");
        for line in [
            "Always: what lies in a hole before the hole, holes before the outline, zone by zone from \
             the free end toward what holds the sheet, what may tip last in its zone.",
            "The crop line and cutting up the skeleton come last. Moves go round what is free, or the \
             head is lifted.",
        ] {
            ui.add(Label::new(RichText::new(line).color(c.quiet)).wrap());
        }
        self.list(ui, c, session, &order_fields(), acts);
    }

    fn materials(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let listing = session.rack().map(|rack| rack.listing().clone()).unwrap_or_default();
        let known = |name: &&String| listing.materials.iter().any(|m| m.name == **name);
        let first = listing.materials.first().map(|m| &m.name);
        let name = self.material.as_ref().filter(known).or(first).cloned();
        ui.horizontal_wrapped(|ui| {
            for material in &listing.materials {
                let shown = name.as_ref() == Some(&material.name);
                if theme::choice(ui, c, &material.name, shown).clicked() {
                    self.material = Some(material.name.clone());
                }
            }
        });
        self.add_material(ui, c, &listing.materials, name.as_deref(), acts);
        let Some(name) = name else {
            ui.label("The shop file has no materials yet: add one, or add a sheet of one in Rack.");
            return;
        };
        title(ui, c, &name, "");
        self.list(ui, c, session, &material_fields(&name), acts);
    }
}

impl ShopPlace {
    /// A field for the name of a new material, which starts as the one that is shown.
    fn add_material(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        known: &[Material],
        like: Option<&str>,
        acts: &mut Vec<Act>,
    ) {
        let Some(typed) = &mut self.new_material else {
            if theme::button(ui, c, "Add a material", "", Weight::Words).clicked() {
                self.new_material = Some(String::new());
            }
            return;
        };
        let made = new_material(known, like, typed);
        let mut done = false;
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("Its name");
            let field = eframe::egui::TextEdit::singleline(typed).desired_width(180.0);
            let response = ui.add(field).labelled_by(label.id);
            let entered =
                response.lost_focus() && ui.input(|i| i.key_pressed(eframe::egui::Key::Enter));
            let pressed = theme::button(ui, c, "Add it", "", Weight::Strong).clicked();
            if (entered || pressed)
                && let Some((key, density, name)) = &made
            {
                let said = format!("material {name} added");
                let values = vec![(key.clone(), Some(density.clone()))];
                acts.push(Act::Shop(ShopAct::Keep(values, said)));
                self.material = Some(name.clone());
                done = true;
            }
            done |= theme::button(ui, c, "Leave it", "", Weight::Words).clicked();
        });
        if made.is_none() && !typed.trim().is_empty() {
            ui.label(RichText::new("There is a material of this name already.").color(c.short));
        } else if let Some(like) = like {
            let text = format!("It starts with the density of {like}; say its own below.");
            ui.label(RichText::new(text).color(c.quiet));
        }
        if done {
            self.new_material = None;
        }
    }
}

/// “3 mm”, “0.1181 in”.
fn length(mm: f64, unit: LengthUnit) -> String {
    Kind::Length.said(Some(&json!(mm)), unit)
}

/// A heading on the paper, with what there is to know of it beside.
fn title(ui: &mut Ui, c: &Colours, text: &str, beside: &str) {
    ui.add_space(12.0);
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(text).font(theme::large_strong()));
        ui.label(RichText::new(beside).font(theme::small()).color(c.quiet));
    });
}
