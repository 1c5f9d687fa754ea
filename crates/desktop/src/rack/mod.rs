//! The place *Rack*: what have we got?

mod add;
mod add_bars;
mod bar;
mod card;
mod chosen;
mod cut_out_fields;
mod exchange;
mod facts;
mod fillers;
mod labels;
#[cfg(test)]
mod meanwhile;
mod new_facts;
mod photo;
pub(crate) mod silhouette;
#[cfg(test)]
pub(crate) mod tests;
mod trouble;
mod walk;

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use eframe::egui::{
    Context, Label, Pos2, Rect, RichText, ScrollArea, Stroke, StrokeKind, Ui, UiBuilder, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::capture::CaptureAct;
use oddment_app::rack::{Desk, RackAct, RackCard};
use oddment_app::session::{Ask, Session};
use oddment_core::units::LengthUnit;
use oddment_files::labels::Stickers;
use oddment_rack::find::Room;
use oddment_rack::history::Event;
use oddment_rack::sheets::{Entry, counted};

use crate::place::PlaceView;
use crate::sheet::{card as paper, child};
use crate::theme::{self, Colours, Weight};
use crate::told::{TALLEST, Told};
use crate::top_line::Word;
use add::AddCard;
use add_bars::AddBarsCard;
use bar::Bar;
use chosen::Chosen;
use exchange::{Answer, ExchangeCard, Offered};
use facts::FactsCard;
use fillers::FillersCard;
use labels::LabelsCard;
use new_facts::NewFacts;
use photo::{Here, PhotoPage};
use silhouette::Silhouettes;

/// What lies over the rack: one card at a time.
enum Card {
    Add(Box<AddCard>),
    AddBars(AddBarsCard),
    Facts(Box<FactsCard>),
    Fillers(FillersCard),
    Exchange(ExchangeCard),
    Labels(LabelsCard),
    /// Whether a stock-take is to be ended.
    EndWalk,
}

/// What is asked to be opened over the rack.
enum Opens {
    /// The label of this sheet.
    Label(String),
    /// What is known of the chosen sheet.
    Facts,
}

/// What the place remembers from frame to frame.
#[derive(Default)]
pub(crate) struct RackPlace {
    bar: Bar,
    chosen: Chosen,
    card: Option<Card>,
    /// The card that is asked for.
    opens: Option<RackCard>,
    /// What was typed of the sheet before.
    added: NewFacts,
    /// The sheet that was added last, once it has been shown.
    shown_added: Option<String>,
    /// The photograph that a sheet is captured from.
    photo: PhotoPage,
    silhouettes: Silhouettes,
    shown: Shown,
    /// What labels were printed on last.
    printed_on: Option<Stickers>,
    /// Of which file opened all this is.
    file: u64,
}

/// The sheets to be seen: worked out anew when the list, the filter or what was found changes.
#[derive(Default)]
struct Shown {
    of: Option<(u64, String)>,
    sheets: Vec<(Entry, Option<Room>)>,
}

const EDGE: f32 = 20.0;

impl Shown {
    fn renew(&mut self, desk: &Desk, typed: &str) {
        let found = desk.finding().and_then(|f| f.found());
        let of = (desk.revision(), typed.to_owned());
        if self.of.as_ref() == Some(&of) {
            return;
        }
        let listing = desk.listing();
        self.sheets = match found {
            Some(found) => {
                // A sheet may have changed since it was looked at: it is shown as it is now.
                let now: HashMap<&str, &Entry> =
                    listing.sheets.iter().map(|e| (e.label.as_str(), e)).collect();
                found
                    .iter()
                    .filter_map(|f| Some((*now.get(f.entry.label.as_str())?, f)))
                    .filter(|(now, _)| now.matches(typed))
                    .map(|(now, f)| {
                        let metal = |e: &Entry| e.facts.metal();
                        let same = now.shape == f.entry.shape && metal(now) == metal(&f.entry);
                        (now.clone(), same.then(|| f.room.clone()))
                    })
                    .collect()
            }
            None => listing
                .sheets
                .iter()
                .filter(|e| e.matches(typed))
                .map(|e| (e.clone(), None))
                .collect(),
        };
        // On a walk what is to be looked at stands first, in the order of the places.
        if let Some(walk) = &listing.walk {
            let order: HashMap<&str, usize> =
                walk.left.iter().enumerate().map(|(i, e)| (e.label.as_str(), i)).collect();
            let at = |e: &Entry| order.get(e.label.as_str()).copied().unwrap_or(usize::MAX);
            self.sheets.sort_by_key(|(e, _)| at(e));
        }
        self.of = Some(of);
    }
}

impl PlaceView for RackPlace {
    fn heading(&mut self, ui: &mut Ui, c: &Colours, session: &Session, _acts: &mut Vec<Act>) {
        let Some(desk) = session.rack() else { return };
        if let Some(capture) = session.capture() {
            let name = capture.file().file_name().unwrap_or_default().to_string_lossy();
            let text = RichText::new(format!("a sheet from {name}")).color(c.quiet);
            ui.add(Label::new(text).truncate());
            return;
        }
        let sheets = &desk.listing().sheets;
        // An empty sum is −0.
        let weight = sheets.iter().map(Entry::weight).sum::<f64>() + 0.0;
        let year_ago = oddment_rack::when::now() - 365 * 86_400;
        let unseen = sheets.iter().filter(|e| e.facts.seen < year_ago).count();
        let mut text = format!("{} · {weight:.0} kg", counted(sheets));
        let shown = self.shown.sheets.len();
        if shown < sheets.len() && desk.is_listed() {
            text = format!("{shown} of {text}");
        }
        if unseen > 0 {
            text += &format!(" · {unseen} not seen for a year");
        }
        let (name, _) = desk.shop();
        if !name.is_empty() {
            text += &format!(" · {name}");
        }
        ui.add(Label::new(RichText::new(text).color(c.quiet)).truncate());
    }

    fn strong(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        if let Some(capture) = session.capture() {
            if let Some(desk) = session.rack() {
                self.photo.strong(ui, Here { c, session, desk, capture }, acts);
            }
            return;
        }
        if theme::button(ui, c, "Add a sheet", "N", Weight::Strong).clicked() {
            acts.push(Act::Rack(RackAct::Ask(RackCard::Sheet)));
        }
    }

    fn words(&self, session: &Session) -> Vec<Word> {
        let (Some(desk), None) = (session.rack(), session.capture()) else { return Vec::new() };
        let listing = desk.listing();
        let ask = |card| Act::Rack(RackAct::Ask(card));
        // A stock-take is of what the filter shows, if there is one.
        let of = |words: &str| match words.trim() {
            "" => String::new(),
            words => format!(" of “{words}”"),
        };
        let walk = match &listing.walk {
            Some(walk) => {
                let name =
                    format!("End the stock-take{} ({} left)", of(&walk.words), walk.left.len());
                Word::new(name, "What differs is said first", ask(RackCard::EndWalk))
            }
            None => {
                let typed = self.bar.typed();
                let begin = Act::Rack(RackAct::BeginWalk(typed.to_owned()));
                let name = format!("Stock-take{}", of(typed));
                Word::new(name, "From sheet to sheet along the rack", begin)
            }
        };
        let short = listing.fillers.iter().filter(|s| s.is_short()).count();
        let fillers =
            if short > 0 { format!("Fillers ({short} short)") } else { "Fillers".to_owned() };
        let laid = "Small parts that are laid where a plan leaves metal";
        let files = "Labels; the rack as a list, whole, or drawn; another shop file";
        let mut words = vec![
            Word::new("Add bars", "Tube, bar and profile", ask(RackCard::Bars)).plain(),
            walk,
            Word::new("In and out", files, ask(RackCard::Exchange)),
        ];
        let undoes = listing.undoable.as_ref().map(|event: &Event| event.said.as_str());
        words.push(Word::step("Undo", undoes, Act::Rack(RackAct::Undo(None))));
        words.push(Word::new(fillers, laid, ask(RackCard::Fillers)));
        words
    }

    fn answer(&mut self, ask: Ask) {
        self.opens = match ask {
            Ask::OfRack(card) => Some(card),
            _ => None,
        };
    }

    /// Pictures are kept with the sheet that is chosen.
    fn dropped(&self, files: &[PathBuf]) -> Option<Vec<Act>> {
        if !files.iter().all(|file| is_picture(file)) {
            return None;
        }
        // With no sheet chosen a photograph is of one that is to be captured.
        let Some(entry) = self.chosen.entry() else {
            let open = |file: &PathBuf| Act::Capture(CaptureAct::Open(file.clone()));
            return Some(files.iter().take(1).map(open).collect());
        };
        let add =
            |file: &PathBuf| Act::Rack(RackAct::AddPicture(entry.label.clone(), file.clone()));
        Some(files.iter().map(add).collect())
    }

    fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    ) {
        let Some(desk) = session.rack() else {
            ui.painter().text(
                area.center(),
                eframe::egui::Align2::CENTER_CENTER,
                "There is no rack here.",
                theme::body(),
                c.text,
            );
            return;
        };
        if let Some(capture) = session.capture() {
            self.photo.show(ui, Here { c, session, desk, capture }, area, acts);
            return;
        }
        self.photo = PhotoPage::default();
        if self.file != desk.files_opened() {
            *self = Self { file: desk.files_opened(), ..Self::default() };
        }
        let (left, right) = (area.left() + EDGE, area.right() - EDGE);
        let bar_bottom = area.top() + 4.0 + self.bar.height(c);
        let line_top = area.bottom() - EDGE - (c.touch + 16.0);
        let bar = Rect::from_min_max(pos2(left, area.top() + 4.0), pos2(right, bar_bottom));
        let mut top = bar_bottom + 10.0;
        if let Some(problem) = desk.problem() {
            top = trouble::show(ui, c, desk, problem, pos2(left, top), right, acts) + 10.0;
        }
        let bottom = told_above(ui, c, session, desk, left, pos2(right, line_top - 10.0));
        let grid = Rect::from_min_max(pos2(left, top), pos2(right, bottom));
        let line = Rect::from_min_max(pos2(left, line_top), pos2(right, area.bottom() - EDGE));
        let mut bar_ui = child(ui, bar, "bar");
        self.bar.show(&mut bar_ui, c, session, desk, bar, acts);
        self.shown.renew(desk, self.bar.typed());
        self.chosen.keep_to(&self.shown.sheets, desk.listing().walk.as_ref());
        let mut grid_ui = ui.new_child(UiBuilder::new().max_rect(grid).id_salt("grid"));
        self.grid(&mut grid_ui, c, session.settings().unit(), desk, acts);
        let mut line_ui = child(ui, line, "line");
        match self.chosen.show(&mut line_ui, c, session, desk, line, acts) {
            Some(Opens::Label(label)) => {
                self.card = Some(Card::Labels(LabelsCard::new(vec![label])));
            }
            Some(Opens::Facts) => {
                let (order, unit) = (&session.view().title, session.settings().unit());
                let card = |entry| Card::Facts(Box::new(FactsCard::new(entry, order, unit, desk)));
                self.card = self.chosen.entry().map(card);
            }
            None => {}
        }
        if let Some(asked) = self.opens.take() {
            self.open(asked, desk);
        }
        self.show_card(ui.ctx(), c, session, desk, acts);
    }
}

