//! `plugin`: programs of the user's own that read or write a format.

use crate::arguments::{PluginCheck, PluginFolder, PluginList};
use crate::exit::{CommandResult, Exit};
use crate::plugins::settings_folder;
use crate::render::Output;
use crate::render::text::{BAD, FAINT, STRONG, styled};
use host::{OutsidePlugin, Standing, TrustedPlugins, try_plugin};
use serde_json::{Value, json};
use std::path::PathBuf;

/// Lists the plug-ins that were named and those that are trusted.
pub(crate) fn list(given: &PluginList, named: &[PathBuf], output: &Output) -> CommandResult {
    let trusted = TrustedPlugins::read(&settings_folder()?)?;
    let mut seen: Vec<(OutsidePlugin, bool)> = Vec::new();
    for folder in named {
        seen.push((OutsidePlugin::look(folder)?, true));
    }
    let mut gone = Vec::new();
    for entry in trusted.all() {
        if seen.iter().any(|(plugin, _)| plugin.folder.to_string_lossy() == entry.folder) {
            continue;
        }
        match OutsidePlugin::look(entry.folder.as_ref()) {
            Ok(plugin) => seen.push((plugin, false)),
            Err(error) => gone.push((entry.clone(), error.to_string())),
        }
    }
    if given.json || output.as_json() {
        let mut lines = String::new();
        for (plugin, named) in &seen {
            let mut value = as_json(plugin, trusted.standing(plugin));
            value["named"] = json!(named);
            lines += &format!("{value}\n");
        }
        for (entry, why) in &gone {
            let value = json!({ "name": entry.name, "version": entry.version, "folder": entry.folder, "standing": "gone", "why": why });
            lines += &format!("{value}\n");
        }
        output.print(&lines)?;
        return Ok(Exit::Done);
    }
    let mut text = String::new();
    for (plugin, named) in &seen {
        let named = if *named { "named" } else { "not named: give --plugin to use it" };
        text += &format!(
            "{}  {} {}, {}; {named}\n    {}\n    {}\n",
            styled(STRONG, &plugin.manifest.name),
            plugin.manifest.version,
            plugin.manifest.kind.as_str(),
            trusted.standing(plugin).as_str(),
            plugin.manifest.about,
            styled(FAINT, plugin.folder.display()),
        );
    }
    for (entry, why) in &gone {
        text += &format!("{}  {}, trusted once: {why}\n", styled(STRONG, &entry.name), entry.version);
    }
    if text.is_empty() {
        text = "no plug-in is named or trusted; `fulgurite plugin new` makes one to begin with\n".to_owned();
    }
    output.print(&text)?;
    Ok(Exit::Done)
}

/// Shows one plug-in.
pub(crate) fn show(given: &PluginFolder, output: &Output) -> CommandResult {
    let plugin = OutsidePlugin::look(&given.folder)?;
    let standing = TrustedPlugins::read(&settings_folder()?)?.standing(&plugin);
    if output.as_json() {
        output.print(&format!("{:#}\n", as_json(&plugin, standing)))?;
        return Ok(Exit::Done);
    }
    let manifest = &plugin.manifest;
    let mut text = format!(
        "{} {} ({}): {}\n\n",
        styled(STRONG, &manifest.name),
        manifest.version,
        manifest.kind.as_str(),
        manifest.about
    );
    let mut line = |name: &str, value: String| {
        if !value.is_empty() {
            text += &format!("  {name:<22} {value}\n");
        }
    };
    line("folder", plugin.folder.display().to_string());
    line("runs", manifest.argv().join(" "));
    line("protocol", manifest.protocol.to_string());
    line("endings", manifest.extensions.join(", "));
    line("begins with", manifest.begins_with.join(", "));
    line("wants", manifest.wants.join(", "));
    line(
        "limits",
        format!(
            "{} s, {} MiB in, {} MiB out",
            manifest.timeout_s, manifest.input_limit_mib, manifest.output_limit_mib
        ),
    );
    for (name, setting) in &manifest.settings {
        line("setting", format!("{name} ({}): {}", setting.kind, setting.about));
    }
    line("program SHA-256", plugin.identity.program.clone());
    line("plugin.toml SHA-256", plugin.identity.manifest.clone());
    line("standing", standing.as_str().to_owned());
    output.print(&text)?;
    Ok(Exit::Done)
}

/// Tries a plug-in.
pub(crate) fn check(given: &PluginCheck, output: &Output) -> CommandResult {
    let plugin = OutsidePlugin::look(&given.folder)?;
    let tried = try_plugin(&plugin, given.bless)?;
    let wrong = tried.iter().filter(|tried| tried.wrong.is_some()).count();
    let mut text = String::new();
    for one in &tried {
        if output.as_json() {
            text +=
                &format!("{}\n", json!({ "what": one.what, "ok": one.wrong.is_none(), "wrong": one.wrong }));
            continue;
        }
        match &one.wrong {
            None if output.quiet => {}
            None => text += &format!("ok      {}\n", one.what),
            Some(why) => text += &format!("{}  {}: {why}\n", styled(BAD, "wrong "), one.what),
        }
    }
    if !output.as_json() {
        let name = &plugin.manifest.name;
        text += &match wrong {
            0 => format!("{name} {}: {} tried, all in order\n", plugin.manifest.version, tried.len()),
            _ => format!("{name} {}: {wrong} of {} wrong\n", plugin.manifest.version, tried.len()),
        };
    }
    output.print(&text)?;
    Ok(if wrong == 0 { Exit::Done } else { Exit::PluginBroke })
}

/// Trusts a plug-in as it stands.
pub(crate) fn trust(given: &PluginFolder, output: &Output) -> CommandResult {
    let plugin = OutsidePlugin::look(&given.folder)?;
    let mut trusted = TrustedPlugins::read(&settings_folder()?)?;
    let before = trusted.standing(&plugin);
    if before != Standing::Trusted {
        trusted.trust(&plugin)?;
    }
    if !output.quiet {
        let what = match before {
            Standing::Trusted => "is trusted already",
            Standing::Changed => "is trusted as it stands now",
            Standing::Unknown => "is trusted as it stands",
        };
        output.print(&format!(
            "{} {} {what}: it may run with your rights when it is named.\nprogram     SHA-256 {}\nplugin.toml SHA-256 {}\n",
            plugin.manifest.name, plugin.manifest.version, plugin.identity.program, plugin.identity.manifest
        ))?;
    }
    Ok(Exit::Done)
}

fn as_json(plugin: &OutsidePlugin, standing: Standing) -> Value {
    let manifest = &plugin.manifest;
    json!({
        "name": manifest.name,
        "version": manifest.version,
        "kind": manifest.kind.as_str(),
        "about": manifest.about,
        "folder": plugin.folder.to_string_lossy(),
        "argv": manifest.argv(),
        "protocol": manifest.protocol,
        "timeout_s": manifest.timeout_s,
        "input_limit_mib": manifest.input_limit_mib,
        "output_limit_mib": manifest.output_limit_mib,
        "program_sha256": plugin.identity.program,
        "plugin_toml_sha256": plugin.identity.manifest,
        "standing": standing.as_str(),
    })
}
