//! What a register could not do.

use std::path::PathBuf;

/// Why a register can't be used.
#[derive(Debug)]
#[non_exhaustive]
pub enum RegisterError {
    /// There is no such file.
    Missing {
        /// The file.
        path: PathBuf,
    },
    /// The file holds other tables.
    NotARegister {
        /// The file.
        path: PathBuf,
    },
    /// A program of another version made it.
    OtherVersion {
        /// The file.
        path: PathBuf,
        /// Its version.
        version: u32,
    },
    /// SQLite could not do it.
    Sqlite {
        /// The file.
        path: PathBuf,
        /// What it said.
        source: rusqlite::Error,
    },
}

impl std::fmt::Display for RegisterError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Missing { path } => write!(
                f,
                "there is no register {}: `convert`, `filter` and `watch` make one with --register FILE",
                path.display()
            ),
            Self::NotARegister { path } => {
                write!(f, "{} is a database of something else: name another file", path.display())
            }
            Self::OtherVersion { path, version } if *version > crate::VERSION => write!(
                f,
                "{} is a register of version {version}, this program knows {}: use the program that made it, or a later one",
                path.display(),
                crate::VERSION
            ),
            Self::OtherVersion { path, version } => write!(
                f,
                "{} is a register of version {version}: enter any record with --register, which brings it to version {}",
                path.display(),
                crate::VERSION
            ),
            Self::Sqlite { path, .. } => write!(f, "the register {} can't be used", path.display()),
        }
    }
}

impl std::error::Error for RegisterError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Sqlite { source, .. } => Some(source),
            Self::Missing { .. } | Self::NotARegister { .. } | Self::OtherVersion { .. } => None,
        }
    }
}
