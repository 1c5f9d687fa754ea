//! Several equal sheets sawn into parts that may not turn: on how few sheets they go again.

use std::collections::BTreeMap;
use std::error::Error;
use std::fs;

use oddment_core::distances::Clearances;
use oddment_core::part::{Part, Turning};
use oddment_core::plan::{Count, Job, Stock, Wanted};
use oddment_core::shape::{Loop, LoopFault, Point, Region};
use oddment_core::sheet::{EdgeFacts, Sheet};
use oddment_files::strip_file::ItemGiven;
use serde::Deserialize;

use crate::puzzle::corpus;
use crate::report::Table;
use crate::timed::packed;

/// Seconds for each instance.
const SECONDS: f64 = 60.0;

#[derive(Deserialize)]
struct Instances {
    instances: BTreeMap<String, Instance>,
}

#[derive(Deserialize)]
struct Instance {
    bin: [f64; 2],
    optimal_bins: usize,
    items: Vec<ItemGiven>,
}

/// The instances of the corpus.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    if let Err(fault) = measure(&mut table) {
        eprintln!("error: {fault}");
    }
    table
}

fn measure(table: &mut Table) -> Result<(), Box<dyn Error>> {
    let Some(folder) = corpus("bins") else { return Ok(()) };
    let instances: Instances = serde_json::from_slice(&fs::read(folder.join("sheets.json"))?)?;
    let (mut optimal, mut most) = (0_i32, 0.0_f64);
    let count = instances.instances.len() as f64;
    for (name, instance) in instances.instances {
        let job = instance.job()?;
        let found = packed(&job, SECONDS, 1);
        let complete = found.plan.is_complete(&job);
        let over = if complete {
            found.plan.layouts.len() as f64 - instance.optimal_bins as f64
        } else {
            f64::INFINITY
        };
        table.add(format!("{name}: sheets over {}", instance.optimal_bins), over, "", Some(1.0));
        table.add(format!("{name}: faults"), found.faults as f64, "", Some(0.0));
        optimal += i32::from(over == 0.0);
        most = most.max(over);
    }
    table.reach("optimal", 100.0 * f64::from(optimal) / count, "%", 50.0);
    table.add("most over", most, "sheets", Some(1.0));
    Ok(())
}

impl Instance {
    fn job(&self) -> Result<Job, LoopFault> {
        let [width, height] = self.bin;
        let outline = Loop::rectangle(Point::origin(), Point::new(width, height))?;
        let metal = [Region::new(outline, Vec::new())];
        let sheet = Sheet::new("sheet", &metal, EdgeFacts::default());
        let wanted: Result<Vec<_>, LoopFault> = self
            .items
            .iter()
            .enumerate()
            .map(|(i, item)| {
                let mut part = Part::new(format!("item {i}"), item.region()?);
                part.turning = Turning::none();
                Ok(Wanted { part, count: Count::Exactly(item.quantity) })
            })
            .collect();
        let stock = vec![Stock { sheet, count: self.optimal_bins + 3 }];
        Ok(Job { stock, wanted: wanted?, clearances: Clearances::NONE, starts: None })
    }
}
