//! What may be typed after `oddment rack`.

mod typed;

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use oddment_core::bars::Face;
use oddment_core::sheet::EdgeKind;
use oddment_rack::crop::Line;
use oddment_rack::find::Loadable;
use oddment_rack::outline::Source;

use super::correct::CorrectArgs;
use super::filler::FillerArgs;
use super::order::OrderArgs;
use super::picture::PictureArgs;
use typed::{bin, crop_line, face, minutes, pair, pose, source};
pub(crate) use typed::{length, point, size};

use crate::args::{ClearanceArgs, JsonArg, TurningArgs, UnitsArg};

/// Keep the rack: every sheet, what was cut from it, and what is left.
#[derive(Debug, Args)]
pub(crate) struct RackArgs {
    #[command(subcommand)]
    pub(crate) command: RackCommand,
}

#[derive(Debug, Subcommand)]
pub(crate) enum RackCommand {
    New(NewArgs),
    Add(Box<AddArgs>),
    List(ListArgs),
    Show(ShowArgs),
    Find(Box<FindArgs>),
    Hold(HoldArgs),
    Record(Box<RecordArgs>),
    Order(OrderArgs),
    Correct(Box<CorrectArgs>),
    Picture(PictureArgs),
    Filler(Box<FillerArgs>),
    Undo(UndoArgs),
    Profile(ProfileArgs),
    Label(LabelArgs),
    Stocktake(StocktakeArgs),
    Export(ExportArgs),
    Import(ImportArgs),
    Check(CheckArgs),
    Restore(RestoreArgs),
}

/// Which shop file is meant.
#[derive(Clone, Debug, Args)]
pub(crate) struct ShopArg {
    /// The shop file; the one used last if not given, and at first the sample shop's.
    #[arg(long, value_name = "FILE")]
    pub(crate) shop: Option<PathBuf>,
}

/// Make a new shop file, with the materials of the sample shop to start from.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  oddment rack new shop.oddment --name \"Harbour Street\" --currency EUR"
)]
pub(crate) struct NewArgs {
    /// The file to make.
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,
    /// What the shop is called; the file's name if not given.
    #[arg(long)]
    pub(crate) name: Option<String>,
    /// What prices are in.
    #[arg(long, default_value = "EUR")]
    pub(crate) currency: String,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Add a sheet from its drawing or its size, or a bar from its profile and length.
///
/// Of a size alone the lower left corner is the datum. Where only part of a sheet is known, --clean
/// says which: the rest counts as no-go until somebody measures it.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    oddment rack add offcut.dxf --material S235 --thickness 3 --stands \"rack A, slot 4\"\n  \
    oddment rack add 980x610 --corner 200x180 --material S235 --thickness 3mm --heat \"H 48217\"\n  \
    oddment rack add 1200x800 --clean 500x400 --material 5754 --thickness 2 --stands \"bay 2\"\n  \
    oddment rack add 6000 --profile \"Square tube 40x2\" --material S235 --count 4 --heat 4711")]
