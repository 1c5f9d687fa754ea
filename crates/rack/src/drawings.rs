//! Files that are kept, each once, whatever it is called: drawings that sheets and parts came from, and
//! pictures of sheets.

use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;

use oddment_files::file::{FileFault, read_bytes};
use oddment_files::job_file::{Origin, SourcedJob, drawing_again};
use rusqlite::{OptionalExtension, params};
use sha2::{Digest, Sha256};

use crate::fault::ShopFault;
use crate::shop::{Act, Shop};

/// The hash (SHA-256, hexadecimal) by which a drawing is known.
pub fn hash(content: &[u8]) -> String {
    Sha256::digest(content).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A drawing to be kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drawn {
    name: String,
    content: Arc<[u8]>,
    hash: String,
}

impl Drawn {
    /// Of a file with this content.
    pub fn new(file: &Path, content: Vec<u8>) -> Self {
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        Self { name, hash: hash(&content), content: content.into() }
    }

    /// The drawing in a file.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn read(file: &Path) -> Result<Self, FileFault> {
        Ok(Self::new(file, read_bytes(file)?))
    }

    /// The drawings of a job's parts, by the part's name, where their files still show the parts as they are.
    pub fn of_parts(sourced: &SourcedJob) -> HashMap<String, Self> {
        let parts = sourced.job.wanted.iter().zip(&sourced.parts);
        let drawn = parts.filter_map(|(wanted, origin)| {
            let Origin::Drawing { path, region, .. } = origin else { return None };
            let (content, drawing) = drawing_again(origin)?;
            let same = drawing.regions.get(*region)?.region == wanted.part.region;
            same.then(|| (wanted.part.name.clone(), Self::new(path, content)))
        });
        drawn.collect()
    }

    /// The drawing of a job's sheet, where its file still shows the sheet as it is.
    pub fn of_sheet(sourced: &SourcedJob, stock: usize) -> Option<Self> {
        let origin = sourced.sheets.get(stock)?;
        let Origin::Drawing { path, .. } = origin else { return None };
        let (content, drawing) = drawing_again(origin)?;
        let bodies = &sourced.job.stock.get(stock)?.sheet.bodies;
        let same = bodies.len() == drawing.regions.len()
            && bodies
                .iter()
                .zip(&drawing.regions)
                .all(|(b, f)| b.region() == f.region.reinterpret());
        same.then(|| Self::new(path, content))
    }

    /// What its file is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The file's content.
    pub fn content(&self) -> &[u8] {
        &self.content
    }

    /// The hash by which it is known.
    pub fn hash(&self) -> &str {
        &self.hash
    }
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
