//! What `case.toml` says.
//!
//! ```toml
//! about = "one row of the log can't be read, the rest is assessed"
//! base  = "demo/lock-gate-settled"          # optional: a folder below tests/, or several; each is copied by its name
//! args  = ["assess", "lock-gate-settled"]   # or [[run]] with args, exit, stdin and edits of its own, in order
//! exit  = 1
//! traits = ["voltage-no-number"]            # optional: what the input is like, by names of tests/traits.toml
//! codes = ["csv/not-a-number"]              # every finding code raised, and no other
//! hash_only = ["*.pdf", "*.zip"]            # kept as SHA-256 with the text of the PDF or the members of the zip
//!
//! [[edit]]                                  # one change to the copied input
//! file = "lock-gate-settled/contact.csv"
//! replace = "8.0;-"
//! with = "8.O;-"
//!
//! [expect]                                  # files too large to keep: fragments that they must hold, or must not
//! contains = { "out/record.json" = ["\"verdict\": \"undetermined\""] }
//! lacks = { "stdout.txt" = ["pass"] }
//! ```

use std::collections::BTreeMap;

use serde::Deserialize;

/// One `case.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Description {
    /// What the case shows, in one sentence.
    pub(crate) about: String,
    /// Folders below `tests/` to copy in first.
    #[serde(default)]
    base: OneOrMany,
    /// Changes to the copied input.
    #[serde(default)]
    pub(crate) edit: Vec<Edit>,
    args: Option<Vec<String>>,
    exit: Option<i32>,
    #[serde(default)]
    run: Vec<Run>,
    /// Every code that any run raises, and no other.
    #[serde(default)]
    pub(crate) codes: Vec<String>,
    /// Beside PATH, `LC_ALL=C` and `TZ=UTC`, which it may replace.
    #[serde(default)]
    pub(crate) env: BTreeMap<String, String>,
    /// Patterns of outputs that are kept by their hash: a path, or `*` and an ending.
    #[serde(default)]
    pub(crate) hash_only: Vec<String>,
    /// Outputs that are looked at in part.
    #[serde(default)]
    pub(crate) expect: Expect,
    /// Traits of the input by their names in `tests/traits.toml`, which `cargo xtask traits` checks.
    #[serde(default, rename = "traits")]
    _traits: Vec<String>,
}

/// One call of the program.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Run {
    pub(crate) args: Vec<String>,
    #[serde(default)]
    pub(crate) exit: i32,
    pub(crate) stdin: Option<String>,
    /// Changes made just before this call, to inputs or to what an earlier call wrote.
    #[serde(default)]
    pub(crate) edit: Vec<Edit>,
}

/// One change to one file. Exactly one of `replace`, `remove_line_containing`, `append` and `delete` stands.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Edit {
    pub(crate) file: String,
    pub(crate) replace: Option<String>,
    #[serde(default)]
    pub(crate) with: String,
    pub(crate) remove_line_containing: Option<String>,
    pub(crate) append: Option<String>,
    #[serde(default)]
    pub(crate) delete: bool,
    /// How often the text, or lines with the text, must occur; all are changed.
    #[serde(default = "once")]
    pub(crate) count: usize,
}

impl Run {
    /// A call with nothing but its arguments, which must end with 0.
    pub(crate) fn plain(args: &[&str]) -> Self {
        let args = args.iter().map(|arg| (*arg).to_owned()).collect();
        Self { args, exit: 0, stdin: None, edit: Vec::new() }
    }

    /// The form in which this call prints its findings: `full`, `short` or `json`.
    pub(crate) fn form(&self) -> &str {
        let after = self.args.iter().skip_while(|arg| *arg != "--message-format").nth(1);
        after.map_or("full", String::as_str)
    }
}

fn once() -> usize {
    1
}

/// Fragments by file: an output, or `stdout.txt` and `stderr.txt`.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Expect {
    #[serde(default)]
    pub(crate) contains: BTreeMap<String, Vec<String>>,
    #[serde(default)]
    pub(crate) lacks: BTreeMap<String, Vec<String>>,
}

/// A text or a list of texts.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum OneOrMany {
    One(String),
    Many(Vec<String>),
}

impl Default for OneOrMany {
    fn default() -> Self {
        Self::Many(Vec::new())
    }
}

impl Description {
    /// Reads `case.toml`.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let description: Self = toml::from_str(text).map_err(|error| error.to_string())?;
        if description.about.trim().is_empty() {
            return Err("`about` says nothing".to_owned());
        }
        if description.args.is_some() != description.run.is_empty() {
            return Err("give either `args` or [[run]]".to_owned());
        }
        if description.exit.is_some() && description.args.is_none() {
            return Err("`exit` belongs to `args`; each [[run]] has its own".to_owned());
        }
        Ok(description)
    }

    /// Folders to copy in first.
    pub(crate) fn bases(&self) -> &[String] {
        match &self.base {
            OneOrMany::One(one) => std::slice::from_ref(one),
            OneOrMany::Many(many) => many,
        }
    }

    /// Every call, in order.
    pub(crate) fn runs(&self) -> Vec<Run> {
        let short = self.args.iter().map(|args| Run {
            args: args.clone(),
            exit: self.exit.unwrap_or(0),
            stdin: None,
            edit: Vec::new(),
        });
        short.chain(self.run.iter().cloned()).collect()
    }

    /// Is an output kept by its hash?
    pub(crate) fn is_hash_only(&self, path: &str) -> bool {
        self.hash_only.iter().any(|pattern| match pattern.strip_prefix('*') {
            Some(ending) => path.ends_with(ending),
            None => path == pattern,
        })
    }

    /// Is an output, or what was printed, looked at in part?
    pub(crate) fn is_in_part(&self, path: &str) -> bool {
        self.expect.contains.contains_key(path) || self.expect.lacks.contains_key(path)
    }
}
