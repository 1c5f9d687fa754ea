//! A quick stroke on a slow frame: pressed, moved and let go before anything is drawn. Where it was pressed
//! would be looked for where the pointer has gone to since, and the stroke would be none at all; so a frame
//! takes in a press at its end and a release at its beginning, and the next takes in the rest.
//!
//! So it is with quick typing: a key that opens a card or a list with a field is followed by what is typed
//! into that. Where no field has the keyboard yet a frame takes in one key that writes something, and what
//! follows waits until what it opened has been drawn.

use eframe::egui::{Event, RawInput};

/// What waits for the next frame.
#[derive(Default)]
pub(crate) struct Strokes {
    waiting: Vec<Event>,
    /// Frames that go by before what waits is dealt out.
    pause: u8,
}

/// Frames in which a list opens and gives its field the keyboard.
const OPENS: u8 = 2;

impl Strokes {
    /// Leaves of this frame's events, and of those that waited, what it may take in. Returns whether
    /// something waits for the next.
    pub(crate) fn deal_out(&mut self, input: &mut RawInput, typing: bool) -> bool {
        self.waiting.append(&mut input.events);
        if self.pause > 0 {
            self.pause -= 1;
            return true;
        }
        let writes = |e: &Event| matches!(e, Event::Text(_));
        if let Some(end) = self.waiting.iter().position(writes).filter(|_| !typing) {
            input.events = self.waiting.drain(..=end).collect();
            self.pause = OPENS;
            return true;
        }
        let mut moved = false;
        let end = self.waiting.iter().enumerate().find_map(|(n, event)| match event {
            Event::PointerMoved(_) => {
                moved = true;
                None
            }
            Event::PointerButton { pressed: true, .. } => Some(n + 1),
            Event::PointerButton { pressed: false, .. } => moved.then_some(n),
            _ => None,
        });
        input.events = self.waiting.drain(..end.unwrap_or(self.waiting.len())).collect();
        !self.waiting.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use eframe::egui::{Modifiers, PointerButton, Pos2, pos2};

    use super::*;

    fn button(pos: Pos2, pressed: bool) -> Event {
        let (button, modifiers) = (PointerButton::Primary, Modifiers::default());
        Event::PointerButton { pos, button, pressed, modifiers }
    }

    #[test]
    fn what_is_typed_after_a_key_waits_until_that_has_opened_a_field() {
        let text = |text: &str| Event::Text(text.into());
        let events: Vec<Event> = ["/", "l", "o"].map(text).into();
        let mut strokes = Strokes::default();
        let mut input = RawInput { events, ..RawInput::default() };
        assert!(strokes.deal_out(&mut input, false));
        assert_eq!(input.events, [text("/")]);
        for _ in 0..OPENS {
            input.events.clear();
            assert!(strokes.deal_out(&mut input, false));
            assert_eq!(input.events, []);
        }
        // The list is open, and its field has the keyboard.
        assert!(!strokes.deal_out(&mut input, true));
        assert_eq!(input.events, [text("l"), text("o")]);
    }

    #[test]
    fn a_stroke_within_a_frame_is_pressed_then_moved_then_let_go() {
        let (from, to) = (pos2(10.0, 10.0), pos2(300.0, 90.0));
        let [at, gone] = [from, to].map(Event::PointerMoved);
        let events =
            vec![at.clone(), button(from, true), gone.clone(), button(to, false), Event::Copy];
        let mut strokes = Strokes::default();
        let mut input = RawInput { events, ..RawInput::default() };
        assert!(strokes.deal_out(&mut input, false));
        assert_eq!(input.events, [at, button(from, true)]);
        input.events.clear();
        assert!(strokes.deal_out(&mut input, false));
        assert_eq!(input.events, [gone]);
        // What comes meanwhile stands behind.
        input.events = vec![Event::Cut];
        assert!(!strokes.deal_out(&mut input, false));
        assert_eq!(input.events, [button(to, false), Event::Copy, Event::Cut]);
    }
}
