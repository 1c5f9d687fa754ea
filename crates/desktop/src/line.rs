//! Two groups on one line, one at each end of it.

use eframe::egui::{Align, Layout, Rect, Ui, UiBuilder, pos2};

/// Which end of the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum End {
    /// It begins at the left edge and has the room that the other leaves.
    Left,
    /// It ends at the right edge, as wide as what is in it.
    Right,
}

/// Draws the group at either end, both from left to right, so that the keyboard goes through them as they
/// stand.
pub(crate) fn apart(ui: &mut Ui, mut contents: impl FnMut(&mut Ui, End)) {
    let whole = ui.available_rect_before_wrap();
    // How wide the right group is, is known once it has been drawn.
    let id = ui.scope_id().with("right group");
    let known: Option<f32> = ui.data(|d| d.get_temp(id));
    let middle = (whole.right() - known.unwrap_or(0.5 * whole.width())).max(whole.left());
    let mut group = |ui: &mut Ui, rect: Rect, end: End| {
        let layout = Layout::left_to_right(Align::Center);
        let mut inside = ui.new_child(UiBuilder::new().max_rect(rect).layout(layout).id_salt(end));
        contents(&mut inside, end);
        inside.min_rect().width()
    };
    let gap = ui.spacing().item_spacing.x;
    let left = pos2((middle - gap).max(whole.left()), whole.bottom());
    group(ui, Rect::from_min_max(whole.min, left), End::Left);
    let wide = group(ui, Rect::from_min_max(pos2(middle, whole.top()), whole.max), End::Right);
    ui.advance_cursor_after_rect(whole);
    if known.is_none_or(|known| (known - wide).abs() > 0.5) {
        ui.data_mut(|d| d.insert_temp(id, wide));
        ui.ctx().request_discard("the right group of a line has another width");
    }
}
