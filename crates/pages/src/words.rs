//! The words of one language, by key.

use crate::manifest::toml_refusal;
use crate::{Numbers, Refusal, codes, nearest};
use record::{Finding, Place};
use std::collections::BTreeMap;

/// The words of one language and how it writes numbers and dates.
#[derive(Clone, Debug)]
pub struct Words {
    file: String,
    language: String,
    by_key: BTreeMap<String, String>,
    review: Option<Review>,
    numbers: Numbers,
}

/// What has yet to be read by somebody who works in the language: the table `review` of a language file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Review {
    /// Where the words are from, and who should read them.
    pub what: String,
    /// Keys of the trade terms to look at first.
    pub terms: Vec<String>,
}

impl Words {
    /// Reads language files, each over those before it: tables of strings; keys of inner tables are joined by
    /// dots. The keys under `format` say how numbers and dates look; the table `review` says what is not yet
    /// read by somebody who works in the language, and is taken from the last file that has words at all.
    ///
    /// # Errors
    /// When one is no TOML, holds anything but strings, or a format key is lacking.
    pub(crate) fn of(texts: &[&str], language: &str, file: &str) -> Result<Self, Refusal> {
        let mut by_key = BTreeMap::new();
        for text in texts {
            let table: toml::Table = toml::from_str(text).map_err(|e| toml_refusal(file, text, &e))?;
            flatten(&table, "", file, &mut by_key)?;
        }
        let what = by_key.remove("review.what").filter(|what| !what.is_empty());
        let terms = by_key.remove("review.terms").unwrap_or_default();
        let terms = terms.split_whitespace().map(str::to_owned).collect();
        let review = what.map(|what| Review { what, terms });
        let need = |key: &str| {
            by_key.get(key).cloned().ok_or_else(|| {
                Box::new(
                    Finding::error(codes::WORD, format!("the language file has no `{key}`"))
                        .at(Place { file: file.to_owned(), ..Place::default() })
                        .help(format!("add `{key}`")),
                )
            })
        };
        let numbers = Numbers::new(
            need("format.decimal")?,
            need("format.group")?,
            need("format.date")?,
            need("format.moment")?,
            need("format.months")?.split(' ').map(str::to_owned).collect(),
        );
        Ok(Self { file: file.to_owned(), language: language.to_owned(), by_key, review, numbers })
    }

    /// The language, as a BCP 47 tag.
    pub fn language(&self) -> &str {
        &self.language
    }

    /// What has yet to be reviewed; none where the file does not ask for it.
    pub fn review(&self) -> Option<&Review> {
        self.review.as_ref()
    }

    /// The words under a key.
    pub fn get(&self, key: &str) -> Option<&str> {
        self.by_key.get(key).map(String::as_str)
    }

    /// The words under a key, or the key itself: for labels of pictures, where a hole would be worse.
    pub fn or_key<'a>(&'a self, key: &'a str) -> &'a str {
        self.get(key).unwrap_or(key)
    }

    /// The words under a key, or the finding that says they are missing.
    ///
    /// # Errors
    /// When there are none.
    pub fn word(&self, key: &str) -> Result<&str, Refusal> {
        self.get(key).ok_or_else(|| {
            let mut finding =
                Finding::error(codes::WORD, format!("the language file has no words for `{key}`"))
                    .at(Place { file: self.file.clone(), ..Place::default() });
            finding = match self.near(key) {
                Some(near) => finding.help(format!("the nearest key is `{near}`")),
                None => finding.help(format!("add `{key}` to {}", self.file)),
            };
            Box::new(finding)
        })
    }

    /// The key most like this one.
    pub fn near(&self, key: &str) -> Option<&str> {
        nearest(key, self.by_key.keys().map(String::as_str))
    }

    /// All keys.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.by_key.keys().map(String::as_str)
    }

    /// Name of the language file.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// How numbers and dates are written.
    pub fn numbers(&self) -> &Numbers {
        &self.numbers
    }
}

fn flatten(
    table: &toml::Table,
    prefix: &str,
    file: &str,
    out: &mut BTreeMap<String, String>,
) -> Result<(), Refusal> {
    for (key, value) in table {
        let path = if prefix.is_empty() { key.clone() } else { format!("{prefix}.{key}") };
        match value {
            toml::Value::String(text) => {
                out.insert(path, text.clone());
            }
            toml::Value::Table(inner) => flatten(inner, &path, file, out)?,
            other => {
                let message = format!("`{path}` is {}, and only words can stand here", other.type_str());
                let place = Place { file: file.to_owned(), label: Some(path), ..Place::default() };
                return Err(Box::new(
                    Finding::error(codes::MANIFEST, message).at(place).help("put it in quotation marks"),
                ));
            }
        }
    }
    Ok(())
}

/// Puts values into the `{name}` places of some words. Each place must be given, and each value used.
pub(crate) fn fill(text: &str, values: &[(&str, String)]) -> Result<String, String> {
    let mut out = String::with_capacity(text.len());
    let mut used = vec![false; values.len()];
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        let (before, after) = rest.split_at(open);
        out.push_str(before);
        let Some(close) = after.find('}') else {
            return Err("a `{` without `}`".to_owned());
        };
        let name = &after[1..close];
        match values.iter().position(|(n, _)| *n == name) {
            Some(i) => {
                out.push_str(&values[i].1);
                used[i] = true;
            }
            None => return Err(format!("the words ask for `{name}`, which the template does not give")),
        }
        rest = &after[close + 1..];
    }
    out.push_str(rest);
    match used.iter().position(|u| !u) {
        Some(i) => Err(format!("the words have no place `{{{}}}`", values[i].0)),
        None => Ok(out),
    }
}