pub(crate) struct AddArgs {
    /// A drawing (DXF or SVG), a size such as 980x610, or of a bar its length.
    #[arg(value_name = "DRAWING|WxH|LENGTH")]
    pub(crate) sheet: std::ffi::OsString,
    /// Of a size: the missing upper right corner, as of an L.
    #[arg(long, value_name = "WxH", value_parser = size, conflicts_with = "clean")]
    pub(crate) corner: Option<[f64; 2]>,
    /// Of a size: the clean rectangle at the datum corner; nobody knows the rest.
    #[arg(long, value_name = "WxH", value_parser = size)]
    pub(crate) clean: Option<[f64; 2]>,
    #[command(flatten)]
    pub(crate) units: UnitsArg,
    /// Label; the next free one of the shop if not given.
    #[arg(long)]
    pub(crate) label: Option<String>,
    /// Material, such as S235.
    #[arg(long)]
    pub(crate) material: String,
    /// Thickness of a sheet.
    #[arg(long, value_name = "LENGTH", value_parser = length, required_unless_present = "profile")]
    pub(crate) thickness: Option<f64>,
    /// It is a bar of this profile (`oddment rack profile` lists them).
    #[arg(long, value_name = "NAME", conflicts_with_all = ["corner", "clean", "thickness"])]
    pub(crate) profile: Option<String>,
    /// So many bars that are alike, each with its own label.
    #[arg(long, value_name = "N", default_value = "1", requires = "profile",
          value_parser = clap::value_parser!(u16).range(1..=1000))]
    pub(crate) count: u16,
    /// Where it stands.
    #[arg(long, default_value = "")]
    pub(crate) stands: String,
    /// Grade as ordered.
    #[arg(long, default_value = "")]
    pub(crate) grade: String,
    /// Heat number.
    #[arg(long, default_value = "")]
    pub(crate) heat: String,
    /// Where the heat number is marked, mm from the datum, as in 120,80.
    #[arg(long, value_name = "X,Y", value_parser = point)]
    pub(crate) heat_mark: Option<[f64; 2]>,
    /// Certificate.
    #[arg(long, default_value = "")]
    pub(crate) certificate: String,
    /// Direction of the grain, degrees counter-clockwise from x.
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    pub(crate) grain: Option<f64>,
    /// Finish.
    #[arg(long, default_value = "")]
    pub(crate) finish: String,
    /// Coating or film.
    #[arg(long, default_value = "")]
    pub(crate) coating: String,
    /// Which face is up.
    #[arg(long, default_value = "")]
    pub(crate) face_up: String,
    /// How its outer edges were made.
    #[arg(long, default_value = "mill")]
    pub(crate) edges: Edges,
    /// How its outline is known; gives the edges their give or take where --give-or-take does not.
    #[arg(long, value_name = "drawing|taped|measured|photo|delivered", value_parser = source)]
    pub(crate) known: Option<Source>,
    /// How far its edges may lie from where they are recorded.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) give_or_take: Option<f64>,
    /// How far it is bent up.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) bow: Option<f64>,
    /// Weight as weighed, kg.
    #[arg(long, value_name = "KG")]
    pub(crate) weight: Option<f64>,
    /// What it is worth.
    #[arg(long)]
    pub(crate) value: Option<f64>,
    /// Density, kg/m³, of a material the shop does not have.
    #[arg(long, default_value = "0")]
    pub(crate) density: f64,
    /// Notes.
    #[arg(long, default_value = "")]
    pub(crate) notes: String,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// `mill`, `sheared` or `own-cut`.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum Edges {
    Mill,
    Sheared,
    OwnCut,
}

impl Edges {
    pub(crate) fn kind(self) -> EdgeKind {
        match self {
            Self::Mill => EdgeKind::Mill,
            Self::Sheared => EdgeKind::Sheared,
            Self::OwnCut => EdgeKind::OwnCut,
        }
    }
}

/// List the sheets that are there, or those that match all words.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment rack list s235 3mm \"rack A\"\n\n\
    Exit code 1: no sheet matches.")]
pub(crate) struct ListArgs {
    /// Words to look for: label, material, thickness, place, heat number, order, …
    #[arg(value_name = "WORD")]
    pub(crate) words: Vec<String>,
    /// Those that are no more, too.
    #[arg(long)]
    pub(crate) all: bool,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Show all that is known of a sheet, and what was done to it.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment rack show R-0147")]
pub(crate) struct ShowArgs {
    /// Its label.
    #[arg(value_name = "LABEL")]
    pub(crate) label: String,
    /// Propose the straight cut that frees the most useful leftover, and how to cut up the rest.
    #[arg(long)]
    pub(crate) crop: bool,
    /// Full width of the slot of such a cut.
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "0.15")]
    pub(crate) kerf: f64,
    /// Pieces for the bin are no longer on a side.
    #[arg(long, value_name = "LENGTH", value_parser = bin, default_value = "600")]
    pub(crate) bin: f64,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Hold a sheet for an order, release it, or say that it stands elsewhere or was lifted.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    oddment rack hold R-0147 --for \"order 212\" --until 2026-03-31\n  \
    oddment rack hold R-0147 --release\n  oddment rack hold R-0147 --move-to \"rack B, slot 2\"")]
