//! What would not stay flat once free, and what would help, with one press.

use eframe::egui::{Label, Ui};
use oddment_app::act::Act;
use oddment_app::open_job::Copy;
use oddment_app::session::Session;
use oddment_core::cutting::steady::{Offer, Unsteady};
use oddment_core::cutting::support::Rest;
use oddment_core::cutting::{ByHand, ContourNo};
use oddment_core::shape::{PartSpace, Pose, SheetSpace};
use oddment_files::words::rest_words;

use super::facts::{quiet, title};
use super::work::Planned;
use crate::theme::{self, Colours, Weight};

/// Draws the section; tells what is to be done where an offer was taken.
pub(super) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    planned: &Planned,
    by_hand: &mut ByHand,
) -> Option<Act> {
    let mut taken = None;
    title(ui, "Once free");
    if planned.unsteady.is_empty() {
        quiet(
            ui,
            c,
            "Every part and slug stays flat, or is gone, wherever the slats\u{2019} teeth are.",
        );
    }
    for group in &planned.unsteady {
        let held = if group.held { "held by tabs" } else { "not held" };
        // A slug that falls is gone; what is told here is that it may not.
        let rest = if group.contour == 0 { group.rest } else { Rest::MayTip };
        let says = format!("{} {}: {held}", names(group, planned, session), rest_words(rest));
        ui.add(Label::new(says).wrap());
        if group.offers.is_empty() {
            continue;
        }
        ui.horizontal_wrapped(|ui| {
            for offer in &group.offers {
                let (name, helped) = named(offer, session);
                let hint = if helped == group.placed.len() {
                    "then it stays flat, or is held".to_owned()
                } else {
                    format!("for {helped} of {}", group.placed.len())
                };
                if theme::button(ui, c, &name, "", Weight::Plain).on_hover_text(hint).clicked() {
                    taken = take(offer, group.contour, name, planned, by_hand);
                }
            }
        });
    }
    taken
}

/// The parts of a group: one by its number, several by how many; or what is cut out of their holes.
fn names(group: &Unsteady, planned: &Planned, session: &Session) -> String {
    let of = match group.contour {
        0 => String::new(),
        hole => format!("What is cut out of hole {hole} of "),
    };
    of + &match group.placed[..] {
        [one] => planned.name(Some(one), session),
        _ => {
            let part = planned.layout.placements[group.placed[0]].part;
            let wanted = session.view().job().wanted.get(part);
            let name = wanted.map_or("a part", |w| w.part.name.as_str());
            format!("{} of {name}", group.placed.len())
        }
    }
}

/// What an offer is called, and how many it helps.
fn named(offer: &Offer, session: &Session) -> (String, usize) {
    match offer {
        Offer::Tabs(tabs) => ("Hold by tabs".into(), tabs.len()),
        Offer::Turn(by, moves) => (format!("Turn {:.0}°", by.to_degrees()), moves.len()),
        Offer::Shift(by, moves) => {
            let unit = session.settings().unit();
            (format!("Shift {} {unit}", unit.show(*by)), moves.len())
        }
    }
}

/// Tabs are chosen by hand; another place is an act.
fn take(
    offer: &Offer,
    contour: ContourNo,
    name: String,
    planned: &Planned,
    by_hand: &mut ByHand,
) -> Option<Act> {
    let of = |n: usize| &planned.layout.placements[n];
    match offer {
        Offer::Tabs(tabs) => {
            let keyed =
                tabs.iter().map(|(n, at)| ((of(*n).part, of(*n).copy, contour), at.clone()));
            by_hand.tabs.extend(keyed);
            None
        }
        Offer::Turn(_, moves) | Offer::Shift(_, moves) => {
            let copy = |(n, pose): &(usize, Pose<PartSpace, SheetSpace>)| (Copy::of(of(*n)), *pose);
            Some(Act::LayAt(moves.iter().map(copy).collect(), name))
        }
    }
}
