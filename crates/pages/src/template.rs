//! A template set: files by path, built in or laid over by a laboratory's own.

use crate::manifest::{Layer, Manifest};
use crate::words::Words;
use crate::{Refusal, built_in, codes, nearest};
use record::{Finding, Place};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Where a set says what it is made of.
const MANIFEST: &str = "template.toml";
/// The set that papers are made of when nobody asks for another.
const DEFAULT: &str = "report";

type Bytes = Cow<'static, [u8]>;

/// The files that make a kind of paper.
#[derive(Clone, Debug)]
pub struct TemplateSet {
    files: BTreeMap<String, Bytes>,
    /// Settings and words that lie below the file of the same name, the lowest first: what the upper one does
    /// not say comes from them.
    under: BTreeMap<String, Vec<Bytes>>,
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
        let Some((_, own)) = built_in::SETS.iter().find(|(n, _)| *n == name) else {
            let finding = Finding::error(codes::MANIFEST, format!("there is no built-in template `{name}`"));
            return Err(Box::new(match nearest(name, Self::names()) {
                Some(near) => finding.help(format!("the nearest name is `{near}`")),
                None => {
                    finding.help(format!("templates are {}", Self::names().collect::<Vec<_>>().join(", ")))
                }
            }));
        };
        let given = |list: &'static [(&'static str, &'static [u8])]| {
            list.iter().map(|(path, bytes)| ((*path).to_owned(), Cow::Borrowed(*bytes)))
        };
        let mut set = Laid::default();
        if name != DEFAULT
            && let Some((_, base)) = built_in::SETS.iter().find(|(n, _)| *n == DEFAULT)
        {
            set.lay(given(base));
        }
        set.lay(given(own));
        set.lay(given(built_in::FONTS));
        set.finish()
    }

    /// A laboratory's files laid over the built-in set that their `template.toml` names as its `base`; over
    /// `name` where it names none. No files give the built-in set itself.
    ///
    /// # Errors
    /// When there is no such set, or the new `template.toml` can't be used.
    pub fn chosen(name: &str, files: &[(String, Vec<u8>)]) -> Result<Self, Refusal> {
        let mut base = name.to_owned();
        if let Some((path, bytes)) = files.iter().find(|(path, _)| path == MANIFEST) {
            base = Layer::parse(utf8(path, bytes)?, path)?.base.unwrap_or(base);
        }
        let set = Self::built_in(&base)?;
        if files.is_empty() { Ok(set) } else { set.overlay(files.iter().cloned()) }
    }

    /// The same set with some files replaced or added: each is a path within the set and its bytes. Settings
    /// and words that the new files don't have stay those of the old ones.
    ///
    /// # Errors
    /// When the new `template.toml` can't be used.
    pub fn overlay(self, files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Result<Self, Refusal> {
        let mut laid = Laid { files: self.files, under: self.under };
        laid.lay(files.into_iter().map(|(path, bytes)| (path, Cow::Owned(bytes))));
        laid.finish()
    }

    /// Settings.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// What is put behind the name of a file made of this set: nothing for the report, `.summary` for others.
    pub fn suffix(&self) -> String {
        if self.manifest.base == DEFAULT { String::new() } else { format!(".{}", self.manifest.base) }
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
        let known = self.manifest.languages.iter().any(|l| l == language);
        let Some(bytes) = self.file(&path).filter(|_| known) else {
            let finding =
                Finding::error(codes::MANIFEST, format!("the template has no language `{language}`"));
            return Err(Box::new(
                finding.help(format!("languages are {}", self.manifest.languages.join(", "))),
            ));
        };
        let mut texts = Vec::new();
        for below in self.under.get(&path).into_iter().flatten() {
            texts.push(utf8(&path, below)?);
        }
        texts.push(utf8(&path, bytes)?);
        Words::of(&texts, language, &path)
    }
}

/// Files in the making of a set.
#[derive(Default)]
struct Laid {
    files: BTreeMap<String, Bytes>,
    under: BTreeMap<String, Vec<Bytes>>,
}

impl Laid {
    fn lay(&mut self, files: impl Iterator<Item = (String, Bytes)>) {
        for (path, bytes) in files {
            let layered = path == MANIFEST || path.starts_with("languages/");
            if let Some(below) = self.files.insert(path.clone(), bytes)
                && layered
            {
                self.under.entry(path).or_default().push(below);
            }
        }
    }

    fn finish(self) -> Result<TemplateSet, Refusal> {
        let mut layers = Vec::new();
        let top = self.files.get(MANIFEST).ok_or_else(|| missing(MANIFEST))?;
        for bytes in self.under.get(MANIFEST).into_iter().flatten().chain([top]) {
            layers.push(Layer::parse(utf8(MANIFEST, bytes)?, MANIFEST)?);
        }
        let manifest = Manifest::of(&layers, MANIFEST)?;
        for font in manifest.fonts_in_order() {
            if !self.files.contains_key(font) {
                return Err(missing(font));
            }
        }
        Ok(TemplateSet { files: self.files, under: self.under, manifest })
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