pub(crate) struct HoldArgs {
    /// Its label.
    #[arg(value_name = "LABEL")]
    pub(crate) label: String,
    /// The order it is held for.
    #[arg(long = "for", value_name = "ORDER", required_unless_present_any = ["release", "move_to", "lifted"])]
    pub(crate) order: Option<String>,
    /// The last day of it, such as 2026-03-31.
    #[arg(long, value_name = "DAY", requires = "order", value_parser = oddment_rack::when::last_day)]
    pub(crate) until: Option<i64>,
    /// Nobody holds it any more.
    #[arg(long, conflicts_with = "order")]
    pub(crate) release: bool,
    /// It stands here now.
    #[arg(long, value_name = "PLACE")]
    pub(crate) move_to: Option<String>,
    /// It was lifted off the bed: its newest edges are known no better than others now.
    #[arg(long)]
    pub(crate) lifted: bool,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Record that a plan was cut: the sheets lose the parts and their slots.
///
/// The plan's sheets are those of the rack with the same labels. Nothing more need be said where all
/// was cut as planned. A part is named with its copy, as in "gusset#2".
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  oddment rack record plan/plan.json\n  \
    oddment rack record plan.json --scrap \"gusset#2=burnt\" --never \"tab#4\" --order \"order 212\"")]
pub(crate) struct RecordArgs {
    /// The plan, as nest or bars --plan writes it.
    #[arg(value_name = "PLAN.json")]
    pub(crate) plan: PathBuf,
    /// A bar of the plan, by its number from 1, is this one of the rack.
    #[arg(long, value_name = "N=LABEL", value_parser = pair)]
    pub(crate) bar: Vec<(String, String)>,
    /// Heat number of bars that were bought for the plan.
    #[arg(long, value_name = "HEAT", default_value = "")]
    pub(crate) bought_heat: String,
    /// A plan for bars bought for it was cut once more.
    #[arg(long)]
    pub(crate) again: bool,
    /// Look for the plan's drawings in this folder, by name.
    #[arg(long, value_name = "DIR")]
    pub(crate) drawings: Option<PathBuf>,
    /// A sheet of the plan is this one of the rack: its name in the plan, “=”, its label. Where a plan
    /// uses several sheets of one name, once for each, in order.
    #[arg(long, value_name = "NAME=LABEL", value_parser = pair)]
    pub(crate) sheet: Vec<(String, String)>,
    /// A part that is scrap, and why.
    #[arg(long, value_name = "PART#COPY=WHY")]
    pub(crate) scrap: Vec<String>,
    /// A part that was begun and not finished.
    #[arg(long, value_name = "PART#COPY")]
    pub(crate) half_cut: Vec<String>,
    /// A part that was not begun.
    #[arg(long, value_name = "PART#COPY")]
    pub(crate) never: Vec<String>,
    /// The sheet still lies on the bed as it was cut.
    #[arg(long)]
    pub(crate) on_bed: bool,
    /// Minutes that it took.
    #[arg(long, value_parser = minutes)]
    pub(crate) minutes: Option<f64>,
    /// How the sheet lay when it was squared up: x, y and degrees.
    #[arg(long, value_name = "X,Y,DEGREES", value_parser = pose, allow_hyphen_values = true)]
    pub(crate) squared_up: Option<[f64; 3]>,
    /// The order it was cut for.
    #[arg(long)]
    pub(crate) order: Option<String>,
    /// The order asks for a certificate.
    #[arg(long)]
    pub(crate) certificate: bool,
    /// Where the heat number was marked anew, as in 120,80.
    #[arg(long, value_name = "X,Y", value_parser = point)]
    pub(crate) heat_mark: Option<[f64; 2]>,
    /// A straight cut across the sheet that was made too, such as X=402.5 or Y=300.
    #[arg(long, value_name = "X=MM|Y=MM", value_parser = crop_line)]
    pub(crate) crop: Vec<Line>,
    /// The crop line and the cutting up of the skeleton, where the shop's order asks for them, were
    /// not made.
    #[arg(long)]
    pub(crate) no_last_cuts: bool,
    /// Keep all leftovers, whatever the keep rule says.
    #[arg(long, conflicts_with = "keep_nothing")]
    pub(crate) keep_all: bool,
    /// Keep none.
    #[arg(long)]
    pub(crate) keep_nothing: bool,
    /// Record it though the plan is not clear: it was cut all the same.
    #[arg(long)]
    pub(crate) anyway: bool,
    /// Say what it would do, what is kept and what is scrap, and do nothing.
    #[arg(long)]
    pub(crate) preview: bool,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Take back the latest event, or one by its number: the sheets are as they were before.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment rack undo")]
pub(crate) struct UndoArgs {
    /// The event's number, as `oddment rack show` tells it.
    #[arg(value_name = "EVENT")]
    pub(crate) event: Option<i64>,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Find the sheets that have room for a part, at any angle, or the bars that are long enough; the
/// smallest first.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    oddment rack find --part guard.dxf --material S235 --thickness 3\n  \
    oddment rack find \"rack A\" --size 400x300 --thickness 3 --bed 3000x1500 --lift 45\n  \
    oddment rack find \"square tube 40\" --length 1200\n\n\
    Exit code 1: no sheet has room, or none could be decided.")]
