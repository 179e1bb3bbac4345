//! The log on disk: one SQLite file with an append-only table of entries, and names and sessions beside it.
//!
//! It knows nothing of what an entry says. Once [`Store::append`] has given `Ok`, the entries survive the end of
//! the program and of the power. Nobody but the sequencer writes.

use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, params};
use std::path::{Path, PathBuf};

/// Name of the log in the data folder.
pub const LOG_FILE: &str = "log.sqlite";
const LOCK_FILE: &str = "running.sqlite";
/// What is written to learn whether a disk takes anything again \[bytes\].
const TRIED_BYTES: usize = 64 * 1024;

/// Tables and triggers: entries may be added at the end and nothing else.
const TABLES: &str = "
CREATE TABLE IF NOT EXISTS entries (
    seq            INTEGER PRIMARY KEY,
    recorded_at_ms INTEGER NOT NULL,
    device         TEXT NOT NULL,
    report_id      TEXT NOT NULL,
    part           INTEGER NOT NULL,
    line           TEXT NOT NULL,
    digest         TEXT NOT NULL CHECK (length(digest) = 64),
    UNIQUE (device, report_id, part)
) STRICT;
CREATE TRIGGER IF NOT EXISTS entries_keep_what_they_say BEFORE UPDATE ON entries
    BEGIN SELECT RAISE(ABORT, 'an entry of the log is never changed'); END;
CREATE TRIGGER IF NOT EXISTS entries_stay BEFORE DELETE ON entries
    BEGIN SELECT RAISE(ABORT, 'an entry of the log is never taken out'); END;
CREATE TRIGGER IF NOT EXISTS entries_go_at_the_end BEFORE INSERT ON entries
    WHEN NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM entries)
      OR NEW.recorded_at_ms < (SELECT coalesce(max(recorded_at_ms), NEW.recorded_at_ms) FROM entries)
      OR EXISTS (SELECT 1 FROM entries WHERE device = NEW.device AND report_id = NEW.report_id AND part = NEW.part)
    BEGIN SELECT RAISE(ABORT, 'an entry of the log goes at its end, once'); END;
CREATE TABLE IF NOT EXISTS names (
    key   TEXT PRIMARY KEY,
    words TEXT NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS sessions (
    cookie_digest TEXT PRIMARY KEY,
    device        TEXT NOT NULL,
    made_at_ms    INTEGER NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS settings (
    name  TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;";

/// Why the disk did not take or give something.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// No room.
    #[error("the disk is full")]
    Full,
    /// May not be written.
    #[error("the disk or the folder may only be read")]
    ReadOnly,
    /// Another desk has the folder.
    #[error("another desk is running on {}", .0.display())]
    Taken(PathBuf),
    /// The folder holds no log.
    #[error("{} holds no log", .0.display())]
    NoLog(PathBuf),
    /// The folder cannot be made or opened.
    #[error("{path}: {error}", path = .path.display())]
    Folder {
        /// Folder.
        path: PathBuf,
        /// Why.
        error: std::io::Error,
    },
    /// Anything else that SQLite says.
    #[error("the log cannot be read or written: {0}")]
    Other(rusqlite::Error),
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> StoreError {
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => StoreError::Full,
            Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                StoreError::ReadOnly
            }
            _ => StoreError::Other(error),
        }
    }
}

/// One entry as it goes to disk.
#[derive(Clone, Debug)]
pub struct Row {
    /// Number in the log, from 1.
    pub seq: u64,
    /// When it was recorded.
    pub recorded_at_ms: i64,
    /// Device that reported.
    pub device: String,
    /// Its number of the report.
    pub report_id: String,
    /// Place among the entries of one report, from 0.
    pub part: u32,
    /// The entry as one JSON line.
    pub line: String,
    /// Digest of the line in hexadecimal digits.
    pub digest: String,
}

/// Words that stay out of the log; a later row with the same key takes the place of the earlier.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NameRow {
    /// Whose: such as `person 7`.
    pub key: String,
    /// Words.
    pub words: String,
}

/// The log, names and sessions of one data folder.
pub struct Store {
    db: Connection,
    /// Held as long as the program runs; the system lets go of it however the program ends.
    _running: Option<Connection>,
}

