//! The command line: what may be typed, what it means, and the help that says so.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use oddment_app::settings::ExportChoices;
use oddment_core::part::Turning;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_files::outputs::Choices;

use crate::capture::CaptureArgs;
use crate::compare::args::CompareArgs;
use crate::rack::args::RackArgs;

/// Plans new sheet-metal parts into partly used sheets and keeps the rack of remnants.
///
/// Without a command it opens its window. With one it does that step and ends, without a screen.
/// Lengths are typed with their unit (0.3mm, 1/8in, 0.06"); a bare number is in millimetres.
///
/// The program plans; it does not run a machine. Before you cut, check the sheet, its thickness
/// and the clamps, and follow the machine's manual and the people trained on it.
#[derive(Debug, Parser)]
#[command(
    name = "oddment",
    version,
    disable_help_subcommand = true,
    after_help = "Exit codes: 0 done, and the answer is yes; 1 done, and the answer is no; \
                  2 the input can't be used, and nothing was written."
)]
pub(crate) struct CommandLine {
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Read(ReadArgs),
    Nest(Box<NestArgs>),
    Fit(FitArgs),
    Shorten(ShortenArgs),
    Bars(BarsArgs),
    Check(CheckArgs),
    Compare(Box<CompareArgs>),
    Square(SquareArgs),
    Capture(Box<CaptureArgs>),
    Rack(RackArgs),
    Demo(DemoArgs),
}

/// Say what is in a drawing: its parts, their sizes, and what is wrong with it.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment read bracket.dxf\n\n\
    Exit code 1: there are parts, and something that a person must settle before they are cut.")]
pub(crate) struct ReadArgs {
    /// The drawing, DXF or SVG.
    #[arg(value_name = "DRAWING")]
    pub(crate) drawing: PathBuf,
    #[command(flatten)]
    pub(crate) units: UnitsArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Place parts on sheets, on as few of them as it can, and check the plan.
///
/// A sheet is a drawing of it (its outer contours are metal, contours inside them are what has
/// been cut out already) or a fresh rectangle. Say how many there are after a “=”.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    oddment nest --sheet offcut.dxf --part bracket.dxf=6 --part gusset.dxf=4 --out plan\n  \
    oddment nest --sheet 2500x1250=3 --part bracket.dxf=max --kerf 0.2mm --web 2mm --turn 90\n  \
    oddment nest --shop shop.oddment --sheet R-0147 --part bracket.dxf=6 --order 212 --out plan\n\n\
    Exit code 1: not every part wanted has a place; the plan of those that have is still written.")]
pub(crate) struct NestArgs {
    /// A sheet and how many there are: offcut.dxf, offcut.dxf=2, 2500x1250=3 or 100inx50in; with --shop
    /// also one of the rack by its label.
    #[arg(long, value_name = "SHEET[=COUNT]", num_args = 1.., required_unless_present = "job")]
    pub(crate) sheet: Vec<OsString>,
    /// A part and how many are wanted: bracket.dxf, bracket.dxf=6, or =max for as many as go in.
    #[arg(long, value_name = "DRAWING[=COUNT|=max]", num_args = 1.., required_unless_present = "job")]
    pub(crate) part: Vec<OsString>,
    /// A file with the whole job in it, for what flags can't say; flags given beside it win.
    #[arg(long, value_name = "JOB.json", conflicts_with_all = ["sheet", "part"])]
    pub(crate) job: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) units: UnitsArg,
    #[command(flatten)]
    pub(crate) cut: CutOnArgs,
    #[command(flatten)]
    pub(crate) export: ExportArgs,
    /// A folder to write plan.json, nest.dxf, picture.png and sheet.pdf (the set-up sheet) into, and
    /// where the metal is known cut.dxf and traveller.pdf.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) json: JsonArg,
    #[command(flatten)]
    pub(crate) clearances: ClearanceArgs,
    #[command(flatten)]
    pub(crate) turning: TurningArgs,
    #[command(flatten)]
    pub(crate) search: SearchArgs,
}

/// Is there any place at all for one of a part on a sheet? Proves it where there is none.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment fit --sheet offcut.dxf --part bracket.dxf\n\n\
    Exit code 1: it cannot fit, or that could not be decided.")]
