//! Values as tags on the paper, and the card of the one that was pressed.

use eframe::egui::{
    CursorIcon, Key, Label, RichText, Role, ScrollArea, Sense, Stroke, StrokeKind, TextEdit, Ui,
    WidgetInfo, vec2,
};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_app::shop::{Field, Kind, MATERIALS, ShopAct};
use oddment_rack::when;
use serde_json::Value;

use crate::theme::{self, Colours, Weight};
use crate::told::Told;

const TAG: f32 = 172.0;

/// Draws values as tags; the one that is pressed is returned.
pub(super) fn tags(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    fields: &[Field],
    chosen: Option<&str>,
) -> Option<Field> {
    let unit = session.settings().unit();
    let mut pressed = None;
    ui.horizontal_wrapped(|ui| {
        for field in fields {
            let standing = session.standing(&field.key);
            let now = standing.now();
            let text = field.kind.said(now, unit);
            let (rect, response) = ui.allocate_exact_size(vec2(TAG, 62.0), Sense::click());
            let here = chosen == Some(field.key.as_str());
            let fill = if here {
                c.selected
            } else if response.hovered() {
                c.rule.gamma_multiply(0.5)
            } else {
                c.card
            };
            ui.painter().rect(rect, 8, fill, Stroke::new(1.0, c.rule), StrokeKind::Inside);
            // On the warm ground of what is chosen ink reads in either theme.
            let (ink, quiet) = if here { (c.ink, c.ink) } else { (c.text, c.quiet) };
            let painter = ui.painter_at(rect.shrink(4.0));
            let at = rect.left_top() + vec2(10.0, 5.0);
            let left = eframe::egui::Align2::LEFT_TOP;
            painter.text(at, left, field.name, theme::small(), quiet);
            let shown = theme::shortened(ui, &text, &theme::digits(), TAG - 20.0);
            painter.text(at + vec2(0.0, 16.0), left, shown, theme::digits(), ink);
            let own = standing.tried.is_some() || standing.kept.is_some();
            if own && !field.key.starts_with(MATERIALS) {
                let at = at + vec2(0.0, 37.0);
                painter.text(at, left, standing.origin(), theme::small(), quiet);
            }
            theme::focus_ring(ui, c, &response, 8);
            let spoken = format!("{}, {text}, {}", field.name, standing.origin());
            response.widget_info(|| WidgetInfo::selected(Role::Button, true, here, &spoken));
            let response = response.on_hover_cursor(CursorIcon::PointingHand);
            if response.on_hover_text(field.help).clicked() {
                pressed = Some(field.clone());
            }
        }
    });
    pressed
}

/// The value that was pressed, while it is said otherwise.
#[derive(Default)]
pub(super) struct ValueCard {
    field: Option<Field>,
    /// Whether it was pressed just now: what is typed goes into its field.
    fresh: bool,
    typed: String,
    fault: Option<String>,
}

impl ValueCard {
    /// Its key.
    pub(super) fn key(&self) -> Option<&str> {
        self.field.as_ref().map(|f| f.key.as_str())
    }

