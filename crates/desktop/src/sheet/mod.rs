//! The place *Sheet*: will it go in, and where?

mod dimensions;
mod draw;
mod ground;
mod heading;
mod hint;
mod minimap;
mod names;
pub(crate) mod pictures;
mod pointer;
pub(crate) mod progress;
mod report;
mod rulers;
mod selected;
mod slip;
mod verdict;
mod view;

use eframe::egui::{Pos2, Rect, Sense, Ui, UiBuilder, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::open_job::Copy;
use oddment_app::place::Place;
use oddment_app::session::{Ask, Session};
use oddment_core::shape::{Bounds, Point, SheetSpace};

use crate::first_screen;
use crate::place::PlaceView;
use crate::stock_card::{Pressed, StockCard};
use crate::theme::{self, Colours, Weight};
use crate::top_line::Word;
pub(crate) use ground::Ground;
pub(crate) use heading::show as describe;
use pictures::Pictures;
use pointer::Gesture;
pub(crate) use verdict::{Mark, paint_mark};
pub(crate) use view::View;

/// What the place remembers from frame to frame; nothing that matters to the job.
#[derive(Default)]
pub(crate) struct SheetPlace {
    view: Option<View>,
    /// What the view was fitted to: sheet, and area on the screen.
    fitted: Option<(usize, Bounds<SheetSpace>, Rect)>,
    pictures: Pictures,
    layer: draw::Layer,
    field: draw::Field,
    minimap: minimap::Minimap,
    /// Where the canvas is free of cards.
    free: Option<Rect>,
    /// The one part that was selected last, which has been brought in sight.
    in_sight: Option<Copy>,
    gesture: Gesture,
    slip: slip::Slip,
    report: report::Report,
    typing: selected::Typing,
    verdict: verdict::Opened,
}

/// Where things are on the screen.
struct Layout {
    canvas: Rect,
    sheet: Rect,
    slip: Rect,
    line: Rect,
    verdict: Rect,
    progress: Rect,
}

const EDGE: f32 = 20.0;
const SLIP: f32 = 264.0;
const VERDICT: f32 = 290.0;

impl Layout {
    fn of(whole: Rect, c: &Colours) -> Self {
        let bottom = whole.bottom() - EDGE;
        let right = whole.right() - EDGE;
        let left = whole.left() + EDGE;
        let verdict_left = (right - VERDICT).max(left + 300.0);
        let line_right = verdict_left - 14.0;
        let line_top = bottom - selected::height(line_right - left, c);
        Self {
            canvas: whole,
            sheet: Rect::from_min_max(
                pos2(left + SLIP + rulers::ROOM + 24.0, whole.top() + 16.0),
                pos2(right - 8.0, line_top - rulers::ROOM - 4.0),
            ),
            slip: Rect::from_min_max(
                pos2(left, whole.top() + 4.0),
                pos2(left + SLIP, line_top - 16.0),
            ),
            line: Rect::from_min_max(pos2(left, line_top), pos2(line_right, bottom)),
            verdict: Rect::from_min_max(pos2(verdict_left, line_top), pos2(right, bottom)),
            progress: Rect::from_min_max(
                pos2(verdict_left, line_top - 14.0 - progress::height(c)),
                pos2(right, line_top - 14.0),
            ),
        }
    }
}

impl SheetPlace {
    fn zoom(&mut self, factor: f64) {
        if let Some(view) = &mut self.view {
            view.zoom(factor, view.middle);
        }
    }

    /// Brings a point of the sheet into the middle.
    fn look_at(&mut self, at: Point<SheetSpace>) {
        if let Some(view) = &mut self.view {
            view.centre = at;
        }
    }

    /// Brings the one part that has come to be selected into sight, where nothing of it was to be seen.
    fn bring_in_sight(&mut self, session: &Session) {
        let one = match (session.selected(), session.hand()) {
            (&[one], None) => Some(one),
            _ => None,
        };
        if one == std::mem::replace(&mut self.in_sight, one) {
            return;
        }
        let Some((free, (_, p))) = self.free.zip(one.and_then(|one| session.view().find(one)))
        else {
            return;
        };
        let bounds = session.view().job().wanted[p.part].part.region.placed(&p.pose).bounds();
        if !self.view.is_some_and(|view| view.seen(free).contains(bounds.centre())) {
            self.look_at(bounds.centre());
        }
    }

    /// Draws everything but what lies over it.
    fn canvas_and_cards(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        whole: Rect,
        acts: &mut Vec<Act>,
    ) {
        let mut layout = Layout::of(whole, c);
        let canvas =
            ui.interact(layout.canvas, ui.scope_id().with("canvas"), Sense::click_and_drag());
        self.bring_in_sight(session);
        match session.slot() {
            Some(slot) => {
                let sheet = session.view().job().stock[slot.stock].sheet.bounds();
                let fitted = (session.shown().0, sheet, layout.sheet);
                if self.fitted != Some(fitted) {
                    self.view = Some(View::fit(sheet, layout.sheet));
                    self.fitted = Some(fitted);
                }
                let mut view = self.view.unwrap_or_else(|| View::fit(sheet, layout.sheet));
                self.gesture.canvas(ui, &canvas, &mut view, &mut self.pictures, session, acts);
                self.view = Some(view);
                let ruled = Rect::from_min_max(
                    pos2(layout.slip.right() + 8.0, layout.canvas.top()),
                    pos2(layout.canvas.right(), layout.line.top() - 2.0),
                );
                self.free = Some(ruled);
                let area = layout.canvas;
                let scene = draw::Scene { c, session, slot, view, area, free: ruled };
                let painter = ui.painter_at(layout.canvas);
                self.layer.draw(&painter, &scene, &mut self.pictures);
                scene.draw_lively(&painter, &mut self.pictures, &mut self.field);
                let unit = session.settings().unit();
                rulers::draw(&painter, c, &view, sheet, (ruled, layout.canvas), unit);
                scene.name_parts(ui, &mut self.pictures, acts);
                self.gesture.handle(ui, &scene, acts);
            }
            None => no_sheet(ui, c, session, layout.sheet, acts),
        }
        layout.slip.min.y = self.which_sheet(ui, c, session, layout.slip, acts);
        let mut slip_ui = child(ui, layout.slip, "slip");
        self.slip.show(&mut slip_ui, c, session, &mut self.pictures, acts);
        self.drag_off_slip(ui, &layout, acts, session);
        let mut line_ui = child(ui, layout.line, "line");
        selected::show(&mut line_ui, c, session, &mut self.typing, layout.line, acts);
        let mut verdict_ui = child(ui, layout.verdict, "verdict");
        if let Some(at) =
            verdict::show(&mut verdict_ui, c, session, &mut self.verdict, layout.verdict, acts)
        {
            self.look_at(at);
        }
        let mut corner = layout.verdict.top();
        if let Some(work) = session.at_work() {
            let mut progress_ui = child(ui, layout.progress, "progress");
            progress::show(&mut progress_ui, c, &work, layout.progress, acts);
            corner = layout.progress.top();
        }
        // The list of faults stands where the small sheet would.
        if !self.verdict.is_open() {
            self.show_minimap(ui, c, session, pos2(layout.verdict.right(), corner - 14.0));
        }
    }

    /// The sheet that is shown, on a card above the slip; returns where the slip begins.
    fn which_sheet(
        &self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        column: Rect,
        acts: &mut Vec<Act>,
    ) -> f32 {
        let Some(slot) = session.slot() else { return column.top() };
        let sheet = &session.view().job().stock[slot.stock].sheet;
        let card = StockCard {
            name: &sheet.name,
            facts: &heading::facts(sheet, session.settings().unit()),
            help: "its metal, grain and size; or a plain sheet",
            shown: session.shown(),
        };
        let (bottom, pressed) = card.show(ui, c, "The sheet", column.min, column.width());
        acts.extend(pressed.map(|pressed| match pressed {
            Pressed::Itself => Act::SheetFacts,
            Pressed::Before => Act::PreviousSheet,
            Pressed::Next => Act::NextSheet,
        }));
        bottom + 10.0
    }

    /// The whole sheet, small, where only some of it is to be seen.
    fn show_minimap(&mut self, ui: &mut Ui, c: &Colours, session: &Session, corner: Pos2) {
        let (Some(slot), Some(view), Some(free)) = (session.slot(), self.view, self.free) else {
            return;
        };
        let at =
            self.minimap.show(ui, c, (session, slot), &mut self.pictures, (view, free), corner);
        if let Some(at) = at {
            self.look_at(at);
        }
    }

    /// A part dragged off the slip: in the hand while the pointer is over the metal.
    fn drag_off_slip(&mut self, ui: &Ui, layout: &Layout, acts: &mut Vec<Act>, session: &Session) {
        let Some(drag) = self.slip.dragged() else { return };
        let Some(at) = ui.ctx().pointer_latest_pos() else { return };
        let Some(view) = self.view else { return };
        let over = !layout.slip.contains(at) && layout.canvas.contains(at);
        let on_sheet = view.to_sheet(at);
        if drag.ended {
            if session.hand().is_some() {
                acts.push(if over { Act::PutDown } else { Act::LetGo });
            }
            self.slip.let_go();
        } else if over {
            let from = self.slip.carried_from(on_sheet);
            if session.hand().is_none() {
                acts.push(Act::Take(drag.part, from));
            }
            let free = ui.input(|i| i.modifiers.alt);
            acts.push(Act::Follow(on_sheet - from, free));
        }
    }
}

impl PlaceView for SheetPlace {
    fn heading(&mut self, ui: &mut Ui, c: &Colours, _session: &Session, acts: &mut Vec<Act>) {
        crate::bars::kinds(ui, c, Place::Sheet, acts);
    }

    fn heading_room(&self) -> f32 {
        crate::bars::KINDS
    }

    fn strong(&mut self, ui: &mut Ui, c: &Colours, _session: &Session, acts: &mut Vec<Act>) {
        heading::fill(ui, c, acts);
    }

    fn words(&self, session: &Session) -> Vec<Word> {
        heading::words(session)
    }

    fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    ) {
        self.canvas_and_cards(ui, c, session, area, acts);
        self.report.show(ui, c, session, area, acts);
        if ui.input(|i| !i.raw.hovered_files.is_empty()) {
            hint::drop_here(ui, c, area);
        }
    }

    fn drop_point(&self, at: Option<Pos2>) -> Option<Point<SheetSpace>> {
        let (view, free) = (self.view?, self.free?);
        match at {
            // Beside the canvas, on the slip: for the order alone.
            Some(at) if at.x < free.left() => None,
            Some(at) if free.contains(at) => Some(view.to_sheet(at)),
            _ => Some(view.centre),
        }
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

/// What there is to do while no sheet is open.
pub(crate) fn no_sheet(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    area: Rect,
    acts: &mut Vec<Act>,
) {
    first_screen::show(ui, c, area, "No sheet is open", |ui| {
        first_screen::say(ui, "Where is the order to be laid?", c.text);
        ui.add_space(8.0);
        ui.horizontal_wrapped(|ui| {
            let from_rack = ("A sheet of the rack", Act::Go(Place::Rack), session.rack().is_some());
            let others = [
                ("A plain sheet", Act::SheetFacts, true),
                ("A sheet from a drawing", Act::PickSheet, true),
                ("Open a plan", Act::Open, true),
            ];
            for (name, act, can) in std::iter::once(from_rack).chain(others) {
                if can && theme::button(ui, c, name, "", Weight::Plain).clicked() {
                    acts.push(act);
                }
            }
        });
    });
}

/// A ui of its own at a fixed place, which the canvas below does not feel.
pub(crate) fn child(ui: &mut Ui, rect: Rect, name: &str) -> Ui {
    ui.new_child(UiBuilder::new().max_rect(rect).id_salt(name))
}

/// A card that fills `rect`; presses on it do not reach the canvas.
pub(crate) fn card(
    ui: &mut Ui,
    c: &Colours,
    rect: Rect,
    contents: impl FnOnce(&mut Ui),
) -> eframe::egui::Response {
    let ground = ui.interact(rect, ui.scope_id().with("ground"), Sense::click_and_drag());
    ui.painter().add(theme::card(c).inner_margin(0).paint(rect.shrink(1.0)));
    let inner = rect.shrink2(vec2(16.0, 8.0));
    let mut inside = ui.new_child(UiBuilder::new().max_rect(inner).id_salt("inside"));
    contents(&mut inside);
    ground
}
