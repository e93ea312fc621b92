//! The plug-ins that the program is built with: one line each; and those that the command line names.

use crate::exit::CommandError;
use host::{OutsidePlugin, Plugins, TrustedPlugins};
use std::path::PathBuf;
use std::sync::OnceLock;

/// The plug-ins outside the program that were named, looked at and found trusted.
static NAMED: OnceLock<Vec<OutsidePlugin>> = OnceLock::new();

/// Looks at the plug-ins that the command line names, before any command runs; starts none of them.
///
/// # Errors
/// One that can't be used, or is not trusted.
pub(crate) fn name(folders: &[PathBuf]) -> Result<(), CommandError> {
    if folders.is_empty() {
        return Ok(());
    }
    let trusted = TrustedPlugins::read(&settings_folder()?)?;
    let mut named = Vec::new();
    let mut all = plugins();
    for folder in folders {
        let plugin = OutsidePlugin::look(folder)?;
        trusted.demand(&plugin)?;
        all.add_outside(&plugin)?;
        named.push(plugin);
    }
    // Set once: main calls this once.
    let _ = NAMED.set(named);
    Ok(())
}

/// The folder of the user's settings.
///
/// # Errors
/// When the environment does not say where it is.
pub(crate) fn settings_folder() -> Result<PathBuf, CommandError> {
    let settings = host::user_settings().and_then(|file| file.parent().map(std::path::Path::to_owned));
    settings.ok_or_else(|| {
        CommandError::Usage(
            "the environment names no place for settings: set XDG_CONFIG_HOME (on Windows APPDATA) to a folder"
                .to_owned(),
        )
    })
}

/// The list. Its order is the order of `formats` and, within a stage, of writing.
pub(crate) fn plugins() -> Plugins {
    let mut plugins = Plugins {
        readers: vec![
            Box::new(plugin_csv::CsvLogs),
            Box::new(plugin_csv::Workbooks),
            Box::new(plugin_csv::JsonLogs),
            Box::new(plugin_trace::TraceReader),
            Box::new(plugin_dcc::DccReader),
            Box::new(plugin_json::Json),
            Box::new(plugin_form::FormReader),
            Box::new(plugin_form::SheetRowsReader),
            Box::new(plugin_pack::PackReader),
        ],
        writers: vec![
            Box::new(plugin_json::Json),
            Box::new(plugin_xml::Xml),
            Box::new(plugin_results::Results),
            Box::new(plugin_html::HtmlWriter::default()),
            Box::new(plugin_pdf::PdfWriter::default()),
            Box::new(plugin_form::FormWriter),
            Box::new(plugin_form::SheetRowsWriter),
            #[cfg(feature = "sheet")]
            Box::new(plugin_sheet::SheetWriter),
            Box::new(plugin_pack::PackWriter),
        ],
        outside: Vec::new(),
    };
    for plugin in NAMED.get().into_iter().flatten() {
        // Each was added without complaint when it was named.
        let _ = plugins.add_outside(plugin);
    }
    plugins
}