/// Tells what came of what was done last, from `left` to its lower right corner `end`; returns where what
/// lies above it ends.
fn told_above(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    desk: &Desk,
    left: f32,
    end: Pos2,
) -> f32 {
    let ended = desk.told().map(walk::ended);
    let told = Told::of_rack(session).or(ended.as_deref().map(Told::News));
    let Some(told) = told.or_else(|| Told::of_job(session)) else {
        return end.y;
    };
    let words = told.words();
    let wide = end.x - left - 32.0;
    let text = ui.painter().layout(words, theme::body(), c.text, wide);
    let top = end.y - text.size().y.min(TALLEST) - 22.0;
    let rect = Rect::from_min_max(pos2(left, top), end);
    paper(&mut child(ui, rect, "told"), c, rect, |ui| {
        told.show(ui, c);
    });
    if matches!(told, Told::Refusal(_)) {
        let edge = Stroke::new(2.0, c.short);
        ui.painter().rect_stroke(rect, 10, edge, StrokeKind::Inside);
    }
    top - 10.0
}

/// Whether it is a picture, by its name.
fn is_picture(file: &Path) -> bool {
    let kind = file.extension().unwrap_or_default();
    ["png", "jpg", "jpeg"].iter().any(|known| kind.eq_ignore_ascii_case(known))
}

