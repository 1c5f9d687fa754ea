//! `oddment compare`: which sheets should this come from? Its contract is COMPARE.md beside this crate.

pub(crate) mod args;
mod batch;
mod said;
mod tell;

use std::path::Path;

use oddment_app::compare::{Asked, hold_all, no_place, pose, why};
use oddment_core::compare::{Way, compare};
use oddment_core::job::Stop;
use oddment_core::units::LengthUnit;
use oddment_files::comparison::{Told, comparison_pdf, comparison_table};
use oddment_files::job_file::{CutWishes, GivenClearances, Origin, SourcedJob};
use oddment_files::outputs::{Besides, Choices, put, write_outputs};
use oddment_files::plan_file::RunFacts;
use oddment_files::values::Values;
use oddment_rack::Shop;
use oddment_rack::find::Loadable;

use crate::Outcome;
use crate::console::Console;
use crate::job;
use crate::nest;
use crate::rack;
use crate::refusal::Refusal;
use crate::search::{Limits, within};

use args::CompareArgs;
use said::{ComparisonSaid, NoPlaceSaid};

/// How often it is compared again where a sheet has changed meanwhile.
const AGAIN: usize = 3;

pub(crate) fn run(args: &CompareArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let batch = batch::Batch::of(args)?;
    let order = &batch.order;
    job::tell_notes(order, console);
    if let Some(dir) = &args.out {
        nest::prepare(dir)?;
    }
    let mut shop = rack::open(&args.shop, console)?;
    let values = shop.working_values().map_err(rack::about(&shop))?;
    let mut asked = asked(args, &batch, &values)?;
    asked.certificate = tell_certificate(args, &batch, &shop, console)?;
    let mut again = 0;
    let (posed, found, seconds) = loop {
        let posed =
            pose(&shop, &values, &asked).map_err(|why| Refusal::about("--material", why))?;
        if posed.labels.iter().all(Option::is_none) {
            let (thickness, material) = (args.thickness, &args.material);
            let with = if asked.certificate { " with a certificate" } else { "" };
            console.say(format_args!(
                "The rack has no {thickness} mm {material}{with} that nobody holds: fresh sheets are \
                 compared."
            ));
        }
        let (found, seconds) = within(Limits::from(args.search), console, |budget, meter| {
            on_threads(args.search.threads, || {
                compare(&posed.question, args.search.seed, budget, &mut |now| {
                    meter.found(tell::so_far(&posed.question, now), now.steps);
                })
            })
        });
        let now = shop.list().and_then(|list| Ok((list, shop.materials()?)));
        let (sheets, materials) = now.map_err(rack::about(&shop))?;
        let changed = posed.changed(&sheets, &materials);
        if changed.is_empty() || again >= AGAIN {
            break (posed, found, seconds);
        }
        again += 1;
        console.say(format_args!("{} changed meanwhile: comparing again.", changed.join(", ")));
    };
    let question = &posed.question;
    let (_, currency) = shop.name_and_currency().map_err(rack::about(&shop))?;
    let mut said = ComparisonSaid::new(question, &found, &batch.names);
    let nowhere = no_place(question, &found, &Stop::default());
    said.no_place = nowhere.iter().map(NoPlaceSaid::of).collect();
    said.why = why(question, &found);
    tell::tell(question, &found, (&said, &nowhere), (&currency, &batch.names), console);
    if let Some(file) = &args.csv {
        put(file, comparison_table(question, &found, &currency).as_bytes())
            .map_err(|why| Refusal::about(file.display(), why))?;
    }
    if let Some(file) = &args.pdf {
        let metal = format!("{} mm {}", args.thickness, args.material);
        let (title, why) = (args.order.clone().unwrap_or_else(|| "Order".into()), said.why.clone());
        let told =
            Told { title, orders: batch.names.clone(), metal, currency: currency.clone(), why };
        let about = |why: String| Refusal::about(file.display(), why);
        let pdf = comparison_pdf(question, &found, &told, LengthUnit::Mm);
        let pdf = pdf.map_err(|why| about(why.to_string()))?;
        put(file, &pdf).map_err(|why| about(why.to_string()))?;
    }
    if let (Some(dir), Some(best)) = (&args.out, found.ways.first()) {
        let run = RunFacts { seconds, steps: found.steps, seed: args.search.seed };
        write(dir, order, best, run, &values)?;
    }
    if let (true, Some(name), Some(best)) = (args.hold, &args.order, found.best()) {
        let used = best.sheets.iter().map(|s| s.candidate);
        said.held =
            hold_all(&mut shop, &posed, used, name).map_err(|why| Refusal::about("--hold", why))?;
    }
    (said.currency, said.seconds) = (currency, seconds);
    console.json(args.json.wanted, &said)?;
    Ok(Outcome::of(found.best().is_some()))
}

