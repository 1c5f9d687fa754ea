//! What may be typed after `oddment compare`.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::Args;

use crate::args::{ClearanceArgs, JsonArg, SearchArgs, TurningArgs, UnitsArg};
use crate::rack::args::{LoadableArgs, ShopArg, length, size};

/// Compare the ways of cutting an order: which sheets should it come from?
///
/// Looks at the sheets of the rack that are of the material and thickness, that nobody else holds and
/// the machine can take, and at fresh sizes that can be bought. Says what each way costs, item by item,
/// and proves how much less any way could cost.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    oddment compare --part bracket.dxf=6 --part gusset.dxf=4 --material S235 --thickness 3\n  \
    oddment compare --part bracket.dxf=6 --material S235 --thickness 3 --fresh 2500x1250 --out plan\n\n\
    Exit code 1: no way places every part; those that place most are still told.")]
pub(crate) struct CompareArgs {
    /// A part and how many are wanted: bracket.dxf or bracket.dxf=6.
    #[arg(long, value_name = "DRAWING[=COUNT]", num_args = 1.., required_unless_present = "job")]
    pub(crate) part: Vec<OsString>,
    /// A file with the order in it; its sheets are not looked at.
    #[arg(long, value_name = "JOB.json", conflicts_with = "part")]
    pub(crate) job: Option<PathBuf>,
    /// When the order is due, such as 2026-03-09.
    #[arg(long, value_name = "DAY")]
    pub(crate) due: Option<String>,
    /// Another order to be cut together with it, and when it is due: chairs.json or
    /// chairs.json=2026-03-09.
    #[arg(long, value_name = "JOB.json[=DAY]", num_args = 1..)]
    pub(crate) with: Vec<OsString>,
    /// Material, such as S235.
    #[arg(long)]
    pub(crate) material: String,
    /// Thickness.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) thickness: f64,
    /// Materials that may stand in for it, too.
    #[arg(long)]
    pub(crate) stand_ins: bool,
    /// The order it is for: sheets held for it come into question, those held for others do not.
    #[arg(long, value_name = "NAME")]
    pub(crate) order: Option<String>,
    /// Hold the rack's sheets of the best way for the order.
    #[arg(long, requires = "order")]
    pub(crate) hold: bool,
    /// Sizes of fresh sheets that can be bought; usual ones if not given.
    #[arg(long, value_name = "WxH", num_args = 1.., value_parser = size, conflicts_with = "no_fresh")]
    pub(crate) fresh: Vec<[f64; 2]>,
    /// No sheet can be bought.
    #[arg(long)]
    pub(crate) no_fresh: bool,
    /// The machine that cuts it; the shop's usual one if not given.
    #[arg(long, value_name = "NAME")]
    pub(crate) machine: Option<String>,
    #[command(flatten)]
    pub(crate) loadable: LoadableArgs,
    /// Write every item of every way into a table (CSV).
    #[arg(long, value_name = "FILE.csv")]
    pub(crate) csv: Option<PathBuf>,
    /// Write the comparison to print (PDF).
    #[arg(long, value_name = "FILE.pdf")]
    pub(crate) pdf: Option<PathBuf>,
    /// A folder to write the best way's plan into, as nest does.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) units: UnitsArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
    #[command(flatten)]
    pub(crate) clearances: ClearanceArgs,
    #[command(flatten)]
    pub(crate) turning: TurningArgs,
    #[command(flatten)]
    pub(crate) search: SearchArgs,
}