impl RackPlace {
    /// Opens the card that is asked for, unless one lies there.
    fn open(&mut self, asked: RackCard, desk: &Desk) {
        if self.card.is_some() {
            return;
        }
        self.card = Some(match asked {
            RackCard::Sheet => Card::Add(Box::new(AddCard::like(&self.added))),
            RackCard::Bars => Card::AddBars(AddBarsCard::default()),
            RackCard::Fillers => Card::Fillers(FillersCard::new(desk)),
            RackCard::Exchange => Card::Exchange(ExchangeCard::default()),
            RackCard::EndWalk => Card::EndWalk,
        });
    }

    fn show_card(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        acts: &mut Vec<Act>,
    ) {
        let Some(card) = &mut self.card else { return };
        let done = match card {
            Card::Labels(labels) => labels.show(ctx, c, &mut self.printed_on, acts),
            Card::EndWalk => walk::ask_end(ctx, c, desk, acts),
            Card::Facts(facts) => facts.show(ctx, c, session, desk, acts),
            Card::Fillers(fillers) => fillers.show(ctx, c, session, acts),
            Card::Exchange(exchange) => {
                let what = Offered { chosen: self.chosen.entry(), shown: self.shown.sheets.len() };
                match exchange.show(ctx, c, session, desk, what, acts) {
                    Answer::Open => false,
                    Answer::Done => true,
                    Answer::Labels => {
                        let shown = self.shown.sheets.iter();
                        let labels = shown.map(|(entry, _)| entry.label.clone());
                        *card = Card::Labels(LabelsCard::new(labels.collect()));
                        false
                    }
                }
            }
            Card::Add(adding) => {
                let done = adding.show(ctx, c, session, desk, acts);
                if done {
                    self.added = adding.facts().clone();
                }
                done
            }
            Card::AddBars(adding) => adding.show(ctx, c, session, desk, acts),
        };
        if done {
            self.card = None;
        }
    }

