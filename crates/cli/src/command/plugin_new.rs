//! `plugin new`: the beginning of a plug-in, which works as it is.

use crate::arguments::{PluginLanguage, PluginNew};
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::Output;
use host::{Manifest, write_files};
use plugin_api::Artifact;

/// What stands for the name in the beginnings.
const NAME: &str = "FORMAT_NAME";

/// Files of every beginning: an input, and what it comes to.
const FIXTURE: [(&str, &str); 2] = [
    ("fixtures/three-rows/input.txt", include_str!("../../beginnings/fixture/input.txt")),
    ("fixtures/three-rows/expected.json", include_str!("../../beginnings/fixture/expected.json")),
];

fn files(language: PluginLanguage) -> &'static [(&'static str, &'static str)] {
    match language {
        PluginLanguage::Python => &[
            ("plugin.toml", include_str!("../../beginnings/python/plugin.toml")),
            ("reader.py", include_str!("../../beginnings/python/reader.py")),
        ],
        PluginLanguage::Shell => &[
            ("plugin.toml", include_str!("../../beginnings/shell/plugin.toml")),
            ("reader.sh", include_str!("../../beginnings/shell/reader.sh")),
        ],
        PluginLanguage::Rust => &[
            ("plugin.toml", include_str!("../../beginnings/rust/plugin.toml")),
            // Cargo would take a file of that name in our tree for a package of the workspace.
            ("Cargo.toml", include_str!("../../beginnings/rust/Cargo.toml.txt")),
            ("src/main.rs", include_str!("../../beginnings/rust/main.rs")),
        ],
    }
}

pub(crate) fn run(given: &PluginNew, output: &Output) -> CommandResult {
    if !Manifest::is_name(&given.name) {
        return Err(CommandError::Usage(format!("`{}`: a name has {}", given.name, Manifest::NAMES)));
    }
    if plugins().has_name(&given.name) {
        return Err(CommandError::Usage(format!("the name `{}` is taken; choose another one", given.name)));
    }
    let artifacts = files(given.language).iter().chain(&FIXTURE).map(|(path, text)| {
        let text = text.replace(NAME, &given.name);
        Artifact::bytes(*path, "text/plain", "plugin", text.into_bytes())
    });
    let written = write_files(&given.out, artifacts.collect(), false)?;
    if !output.quiet {
        let mut text = String::new();
        for file in &written {
            text += &format!("{}\n", file.path.display());
        }
        let folder = given.out.display();
        if given.language == PluginLanguage::Rust {
            text += &format!("\nbuild it: cargo build --release --manifest-path {folder}/Cargo.toml\n");
        }
        text += &format!(
            "\ntry it:   fulgurite plugin check {folder}\ntrust it: fulgurite plugin trust {folder}\nuse it:   fulgurite convert LOG --plugin {folder} --to json --out OUT\n"
        );
        output.print(&text)?;
    }
    Ok(Exit::Done)
}