pub(crate) struct FitArgs {
    /// The sheet: its drawing, or a rectangle such as 2500x1250.
    #[arg(long, value_name = "SHEET")]
    pub(crate) sheet: OsString,
    /// The part's drawing.
    #[arg(long, value_name = "DRAWING")]
    pub(crate) part: OsString,
    #[command(flatten)]
    pub(crate) units: UnitsArg,
    /// Seconds to look for at most (10 if not given).
    #[arg(long, value_name = "S", value_parser = seconds, allow_hyphen_values = true)]
    pub(crate) seconds: Option<f64>,
    /// Threads to use; as many as the machine has cores if not given.
    #[arg(long, value_name = "N", value_parser = threads, allow_hyphen_values = true)]
    pub(crate) threads: Option<usize>,
    #[command(flatten)]
    pub(crate) json: JsonArg,
    #[command(flatten)]
    pub(crate) clearances: ClearanceArgs,
    #[command(flatten)]
    pub(crate) turning: TurningArgs,
}

/// How short a strip of a given width takes all the parts?
///
/// The strip lies along x from the origin, its width along y. Distances are 0 unless given; parts
/// may touch then.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  oddment shorten strip.json --seconds 60\n\nstrip.json holds for example\n  \
    {\"name\": \"a\", \"strip_width\": 100, \"rotations_deg\": [0, 180],\n   \
    \"items\": [{\"quantity\": 4, \"outline\": [[0, 0], [40, 0], [0, 30]], \"holes\": []}]}\n\
    where rotations_deg may be \"any\"."
)]
pub(crate) struct ShortenArgs {
    /// The strip's width and the parts.
    #[arg(value_name = "INSTANCE.json")]
    pub(crate) instance: PathBuf,
    #[command(flatten)]
    pub(crate) json: JsonArg,
    #[command(flatten)]
    pub(crate) clearances: ClearanceArgs,
    #[command(flatten)]
    pub(crate) search: SearchArgs,
}

/// Cut bars, tube or profile to length from full lengths and remnants, at least cost.
///
/// Says which bars to cut and what from each, and proves how much less any plan could cost. Between
/// two parts there is one cut; where a grip is lost, one more parts it off.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  oddment bars cutlist.json --seconds 5\n\ncutlist.json holds for example\n  \
    {\"kerf\": 2.4, \"grips\": [40, 0],\n   \
    \"stock\": [{\"length\": 6000, \"cost\": 31.5}, {\"length\": 1830, \"count\": 1, \"cost\": 0}],\n   \
    \"parts\": [{\"length\": 712, \"count\": 8}, {\"length\": \"23 5/8in\", \"count\": 4}]}\n\
    in mm where no unit is written. A bar without a count is had as often as wanted; without a\n\
    cost, it costs its length.\n\n\
    Exit code 1: the bars do not suffice for all parts; the plan of those that are cut is written."
)]
pub(crate) struct BarsArgs {
    /// The parts, the bars, the kerf and the grips.
    #[arg(value_name = "CUTLIST.json")]
    pub(crate) list: PathBuf,
    /// A table of parts (CSV) to cut as well: length, count, name, angles, with headings or without.
    #[arg(long, value_name = "TABLE.csv")]
    pub(crate) parts: Option<PathBuf>,
    /// Write the set-up sheet (PDF) here.
    #[arg(long, value_name = "FILE.pdf")]
    pub(crate) sheet: Option<PathBuf>,
    /// Write the plan here, to be recorded with `oddment rack record`.
    #[arg(long, value_name = "PLAN.json")]
    pub(crate) plan: Option<PathBuf>,
    /// Cut from the rack's bars of the list's profile too: those of this shop file, or of the one used
    /// last where none is named.
    #[arg(long, value_name = "FILE", num_args = 0..=1)]
    #[expect(
        clippy::option_option,
        reason = "clap's way to say: not given, given, given with a file"
    )]
    pub(crate) shop: Option<Option<PathBuf>>,
    /// The order it is for: bars held for it count too.
    #[arg(long)]
    pub(crate) order: Option<String>,
    #[command(flatten)]
    pub(crate) json: JsonArg,
    /// Seconds to search for at most (10 if neither seconds nor steps are given).
    #[arg(long, value_name = "S", value_parser = seconds, allow_hyphen_values = true)]
    pub(crate) seconds: Option<f64>,
    /// Steps of search to do at most: the same plan again on any machine.
    #[arg(long, value_name = "N", value_parser = whole, allow_hyphen_values = true)]
    pub(crate) steps: Option<u64>,
}

/// Measure a saved plan again: is every distance kept?
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment check plan/plan.json\n\n\
    Exit code 1: the plan is not clear; there is a line for each fault.")]
