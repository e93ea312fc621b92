//! `completions` and `man`: what shells and manual readers want to know of the command line.

use crate::arguments::Arguments;
use crate::exit::{CommandResult, Exit};
use crate::render::Output;
use crate::unattended::{Completions, Man};
use clap::CommandFactory;
use clap_mangen::Man as Page;
use host::write_files;
use plugin_api::Artifact;

pub(crate) fn completions(given: &Completions, output: &Output) -> CommandResult {
    let mut text = Vec::new();
    clap_complete::generate(given.shell, &mut Arguments::command(), "fulgurite", &mut text);
    output.print(&String::from_utf8_lossy(&text))?;
    Ok(Exit::Done)
}

pub(crate) fn man(given: &Man, output: &Output) -> CommandResult {
    let mut program = Arguments::command().disable_help_subcommand(true);
    program.build();
    let Some(folder) = &given.out else {
        let mut page = Vec::new();
        Page::new(program).render(&mut page)?;
        output.print(&String::from_utf8_lossy(&page))?;
        return Ok(Exit::Done);
    };
    let mut pages = Vec::new();
    add(&program, &mut pages)?;
    let written = write_files(folder, pages, given.replace)?;
    if !output.quiet {
        output.print(&format!("{} pages in {}\n", written.len(), folder.display()))?;
    }
    Ok(Exit::Done)
}

/// The page of a command, and of each one below it.
fn add(command: &clap::Command, pages: &mut Vec<Artifact>) -> std::io::Result<()> {
    let name = command.get_display_name().unwrap_or(command.get_name()).to_owned();
    let mut text = Vec::new();
    Page::new(command.clone()).title(name.clone()).render(&mut text)?;
    pages.push(Artifact::bytes(format!("{name}.1"), "text/troff", "man", text));
    command.get_subcommands().filter(|c| !c.is_hide_set()).try_for_each(|below| add(below, pages))
}
