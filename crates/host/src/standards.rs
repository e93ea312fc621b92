//! The standards' data at hand: those built in, and files that a laboratory gives.

use crate::HostError;
use assess::standard::{Standard, built_in};
use record::Finding;
use std::path::Path;

/// A standard's data and the text they were read from.
#[derive(Clone, Debug)]
pub struct KnownStandard {
    /// The data.
    pub standard: Standard,
    /// Name of the file.
    pub file_name: String,
    /// Its text; of a file laid over others, one text made of all, which stands by itself.
    pub text: String,
    /// Whether it comes with the program.
    pub built_in: bool,
    /// The text as it was written, which others are laid over.
    written: String,
}

/// All standards at hand.
#[derive(Clone, Debug, Default)]
pub struct Standards {
    known: Vec<KnownStandard>,
}

impl Standards {
    /// Those that come with the program.
    ///
    /// # Errors
    /// When a built-in file is not in order, which a test of `assess` excludes.
    pub fn built_in() -> Result<Self, Vec<Finding>> {
        let mut standards = Self::default();
        for (id, text) in built_in() {
            standards.add(&format!("{id}.toml"), text)?;
        }
        for known in &mut standards.known {
            known.built_in = true;
        }
        Ok(standards)
    }

    /// Adds a file's text; it replaces a standard of the same id.
    ///
    /// # Errors
    /// What is wrong with the text.
    pub fn add(&mut self, file_name: &str, text: &str) -> Result<(), Vec<Finding>> {
        let find = |id: &str| {
            let known = self.get(id).map(|known| (known.file_name.clone(), known.written.clone()));
            known.or_else(|| {
                let (id, text) = built_in().iter().find(|(known, _)| *known == id)?;
                Some((format!("{id}.toml"), (*text).to_owned()))
            })
        };
        let loaded = Standard::parse_over(file_name, text, &find)?;
        self.known.retain(|k| k.standard.id != loaded.standard.id);
        self.known.push(KnownStandard {
            standard: loaded.standard,
            file_name: file_name.to_owned(),
            text: loaded.text,
            built_in: false,
            written: text.to_owned(),
        });
        Ok(())
    }

    /// Adds every `*.toml` of a folder, in the order of their names, or one file.
    ///
    /// # Errors
    /// When the folder can't be read, or what is wrong with its files.
    pub fn add_path(&mut self, path: &Path) -> Result<Vec<Finding>, HostError> {
        let fail = |source| HostError::ReadInput { path: path.to_owned(), source };
        let mut files = Vec::new();
        if path.is_dir() {
            for entry in std::fs::read_dir(path).map_err(fail)? {
                let file = entry.map_err(fail)?.path();
                if file.extension().is_some_and(|e| e == "toml") {
                    files.push(file);
                }
            }
            files.sort();
        } else {
            files.push(path.to_owned());
        }
        let mut texts = Vec::new();
        for file in files {
            let text = std::fs::read_to_string(&file)
                .map_err(|source| HostError::ReadInput { path: file.clone(), source })?;
            let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
            texts.push((name, text));
        }
        // A file may extend one whose name comes later: those that lead nowhere yet are tried again as long
        // as another one was read meanwhile.
        loop {
            let (before, mut waiting, mut findings) = (texts.len(), Vec::new(), Vec::new());
            for (name, text) in texts {
                if let Err(found) = self.add(&name, &text) {
                    findings.extend(found);
                    waiting.push((name, text));
                }
            }
            if waiting.is_empty() || waiting.len() == before {
                return Ok(findings);
            }
            texts = waiting;
        }
    }

    /// The standard of that id.
    pub fn get(&self, id: &str) -> Option<&KnownStandard> {
        self.known.iter().find(|k| k.standard.id == id)
    }

    /// All of them.
    pub fn all(&self) -> &[KnownStandard] {
        &self.known
    }
}
