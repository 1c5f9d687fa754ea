//! What is open when the program starts.

use std::sync::Arc;

use oddment_core::plan::Plan;

use crate::open_job::OpenJob;
use crate::sample_shop::{SampleShop, SampleShopFault};

/// The sample shop's first order on its first sheet: what the first start shows.
///
/// # Errors
/// Never for the files that the program was tested with.
pub fn first_job() -> Result<OpenJob, SampleShopFault> {
    let shop = SampleShop::load()?;
    let (order, sheet) = (&shop.orders[shop.first_order], &shop.sheets[shop.first_sheet]);
    let sourced = shop.job(order, &[sheet], None)?;
    Ok(OpenJob { title: order.name.clone(), sourced: Arc::new(sourced), plan: Plan::default() })
}

/// One of the sample shop's orders, on the sheets of its metal: remnants first, as they stand in
/// the rack.
///
/// # Errors
/// Never for the files that the program was tested with.
pub fn sample_order(order: usize) -> Result<Option<OpenJob>, SampleShopFault> {
    let shop = SampleShop::load()?;
    let Some(order) = shop.orders.get(order) else { return Ok(None) };
    let sourced = shop.job(order, &shop.sheets_for(order)?, None)?;
    Ok(Some(OpenJob {
        title: order.name.clone(),
        sourced: Arc::new(sourced),
        plan: Plan::default(),
    }))
}

/// Names of the sample shop's orders.
pub fn sample_orders() -> Vec<String> {
    SampleShop::load()
        .map(|shop| shop.orders.into_iter().map(|o| o.name).collect())
        .unwrap_or_default()
}
