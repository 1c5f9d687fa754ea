//! A shop file: opening it, and the one way to change it.
//!
//! Every change is one transaction that holds the write lock from its start, so that what it read
//! cannot change before it writes. The journal is SQLite's rollback journal, never the write-ahead
//! log: that one needs memory shared between all who use the file, which a network share does not
//! give, and the file may be moved to one at any time. A rollback journal is safe wherever file locks
//! are, and a shop writes seldom. A file that another tool left with a write-ahead log is brought back
//! when it is opened.

mod act;
mod writer;

use std::cell::OnceCell;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{
    Connection, OpenFlags, OptionalExtension, Transaction, TransactionBehavior, params,
};

use crate::backup;
use crate::facts::Material;
use crate::fault::ShopFault;
use crate::merge::merged;
use crate::schema;
use crate::when;

use act::change_in;
pub(crate) use act::{Act, State, newest_state, outline, sheet_of};
use writer::{default_who, share_of, writer_of};

/// How long to wait for somebody else who is writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open shop file.
pub struct Shop {
    connection: Connection,
    path: PathBuf,
    who: String,
    /// Why nothing can be changed, if nothing can. Damage may be found only as the file is read.
    closed: OnceCell<ShopFault>,
    notices: Vec<String>,
}

/// What a new shop file starts with.
#[derive(Clone, Debug, PartialEq)]
pub struct NewShop {
    /// Its name.
    pub name: String,
    /// What prices are in, such as EUR.
    pub currency: String,
    /// Its materials.
    pub materials: Vec<Material>,
}

impl Shop {
    /// Makes a new shop file.
    ///
    /// # Errors
    /// [`ShopFault::Exists`] where there is a file already; where it can't be written.
    pub fn create(path: &Path, new: &NewShop) -> Result<Self, ShopFault> {
        if path.exists() {
            return Err(ShopFault::Exists);
        }
        // Made beside its place and then put there, so that there is never half of one.
        let mut beside = path.as_os_str().to_owned();
        beside.push(format!(".{}.part", std::process::id()));
        let beside = PathBuf::from(beside);
        let _ = fs::remove_file(&beside);
        let made = Self::write_new(&beside, new).and_then(|()| {
            let linked = fs::hard_link(&beside, path).or_else(|why| match why.kind() {
                std::io::ErrorKind::AlreadyExists => Err(why),
                // Where a file can't have two names.
                _ => fs::rename(&beside, path),
            });
            linked.map_err(|why| match why.kind() {
                std::io::ErrorKind::AlreadyExists => ShopFault::Exists,
                _ => ShopFault::System(why.to_string()),
            })
        });
        let _ = fs::remove_file(&beside);
        made?;
        Self::open(path)
    }

    fn write_new(path: &Path, new: &NewShop) -> Result<(), ShopFault> {
        let mut connection = Connection::open(path)?;
        let transaction = connection.transaction()?;
        schema::bring_up(&transaction, 0, schema::NEWEST)?;
        transaction.execute(
            "INSERT INTO shop (id, name, currency, next_label) VALUES (1, ?1, ?2, 1)",
            params![new.name, new.currency],
        )?;
        for material in &new.materials {
            put_material(&transaction, material)?;
        }
        Ok(transaction.commit()?)
    }

    /// Opens a shop file. One of an older version is brought up to date after a backup; one that can't
    /// be written or is damaged is opened for reading as far as it goes, see [`Self::closed`].
    ///
    /// # Errors
    /// Where it is no shop file, or nothing of it can be read.
    pub fn open(path: &Path) -> Result<Self, ShopFault> {
        if !path.is_file() {
            return Err(ShopFault::Missing);
        }
        let opened = Self::open_file(path);
        opened.map_err(|fault| match fault {
            // Without its head a file says nothing of itself; a backup beside it does.
            ShopFault::NotAShop | ShopFault::Damaged { .. } => match backup::newest_good(path) {
                Some(good) => ShopFault::Damaged { what: fault_words(&fault), backup: Some(good) },
                None => fault,
            },
            ShopFault::Busy(_) => ShopFault::Busy(writer_of(path)),
            other => other,
        })
    }

    fn open_file(path: &Path) -> Result<Self, ShopFault> {
        let may_write = fs::OpenOptions::new().write(true).open(path).is_ok();
        Self::open_as(path, may_write)
    }

