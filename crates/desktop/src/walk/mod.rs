//! The place *Cut*: how will it be cut? The cut of the sheet that is shown, walked through in time.

mod clock;
mod draw;
mod facts;
mod hands;
mod line;
mod steady;
mod work;

use eframe::egui::{Key, Rect, Sense, Ui, pos2};
use oddment_app::act::Act;
use oddment_app::session::{Ask, Session};
use oddment_core::cutting::ByHand;
use oddment_core::shape::{Bounds, SheetSpace};

use crate::place::PlaceView;
use crate::sheet::{self, View};
use crate::theme::{self, Colours, Weight};
use crate::told::Told;
use crate::top_line::Word;
use clock::Clock;
use hands::Grip;
use work::{Planned, Work};

const EDGE: f32 = 20.0;
const FACTS: f32 = 312.0;
/// Room (points) above the line for what came of what was done last.
const TOLD: f32 = 58.0;

/// What the place remembers from frame to frame.
#[derive(Default)]
pub(crate) struct CutPlace {
    view: Option<View>,
    /// What the view was fitted to: sheet, and area on the screen.
    fitted: Option<(usize, Bounds<SheetSpace>, Rect)>,
    ground: sheet::Ground,
    work: Work,
    clock: Clock,
    grip: Option<Grip>,
    facts: facts::Facts,
}

impl CutPlace {
    fn zoom(&mut self, factor: f64) {
        if let Some(view) = &mut self.view {
            view.zoom(factor, view.middle);
        }
    }

    /// Space plays, arrows step from contour to contour.
    fn keys(&mut self, ui: &Ui, planned: &Planned) {
        if ui.ctx().text_edit_focused() {
            return;
        }
        let pressed = |key| ui.input(|i| i.key_pressed(key));
        if pressed(Key::Space) {
            self.clock.toggle(&planned.cut);
        }
        if pressed(Key::ArrowRight) {
            self.clock.step(&planned.cut, true);
        }
        if pressed(Key::ArrowLeft) {
            self.clock.step(&planned.cut, false);
        }
    }
}

/// Says what was moved, if anything was.
fn changed(session: &Session, by_hand: ByHand, acts: &mut Vec<Act>) {
    if by_hand != session.view().sourced.cut.by_hand {
        acts.push(Act::CutByHand(Box::new(by_hand)));
    }
}

/// Tells what came of what was done last, above the line and over what lies there.
fn told_above(ui: &mut Ui, c: &Colours, session: &Session, line: Rect) {
    let Some(told) = Told::of(session) else { return };
    let at = pos2(line.left(), line.top() - TOLD);
    let rect = Rect::from_min_max(at, pos2(line.right(), line.top() - 8.0));
    let mut ui = sheet::child(ui, rect, "told");
    sheet::card(&mut ui, c, rect, |ui| told.show(ui, c));
}

impl PlaceView for CutPlace {
    fn heading(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        sheet::describe(ui, c, session, acts);
    }

    fn words(&self, session: &Session) -> Vec<Word> {
        Vec::from(Word::steps(session.undoes_and_redoes(), (Act::Undo, Act::Redo)))
    }

    fn strong(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let Some(planned) = self.work.newest() else { return };
        if session.checked().is_clear()
            && theme::button(ui, c, "Export", "", Weight::Words).clicked()
        {
            acts.push(Act::Export);
        }
        let name = if self.clock.playing() { "Pause" } else { "Play" };
        if theme::button(ui, c, name, "Space", Weight::Strong).clicked() {
            self.clock.toggle(&planned.cut);
        }
    }

    fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    ) {
        let Some(slot) = session.slot() else {
            sheet::no_sheet(ui, c, session, area, acts);
            return;
        };
        let mut by_hand = session.view().sourced.cut.by_hand.clone();
        self.work.ask(ui.ctx(), session);
        let right = area.right() - EDGE;
        let facts_left = (right - FACTS).max(area.left() + 300.0);
        let line_top = area.bottom() - EDGE - (c.touch + 58.0);
        let line = Rect::from_min_max(
            pos2(area.left() + EDGE, line_top),
            pos2(facts_left - 14.0, area.bottom() - EDGE),
        );
        let facts = Rect::from_min_max(
            pos2(facts_left, area.top() + 8.0),
            pos2(right, area.bottom() - EDGE),
        );
        let room = Rect::from_min_max(
            pos2(area.left() + EDGE + 8.0, area.top() + 16.0),
            pos2(facts_left - 24.0, line_top - 20.0),
        );
        let bounds = session.view().job().stock[slot.stock].sheet.bounds();
        let fitted = (session.shown().0, bounds, room);
        if self.fitted != Some(fitted) {
            self.view = Some(View::fit(bounds, room));
            self.fitted = Some(fitted);
        }
        let mut view = self.view.unwrap_or_else(|| View::fit(bounds, room));
        let canvas = ui.interact(area, ui.scope_id().with("cut canvas"), Sense::click_and_drag());
        let planned = self.work.newest();
        hands::gestures(
            ui,
            &canvas,
            &mut view,
            planned.as_deref(),
            session,
            &mut self.grip,
            &mut by_hand,
        );
        self.view = Some(view);
        let painter = ui.painter_at(area);
        self.ground.draw(&painter, c, session, slot, view, area);
        let Some(planned) = planned else {
            let at = room.center();
            let text = if session.view().layout(slot).is_some() {
                "Working out the cut…"
            } else {
                "Nothing is laid on this sheet: there is nothing to cut."
            };
            let align = eframe::egui::Align2::CENTER_CENTER;
            theme::tag(ui.painter(), at, align, text, theme::body(), c.text, c.bed);
            told_above(ui, c, session, line);
            return;
        };
        self.keys(ui, &planned);
        self.clock.run(ui, &planned.cut);
        let freed = planned.cut.freed_by(self.clock.now());
        self.ground.tint(&painter, c, session, slot, view, &freed);
        draw::draw(&painter, c, &view, &planned, self.clock.now(), self.facts.zero_at());
        draw::name_starts(ui, &view, &planned, session);
        if let Some(grip) = &self.grip {
            grip.draw(&painter, c, &view, ui);
        }
        told_above(ui, c, session, line);
        let mut line_ui = sheet::child(ui, line, "cut line");
        line::show(&mut line_ui, c, session, &planned, &mut self.clock, line);
        let mut facts_ui = sheet::child(ui, facts, "cut facts");
        let taken =
            self.facts.show(&mut facts_ui, c, session, &planned, &mut self.clock, &mut by_hand);
        acts.extend(taken);
        changed(session, by_hand, acts);
    }

    fn answer(&mut self, ask: Ask) {
        match ask {
            Ask::FitView => self.fitted = None,
            Ask::ZoomIn => self.zoom(1.25),
            Ask::ZoomOut => self.zoom(0.8),
            _ => {}
        }
    }
}
