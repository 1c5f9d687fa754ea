//! The order slip: silhouettes, counts, and how each part may lie.

use eframe::egui::{
    Align2, CursorIcon, Frame, Pos2, Rect, RichText, Role, ScrollArea, Sense, Stroke, TextEdit, Ui,
    Vec2, WidgetInfo, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::rack::RackAct;
use oddment_app::session::{MOST_WANTED, Session};
use oddment_app::sheet_facts::typed_metal;
use oddment_core::part::{Priority, Turning};
use oddment_core::plan::Count;
use oddment_core::shape::{PartSpace, Point, SheetSpace};
use oddment_files::words::{parts_words, thickness_words};

use super::pictures::{Picture, Pictures};
use crate::theme::{self, Colours, Weight};

/// A part on its way from the slip to the metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Drag {
    /// Which of the wanted parts.
    pub(crate) part: usize,
    /// Whether it was let go in this frame.
    pub(crate) ended: bool,
}

/// What the slip remembers.
#[derive(Default)]
pub(crate) struct Slip {
    open: Option<usize>,
    dragged: Option<Drag>,
    from: Option<Point<SheetSpace>>,
    typed_title: Option<String>,
    typed_count: Option<(usize, String)>,
    typed_metal: Option<(usize, String)>,
    metal_fault: Option<String>,
    /// The part of which a count was typed that is none.
    count_fault: Option<usize>,
    /// Whether the row was opened just now, and is to be seen whole.
    reveal: bool,
}

/// A slip lower than this (points) is so low that only the rows stay, and all else goes along with them.
const LOW: f32 = 430.0;

/// Whether the order asks for a certificate, to be pressed; where there is a rack with sheets that have one.
fn certificate(ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
    if session.rack().is_none() {
        return;
    }
    let order = &session.view().title;
    let asks = session.asks_certificate(order);
    let says = "Its parts come only from sheets that have a certificate and a heat number";
    if theme::choice(ui, c, "asks for a certificate", asks).on_hover_text(says).clicked() {
        acts.push(Act::Rack(RackAct::AskCertificate(order.clone(), !asks)));
    }
}

impl Slip {
    /// The part that is being dragged off the slip.
    pub(crate) fn dragged(&self) -> Option<Drag> {
        self.dragged
    }

    /// Where on the sheet it was first seen; `now` the first time.
    pub(crate) fn carried_from(&mut self, now: Point<SheetSpace>) -> Point<SheetSpace> {
        *self.from.get_or_insert(now)
    }

    /// The drag is over.
    pub(crate) fn let_go(&mut self) {
        self.dragged = None;
        self.from = None;
    }

