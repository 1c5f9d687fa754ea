//! What a person can do with the rack.

use std::path::PathBuf;

use oddment_core::part::Part;
use oddment_files::labels::Stickers;
use oddment_rack::facts::Facts;
use oddment_rack::fillers::{Filler, Stocked};
use oddment_rack::find::Loadable;
use oddment_rack::sheets::NewSheet;
use oddment_rack::stock_take::Mark;

use super::CutSaid;

/// What can be done with the rack.
#[derive(Clone, Debug, PartialEq)]
pub enum RackAct {
    /// Have these shapes at hand, to be drawn.
    Shapes(Vec<i64>),
    /// Take a sheet to the place Sheet.
    Take(String),
    /// Take the sheet with this label again, as the rack has it now; what lies on it stays.
    TakeAgain(String),
    /// Ask what has to be asked first.
    Ask(RackCard),
    /// Keep whether the order of this name asks for a certificate.
    AskCertificate(String, bool),
    /// Add sheets or bars, all of them or none.
    Add(Vec<NewSheet>),
    /// Add the sheet that is shown in the place Sheet, as it was drawn.
    AddShown,
    /// Hold a sheet for an order, until a time (seconds since 1970) where one is given.
    Hold(String, String, Option<i64>),
    /// Put right what is known of a sheet besides its shape: what was seen of it, and what it is instead.
    Correct(String, Box<(Facts, Facts)>),
    /// Let go of a sheet that is held.
    Release(String),
    /// Say where a sheet stands.
    Move(String, String),
    /// Say that a sheet that was missing is there again.
    FoundAgain(String),
    /// Say that a sheet was lifted off the bed.
    Lift(String),
    /// Say how sure edges of a sheet are now: contour, edge, give or take (mm).
    Measure(String, Vec<(usize, usize, f64)>),
    /// Record that the sheet that is shown was cut, and what became of it.
    Record(Box<CutSaid>),
    /// Work out what recording that would do.
    TryCut(Box<CutSaid>),
    /// Take back this event of the rack, or the one that is told as its newest.
    Undo(Option<i64>),
    /// Look for sheets with room for this part.
    Find(Box<Sought>),
    /// Look no more, and forget what was found.
    FindNoMore,
    /// Begin a stock-take of the sheets that match the words, or go on with it.
    BeginWalk(String),
    /// Say of a sheet whether it is there.
    Mark(String, Mark),
    /// End the stock-take; whether sheets of which nothing was said are missing.
    EndWalk(bool),
    /// Lay filler parts of these names no more, and keep these: what was seen of each, and what it is to be.
    KeepFillers(Vec<String>, Vec<(Option<Stocked>, Filler)>),
    /// Ask for as many of each filler part as may be made, where the order leaves room on the sheet
    /// that is shown.
    LayFillers,
    /// Keep the picture in this file with a sheet.
    AddPicture(String, PathBuf),
    /// Take the picture with this hash off a sheet.
    RemovePicture(String, String),
    /// Have what ever happened to a sheet at hand.
    History(String),
    /// Have these pictures at hand.
    Pictures(Vec<String>),
    /// Ask for the file to print the labels of these sheets into.
    PickLabels(Vec<String>, Stickers),
    /// Print the labels of these sheets into this file.
    Labels(Vec<String>, Stickers, PathBuf),
    /// Ask for the file to write the rack into: one of this name, unless another is given.
    PickExport(String),
    /// Write the rack into this file: the list (.csv), everything (.json), or the sheet with this label
    /// as a drawing (.dxf).
    Export(PathBuf, Option<String>),
    /// Ask for a list or everything of a rack to take in.
    PickImport,
    /// Ask for a folder of drawings to take in; this is known of its sheets.
    PickDrawings(Box<Facts>),
    /// Take in a list, everything, or a folder of drawings.
    Import(PathBuf),
    /// Take in none of the drawings that are being read.
    StopImport,
    /// Ask for a shop file to open.
    PickShop,
    /// Ask where to keep a new shop file.
    PickNewShop,
    /// Open this shop file in place of the one that is open.
    OpenShop(PathBuf),
    /// Make this shop file, without sheets, and open it.
    NewShop(PathBuf),
    /// Open the sample shop in place of the file that is open.
    OpenSampleShop,
    /// Put the newest good backup in the place of the shop file, which is damaged.
    PutBack,
}

impl RackAct {
    /// Whether it only has something at hand that is shown: nothing that was said is old news by it.
    pub(crate) fn only_reads(&self) -> bool {
        matches!(self, Self::Shapes(_) | Self::Pictures(_) | Self::History(_) | Self::TryCut(_))
    }
}

/// What is asked on a card of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RackCard {
    /// A sheet to add.
    Sheet,
    /// Bars to add.
    Bars,
    /// Filler parts.
    Fillers,
    /// The rack in and out of files.
    Exchange,
    /// Whether the stock-take is to be ended.
    EndWalk,
}

/// What a sheet is to have room for.
#[derive(Clone, Debug, PartialEq)]
pub struct Sought {
    /// The part.
    pub part: Part,
    /// Words that the sheet must match.
    pub typed: String,
    /// Its material and thickness, where they are known; sheets of all others are looked at too where they
    /// are not, each with the distances of its own thickness.
    pub metal: Option<(String, f64)>,
    /// What the machine can load.
    pub loadable: Loadable,
    /// The order it is for: sheets held for it count too, and where it asks for a certificate only
    /// sheets that have one.
    pub order: String,
}
