//! Cut lists for bars, in JSON and as tables, the profiles a shop starts with, and the
//! set-up sheet of a plan.

mod list_json;
mod picture;
mod plan_json;
mod profiles;
mod setup_sheet;
mod table;

pub use list_json::{Beside, ReadCutList, read_cut_list};
pub use plan_json::{ReadBarPlan, is_bar_plan, read_bar_plan, write_bar_plan, write_cut_list};
pub use profiles::{
    is_same_name, kind_and_measures, measures_of, profile_among, profile_named, section,
    starter_profiles,
};
pub use setup_sheet::{bars_pages, bars_sheet};
pub use table::{Column, RowFault, Table, read_table};
