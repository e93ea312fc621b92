//! `formats`: what can be read and written.

use crate::exit::{CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::text::{FAINT, STRONG, styled};
use std::io::Write;

pub(crate) fn run() -> CommandResult {
    let plugins = plugins();
    let mut out = String::new();
    out += &format!("{}\n", styled(STRONG, "Reads"));
    for reader in &plugins.readers {
        out += &format!("  {:<10} {}\n", reader.name(), reader.about());
        for setting in reader.settings() {
            out += &format!("{}\n", styled(FAINT, format!("             {setting}")));
        }
    }
    out += &format!("\n{}\n", styled(STRONG, "Writes"));
    for writer in &plugins.writers {
        out += &format!("  {:<10} {}\n", writer.name(), writer.about());
    }
    anstream::stdout().lock().write_all(out.as_bytes())?;
    Ok(Exit::Done)
}