impl Store {
    /// Opens or makes the log in a folder, and keeps every other desk out of it.
    ///
    /// A log on a disk that may only be read is opened all the same: the picture is worth having, and each write is refused.
    ///
    /// # Inputs
    /// - `dir`: data folder, made if it is not there · `pages_most`: most pages of the file, for tests of a full disk
    pub fn open(dir: &Path, pages_most: Option<u32>) -> Result<Store, StoreError> {
        make_private(dir)?;
        let running = Connection::open(dir.join(LOCK_FILE))?;
        running.busy_timeout(std::time::Duration::from_millis(300))?;
        running.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
        running.execute_batch("BEGIN EXCLUSIVE").map_err(|error| match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::Taken(dir.to_path_buf()),
            _ => StoreError::from(error),
        })?;
        let db = Connection::open(dir.join(LOG_FILE))?;
        db.busy_timeout(std::time::Duration::from_secs(5))?;
        db.pragma_update(None, "journal_mode", "WAL")?;
        db.pragma_update(None, "synchronous", "FULL")?;
        // A Mac's plain flush leaves data in the drive.
        db.pragma_update(None, "fullfsync", "ON")?;
        // Names that are deleted are overwritten.
        db.pragma_update(None, "secure_delete", "ON")?;
        db.execute_batch(TABLES)?;
        if let Some(pages) = pages_most {
            db.pragma_update(None, "max_page_count", pages)?;
        }
        Ok(Store { db, _running: Some(running) })
    }

    /// Opens a log to read it, also while a desk is running on it.
    pub fn read(dir: &Path) -> Result<Store, StoreError> {
        let file = dir.join(LOG_FILE);
        if !file.is_file() {
            return Err(StoreError::NoLog(dir.to_path_buf()));
        }
        let db = Connection::open_with_flags(&file, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        db.busy_timeout(std::time::Duration::from_secs(5))?;
        Ok(Store { db, _running: None })
    }

    /// Adds entries and names, all or none, and gives `Ok` only when they are on disk.
    ///
    /// # Inputs
    /// - `rows` · `names` · `sessions`: digest of the cookie, device · `now_ms`
    pub fn append(
        &mut self,
        rows: &[Row],
        names: &[NameRow],
        sessions: &[(String, String)],
        now_ms: i64,
    ) -> Result<(), StoreError> {
        if rows.is_empty() && names.is_empty() && sessions.is_empty() {
            return Ok(());
        }
        let step = self.db.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        {
            let mut add = step.prepare_cached(
                "INSERT INTO entries (seq, recorded_at_ms, device, report_id, part, line, digest) VALUES (?, ?, ?, ?, ?, ?, ?)",
            )?;
            for row in rows {
                add.execute(params![
                    row.seq as i64,
                    row.recorded_at_ms,
                    row.device,
                    row.report_id,
                    row.part,
                    row.line,
                    row.digest
                ])?;
            }
            let mut name = step.prepare_cached("INSERT OR REPLACE INTO names (key, words) VALUES (?, ?)")?;
            for row in names {
                name.execute([&row.key, &row.words])?;
            }
            let mut admit = step.prepare_cached(
                "INSERT OR REPLACE INTO sessions (cookie_digest, device, made_at_ms) VALUES (?, ?, ?)",
            )?;
            for (cookie_digest, device) in sessions {
                admit.execute(params![cookie_digest, device, now_ms])?;
            }
        }
        step.commit()?;
        Ok(())
    }

    /// Entries after a number, as lines, in their order.
    pub fn lines_after(&self, seq: u64) -> Result<Vec<String>, StoreError> {
        let mut find = self.db.prepare_cached("SELECT line FROM entries WHERE seq > ? ORDER BY seq")?;
        let lines = find.query_map([seq as i64], |row| row.get(0))?.collect::<Result<_, _>>()?;
        Ok(lines)
    }

    /// Number of the last entry; 0 in an empty log.
    pub fn last_seq(&self) -> Result<u64, StoreError> {
        let last: i64 =
            self.db.query_row("SELECT coalesce(max(seq), 0) FROM entries", [], |row| row.get(0))?;
        Ok(last as u64)
    }

    /// First entry of a report of a device, if it was recorded: number and time.
    pub fn recorded(&self, device: &str, report_id: &str) -> Result<Option<(u64, i64)>, StoreError> {
        let mut find = self.db.prepare_cached(
            "SELECT seq, recorded_at_ms FROM entries WHERE device = ? AND report_id = ? ORDER BY part LIMIT 1",
        )?;
        Ok(find
            .query_row([device, report_id], |row| Ok((row.get::<_, i64>(0)? as u64, row.get(1)?)))
            .optional()?)
    }

    /// Every name that is kept.
    pub fn names(&self) -> Result<Vec<NameRow>, StoreError> {
        let mut find = self.db.prepare_cached("SELECT key, words FROM names ORDER BY key")?;
        let row = |row: &rusqlite::Row| Ok(NameRow { key: row.get(0)?, words: row.get(1)? });
        Ok(find.query_map([], row)?.collect::<Result<_, _>>()?)
    }

    /// Deletes every name and session; the log and its digests stay as they are.
    pub fn forget(&mut self) -> Result<usize, StoreError> {
        let gone = self.db.execute("DELETE FROM names", [])?;
        self.db.execute("DELETE FROM sessions", [])?;
        // Old pages may still hold them in the journal and in free space.
        self.db.execute_batch("PRAGMA wal_checkpoint(TRUNCATE); VACUUM; PRAGMA wal_checkpoint(TRUNCATE);")?;
        Ok(gone)
    }

    /// Writes something of no account, to learn whether the disk takes as much as a burst of reports.
    pub fn try_writing(&mut self) -> Result<(), StoreError> {
        self.set("room", &"-".repeat(TRIED_BYTES))?;
        self.set("room", "")
    }

    /// Sessions: digest of the cookie, device.
    pub fn sessions(&self) -> Result<Vec<(String, String)>, StoreError> {
        let mut find =
            self.db.prepare_cached("SELECT cookie_digest, device FROM sessions ORDER BY cookie_digest")?;
        Ok(find.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?)
    }

    /// A setting of this folder.
    pub fn setting(&self, name: &str) -> Result<Option<String>, StoreError> {
        let mut find = self.db.prepare_cached("SELECT value FROM settings WHERE name = ?")?;
        Ok(find.query_row([name], |row| row.get(0)).optional()?)
    }

    /// Keeps a setting of this folder.
    pub fn set(&mut self, name: &str, value: &str) -> Result<(), StoreError> {
        self.db.execute("INSERT OR REPLACE INTO settings (name, value) VALUES (?, ?)", [name, value])?;
        Ok(())
    }
}

