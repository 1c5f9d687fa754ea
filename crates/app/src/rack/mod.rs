//! The shop file of the program: which one is meant, and the sample shop's.

mod act;
mod cut_said;
mod desk;
pub mod exchange;
pub mod fillers;
mod finding;
mod importing;
mod keeper;
mod label;
mod opening;
mod picture;
mod sample;

use std::path::{Path, PathBuf};

use oddment_rack::{NewShop, Shop, ShopFault};

use crate::keep::{Keep, write_whole};

pub use act::{RackAct, RackCard, Sought};
pub(crate) use cut_said::CutOfJob;
pub use cut_said::{CutSaid, Tried, starts_of};
pub(crate) use desk::Done;
pub use desk::{Desk, Listing};
pub use finding::Finding;
pub use importing::Importing;
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
    match named {
        Some(path) => open_and_remember(keep, path),
        None => match shop_meant(keep, None) {
            sample if sample == keep.shop => open_sample_shop(keep),
            // What is kept on a share that is not there is not swapped for another rack unasked.
            last => open_at(&last),
        },
    }
}

/// The shop file that is meant: the one that is named, the one used last, or the sample shop's.
pub fn shop_meant(keep: &Keep, named: Option<&Path>) -> PathBuf {
    let last = std::fs::read_to_string(&keep.last_shop).unwrap_or_default();
    match (named, last.trim()) {
        (Some(path), _) => path.to_path_buf(),
        (None, "") => keep.shop.clone(),
        (None, last) => PathBuf::from(last),
    }
}

/// Opens the sample shop's file, which is made where there is none.
///
/// # Errors
/// [`NoShop`].
pub fn open_sample_shop(keep: &Keep) -> Result<Shop, NoShop> {
    let path = &keep.shop;
    if !path.exists()
        && let Err(fault) = create_sample_shop(path)
        // Another program may have made it at the same time.
        && !path.exists()
    {
        return Err(NoShop { path: path.clone(), fault: ShopFault::System(fault.to_string()) });
    }
    open_and_remember(keep, path)
}

/// Makes a shop file with the sample shop's materials and no sheets, and opens it. It is named after its
/// file where it has no name.
///
/// # Errors
/// [`NoShop`].
pub fn new_shop(
    keep: &Keep,
    path: &Path,
    name: Option<String>,
    currency: String,
) -> Result<Shop, NoShop> {
    let failed = |fault| NoShop { path: path.to_path_buf(), fault };
    let materials = sample_materials().map_err(|w| failed(ShopFault::System(w.to_string())))?;
    let stem = || path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let new = NewShop { name: name.unwrap_or_else(stem), currency, materials };
    let shop = Shop::create(path, &new).map_err(failed)?;
    remember(keep, path);
    Ok(shop)
}

fn open_and_remember(keep: &Keep, path: &Path) -> Result<Shop, NoShop> {
    let shop = open_at(path)?;
    remember(keep, path);
    Ok(shop)
}

fn open_at(path: &Path) -> Result<Shop, NoShop> {
    Shop::open(path).map_err(|fault| NoShop { path: path.to_path_buf(), fault })
}

/// Remembers a shop file as the one used last.
pub fn remember(keep: &Keep, path: &Path) {
    let whole = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    // Where it can't be remembered it has to be named again.
    let _ = write_whole(&keep.last_shop, &whole.to_string_lossy());
}
