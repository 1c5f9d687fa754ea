//! Keys to acts.

use eframe::egui::{Context, Key, KeyboardShortcut, Modifiers, Popup};
use oddment_app::act::{Act, KeyPress, listed};
use oddment_app::place::Place;

/// The acts of a place whose keys were pressed since the last frame. Keys go to a text field that has the
/// focus, unless Ctrl is held; those that press a control go to the one that has it. While a card or a menu
/// is open over the place they are the card's.
pub(crate) fn pressed(ctx: &Context, place: Place) -> Vec<Act> {
    if ctx.memory(|m| m.top_modal_layer().is_some()) || Popup::is_any_open(ctx) {
        return Vec::new();
    }
    let typing = ctx.text_edit_focused();
    let focused = ctx.memory(|m| m.focused().is_some());
    let mut rows: Vec<(KeyPress, Act)> = listed()
        .iter()
        .filter(|l| l.works_in(place))
        .flat_map(|l| l.keys.iter().map(|k| (*k, l.act.clone())))
        .collect();
    // Ctrl Shift Z is also Ctrl Z: the one that needs more is asked first.
    rows.sort_by_key(|(k, _)| std::cmp::Reverse((k.ctrl, k.shift)));
    ctx.input_mut(|input| {
        rows.into_iter()
            .filter(|(k, _)| !typing || (k.ctrl && !belongs_to_text(k.key)))
            .filter(|(k, _)| !focused || k.ctrl || !matches!(k.key, "Enter" | "Space"))
            .filter_map(|(k, act)| Some((shortcut(k)?, act)))
            .filter_map(|(shortcut, act)| input.consume_shortcut(&shortcut).then_some(act))
            .collect()
    })
}

/// Keys that a text field answers together with Ctrl.
fn belongs_to_text(key: &str) -> bool {
    matches!(key, "A" | "Z" | "Y" | "Delete")
}

fn shortcut(press: KeyPress) -> Option<KeyboardShortcut> {
    let mut modifiers = Modifiers::NONE;
    modifiers.command = press.ctrl;
    modifiers.shift = press.shift;
    Some(KeyboardShortcut::new(modifiers, Key::from_name(press.key)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_listed_key_exists() {
        for key in listed().iter().flat_map(|l| &l.keys) {
            assert!(shortcut(*key).is_some(), "{}", key.key);
        }
    }
}
