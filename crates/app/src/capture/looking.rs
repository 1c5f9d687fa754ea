//! Reading a photograph and finding the sheet in it, on named threads.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use image::RgbImage;
use oddment_files::file::read_bytes;
use oddment_photo::{Found, Grid, Photograph, calibrate, find};

use super::Asked;
use crate::session::Wake;
use crate::work::Work;

/// Pixels of the picture from straight above.
const MOST: f64 = 6e6;
/// Work of this kind ends by itself.
const LIMIT: Duration = Duration::from_secs(600);

/// How far it is.
#[derive(Clone, Debug)]
pub(crate) enum Step {
    /// What share is done.
    Share(f32),
    /// The photograph.
    Read(Arc<Photograph>),
    /// What was seen in it.
    Seen(Arc<Seen>),
    /// Why not, in a sentence.
    Failed(String),
}

/// What was seen in a photograph.
#[derive(Debug)]
pub struct Seen {
    /// What was asked.
    pub(super) of: Asked,
    /// How the picture shows the sheet, and what of it was found.
    pub found: Found,
    /// The picture from straight above lies on this grid.
    pub grid: Grid,
    /// It, upper row first.
    pub picture: RgbImage,
}

/// Looking twice makes two: nobody compares millions of pixels.
impl PartialEq for Seen {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self, other)
    }
}

pub(super) fn read(file: PathBuf, wake: Wake) -> std::io::Result<Work<Step>> {
    Work::run("read photograph", LIMIT, wake, move |_, _| {
        let content = read_bytes(&file).map_err(|why| why.to_string());
        let photo = content.and_then(|c| Photograph::read(&c).map_err(|why| why.to_string()));
        match photo {
            Ok(photo) => Step::Read(Arc::new(photo)),
            Err(why) => Step::Failed(format!("{}: {why}", file.display())),
        }
    })
}

pub(super) fn look(
    photo: Arc<Photograph>,
    asked: Asked,
    wake: Wake,
) -> std::io::Result<Work<Step>> {
    Work::run("look at photograph", LIMIT, wake, move |clock, tell| {
        let placed = match calibrate(&photo, asked.reference, asked.corners) {
            Ok(placed) => placed,
            Err(why) => return Step::Failed(why.to_string()),
        };
        let mut share = |share: f64| tell(&Step::Share(share as f32));
        share(0.05);
        let found = find(&photo, &placed, asked.flat, clock.stop(), &mut |s| share(0.05 + 0.8 * s));
        let grid = Grid::over(&photo, &found.calibrated, MOST);
        let picture = grid.picture(&photo, &found.calibrated);
        Step::Seen(Arc::new(Seen { of: asked, found, grid, picture }))
    })
}