    fn open_as(path: &Path, may_write: bool) -> Result<Self, ShopFault> {
        let mut closed = (!may_write).then(|| ShopFault::ReadOnly("it may not be written".into()));
        let flags = if may_write {
            OpenFlags::SQLITE_OPEN_READ_WRITE
        } else {
            OpenFlags::SQLITE_OPEN_READ_ONLY
        };
        let mut connection =
            Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
        connection.busy_timeout(PATIENCE)?;
        connection.pragma_update(None, "foreign_keys", true)?;
        connection.pragma_update(None, "trusted_schema", false)?;
        let mut notices = Vec::new();
        let version = schema::version(&connection)?;
        if may_write {
            connection.pragma_update(None, "synchronous", "FULL")?;
            if !has_rollback_journal(&connection) {
                notices.push(
                    "Another program keeps a write-ahead log of the shop file, which is not safe on a \
                     network share: close it and open the file again."
                        .to_owned(),
                );
            }
            if version < schema::NEWEST {
                backup::back_up(&connection, path, when::now(), true)?;
                let transaction =
                    connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
                // Somebody else may have done it meanwhile.
                let version = schema::version(&transaction)?;
                schema::bring_up(&transaction, version, schema::NEWEST)?;
                transaction.commit()?;
                notices.push(format!(
                    "The shop file was brought from version {version} to {}; a backup of the old \
                     one is in {}.",
                    schema::NEWEST,
                    backup::folder(path).display()
                ));
            }
        } else if version < schema::NEWEST {
            return Err(ShopFault::ReadOnly(
                "it is of an older version and would have to be brought up to date".into(),
            ));
        }
        if let Some(share) = share_of(path) {
            notices.push(format!(
                "The shop file is on a network share ({share}). It is safe there only where the \
                 share keeps file locks; if in doubt let one program at a time use it."
            ));
        }
        if let Err(fault) = glance(&connection, path) {
            let backup = backup::newest_good(path);
            closed = Some(ShopFault::Damaged { what: fault_words(&fault), backup });
        } else if closed.is_none() {
            // Without a backup the shop goes on, and knows of it.
            if let Err(why) = backup::back_up(&connection, path, when::now(), false) {
                if matches!(why, ShopFault::Damaged { .. }) {
                    let backup = backup::newest_good(path);
                    closed = Some(ShopFault::Damaged { what: fault_words(&why), backup });
                } else {
                    notices.push(format!("No backup was made: {why}"));
                }
            }
        }
        notices.extend(clock_words(&connection));
        let who = default_who();
        let closed = closed.map_or_else(OnceCell::new, OnceCell::from);
        Ok(Self { connection, path: path.to_path_buf(), who, closed, notices })
    }

    /// A shop file of any version as it is, to be read: nothing is brought up to date, no backup made, and
    /// none of the time spent that [`Self::open`] takes to look it through.
    ///
    /// # Errors
    /// Where it is no shop file, or nothing of it can be read.
    pub fn look_at(path: &Path) -> Result<Self, ShopFault> {
        if !path.is_file() {
            return Err(ShopFault::Missing);
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(path, flags)?;
        connection.busy_timeout(PATIENCE)?;
        connection.pragma_update(None, "trusted_schema", false)?;
        schema::version(&connection).map_err(|fault| match fault {
            ShopFault::Busy(_) => ShopFault::Busy(writer_of(path)),
            other => other,
        })?;
        let closed = OnceCell::from(ShopFault::ReadOnly("it is only looked through".into()));
        let path = path.to_path_buf();
        Ok(Self { connection, path, who: String::new(), closed, notices: Vec::new() })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Why nothing can be changed: it may only be read, or is damaged.
    pub fn closed(&self) -> Option<&ShopFault> {
        self.closed.get()
    }

    /// Damage was found in reading: nothing is changed from now on.
    pub(crate) fn close_as_damaged(&self, what: String) {
        self.closed.get_or_init(|| {
            let backup = backup::newest_good(&self.path);
            ShopFault::Damaged { what, backup }
        });
    }

    /// What a person should know of how it was opened, in sentences.
    pub fn notices(&self) -> &[String] {
        &self.notices
    }

    /// Who is at work, for the history.
    pub fn set_who(&mut self, who: impl Into<String>) {
        self.who = who.into();
    }

    /// Who is at work.
    pub fn who(&self) -> &str {
        &self.who
    }

    /// The shop's name and currency.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn name_and_currency(&self) -> Result<(String, String), ShopFault> {
        Ok(self.connection.query_row("SELECT name, currency FROM shop", [], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })?)
    }

