//! `settings show`: every setting, its value, and where it comes from.

use crate::exit::{CommandResult, Exit};
use crate::render::Output;
use crate::render::text::{FAINT, STRONG, styled};
use crate::settings::{KEYS, Settings};
use crate::unattended::SettingsShow;
use serde_json::json;

pub(crate) fn show(given: &SettingsShow, settings: &Settings, output: &Output) -> CommandResult {
    let mut text = String::new();
    for key in KEYS {
        let found = settings.of(key.name);
        let values = found.map_or_else(
            || if key.built_in.is_empty() { Vec::new() } else { vec![key.built_in.to_owned()] },
            |(_, values)| values.clone(),
        );
        let file = found.map(|(setting, _)| setting.file.to_string_lossy().into_owned());
        let row = found.and_then(|(setting, _)| setting.row);
        if given.json {
            text += &format!("{}\n", json!({ "key": key.name, "values": values, "file": file, "row": row }));
            continue;
        }
        let from = match (&file, row) {
            (Some(file), Some(row)) => format!("{file}:{row}"),
            (Some(file), None) => file.clone(),
            (None, _) => "built in".to_owned(),
        };
        let value = if values.is_empty() { "not set".to_owned() } else { values.join(", ") };
        text += &format!(
            "{}{value}  {}\n",
            styled(STRONG, format!("{:<16}", key.name)),
            styled(FAINT, format!("({from}; {})", key.about))
        );
    }
    if !given.json {
        text += "\nWhat is said on the command line counts over these; a project's fulgurite.toml over the user's ";
        text += &match host::user_settings() {
            Some(file) => format!("{}.\n", file.display()),
            None => "settings.\n".to_owned(),
        };
    }
    output.print(&text)?;
    Ok(Exit::Done)
}
