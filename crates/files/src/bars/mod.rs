//! Cut lists for bars, in JSON and as tables, and the profiles a shop starts with.

mod list_json;
mod profiles;
mod table;

pub use list_json::{ReadCutList, read_cut_list};
pub use profiles::{profile_named, starter_profiles};
pub use table::{Column, RowFault, Table, read_table};
