//! What a place shows, and where.

use std::path::PathBuf;

use eframe::egui::{Pos2, Rect, Ui};
use oddment_app::act::Act;
use oddment_app::session::{Ask, Session};
use oddment_core::shape::{Point, SheetSpace};

use crate::theme::Colours;
use crate::top_line::Word;

/// A place: it reads what is open, draws it, and says what was done.
pub(crate) trait PlaceView {
    /// Says on the top line, beside the places' names, what is shown here, in the room that is left.
    fn heading(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>);

    /// What must stand at the right of the top line, the one strong button last.
    fn strong(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>);

    /// What else can be done here, the most wanted first. What has no room on the top line is found
    /// under “More”.
    fn words(&self, session: &Session) -> Vec<Word> {
        let _ = session;
        Vec::new()
    }

    /// Width (points) that the heading needs at least.
    fn heading_room(&self) -> f32 {
        240.0
    }

    /// Draws everything below the top line into `area`.
    fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    );

    /// The point of the sheet that files dropped at this point of the screen are meant for.
    fn drop_point(&self, at: Option<Pos2>) -> Option<Point<SheetSpace>> {
        let _ = at;
        None
    }

    /// What is to be done with files that were dropped on the place, where that is not to be taken in
    /// as drawings and plans.
    fn dropped(&self, files: &[PathBuf]) -> Option<Vec<Act>> {
        let _ = files;
        None
    }

    /// Does for the session what only the one who shows it can.
    fn answer(&mut self, ask: Ask) {
        let _ = ask;
    }
}
