//! The card beside the picture: what is asked of the person at each step, in large fields.

use eframe::egui::{Align2, Grid, Label, Rect, RichText, ScrollArea, Sense, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::capture::{CORNERS, Capture, CaptureAct, Contour, EdgeSaid, Known, Tracing};
use oddment_core::capture::trace::Form;
use oddment_core::shape::Edge;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_photo::{Paper, Target};

use super::super::new_facts::{EDGE_KINDS, lines};
use super::{Drawn, Here, PhotoPage, STEPS, Step, Tool};
use crate::loads::size;
use crate::theme::{self, Colours, Weight};
use crate::told::Told;

/// A share of the give or take below this (mm) is not worth a word.
const TELLS: f64 = 0.2;

/// What is being typed, each in its field until it is left.
#[derive(Default)]
pub(super) struct Typed {
    sheet: Option<String>,
    printed: Option<String>,
    bow: Option<String>,
    give: Option<String>,
    smaller: String,
    points: Option<String>,
    pub(super) fault: Option<String>,
}

/// Most height of the list of contours: what can be said of one stands below and does not move it.
const LIST: f32 = 260.0;

const TOOLS: [(Tool, &str, &str); 4] = [
    (
        Tool::Choose,
        "choose and drag",
        "Press an edge or a cut-out. Drag its corners, a circle’s rim, or its middle; corners are drawn to \
         the metal’s edge, with Alt they go where you put them. Space or Delete keeps it or leaves it out.",
    ),
    (
        Tool::Trace(Tracing::CutOut),
        "trace a cut-out",
        "Press round it, corner by corner or at three places of a circle; Enter or the first place closes \
         it. Its sides are drawn to the metal’s edge; with Alt they are as you press.",
    ),
    (
        Tool::Trace(Tracing::Outer),
        "trace the outer edge",
        "Press once round the sheet, corner by corner; Enter or the first corner closes it.",
    ),
    (
        Tool::Trace(Tracing::Unseen),
        "mark what can’t be seen",
        "Press round metal that something hides, as the page does: nothing is laid there.",
    ),
];

impl PhotoPage {
    pub(super) fn card(&mut self, ui: &mut Ui, here: Here<'_>, rect: Rect, acts: &mut Vec<Act>) {
        let Here { c, session, capture, .. } = here;
        crate::sheet::card(ui, c, rect, |ui| {
            ui.set_min_size(rect.size() - vec2(34.0, 22.0));
            ui.horizontal(|ui| {
                for (step, name) in STEPS {
                    if theme::choice(ui, c, name, self.step == step).clicked() {
                        self.step = step;
                    }
                }
            });
            ui.add_space(4.0);
            if let Some(share) = capture.at_work() {
                progress(ui, c, share, capture, acts);
            }
            if let Some(told) = Told::of_job(session) {
                told.show(ui, c);
            }
            for fault in [capture.problem(), self.typed.fault.as_deref()].into_iter().flatten() {
                ui.add(Label::new(RichText::new(fault).color(c.short)).wrap());
            }
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| match self.step {
                Step::Corners => self.known(ui, here, acts),
                Step::Edges => self.edges(ui, here, acts),
                Step::Sheet => self.facts(ui, here, acts),
            });
        });
    }

    /// What is known in the picture, and where.
    fn known(&mut self, ui: &mut Ui, here: Here<'_>, acts: &mut Vec<Act>) {
        let (c, capture, unit) = (here.c, here.capture, here.unit());
        let mut say = |act| acts.push(Act::Capture(act));
        let said = capture.said();
        title(ui, "What is known in the picture?");
        let is_page = matches!(said.known, Known::Page(_));
        ui.horizontal_wrapped(|ui| {
            if theme::choice(ui, c, "a printed page on the sheet", is_page).clicked() && !is_page {
                say(CaptureAct::Know(Known::Page(Target { paper: Paper::A4, printed: None })));
            }
            if theme::choice(ui, c, "the sheet’s own corners", !is_page).clicked() && is_page {
                say(CaptureAct::Know(Known::Sheet([0.0; 2])));
            }
        });
        match said.known {
            Known::Page(target) => {
                ui.horizontal_wrapped(|ui| {
                    for paper in Paper::ALL {
                        let on = target.paper == paper;
                        if theme::choice(ui, c, paper.name(), on).clicked() {
                            say(CaptureAct::Know(Known::Page(Target { paper, printed: None })));
                        }
                    }
                    if theme::button(ui, c, "Print the page", "", Weight::Plain).clicked() {
                        say(CaptureAct::PickPage);
                    }
                });
                let [w, h] = target.size();
                let now = format!("{}x{}", unit.show(w), unit.show(h));
                ui.horizontal(|ui| {
                    ui.label("its squares measure");
                    let slot = &mut self.typed.printed;
                    if let Some(text) = number(ui, "its squares measure", now, slot, 130.0)
                        && let Some(size) = size(&text, unit)
                    {
                        let target = Target { printed: Some(size), ..target };
                        say(CaptureAct::Know(Known::Page(target)));
                    }
                });
                quiet(
                    ui,
                    c,
                    match target.printed {
                        None => {
                            "over all, if the printer kept its size: to 0.3 %. Measure them with a \
                                 steel rule and type it, and lengths are ten times surer."
                        }
                        Some(_) => "over all, as measured on the print.",
                    },
                );
            }
            Known::Sheet([w, h]) => {
                let none = w * h == 0.0;
                let now = format!("{}x{}", unit.show(w), unit.show(h));
                ui.horizontal(|ui| {
                    ui.label("width x height");
                    let now = if none { String::new() } else { now };
                    let slot = &mut self.typed.sheet;
                    if let Some(text) = number(ui, "width x height", now, slot, 150.0)
                        && let Some(size) = size(&text, unit)
                    {
                        say(CaptureAct::Know(Known::Sheet(size)));
                    }
                });
                quiet(ui, c, "by tape, such as 1000x700; its corners may be rounded or missing.");
            }
        }
        ui.add_space(10.0);
        title(ui, "Where are its corners?");
        let says = if is_page {
            "Press the outer corners of the dark corner squares. The arrow on the page points to the first; \
             then go round counter-clockwise. Drag them to correct, with Shift slowly."
        } else {
            "Press the sheet’s lower left corner, the one that is to be the datum, then go round \
             counter-clockwise. Drag them to correct, with Shift slowly."
        };
        quiet(ui, c, says);
        for (n, name) in CORNERS.iter().enumerate() {
            let (sign, colour) = match n.cmp(&said.corners.len()) {
                std::cmp::Ordering::Less => ("placed", c.fits),
                std::cmp::Ordering::Equal => ("press it in the picture", c.text),
                std::cmp::Ordering::Greater => ("", c.quiet),
            };
            ui.label(RichText::new(format!("{}  {name}   {sign}", n + 1)).color(colour));
        }
        if !said.corners.is_empty()
            && theme::button(ui, c, "Place all anew", "", Weight::Words).clicked()
        {
            say(CaptureAct::PlaceAnew);
        }
        ui.add_space(10.0);
        title(ui, "Does it lie flat?");
        ui.horizontal(|ui| {
            ui.label("it bows up or down by");
            let now = unit.show(said.bow);
            let slot = &mut self.typed.bow;
            if let Some(text) = number(ui, "it bows up or down by", now, slot, 90.0)
                && let Ok(bow) = parse_length(&text, unit)
            {
                say(CaptureAct::Bow(bow));
            }
        });
        quiet(
            ui,
            c,
            "A bow of 10 mm seen at 45° is 10 mm of error: it goes into each edge’s give or take.",
        );
        ui.add_space(10.0);
        let (all, looked) = (said.corners.len() == 4, capture.is_looked_at());
        let says = match (all, looked) {
            (false, _) => "Place the corners, then find the edges.",
            (true, false) => "Press “Find the edges”.",
            (true, true) => "The edges are found: go on to 2, Edges.",
        };
        ui.add(Label::new(says).wrap());
    }

    /// The contours that were found.
    fn edges(&mut self, ui: &mut Ui, here: Here<'_>, acts: &mut Vec<Act>) {
        let (c, capture, unit) = (here.c, here.capture, here.unit());
        let said = capture.said();
        let Some(seen) = capture.seen() else {
            ui.label("Place the corners and find the edges first.");
            return;
        };
        if !capture.is_looked_at() {
            let says = "What is known has changed since: find the edges again at 1, Corners.";
            ui.add(Label::new(RichText::new(says).color(c.short)).wrap());
        }
        let cutouts = said.contours.iter().filter(|c| !c.outer).count();
        let kept = said.contours.iter().filter(|c| !c.outer && c.kept).count();
        let outer = said.contours.iter().any(|c| c.outer && c.kept);
        title(ui, if outer { "Is this the sheet?" } else { "No outer edge was found: trace it." });
        let off = seen.found.calibrated.camera.off();
        quiet(
            ui,
            c,
            &format!(
                "{cutouts} cut-outs, {kept} kept. What is known in the picture agrees to {off:.2} pixels."
            ),
        );
        ui.horizontal_wrapped(|ui| {
            for (tool, name, _) in TOOLS {
                if theme::choice(ui, c, name, self.tool == tool).clicked() {
                    self.tool = tool;
                    self.pressed.clear();
                }
            }
        });
        if let Some((_, _, help)) = TOOLS.iter().find(|t| t.0 == self.tool) {
            quiet(ui, c, help);
        }
        ui.add_space(6.0);
        let mut say = |act| acts.push(Act::Capture(act));
        for n in 0..said.unseen.len() {
            ui.horizontal(|ui| {
                ui.label(format!("Hidden metal {}: nothing is laid there", n + 1));
                let spoken = format!("hidden metal {} is sound", n + 1);
                let name = "It is sound";
                if theme::sign_button(ui, c, name, "", Weight::Words, &spoken).clicked() {
                    say(CaptureAct::Uncover(n));
                }
            });
        }
        ui.horizontal(|ui| {
            ui.label("cut-outs under");
            let field = TextEdit::singleline(&mut self.typed.smaller)
                .desired_width(60.0)
                .min_size(vec2(60.0, 36.0))
                .align(Align2::RIGHT_CENTER);
            ui.add(field).accessible_name("cut-outs under");
            let than = parse_length(&self.typed.smaller, unit).ok();
            if theme::button(ui, c, "Leave out", "", Weight::Plain).clicked()
                && let Some(than) = than
            {
                say(CaptureAct::KeepSmaller(than, false));
            }
            if theme::button(ui, c, "Keep all", "", Weight::Words).clicked() {
                say(CaptureAct::KeepSmaller(f64::INFINITY, true));
            }
        });
        ui.add_space(6.0);
        let list = ScrollArea::vertical().id_salt("contours").max_height(LIST);
        list.auto_shrink([false, true]).show(ui, |ui| {
            for (n, contour) in said.contours.iter().enumerate() {
                let left = if contour.kept { "" } else { ", left out" };
                let name = format!("{}{left}", named(n, contour, unit));
                let is_chosen = self.chosen.is_some_and(|ch| ch.0 == n);
                let row = theme::choice(ui, c, &name, is_chosen);
                if is_chosen && self.listed != Some(n) {
                    // It may have been chosen in the picture.
                    row.scroll_to_me(None);
                    self.listed = Some(n);
                }
                if row.clicked() {
                    self.chosen = Some((n, 0));
                    self.listed = Some(n);
                    self.tool = Tool::Choose;
                }
            }
        });
        ui.separator();
        if let Some((n, edge)) = self.chosen
            && let Some(contour) = said.contours.get(n)
        {
            self.chosen_contour(ui, here, (n, edge), contour, acts);
        }
    }

    /// The contour that is looked at, and one of its edges.
    fn chosen_contour(
        &mut self,
        ui: &mut Ui,
        here: Here<'_>,
        (n, edge): (usize, usize),
        contour: &Contour,
        acts: &mut Vec<Act>,
    ) {
        let (c, capture, unit) = (here.c, here.capture, here.unit());
        let mut say = |act| acts.push(Act::Capture(act));
        let thickness = self.thickness(unit);
        let Some(rim) = capture.seen().and_then(|s| capture.rim(s, contour, thickness).ok()) else {
            return;
        };
        ui.label(RichText::new(named(n, contour, unit)).font(theme::strong()));
        let off = unit.show(contour.offered.off);
        let how = match (contour.is_seen(), contour.by_hand) {
            (false, _) => format!("put there by hand, to {off} {unit}: no edge was seen there"),
            (true, true) => format!("traced; its edge is seen within {off} {unit} of it"),
            (true, false) => format!("as found; its edge is seen within {off} {unit} of it"),
        };
        quiet(ui, c, &how);
        ui.horizontal(|ui| {
            let name = if contour.kept { "Leave it out" } else { "Keep it" };
            if theme::button(ui, c, name, "Space", Weight::Plain).clicked() {
                say(CaptureAct::Keep(n, !contour.kept));
            }
        });
        let (Some(said), Some(known)) = (contour.edges.get(edge), rim.known().get(edge)) else {
            return;
        };
        let count = contour.edges.len();
        if contour.circle().is_none() {
            let length = contour.offered.shape.edges().nth(edge).map_or(0.0, |e| e.length());
            quiet(
                ui,
                c,
                &format!(
                    "Edge {} of {count}, {} {unit} long: press another in the picture.",
                    edge + 1,
                    unit.show(length)
                ),
            );
        }
        // A circle’s two halves are one edge to whoever looks at it.
        let edges = if contour.circle().is_some() { 0..count } else { edge..edge + 1 };
        ui.horizontal_wrapped(|ui| {
            for (kind, name) in EDGE_KINDS {
                if theme::choice(ui, c, name, said.kind == kind).clicked() {
                    for edge in edges.clone() {
                        say(CaptureAct::Edge(n, edge, EdgeSaid { kind, ..*said }));
                    }
                }
            }
        });
        ui.horizontal(|ui| {
            ui.label("give or take");
            let now = unit.show(known.facts.give_or_take);
            let slot = &mut self.typed.give;
            if let Some(text) = number(ui, "give or take", now, slot, 80.0) {
                let typed = parse_length(&text, unit).ok().filter(|mm| *mm > 0.0);
                for edge in edges {
                    let known = EdgeSaid { give_or_take: typed, ..*said };
                    say(CaptureAct::Edge(n, edge, known));
                }
            }
            let by = match (said.give_or_take, contour.is_seen()) {
                (Some(_), _) => "as you say",
                (None, true) => "as the picture tells",
                (None, false) => "as a hand may be off",
            };
            quiet(ui, c, &format!("{unit}, {by}"));
        });
        let seen = capture.seen().and_then(|s| capture.seen_rim(s, contour, thickness).ok());
        let seen = seen.and_then(|rim| rim.known().get(edge).map(|k| k.facts.give_or_take));
        if let (Some(typed), Some(seen)) = (said.give_or_take, seen)
            && typed < seen
        {
            let says = format!(
                "That is surer than the picture, which tells it to {} {unit}: only where it was measured.",
                unit.show(seen)
            );
            ui.add(Label::new(RichText::new(says).color(c.short)).wrap());
        }
    }

    /// What is known besides, and what it makes.
    fn facts(&mut self, ui: &mut Ui, here: Here<'_>, acts: &mut Vec<Act>) {
        let Here { c, desk, capture, .. } = here;
        let mut say = |act| acts.push(Act::Capture(act));
        let said = capture.said();
        title(ui, "What sheet is it?");
        self.facts.stacked(ui, c, desk);
        ui.add_space(8.0);
        title(ui, "Its outer edges");
        ui.horizontal_wrapped(|ui| {
            for (kind, name) in EDGE_KINDS {
                if theme::choice(ui, c, name, said.outer == kind).clicked() {
                    say(CaptureAct::Outer(kind));
                }
            }
        });
        quiet(ui, c, "Single edges that are otherwise: press them at 2, Edges.");
        ui.add_space(8.0);
        title(ui, "Measured better with the pointer?");
        let text = self.typed.points.get_or_insert_with(|| said.points.clone());
        let help = "X, Y rows under the words edge, circle, corners; a blank line begins one more. Where \
                    they know an edge or a cut-out better than the picture, they win.";
        let before = text.clone();
        Grid::new("points").num_columns(3).show(ui, |ui| lines(ui, "points", text, 4, "", c));
        quiet(ui, c, help);
        if *text != before {
            say(CaptureAct::Points(text.clone()));
        }
        ui.add_space(8.0);
        self.renew(here);
        match &self.made {
            Some(Drawn { made: Ok((made, _)), .. }) => {
                ui.add(Label::new(RichText::new(&made.says).font(theme::strong())).wrap());
                let (unit, thickness) = (here.unit(), self.thickness(here.unit()));
                let slanted = capture.at_a_slant(thickness);
                if slanted > TELLS {
                    let says = format!(
                        "Up to {} {unit} of that is bow and thickness seen at a slant: a photograph taken \
                         more from above knows it better.",
                        unit.show(slanted)
                    );
                    quiet(ui, c, &says);
                }
            }
            Some(Drawn { made: Err(why), .. }) => {
                ui.add(Label::new(RichText::new(why).color(c.short)).wrap());
            }
            None => {}
        }
    }
}

