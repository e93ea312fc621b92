//! `plugin.toml`: what a plug-in outside the program says of itself.

use record::SourceRole;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::time::Duration;

/// Whether a plug-in reads or writes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// It turns files into facts.
    Reader,
    /// It turns record and assessment into files.
    Writer,
}

impl Kind {
    /// The word for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Reader => "reader",
            Self::Writer => "writer",
        }
    }
}

/// One setting that a reader understands.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// What it is for, in one line.
    pub about: String,
    /// Its type in JSON: string, integer, number or boolean.
    #[serde(rename = "type", default = "text")]
    pub kind: String,
}

fn text() -> String {
    "string".to_owned()
}

/// What a code of the plug-in means, for `explain`.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Code {
    /// The code, without the plug-in's name.
    pub code: String,
    /// What it means.
    pub means: String,
    /// Why it matters.
    pub matters: String,
    /// An input that raises it.
    pub example: String,
    /// What to do.
    pub remedy: String,
}

/// What `plugin.toml` says. Keys that are not known are refused: a mistyped limit would be no limit.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// Name of the format, as in `--from NAME` and `--to NAME`.
    pub name: String,
    /// Version of the plug-in.
    pub version: String,
    /// Protocol that it speaks.
    pub protocol: u64,
    /// Reader or writer.
    pub kind: Kind,
    /// One line on what it reads or writes.
    pub about: String,
    /// Program and arguments. A part that is a file of the folder stands for that file.
    pub argv: Vec<String>,
    /// The same on Windows, where it differs.
    pub argv_windows: Option<Vec<String>>,
    /// Further files of the program, relative to the folder, that lie where the folder's own are not looked at.
    #[serde(default)]
    pub files: Vec<String>,
    /// Endings of the files that a reader may read, without the point.
    #[serde(default)]
    pub extensions: Vec<String>,
    /// Texts with which a reader's files begin, one of them.
    #[serde(default)]
    pub begins_with: Vec<String>,
    /// What a reader's files are to the record: log or trace.
    #[serde(default = "log")]
    role: String,
    /// Whether a reader's files have rows, which it has to account for.
    #[serde(default = "yes")]
    pub rows: bool,
    /// Formats whose files a writer wants to be handed.
    #[serde(default)]
    pub wants: Vec<String>,
    /// Longest time for one request, and for the hello, in seconds.
    #[serde(default = "sixty")]
    pub timeout_s: u64,
    /// Largest file that it is given, in MiB.
    #[serde(default = "sixty_four")]
    pub input_limit_mib: u64,
    /// Most that it may answer to one request, lines and files together, in MiB.
    #[serde(default = "sixty_four")]
    pub output_limit_mib: u64,
    /// Settings that a reader understands.
    #[serde(default)]
    pub settings: BTreeMap<String, Setting>,
    /// What its codes mean.
    #[serde(default)]
    pub codes: Vec<Code>,
}

fn log() -> String {
    SourceRole::Log.as_str().to_owned()
}
fn yes() -> bool {
    true
}
fn sixty() -> u64 {
    60
}
fn sixty_four() -> u64 {
    64
}

impl Manifest {
    /// What a name is made of, in words.
    pub const NAMES: &str = "2 to 40 letters in lower case, digits and hyphens, a letter first";

    /// Whether a plug-in may be called so.
    pub fn is_name(text: &str) -> bool {
        (2..=40).contains(&text.len())
            && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
            && text.bytes().next().is_some_and(|b| b.is_ascii_lowercase())
    }

