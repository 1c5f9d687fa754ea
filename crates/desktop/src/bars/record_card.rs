//! The cut of bars, recorded part by part: what became of each, and what is left of each bar, before
//! anything is written.

use std::sync::Arc;

use eframe::egui::{Context, Label, RichText, ScrollArea, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::bars::{BarsAct, BarsSaid, PlannedBars};
use oddment_app::session::Session;
use oddment_core::units::LengthUnit;
use oddment_files::words::counted;
use oddment_rack::record::{Keep, Outcome};

use super::draw;
use crate::recording;
use crate::theme::{self, Colours};
use crate::told::Pending;

/// A cut being recorded, as typed.
pub(super) struct RecordCard {
    planned: Arc<PlannedBars>,
    said: BarsSaid,
    minutes: String,
    fault: Option<String>,
    pending: Pending,
}

impl RecordCard {
    /// The card of the plan; `None` where there is none.
    pub(super) fn new(session: &Session) -> Option<Self> {
        let planned = session.bars().order().planned.clone()?;
        let (said, minutes) = (BarsSaid::default(), String::new());
        Some(Self { planned, said, minutes, fault: None, pending: Pending::default() })
    }

    /// Draws the card; whether it is closed.
    pub(super) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        acts: &mut Vec<Act>,
    ) -> bool {
        let mut closed = self.pending.is_done(session, &mut self.fault);
        let given_up = theme::modal(ctx, c, "What was cut from the bars?", 860.0, |ui| {
            let room = ctx.content_rect();
            let says = "Each part of each bar, from the datum end. What was not made goes back to the \
                        order.";
            ui.label(RichText::new(says).font(theme::small()).color(c.quiet));
            let high = (room.height() - 260.0).clamp(200.0, 620.0);
            ScrollArea::vertical().max_height(high).auto_shrink([false, true]).show(ui, |ui| {
                let unit = session.settings().unit();
                for bar in 0..self.planned.plan.bars.len() {
                    self.bar(ui, c, unit, bar);
                    ui.add_space(10.0);
                }
            });
            self.besides(ui, c);
            let pieces = self.planned.plan.bars.iter().map(|bar| bar.pieces.len()).sum::<usize>();
            let back = pieces - self.said.made(&self.planned).iter().sum::<usize>();
            let ending = recording::ending(ui, c, self.fault.as_deref(), |ui| {
                if back > 0 {
                    let parts = counted(back, "part goes", "parts go");
                    let text = format!("{parts} back to the order.");
                    ui.label(RichText::new(text).color(c.short));
                }
            });
            closed |= ending.cancel;
            if ending.record {
                match recording::minutes(&self.minutes) {
                    Ok(minutes) => {
                        self.said.minutes = minutes;
                        let said = self.said.clone();
                        self.pending.ask(Act::Bars(BarsAct::Record(Box::new(said))), acts);
                    }
                    Err(fault) => self.fault = Some(fault),
                }
            }
        });
        closed || given_up
    }

    /// A bar with its parts, and what is left of it.
    fn bar(&mut self, ui: &mut Ui, c: &Colours, unit: LengthUnit, index: usize) {
        let planned = self.planned.clone();
        let PlannedBars { list, plan, .. } = &*planned;
        let (bar, stock) = (&plan.bars[index], &list.stock[plan.bars[index].stock]);
        let count = bar.pieces.len();
        let title = format!(
            "{} of {}: {}, {} {unit}",
            index + 1,
            plan.bars.len(),
            draw::stock_name(stock),
            unit.show(stock.length)
        );
        ui.horizontal(|ui| {
            ui.label(RichText::new(title).font(theme::strong()));
            let all =
                |outcome: &Outcome| (0..count).all(|p| self.said.outcome(index, p) == *outcome);
            for (word, outcome) in
                [("all good", Outcome::Good), ("none begun", Outcome::NeverStarted)]
            {
                let spoken = format!("bar {} {word}", index + 1);
                if theme::spoken_choice(ui, c, word, all(&outcome), &spoken).clicked() {
                    self.said.say_all(index, count, &outcome);
                    break;
                }
            }
        });
        self.left(ui, c, unit, index);
        for (p, piece) in bar.pieces.iter().enumerate() {
            let part = &list.parts[piece.part];
            let called = format!("{}.{} {}", index + 1, p + 1, part.called());
            let now = self.said.outcome(index, p);
            if let Some(then) = recording::outcome(ui, c, &called, None, &now) {
                self.said.say(index, p, count, then);
            }
        }
    }

    /// The bar as it was cut, and what is left of it in words.
    fn left(&self, ui: &mut Ui, c: &Colours, unit: LengthUnit, index: usize) {
        let PlannedBars { list, .. } = &*self.planned;
        let begun = self.said.begun(&self.planned, index);
        let stock = &list.stock[begun.stock];
        let longest = self.planned.plan.bars.iter().map(|bar| list.stock[bar.stock].length);
        let size = vec2(ui.available_width() - 14.0, draw::BARE);
        let (rect, _) = ui.allocate_exact_size(size, eframe::egui::Sense::hover());
        let scene = draw::Scene::new(c, list, unit, rect, longest.fold(1.0, f64::max));
        scene.bare(ui.painter(), &begun);
        let says = if begun.pieces.is_empty() {
            "not begun: it stays as it is".to_owned()
        } else {
            let setup = list.setup(&begun);
            let left = setup.left.1 - setup.left.0;
            let kept = match self.said.keep {
                Keep::ByRule => setup.kept,
                Keep::All => left >= 1.0,
                Keep::Nothing => false,
            };
            let label = match stock.name.trim() {
                "" => "with a label of its own",
                label => &format!("as {label}"),
            };
            let goes =
                if kept { format!("stay in the rack {label}") } else { "go to scrap".to_owned() };
            format!("{} {unit} are left and {goes}", unit.show(left))
        };
        ui.add(Label::new(RichText::new(says).font(theme::small()).color(c.quiet)).wrap());
    }

    /// What there is to say besides.
    fn besides(&mut self, ui: &mut Ui, c: &Colours) {
        let list = &self.planned.list;
        let bought = self.planned.plan.bars.iter().any(|bar| {
            let stock = &list.stock[bar.stock];
            stock.count.is_none() || stock.name.trim().is_empty()
        });
        ui.horizontal_wrapped(|ui| {
            recording::field(ui, "minutes it took", &mut self.minutes, "", 70.0);
            if bought {
                let said = &mut self.said;
                let heat = &mut said.bought_heat;
                recording::field(ui, "heat number of bars bought", heat, "", 110.0);
                let certificate = &mut said.bought_certificate;
                recording::field(ui, "their certificate", certificate, "", 110.0);
            }
            let name = "for a certificate";
            if theme::choice(ui, c, name, self.said.certificate).clicked() {
                self.said.certificate = !self.said.certificate;
            }
            recording::keeps(ui, c, &mut self.said.keep);
        });
    }
}