    /// Draws the slip.
    pub(crate) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        pictures: &mut Pictures,
        acts: &mut Vec<Act>,
    ) {
        let whole = ui.max_rect();
        let id = ui.scope_id().with("height");
        let height: f32 = ui.data(|d| d.get_temp(id)).unwrap_or(whole.height());
        let rect = Rect::from_min_size(whole.min, vec2(whole.width(), height.min(whole.height())));
        let mut used = 0.0;
        super::card(ui, c, rect, |ui| {
            let top = ui.cursor().top();
            let open = session.view();
            self.title(ui, c, &open.title, acts);
            pictures.renew_job(&open.sourced);
            let (laid, wanted) = open.totals();
            let says = format!("{laid} of {} laid", parts_words(wanted));
            ui.label(RichText::new(says).font(theme::small()).color(c.quiet));
            let low = whole.height() < LOW;
            if !low {
                certificate(ui, c, session, acts);
            }
            ui.add_space(4.0);
            let fillers = session.slot().is_some_and(|slot| slot.layout.is_some())
                && !session.fillers().is_empty();
            let presses = if low { 0.0 } else { 2.0 + f32::from(u8::from(fillers)) };
            let below = (c.touch + ui.spacing().item_spacing.y) * presses;
            let room = whole.bottom() - ui.cursor().top() - below - 28.0;
            ScrollArea::vertical().max_height(room).show(ui, |ui| {
                for part in 0..open.job().wanted.len() {
                    self.row(ui, c, session, pictures, part, acts);
                }
                if low {
                    certificate(ui, c, session, acts);
                    below_rows(ui, c, session, fillers, acts);
                }
            });
            if !low {
                ui.add_space(2.0);
                below_rows(ui, c, session, fillers, acts);
            }
            used = ui.cursor().top() - top + 16.0;
        });
        ui.data_mut(|d| d.insert_temp(id, used));
    }

    /// The order's name, to be typed.
    fn title(&mut self, ui: &mut Ui, c: &Colours, now: &str, acts: &mut Vec<Act>) {
        ui.horizontal(|ui| {
            ui.label(RichText::new("Order").font(theme::strong()).color(c.quiet));
            let mut typed = self.typed_title.clone().unwrap_or_else(|| now.to_owned());
            let edit = TextEdit::singleline(&mut typed)
                .font(theme::strong())
                .frame(Frame::NONE)
                .align(Align2::LEFT_CENTER)
                .desired_width(ui.available_width() - 8.0);
            let field = ui.add(edit).accessible_name("name of the order");
            if field.changed() {
                self.typed_title = Some(typed);
            }
            if field.lost_focus()
                && let Some(typed) = self.typed_title.take()
            {
                acts.push(Act::NameOrder(typed));
            }
        });
    }

    fn row(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        pictures: &mut Pictures,
        part: usize,
        acts: &mut Vec<Act>,
    ) {
        let open = session.view();
        let wanted = &open.job().wanted[part];
        let count = open.count_in_words(part);
        let done = !open.wants_more(part);
        let (says, ink) = match other_metal(session, part) {
            Some(needs) => (format!("{count} · {needs}"), c.short),
            None if done => (format!("{count}  ✓"), c.fits),
            None => (format!("{count}{}", priority_words(wanted.part.priority)), c.quiet),
        };
        // As high as what is written: long names and what is needed go on below.
        let wide = ui.available_width();
        let beside = (wide - SILHOUETTE - 12.0).max(20.0);
        let painter = ui.painter();
        let name = painter.layout(wanted.part.name.clone(), theme::body(), c.text, beside);
        let says = painter.layout(says, theme::small(), ink, beside);
        let words = name.size().y + 3.0 + says.size().y;
        let high = (c.touch + 12.0).max(words + 14.0);
        let (rect, response) = ui.allocate_exact_size(vec2(wide, high), Sense::click_and_drag());
        let is_open = self.open == Some(part);
        let chosen = session.selected().iter().any(|copy| copy.part == part);
        response.widget_info(|| {
            let name = format!("{}, {count}", wanted.part.name);
            WidgetInfo::selected(Role::Button, true, is_open, name)
        });
        let painter = ui.painter();
        if response.hovered() || is_open {
            painter.rect_filled(rect.expand2(vec2(8.0, 0.0)), 8, c.rule.gamma_multiply(0.35));
        }
        if chosen || response.has_focus() {
            let line = Stroke::new(2.0, c.strong);
            let kind = eframe::egui::StrokeKind::Inside;
            painter.rect_stroke(rect.expand2(vec2(8.0, 0.0)), 8, line, kind);
        }
        let size = vec2(SILHOUETTE, c.touch);
        let box_ = Rect::from_min_size(pos2(rect.left(), rect.center().y - size.y / 2.0), size);
        if let Some(picture) = pictures.part(part) {
            silhouette(painter, c, &picture, box_);
        }
        let at = pos2(box_.right() + 12.0, rect.center().y - words / 2.0);
        let below = at + vec2(0.0, name.size().y + 3.0);
        painter.galley(at, name, c.text);
        painter.galley(below, says, ink);
        if response.drag_started() && open.wants_more(part) {
            self.dragged = Some(Drag { part, ended: false });
            self.from = None;
        }
        if let Some(drag) = &mut self.dragged
            && drag.part == part
            && response.drag_stopped()
        {
            drag.ended = true;
        }
        if response.dragged() {
            ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
        }
        if response.double_clicked() {
            acts.push(Act::PlaceOne(part));
        } else if response.clicked() {
            self.open = if is_open { None } else { Some(part) };
            self.reveal = !is_open;
            self.typed_count = None;
            (self.metal_fault, self.count_fault) = (None, None);
        }
        if is_open {
            self.details(ui, c, session, part, acts);
            if std::mem::take(&mut self.reveal) {
                let below = Rect::from_min_max(rect.min, pos2(rect.right(), ui.cursor().top()));
                ui.scroll_to_rect(below, None);
            }
        }
        // Whoever has laid a part knows; then it would only cover the next row.
        if !session.settings().hint_read {
            let says = "Drag it onto the metal; press for how many and how it may lie";
            response.on_hover_text(says);
        }
    }

    /// How many of a part, and how it may lie.
    fn details(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        part: usize,
        acts: &mut Vec<Act>,
    ) {
        let wanted = &session.view().job().wanted[part];
        let name = &wanted.part.name;
        ui.horizontal_wrapped(|ui| {
            let now = match wanted.count {
                Count::Exactly(n) => n,
                Count::Max => session.view().plan.placed(part),
            };
            let fewer = format!("One {name} fewer");
            if theme::sign_button(ui, c, "−", "", Weight::Plain, &fewer).clicked() {
                acts.push(Act::SetCount(part, Count::Exactly(now.saturating_sub(1).max(1))));
            }
            let mut typed = match &self.typed_count {
                Some((p, text)) if *p == part => text.clone(),
                _ => match wanted.count {
                    Count::Exactly(n) => n.to_string(),
                    Count::Max => "max".into(),
                },
            };
            let field = ui.add(
                TextEdit::singleline(&mut typed)
                    .desired_width(44.0)
                    .font(theme::strong())
                    .align(Align2::CENTER_CENTER)
                    .min_size(vec2(44.0, c.touch - 8.0)),
            );
            let field = field.accessible_name(format!("how many {name}"));
            if field.changed() {
                self.typed_count = Some((part, typed.clone()));
                self.count_fault = None;
            }
            if field.lost_focus() && self.typed_count.take().is_some() {
                match read_count(&typed) {
                    Some(count) => acts.push(Act::SetCount(part, count)),
                    None => self.count_fault = Some(part),
                }
            }
            let more = format!("One {name} more");
            if theme::sign_button(ui, c, "+", "", Weight::Plain, &more).clicked() {
                acts.push(Act::SetCount(part, Count::Exactly(now + 1)));
            }
            if session.view().wants_more(part) {
                let lay = format!("Lay one {name}");
                if theme::sign_button(ui, c, "Lay one", "", Weight::Words, &lay).clicked() {
                    acts.push(Act::PlaceOne(part));
                }
            }
        });
        if self.count_fault == Some(part) {
            let says = format!("write how many, 1 to {MOST_WANTED}, or max");
            ui.label(RichText::new(says).font(theme::small()).color(c.short));
        }
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(4.0, 0.0);
            for (text, turning) in turnings() {
                let chosen = wanted.part.turning == turning;
                if theme::choice(ui, c, text, chosen).clicked() && !chosen {
                    acts.push(Act::SetTurning(part, turning));
                }
            }
            if theme::choice(ui, c, "may be mirrored", wanted.part.flip).clicked() {
                acts.push(Act::SetFlip(part, !wanted.part.flip));
            }
            let along = wanted.part.grain.is_some();
            if theme::choice(ui, c, "along the grain", along).clicked() {
                acts.push(Act::SetGrain(part, if along { None } else { Some(0.0) }));
            }
            for (text, priority) in PRIORITIES {
                let chosen = wanted.part.priority == priority;
                if theme::choice(ui, c, text, chosen).clicked() && !chosen {
                    acts.push(Act::SetPriority(part, priority));
                }
            }
        });
        self.metal(ui, c, session, part, acts);
        let (bounds, unit) = (wanted.part.region.bounds(), session.settings().unit());
        let size = format!("{} × {} {unit}", unit.show(bounds.width()), unit.show(bounds.height()));
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new(size).font(theme::small()).color(c.quiet));
            if session.can_tell_again(part) {
                let help = "Its units, gaps, layers and small holes";
                let again = theme::button(ui, c, "How it was read", "", Weight::Words);
                if again.on_hover_text(help).clicked() {
                    acts.push(Act::TellAgain(part));
                }
            }
        });
        let off = format!("Take {name} off the order");
        if theme::sign_button(ui, c, "Take it off the order", "", Weight::Words, &off).clicked() {
            acts.push(Act::RemovePart(part));
            self.open = None;
        }
        ui.add_space(4.0);
    }

    /// What the part must be made of.
    fn metal(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        part: usize,
        acts: &mut Vec<Act>,
    ) {
        let wanted = &session.view().job().wanted[part].part;
        let unit = session.settings().unit();
        let shown = wanted
            .made_from
            .as_ref()
            .map(|m| format!("{} {}", thickness_words(m.thickness, unit), m.material));
        let mut typed = match &self.typed_metal {
            Some((p, text)) if *p == part => text.clone(),
            _ => shown.unwrap_or_default(),
        };
        // Beside it runs the bar that scrolls.
        let wide = ui.available_width() - 8.0;
        let field = ui.add(
            TextEdit::singleline(&mut typed)
                .desired_width(wide)
                .hint_text("its metal, such as 3 mm S235")
                .align(Align2::LEFT_CENTER)
                .min_size(vec2(wide, c.touch - 8.0)),
        );
        let field = field.accessible_name(format!("metal of {}", wanted.name));
        if field.changed() {
            self.typed_metal = Some((part, typed.clone()));
            self.metal_fault = None;
        }
        if field.lost_focus() && self.typed_metal.take().is_some() {
            match typed_metal(&typed, unit) {
                Ok(made_from) => acts.push(Act::SetMadeFrom(part, made_from)),
                Err(fault) => self.metal_fault = Some(fault),
            }
        }
        if let Some(fault) = &self.metal_fault {
            ui.label(RichText::new(fault).font(theme::small()).color(c.short));
        }
    }
}