/// Whether one of the orders asks for a certificate, and says what that leaves out.
fn tell_certificate(
    args: &CompareArgs,
    batch: &batch::Batch,
    shop: &Shop,
    console: &mut Console<'_>,
) -> Result<bool, Refusal> {
    for name in args.order.iter().chain(&batch.names) {
        if shop.order(name).map_err(rack::about(shop))?.is_some_and(|order| order.certificate) {
            console.say(format_args!(
                "{name} asks for a certificate: sheets of the rack without one or without a heat \
                 number are left out; what is bought must come with one."
            ));
            return Ok(true);
        }
    }
    Ok(false)
}

fn asked(args: &CompareArgs, batch: &batch::Batch, values: &Values) -> Result<Asked, Refusal> {
    let machine = args.machine.as_deref();
    if let Some(name) = machine
        && values.table().machine(Some(name)).is_none()
    {
        let known: Vec<_> = values.table().machines.iter().map(|m| m.name.as_str()).collect();
        let sentence = format!("the shop has no machine {name}; it has {}", known.join(", "));
        return Err(Refusal::about("--machine", sentence));
    }
    let of_thickness = values.clearances(machine, args.thickness);
    let given: GivenClearances = args.clearances.into();
    let clearances = match args.job {
        Some(_) => batch.order.job.clearances,
        None => given.or(of_thickness.map(Into::into).unwrap_or_default()).complete(),
    };
    let fresh = (args.no_fresh || !args.fresh.is_empty()).then(|| args.fresh.clone());
    let given_loadable = Loadable::from(args.loadable);
    Ok(Asked {
        wanted: batch.wanted(),
        material: args.material.clone(),
        thickness: args.thickness,
        stand_ins: args.stand_ins,
        order: args.order.clone(),
        certificate: false,
        loadable: Loadable {
            bed: given_loadable
                .bed
                .or_else(|| values.machine(machine).map(|m| [m.bed.width, m.bed.height])),
            ..given_loadable
        },
        fresh,
        clearances,
        starts: batch.order.job.starts,
        cut: CutWishes { machine: args.machine.clone(), ..CutWishes::default() },
    })
}

fn on_threads<T: Send>(threads: Option<usize>, work: impl FnOnce() -> T + Send) -> T {
    match rayon::ThreadPoolBuilder::new().num_threads(threads.unwrap_or(0)).build() {
        Ok(pool) => pool.install(work),
        Err(_) => work(),
    }
}

/// Writes the plan of a way as `nest` does.
fn write(
    dir: &Path,
    order: &SourcedJob,
    way: &Way,
    run: RunFacts,
    values: &Values,
) -> Result<(), Refusal> {
    let sourced = SourcedJob {
        job: (*way.job).clone(),
        parts: order.parts.clone(),
        sheets: vec![Origin::Outline; way.job.stock.len()],
        ..SourcedJob::new(way.job.clearances)
    };
    let besides = Besides { run, ..Besides::default() };
    write_outputs(dir, &sourced, &way.checked, values, &Choices::default(), &besides)
        .map(drop)
        .map_err(|why| Refusal::about(dir.display(), why))
}