/// Makes a folder that only its owner reads: it will hold names.
fn make_private(dir: &Path) -> Result<(), StoreError> {
    let told = |error| StoreError::Folder { path: dir.to_path_buf(), error };
    if dir.is_dir() {
        return Ok(());
    }
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(dir).map_err(told)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder of its own for one test, gone afterwards.
    struct Folder(PathBuf);

    impl Folder {
        fn new(name: &str) -> Folder {
            let path = std::env::temp_dir().join(format!("fathomline-store-{name}-{}", std::process::id()));
            let _ = std::fs::remove_dir_all(&path);
            Folder(path)
        }
    }

    impl Drop for Folder {
        fn drop(&mut self) {
            let _ = std::fs::remove_dir_all(&self.0);
        }
    }

    fn row(seq: u64) -> Row {
        Row {
            seq,
            recorded_at_ms: 1000 + seq as i64,
            device: "d".into(),
            report_id: format!("r{seq}"),
            part: 0,
            line: format!("{{\"seq\":{seq}}}"),
            digest: "7".repeat(64),
        }
    }

    #[test]
    fn what_was_appended_is_there_after_opening_again() {
        let folder = Folder::new("again");
        let name = NameRow { key: "person 3".into(), words: "Ines".into() };
        {
            let mut store = Store::open(&folder.0, None).unwrap();
            let session = ("abc".to_string(), "d".to_string());
            store.append(&[row(1), row(2)], std::slice::from_ref(&name), &[session], 5).unwrap();
            assert_eq!(store.sessions().unwrap().len(), 1);
        }
        let mut store = Store::open(&folder.0, None).unwrap();
        assert_eq!(store.lines_after(0).unwrap(), ["{\"seq\":1}", "{\"seq\":2}"]);
        assert_eq!((store.last_seq().unwrap(), store.recorded("d", "r2").unwrap()), (2, Some((2, 1002))));
        assert_eq!(store.names().unwrap(), [name]);
        assert_eq!(store.forget().unwrap(), 1);
        assert!(store.names().unwrap().is_empty() && store.sessions().unwrap().is_empty());
        assert_eq!(store.lines_after(1).unwrap(), ["{\"seq\":2}"]);
        let bytes = std::fs::read(folder.0.join(LOG_FILE)).unwrap();
        assert!(!bytes.windows(4).any(|w| w == b"Ines"), "a deleted name is still in the file");
    }

    #[test]
    fn the_log_refuses_change_deletion_gaps_and_repeats() {
        let folder = Folder::new("append-only");
        let mut store = Store::open(&folder.0, None).unwrap();
        store.append(&[row(1)], &[], &[], 0).unwrap();
        for order in [
            "UPDATE entries SET line = 'x'",
            "DELETE FROM entries",
            "REPLACE INTO entries SELECT * FROM entries",
            "REPLACE INTO entries SELECT 2, recorded_at_ms, device, report_id, part, 'x', digest FROM entries",
        ] {
            assert!(store.db.execute(order, []).is_err(), "{order}");
        }
        assert!(store.append(&[row(3)], &[], &[], 0).is_err(), "a gap");
        let repeat = Row { seq: 2, ..row(1) };
        assert!(store.append(&[row(2), Row { seq: 3, ..repeat }], &[], &[], 0).is_err(), "a repeat");
        assert_eq!(store.last_seq().unwrap(), 1, "all or none");
        assert!(matches!(Store::open(&folder.0, None), Err(StoreError::Taken(_))), "two desks on one log");
    }

    #[test]
    fn a_full_disk_takes_nothing_by_halves() {
        let folder = Folder::new("full");
        let mut store = Store::open(&folder.0, Some(24)).unwrap();
        let mut seq = 0;
        let refused = loop {
            let long = Row { line: "x".repeat(3000), ..row(seq + 1) };
            match store.append(&[long], &[], &[], 0) {
                Ok(()) => seq += 1,
                Err(error) => break error,
            }
            assert!(seq < 200, "the limit was never met");
        };
        assert!(matches!(refused, StoreError::Full), "{refused:?}");
        assert_eq!(store.last_seq().unwrap(), seq);
    }
}
