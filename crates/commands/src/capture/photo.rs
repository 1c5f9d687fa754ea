//! `oddment capture --photo`: what a photograph says of a sheet.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use oddment_core::capture::Captured;
use oddment_core::capture::trace::Form;
use oddment_core::job::Stop;
use oddment_core::shape::{Loop, Point, SheetSpace};
use oddment_core::sheet::EdgeKind;
use oddment_files::outputs::put;
use oddment_photo::{
    Calibrated, Found, Paper, Photograph, PixelSpace, Reference, Stated, Target, calibrate, find,
    overlay,
};
use serde::Serialize;

use crate::console::Console;
use crate::input;
use crate::rack::args::{length, size};
use crate::refusal::Refusal;

/// A photograph, and what is known in it.
#[derive(Debug, Args)]
pub(super) struct PhotoArgs {
    /// A photograph of the whole sheet: JPEG or PNG.
    #[arg(long, value_name = "FILE", requires = "corners")]
    pub(super) photo: Option<PathBuf>,
    /// Four corners in the photograph, pixels from its upper left as "X,Y X,Y X,Y X,Y": lower left,
    /// lower right, upper right, upper left of the target's squares or of the rectangle.
    #[arg(long, value_name = "PLACES", value_parser = corners, requires = "photo")]
    pub(super) corners: Option<[Point<PixelSpace>; 4]>,
    /// The corners are those of a target printed on this paper; a4 where no rectangle is given.
    #[arg(long, requires = "photo", conflicts_with = "rectangle")]
    pub(super) target: Option<PaperArg>,
    /// Width and height over all that the target's squares measure on the print.
    #[arg(long, value_name = "WxH", value_parser = size, requires = "photo", conflicts_with = "rectangle")]
    pub(super) printed: Option<[f64; 2]>,
    /// The corners are those of a rectangle of this size, such as the sheet itself.
    #[arg(long, value_name = "WxH", value_parser = size, requires = "photo")]
    pub(super) rectangle: Option<[f64; 2]>,
    /// How far the sheet bows up or down from flat.
    #[arg(long, value_name = "LENGTH", value_parser = length, requires = "photo")]
    pub(super) bow: Option<f64>,
    /// What can't be seen, as corners in the photograph "X,Y X,Y X,Y …": no-go.
    #[arg(long, value_name = "PLACES", value_parser = places, requires = "photo")]
    pub(super) unseen: Vec<Places>,
    /// Numbers of cut-outs found in the photograph that are none, such as 3,7.
    #[arg(long, value_name = "NUMBERS", value_delimiter = ',', requires = "photo")]
    pub(super) without: Vec<usize>,
    /// Write the photograph as seen from straight above here, with what was found in it numbered.
    #[arg(long, value_name = "FILE.png", requires = "photo")]
    pub(super) overlay: Option<PathBuf>,
    /// Write the target to print (to --out FILE.pdf or FILE.svg), and nothing else.
    #[arg(long, value_name = "PAPER", requires = "out", conflicts_with_all = ["size", "points", "photo", "add"])]
    pub(super) print_target: Option<PaperArg>,
}

/// Paper that a target is printed on.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum PaperArg {
    A4,
    A3,
    Letter,
}

impl PaperArg {
    const fn paper(self) -> Paper {
        match self {
            Self::A4 => Paper::A4,
            Self::A3 => Paper::A3,
            Self::Letter => Paper::Letter,
        }
    }
}

/// Places in a photograph, in order.
#[derive(Clone, Debug)]
pub(super) struct Places(Vec<Point<PixelSpace>>);

fn places(text: &str) -> Result<Places, String> {
    let place = |word: &str| {
        let (x, y) = word.split_once(',')?;
        let number = |t: &str| t.trim().parse::<f64>().ok().filter(|v| v.is_finite());
        Some(Point::new(number(x)?, number(y)?))
    };
    let said = || format!("“{text}” are no places in a photograph; write X,Y X,Y X,Y");
    let read = text.split_whitespace().map(place).collect::<Option<Vec<_>>>().ok_or_else(said)?;
    if read.len() < 3 { Err(said()) } else { Ok(Places(read)) }
}

fn corners(text: &str) -> Result<[Point<PixelSpace>; 4], String> {
    let Places(read) = places(text)?;
    read.try_into().map_err(|_| format!("“{text}”: give four corners, X,Y X,Y X,Y X,Y"))
}

/// What there is to say of a photograph.
#[derive(Serialize)]
pub(super) struct Said {
    /// Root of the mean square of what the marks are off.
    marks_off_px: f64,
    lens: f64,
    found: Vec<FoundSaid>,
}

#[derive(Serialize)]
struct FoundSaid {
    number: usize,
    form: &'static str,
    x: f64,
    y: f64,
    width_mm: f64,
    height_mm: f64,
    kept: bool,
}

