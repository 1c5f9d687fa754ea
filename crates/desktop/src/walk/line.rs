//! The line along the bottom: where in the cut one is, and what is going on.

use eframe::egui::{Rect, RichText, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};
use oddment_app::session::Session;
use oddment_core::cutting::PassKind;
use oddment_core::cutting::legs::Doing;

use oddment_files::words::rest_words;

use super::clock::{Clock, minutes};
use super::draw::contour;
use super::work::Planned;
use crate::sheet;
use crate::theme::{self, Colours, Weight};

/// Draws the card.
pub(crate) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    planned: &Planned,
    clock: &mut Clock,
    rect: Rect,
) {
    sheet::card(ui, c, rect, |ui| {
        scrub(ui, c, planned, clock);
        ui.horizontal(|ui| {
            let says = ("Contour before", "Next contour");
            if theme::sign_button(ui, c, "‹", "←", Weight::Plain, says.0).clicked() {
                clock.step(&planned.cut, false);
            }
            if theme::sign_button(ui, c, "›", "→", Weight::Plain, says.1).clicked() {
                clock.step(&planned.cut, true);
            }
            ui.add_space(6.0);
            let time = format!("{} of {}", minutes(clock.now()), minutes(planned.cut.seconds));
            ui.label(RichText::new(time).font(theme::strong()));
            ui.add_space(6.0);
            let going_on = RichText::new(going_on(session, planned, clock.now())).color(c.text);
            ui.add(eframe::egui::Label::new(going_on).truncate());
        });
    });
}

/// What is going on at a moment, in words.
fn going_on(session: &Session, planned: &Planned, now: f64) -> String {
    let Some(moment) = planned.cut.at(now) else { return String::new() };
    let leg = planned.cut.legs[moment.leg];
    let pass = &planned.cut.passes[leg.pass];
    let name = planned.name(pass.placed, session);
    let of = match pass.kind {
        PassKind::Mark => "a mark".to_owned(),
        PassKind::Hole | PassKind::Outline => contour(pass.contour),
        PassKind::Crop => "the crop line".to_owned(),
        PassKind::CutUp => "a cut-up".to_owned(),
    };
    let doing = match leg.doing {
        Doing::Moving { lifted: true } => "moves, lifted, to",
        Doing::Moving { lifted: false } => "moves low to",
        Doing::Piercing => "pierces for",
        Doing::Cutting if pass.kind == PassKind::Mark => "engraves",
        Doing::Cutting => "cuts",
        Doing::OverTab => "passes over a tab of",
        Doing::AlongCut => "passes along a cut that is made, of",
    };
    let number = format!("{} of {}", leg.pass + 1, planned.cut.passes.len());
    let freed = match pass.rest {
        Some(_) if pass.held => "  ·  then held by tabs".to_owned(),
        Some(slug) if pass.kind == PassKind::Hole => {
            let does = if slug.slug_may_tip() { "may tip up" } else { "is gone, or lies flat" };
            format!("  ·  then what is cut out {does}")
        }
        Some(judged) => format!("  ·  then it {}", rest_words(judged.rest)),
        None => String::new(),
    };
    format!("{doing} {of} of {name}  ·  contour {number}{freed}")
}

/// A bar to scrub along, with the warnings on it.
fn scrub(ui: &mut Ui, c: &Colours, planned: &Planned, clock: &mut Clock) {
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), 34.0), Sense::click_and_drag());
    let bar = Rect::from_center_size(rect.center(), vec2(rect.width() - 12.0, 8.0));
    let total = planned.cut.seconds.max(1e-9);
    let x = |seconds: f64| bar.left() + bar.width() * (seconds / total).clamp(0.0, 1.0) as f32;
    if let Some(at) = response.interact_pointer_pos() {
        clock.go(f64::from((at.x - bar.left()) / bar.width()).clamp(0.0, 1.0) * total);
    }
    let painter = ui.painter();
    painter.rect_filled(bar, 4, c.rule);
    let done = Rect::from_min_max(bar.min, pos2(x(clock.now()), bar.max.y));
    painter.rect_filled(done, 4, c.strong);
    for warning in &planned.cut.warnings {
        let at = x(warning.seconds);
        painter.line_segment(
            [pos2(at, bar.top() - 6.0), pos2(at, bar.bottom() + 2.0)],
            Stroke::new(2.0, c.short),
        );
    }
    let knob = pos2(x(clock.now()), bar.center().y);
    painter.circle(knob, 9.0, c.card, Stroke::new(2.5, c.strong));
    theme::focus_ring(ui, c, &response, 8);
    let now = clock.now();
    response.widget_info(|| WidgetInfo::slider(true, now, "Moment of the cut, seconds"));
}
