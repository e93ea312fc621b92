//! Which plug-ins a user trusts: a file of names and checksums in the user's own settings.

use super::{Identity, OutsidePlugin};
use crate::HostError;
use crate::output::WholeFile;
use serde::{Deserialize, Serialize};
use std::io::Write;
use std::path::{Path, PathBuf};

const FILE: &str = "trusted-plugins.toml";

/// One plug-in that is trusted as it stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trusted {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Where it was when it was trusted.
    pub folder: String,
    /// SHA-256 of its program.
    pub program_sha256: String,
    /// SHA-256 of its `plugin.toml`.
    pub plugin_toml_sha256: String,
}

impl Trusted {
    fn is(&self, identity: &Identity) -> bool {
        self.program_sha256 == identity.program && self.plugin_toml_sha256 == identity.manifest
    }
}

/// How a plug-in stands with the user.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Trusted as it is.
    Trusted,
    /// Another state of it is trusted; this one is not.
    Changed,
    /// Never trusted.
    Unknown,
}

impl Standing {
    /// The words for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Trusted => "trusted",
            Self::Changed => "changed since it was trusted",
            Self::Unknown => "not trusted",
        }
    }
}

/// The user's list.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrustedPlugins {
    #[serde(default, rename = "plugin")]
    list: Vec<Trusted>,
    #[serde(skip)]
    file: PathBuf,
}

impl TrustedPlugins {
    /// The list in a folder of settings; empty where there is none yet.
    ///
    /// # Errors
    /// A list that can't be read or understood.
    pub fn read(settings: &Path) -> Result<Self, HostError> {
        let file = settings.join(FILE);
        let text = match std::fs::read_to_string(&file) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => String::new(),
            Err(source) => return Err(HostError::ReadInput { path: file, source }),
        };
        let mut list: Self = toml::from_str(&text).map_err(|error| HostError::ReadInput {
            path: file.clone(),
            source: std::io::Error::other(error.message().to_owned()),
        })?;
        list.file = file;
        Ok(list)
    }

    /// Where it is kept.
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// Every entry.
    pub fn all(&self) -> &[Trusted] {
        &self.list
    }

    /// How a plug-in stands.
    pub fn standing(&self, plugin: &OutsidePlugin) -> Standing {
        let folder = plugin.folder.to_string_lossy();
        let named = |entry: &&Trusted| entry.name == plugin.manifest.name;
        if self.list.iter().filter(named).any(|entry| entry.is(&plugin.identity)) {
            Standing::Trusted
        } else if self.list.iter().any(|entry| named(&entry) || entry.folder == folder) {
            Standing::Changed
        } else {
            Standing::Unknown
        }
    }

    /// Trusts a plug-in as it stands, in the place of what was trusted of it in the same folder.
    ///
    /// # Errors
    /// When the list can't be written.
    pub fn trust(&mut self, plugin: &OutsidePlugin) -> Result<(), HostError> {
        let folder = plugin.folder.to_string_lossy().into_owned();
        self.list.retain(|entry| entry.folder != folder);
        self.list.push(Trusted {
            name: plugin.manifest.name.clone(),
            version: plugin.manifest.version.clone(),
            folder,
            program_sha256: plugin.identity.program.clone(),
            plugin_toml_sha256: plugin.identity.manifest.clone(),
        });
        self.list.sort_by(|a, b| (&a.name, &a.folder).cmp(&(&b.name, &b.folder)));
        let fail = |source: std::io::Error| HostError::WriteOutput { path: self.file.clone(), source };
        let text = toml::to_string(&self).map_err(|error| fail(std::io::Error::other(error.to_string())))?;
        let mut file = WholeFile::begin(&self.file)?;
        let head =
            "# Plug-ins that may run, each as it stands: `fulgurite plugin trust DIR` writes this file.\n\n";
        file.write_all(head.as_bytes()).and_then(|()| file.write_all(text.as_bytes())).map_err(fail)?;
        file.finish()
    }

    /// Refuses a plug-in that is not trusted as it stands.
    ///
    /// # Errors
    /// Why it does not run.
    pub fn demand(&self, plugin: &OutsidePlugin) -> Result<(), HostError> {
        match self.standing(plugin) {
            Standing::Trusted => Ok(()),
            standing => Err(HostError::NotTrusted {
                folder: plugin.folder.clone(),
                name: plugin.manifest.name.clone(),
                changed: standing == Standing::Changed,
            }),
        }
    }
}
