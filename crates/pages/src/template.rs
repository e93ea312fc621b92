//! A template set: files by path, built in or laid over by a laboratory's own.

use crate::manifest::Manifest;
use crate::words::Words;
use crate::{Refusal, built_in, codes, nearest};
use record::{Finding, Place};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// The files that make a kind of paper.
#[derive(Clone, Debug)]
pub struct TemplateSet {
    files: BTreeMap<String, Cow<'static, [u8]>>,
    manifest: Manifest,
}

impl TemplateSet {
    /// Names of the sets that come with the program.
    pub fn names() -> impl Iterator<Item = &'static str> {
        built_in::SETS.iter().map(|(name, _)| *name)
    }

    /// A set that comes with the program. Fonts are part of it.
    ///
    /// # Errors
    /// When there is no set of that name.
    pub fn built_in(name: &str) -> Result<Self, Refusal> {
        let Some((_, files)) = built_in::SETS.iter().find(|(n, _)| *n == name) else {
            let names = || built_in::SETS.iter().map(|(n, _)| *n);
            let finding = Finding::error(codes::MANIFEST, format!("there is no built-in template `{name}`"));
            return Err(Box::new(match nearest(name, names()) {
                Some(near) => finding.help(format!("the nearest name is `{near}`")),
                None => finding.help(format!("templates are {}", names().collect::<Vec<_>>().join(", "))),
            }));
        };
        let all = files.iter().chain(built_in::FONTS);
        Self::of(all.map(|(path, bytes)| ((*path).to_owned(), Cow::Borrowed(*bytes))).collect())
    }

    /// The same set with some files replaced or added: each is a path within the set and its bytes.
    ///
    /// # Errors
    /// When the new `template.toml` can't be used.
    pub fn overlay(mut self, files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Result<Self, Refusal> {
        self.files.extend(files.into_iter().map(|(path, bytes)| (path, Cow::Owned(bytes))));
        Self::of(self.files)
    }

    fn of(files: BTreeMap<String, Cow<'static, [u8]>>) -> Result<Self, Refusal> {
        let path = "template.toml";
        let bytes = files.get(path).ok_or_else(|| missing(path))?;
        let manifest = Manifest::parse(utf8(path, bytes)?, path)?;
        for font in manifest.fonts_in_order() {
            if !files.contains_key(font) {
                return Err(missing(font));
            }
        }
        Ok(Self { files, manifest })
    }

    /// Settings.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// A file's bytes.
    pub fn file(&self, path: &str) -> Option<&[u8]> {
        self.files.get(path).map(AsRef::as_ref)
    }

    /// All files by path.
    pub fn files(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.files.iter().map(|(path, bytes)| (path.as_str(), bytes.as_ref()))
    }

    /// A file that does not change while the program runs can be kept by others without a copy.
    pub fn shared_file(&self, path: &str) -> Option<Cow<'static, [u8]>> {
        self.files.get(path).cloned()
    }

    /// A file as text.
    pub(crate) fn text<'a>(&self, path: &str, bytes: &'a [u8]) -> Result<&'a str, Refusal> {
        utf8(path, bytes)
    }

    /// The style sheet for screens; empty when the set has none.
    ///
    /// # Errors
    /// When it is not UTF-8.
    pub fn style(&self) -> Result<&str, Refusal> {
        self.file("style.css").map_or(Ok(""), |bytes| utf8("style.css", bytes))
    }

    /// The words of a language.
    ///
    /// # Errors
    /// When the set has no such language, or its file can't be used.
    pub fn words(&self, language: &str) -> Result<Words, Refusal> {
        let path = format!("languages/{language}.toml");
        match self.file(&path) {
            Some(bytes) => Words::parse(utf8(&path, bytes)?, &path),
            None => {
                let finding =
                    Finding::error(codes::MANIFEST, format!("the template has no language `{language}`"));
                Err(Box::new(finding.help(format!("languages are {}", self.manifest.languages.join(", ")))))
            }
        }
    }
}

fn missing(path: &str) -> Refusal {
    let place = Place { file: path.to_owned(), ..Place::default() };
    Box::new(
        Finding::error(codes::MANIFEST, format!("the template has no file `{path}`"))
            .at(place)
            .help("add it"),
    )
}

fn utf8<'a>(path: &str, bytes: &'a [u8]) -> Result<&'a str, Refusal> {
    std::str::from_utf8(bytes).map_err(|e| {
        let row =
            bytes.get(..e.valid_up_to()).map_or(1, |b| b.iter().filter(|c| **c == b'\n').count() as u64 + 1);
        let place = Place { file: path.to_owned(), row: Some(row), ..Place::default() };
        Box::new(Finding::error(codes::MANIFEST, "the file is not UTF-8").at(place).help("save it as UTF-8"))
    })
}