/// “3: circle 40.2”.
fn named(n: usize, contour: &Contour, unit: LengthUnit) -> String {
    if contour.outer {
        return "The outer edge".to_owned();
    }
    let bounds = contour.offered.shape.bounds();
    let (w, h) = (unit.show(bounds.width()), unit.show(bounds.height()));
    match (contour.circle(), contour.offered.form) {
        (Some((_, radius)), _) => format!("{n}: circle, Ø {}", unit.show(2.0 * radius)),
        (_, Form::Slot) => {
            let [long, wide] = slot_size(contour);
            format!("{n}: slot, {} × {}", unit.show(long), unit.show(wide))
        }
        _ => format!("{n}: cut-out, {w} × {h}"),
    }
}

/// How long a slot is over all, and how wide, mm.
fn slot_size(contour: &Contour) -> [f64; 2] {
    let edges = contour.offered.shape.edges();
    let (straight, round) = edges.fold((0.0_f64, 0.0), |(straight, round), e| match e {
        Edge::Line { .. } => (straight.max(e.length()), round),
        Edge::Arc { radius, .. } => (straight, radius),
    });
    [straight + 2.0 * round, 2.0 * round]
}

fn progress(ui: &mut Ui, c: &Colours, share: f32, capture: &Capture, acts: &mut Vec<Act>) {
    let says = match capture.photo() {
        Some(_) => format!("Looking for edges: {:.0} %", 100.0 * share),
        None => "Reading the photograph".to_owned(),
    };
    ui.horizontal(|ui| {
        ui.label(RichText::new(says).font(theme::strong()));
        if theme::button(ui, c, "Stop looking", "", Weight::Words).clicked() {
            acts.push(Act::Capture(CaptureAct::Stop));
        }
    });
    let (bar, _) = ui.allocate_exact_size(vec2(ui.available_width(), 8.0), Sense::hover());
    ui.painter().rect_filled(bar, 4, c.rule);
    let done = Rect::from_min_size(bar.min, vec2(bar.width() * share, bar.height()));
    ui.painter().rect_filled(done, 4, c.fits);
}

/// A field that shows what is so until something is typed; what was typed, when it was.
fn number(
    ui: &mut Ui,
    name: &str,
    now: String,
    slot: &mut Option<String>,
    wide: f32,
) -> Option<String> {
    let mut text = slot.clone().unwrap_or_default();
    let edit = TextEdit::singleline(&mut text)
        .hint_text(now)
        .desired_width(wide)
        .min_size(vec2(wide, 36.0))
        .align(Align2::RIGHT_CENTER);
    let response = ui.add(edit).accessible_name(name);
    if response.changed() {
        *slot = Some(text.clone());
        return Some(text);
    }
    if !response.has_focus() {
        *slot = None;
    }
    None
}

fn title(ui: &mut Ui, text: &str) {
    ui.add(Label::new(RichText::new(text).font(theme::strong())).wrap());
}

fn quiet(ui: &mut Ui, c: &Colours, text: &str) {
    ui.add(Label::new(RichText::new(text).font(theme::small()).color(c.quiet)).wrap());
}
