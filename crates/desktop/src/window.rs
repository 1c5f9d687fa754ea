//! The window: the top line, the place below it, and what asks the person something.

use std::path::PathBuf;
use std::time::Duration;

use eframe::egui::{
    self, Context, Id, Modal, Rect, RichText, Ui, UiBuilder, ViewportCommand, pos2, vec2,
};
use oddment_app::act::{Act, listed};
use oddment_app::place::Place;
use oddment_app::rack::Desk;
use oddment_app::session::{Ask, Session};

use crate::act_list::{self, ActList};
use crate::ask_path::{Answer, AskPath};
use crate::bars::{BarWaysPlace, BarsPlace};
use crate::bed::BedPlace;
use crate::compare::ComparePlace;
use crate::distances_card::{self, DistancesCard};
use crate::fields::Fields;
use crate::place::PlaceView;
use crate::rack::RackPlace;
use crate::record_card::RecordCard;
use crate::sheet::SheetPlace;
use crate::sheet_card::{self, SheetCard};
use crate::shop::ShopPlace;
use crate::strokes::Strokes;
use crate::theme::{self, Colours, Weight};
use crate::walk::CutPlace;
use crate::{export_card, keys, look, top_line};

/// Everything in the window.
pub struct Window {
    session: Session,
    sheet: SheetPlace,
    bars: BarsPlace,
    bar_ways: BarWaysPlace,
    compare: ComparePlace,
    bed: BedPlace,
    cut: CutPlace,
    rack: RackPlace,
    shop: ShopPlace,
    asking: Option<Asking>,
    strokes: Strokes,
    fields: Fields,
    /// Theme and size that egui's own controls were dressed for.
    dressed: Option<(bool, u32)>,
    closing: bool,
}

/// What lies over the place until it is answered.
enum Asking {
    Acts(ActList),
    Look,
    Export,
    Path(AskPath),
    Distances(DistancesCard),
    Sheet(SheetCard),
    Record(Box<RecordCard>),
    Close,
}

impl Window {
    /// A window on this session.
    pub fn new(ctx: &Context, session: Session) -> Self {
        theme::load_fonts(ctx);
        ctx.options_mut(|o| o.zoom_with_keyboard = false);
        Self {
            session,
            sheet: SheetPlace::default(),
            bars: BarsPlace::default(),
            bar_ways: BarWaysPlace,
            compare: ComparePlace::default(),
            bed: BedPlace::default(),
            cut: CutPlace::default(),
            rack: RackPlace::default(),
            shop: ShopPlace::default(),
            asking: None,
            strokes: Strokes::default(),
            fields: Fields::default(),
            dressed: None,
            closing: false,
        }
    }

    /// What the window shows.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// Does an act, for tests that are about something else.
    #[cfg(test)]
    pub(crate) fn act(&mut self, act: Act) {
        let _ = self.session.apply(act);
    }

