//! The card beside the cut: minutes, pierces, money, what to watch, and the numbers to type where a
//! part's own drawing is run at the machine.

use eframe::egui::{RichText, ScrollArea, Ui};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_core::cutting::position::{Zero, zero_point};
use oddment_core::cutting::warnings::Warning;
use oddment_core::cutting::{ByHand, Cut, PassKind};
use oddment_core::shape::{Point, SheetSpace};
use oddment_core::units::LengthUnit;
use oddment_files::words::{concern_words, counted, cut_length, cut_on, feed_words};

use super::clock::{Clock, minutes};
use super::steady;
use super::work::Planned;
use crate::sheet;
use crate::theme::{self, Colours, Weight};

/// What the card remembers.
#[derive(Default)]
pub(crate) struct Facts {
    /// Other than the machine has it.
    zero: Option<Zero>,
    turns: Option<bool>,
    /// Where the zero of the part that is being cut lies, as last shown.
    at: Option<Point<SheetSpace>>,
}

impl Facts {
    /// Where the machine's zero of the part that is being cut would lie.
    pub(crate) fn zero_at(&self) -> Option<Point<SheetSpace>> {
        self.at
    }

    /// Draws the card; what is to be done, where something was pressed that does it.
    pub(crate) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        planned: &Planned,
        clock: &mut Clock,
        by_hand: &mut ByHand,
    ) -> Option<Act> {
        let (rect, mut taken) = (ui.max_rect(), None);
        sheet::card(ui, c, rect, |ui| {
            ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                figures(ui, c, session, planned);
                self.position(ui, c, session, planned, clock.now());
                warnings(ui, c, session, planned, clock);
                taken = steady::show(ui, c, session, planned, by_hand);
                hands(ui, c, by_hand);
            });
        });
        taken
    }

    /// X, Y, angle, and the offset to type, of the part that is being cut.
    fn position(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        planned: &Planned,
        now: f64,
    ) {
        self.at = None;
        let Some(moment) = planned.cut.at(now) else { return };
        let pass = &planned.cut.passes[planned.cut.legs[moment.leg].pass];
        let Some(placed) = pass.placed else { return };
        let p = &planned.layout.placements[placed];
        let job = session.view().job();
        let Some(wanted) = job.wanted.get(p.part) else { return };
        let unit = session.settings().unit();
        let datum = job.stock[planned.layout.stock].sheet.bounds().min;
        title(ui, &format!("{} #{}", wanted.part.name, p.copy));
        let under_way = planned.cut.legs[moment.leg].pass;
        let of_part = band(&planned.cut, planned.cut.likely_seconds_of_part(placed));
        let of_pass = band(&planned.cut, planned.cut.likely_seconds_of(under_way));
        quiet(ui, c, &format!("takes {of_part}, this contour {of_pass}"));
        let machine = &planned.facts.machine;
        let zero_now = self.zero.unwrap_or(machine.zero);
        let turns = self.turns.unwrap_or(machine.turns);
        quiet(ui, c, "Run by its own drawing, the machine takes as zero:");
        ui.horizontal_wrapped(|ui| {
            for zero in Zero::ALL {
                if theme::choice(ui, c, zero.words(), zero_now == zero).clicked() {
                    self.zero = Some(zero);
                }
            }
            if theme::choice(ui, c, "it can turn a job", turns).clicked() {
                self.turns = Some(!turns);
            }
        });
        let first = planned.cut.passes.iter().find(|pass| {
            pass.placed == Some(placed) && pass.kind != PassKind::Mark && pass.start.is_some()
        });
        // As the machine sees it: a sheet that lies askew turns the part with it.
        let lies = &planned.facts.lies;
        let on_bed = lies.after(&p.pose);
        let pierce = first.and_then(|pass| pass.start.as_ref()).map(|s| lies.apply(s.pierce));
        let at = zero_point(&wanted.part.region, &on_bed, zero_now, pierce, turns);
        let Some(at) = at else {
            quiet(ui, c, "It has no pierce to take as zero.");
            return;
        };
        self.at = Some(lies.inverse().apply(at));
        let offset = at - lies.apply(datum);
        number(ui, c, "X to type", &unit.show(offset.x), unit);
        number(ui, c, "Y to type", &unit.show(offset.y), unit);
        let degrees = on_bed.turn.to_degrees().rem_euclid(360.0);
        if turns {
            number(ui, c, "Angle to type", &format!("{degrees:.3}°"), unit);
        } else if !(0.0005..359.9995).contains(&degrees) && !p.pose.flipped {
            quiet(ui, c, "The drawing is used as it is.");
        } else {
            let said = format!("Turn its drawing by {degrees:.3}° counter-clockwise first.");
            quiet(ui, c, &said);
        }
        quiet(ui, c, "From the sheet\u{2019}s datum corner, along the bed.");
        if p.pose.flipped {
            quiet(ui, c, "It lies with its other face up: use the mirrored drawing.");
        }
    }
}

