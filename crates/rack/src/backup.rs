//! Copies of the shop file, made beside it and kept for a while.
//!
//! Of the newest ten all are kept; of older ones the newest of each day for two weeks, and of each
//! month after that.

use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};
use rusqlite::Connection;

use crate::fault::ShopFault;
use crate::shop::Shop;
use crate::when;

/// So many of the newest are kept, however old.
const NEWEST_KEPT: usize = 10;
/// For so many days the newest of each day is kept.
const DAYS_KEPT: i64 = 14;
/// Backups on opening are at least so many seconds apart.
const APART: i64 = 600;

/// The folder for the backups of a shop file.
pub fn folder(shop: &Path) -> PathBuf {
    let mut name = shop.as_os_str().to_owned();
    name.push(".backups");
    PathBuf::from(name)
}

/// The backups of a shop file, newest first, with the time (seconds since 1970) and the newest event
/// that their names tell.
fn backups(shop: &Path) -> Vec<(i64, i64, PathBuf)> {
    let Ok(entries) = fs::read_dir(folder(shop)) else { return Vec::new() };
    let read = |path: PathBuf| {
        let stem = path.file_name()?.to_str()?.strip_suffix(".oddment")?;
        let (at, event) = stem.split_once("-event-")?;
        let at = DateTime::parse_from_str(&format!("{at} +0000"), "%Y%m%dT%H%M%S %z").ok()?;
        Some((at.timestamp(), event.parse().ok()?, path))
    };
    let mut found: Vec<_> = entries.flatten().filter_map(|e| read(e.path())).collect();
    found.sort_by_key(|b| std::cmp::Reverse((b.0, b.1)));
    found
}

/// Makes a backup of an open file if anything has happened since the last one (and that was not just
/// now, unless `always`), and lets go of those that are no longer kept. `at` is now.
pub(crate) fn back_up(
    connection: &Connection,
    shop: &Path,
    at: i64,
    always: bool,
) -> Result<(), ShopFault> {
    let event: i64 =
        connection.query_row("SELECT coalesce(max(id), 0) FROM events", [], |row| row.get(0))?;
    if event == 0 && !always {
        return Ok(());
    }
    let last = backups(shop).into_iter().next();
    if last.is_some_and(|(then, of, _)| !always && (of == event || (at - then).abs() < APART)) {
        return Ok(());
    }
    let folder = folder(shop);
    let failed = |why: std::io::Error| ShopFault::System(format!("no backup can be made: {why}"));
    fs::create_dir_all(&folder).map_err(failed)?;
    let time = DateTime::<Utc>::from_timestamp(at, 0).unwrap_or_default().format("%Y%m%dT%H%M%S");
    let name = folder.join(format!("{time}-event-{event}.oddment"));
    if name.exists() {
        return Ok(());
    }
    let beside = folder.join(format!("{}.part", std::process::id()));
    let _ = fs::remove_file(&beside);
    let text = beside.to_string_lossy().into_owned();
    let made = connection
        .execute("VACUUM INTO ?1", [text])
        .map_err(ShopFault::from)
        .and_then(|_| fs::rename(&beside, &name).map_err(failed));
    if made.is_err() {
        let _ = fs::remove_file(&beside);
    }
    made?;
    for (_, _, old) in no_longer_kept(backups(shop), at) {
        // A backup too many does no harm.
        let _ = fs::remove_file(old);
    }
    Ok(())
}

fn no_longer_kept(backups: Vec<(i64, i64, PathBuf)>, now: i64) -> Vec<(i64, i64, PathBuf)> {
    let mut spans = HashSet::new();
    let mut gone = Vec::new();
    for (i, backup) in backups.into_iter().enumerate() {
        let day = backup.0.div_euclid(86_400);
        let is_recent = now.div_euclid(86_400) - day <= DAYS_KEPT;
        let month = DateTime::<Utc>::from_timestamp(backup.0, 0).unwrap_or_default();
        let span = if is_recent { day.to_string() } else { month.format("%Y-%m").to_string() };
        if !spans.insert(span) && i >= NEWEST_KEPT {
            gone.push(backup);
        }
    }
    gone
}