    /// Draws a frame: what was done is carried out in the end, in order.
    pub fn main_ui(&mut self, ui: &mut Ui) {
        self.session.poll();
        let ctx = ui.ctx().clone();
        let percent = theme::percent_that_fits(&ctx, self.session.settings().size_percent);
        let look = (self.session.settings().dark, percent);
        if self.dressed != Some(look) {
            theme::dress(&ctx, self.session.settings(), percent);
            self.dressed = Some(look);
        }
        if self.session.rack().is_some_and(Desk::is_waiting) {
            // It may come to take long.
            ctx.request_repaint_after(Duration::from_millis(300));
        }
        let c = Colours::of(self.session.settings());
        let here = self.session.settings().place;
        let mut acts = if self.asking.is_none() { keys::pressed(&ctx, here) } else { Vec::new() };
        let whole = ui.max_rect();
        ui.painter().rect_filled(whole, 0, c.bed);
        let below = whole.top() + top_line::height(&c);
        let top = Rect::from_min_max(whole.min, pos2(whole.right(), below));
        let place = Rect::from_min_max(pos2(whole.left(), below), whole.max);
        let view: &mut dyn PlaceView = match here {
            Place::Sheet => &mut self.sheet,
            Place::Bars => &mut self.bars,
            Place::BarWays => &mut self.bar_ways,
            Place::Compare => &mut self.compare,
            Place::Bed => &mut self.bed,
            Place::Cut => &mut self.cut,
            Place::Rack => &mut self.rack,
            Place::Shop => &mut self.shop,
        };
        acts.extend(dropped(&ctx, view));
        view.show(ui, &c, &self.session, place, &mut acts);
        let mut line = ui.new_child(UiBuilder::new().max_rect(top.shrink2(vec2(20.0, 8.0))));
        top_line::show(&mut line, &c, &self.session, view, &mut acts);
        self.ask_before_closing(&ctx);
        self.show_question(&ctx, &c, &mut acts);
        self.fields.end_frame(&ctx);
        if !acts.is_empty() {
            ctx.request_repaint();
        }
        for act in acts {
            if let Some(ask) = self.session.apply(act) {
                self.answer(&ctx, ask);
            }
        }
    }

    /// Shows what is being asked, and takes the answer.
    fn show_question(&mut self, ctx: &Context, c: &Colours, acts: &mut Vec<Act>) {
        let act = match &mut self.asking {
            None => return,
            Some(Asking::Acts(list)) => match list.show(ctx, c, &self.session) {
                act_list::Outcome::Open => return,
                act_list::Outcome::Closed => None,
                act_list::Outcome::Chosen(act) => {
                    // An act is seen where it belongs.
                    let place = listed().iter().find(|l| l.act == act).and_then(|l| l.place);
                    acts.extend(place.map(Act::Go));
                    Some(act)
                }
            },
            Some(Asking::Look) => {
                if look::show(ctx, c, &self.session, acts) {
                    return;
                }
                None
            }
            Some(Asking::Export) => match export_card::show(ctx, c, &self.session, acts) {
                export_card::Outcome::Open => return,
                export_card::Outcome::Closed => None,
                export_card::Outcome::Into => Some(Act::ExportInto),
            },
            Some(Asking::Path(path)) => match path.show(ctx, c) {
                Answer::Waiting => return,
                Answer::Nothing => None,
                Answer::Do(act) => Some(act),
            },
            Some(Asking::Sheet(card)) => match card.show(ctx, c) {
                sheet_card::Outcome::Open => return,
                sheet_card::Outcome::Closed => None,
                sheet_card::Outcome::Done(act) => Some(act),
            },
            Some(Asking::Distances(card)) => match card.show(ctx, c) {
                distances_card::Outcome::Open => return,
                distances_card::Outcome::Closed => None,
                distances_card::Outcome::Done(act) => Some(act),
            },
            Some(Asking::Record(card)) => {
                if !card.show(ctx, c, &self.session, acts) {
                    return;
                }
                None
            }
            Some(Asking::Close) => match self.show_closing(ctx, c) {
                Some(act) => act,
                None => return,
            },
        };
        self.asking = None;
        acts.extend(act);
    }

    /// Long work is not thrown away by closing the window without a word.
    fn ask_before_closing(&mut self, ctx: &Context) {
        let wants = ctx.input(|i| i.viewport().close_requested());
        if wants && !self.closing && self.session.ends_early() {
            ctx.send_viewport_cmd(ViewportCommand::CancelClose);
            self.asking = Some(Asking::Close);
        }
    }

