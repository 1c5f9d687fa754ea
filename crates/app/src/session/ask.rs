//! What a session asks of the one who shows it.

use oddment_files::labels::Stickers;

use crate::rack::RackCard;

/// What only the one who shows the session can do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// Show the whole sheet.
    FitView,
    /// Look closer.
    ZoomIn,
    /// Look from further away.
    ZoomOut,
    /// Show the list of all acts.
    FindAct,
    /// Ask how everything is to look.
    Look,
    /// Ask for drawings.
    PickDrawings,
    /// Ask for the drawing of a sheet.
    PickSheet,
    /// Ask what is known of the sheet.
    SheetFacts,
    /// Ask for the distances to keep.
    Distances,
    /// Ask what became of each part of a cut.
    RecordParts,
    /// Ask for a plan to open.
    PickPlan,
    /// Ask where to save the plan.
    PickSave,
    /// Ask how to export.
    Export,
    /// Ask for a folder to export to.
    PickFolder,
    /// Ask for a folder to write the ways compared into.
    PickFolderForWays,
    /// Ask for an order to be cut together with the one that is open.
    PickOrder,
    /// Ask for a photograph of a sheet.
    PickPhoto,
    /// Ask where to write the page that is photographed with a sheet.
    PickPage,
    /// Ask where to write what of the rack a file of this name holds.
    PickExport(String),
    /// Ask where to print the labels of these sheets, on this paper.
    PickLabels(Vec<String>, Stickers),
    /// Ask something of the rack.
    OfRack(RackCard),
    /// Ask for a list or everything of a rack to take in.
    PickImport,
    /// Ask for a folder of drawings to take into the rack.
    PickDrawingsFolder,
    /// Ask for a shop file to open.
    PickShop,
    /// Ask where to keep a new shop file.
    PickNewShop,
}
