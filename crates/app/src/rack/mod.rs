//! The shop file of the program: which one is meant, and the sample shop's.

mod cut_said;
mod desk;
pub mod fillers;
mod finding;
mod keeper;
mod label;
mod picture;
mod sample;

use std::path::{Path, PathBuf};

use oddment_rack::{Shop, ShopFault};

use crate::keep::{Keep, write_whole};

pub(crate) use cut_said::CutOfJob;
pub use cut_said::{CutSaid, Tried, starts_of};
pub(crate) use desk::Done;
pub use desk::{Desk, Listing, RackAct, Sought};
pub use finding::Finding;
pub use label::label_of;
pub use picture::Picture;
pub use sample::{SampleRackFault, create_sample_shop, sample_materials};

/// Why there is no open shop file: which file, and what is wrong with it.
#[derive(Debug, thiserror::Error)]
#[error("{}: {fault}", path.display())]
pub struct NoShop {
    /// The file.
    pub path: PathBuf,
    /// What is wrong.
    pub fault: ShopFault,
}

/// Opens the shop file that is named; where none is, the one used last; on the first start the sample
/// shop's, which is made then. A file that was named is the one used last from then on.
///
/// # Errors
/// [`NoShop`].
pub fn open_shop(keep: &Keep, named: Option<&Path>) -> Result<Shop, NoShop> {
    let path = named.map_or_else(|| last_used(keep), Path::to_path_buf);
    let failed = |fault| NoShop { path: path.clone(), fault };
    if named.is_none() && path == keep.shop && !path.exists() {
        let made = create_sample_shop(&path);
        // Another program may have made it at the same time.
        if let Err(fault) = made
            && !path.exists()
        {
            return Err(failed(ShopFault::System(fault.to_string())));
        }
    }
    let shop = Shop::open(&path).map_err(failed)?;
    if named.is_some() {
        remember(keep, &path);
    }
    Ok(shop)
}

/// Remembers a shop file as the one used last.
pub fn remember(keep: &Keep, path: &Path) {
    let whole = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    // Where it can't be remembered it has to be named again.
    let _ = write_whole(&keep.last_shop, &whole.to_string_lossy());
}

fn last_used(keep: &Keep) -> PathBuf {
    let text = std::fs::read_to_string(&keep.last_shop).unwrap_or_default();
    let last = Path::new(text.trim());
    if text.trim().is_empty() || !last.exists() { keep.shop.clone() } else { last.to_path_buf() }
}
