//! What is cut, on which machine, by whose values.

use oddment_core::sheet::Metal;
use oddment_files::job_file::{GivenClearances, SourcedJob};
use oddment_files::values::Values;
use oddment_rack::Shop;

use crate::args::{ClearanceArgs, CutOnArgs};
use crate::console::Console;
use crate::rack::{self, args::ShopArg};
use crate::refusal::Refusal;

/// Taken where nobody says what a cubic metre weighs, kg.
const STEEL: f64 = 7850.0;

/// The values to work with, and the density (kg/m³) of a material where the shop knows it.
pub(crate) struct CutOn {
    pub(crate) values: Values,
    /// The shop file, where one was named.
    pub(crate) shop: Option<Shop>,
    metal: Option<Metal>,
}

impl CutOn {
    /// # Errors
    /// Where the shop file can't be read, or there is no such machine.
    pub(crate) fn new(args: &CutOnArgs, console: &mut Console<'_>) -> Result<Self, Refusal> {
        let mut materials = Vec::new();
        let mut opened = None;
        let values = match &args.shop {
            Some(named) => {
                let shop = rack::open(&ShopArg { shop: named.clone() }, console)?;
                materials = shop.materials().map_err(rack::about(&shop))?;
                let values = shop.working_values().map_err(rack::about(&shop))?;
                opened = Some(shop);
                values
            }
            None => Values::starting().clone(),
        };
        if let Some(name) = &args.machine
            && values.table().machine(Some(name)).is_none()
        {
            let known: Vec<&str> =
                values.table().machines.iter().map(|m| m.name.as_str()).collect();
            let sentence = format!("there is no machine “{name}”; there are {}", known.join(", "));
            return Err(Refusal::about("--machine", sentence));
        }
        let metal = args.material.clone().zip(args.thickness).map(|(material, thickness)| {
            let known = materials.iter().find(|m| m.name.eq_ignore_ascii_case(&material));
            if known.is_none() {
                console.say(format_args!("{material} is weighed as steel, {STEEL} kg/m³."));
            }
            let density = known.map_or(STEEL, |m| m.density);
            Metal { material, thickness, density }
        });
        Ok(Self { values, shop: opened, metal })
    }

    /// Gives a job what was said: its metal where its sheets do not say, machine and gas, and where no
    /// job file says them the distances that follow and were not given.
    ///
    /// # Errors
    /// Where the machine does not cut metal so thick.
    pub(crate) fn apply(
        &self,
        job: &mut SourcedJob,
        args: &CutOnArgs,
        given: ClearanceArgs,
        from_file: bool,
    ) -> Result<(), Refusal> {
        let machine = args.machine.as_deref();
        if args.machine.is_some() {
            job.cut.machine.clone_from(&args.machine);
        }
        if args.gas.is_some() {
            job.cut.gas.clone_from(&args.gas);
        }
        // Sheets of the rack say what they are made of.
        let of_rack = job.job.stock.iter().find_map(|stock| stock.sheet.made_of.clone());
        let Some(metal) = self.metal.clone().or(of_rack) else { return Ok(()) };
        for stock in &mut job.job.stock {
            stock.sheet.made_of.get_or_insert_with(|| metal.clone());
        }
        if from_file {
            return Ok(());
        }
        let Some(clearances) = self.values.clearances(machine, metal.thickness) else {
            let sentence = format!("no value reaches metal {} mm thick", metal.thickness);
            return Err(Refusal::about("--thickness", sentence));
        };
        job.job.clearances = GivenClearances::from(given).or(clearances.into()).complete();
        if job.job.starts.is_some() {
            job.job.starts = given.starts(self.values.starts(machine, metal.thickness));
        }
        Ok(())
    }
}
