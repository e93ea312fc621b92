//! The program's settings: `fulgurite.toml` of a project, and under it the user's own; each value with its file and row.

use crate::codes;
use crate::toml_place::{self, PlacedToml};
use record::{Finding, Place};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// The name of a project's settings.
pub const PROJECT_SETTINGS: &str = "fulgurite.toml";

/// One value of a settings file.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// The key.
    pub key: String,
    /// What it is set to.
    pub value: Value,
    /// The file.
    pub file: PathBuf,
    /// Its row, from 1.
    pub row: Option<u64>,
}

impl Setting {
    /// Where it stands, for findings.
    pub fn place(&self) -> Place {
        let file = self.file.to_string_lossy().into_owned();
        Place { file, row: self.row, column: None, label: Some(self.key.clone()) }
    }

    /// A path of this setting: taken from the folder of the settings file, not from where the program runs.
    pub fn path(&self, text: &str) -> PathBuf {
        self.file.parent().unwrap_or(Path::new("")).join(text)
    }
}

/// Where settings are looked for, those that count first: the project's, in the folder where the program runs or the
/// nearest above it, then the user's.
pub fn settings_files() -> Vec<PathBuf> {
    let mut files = Vec::new();
    if let Ok(here) = std::env::current_dir() {
        files
            .extend(here.ancestors().map(|folder| folder.join(PROJECT_SETTINGS)).find(|file| file.is_file()));
    }
    files.extend(user_settings().filter(|file| file.is_file()));
    files
}

/// The user's settings: below the folder that the system has for them.
pub fn user_settings() -> Option<PathBuf> {
    let folder = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    let base = if cfg!(windows) {
        folder("APPDATA")
    } else {
        folder("XDG_CONFIG_HOME").or_else(|| folder("HOME").map(|home| home.join(".config")))
    };
    base.map(|base| base.join("fulgurite").join("settings.toml"))
}

/// Reads one settings file.
///
/// # Errors
/// Why it can't be read.
pub fn read_settings(file: &Path) -> Result<Vec<Setting>, Box<Finding>> {
    let name = file.to_string_lossy().into_owned();
    let broken = |what: String, at: Option<(u64, u32)>| {
        let place = Place { file: name.clone(), row: at.map(|p| p.0), column: at.map(|p| p.1), label: None };
        Finding::error(codes::BROKEN_SETTINGS, what)
            .at(place)
            .help("mend this line, or move the file away; https://toml.io describes the form")
    };
    let text = std::fs::read_to_string(file)
        .map_err(|error| broken(format!("the file can't be read: {error}"), None))?;
    let PlacedToml { value, places } = toml_place::parse(text.trim_start_matches('\u{feff}'))
        .map_err(|bad| broken(bad.message, bad.place))?;
    Ok(value
        .into_iter()
        .map(|(key, value)| {
            let row = places.get(&format!("/{key}")).map(|place| place.0);
            Setting { key, value, file: file.to_owned(), row }
        })
        .collect())
}