/// What stands below the rows.
fn below_rows(ui: &mut Ui, c: &Colours, session: &Session, fillers: bool, acts: &mut Vec<Act>) {
    if theme::button(ui, c, "Add drawings", "or drop them here", Weight::Words).clicked() {
        acts.push(Act::AddDrawings);
    }
    if fillers {
        let says = "Asks for filler parts where the order leaves metal on this sheet";
        let fillers = theme::button(ui, c, "Add fillers", "", Weight::Words);
        if fillers.on_hover_text(says).clicked() {
            acts.push(Act::Rack(RackAct::LayFillers));
        }
    }
    let unit = session.settings().unit();
    let d = &session.view().job().clearances;
    let says = format!("kerf {} · web {}", unit.show(d.kerf), unit.show(d.web));
    if theme::sign_button(ui, c, "Distances", &says, Weight::Words, "Distances").clicked() {
        acts.push(Act::Distances);
    }
}

/// Width of a part's picture.
const SILHOUETTE: f32 = 58.0;

/// The metal that a part needs, where the sheet that is shown is not of it.
fn other_metal(session: &Session, part: usize) -> Option<String> {
    let job = session.view().job();
    let part = &job.wanted[part].part;
    let sheet = &job.stock[session.slot()?.stock].sheet;
    let needs = part.made_from.as_ref().filter(|_| !part.may_be_of(sheet.made_of.as_ref()))?;
    let thickness = thickness_words(needs.thickness, session.settings().unit());
    Some(format!("needs {thickness} {}", needs.material))
}