pub(crate) struct CheckArgs {
    /// The plan, as nest writes it.
    #[arg(value_name = "PLAN.json")]
    pub(crate) plan: PathBuf,
    /// Look for the plan's drawings in this folder, by name.
    #[arg(long, value_name = "DIR")]
    pub(crate) drawings: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// Find how a plan's sheet lies on the bed from points measured on it, and check the plan as it is laid.
///
/// Drive to at least two places of the sheet with the beam off, better three or more, and type where
/// each is. Without points it lists places to drive to.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  oddment square plan/plan.json\n  \
    oddment square plan/plan.json --point A=112.4,80.6 --point B=1090.9,121.3 \\\n    \
    --point edge:500,0=611.0,98.0 --clamp 100,60,80,30 --snug --out laid\n\n\
    Exit code 1: the measurements leave something open or do not fit, or the plan is not clear as \
    laid.")]
pub(crate) struct SquareArgs {
    /// The plan, as nest writes it.
    #[arg(value_name = "PLAN.json")]
    pub(crate) plan: PathBuf,
    /// Which of the plan's sheets, from 1.
    #[arg(long, value_name = "N", default_value = "1", value_parser = sheet_number)]
    pub(crate) sheet: usize,
    /// A place of the sheet and where it is on the bed: a letter of the pointer list, or corner:X,Y,
    /// hole:X,Y or edge:X,Y near which it is on the sheet.
    #[arg(long, value_name = "PLACE=X,Y", num_args = 1.., allow_hyphen_values = true)]
    pub(crate) point: Vec<String>,
    /// A file of such places, one a line.
    #[arg(long, value_name = "FILE")]
    pub(crate) points: Option<PathBuf>,
    /// How far off a measured point may be.
    #[arg(long, value_name = "LENGTH", default_value = "0.5", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) pointer: f64,
    /// What the head reaches, from the bed's zero: WIDTHxHEIGHT.
    #[arg(long, value_name = "WxH", value_parser = bed)]
    pub(crate) bed: Option<[f64; 2]>,
    /// A clamp on the bed: X,Y,WIDTH,HEIGHT, and how far the head keeps from it if not as --head says.
    #[arg(long, value_name = "X,Y,W,H[,KEEP]", allow_hyphen_values = true)]
    pub(crate) clamp: Vec<String>,
    /// How far the head keeps from clamps.
    #[arg(long, value_name = "LENGTH", default_value = "10", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) head: f64,
    /// How the drawings for the machine are written: where they are cut on the bed; turned, with the
    /// datum corner at zero, for a machine that only shifts; or as on the sheet.
    #[arg(long, value_enum, default_value = "bed")]
    pub(crate) drawn: DrawnArg,
    /// Move what became short to the nearest clear place.
    #[arg(long)]
    pub(crate) snug: bool,
    /// Every point of the pointer list was driven to with the beam off, and was hit.
    #[arg(long)]
    pub(crate) ticked: bool,
    /// A sheet that it may be instead, where the measurements do not fit.
    #[arg(long, value_name = "DRAWING")]
    pub(crate) other: Vec<PathBuf>,
    /// Look for the plan's drawings in this folder, by name.
    #[arg(long, value_name = "DIR")]
    pub(crate) drawings: Option<PathBuf>,
    /// A folder to write the plan's files into, as laid.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

/// How drawings for the machine are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum DrawnArg {
    Bed,
    Turned,
    Sheet,
}

fn sheet_number(text: &str) -> Result<usize, String> {
    let number = text.parse().ok().filter(|n| *n >= 1);
    number.ok_or_else(|| "write which of the plan's sheets, from 1".to_owned())
}

fn bed(text: &str) -> Result<[f64; 2], String> {
    let sides = text.split_once('x').map(|(w, h)| [w, h].map(|t| parse_length(t, LengthUnit::Mm)));
    match sides {
        Some([Ok(width), Ok(height)]) if width > 0.0 && height > 0.0 => Ok([width, height]),
        _ => Err("write width and height of the bed, as in 3050x1550".to_owned()),
    }
}

/// Do the main job on the sample shop, start to finish.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  oddment demo --out demo")]
pub(crate) struct DemoArgs {
    /// A folder for the plan and for the drawings that it was made from.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) search: SearchArgs,
}

/// What the numbers of drawings mean.
#[derive(Clone, Copy, Debug, Args)]
pub(crate) struct UnitsArg {
    /// What the numbers of the drawings mean, where a drawing does not say or says it wrongly.
    #[arg(long, value_name = "UNITS")]
    pub(crate) units: Option<Units>,
}

/// `mm` or `in`.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum Units {
    Mm,
    In,
}