    /// Chooses the sheet that has just been added; where it is among the sheets shown.
    fn newly_added(&mut self, desk: &Desk) -> Option<usize> {
        let added = desk.added().filter(|added| self.shown_added.as_deref() != Some(added))?;
        let at = self.shown.sheets.iter().position(|(e, _)| e.label == added)?;
        self.shown_added = Some(added.to_owned());
        self.chosen.choose(added);
        Some(at)
    }

    /// The sheets as cards, as many beside each other as go in.
    fn grid(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        unit: LengthUnit,
        desk: &Desk,
        acts: &mut Vec<Act>,
    ) {
        if self.shown.sheets.is_empty() {
            if desk.problem().is_some() {
                return;
            }
            let text = match desk.is_listed() {
                false => "The rack is being read.",
                true if desk.listing().sheets.is_empty() => "The rack is empty. Add a sheet.",
                true => "No sheet matches. Type less.",
            };
            ui.label(RichText::new(text).color(c.text));
            return;
        }
        let wide = ui.available_width() - 14.0;
        let columns = ((wide + card::GAP) / (card::LEAST + card::GAP)).floor().max(1.0);
        let width = (wide + card::GAP) / columns - card::GAP;
        let columns = columns as usize;
        let scale = silhouette::Scale::of(self.shown.sheets.iter().map(|s| &s.0), width);
        let rows = self.shown.sheets.len().div_ceil(columns);
        let height = card::height(&scale);
        let mut wanted = Vec::new();
        ui.spacing_mut().item_spacing = vec2(card::GAP, card::GAP);
        let mut area = ScrollArea::vertical().auto_shrink(false);
        if let Some(at) = self.newly_added(desk) {
            area = area.vertical_scroll_offset((at / columns) as f32 * (height + card::GAP));
        }
        area.show_rows(ui, height, rows, |ui, range| {
            for row in range {
                let from = row * columns;
                let to = (from + columns).min(self.shown.sheets.len());
                ui.horizontal(|ui| {
                    for (entry, room) in &self.shown.sheets[from..to] {
                        wanted.push(entry.shape);
                        let picture = desk
                            .shape(entry.shape)
                            .map(|outline| self.silhouettes.of(entry.shape, outline));
                        let chosen = self.chosen.is(&entry.label);
                        let facts = card::Facts {
                            entry,
                            room: room.as_ref(),
                            lacks_bow: desk
                                .finding()
                                .is_some_and(|f| f.sought().loadable.lacks_bow(entry)),
                            walk: desk.listing().walk.as_ref(),
                            unit,
                        };
                        let size = vec2(width, height);
                        let response =
                            card::show(ui, c, &facts, picture.as_deref(), &scale, size, chosen);
                        if response.double_clicked() {
                            acts.push(Act::Rack(RackAct::Take(entry.label.clone())));
                        } else if response.clicked() {
                            self.chosen.choose(&entry.label);
                        }
                    }
                });
            }
        });
        let unasked = desk.unasked(wanted.into_iter());
        if !unasked.is_empty() {
            acts.push(Act::Rack(RackAct::Shapes(unasked)));
        }
    }
}
