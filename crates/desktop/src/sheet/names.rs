//! Laid parts as controls: each has a name that can be found, focused and pressed without seeing it.

use eframe::egui::{EventFilter, Rect, Role, Sense, Ui, WidgetInfo, vec2};
use oddment_app::act::Act;
use oddment_app::open_job::Copy;

use super::draw::Scene;
use super::pictures::{Pictures, placed};
use crate::theme;

impl Scene<'_> {
    /// Gives each laid part a name that can be found, focused and pressed without seeing it.
    pub(crate) fn name_parts(&self, ui: &mut Ui, pictures: &mut Pictures, acts: &mut Vec<Act>) {
        // While something is in the hand nothing else is pressed.
        let idle = self.session.hand().is_none();
        for p in self.placements().iter().filter(|_| idle) {
            let Some(picture) = pictures.part(p.part) else { continue };
            let at = placed(self.view, p.pose)(picture.label);
            if !self.area.contains(at) {
                continue;
            }
            let half = (self.view.length(picture.size()) / 2.0).clamp(4.0, self.c.touch / 2.0);
            let rect = Rect::from_center_size(at, vec2(half, half));
            let copy = Copy::of(p);
            let id = ui.scope_id().with(("part", copy.part, copy.number));
            let response = ui.interact(rect, id, Sense::click());
            let selected = self.is_lively(p);
            response.widget_info(|| {
                let mut name = self.session.view().name_of(copy);
                if p.locked {
                    name += ", locked";
                }
                WidgetInfo::selected(Role::Button, true, selected, name)
            });
            theme::focus_ring(ui, self.c, &response, 4);
            if response.has_focus() {
                // Whoever goes through the parts by keyboard also nudges them.
                let arrows = EventFilter {
                    horizontal_arrows: true,
                    vertical_arrows: true,
                    ..EventFilter::default()
                };
                ui.memory_mut(|m| m.set_focus_lock_filter(id, arrows));
            }
            if response.clicked() {
                acts.push(Act::Select(toggled(
                    self.session.selected(),
                    copy,
                    ui.input(|i| i.modifiers.shift),
                )));
            }
        }
    }
}

/// The selection after a press on `copy`: it alone, or with `more` it added or taken away.
pub(crate) fn toggled(selected: &[Copy], copy: Copy, more: bool) -> Vec<Copy> {
    if !more {
        return vec![copy];
    }
    let mut now = selected.to_vec();
    match now.iter().position(|c| *c == copy) {
        Some(i) => {
            now.remove(i);
        }
        None => now.push(copy),
    }
    now
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pressing_with_shift_adds_and_takes_away() {
        let [a, b] = [1, 2].map(|number| Copy { part: 0, number });
        assert_eq!(toggled(&[a], b, false), [b]);
        assert_eq!(toggled(&[a], b, true), [a, b]);
        assert_eq!(toggled(&[a, b], a, true), [b]);
    }
}
