//! The cut of the sheet that is shown, recorded part by part: what became of each, what stays and what
//! is scrap, before anything is written.

use std::collections::HashMap;
use std::sync::Arc;

use eframe::egui::{
    Align2, Context, Pos2, Rect, RichText, ScrollArea, Sense, Shape, Stroke, Ui, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::rack::{CutSaid, RackAct, Tried};
use oddment_app::session::Session;
use oddment_core::plan::Placement;
use oddment_core::shape::{Bounds, Point, Region, SheetSpace};
use oddment_rack::crop::{ForBin, Line};
use oddment_rack::record::{Outcome, Preview};

use crate::recording;
use crate::sheet::pictures::{Picture, hatch};
use crate::theme::{self, Colours};
use crate::told::Pending;

/// How far (mm) polygons may leave curves that are drawn so small.
const BOUND: f64 = 1.0;

/// The size of the picture.
const PICTURE: eframe::egui::Vec2 = vec2(400.0, 210.0);

/// A cut being recorded, as typed.
pub(crate) struct RecordCard {
    /// The sheet's label.
    label: String,
    parts: Vec<Laid>,
    /// Which of them the pointer is at, by its place in the list.
    pointed: Option<usize>,
    said: CutSaid,
    minutes: String,
    heat_mark: String,
    /// What was asked to be worked out last.
    asked: Option<CutSaid>,
    drawn: Option<Drawn>,
    fault: Option<String>,
    pending: Pending,
}

/// A part of the plan, by name and copy, and where it lies. In the list and in the picture it has its place
/// in the list as its number.
struct Laid {
    key: (String, usize),
    outline: Picture<SheetSpace>,
    middle: Point<SheetSpace>,
}

/// The answer to `asked`, made ready to be drawn.
struct Drawn {
    of: Arc<Tried>,
    stays: Vec<Picture<SheetSpace>>,
    goes: Vec<Picture<SheetSpace>>,
    bounds: Bounds<SheetSpace>,
}

impl RecordCard {
    /// The card of what lies on the sheet that is shown; `None` where nothing does.
    pub(crate) fn new(session: &Session) -> Option<Self> {
        let slot = session.slot()?;
        let open = session.view();
        let job = open.job();
        let layout = open.layout(slot)?;
        let laid = |p: &Placement| {
            let part = &job.wanted[p.part].part;
            let region: Region<SheetSpace> = part.region.placed(&p.pose);
            let (outline, middle) = (Picture::of(&region, BOUND), region.centroid());
            Laid { key: (part.name.clone(), p.copy), outline, middle }
        };
        let mut parts: Vec<Laid> = layout.placements.iter().map(laid).collect();
        parts.sort_by(|a, b| a.key.cmp(&b.key));
        Some(Self {
            label: job.stock[slot.stock].sheet.name.clone(),
            parts,
            pointed: None,
            said: CutSaid {
                certificate: session.asks_certificate(&open.title),
                ..CutSaid::default()
            },
            minutes: String::new(),
            heat_mark: String::new(),
            asked: None,
            drawn: None,
            fault: None,
            pending: Pending::default(),
        })
    }

    /// Draws the card; whether it is done with.
    pub(crate) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        acts: &mut Vec<Act>,
    ) -> bool {
        let mut closed = self.pending.is_done(session, &mut self.fault);
        self.renew(session);
        let title = format!("What was cut from {}?", self.label);
        let given_up = theme::modal(ctx, c, &title, 960.0, |ui| {
            let room = ctx.content_rect();
            let high = (room.height() - 260.0).clamp(200.0, 460.0);
            ui.horizontal_top(|ui| {
                ui.vertical(|ui| {
                    ui.set_width(ui.available_width() - PICTURE.x - 24.0);
                    ScrollArea::vertical().max_height(high).auto_shrink([false, true]).show(
                        ui,
                        |ui| {
                            self.all(ui, c);
                            self.pointed = None;
                            for n in 0..self.parts.len() {
                                self.part(ui, c, n);
                            }
                        },
                    );
                });
                ui.add_space(12.0);
                ui.vertical(|ui| {
                    ui.set_width(PICTURE.x);
                    self.outcome(ui, c, session);
                });
            });
            self.besides(ui, c, session);
            let ending = recording::ending(ui, c, self.fault.as_deref(), |_| ());
            closed |= ending.cancel;
            if ending.record {
                match self.read() {
                    Ok(()) => {
                        let record = RackAct::Record(Box::new(self.said.clone()));
                        self.pending.ask(Act::Rack(record), acts);
                    }
                    Err(fault) => self.fault = Some(fault),
                }
            }
        });
        // What is typed wrongly is told when it is to be recorded. While one answer is awaited the next
        // is not asked for, so that typing never runs ahead of it.
        let answered = session.rack().is_some_and(|desk| desk.tried().is_some());
        if !closed
            && (answered || self.asked.is_none())
            && self.read().is_ok()
            && self.asked.as_ref() != Some(&self.said)
        {
            self.asked = Some(self.said.clone());
            acts.push(Act::Rack(RackAct::TryCut(Box::new(self.said.clone()))));
        }
        closed || given_up
    }

    /// Takes in what was worked out.
    fn renew(&mut self, session: &Session) {
        let tried = session.rack().and_then(|desk| desk.tried());
        let Some(tried) = tried.filter(|_| self.asked.is_some()) else { return };
        if self.drawn.as_ref().is_some_and(|d| Arc::ptr_eq(&d.of, tried)) {
            return;
        }
        let pictures = |regions: &[Region<SheetSpace>]| -> Vec<Picture<SheetSpace>> {
            regions.iter().map(|r| Picture::of(r, BOUND)).collect()
        };
        let (stays, goes, bounds) = match &tried.outcome {
            Ok(p) => {
                let all = p.stays.iter().chain(&p.goes).map(Region::bounds);
                (pictures(&p.stays), pictures(&p.goes), all.fold(Bounds::EMPTY, Bounds::union))
            }
            Err(_) => (Vec::new(), Vec::new(), Bounds::EMPTY),
        };
        self.drawn = Some(Drawn { of: tried.clone(), stays, goes, bounds });
    }

    /// All parts at once.
    fn all(&mut self, ui: &mut Ui, c: &Colours) {
        if self.parts.len() < 3 {
            return;
        }
        let none_begun: HashMap<_, _> =
            self.parts.iter().map(|part| (part.key.clone(), Outcome::NeverStarted)).collect();
        ui.horizontal(|ui| {
            ui.label(RichText::new(format!("all {}", self.parts.len())).color(c.quiet));
            if theme::spoken_choice(ui, c, "good", self.said.outcomes.is_empty(), "all good")
                .clicked()
            {
                self.said.outcomes.clear();
            }
            let on = self.said.outcomes == none_begun;
            if theme::spoken_choice(ui, c, "not begun", on, "none begun").clicked() {
                self.said.outcomes = none_begun;
            }
        });
    }

    /// A part, and what became of it.
    fn part(&mut self, ui: &mut Ui, c: &Colours, n: usize) {
        let key = self.parts[n].key.clone();
        let now = self.said.outcomes.get(&key).cloned().unwrap_or_default();
        let called = format!("{} #{}", key.0, key.1);
        let row = ui.scope(|ui| recording::outcome(ui, c, &called, Some(n + 1), &now));
        if row.response.contains_pointer() {
            self.pointed = Some(n);
        }
        let then = row.inner;
        match then {
            Some(Outcome::Good) => {
                self.said.outcomes.remove(&key);
            }
            Some(outcome) => {
                self.said.outcomes.insert(key, outcome);
            }
            None => {}
        }
    }

    /// What stays and what goes, and the straight cut that is proposed.
    fn outcome(&mut self, ui: &mut Ui, c: &Colours, session: &Session) {
        let (room, _) = ui.allocate_exact_size(PICTURE, Sense::hover());
        ui.painter().rect_filled(room, 6, c.bed);
        let currency = session.rack().map_or("", |desk| desk.currency());
        let Some(drawn) = &self.drawn else {
            ui.label(RichText::new("Working out what is left…").color(c.quiet));
            return;
        };
        let preview = match &drawn.of.outcome {
            Ok(preview) => preview,
            Err(why) => {
                ui.label(RichText::new(why).color(c.short));
                let name = "it was cut all the same";
                if theme::choice(ui, c, name, self.said.anyway).clicked() {
                    self.said.anyway = !self.said.anyway;
                }
                return;
            }
        };
        paint(ui, c, drawn, preview, (&self.parts, self.pointed), room);
        let recorded = &preview.recorded;
        let (kg, value) =
            recorded.kept.iter().fold((0.0, 0.0), |(kg, v), k| (kg + k.kg, v + k.value));
        let kept = match recorded.kept.len() {
            0 => "nothing is kept".to_owned(),
            1 => format!("{kg:.1} kg worth {value:.2} {currency} stay"),
            n => format!("{kg:.1} kg worth {value:.2} {currency} stay, as {n} sheets"),
        };
        ui.label(RichText::new(kept).font(theme::strong()));
        let (kg, value) = recorded.scrap;
        ui.label(format!("{kg:.1} kg to scrap, {value:.2} {currency} (hatched)"));
        if let Some(cut_up) = preview.for_bin.as_ref().and_then(ForBin::cut_up_words) {
            let text = format!("For the bin {cut_up}.");
            ui.label(RichText::new(text).font(theme::small()));
        }
        for warning in &recorded.warnings {
            ui.label(RichText::new(warning).color(c.short));
        }
        let crop = preview.crop.as_ref().map(|crop| (crop.line, crop.words()));
        if let Some((line, words)) = crop {
            ui.label(RichText::new(format!("Proposed: {words}.")).font(theme::small()));
            if theme::choice(ui, c, &format!("cut at {line} too"), false).clicked() {
                self.said.crops.push(line);
            }
        }
        for line in self.said.crops.clone() {
            if theme::choice(ui, c, &format!("cut at {line}"), true).clicked() {
                self.said.crops.retain(|l| *l != line);
            }
        }
    }

    /// What there is to say besides.
    fn besides(&mut self, ui: &mut Ui, c: &Colours, session: &Session) {
        let likely = session.rack().and_then(|desk| desk.tried()?.likely_minutes);
        ui.horizontal_wrapped(|ui| {
            recording::field(ui, "minutes it took", &mut self.minutes, "", 80.0);
            if let Some(likely) = likely {
                let text = format!("{likely:.1}");
                let name = format!("{text} as reckoned");
                if theme::choice(ui, c, &name, self.minutes == text).clicked() {
                    self.minutes = text;
                }
            }
            let mark = &mut self.heat_mark;
            recording::field(ui, "heat number marked anew at", mark, "X,Y mm", 80.0);
            let said = &mut self.said;
            for (name, on) in [
                ("still on the bed", &mut said.on_bed),
                ("begun elsewhere than planned", &mut said.other_starts),
                ("for a certificate", &mut said.certificate),
            ] {
                if theme::choice(ui, c, name, *on).clicked() {
                    *on = !*on;
                }
            }
            recording::keeps(ui, c, &mut said.keep);
        });
    }

    /// Takes in what was typed.
    fn read(&mut self) -> Result<(), String> {
        self.said.minutes = recording::minutes(&self.minutes)?;
        self.said.heat_marked_at = match self.heat_mark.trim() {
            "" => None,
            typed => {
                let read = typed.split_once([',', ' ', ';']);
                let at =
                    read.and_then(|(x, y)| Some([recording::number(x)?, recording::number(y)?]));
                Some(at.ok_or(format!("“{typed}” is no place; write for example 120,80"))?)
            }
        };
        Ok(())
    }
}