impl UnitsArg {
    pub(crate) fn unit(self) -> Option<LengthUnit> {
        self.units.map(|units| match units {
            Units::Mm => LengthUnit::Mm,
            Units::In => LengthUnit::Inch,
        })
    }
}

/// Whether the answer is printed for programs.
#[derive(Clone, Copy, Debug, Args)]
pub(crate) struct JsonArg {
    /// Print the answer as one JSON document on standard output.
    #[arg(long = "json")]
    pub(crate) wanted: bool,
}

/// The lengths of the rule of distances. What is not given comes from the starting values.
#[derive(Clone, Copy, Debug, Default, Args)]
#[command(next_help_heading = "Clearances (mm, or with a unit)")]
pub(crate) struct ClearanceArgs {
    /// Full width of the slot that the cutter leaves.
    #[arg(long, value_name = "LENGTH", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) kerf: Option<f64>,
    /// Metal to leave between two cuts.
    #[arg(long, value_name = "LENGTH", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) web: Option<f64>,
    /// Metal to leave along the sheet's outer edge.
    #[arg(long, value_name = "LENGTH", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) edge: Option<f64>,
    /// How near an old edge the head still senses the surface; the web if not given.
    #[arg(long, value_name = "LENGTH", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) sensing: Option<f64>,
    /// How far the sheet may lie from where the plan has it; 0 if not given.
    #[arg(long, value_name = "LENGTH", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) lay: Option<f64>,
    /// Whether every contour must have a place to start: a pierce in waste metal and its lead-in
    /// (off if not given).
    #[arg(long, value_name = "on|off", value_parser = starts)]
    pub(crate) starts: Option<bool>,
    /// From a pierce to what is kept and to old edges, where starts are on.
    #[arg(long, value_name = "LENGTH", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) pierce: Option<f64>,
    /// The shortest lead-in, where starts are on.
    #[arg(long, value_name = "LENGTH", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) lead: Option<f64>,
}

/// What is cut on which machine: distances that are not given follow from it.
#[derive(Clone, Debug, Default, Args)]
#[command(next_help_heading = "What is cut, and on which machine")]
pub(crate) struct CutOnArgs {
    /// What the sheets are made of, where their file does not say.
    #[arg(long, requires = "thickness")]
    pub(crate) material: Option<String>,
    /// How thick they are.
    #[arg(long, value_name = "LENGTH", requires = "material", value_parser = clearance, allow_hyphen_values = true)]
    pub(crate) thickness: Option<f64>,
    /// The machine, by its name; the shop's usual one if not given.
    #[arg(long)]
    pub(crate) machine: Option<String>,
    /// The gas; the usual one if not given.
    #[arg(long)]
    pub(crate) gas: Option<String>,
    /// What the order is called, for the travellers; one of the shop's that asks for a certificate is
    /// cut from sheets that have one.
    #[arg(long)]
    pub(crate) order: Option<String>,
    /// Work with the values and sheets of this shop file, or of the one used last where none is named.
    #[arg(long, value_name = "FILE", num_args = 0..=1)]
    #[expect(
        clippy::option_option,
        reason = "clap's way to say: not given, given, given with a file"
    )]
    pub(crate) shop: Option<Option<PathBuf>>,
}

/// How files are written.
#[derive(Clone, Copy, Debug, Args)]
#[command(next_help_heading = "How files are written (with --out)")]
pub(crate) struct ExportArgs {
    /// The cut as drawn, for a machine that keeps half a kerf off and leads in by itself.
    #[arg(long)]
    as_drawn: bool,
    /// Drawings of the cut, set-up sheet and traveller in inches.
    #[arg(long)]
    inch: bool,
    /// Papers on Letter instead of A4.
    #[arg(long)]
    letter: bool,
    /// Each part's own drawing too, turned as it lies: single-….dxf.
    #[arg(long)]
    singles: bool,
}

impl ExportArgs {
    /// The same, for what writes the files.
    pub(crate) fn choices(self) -> Choices {
        let Self { as_drawn, inch, letter, singles } = self;
        ExportChoices { as_drawn, inch, letter, singles }.choices()
    }
}

