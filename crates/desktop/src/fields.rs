//! The keyboard in text fields, alike wherever they stand: a field that is reached with Tab is typed over,
//! and one whose content was refused keeps the focus, so that it can be put right at once.

use eframe::egui::text::{CCursor, CCursorRange};
use eframe::egui::{Context, Id, Key, TextEdit};

/// The text field that has the focus.
pub(crate) fn field_in_focus(ctx: &Context) -> Option<Id> {
    let focused = ctx.memory(|m| m.focused())?;
    TextEdit::load_state(ctx, focused).map(|_| focused)
}

/// What is remembered from frame to frame.
#[derive(Default)]
pub(crate) struct Fields {
    field: Option<Id>,
    tabbed: bool,
}

impl Fields {
    /// Selects what stands in a field that has just been reached with Tab.
    pub(crate) fn end_frame(&mut self, ctx: &Context) {
        let field = field_in_focus(ctx);
        // The focus moves in the frame after the key.
        let tabbed = std::mem::replace(&mut self.tabbed, ctx.input(|i| i.key_pressed(Key::Tab)));
        if field != self.field
            && (tabbed || self.tabbed)
            && let Some(id) = field
        {
            select_all(ctx, id);
        }
        self.field = field;
    }
}

fn select_all(ctx: &Context, field: Id) {
    let Some(mut state) = TextEdit::load_state(ctx, field) else { return };
    // Beyond the end is the end.
    let all = CCursorRange::two(CCursor::new(0), CCursor::new(usize::MAX));
    state.cursor.set_char_range(Some(all));
    state.store(ctx, field);
    ctx.request_repaint();
}

/// Gives a field that was left with Enter the focus again, unless something else has it, and selects what
/// stands in it: that was refused, or is still to be looked at.
pub(crate) fn stay(ctx: &Context, field: Id) {
    let left = ctx.memory(|m| m.focused().is_none()) && ctx.input(|i| i.key_pressed(Key::Enter));
    if left {
        ctx.memory_mut(|m| m.request_focus(field));
        select_all(ctx, field);
    }
}
