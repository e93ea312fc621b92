//! Plug-ins outside the program: any executable that speaks JSON lines over standard input and output.
//!
//! One is named by its folder, which holds `plugin.toml`; none is looked for. None runs unless the user has trusted
//! it as it stands; what it loads from the system, or from the folders beside it that `identity.rs` lists, is not
//! looked at. It gets a copy of its input, an empty environment and a folder of its own, and is ended
//! with everything that it started. That isolates from accidents; a plug-in is trusted code, and this is no sandbox.

mod answers;
mod artifacts;
mod broke;
pub(crate) mod codes;
mod conformance;
mod identity;
mod manifest;
mod origins;
mod pool;
mod process;
mod reader;
mod strays;
mod trust;
mod writer;

pub use codes::ALL as PLUGIN_CODES;
pub use conformance::{Tried, try_plugin};
pub use identity::Identity;
pub use manifest::{Kind, Manifest};
pub use pool::Pool;
pub use trust::{Standing, Trusted, TrustedPlugins};

use crate::HostError;
use crate::plugins::Plugins;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The file that says what a plug-in is.
pub const PLUGIN_FILE: &str = "plugin.toml";

/// A plug-in in a folder: what it says of itself, and what it is to the byte.
#[derive(Clone, Debug)]
pub struct OutsidePlugin {
    /// Its folder.
    pub folder: PathBuf,
    /// What `plugin.toml` says.
    pub manifest: Manifest,
    /// Checksums of what would run.
    pub identity: Identity,
}

impl OutsidePlugin {
    /// Looks at a folder; starts nothing.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn look(folder: &Path) -> Result<Self, HostError> {
        let wrong = |why: String| HostError::BadPlugin { folder: folder.to_owned(), why };
        let absolute = std::path::absolute(folder).map_err(|error| wrong(error.to_string()))?;
        let file = absolute.join(PLUGIN_FILE);
        let text = std::fs::read_to_string(&file)
            .map_err(|source| HostError::ReadInput { path: folder.join(PLUGIN_FILE), source })?;
        let manifest = Manifest::parse(&text).map_err(wrong)?;
        let identity = Identity::of(&absolute, &manifest).map_err(wrong)?;
        Ok(Self { folder: absolute, manifest, identity })
    }

    /// Version and checksums in words, as they go into records and reports.
    pub fn version(&self) -> String {
        let Identity { program, manifest } = &self.identity;
        format!("{} (program SHA-256 {program}, plugin.toml SHA-256 {manifest})", self.manifest.version)
    }
}

impl Plugins {
    /// Adds a plug-in outside the program; it is started when it is first needed.
    ///
    /// # Errors
    /// When its name is taken: by another plug-in, or by a part of the program that raises findings.
    pub fn add_outside(&mut self, plugin: &OutsidePlugin) -> Result<(), HostError> {
        let name = plugin.manifest.name.as_str();
        if self.has_name(name) {
            let why = format!("the name `{name}` is taken; give it another one in plugin.toml");
            return Err(HostError::BadPlugin { folder: plugin.folder.clone(), why });
        }
        let pool = Arc::new(Pool::new(plugin.clone()));
        match plugin.manifest.kind {
            Kind::Reader => self.readers.push(Box::new(reader::OutsideReader::new(Arc::clone(&pool)))),
            Kind::Writer => self.writers.push(Box::new(writer::OutsideWriter::new(Arc::clone(&pool)))),
        }
        self.outside.push(pool);
        Ok(())
    }
}

/// A text that lives as long as the program: plug-ins are named by such texts. Each different one is kept once, so
/// that a program that loads the same plug-ins again and again does not grow.
fn lasting(text: &str) -> &'static str {
    use std::collections::BTreeSet;
    use std::sync::{Mutex, PoisonError};
    static KEPT: Mutex<BTreeSet<&'static str>> = Mutex::new(BTreeSet::new());
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    match kept.get(text) {
        Some(known) => known,
        None => {
            let new: &'static str = Box::leak(text.to_owned().into_boxed_str());
            kept.insert(new);
            new
        }
    }
}