    /// `Some` when it was answered: with what is to be done first.
    fn show_closing(&mut self, ctx: &Context, c: &Colours) -> Option<Option<Act>> {
        let mut answer = None;
        let modal = Modal::new(Id::unique("closing")).frame(theme::card(c)).show(ctx, |ui| {
            let says = match self.session.capture() {
                Some(_) => {
                    "A sheet is being captured: what was said of its photograph is not kept."
                }
                None => "Work is still going on.",
            };
            ui.label(RichText::new(says).font(theme::strong()));
            ui.horizontal(|ui| {
                if self.session.at_work().is_some()
                    && theme::button(ui, c, "Keep its best and close", "", Weight::Plain).clicked()
                {
                    self.closing = true;
                    answer = Some(Some(Act::KeepBest));
                }
                if theme::button(ui, c, "Close without it", "", Weight::Words).clicked() {
                    self.closing = true;
                    answer = Some(Some(Act::StopFill));
                }
                if theme::button(ui, c, "Stay", "Esc", Weight::Words).clicked() {
                    answer = Some(None);
                }
            });
        });
        if self.closing {
            ctx.send_viewport_cmd(ViewportCommand::Close);
        } else if modal.should_close() {
            answer = Some(None);
        }
        answer
    }

    /// Does what only the window can do for the session.
    fn answer(&mut self, ctx: &Context, ask: Ask) {
        match ask {
            Ask::FindAct => self.asking = Some(Asking::Acts(ActList::default())),
            Ask::Look => self.asking = Some(Asking::Look),
            Ask::Export => self.asking = Some(Asking::Export),
            Ask::SheetFacts => {
                let unit = self.session.settings().unit();
                let card = SheetCard::new(self.session.sheet_facts(), unit);
                self.asking = Some(Asking::Sheet(card));
            }
            Ask::RecordParts if self.session.settings().place == Place::Bars => {
                self.bars.answer(ask);
            }
            Ask::RecordParts => {
                self.asking =
                    RecordCard::new(&self.session).map(|card| Asking::Record(Box::new(card)));
            }
            Ask::Distances => {
                let job = self.session.view().job();
                let slot = self.session.slot().map_or(0, |s| s.stock);
                let metal = job.stock.get(slot).and_then(|s| s.sheet.made_of.as_ref());
                let unit = self.session.settings().unit();
                let thickness = metal.map(|m| m.thickness);
                let values = self.session.values().clone();
                let card = DistancesCard::new(&job.clearances, unit, thickness, values);
                self.asking = Some(Asking::Distances(card));
            }
            Ask::OfRack(_) => self.rack.answer(ask),
            Ask::FitView | Ask::ZoomIn | Ask::ZoomOut => {
                let here: &mut dyn PlaceView = match self.session.settings().place {
                    Place::Bed => &mut self.bed,
                    Place::Cut => &mut self.cut,
                    _ => &mut self.sheet,
                };
                here.answer(ask);
            }
            _ => {
                let folder = self.session.settings().folder.as_deref();
                let title = match self.session.settings().place {
                    Place::Bars => &self.session.bars().order().title,
                    _ => &self.session.view().title,
                };
                self.asking = AskPath::new(ctx, ask, folder, title).map(Asking::Path);
            }
        }
    }
}

/// What to do with files that were dropped on the window.
fn dropped(ctx: &Context, view: &dyn PlaceView) -> Vec<Act> {
    let files: Vec<PathBuf> =
        ctx.input(|i| i.raw.dropped_files.iter().map(|f| f.path().to_path_buf()).collect());
    if files.is_empty() {
        return Vec::new();
    }
    let take = |files| vec![Act::TakeFiles(files, view.drop_point(ctx.pointer_latest_pos()))];
    view.dropped(&files).unwrap_or_else(|| take(files))
}

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.main_ui(ui);
    }

    fn raw_input_hook(&mut self, ctx: &Context, input: &mut egui::RawInput) {
        if self.strokes.deal_out(input, ctx.text_edit_focused()) {
            ctx.request_repaint();
        }
    }

    /// What is to be remembered is in the settings and in the open work.
    fn persist_egui_memory(&self) -> bool {
        false
    }

    fn clear_color(&self, _visuals: &egui::Visuals) -> [f32; 4] {
        Colours::of(self.session.settings()).bed.to_normalized_gamma_f32()
    }
}