pub(crate) struct FindArgs {
    /// Words to look for in what is known of the sheet.
    #[arg(value_name = "WORD")]
    pub(crate) words: Vec<String>,
    /// The part's drawing.
    #[arg(long, value_name = "DRAWING", required_unless_present_any = ["size", "length"])]
    pub(crate) part: Option<PathBuf>,
    /// A rectangle in place of a drawing.
    #[arg(long, value_name = "WxH", value_parser = size, conflicts_with = "part")]
    pub(crate) size: Option<[f64; 2]>,
    /// A length of bar, whatever is lost at its ends with it.
    #[arg(long, value_name = "LENGTH", value_parser = length, conflicts_with_all = ["part", "size"])]
    pub(crate) length: Option<f64>,
    #[command(flatten)]
    pub(crate) units: UnitsArg,
    /// Only sheets of this material, or of one that may stand in for it.
    #[arg(long)]
    pub(crate) material: Option<String>,
    /// Only sheets of this thickness.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) thickness: Option<f64>,
    /// The order it is for: sheets held for it count too, and where it asks for a certificate only
    /// sheets that have one.
    #[arg(long)]
    pub(crate) order: Option<String>,
    #[command(flatten)]
    pub(crate) loadable: LoadableArgs,
    /// Seconds to look for at most (10 if not given).
    #[arg(long, value_name = "S", value_parser = crate::args::seconds, allow_hyphen_values = true)]
    pub(crate) seconds: Option<f64>,
    #[command(flatten)]
    pub(crate) clearances: ClearanceArgs,
    #[command(flatten)]
    pub(crate) turning: TurningArgs,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// List the profiles of bars: those to start from, and the shop's own; or add one.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  oddment rack profile square\n  \
    oddment rack profile --add \"Box 45\" --kind \"rectangular tube\" --measures 45,45,2.5,4")]
pub(crate) struct ProfileArgs {
    /// Words that the names must have.
    #[arg(value_name = "WORD")]
    pub(crate) words: Vec<String>,
    /// The name of a profile to add or to change.
    #[arg(long, value_name = "NAME", requires = "kind", requires = "measures")]
    pub(crate) add: Option<String>,
    /// Its kind: round, round tube, flat, rectangular tube, angle or channel.
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Its measures in the order that BARS.md tells.
    #[arg(long, value_name = "LENGTH,LENGTH…", value_delimiter = ',', value_parser = length)]
    pub(crate) measures: Vec<f64>,
    /// Density of its material, kg/m³.
    #[arg(long, default_value = "7850")]
    pub(crate) density: f64,
    /// The face that its weld seam must stay in: top, bottom, front or back.
    #[arg(long, value_parser = face)]
    pub(crate) seam: Option<Face>,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Print labels to stick on: the label in large letters and as a QR code, and the silhouette to scale.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  oddment rack label R-0147 --out label.pdf --paper roll62\n  \
    oddment rack label --matching \"rack A\" --out labels.pdf")]
