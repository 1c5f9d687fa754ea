//! Cut lists for bars, in JSON and as tables, the profiles a shop starts with, and the
//! set-up sheet of a plan.

mod list_json;
mod picture;
mod profiles;
mod setup_sheet;
mod table;

pub use list_json::{ReadCutList, read_cut_list};
pub use profiles::{profile_named, starter_profiles};
pub use setup_sheet::{bars_pages, bars_sheet};
pub use table::{Column, RowFault, Table, read_table};