    /// The number of the next label of the shop's own.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn next_label(&self) -> Result<i64, ShopFault> {
        Ok(self.connection().query_row("SELECT next_label FROM shop", [], |row| row.get(0))?)
    }

    /// The shop's materials.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn materials(&self) -> Result<Vec<Material>, ShopFault> {
        let mut statement = self.connection.prepare("SELECT facts FROM materials ORDER BY name")?;
        let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
        rows.map(|row| Ok(serde_json::from_str(&row?)?)).collect()
    }

    /// Adds a material, or changes the one of its name, by a person who `saw` this of it: what somebody
    /// else has changed meanwhile stays.
    ///
    /// # Errors
    /// Where both changed the same to something else, or it can't be written.
    pub fn set_material(
        &mut self,
        saw: Option<&Material>,
        material: &Material,
    ) -> Result<(), ShopFault> {
        self.change("material", |act| {
            let sql = "SELECT facts FROM materials WHERE name = ?1";
            let now = act.transaction.query_row(sql, [&material.name], |row| row.get(0));
            let now: Option<String> = now.optional()?;
            let now = now.map(|facts| serde_json::from_str::<Material>(&facts)).transpose()?;
            let material = merged(&material.name, &saw.cloned(), &Some(material.clone()), &now)?;
            let material = material.ok_or_else(|| ShopFault::refused("a material needs facts"))?;
            put_material(act.transaction, &material)?;
            act.say(format!("material {}", material.name));
            Ok(())
        })
    }

    pub(crate) fn connection(&self) -> &Connection {
        &self.connection
    }

    /// Does something in one transaction, as one event. Where `work` says nothing, nothing is done.
    pub(crate) fn change<T>(
        &mut self,
        kind: &'static str,
        work: impl FnOnce(&mut Act<'_>) -> Result<T, ShopFault>,
    ) -> Result<T, ShopFault> {
        if let Some(why) = self.closed() {
            return Err(why.clone());
        }
        let done = change_in(&mut self.connection, &self.path, &self.who, kind, work);
        done.map_err(|fault| match fault {
            ShopFault::Busy(_) => ShopFault::Busy(writer_of(&self.path)),
            ShopFault::Damaged { what, backup: None } => {
                let backup = backup::newest_good(&self.path);
                ShopFault::Damaged { what, backup }
            }
            other => other,
        })
    }
}

fn put_material(transaction: &Transaction<'_>, material: &Material) -> Result<(), ShopFault> {
    transaction.execute(
        "INSERT INTO materials (name, facts) VALUES (?1, ?2) \
         ON CONFLICT (name) DO UPDATE SET facts = excluded.facts",
        params![material.name, serde_json::to_string(material)?],
    )?;
    Ok(())
}

/// Sees to it that the file has a rollback journal, which it keeps from then on; whether it has: where
/// others have it open with a write-ahead log they would have to close it first.
fn has_rollback_journal(connection: &Connection) -> bool {
    let mode = |row: &rusqlite::Row<'_>| row.get::<_, String>(0);
    // Damage is told by whoever reads the file.
    connection
        .pragma_update_and_check(None, "journal_mode", "DELETE", mode)
        .is_ok_and(|mode| mode == "delete")
}

/// A file no larger (bytes) is looked through on opening, a fifth of a second at most; a larger one whenever a
/// backup is made.
const LOOKED_THROUGH: u64 = 16 << 20;

/// Whether the file can be read, at a glance; `oddment rack check` looks at all that it says.
fn glance(connection: &Connection, path: &Path) -> Result<(), ShopFault> {
    if fs::metadata(path).is_ok_and(|file| file.len() <= LOOKED_THROUGH) {
        let said: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
        if said != "ok" {
            // Below a heading of its own.
            return Err(ShopFault::damaged(said.lines().last().unwrap_or(&said)));
        }
    }
    for table in ["shop", "materials", "sheets", "states", "shapes", "events"] {
        let count = format!("SELECT count(*) FROM (SELECT 1 FROM {table} LIMIT 1000)");
        connection.query_row(&count, [], |row| row.get::<_, i64>(0))?;
    }
    Ok(())
}

/// That the clock stands before what was written last, where it does by more than clocks differ; no fault of the
/// file.
fn clock_words(connection: &Connection) -> Option<String> {
    const CLOCKS_DIFFER: i64 = 900;
    let newest = connection.query_row("SELECT max(at) FROM events", [], |row| row.get(0));
    let newest: i64 = newest.ok().flatten()?;
    (newest > when::now() + CLOCKS_DIFFER).then(|| {
        format!(
            "The clock of this computer stands before {}, when the shop file was last written: set it. Until \
             then what is done is dated with that moment.",
            when::moment(newest)
        )
    })
}

fn fault_words(fault: &ShopFault) -> String {
    match fault {
        ShopFault::Damaged { what, .. } => what.clone(),
        ShopFault::NotAShop => "its beginning is no shop file's".to_owned(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests;
