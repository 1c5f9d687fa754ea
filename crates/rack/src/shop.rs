//! A shop file: opening it, and the one way to change it.
//!
//! Every change is one transaction that holds the write lock from its start, so that what it read
//! cannot change before it writes. The journal is SQLite's rollback journal, never the write-ahead
//! log: that one needs memory shared between all who use the file, which a network share does not
//! give, and the file may be moved to one at any time. A rollback journal is safe wherever file locks
//! are, and a shop writes seldom.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use oddment_core::sheet::Sheet;
use rusqlite::{
    Connection, OpenFlags, OptionalExtension, Transaction, TransactionBehavior, params,
};

use crate::backup;
use crate::facts::{Facts, Material};
use crate::fault::ShopFault;
use crate::label;
use crate::outline::Outline;
use crate::schema;
use crate::when;

/// How long to wait for somebody else who is writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open shop file.
pub struct Shop {
    connection: Connection,
    path: PathBuf,
    who: String,
    /// Why nothing can be changed, if nothing can.
    closed: Option<ShopFault>,
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
        if let Err(fault) = glance(&connection) {
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
        let who = default_who();
        Ok(Self { connection, path: path.to_path_buf(), who, closed, notices })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Why nothing can be changed: it may only be read, or is damaged.
    pub fn closed(&self) -> Option<&ShopFault> {
        self.closed.as_ref()
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

    /// The shop's materials.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn materials(&self) -> Result<Vec<Material>, ShopFault> {
        let mut statement = self.connection.prepare("SELECT facts FROM materials ORDER BY name")?;
        let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
        rows.map(|row| Ok(serde_json::from_str(&row?)?)).collect()
    }

    /// Adds a material, or changes the one of its name.
    ///
    /// # Errors
    /// Where it can't be written.
    pub fn set_material(&mut self, material: &Material) -> Result<(), ShopFault> {
        self.change("material", |act| {
            put_material(act.transaction, material)?;
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
        if let Some(why) = &self.closed {
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

fn change_in<T>(
    connection: &mut Connection,
    path: &Path,
    who: &str,
    kind: &str,
    work: impl FnOnce(&mut Act<'_>) -> Result<T, ShopFault>,
) -> Result<T, ShopFault> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let _writing = Writing::begin(path, who);
    // The event is written last, when it is known what there is to say.
    transaction.pragma_update(None, "defer_foreign_keys", true)?;
    let (last, before): (i64, i64) = transaction.query_row(
        "SELECT coalesce(max(id), 0), coalesce(max(at), 0) FROM events",
        [],
        |row| Ok((row.get(0)?, row.get(1)?)),
    )?;
    // A clock that was set back does not turn history round.
    let at = when::now().max(before);
    let mut act = Act {
        transaction: &transaction,
        event: last + 1,
        at,
        who,
        said: None,
        undoes: None,
        quietly: false,
    };
    let done = work(&mut act)?;
    let quietly = act.quietly;
    let (Some(said), undoes) = (act.said.take(), act.undoes) else {
        if quietly {
            transaction.commit()?;
        }
        return Ok(done);
    };
    transaction.execute(
        "INSERT INTO events (id, at, who, kind, said, undoes) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        params![last + 1, at, who, kind, said, undoes],
    )?;
    transaction.commit()?;
    Ok(done)
}

/// A change being made.
pub(crate) struct Act<'a> {
    pub(crate) transaction: &'a Transaction<'a>,
    /// Number of the event that it becomes.
    pub(crate) event: i64,
    /// When, seconds since 1970.
    pub(crate) at: i64,
    pub(crate) who: &'a str,
    said: Option<String>,
    pub(crate) undoes: Option<i64>,
    /// Whether it is written though nothing is said of it.
    quietly: bool,
}

/// What is known of a sheet at a time, and its numbers in the file.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct State {
    pub(crate) id: i64,
    pub(crate) sheet: i64,
    pub(crate) label: String,
    pub(crate) shape: i64,
    pub(crate) facts: Facts,
}

impl Act<'_> {
    /// What the event is, for people; without it nothing is written.
    pub(crate) fn say(&mut self, said: impl Into<String>) {
        self.said = Some(said.into());
    }

    /// The newest state of the sheet with this label.
    pub(crate) fn state(&self, label: &str) -> Result<State, ShopFault> {
        newest_state(self.transaction, label)
    }

    /// Writes what is no event of the shop's history.
    pub(crate) fn quietly(&mut self) {
        self.quietly = true;
    }

    /// Writes a shape.
    pub(crate) fn put_outline(&self, outline: &Outline) -> Result<i64, ShopFault> {
        let bounds = outline.bounds();
        let (width, height) =
            if bounds.is_empty() { (0.0, 0.0) } else { (bounds.width(), bounds.height()) };
        self.transaction
            .prepare_cached(
                "INSERT INTO shapes (width, height, area, outline) VALUES (?1, ?2, ?3, ?4)",
            )?
            .execute(params![width, height, outline.area(), outline.to_text()?])?;
        Ok(self.transaction.last_insert_rowid())
    }

    /// Writes a new state of a sheet after the state `before`.
    pub(crate) fn put_state(
        &self,
        sheet: i64,
        before: Option<i64>,
        shape: i64,
        facts: &Facts,
    ) -> Result<(), ShopFault> {
        self.put_state_text(sheet, before, shape, &serde_json::to_string(facts)?)
    }

    /// The same, its facts as text.
    pub(crate) fn put_state_text(
        &self,
        sheet: i64,
        before: Option<i64>,
        shape: i64,
        facts: &str,
    ) -> Result<(), ShopFault> {
        self.transaction
            .prepare_cached(
                "INSERT INTO states (sheet, event, before, shape, facts) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?
            .execute(params![sheet, self.event, before, shape, facts])?;
        Ok(())
    }

    /// A new sheet with the label given, or the next of the shop's own.
    pub(crate) fn new_sheet(&self, label: Option<&str>) -> Result<(i64, String), ShopFault> {
        let label = match label {
            Some(label) => label::checked(label)?,
            None => self.next_label()?,
        };
        let known: Option<String> = self
            .transaction
            .query_row("SELECT label FROM sheets WHERE label = ?1", [&label], |row| row.get(0))
            .optional()?;
        if let Some(known) = known {
            return Err(ShopFault::refused(format!(
                "a sheet was labelled {known} already, and a label is never used again; choose \
                 another, or give none to get the next free one"
            )));
        }
        self.transaction
            .prepare_cached("INSERT INTO sheets (label) VALUES (?1)")?
            .execute([&label])?;
        Ok((self.transaction.last_insert_rowid(), label))
    }

    fn next_label(&self) -> Result<String, ShopFault> {
        loop {
            let number: i64 = self.transaction.query_row(
                "UPDATE shop SET next_label = next_label + 1 RETURNING next_label - 1",
                [],
                |row| row.get(0),
            )?;
            let label = label::numbered(number);
            let taken = self
                .transaction
                .prepare_cached("SELECT 1 FROM sheets WHERE label = ?1")?
                .exists([&label])?;
            if !taken {
                return Ok(label);
            }
        }
    }
}

/// The newest state of the sheet with this label.
pub(crate) fn newest_state(connection: &Connection, label: &str) -> Result<State, ShopFault> {
    let found = connection
        .prepare_cached(
            "SELECT st.id, s.id, s.label, st.shape, st.facts FROM sheets s \
             JOIN states st ON st.sheet = s.id WHERE s.label = ?1 ORDER BY st.id DESC LIMIT 1",
        )?
        .query_row([label.trim()], |row| {
            let facts: String = row.get(4)?;
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, facts))
        })
        .optional()?;
    let (id, sheet, label, shape, facts) =
        found.ok_or_else(|| ShopFault::NoSheet(label.trim().to_owned()))?;
    Ok(State { id, sheet, label, shape, facts: serde_json::from_str(&facts)? })
}

/// A shape by its number.
pub(crate) fn outline(connection: &Connection, shape: i64) -> Result<Outline, ShopFault> {
    let text: String = connection
        .prepare_cached("SELECT outline FROM shapes WHERE id = ?1")?
        .query_row([shape], |row| row.get(0))?;
    Outline::parse(&text)
}

/// The sheet for planning.
pub(crate) fn sheet_of(label: &str, facts: &Facts, outline: &Outline) -> Sheet {
    Sheet {
        name: label.to_owned(),
        bodies: outline.bodies(),
        no_go: outline.no_go.clone(),
        grain: facts.grain_deg.map(f64::to_radians),
        made_of: Some(facts.metal()),
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

/// Whether the file can be read, at a glance; `oddment rack check` looks at all of it.
fn glance(connection: &Connection) -> Result<(), ShopFault> {
    for table in ["shop", "materials", "sheets", "states", "shapes", "events"] {
        let count = format!("SELECT count(*) FROM (SELECT 1 FROM {table} LIMIT 1000)");
        connection.query_row(&count, [], |row| row.get::<_, i64>(0))?;
    }
    Ok(())
}

fn fault_words(fault: &ShopFault) -> String {
    match fault {
        ShopFault::Damaged { what, .. } => what.clone(),
        ShopFault::NotAShop => "its beginning is no shop file's".to_owned(),
        other => other.to_string(),
    }
}

/// Says beside the file who is writing, for others who wait.
struct Writing(PathBuf);

impl Writing {
    fn begin(shop: &Path, who: &str) -> Self {
        let note = writing_note(shop);
        // Only told to people who wait; where it can't be written they are told less.
        let _ = fs::write(&note, format!("{who}, since {}", when::moment(when::now())));
        Self(note)
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.0);
    }
}

fn writing_note(shop: &Path) -> PathBuf {
    let mut name = shop.as_os_str().to_owned();
    name.push(".writing");
    PathBuf::from(name)
}

/// Who is writing.
fn writer_of(shop: &Path) -> String {
    let note = fs::read_to_string(writing_note(shop)).unwrap_or_default();
    let note: String = note.chars().filter(|c| !c.is_control()).take(120).collect();
    if note.trim().is_empty() { "another program".to_owned() } else { note }
}

/// “ann on bench-2”, as far as the system tells.
fn default_who() -> String {
    let var = |names: [&str; 2]| names.into_iter().find_map(|n| std::env::var(n).ok());
    let who = var(["USER", "USERNAME"]).unwrap_or_else(|| "somebody".to_owned());
    let host = fs::read_to_string("/etc/hostname").ok().map(|h| h.trim().to_owned());
    match host.or_else(|| var(["COMPUTERNAME", "HOSTNAME"])).filter(|h| !h.is_empty()) {
        Some(host) => format!("{who} on {host}"),
        None => who,
    }
}

/// The kind of network share that a file is on, where that can be told.
fn share_of(path: &Path) -> Option<String> {
    const SHARES: [&str; 8] =
        ["nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "fuse.sshfs", "fuse.davfs"];
    let full = path.canonicalize().ok()?;
    if full.to_string_lossy().starts_with(r"\\") {
        return Some("Windows share".to_owned());
    }
    let mounts = fs::read_to_string("/proc/mounts").ok()?;
    let mounts = mounts.lines().filter_map(|line| {
        let mut words = line.split(' ').skip(1);
        Some((words.next()?.to_owned(), words.next()?.to_owned()))
    });
    let (_, kind) = mounts.filter(|(at, _)| full.starts_with(at)).max_by_key(|(at, _)| at.len())?;
    SHARES.contains(&kind.as_str()).then_some(kind)
}

#[cfg(test)]
mod tests {
    use oddment_core::sheet::EdgeKind;

    use super::*;
    use crate::sheets::{NewSheet, Typed};

    fn shop(name: &str) -> (PathBuf, Shop) {
        let folder =
            std::env::temp_dir().join(format!("oddment-shop-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        let materials = vec![Material::new("S235", 7850.0, 1.15)];
        let new = NewShop { name: "Test".into(), currency: "EUR".into(), materials };
        let shop = Shop::create(&folder.join("shop.oddment"), &new).unwrap();
        (folder, shop)
    }

    fn plate() -> NewSheet {
        let facts = Facts { material: "S235".into(), thickness: 3.0, ..Facts::default() };
        let outline = Typed::Rectangle([600.0, 400.0]).outline(EdgeKind::Mill).unwrap();
        NewSheet { label: None, facts, outline }
    }

    #[test]
    fn a_full_disk_changes_nothing_and_is_said() {
        let (folder, mut shop) = shop("full");
        shop.add(plate()).unwrap();
        let pages: i64 =
            shop.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
        shop.connection.pragma_update_and_check(None, "max_page_count", pages, |_| Ok(())).unwrap();
        let full = (0..200).find_map(|_| shop.add(plate()).err());
        assert_eq!(full, Some(ShopFault::DiskFull));
        let there = shop.list().unwrap().len();
        assert_eq!(shop.verify().unwrap().problems, Vec::<String>::new());
        shop.connection
            .pragma_update_and_check(None, "max_page_count", 1_000_000, |_| Ok(()))
            .unwrap();
        shop.add(plate()).unwrap();
        assert_eq!(shop.list().unwrap().len(), there + 1);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn whoever_has_the_file_is_named() {
        let (folder, mut first) = shop("busy");
        let mut second = Shop::open(first.path()).unwrap();
        second.connection.busy_timeout(Duration::from_millis(50)).unwrap();
        first.set_who("ann at the saw");
        let said =
            first.change("hold", |_| Ok(second.add(plate()).unwrap_err().to_string())).unwrap();
        assert!(said.starts_with("ann at the saw, since "), "{said}");
        assert!(second.add(plate()).is_ok());
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_clock_that_was_set_back_does_not_turn_history_round() {
        let (folder, mut shop) = shop("clock");
        let ahead = when::now() + 1_000_000;
        let row = "INSERT INTO events (at, who, kind, said) VALUES (?1, 'ann', 'note', 'later')";
        shop.connection.execute(row, [ahead]).unwrap();
        shop.add(plate()).unwrap();
        let events = shop.events(2).unwrap();
        assert_eq!((events[0].kind.as_str(), events[0].at), ("add", ahead));
        fs::remove_dir_all(folder).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn a_file_that_may_only_be_read_is_read() {
        use std::os::unix::fs::PermissionsExt;
        let (folder, mut shop) = shop("read-only");
        shop.add(plate()).unwrap();
        let path = shop.path().to_path_buf();
        drop(shop);
        fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
        // Who may do everything may write this too.
        if fs::OpenOptions::new().write(true).open(&path).is_err() {
            let mut shop = Shop::open(&path).unwrap();
            assert!(matches!(shop.closed(), Some(ShopFault::ReadOnly(_))));
            assert_eq!(shop.list().unwrap().len(), 1);
            assert!(matches!(shop.add(plate()), Err(ShopFault::ReadOnly(_))));
        }
        fs::remove_dir_all(folder).unwrap();
    }
}