    pub(super) fn choose(&mut self, field: Field, session: &Session) {
        let now = session.standing(&field.key);
        self.typed = field.kind.show(now.now(), session.settings().unit());
        self.fault = None;
        self.fresh = true;
        self.field = Some(field);
    }

    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        acts: &mut Vec<Act>,
    ) {
        let Some(field) = self.field.clone() else {
            let says = "Press a value to see where it comes from, to try another for the open plan \
                        only, or to keep the shop’s own.";
            ui.add(Label::new(RichText::new(says).color(c.quiet)).wrap());
            return;
        };
        let unit = session.settings().unit();
        let standing = session.standing(&field.key);
        let said = |value: Option<&Value>| field.kind.said(value, unit);
        ui.label(RichText::new(field.name).font(theme::large_strong()));
        ui.add(Label::new(RichText::new(field.help).color(c.quiet)).wrap());
        ui.add_space(8.0);
        self.typing(ui, c, &field, unit);
        if let Some(fault) = &self.fault {
            ui.add(Label::new(RichText::new(fault).color(c.short)).wrap());
        }
        let read = |typed: &str| field.kind.read(typed, unit);
        let material = field.key.starts_with(MATERIALS);
        let mut done = None;
        if session.rack().is_some()
            && theme::button(ui, c, "Keep for the shop", "", Weight::Plain).clicked()
        {
            done = Some(read(&self.typed).map(|value| {
                let said = format!("{}: {}", named(&field), said(Some(&value)));
                ShopAct::Keep(vec![(field.key.clone(), Some(value))], said)
            }));
        }
        if !material {
            if theme::button(ui, c, "Only for this plan", "", Weight::Plain).clicked() {
                let tried = read(&self.typed);
                done = Some(tried.map(|value| ShopAct::Try(field.key.clone(), Some(value))));
            }
            if standing.tried.is_some()
                && theme::button(ui, c, "No longer for this plan", "", Weight::Words).clicked()
            {
                let then = standing.kept.as_ref().or(standing.starting.as_ref());
                self.typed = field.kind.show(then, unit);
                done = Some(Ok(ShopAct::Try(field.key.clone(), None)));
            }
            if let (Some(_), Some(starting)) = (&standing.kept, &standing.starting) {
                let name = format!("Back to the start: {}", said(Some(starting)));
                if theme::button(ui, c, &name, "", Weight::Words).clicked() {
                    self.typed = field.kind.show(Some(starting), unit);
                    let said = format!("{}: back to the start", named(&field));
                    done = Some(Ok(ShopAct::Keep(vec![(field.key.clone(), None)], said)));
                }
            }
        }
        match done {
            Some(Ok(act)) => {
                self.fault = None;
                let history = ShopAct::History(field.key.clone());
                acts.extend([Act::Shop(act), Act::Shop(history)]);
            }
            Some(Err(why)) => self.fault = Some(why),
            None => {}
        }
        ui.add_space(10.0);
        ScrollArea::vertical().show(ui, |ui| {
            let mut lines = Vec::new();
            lines.extend(
                standing.tried.as_ref().map(|v| format!("{}, for this plan", said(Some(v)))),
            );
            let known = session.rack().map_or(&[][..], |rack| rack.said_of(&field.key));
            lines.extend(known.iter().map(|v| {
                let what = match &v.value {
                    Some(value) => said(Some(value)),
                    None => "back to the start".to_owned(),
                };
                format!("{what}, {} on {}", v.who, when::day(v.at))
            }));
            let starting = standing.starting.as_ref();
            lines.extend(starting.map(|v| format!("{}, to start from", said(Some(v)))));
            for line in lines {
                ui.add(Label::new(RichText::new(line).font(theme::small()).color(c.quiet)).wrap());
            }
            if let Some(told) = Told::of(session) {
                ui.add_space(8.0);
                told.show(ui, c);
            }
        });
    }

    fn typing(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        field: &Field,
        unit: oddment_core::units::LengthUnit,
    ) {
        let choices: &[&str] = match field.kind {
            Kind::Flag => &["yes", "no"],
            Kind::Choice(words) => words,
            _ => &[],
        };
        if !choices.is_empty() {
            ui.horizontal_wrapped(|ui| {
                for word in choices {
                    if theme::choice(ui, c, word, self.typed == *word).clicked() {
                        self.typed = (*word).to_owned();
                    }
                }
            });
            return;
        }
        ui.horizontal(|ui| {
            let edit = TextEdit::singleline(&mut self.typed)
                .font(theme::digits())
                .desired_width(150.0)
                .min_size(vec2(150.0, c.touch));
            let edit = edit.align(eframe::egui::Align2::LEFT_CENTER);
            let response = theme::typed_over(ui, edit, std::mem::take(&mut self.fresh));
            if response.has_focus() && ui.input(|i| i.key_pressed(Key::Escape)) {
                response.surrender_focus();
            }
            response.accessible_name(field.name);
            ui.label(RichText::new(field.kind.unit(unit)).color(c.quiet));
        });
    }
}

/// What the value is called in the history of the shop.
fn named(field: &Field) -> String {
    let of = field.key.split('/').skip(1).collect::<Vec<_>>();
    let of = of[..of.len().saturating_sub(1)].join(" ");
    format!("{} ({of})", field.name)
}
