//! Files that are kept, each once, whatever it is called: drawings that sheets and parts came from, and
//! pictures of sheets.

use rusqlite::{OptionalExtension, params};
use sha2::{Digest, Sha256};

use crate::fault::ShopFault;
use crate::shop::{Act, Shop};

/// The hash (SHA-256, hexadecimal) by which a drawing is known.
pub fn hash(content: &[u8]) -> String {
    Sha256::digest(content).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Keeps a file in a change that is being made, and says its hash.
pub(crate) fn put_file(act: &Act<'_>, name: &str, content: &[u8]) -> Result<String, ShopFault> {
    let hash = hash(content);
    act.transaction.execute(
        "INSERT INTO drawings (hash, name, content) VALUES (?1, ?2, ?3) \
         ON CONFLICT (hash) DO NOTHING",
        params![hash, name, content],
    )?;
    Ok(hash)
}

impl Shop {
    /// Keeps a drawing and says its hash.
    ///
    /// # Errors
    /// Where it can't be written.
    pub fn keep_drawing(&mut self, name: &str, content: &[u8]) -> Result<String, ShopFault> {
        self.change("drawing", |act| {
            act.quietly();
            put_file(act, name, content)
        })
    }

    /// The hashes of all files that are kept.
    ///
    /// # Errors
    /// Where they can't be read.
    pub(crate) fn drawings(&self) -> Result<Vec<String>, ShopFault> {
        let mut statement = self.connection().prepare("SELECT hash FROM drawings ORDER BY hash")?;
        let rows = statement.query_map([], |row| row.get(0))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The name and content of the file with this hash.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn drawing(&self, hash: &str) -> Result<Option<(String, Vec<u8>)>, ShopFault> {
        let sql = "SELECT name, content FROM drawings WHERE hash = ?1";
        let read = |row: &rusqlite::Row<'_>| Ok((row.get(0)?, row.get(1)?));
        Ok(self.connection().query_row(sql, [hash], read).optional()?)
    }
}
