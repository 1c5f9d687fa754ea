//! The tables of a shop file, and how older files are brought up to date.
//!
//! A *sheet* row is a label and nothing else. What is known of a sheet at a time is a *state*: facts
//! (JSON) and a *shape* (JSON lines and arcs). An *event* is something that a person did; it makes new
//! states, and a sheet is as its newest state says. Nothing of these four is ever changed or taken
//! away, which the file itself enforces.

use rusqlite::{Connection, Transaction};

use crate::fault::ShopFault;

/// Tells a shop file from other SQLite files: the letters ODDM.
pub(crate) const APPLICATION: i64 = 0x4F44_444D;

/// Each brings a file from the version before to the next; the first makes version 1 of nothing.
const STEPS: &[&str] = &[VERSION_1, VERSION_2, VERSION_3, VERSION_4, VERSION_5, VERSION_6];

/// The version of files that are written here.
pub(crate) const NEWEST: i64 = STEPS.len() as i64;

/// Refuses, in these words, to change or to take away rows of a table.
macro_rules! kept {
    ($table:literal, $why:literal) => {
        concat!(
            "CREATE TRIGGER ",
            $table,
            "_stay BEFORE UPDATE ON ",
            $table,
            "\n    BEGIN SELECT RAISE(ABORT, '",
            $why,
            "'); END;\n",
            "CREATE TRIGGER ",
            $table,
            "_are_kept BEFORE DELETE ON ",
            $table,
            "\n    BEGIN SELECT RAISE(ABORT, '",
            $why,
            "'); END;\n",
        )
    };
}

const VERSION_1: &str = concat!(
    "
CREATE TABLE shop (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    name TEXT NOT NULL,
    currency TEXT NOT NULL,
    next_label INTEGER NOT NULL
);
CREATE TABLE materials (
    name TEXT PRIMARY KEY COLLATE NOCASE,
    facts TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE events (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at INTEGER NOT NULL,
    who TEXT NOT NULL,
    kind TEXT NOT NULL,
    said TEXT NOT NULL,
    undoes INTEGER UNIQUE REFERENCES events (id)
);
CREATE TABLE shapes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    width REAL NOT NULL,
    height REAL NOT NULL,
    area REAL NOT NULL,
    outline TEXT NOT NULL
);
CREATE TABLE sheets (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    label TEXT NOT NULL UNIQUE COLLATE NOCASE
);
CREATE TABLE states (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    sheet INTEGER NOT NULL REFERENCES sheets (id),
    event INTEGER NOT NULL REFERENCES events (id),
    before INTEGER UNIQUE REFERENCES states (id),
    shape INTEGER NOT NULL REFERENCES shapes (id),
    facts TEXT NOT NULL
);
CREATE INDEX states_of_sheet ON states (sheet, id);
CREATE INDEX states_of_event ON states (event);
CREATE TABLE cuts (
    event INTEGER NOT NULL REFERENCES events (id),
    sheet INTEGER NOT NULL REFERENCES sheets (id),
    plan_key TEXT NOT NULL,
    plan TEXT NOT NULL,
    facts TEXT NOT NULL,
    PRIMARY KEY (event, sheet)
) WITHOUT ROWID;
CREATE INDEX cuts_of_sheet ON cuts (sheet, plan_key);
",
    kept!("events", "history only grows"),
    kept!("states", "history only grows"),
    kept!("shapes", "history only grows"),
    kept!("sheets", "labels are never used again"),
    kept!("cuts", "history only grows"),
);