/// What stays as metal, what goes hatched, parts by their numbers and the one that is pointed at filled, the proposed cut as a line and how to cut up the rest dashed.
fn paint(
    ui: &Ui,
    c: &Colours,
    drawn: &Drawn,
    preview: &Preview,
    (parts, pointed): (&[Laid], Option<usize>),
    room: Rect,
) {
    let bounds = &drawn.bounds;
    if bounds.is_empty() {
        return;
    }
    let (inside, painter) = (room.shrink(12.0), ui.painter_at(room));
    let scale =
        (inside.width() / bounds.width() as f32).min(inside.height() / bounds.height() as f32);
    let size = vec2(bounds.width() as f32, bounds.height() as f32) * scale;
    let corner = inside.center() + vec2(-size.x, size.y) / 2.0;
    let to_screen = |p: Point<SheetSpace>| -> Pos2 {
        let (x, y) = ((p.x - bounds.min.x) as f32, (p.y - bounds.min.y) as f32);
        pos2(corner.x + x * scale, corner.y - y * scale)
    };
    let edge = Stroke::new(1.2, c.metal_edge);
    for piece in &drawn.stays {
        painter.add(piece.fill(to_screen, c.metal));
        painter.extend(piece.lines(to_screen, edge, edge));
    }
    for piece in &drawn.goes {
        let loops: Vec<Vec<Pos2>> =
            piece.loops.iter().map(|l| l.iter().map(|p| to_screen(*p)).collect()).collect();
        for line in hatch(&loops, 5.0, false) {
            painter.line_segment(line, Stroke::new(0.8, c.metal_edge));
        }
        painter.extend(piece.lines(to_screen, edge, edge));
    }
    for (n, part) in parts.iter().enumerate() {
        if pointed == Some(n) {
            painter.add(part.outline.fill(to_screen, c.selected));
            painter.extend(part.outline.lines(to_screen, edge, edge));
        }
        let (at, number) = (to_screen(part.middle), (n + 1).to_string());
        let ink = if pointed == Some(n) { c.ink } else { c.text };
        painter.text(at, Align2::CENTER_CENTER, number, theme::small_strong(), ink);
    }
    let across = |line: Line| match line {
        Line::X(x) => [Point::new(x, bounds.min.y), Point::new(x, bounds.max.y)],
        Line::Y(y) => [Point::new(bounds.min.x, y), Point::new(bounds.max.x, y)],
    };
    if let Some(crop) = &preview.crop {
        painter.line_segment(across(crop.line).map(to_screen), Stroke::new(2.0, c.strong));
    }
    let rests = preview.crop.as_ref().map(|crop| &crop.rest).into_iter().chain(&preview.for_bin);
    for line in rests.flat_map(|rest| &rest.cut_up) {
        let ends = across(*line).map(to_screen);
        painter.extend(Shape::dashed_line(&ends, Stroke::new(1.2, c.strong), 6.0, 4.0));
    }
}