/// How parts may lie.
#[derive(Clone, Debug, Args)]
#[command(next_help_heading = "How parts may lie")]
pub(crate) struct TurningArgs {
    /// free: any angle (the default); none: only as drawn; 90: multiples of 90°.
    #[arg(long, value_name = "free|none|DEGREES", value_parser = turning, allow_hyphen_values = true)]
    pub(crate) turn: Option<Turning>,
    /// Parts may be laid with their other face up.
    #[arg(long)]
    pub(crate) flip: bool,
}

/// How long a search may go on, and how it is run.
#[derive(Clone, Copy, Debug, Args)]
#[command(next_help_heading = "Search (Ctrl-C ends it early and keeps the best plan so far)")]
pub(crate) struct SearchArgs {
    /// Seconds to search for at most (10 if neither seconds nor steps are given).
    #[arg(long, value_name = "S", value_parser = seconds, allow_hyphen_values = true)]
    pub(crate) seconds: Option<f64>,
    /// Steps of search to do at most; with a seed, the same plan again on any machine.
    #[arg(long, value_name = "N", value_parser = whole, allow_hyphen_values = true)]
    pub(crate) steps: Option<u64>,
    /// Seed of the random choices.
    #[arg(long, value_name = "N", default_value = "1", value_parser = whole, allow_hyphen_values = true)]
    pub(crate) seed: u64,
    /// Threads to use; as many as the machine has cores if not given.
    #[arg(long, value_name = "N", value_parser = threads, allow_hyphen_values = true)]
    pub(crate) threads: Option<usize>,
}

fn clearance(text: &str) -> Result<f64, String> {
    let mm = parse_length(text, LengthUnit::Mm).map_err(|fault| fault.to_string())?;
    if mm < 0.0 {
        return Err(format!("“{text}” is less than nothing; a distance is 0 or more"));
    }
    // Adding zero turns −0 into 0.
    Ok(mm + 0.0)
}

fn starts(text: &str) -> Result<bool, String> {
    match text {
        "on" => Ok(true),
        "off" => Ok(false),
        _ => Err(format!("“{text}” is neither on nor off")),
    }
}

fn turning(text: &str) -> Result<Turning, String> {
    match text {
        "free" => Ok(Turning::Free),
        "none" => Ok(Turning::none()),
        _ => match text.parse::<f64>() {
            Ok(degrees) if (0.0..=360.0).contains(&degrees) => {
                Ok(Turning::steps(degrees.to_radians()))
            }
            _ => Err(format!(
                "“{text}” is no way to turn; write free, none, or degrees from 0 to 360, as in 90"
            )),
        },
    }
}

pub(crate) fn seconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(seconds) if seconds.is_finite() && seconds >= 0.0 => Ok(seconds),
        _ => Err(format!("“{text}” is not a number of seconds; write for example 10 or 0.5")),
    }
}

fn whole(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| format!("“{text}” is no whole number of 0 or more"))
}

fn threads(text: &str) -> Result<usize, String> {
    let threads = text.parse().ok().filter(|n| (1..=256).contains(n));
    threads.ok_or_else(|| format!("“{text}” is no number of threads; write one from 1 to 256"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_well_formed() {
        CommandLine::command().debug_assert();
    }

    #[test]
    fn values_that_mean_nothing_are_refused() {
        for text in ["-1", "-0.3mm", "nan", "inf", "x", ""] {
            assert!(clearance(text).is_err(), "{text}");
            assert!(seconds(text).is_err(), "{text}");
        }
        for text in ["-90", "nan", "inf", "x", "", "361"] {
            assert!(turning(text).is_err(), "{text}");
        }
    }

    #[test]
    fn turns_are_multiples_of_what_is_typed() {
        let Ok(Turning::Only(angles)) = turning("90") else { panic!("not a list of angles") };
        let degrees: Vec<f64> = angles.iter().map(|a| a.to_degrees()).collect();
        assert_eq!(degrees, [0.0, 90.0, 180.0, 270.0]);
        assert_eq!(turning("none").unwrap(), Turning::none());
        assert_eq!(turning("free").unwrap(), Turning::Free);
    }

    #[test]
    fn sheets_and_parts_may_be_given_one_by_one_or_in_a_row() {
        let line = |args: &[&str]| {
            let Some(Command::Nest(nest)) = CommandLine::try_parse_from(args).unwrap().command
            else {
                panic!("not the command nest")
            };
            (nest.sheet, nest.part)
        };
        assert_eq!(
            line(&[
                "oddment", "nest", "--sheet", "a", "--sheet", "b", "--part", "c", "--part", "d"
            ]),
            line(&["oddment", "nest", "--sheet", "a", "b", "--part", "c", "d"]),
        );
    }
}
