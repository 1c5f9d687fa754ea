//! Pictures of sheets, kept in the shop file beside the drawings.

use crate::drawings::put_file;
use crate::fault::ShopFault;
use crate::sheets::there;
use crate::shop::Shop;

/// No picture is larger (bytes): the shop file is copied whole for every backup.
pub const LARGEST: usize = 4_000_000;

/// No sheet has more pictures.
pub(crate) const MOST: usize = 12;

/// How the files of pictures begin, and what they are.
const KINDS: [(&[u8], &str); 2] = [(b"\x89PNG\r\n\x1a\n", "PNG"), (b"\xff\xd8\xff", "JPEG")];

/// Refuses what is no picture, or too large a one.
pub(crate) fn is_picture(name: &str, content: &[u8]) -> Result<(), ShopFault> {
    if !KINDS.iter().any(|(head, _)| content.starts_with(head)) {
        return Err(ShopFault::refused(format!("{name} is no picture; take a PNG or a JPEG")));
    }
    if content.len() > LARGEST {
        return Err(ShopFault::refused(format!(
            "{name} has {:.1} MB; make it smaller, up to {} MB are kept",
            content.len() as f64 / 1e6,
            LARGEST / 1_000_000
        )));
    }
    Ok(())
}

impl Shop {
    /// Keeps a picture (PNG or JPEG, up to 4 MB) of a sheet.
    ///
    /// # Errors
    /// Where it is no such picture, there is no such sheet, or it can't be written.
    pub fn add_picture(
        &mut self,
        label: &str,
        name: &str,
        content: &[u8],
    ) -> Result<(), ShopFault> {
        is_picture(name, content)?;
        self.change("picture", |act| {
            let mut state = act.state(label)?;
            there(&state.label, &state.facts)?;
            let hash = put_file(act, name, content)?;
            if state.facts.pictures.contains(&hash) {
                return Ok(());
            }
            if state.facts.pictures.len() >= MOST {
                return Err(ShopFault::refused(format!(
                    "{} has {MOST} pictures; take one away first",
                    state.label
                )));
            }
            state.facts.pictures.push(hash);
            act.put_state(state.sheet, Some(state.id), state.shape, &state.facts)?;
            act.say(format!("{}: a picture more", state.label));
            Ok(())
        })
    }

    /// Takes the picture with this hash off a sheet; an undo brings it back.
    ///
    /// # Errors
    /// Where there is no such sheet, or it can't be written.
    pub fn remove_picture(&mut self, label: &str, hash: &str) -> Result<(), ShopFault> {
        self.change_facts("picture", label, |facts, _, _| {
            facts.pictures.retain(|p| p != hash);
            Ok("a picture less".to_owned())
        })
    }
}