/// Stock-takes; orders; drawings that sheets and parts came from.
const VERSION_2: &str = "
CREATE TABLE stock_takes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    began INTEGER NOT NULL,
    words TEXT NOT NULL,
    ended INTEGER
);
CREATE UNIQUE INDEX one_stock_take ON stock_takes ((ended IS NULL)) WHERE ended IS NULL;
CREATE TABLE stock_marks (
    stock_take INTEGER NOT NULL REFERENCES stock_takes (id),
    sheet INTEGER NOT NULL REFERENCES sheets (id),
    mark TEXT NOT NULL,
    words TEXT NOT NULL,
    at INTEGER NOT NULL,
    PRIMARY KEY (stock_take, sheet)
) WITHOUT ROWID;
CREATE TABLE orders (
    name TEXT PRIMARY KEY COLLATE NOCASE,
    facts TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE drawings (
    hash TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    content BLOB NOT NULL
);
";

/// Values that the shop keeps in place of starting values, each time they were said.
const VERSION_3: &str = "
CREATE TABLE shop_values (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    key TEXT NOT NULL,
    value TEXT,
    event INTEGER NOT NULL REFERENCES events (id)
);
CREATE INDEX shop_values_by_key ON shop_values (key, id);
CREATE TRIGGER shop_values_stay BEFORE UPDATE ON shop_values
    BEGIN SELECT RAISE(ABORT, 'history only grows'); END;
CREATE TRIGGER shop_values_are_kept BEFORE DELETE ON shop_values
    BEGIN SELECT RAISE(ABORT, 'history only grows'); END;
";

/// Profiles of bars. The facts of a state may be those of a bar from here on: programs that know only
/// sheets must not take one for a sheet, which the version sees to.
const VERSION_4: &str = "
CREATE TABLE profiles (
    name TEXT PRIMARY KEY COLLATE NOCASE,
    facts TEXT NOT NULL
) WITHOUT ROWID;
";

/// Standing filler parts. The facts of a state may name pictures from here on.
const VERSION_5: &str = "
CREATE TABLE fillers (
    part TEXT PRIMARY KEY COLLATE NOCASE,
    facts TEXT NOT NULL
) WITHOUT ROWID;
";

/// Every reference can be followed back: an event is written last, and until it is, each row added
/// makes SQLite look for all that refer to it.
const VERSION_6: &str = "
CREATE INDEX states_of_shape ON states (shape);
CREATE INDEX stock_marks_of_sheet ON stock_marks (sheet);
CREATE INDEX shop_values_of_event ON shop_values (event);
";

/// The version of an open file.
///
/// # Errors
/// [`ShopFault::NotAShop`] for other files, [`ShopFault::Newer`] for files of newer programs.
pub(crate) fn version(connection: &Connection) -> Result<i64, ShopFault> {
    let pragma = |name: &str| connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    if pragma("application_id")? != APPLICATION {
        return Err(ShopFault::NotAShop);
    }
    match pragma("user_version")? {
        found if found > NEWEST => Err(ShopFault::Newer { found, known: NEWEST }),
        found if found < 1 => Err(ShopFault::NotAShop),
        found => Ok(found),
    }
}

/// Brings the tables from version `from` (0: none yet) to version `to`.
pub(crate) fn bring_up(
    transaction: &Transaction<'_>,
    from: i64,
    to: i64,
) -> Result<(), rusqlite::Error> {
    for step in STEPS.iter().take(to as usize).skip(from as usize) {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "application_id", APPLICATION)?;
    transaction.pragma_update(None, "user_version", to)
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use oddment_core::sheet::EdgeKind;
    use tempfile::TempDir;

    use super::*;
    use crate::backup;
    use crate::facts::Facts;
    use crate::outline::Outline;
    use crate::shop::Shop;

    /// A file as a program of this version left it, with a sheet that was added.
    fn old_file(version: i64) -> (TempDir, PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shop.oddment");
        let mut connection = Connection::open(&path).unwrap();
        let transaction = connection.transaction().unwrap();
        bring_up(&transaction, 0, version).unwrap();
        let outline = Outline::rectangle([600.0, 400.0], EdgeKind::Mill).unwrap();
        let facts =
            Facts { material: "S235".into(), thickness: 3.0, density: 7850.0, ..Facts::default() };
        let facts = serde_json::to_string(&facts).unwrap();
        let outline = outline.to_text().unwrap();
        let rows = [
            "INSERT INTO shop VALUES (1, 'Old', 'EUR', 2)".to_owned(),
            "INSERT INTO events VALUES (1, 1700000000, 'ann', 'add', 'R-0001 added', NULL)".into(),
            format!("INSERT INTO shapes VALUES (1, 600, 400, 240000, '{outline}')"),
            "INSERT INTO sheets VALUES (1, 'R-0001')".into(),
            format!("INSERT INTO states VALUES (1, 1, 1, NULL, 1, '{facts}')"),
        ];
        for row in rows {
            transaction.execute(&row, []).unwrap();
        }
        transaction.commit().unwrap();
        (folder, path)
    }

    #[test]
    fn files_of_every_version_are_brought_up_to_date_after_a_backup() {
        for old in 1..=NEWEST {
            let (_folder, path) = old_file(old);
            let mut shop = Shop::open(&path).unwrap();
            assert_eq!(version(shop.connection()).unwrap(), NEWEST);
            assert_eq!(shop.verify().unwrap().problems, Vec::<String>::new(), "version {old}");
            assert_eq!(shop.sheet("R-0001").unwrap().entry.area, 240_000.0);
            shop.hold("R-0001", "order 1", None).unwrap();
            shop.begin_stock_take("").unwrap();
            if old < NEWEST {
                assert!(shop.notices()[0].contains(&format!("from version {old}")));
                let backup = backup::newest_good(&path).unwrap();
                let connection = Connection::open(backup).unwrap();
                assert_eq!(version(&connection).unwrap(), old);
            }
        }
    }

    #[test]
    fn adding_to_a_large_rack_looks_through_no_table() {
        let (_folder, path) = old_file(NEWEST);
        let connection = Connection::open(&path).unwrap();
        let mut found = connection
            .prepare(
                "SELECT t.name, f.\"from\", EXISTS (
                     SELECT 1 FROM pragma_index_list(t.name) i, pragma_index_info(i.name) c
                     WHERE c.seqno = 0 AND c.name = f.\"from\")
                 FROM sqlite_schema t, pragma_foreign_key_list(t.name) f WHERE t.type = 'table'",
            )
            .unwrap();
        let row = |r: &rusqlite::Row<'_>| Ok((r.get(0)?, r.get(1)?, r.get(2)?));
        let rows = found.query_map([], row).unwrap();
        let rows: Vec<(String, String, bool)> = rows.map(Result::unwrap).collect();
        assert!(rows.len() > 8);
        for (table, column, has_index) in rows {
            assert!(has_index, "{table}.{column} is looked for row by row");
        }
    }

    #[test]
    fn what_happened_can_not_be_changed() {
        let (_folder, path) = old_file(NEWEST);
        let connection = Connection::open(&path).unwrap();
        for table in ["events", "states", "shapes", "sheets"] {
            for sql in [format!("DELETE FROM {table}"), format!("UPDATE {table} SET id = id + 1")] {
                assert!(connection.execute(&sql, []).is_err(), "{sql}");
            }
        }
    }
}