/// What a photograph says of the sheet, moved to the datum corner; `None` where none was given.
pub(super) fn captured(
    args: &PhotoArgs,
    outer: EdgeKind,
    thickness: f64,
    console: &mut Console<'_>,
) -> Result<Option<(Captured, Said)>, Refusal> {
    let (Some(path), Some(corners)) = (&args.photo, args.corners) else { return Ok(None) };
    let about = |why: &dyn std::fmt::Display| Refusal::about(path.display(), why);
    let photo = Photograph::read(&input::bytes(path)?).map_err(|why| about(&why))?;
    let reference = match args.rectangle {
        Some(size) => Reference::taped(size),
        None => Reference::Target(Target {
            paper: args.target.map_or(Paper::A4, PaperArg::paper),
            printed: args.printed,
        }),
    };
    let placed = calibrate(&photo, reference, corners).map_err(|why| about(&why))?;
    let bow = args.bow.unwrap_or(0.0);
    let found = find(&photo, &placed, bow == 0.0, &Stop::default(), &mut |_| {});
    let seen = &found.calibrated;
    if let Some(at) = &args.overlay {
        write_overlay(at, &photo, &found)?;
    }
    let Some(outline) = &found.outline else { return Err(about(&NO_OUTLINE)) };
    for number in &args.without {
        if !(1..=found.holes.len()).contains(number) {
            let why = format!("there is no cut-out {number}; {} were found", found.holes.len());
            return Err(Refusal::about("--without", why));
        }
    }
    let mut unknown = Vec::new();
    for places in &args.unseen {
        unknown.push(on_sheet(seen, places).map_err(|why| Refusal::about("--unseen", why))?);
    }
    let stated = Stated { outer, bow, thickness };
    let all = seen.captured(outline, &found.holes, unknown, &stated);
    let mut captured = all.map_err(|why| about(&why))?.at_datum();
    let is_kept = |i: usize| !args.without.contains(&(i + 1));
    let said = captured.cutouts.iter().zip(&found.holes).enumerate().map(|(i, (rim, offered))| {
        let bounds = rim.shape().bounds();
        let middle = bounds.centre();
        FoundSaid {
            number: i + 1,
            form: match offered.form {
                Form::Circle => "circle",
                Form::Slot => "slot",
                Form::Polygon => "polygon",
                Form::Free => "free",
            },
            x: middle.x,
            y: middle.y,
            width_mm: bounds.width(),
            height_mm: bounds.height(),
            kept: is_kept(i),
        }
    });
    let said =
        Said { marks_off_px: seen.camera.off(), lens: seen.camera.lens(), found: said.collect() };
    let mut number = 0;
    captured.cutouts.retain(|_| {
        number += 1;
        is_kept(number - 1)
    });
    console.say(format_args!(
        "Marks in the photograph agree to {:.2} pixels; {} cut-outs found. Look at them (--overlay), and \
         leave out with --without what is none.",
        said.marks_off_px,
        said.found.len()
    ));
    Ok(Some((captured, said)))
}

const NO_OUTLINE: &str = "no edge of the metal is found that runs once round what was placed; take the \
    photograph so that the whole sheet is in it, on something lighter or darker than the sheet";

/// The metal under places of the photograph.
fn on_sheet(seen: &Calibrated, places: &Places) -> Result<Loop<SheetSpace>, String> {
    let points = places.0.iter().map(|q| seen.camera.to_sheet(*q)).collect::<Option<Vec<_>>>();
    let points = points.ok_or("a place lies above the horizon of the sheet")?;
    Loop::polygon(points).map_err(|why| why.to_string())
}

fn write_overlay(path: &Path, photo: &Photograph, found: &Found) -> Result<(), Refusal> {
    let refused = |why: &dyn std::fmt::Display| {
        Refusal::about(path.display(), format_args!("can’t be written: {why}"))
    };
    let bytes = overlay(photo, found).map_err(|why| refused(&why))?;
    put(path, &bytes).map_err(|why| refused(&why))
}

/// Writes the target to print.
pub(super) fn print_target(
    paper: PaperArg,
    out: &Path,
    console: &mut Console<'_>,
) -> Result<(), Refusal> {
    let target = Target { paper: paper.paper(), printed: None };
    let about = |why: &dyn std::fmt::Display| Refusal::about(out.display(), why);
    let kind = out.extension().and_then(|e| e.to_str()).unwrap_or("");
    let bytes = target.written(kind).map_err(|why| about(&why))?;
    put(out, &bytes).map_err(|why| about(&format_args!("can’t be written: {why}")))?;
    let [w, h] = target.wanted();
    console.say(format_args!(
        "Print it without scaling. The squares should measure {w} × {h} mm; where they don’t, say so with \
         --printed."
    ));
    Ok(())
}
