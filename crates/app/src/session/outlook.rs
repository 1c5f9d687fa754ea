//! What recording the cut that is shown would do, known before it is pressed: one press must not scrap
//! metal that nobody saw go.

use oddment_rack::record::Preview;

use super::Session;
use crate::place::Place;
use crate::rack::CutSaid;

/// What an outlook was worked out for: the session's revision, the sheet shown, the rack's revision and how
/// often a file was opened.
pub(crate) type OutlookOf = (u64, usize, u64, u64);

impl Session {
    fn outlook_of(&self) -> Option<OutlookOf> {
        let rack = self.rack.as_ref()?;
        Some((self.revision, self.shown, rack.revision(), rack.files_opened()))
    }

    /// What recording the cut as planned would do, once that is worked out.
    pub fn outlook(&self) -> Option<&Preview> {
        self.rack.as_ref()?.outlook(self.outlook_of()?)
    }

    /// Has it worked out where nothing else is going on.
    pub(super) fn poll_outlook(&mut self) {
        let idle = self.hand.is_none() && self.work.is_none();
        if !idle || self.settings.place != Place::Sheet || !self.can_record() {
            return;
        }
        let Some(of) = self.outlook_of() else { return };
        let wanted = self.rack.as_ref().is_some_and(|rack| rack.wants_outlook(of));
        if wanted
            && let Some(cut) = self.cut_shown(CutSaid::default())
            && let Some(rack) = &mut self.rack
        {
            rack.look_ahead(of, cut);
        }
    }
}