    /// Reads it.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub fn parse(text: &str) -> Result<Self, String> {
        let manifest: Self = toml::from_str(text).map_err(|error| {
            let row = error.span().map(|span| {
                text.as_bytes().get(..span.start).unwrap_or_default().iter().filter(|b| **b == b'\n').count()
                    + 1
            });
            let row = row.map(|row| format!(" line {row}:")).unwrap_or_default();
            format!("plugin.toml:{row} {}", error.message())
        })?;
        manifest.check().map_err(|what| format!("plugin.toml: {what}"))?;
        Ok(manifest)
    }

    fn check(&self) -> Result<(), String> {
        if !Self::is_name(&self.name) {
            return Err(format!("`name = \"{}\"`: {}", self.name, Self::NAMES));
        }
        let plain = |text: &str| {
            !text.is_empty()
                && text.len() <= 40
                && text.chars().all(|c| c.is_ascii_graphic() && c != '(' && c != ')')
        };
        if !plain(&self.version) {
            return Err("`version` is a short word such as \"1.0\"".to_owned());
        }
        let known = plugin_api::wire::stdio::PROTOCOL;
        if self.protocol != known {
            return Err(format!("protocol {} is not known; this program speaks {known}", self.protocol));
        }
        if self.about.trim().is_empty() || self.about.contains('\n') {
            return Err("`about` is one line on what it reads or writes".to_owned());
        }
        for argv in [Some(&self.argv), self.argv_windows.as_ref()].into_iter().flatten() {
            if argv.first().is_none_or(|program| program.trim().is_empty())
                || argv.iter().any(|a| a.contains('\0'))
            {
                return Err("`argv` names the program first, then its arguments".to_owned());
            }
        }
        if !matches!(self.role.as_str(), "log" | "trace") {
            return Err(format!("`role = \"{}\"`: log or trace", self.role));
        }
        for (name, value, most) in [
            ("timeout_s", self.timeout_s, 24 * 3600),
            ("input_limit_mib", self.input_limit_mib, 1024),
            ("output_limit_mib", self.output_limit_mib, 1024),
        ] {
            if value == 0 || value > most {
                return Err(format!("`{name} = {value}`: 1 to {most}"));
            }
        }
        for (name, setting) in &self.settings {
            if !matches!(setting.kind.as_str(), "string" | "integer" | "number" | "boolean") {
                return Err(format!("setting `{name}`: type is string, integer, number or boolean"));
            }
        }
        if self.kind == Kind::Reader && self.extensions.is_empty() && self.begins_with.is_empty() {
            return Err("a reader says by `extensions` or `begins_with` which files are its own".to_owned());
        }
        Ok(())
    }

    /// The program and its arguments on this system.
    pub fn argv(&self) -> &[String] {
        match &self.argv_windows {
            Some(argv) if cfg!(windows) => argv,
            _ => &self.argv,
        }
    }

    /// What the files are to the record.
    pub(crate) fn role(&self) -> SourceRole {
        if self.role == SourceRole::Trace.as_str() { SourceRole::Trace } else { SourceRole::Log }
    }

    pub(crate) fn timeout(&self) -> Duration {
        Duration::from_secs(self.timeout_s)
    }

    pub(crate) fn input_limit(&self) -> u64 {
        self.input_limit_mib << 20
    }

    pub(crate) fn output_limit(&self) -> u64 {
        self.output_limit_mib << 20
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEAST: &str = "name = \"a-log\"\nversion = \"1\"\nprotocol = 1\nkind = \"reader\"\nabout = \"a\"\nargv = [\"sh\"]\nextensions = [\"a\"]\n";

    #[test]
    fn what_is_wrong_names_its_line_or_its_key() {
        assert!(Manifest::parse(LEAST).is_ok());
        let wrong = |from: &str, to: &str| Manifest::parse(&LEAST.replace(from, to)).unwrap_err();
        assert!(wrong("protocol = 1", "protocol = 2").contains("protocol 2 is not known"));
        assert!(wrong("a-log", "A log").contains("lower case"));
        assert!(wrong("argv = [\"sh\"]", "argv = []").contains("argv"));
        assert!(wrong("kind =", "timeout = 3\nkind =").contains("line 4"));
        assert!(wrong("extensions = [\"a\"]", "").contains("begins_with"));
        assert!(wrong("version = \"1\"", "version = \"1 (x)\"").contains("version"));
    }
}
