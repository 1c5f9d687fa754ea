//! `oddment check`: a saved plan, measured again.

use oddment_core::check::check;
use oddment_files::plan_file::{read_plan, write_check};

use crate::Outcome;
use crate::args::CheckArgs;
use crate::console::Console;
use crate::input;
use crate::nest::tell_check;
use crate::refusal::Refusal;

pub(crate) fn run(args: &CheckArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let text = input::text(&args.plan)?;
    let (job, plan) = read_plan(&text, args.drawings.as_deref())
        .map_err(|faults| Refusal::each(args.plan.display(), &faults))?;
    let checked = check(&job.job, plan);
    console.print(args.json.wanted, &write_check(&job.job, &checked))?;
    tell_check(&job.job, &checked, console);
    Ok(Outcome::of(checked.is_clear()))
}
