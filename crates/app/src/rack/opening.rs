//! Which shop file is open: another one, one of one's own, or the backup of a damaged one.

use oddment_rack::backup::put_back;

use super::{Desk, NoShop, RackAct, new_shop, open_sample_shop, open_shop};

/// What a new shop's prices are in where no other shop is open.
const CURRENCY: &str = "EUR";

impl Desk {
    /// Opens another shop file in place of the one that is open.
    pub(super) fn open_act(&self, act: RackAct) {
        match act {
            RackAct::OpenShop(path) => self.switch(Box::new(move |keep| {
                let shop = open_shop(keep, Some(&path))?;
                let said = format!("{} is open.", shop.path().display());
                Ok((shop, said))
            })),
            RackAct::OpenSampleShop => self.switch(Box::new(|keep| {
                Ok((open_sample_shop(keep)?, "The sample shop is open.".to_owned()))
            })),
            RackAct::NewShop(path) => {
                let known = self.currency();
                let currency = if known.is_empty() { CURRENCY } else { known }.to_owned();
                self.switch(Box::new(move |keep| {
                    let shop = new_shop(keep, &path, None, currency)?;
                    let said = format!("{} is made. Add its sheets.", path.display());
                    Ok((shop, said))
                }));
            }
            RackAct::PutBack => {
                let Some(path) = self.shop().1.map(std::path::Path::to_path_buf) else { return };
                self.switch(Box::new(move |keep| {
                    let done =
                        put_back(&path).map_err(|fault| NoShop { path: path.clone(), fault })?;
                    Ok((open_shop(keep, Some(&path))?, done.words()))
                }));
            }
            _ => {}
        }
    }
}
