//! `oddment demo`: the main job on the sample shop, start to finish.

use std::path::{Path, PathBuf};

use oddment_app::sample_shop::{SampleShop, SampleShopFault};
use oddment_core::plan::{Count, Job};
use oddment_files::outputs::{Besides, Choices, write_outputs};
use oddment_files::setup_sheet::Carried;
use oddment_files::values::Values;

use crate::Outcome;
use crate::args::DemoArgs;
use crate::console::Console;
use crate::nest::{prepare, search, tell};
use crate::refusal::Refusal;

pub(crate) fn run(args: &DemoArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let shop = SampleShop::load().map_err(|fault| broken(&fault))?;
    let order = &shop.orders[shop.first_order];
    let sheet = &shop.sheets[shop.first_sheet];
    let drawings = match &args.out {
        Some(dir) => Some(write_drawings(dir)?),
        None => None,
    };
    let job = shop.job(order, &[sheet], drawings.as_deref()).map_err(|fault| broken(&fault))?;

    console.say("The sample shop makes cargo bikes.");
    console.say(format_args!(
        "Wanted today, for the order “{}”, of {} {} mm:",
        order.name, sheet.metal.material, sheet.metal.thickness
    ));
    for wanted in &job.job.wanted {
        if let Count::Exactly(n) = wanted.count {
            console.say(format_args!("  {n} × {}", wanted.part.name));
        }
    }
    tell_sheet(&job.job, &sheet.stands, console);
    let (plan, facts) = search(&job, args.search, console);
    tell(&job.job, &plan, console);
    if let Some(dir) = &args.out {
        let heats = sheet.heat.iter().map(|heat| (sheet.label.clone(), heat.clone())).collect();
        let carried = Carried { order: order.name.clone(), heats };
        let besides = Besides { carried, run: facts };
        let written =
            write_outputs(dir, &job, &plan, Values::starting(), &Choices::default(), &besides)
                .map_err(|fault| Refusal::about(dir.display(), fault))?;
        console.say("Written, beside the drawings that it was made from:");
        for file in written {
            console.say(format_args!("  {}", file.display()));
        }
    }
    console.say(
        "Before anybody cuts this: check the sheet, its thickness and the clamps, see that parts \
         can't tip up, mind fumes, fire and sharp edges, and follow the machine's manual.",
    );
    Ok(Outcome::of(plan.is_clear() && plan.plan().is_complete(&job.job)))
}

fn tell_sheet(job: &Job, stands: &str, console: &mut Console<'_>) {
    for stock in &job.stock {
        let bounds = stock.sheet.bounds();
        let cutouts: usize = stock.sheet.bodies.iter().map(|b| b.cutouts.len()).sum();
        console.say(format_args!(
            "Metal left over: sheet {} ({stands}), {:.0} × {:.0} mm with {cutouts} old cut-outs.",
            stock.sheet.name,
            bounds.max.x - bounds.min.x,
            bounds.max.y - bounds.min.y,
        ));
    }
    let c = &job.clearances;
    console.say(format_args!(
        "Kept clear: kerf {} mm, web {} mm, {} mm along mill edges, sensing {} mm.",
        c.kerf, c.web, c.edge.mill, c.sensing
    ));
}

/// Writes the shop's drawings under `dir`; returns the absolute path of their folder.
fn write_drawings(dir: &Path) -> Result<PathBuf, Refusal> {
    prepare(dir)?;
    let folder = dir.join("drawings");
    std::path::absolute(&folder)
        .and_then(|folder| SampleShop::write_drawings(&folder).map(|()| folder))
        .map_err(|error| {
            let sentence = format!("can't be written to ({error}); name another folder");
            Refusal::about(folder.display(), sentence)
        })
}

fn broken(fault: &SampleShopFault) -> Refusal {
    Refusal::about("the sample shop", fault)
}