/// “0:12 to 0:20 min”, or of what is short “2.1 to 3.4 s”.
fn band(cut: &Cut, seconds: f64) -> String {
    let [least, most] = cut.within(seconds);
    match most {
        ..60.0 => format!("{least:.1} to {most:.1} s"),
        _ => format!("{} to {} min", minutes(least), minutes(most)),
    }
}

fn figures(ui: &mut Ui, c: &Colours, session: &Session, planned: &Planned) {
    let cut = &planned.cut;
    ui.label(RichText::new(band(cut, cut.likely_seconds)).font(theme::large_strong()));
    let why = match planned.facts.learnt {
        Some(_) => "as learnt from recorded cuts",
        None => "until minutes are recorded, within a quarter either way",
    };
    quiet(ui, c, why);
    let unit = session.settings().unit();
    let length = cut_length(cut, unit);
    let tabs: usize = cut.passes.iter().map(|p| p.tabs.len()).sum();
    let pierces = counted(cut.pierces, "pierce", "pierces");
    ui.label(format!("{length} of cut, {pierces}, {}", counted(tabs, "tab", "tabs")));
    let feed = &planned.facts.feed;
    let speed = feed_words(feed.speed, unit);
    ui.label(format!(
        "{} at {speed}, about {:.2} for machine time and pierces",
        cut_on(&cut.on.machine, &feed.gas),
        cut.money
    ));
    if planned.assumed {
        quiet(ui, c, "The sheet's metal is not recorded: reckoned as steel, 2 mm.");
    }
    quiet(ui, c, "From the values of the place Shop; verify them on your own machine.");
}

fn warnings(ui: &mut Ui, c: &Colours, session: &Session, planned: &Planned, clock: &mut Clock) {
    title(ui, "Watch");
    let clear = session.checked().is_clear();
    if !clear {
        let says = "The plan is not clear: do not cut it. Its faults stand in the place Sheet.";
        let text = RichText::new(says).color(c.short).strong();
        ui.add(eframe::egui::Label::new(text).wrap());
    }
    if clear && planned.cut.warnings.is_empty() {
        quiet(
            ui,
            c,
            "Nothing special in this cut. The machine's manual and trained people come first.",
        );
    }
    for alike in alike(planned) {
        let first = alike[0];
        let name = planned.name(first.placed, session);
        let more = match alike.len() {
            1 => String::new(),
            n => format!(" and {} more", n - 1),
        };
        let says =
            format!("{}  {name}{more}: {}", minutes(first.seconds), concern_words(first.concern));
        let label = eframe::egui::Label::new(RichText::new(says).color(c.short)).wrap();
        let response = ui.add(label.sense(eframe::egui::Sense::click()));
        if response.on_hover_text("Go to that moment, and on to the next of these").clicked() {
            let after = |w: &&&Warning| w.seconds > clock.now() + 1e-3;
            clock.go(alike.iter().find(after).map_or(first.seconds, |w| w.seconds));
        }
    }
}

/// The warnings, those of one kind of one contour of copies of a part together, in the order of time.
fn alike(planned: &Planned) -> Vec<Vec<&Warning>> {
    let of = |w: &Warning| {
        let part = w.placed.map(|placed| planned.layout.placements[placed].part);
        (w.concern, part, w.contour)
    };
    let mut groups: Vec<Vec<&Warning>> = Vec::new();
    for warning in &planned.cut.warnings {
        match groups.iter_mut().find(|g| of(g[0]) == of(warning)) {
            Some(group) => group.push(warning),
            None => groups.push(vec![warning]),
        }
    }
    groups
}

/// What was chosen by hand, and the way back.
fn hands(ui: &mut Ui, c: &Colours, by_hand: &mut ByHand) {
    title(ui, "By hand");
    quiet(
        ui,
        c,
        "Drag a pierce or a tab along its contour. Double-click a contour for a new tab, a tab to take it away.",
    );
    let any = !by_hand.starts.is_empty() || !by_hand.tabs.is_empty();
    if any && theme::button(ui, c, "As it comes by itself", "", Weight::Plain).clicked() {
        *by_hand = ByHand::default();
    }
}

pub(super) fn title(ui: &mut Ui, text: &str) {
    ui.add_space(12.0);
    ui.label(RichText::new(text).font(theme::strong()));
}

pub(super) fn quiet(ui: &mut Ui, c: &Colours, text: &str) {
    let text = RichText::new(text).font(theme::small()).color(c.quiet);
    ui.add(eframe::egui::Label::new(text).wrap());
}

/// A number that a person carries to the machine.
fn number(ui: &mut Ui, c: &Colours, label: &str, value: &str, unit: LengthUnit) {
    ui.horizontal(|ui| {
        ui.label(RichText::new(label).color(c.quiet));
        ui.label(RichText::new(value).font(theme::large_strong()));
        if !value.ends_with('°') {
            ui.label(RichText::new(unit.to_string()).color(c.quiet));
        }
    });
}