/// The newest backup that is whole.
pub fn newest_good(shop: &Path) -> Option<PathBuf> {
    backups(shop).into_iter().map(|(_, _, path)| path).find(|path| is_good(path))
}

/// What was put back in the place of a damaged shop file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PutBack {
    /// Where the damaged file is kept; `None` where there was none any more.
    pub aside: Option<PathBuf>,
    /// When the backup was made, seconds since 1970.
    pub made: i64,
}

impl PutBack {
    /// “The backup of 2026-03-09 14:05 is in the place of the shop file; …”.
    pub fn words(&self) -> String {
        let mut words = format!(
            "The backup of {} is in the place of the shop file; what was done since then is not in it.",
            when::moment(self.made)
        );
        if let Some(aside) = &self.aside {
            words += &format!(" The damaged file is kept as {}.", aside.display());
        }
        words
    }
}

/// Puts the newest good backup in the place of a damaged shop file, which is kept beside it under
/// another name. No other program should have it open.
///
/// # Errors
/// Where the shop file is sound, there is no good backup, or it can't be written.
pub fn put_back(shop: &Path) -> Result<PutBack, ShopFault> {
    match Shop::look_at(shop).and_then(|shop| shop.verify()) {
        Ok(verdict) if verdict.problems.is_empty() => {
            return Err(ShopFault::refused("the shop file is sound; it stays as it is"));
        }
        Ok(_) | Err(ShopFault::Damaged { .. } | ShopFault::NotAShop | ShopFault::Missing) => {}
        Err(other) => return Err(other),
    }
    let good = backups(shop).into_iter().find(|(_, _, path)| is_good(path));
    let Some((made, _, backup)) = good else {
        return Err(ShopFault::refused(format!(
            "there is no good backup in {}; go on from a copy of your own",
            folder(shop).display()
        )));
    };
    let named = |of: &Path, ending: &str| {
        let mut name = of.as_os_str().to_owned();
        name.push(ending);
        PathBuf::from(name)
    };
    let beside = named(shop, &format!(".{}.part", std::process::id()));
    let put = || {
        fs::copy(&backup, &beside)?;
        fs::File::open(&beside)?.sync_all()?;
        let mut aside = None;
        if shop.exists() {
            let time = DateTime::<Utc>::from_timestamp(when::now(), 0).unwrap_or_default();
            let name = named(shop, &format!(".damaged-{}", time.format("%Y%m%dT%H%M%S")));
            fs::rename(shop, &name)?;
            // Its journal belongs to it: SQLite would roll that back into the backup.
            let journal = named(shop, "-journal");
            if journal.exists() {
                fs::rename(&journal, named(&name, "-journal"))?;
            }
            aside = Some(name);
        }
        fs::rename(&beside, shop)?;
        Ok(aside)
    };
    put().map(|aside| PutBack { aside, made }).map_err(|why: std::io::Error| {
        // It may not be there at all; the first error is the one to tell of.
        let _ = fs::remove_file(&beside);
        ShopFault::System(why.to_string())
    })
}

fn is_good(path: &Path) -> bool {
    let looked = Shop::look_at(path).and_then(|backup| backup.verify());
    looked.is_ok_and(|verdict| verdict.problems.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_and_one_a_day_and_one_a_month_are_kept() {
        let day = 86_400;
        let now = 1_800_000_000;
        // Four a day for two months.
        let all: Vec<_> = (0..240).map(|i| (now - i * day / 4, 240 - i, PathBuf::new())).collect();
        let gone = no_longer_kept(all.clone(), now);
        let kept: Vec<_> = all.iter().filter(|b| !gone.contains(b)).map(|b| b.0).collect();
        assert!(kept[..10].iter().zip(&all).all(|(k, b)| *k == b.0));
        let recent = kept.iter().filter(|at| now - **at > 3 * day && now - **at < 14 * day);
        assert!((10..=12).contains(&recent.count()));
        let old = kept.iter().filter(|at| now - **at > 16 * day).count();
        assert!((1..=3).contains(&old), "{old}");
    }
}
