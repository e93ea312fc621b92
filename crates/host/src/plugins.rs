//! The plug-ins that the program has: those that it was built with, and those that a user named.

use crate::HostError;
use crate::outside::Pool;
use plugin_api::{Reader, Writer};
use record::{CodeDoc, Finding};
use std::sync::Arc;

/// Readers and writers, in the order in which they are listed.
#[derive(Default)]
pub struct Plugins {
    /// Formats that can be read.
    pub readers: Vec<Box<dyn Reader>>,
    /// Formats that can be written.
    pub writers: Vec<Box<dyn Writer>>,
    /// Those of them that run outside the program.
    pub outside: Vec<Arc<Pool>>,
}

impl Plugins {
    /// The reader of that name.
    pub fn reader(&self, name: &str) -> Option<&dyn Reader> {
        self.readers.iter().map(AsRef::as_ref).find(|r| r.name() == name)
    }

    /// The writer of that name.
    ///
    /// # Errors
    /// When there is none.
    pub fn writer(&self, name: &str) -> Result<&dyn Writer, HostError> {
        self.writers.iter().map(AsRef::as_ref).find(|w| w.name() == name).ok_or_else(|| {
            HostError::UnknownFormat {
                name: name.to_owned(),
                known: self.writers.iter().map(|w| w.name().to_owned()).collect(),
            }
        })
    }

    /// Names and versions of the plug-ins that run outside the program, with their checksums.
    pub fn outside_versions(&self) -> Vec<String> {
        let name = |pool: &Arc<Pool>| format!("{} {}", pool.plugin().manifest.name, pool.plugin().version());
        self.outside.iter().map(name).collect()
    }

    /// Ends the plug-ins that run outside the program; says what was not in order about that.
    pub fn end(&self) -> Vec<Finding> {
        self.outside.iter().flat_map(|pool| pool.end()).collect()
    }

    /// Every code that the program can raise with these plug-ins.
    pub fn every_code(&self) -> Vec<&'static CodeDoc> {
        record::codes::ALL
            .iter()
            .chain(assess::codes::ALL)
            .chain(assess::standard::codes::ALL)
            .chain(assess::waveform::codes::ALL)
            .chain(plugin_api::wire::v1::codes::ALL)
            .chain(crate::CODES)
            .chain(crate::PLUGIN_CODES)
            .chain(self.codes())
            .collect()
    }

    /// Whether another plug-in can't have this name: a plug-in has it, or findings begin with it.
    pub fn has_name(&self, name: &str) -> bool {
        let of = |code: &str| code.split_once('/').is_some_and(|(begins, _)| begins == name);
        self.readers.iter().any(|reader| reader.name() == name)
            || self.writers.iter().any(|writer| writer.name() == name)
            || self.every_code().iter().any(|doc| of(doc.code))
            || ["record", "standard", "verdict", "plan", "set-aside"].contains(&name)
    }

    /// Codes of all findings that the plug-ins raise.
    pub fn codes(&self) -> Vec<&'static CodeDoc> {
        self.readers
            .iter()
            .flat_map(|r| r.codes())
            .chain(self.writers.iter().flat_map(|w| w.codes()))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_findings_begin_with_is_no_name_for_a_plugin() {
        let plugins = Plugins::default();
        for code in plugins.every_code() {
            let (begins, _) = code.code.split_once('/').unwrap();
            assert!(plugins.has_name(begins), "{begins}");
        }
        assert!(plugins.has_name("plugin") && plugins.has_name("job"));
        assert!(!plugins.has_name("my-log"));
    }
}
