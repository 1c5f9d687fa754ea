//! Everything a person can do. [`listed`] tells of each act that needs no more than a press what it
//! is called, its key, and what it does.

mod listed;

use std::path::PathBuf;

use oddment_core::cutting::ByHand;
use oddment_core::distances::Clearances;
use oddment_core::part::{MadeFrom, Priority, Turning};
use oddment_core::plan::Count;
use oddment_core::shape::{PartSpace, Point, Pose, SheetSpace, Vector};
use oddment_files::drawing::ReadOptions;
use oddment_rack::find::Loadable;

use crate::bars::BarsAct;
use crate::capture::CaptureAct;
use crate::compare::CompareAct;
use crate::exchange::ReadAs;
use crate::lay::LayAct;
use crate::open_job::Copy;
use crate::place::Place;
use crate::rack::RackAct;
use crate::settings::ExportChoices;
use crate::sheet_facts::SheetFacts;
use crate::shop::ShopAct;

pub use listed::{KeyPress, Listed, listed, search};

/// One act. [`crate::session::Session::apply`] is the only place that carries it out.
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// Go to a place.
    Go(Place),
    /// Do something about ways of cutting the order.
    Compare(CompareAct),
    /// Do something with the order of bars.
    Bars(BarsAct),
    /// Do something with the rack.
    Rack(RackAct),
    /// Do something about a photograph of a sheet.
    Capture(CaptureAct),
    /// Say something of a value that is worked with.
    Shop(ShopAct),
    /// Starts and tabs as they were moved by hand.
    CutByHand(Box<ByHand>),
    /// Place the order's parts around what is locked.
    Fill,
    /// End the fill and keep its best so far.
    KeepBest,
    /// End the fill and go back to the plan from before it.
    StopFill,
    /// Take back the last act.
    Undo,
    /// Do again what was taken back.
    Redo,
    /// Turn what is selected by so many radians.
    Turn(f64),
    /// Turn what is selected to so many radians.
    TurnTo(f64),
    /// Lay what is selected with its other face up.
    Mirror,
    /// Turn what is selected so that one of its long straight edges runs along the nearest edge of
    /// the sheet; again for the next.
    AlignToEdge,
    /// Turn what is selected so that one of its long straight edges runs along the grain; again for
    /// the next.
    AlignToGrain,
    /// Lay one more of each of what is selected beside it.
    Duplicate,
    /// Bring what is not locked together toward the edge that lies along this unit vector.
    Shorten(Vector),
    /// Lock what is selected, or unlock it when all of it is locked.
    Lock,
    /// Put what is selected back on the order slip.
    PutBack,
    /// Move what is selected to the nearest clear place.
    Snug,
    /// Move what is selected to the nearest place where it shares a cut with another part.
    ShareCut,
    /// Slide what is selected as far as it goes along this unit vector.
    Push(Vector),
    /// Move what is selected by a typed step along this unit vector.
    Nudge(Vector),
    /// Put the lower left corner of the selected part's box at this distance from the datum.
    MoveTo(Vector),
    /// Select everything on the sheet.
    SelectAll,
    /// Select every laid copy of what is selected.
    SelectAlike,
    /// Select the one laid part that comes next on the sheet that is shown, from left to right; where this
    /// is false the one before.
    SelectNext(bool),
    /// Select nothing.
    SelectNone,
    /// Select these.
    Select(Vec<Copy>),
    /// Lay one more of a part at a clear place near the middle of the sheet that is shown.
    PlaceOne(usize),
    /// Pick these laid parts up, to move them.
    PickUp(Vec<Copy>),
    /// Take one of a part off the slip, its middle at this point of the sheet.
    Take(usize, Point<SheetSpace>),
    /// What is in the hand goes to this shift from where it was picked up; through what is in the
    /// way, where the second is true.
    Follow(Vector, bool),
    /// Put down what is in the hand.
    PutDown,
    /// Lay these copies so; the name is for the history.
    LayAt(Vec<(Copy, Pose<PartSpace, SheetSpace>)>, String),
    /// Let go of what is in the hand: it goes back to where it was picked up.
    LetGo,
    /// Want so many of a part.
    SetCount(usize, Count),
    /// How a part may be turned.
    SetTurning(usize, Turning),
    /// Whether a part may be laid with its other face up.
    SetFlip(usize, bool),
    /// The direction in a part's drawing (radians) that must lie along the grain.
    SetGrain(usize, Option<f64>),
    /// Which parts go in where not all do.
    SetPriority(usize, Priority),
    /// What a part must be made of.
    SetMadeFrom(usize, Option<MadeFrom>),
    /// Take a part off the order.
    RemovePart(usize),
    /// Take everything off the sheets that is not locked.
    ClearSheet,
    /// Begin an order with nothing on it.
    NewOrder,
    /// Call the order so.
    NameOrder(String),
    /// Show another sheet.
    ShowSheet(usize),
    /// Show the next sheet.
    NextSheet,
    /// Show the sheet before.
    PreviousSheet,
    /// Ask which drawings to add to the order.
    AddDrawings,
    /// Ask which drawing is the sheet.
    PickSheet,
    /// Take these files in: plans and jobs are opened, drawings are added to the order, and where
    /// they were dropped on the metal one of each part is laid there.
    TakeFiles(Vec<PathBuf>, Option<Point<SheetSpace>>),
    /// Read these drawings.
    Read(Vec<PathBuf>, ReadAs),
    /// Read one of the drawings that were read last once more, in another way or for something else.
    ReadAgain(PathBuf, ReadAs, ReadOptions),
    /// Put away what was said about the drawings that were read last.
    CloseReport,
    /// Tell again how the drawing of this part was read.
    TellAgain(usize),
    /// Ask what is known of the sheet that is shown.
    SheetFacts,
    /// This is what is known of the sheet that is shown.
    SetSheet(SheetFacts),
    /// A plain sheet in place of the sheets there are.
    PlainSheet(SheetFacts),
    /// Ask which distances to keep.
    Distances,
    /// Keep these distances.
    SetClearances(Clearances),
    /// Ask what became of each part of the cut of the sheet that is shown.
    RecordParts,
    /// Ask which plan to open.
    Open,
    /// Open this plan.
    OpenFile(PathBuf),
    /// Save the plan where it was saved last; ask where the first time.
    Save,
    /// Ask where to save the plan.
    SaveAs,
    /// Save the plan here.
    SaveFile(PathBuf),
    /// Ask how and where to export.
    Export,
    /// Export so from now on.
    SetExport(ExportChoices),
    /// Ask for the folder to export to.
    ExportInto,
    /// Write drawing, picture, set-up sheet and plan into this folder.
    ExportTo(PathBuf),
    /// Say how the sheet that is shown lies on the bed.
    Lay(LayAct),
    /// Open one of the sample shop's orders on the sheets it goes on.
    OpenSample(usize),
    /// Show the whole sheet.
    FitView,
    /// Look closer.
    ZoomIn,
    /// Look from further away.
    ZoomOut,
    /// Search all acts.
    FindAct,
    /// Ask how everything is to look: light or dark, units, sizes.
    Look,
    /// Light or dark.
    ToggleTheme,
    /// Millimetres or inches.
    ToggleUnit,
    /// Text and controls of this size, percent of the usual one.
    SetSize(u32),
    /// Larger text and controls.
    Larger,
    /// Smaller text and controls.
    Smaller,
    /// Larger targets, for gloves, or the usual ones.
    ToggleTargets,
    /// How long (seconds) a fill may take.
    SetFillSeconds(u32),
    /// How far a nudge moves, mm.
    SetNudge(f64),
    /// What the machine can load: sheets that it can't are not looked at for room.
    SetLoadable(Loadable),
    /// Put the hint of the first start away.
    HideHint,
}

impl Act {
    /// Whether it is about what is selected, or in the hand, and nothing without that.
    pub fn is_of_selected(&self) -> bool {
        matches!(
            self,
            Self::Turn(_)
                | Self::TurnTo(_)
                | Self::Mirror
                | Self::AlignToEdge
                | Self::AlignToGrain
                | Self::Duplicate
                | Self::Lock
                | Self::PutBack
                | Self::Snug
                | Self::ShareCut
                | Self::Push(_)
                | Self::Nudge(_)
                | Self::MoveTo(_)
                | Self::SelectAlike
        )
    }
}
