//! Settings under the command line: what is said there counts, then the project's file, then the user's, then what is
//! built in.

use crate::exit::CommandError;
use clap::{Arg, Command};
use host::{Setting, read_settings, settings_files};
use record::Finding;
use serde_json::Value;

/// What a setting holds.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// A text or a number.
    One,
    /// A list.
    Several,
    /// A path, from the folder of the settings file.
    Path,
    /// A list of such.
    Paths,
    /// A name, or a path to a folder that there is.
    NameOrPath,
}

/// A key of a settings file: the option that it stands for, of which commands (none named: all that have it).
pub(crate) struct Key {
    /// As it is written.
    pub(crate) name: &'static str,
    option: &'static str,
    kind: Kind,
    commands: &'static [&'static str],
    /// What holds where nobody sets it.
    pub(crate) built_in: &'static str,
    /// What it is.
    pub(crate) about: &'static str,
}

const MAKING: &[&str] = &["convert", "filter", "watch"];

/// Every key.
pub(crate) const KEYS: &[Key] = &[
    Key {
        name: "to",
        option: "to",
        kind: Kind::Several,
        commands: MAKING,
        built_in: "",
        about: "formats to write",
    },
    Key {
        name: "lang",
        option: "lang",
        kind: Kind::One,
        commands: &["convert", "filter", "watch", "preview"],
        built_in: "en",
        about: "language of the papers",
    },
    Key {
        name: "template",
        option: "template",
        kind: Kind::NameOrPath,
        commands: MAKING,
        built_in: "report",
        about: "what papers are made of",
    },
    Key {
        name: "standards",
        option: "standards",
        kind: Kind::Paths,
        commands: &[],
        built_in: "",
        about: "the laboratory's own standards' data",
    },
    Key {
        name: "register",
        option: "register",
        kind: Kind::Path,
        commands: MAKING,
        built_in: "",
        about: "register that every record is entered in",
    },
    Key {
        name: "fail_on",
        option: "fail_on",
        kind: Kind::Several,
        commands: &["convert", "assess"],
        built_in: "",
        about: "verdicts that end in exit code 1",
    },
    Key {
        name: "threads",
        option: "threads",
        kind: Kind::One,
        commands: &["filter", "watch"],
        built_in: "",
        about: "jobs at a time",
    },
    Key {
        name: "plugin",
        option: "plugin",
        kind: Kind::Paths,
        commands: &["fulgurite"],
        built_in: "",
        about: "plug-ins outside the program, each trusted",
    },
    Key {
        name: "message_format",
        option: "message_format",
        kind: Kind::One,
        commands: &["fulgurite"],
        built_in: "full",
        about: "how findings are printed",
    },
];

/// The settings that were found, each key at most once.
#[derive(Default)]
pub(crate) struct Settings {
    found: Vec<(Setting, Vec<String>)>,
}

impl Settings {
    /// Reads the project's and the user's settings.
    ///
    /// # Errors
    /// A file that can't be read, a key that does not exist, a value that its option does not take.
    pub(crate) fn load(program: &Command) -> Result<Self, CommandError> {
        let mut settings = Self::default();
        let mut findings = Vec::new();
        for file in settings_files() {
            match read_settings(&file) {
                Err(finding) => findings.push(*finding),
                Ok(list) => list.into_iter().for_each(|one| settings.take(one, program, &mut findings)),
            }
        }
        if findings.is_empty() { Ok(settings) } else { Err(CommandError::Findings(findings)) }
    }

    fn take(&mut self, setting: Setting, program: &Command, findings: &mut Vec<Finding>) {
        let Some(key) = KEYS.iter().find(|key| key.name == setting.key) else {
            let names: Vec<String> = KEYS.iter().map(|key| key.name.to_owned()).collect();
            let near = plugin_api::wire::v1::nearest(&setting.key, &names);
            let help = near.map_or_else(
                || format!("there are {}", names.join(", ")),
                |n| format!("did you mean `{n}`?"),
            );
            let message = format!("`{}` is no setting", setting.key);
            findings.push(Finding::error(host::UNKNOWN_SETTING, message).at(setting.place()).help(help));
            return;
        };
        let several = matches!(key.kind, Kind::Several | Kind::Paths);
        let items = match &setting.value {
            Value::Array(items) if several => items.clone(),
            one @ (Value::String(_) | Value::Number(_)) => vec![one.clone()],
            _ => Vec::new(),
        };
        let texts: Option<Vec<String>> = items
            .iter()
            .map(|item| match item {
                Value::String(text) => Some(text.clone()),
                Value::Number(number) => Some(number.to_string()),
                _ => None,
            })
            .collect();
        let words = words_of(program, key.option);
        let fits = |text: &String| words.is_empty() || words.contains(text);
        match texts.filter(|texts| !texts.is_empty() && texts.iter().all(fits)) {
            Some(texts) if self.of(key.name).is_none() => {
                let laid = texts.iter().map(|text| laid_out(key.kind, &setting, text)).collect();
                self.found.push((setting, laid));
            }
            // The project's file counts over the user's.
            Some(_) => {}
            None => {
                let help = match (words.is_empty(), several) {
                    (false, _) => format!("use {}", words.join(" or ")),
                    (true, true) => "write a list of texts: [\"...\", \"...\"]".to_owned(),
                    (true, false) => "write a text or a number".to_owned(),
                };
                let message = format!("`{}` can't be {}", key.name, setting.value);
                findings.push(Finding::error(host::BAD_SETTING, message).at(setting.place()).help(help));
            }
        }
    }

    /// A setting and its values as an option takes them.
    pub(crate) fn of(&self, name: &str) -> Option<&(Setting, Vec<String>)> {
        self.found.iter().find(|(setting, _)| setting.key == name)
    }

    /// Lays the settings under the options of the command line.
    pub(crate) fn under(&self, program: Command) -> Command {
        let name = program.get_name().to_owned();
        let mut program = program;
        for (setting, values) in &self.found {
            let Some(key) = KEYS.iter().find(|key| key.name == setting.key) else { continue };
            if !(key.commands.is_empty() || key.commands.contains(&name.as_str()))
                || option(&program, key.option).is_none()
            {
                continue;
            }
            let values = values.clone();
            program = program.mut_arg(key.option, |arg| arg.required(false).default_values(values));
        }
        let below: Vec<String> = program.get_subcommands().map(|c| c.get_name().to_owned()).collect();
        below
            .into_iter()
            .fold(program, |program, name| program.mut_subcommand(name, |command| self.under(command)))
    }
}

fn laid_out(kind: Kind, setting: &Setting, text: &str) -> String {
    let path = setting.path(text);
    match kind {
        Kind::One | Kind::Several => text.to_owned(),
        Kind::NameOrPath if !path.is_dir() => text.to_owned(),
        Kind::Path | Kind::Paths | Kind::NameOrPath => path.to_string_lossy().into_owned(),
    }
}

fn option<'a>(program: &'a Command, id: &str) -> Option<&'a Arg> {
    program.get_arguments().find(|arg| arg.get_id() == id && !arg.is_positional())
}

/// The words that an option takes, where there are only some.
fn words_of(program: &Command, id: &str) -> Vec<String> {
    let here = option(program, id).map(|arg| {
        arg.get_possible_values().iter().map(|word| word.get_name().to_owned()).collect::<Vec<_>>()
    });
    match here.filter(|words| !words.is_empty()) {
        Some(words) => words,
        None => program
            .get_subcommands()
            .map(|below| words_of(below, id))
            .find(|w| !w.is_empty())
            .unwrap_or_default(),
    }
}
