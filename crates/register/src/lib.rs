//! The register: one SQLite file that knows every record it was given, for search and for a records system.
//!
//! It lies on a local disk. The rollback journal is kept (no WAL): a register is one file that a copy takes whole,
//! and one transaction a record is all that is asked of it. Each transaction is synchronised before it counts.
#![forbid(unsafe_code)]

mod entry;
mod error;
mod find;

pub use entry::Entry;
pub use error::RegisterError;
pub use find::{Found, Query};

use rusqlite::{Connection, OpenFlags};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The tables, as SQL: what `shared/schemas` holds.
pub const SCHEMA_SQL: &str = include_str!("../../../shared/schemas/register-1.sql");

/// The version of the tables that this program writes.
pub const VERSION: u32 = 1;

/// The letters FULG, which say whose file it is.
const APPLICATION_ID: u32 = 0x4655_4C47;

/// What brings a register from each version to the next, the first from an empty file to version 1.
const STEPS: &[&str] = &[SCHEMA_SQL];

/// Another run that writes is waited for so long.
const PATIENCE: Duration = Duration::from_secs(20);

/// A register.
#[derive(Debug)]
pub struct Register {
    path: PathBuf,
    connection: Connection,
}

impl Register {
    /// Opens a register for writing, makes it where there is none, and brings an older one up to this version.
    ///
    /// # Errors
    /// When the file is something else, was made by a newer program, or can't be written.
    pub fn open(path: &Path) -> Result<Self, RegisterError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
        let mut register = Self::connect(path, flags)?;
        register.upgrade().map_err(|error| register.wrong(error))?;
        register.know()?;
        Ok(register)
    }

    /// Opens a register for reading.
    ///
    /// # Errors
    /// When there is none, the file is something else, or it is of another version.
    pub fn read(path: &Path) -> Result<Self, RegisterError> {
        if !path.is_file() {
            return Err(RegisterError::Missing { path: path.to_owned() });
        }
        let register = Self::connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        register.know()?;
        Ok(register)
    }

    fn connect(path: &Path, flags: OpenFlags) -> Result<Self, RegisterError> {
        let wrong = |source| RegisterError::Sqlite { path: path.to_owned(), source };
        let connection =
            Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX).map_err(wrong)?;
        connection.busy_timeout(PATIENCE).map_err(wrong)?;
        connection.pragma_update(None, "foreign_keys", true).map_err(wrong)?;
        connection.pragma_update(None, "synchronous", "FULL").map_err(wrong)?;
        connection.pragma_update(None, "trusted_schema", false).map_err(wrong)?;
        Ok(Self { path: path.to_owned(), connection })
    }

    fn wrong(&self, source: rusqlite::Error) -> RegisterError {
        RegisterError::Sqlite { path: self.path.clone(), source }
    }

    /// Whose file it is, and its version.
    fn identity(&self) -> Result<(u32, u32), rusqlite::Error> {
        let number = |name| self.connection.pragma_query_value(None, name, |row| row.get::<_, u32>(0));
        Ok((number("application_id")?, number("user_version")?))
    }

    fn know(&self) -> Result<(), RegisterError> {
        match self.identity().map_err(|error| self.wrong(error))? {
            (APPLICATION_ID, VERSION) => Ok(()),
            (APPLICATION_ID, version) => {
                Err(RegisterError::OtherVersion { path: self.path.clone(), version })
            }
            _ => Err(RegisterError::NotARegister { path: self.path.clone() }),
        }
    }

    /// Takes the steps that are missing, all in one transaction; a file that is not ours stays as it is.
    fn upgrade(&mut self) -> Result<(), rusqlite::Error> {
        let (owner, version) = self.identity()?;
        let empty = owner == 0
            && version == 0
            && self
                .connection
                .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get::<_, u32>(0))?
                == 0;
        if !(empty || owner == APPLICATION_ID) || version >= VERSION {
            return Ok(());
        }
        let transaction =
            self.connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        // Another run may have done it while this one waited.
        let version: u32 = transaction.pragma_query_value(None, "user_version", |row| row.get(0))?;
        for step in STEPS.iter().skip(version as usize) {
            transaction.execute_batch(step)?;
        }
        transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
        transaction.pragma_update(None, "user_version", VERSION)?;
        transaction.commit()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_register_is_made_once_and_known_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("register.sqlite");
        assert!(matches!(Register::read(&path), Err(RegisterError::Missing { .. })));
        drop(Register::open(&path).unwrap());
        drop(Register::open(&path).unwrap());
        assert_eq!(Register::read(&path).unwrap().identity().unwrap(), (APPLICATION_ID, VERSION));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "one file, nothing beside it");
    }

    #[test]
    fn other_files_and_newer_registers_stay_as_they_are() {
        let folder = tempfile::tempdir().unwrap();
        let text = folder.path().join("letter.txt");
        std::fs::write(
            &text,
            "Dear Sir or Madam, this letter is longer than a header of one hundred bytes. ".repeat(3),
        )
        .unwrap();
        let before = std::fs::read(&text).unwrap();
        assert!(Register::open(&text).is_err());
        assert_eq!(std::fs::read(&text).unwrap(), before);

        let theirs = folder.path().join("theirs.sqlite");
        Connection::open(&theirs).unwrap().execute_batch("CREATE TABLE mine (a)").unwrap();
        assert!(matches!(Register::open(&theirs), Err(RegisterError::NotARegister { .. })));

        let newer = folder.path().join("newer.sqlite");
        Register::open(&newer).unwrap().connection.pragma_update(None, "user_version", 2).unwrap();
        assert!(matches!(Register::open(&newer), Err(RegisterError::OtherVersion { version: 2, .. })));
        assert!(matches!(Register::read(&newer), Err(RegisterError::OtherVersion { version: 2, .. })));
    }
}
