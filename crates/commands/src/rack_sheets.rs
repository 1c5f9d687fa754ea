//! Sheets of a job that bear labels of the rack: their heat numbers, and what an order asks of them.

use std::collections::HashMap;

use oddment_core::check::CheckedPlan;
use oddment_files::job_file::SourcedJob;
use oddment_rack::record::Recording;
use oddment_rack::{Shop, ShopFault};

use crate::console::Console;
use crate::rack;
use crate::refusal::Refusal;

/// Leaves sheets out that have no certificate or no heat number, where the order asks for that.
///
/// # Errors
/// Where none is left, a locked part lies on one, or the shop file can't be read.
pub(crate) fn leave_out_uncertified(
    job: &mut SourcedJob,
    shop: &Shop,
    order: &str,
    console: &mut Console<'_>,
) -> Result<(), Refusal> {
    if !shop.order(order).map_err(rack::about(shop))?.is_some_and(|order| order.certificate) {
        return Ok(());
    }
    let mut left_out = Vec::new();
    for at in (0..job.job.stock.len()).rev() {
        let name = job.job.stock[at].sheet.name.clone();
        let lacks = match shop.sheet(&name) {
            Ok(sheet) => match sheet.entry.facts.lacks_for_certificate() {
                Some(lacks) => format!("it has no {lacks}"),
                None => continue,
            },
            Err(ShopFault::NoSheet(_)) => "it is not in the rack".to_owned(),
            Err(other) => return Err(rack::about(shop)(other)),
        };
        if job.locked.layouts.iter().any(|layout| layout.stock == at) {
            let why = format!(
                "{order} asks for a certificate, and a part is locked on {name}: {lacks}; take it off"
            );
            return Err(Refusal::about("--order", why));
        }
        left_out.push(format!("{name}: {lacks}"));
        job.job.stock.remove(at);
        job.sheets.remove(at);
        for layout in job.locked.layouts.iter_mut().filter(|layout| layout.stock > at) {
            layout.stock -= 1;
        }
    }
    if job.job.stock.is_empty() {
        let why = format!(
            "{order} asks for a certificate, and no sheet of the job has one ({})",
            left_out.join("; ")
        );
        return Err(Refusal::about("--order", why));
    }
    for sheet in left_out {
        console.say(format_args!("Left out, as {order} asks for a certificate: {sheet}."));
    }
    Ok(())
}

/// The heat numbers of the job's sheets, by label.
pub(crate) fn heats(job: &SourcedJob, shop: &Shop) -> HashMap<String, String> {
    let heat = |name: &String| Some((name.clone(), shop.sheet(name).ok()?.entry.facts.heat));
    job.job.stock.iter().filter_map(|stock| heat(&stock.sheet.name)).collect()
}

/// Tells what recording the plan would have to be warned of: above all that the place goes where a heat
/// number is marked.
pub(crate) fn warn(job: &SourcedJob, plan: &CheckedPlan, shop: &Shop, console: &mut Console<'_>) {
    for (at, layout) in plan.plan().layouts.iter().enumerate() {
        let label = job.job.stock[layout.stock].sheet.name.clone();
        let cut = [(at, label, Recording { anyway: true, ..Recording::default() })];
        // What is not in the rack, or not so, is told when it is recorded.
        for preview in shop.preview(&job.job, plan, &cut).into_iter().flatten() {
            for warning in preview.recorded.warnings {
                console.say(warning);
            }
        }
    }
}