pub(crate) struct LabelArgs {
    /// Labels of the sheets.
    #[arg(value_name = "LABEL", required_unless_present = "matching")]
    pub(crate) labels: Vec<String>,
    /// All sheets that match these words.
    #[arg(long, value_name = "WORDS", conflicts_with = "labels")]
    pub(crate) matching: Option<String>,
    /// The PDF to write.
    #[arg(long, value_name = "FILE.pdf")]
    pub(crate) out: PathBuf,
    /// What they are printed on.
    #[arg(long, default_value = "a4")]
    pub(crate) paper: Paper,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// What the machine can load; other sheets are left out.
#[derive(Clone, Copy, Debug, Args)]
pub(crate) struct LoadableArgs {
    /// The bed's reach: sheets that lie on it, either way round.
    #[arg(long, value_name = "WxH", value_parser = size)]
    pub(crate) bed: Option<[f64; 2]>,
    /// The heaviest sheet that can be lifted, kg.
    #[arg(long, value_name = "KG")]
    pub(crate) lift: Option<f64>,
    /// The most bow that the machine takes.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) bow: Option<f64>,
}

impl From<LoadableArgs> for Loadable {
    fn from(LoadableArgs { bed, lift, bow }: LoadableArgs) -> Self {
        Self { bed, weight: lift, bow }
    }
}

/// `a4`, `letter` or `roll62`.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum Paper {
    A4,
    Letter,
    Roll62,
}

/// Walk along the rack and say of each sheet whether it is there. A walk can be broken off and gone on
/// with; only its end changes what is known of the sheets.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  oddment rack stocktake begin \"rack A\"\n  \
    oddment rack stocktake there R-0147 R-0148\n  oddment rack stocktake moved R-0149 --to \"bay 2\"\n  \
    oddment rack stocktake end")]
pub(crate) struct StocktakeArgs {
    /// What to do; `status` where nothing is said.
    #[arg(default_value = "status")]
    pub(crate) step: Step,
    /// Labels of sheets; for begin, words that pick the sheets to be looked for.
    #[arg(value_name = "LABEL|WORD")]
    pub(crate) names: Vec<String>,
    /// Where a moved sheet stands now.
    #[arg(long, value_name = "PLACE")]
    pub(crate) to: Option<String>,
    /// What is damaged.
    #[arg(long, value_name = "WORDS")]
    pub(crate) how: Option<String>,
    /// At the end: sheets of which nothing was said are missing.
    #[arg(long)]
    pub(crate) rest_is_missing: bool,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// A step of a stock-take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Step {
    Begin,
    Status,
    There,
    Missing,
    Moved,
    Damaged,
    End,
}

/// Write the rack into another file: .csv the list, .json everything, .dxf one sheet.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  oddment rack export rack.csv\n  oddment rack export rack.json\n  \
    oddment rack export R-0147.dxf --sheet R-0147"
)]
pub(crate) struct ExportArgs {
    /// The file to write.
    #[arg(value_name = "FILE.csv|.json|.dxf")]
    pub(crate) file: PathBuf,
    /// The sheet, for a DXF; the file's name if not given.
    #[arg(long, value_name = "LABEL")]
    pub(crate) sheet: Option<String>,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Take another file into the rack: .csv a list, .json another shop's sheets, a folder of drawings.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  oddment rack import rack.csv\n  \
    oddment rack import remnants/ --material S235 --thickness 3 --stands \"rack A\"")]
pub(crate) struct ImportArgs {
    /// The file, or a folder of DXF or SVG drawings with a remnant each.
    #[arg(value_name = "FILE|FOLDER")]
    pub(crate) path: PathBuf,
    /// Material of drawings.
    #[arg(long)]
    pub(crate) material: Option<String>,
    /// Thickness of drawings.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) thickness: Option<f64>,
    /// Where they stand.
    #[arg(long, default_value = "")]
    pub(crate) stands: String,
    #[command(flatten)]
    pub(crate) units: UnitsArg,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Look through the whole shop file: nothing missing, every shape whole, all areas add up.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment rack check --shop shop.oddment\n\n\
    Exit code 1: something is wrong; there is a line for each problem.")]
pub(crate) struct CheckArgs {
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Put the newest good backup in the place of a damaged shop file, which is kept beside it.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment rack restore --shop shop.oddment\n\n\
    Close other programs that have the file open first. A sound file is left as it is.")]
pub(crate) struct RestoreArgs {
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}
