//! The order of bars as it is kept and opened again.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use oddment_files::bars::{
    Beside, is_bar_plan, read_bar_plan, read_cut_list, write_bar_plan, write_cut_list,
};
use serde::{Deserialize, Serialize};

use super::{BarOrder, PlannedBars};

/// The order as it is kept. Lists and plans are texts of their own formats.
#[derive(Serialize, Deserialize)]
struct Kept {
    title: String,
    file: Option<PathBuf>,
    from_rack: bool,
    list: String,
    plan: Option<String>,
}

pub(super) fn as_text(order: &BarOrder, file: Option<PathBuf>) -> serde_json::Result<String> {
    serde_json::to_string(&Kept {
        title: order.title.clone(),
        file,
        from_rack: order.from_rack,
        list: write_cut_list(&order.list),
        plan: order.planned.as_ref().map(|p| write_bar_plan(&order.title, &p.list, &p.plan)),
    })
}

/// The order kept in `path`, if there is any, and where it was saved last.
///
/// # Errors
/// A sentence where something is there that cannot be read; it is moved aside, not lost.
pub(super) fn restore(path: &Path) -> Result<Option<(BarOrder, Option<PathBuf>)>, String> {
    let Ok(text) = std::fs::read_to_string(path) else { return Ok(None) };
    read(&text).map(Some).map_err(|why| {
        let aside = crate::autosave::put_aside(path);
        format!("the order of bars cannot be read ({why}); it lies in {}", aside.display())
    })
}

fn read(text: &str) -> Result<(BarOrder, Option<PathBuf>), String> {
    let kept: Kept = serde_json::from_str(text).map_err(|why| why.to_string())?;
    let list = read_cut_list(&kept.list, Beside::default()).map_err(|f| first(&f))?.list;
    let planned = match &kept.plan {
        Some(plan) => {
            let read = read_bar_plan(plan).map_err(|f| first(&f))?;
            Some(Arc::new(PlannedBars::new(Arc::new(read.list), read.plan)))
        }
        None => None,
    };
    let order = BarOrder { title: kept.title, list, from_rack: kept.from_rack, planned };
    Ok((order, kept.file))
}

fn first<T: ToString>(faults: &[T]) -> String {
    faults.first().map(ToString::to_string).unwrap_or_default()
}

/// Whether a file is about bars, and if so its order: of a plan for bars, in which bars that the rack
/// has are told by `in_rack`, or of a cut list. `title` is for what has none.
///
/// # Errors
/// All that is wrong with it, in sentences.
pub fn open_bars(
    text: &str,
    title: String,
    in_rack: impl Fn(&str) -> bool,
) -> Option<Result<BarOrder, Vec<String>>> {
    let in_words = |faults: Vec<oddment_files::job_file::JobFault>| {
        faults.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    if is_bar_plan(text) {
        return Some(read_bar_plan(text).map_err(in_words).map(|read| {
            let whole = Arc::new(read.list);
            let mut list = (*whole).clone();
            list.stock.retain(|bar| bar.count.is_none() || !in_rack(&bar.name));
            let from_rack = list.stock.len() < whole.stock.len();
            let title = if read.title.is_empty() { title } else { read.title };
            let planned =
                (!read.plan.bars.is_empty()).then(|| Arc::new(PlannedBars::new(whole, read.plan)));
            BarOrder { title, list, from_rack, planned }
        }));
    }
    // A job of sheets names its format; a cut list does not.
    let value: serde_json::Value = serde_json::from_str(text).ok()?;
    if value.get("format").is_some() || value.get("stock").is_none() {
        return None;
    }
    Some(read_cut_list(text, Beside::default()).map_err(in_words).map(|read| BarOrder {
        title,
        list: read.list,
        from_rack: false,
        planned: None,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bars::sample_bars;
    use oddment_core::job::{Budget, Stop};

    #[test]
    fn an_order_comes_back_with_its_plan() {
        let mut order = sample_bars();
        let budget = Budget { steps: Some(50), time_up: &|| false, stop: Stop::default() };
        let plan = order.list.plan(&budget, &mut |_| {}).unwrap();
        let list = Arc::new(order.list.clone());
        order.planned = Some(Arc::new(PlannedBars::new(list, plan)));
        let file = Some(PathBuf::from("/a.json"));
        let text = as_text(&order, file.clone()).unwrap();
        assert_eq!(read(&text).unwrap(), (order, file));
        assert!(read("{}").is_err());
    }

    #[test]
    fn files_about_bars_are_told_from_others() {
        let order = sample_bars();
        let list = write_cut_list(&order.list);
        let opened = open_bars(&list, "a".into(), |_| false).unwrap().unwrap();
        assert_eq!((opened.title.as_str(), opened.list), ("a", order.list.clone()));
        assert!(
            open_bars("{\"format\": \"oddment-job\", \"stock\": []}", "a".into(), |_| false)
                .is_none()
        );
        assert!(open_bars("[1, 2]", "a".into(), |_| false).is_none());
        assert!(open_bars("{\"stock\": 3}", "a".into(), |_| false).unwrap().is_err());
    }
}