/// The priorities that are offered.
const PRIORITIES: [(&str, Priority); 3] =
    [("first", Priority::First), ("as usual", Priority::Usual), ("if room", Priority::IfRoom)];

fn priority_words(priority: Priority) -> &'static str {
    match priority {
        Priority::First => " · first",
        Priority::Usual => "",
        Priority::IfRoom => " · if room",
    }
}

/// The ways of turning that are offered.
fn turnings() -> [(&'static str, Turning); 3] {
    [
        ("any turn", Turning::Free),
        ("quarters", Turning::steps(std::f64::consts::FRAC_PI_2)),
        ("as drawn", Turning::none()),
    ]
}

/// How many, as typed: a number up to [`MOST_WANTED`], or “max”.
fn read_count(text: &str) -> Option<Count> {
    let text = text.trim();
    if text.eq_ignore_ascii_case("max") {
        return Some(Count::Max);
    }
    text.parse().ok().filter(|n| (1..=MOST_WANTED).contains(n)).map(Count::Exactly)
}

/// A part's shape, as large as the box takes.
fn silhouette(
    painter: &eframe::egui::Painter,
    c: &Colours,
    picture: &Picture<PartSpace>,
    room: Rect,
) {
    let bounds = oddment_core::shape::Bounds::of(picture.loops.iter().flatten().copied());
    if bounds.is_empty() {
        return;
    }
    let scale = (f64::from(room.width()) / bounds.width().max(1e-6))
        .min(f64::from(room.height()) / bounds.height().max(1e-6));
    let middle = bounds.centre();
    let to_screen = move |p: Point<PartSpace>| -> Pos2 {
        let v = (p - middle) * scale;
        room.center() + Vec2::new(v.x as f32, -v.y as f32)
    };
    painter.add(eframe::egui::Shape::Mesh(picture.fill(to_screen, c.paper).into()));
    let line = Stroke::new(1.2, c.ink);
    painter.extend(picture.lines(to_screen, line, Stroke::new(1.0, c.ink)));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_as_typed() {
        assert_eq!(read_count(" 12 "), Some(Count::Exactly(12)));
        assert_eq!(read_count("MAX"), Some(Count::Max));
        for text in ["", "0", "-1", "1.5", "many", "10001", "99999999999999999999"] {
            assert_eq!(read_count(text), None, "{text}");
        }
    }
}
