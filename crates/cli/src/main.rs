//! `fulgurite`: reads the records of electrostatic-discharge tests, computes what follows, and writes
//! what each reader needs.
#![forbid(unsafe_code)]

mod arguments;
mod command;
mod exit;
mod plugins;
mod progress;
mod render;

use arguments::{Arguments, Command, MappingCommand, StandardsCommand, Template};
use clap::Parser;
use exit::Exit;

fn main() -> std::process::ExitCode {
    let arguments = Arguments::parse();
    let output = render::Output::new(&arguments.common);
    let exit = match arguments.command {
        Command::Convert(given) => command::convert::run(&given, &output),
        Command::Assess(given) => command::assess::run(&given, &output),
        Command::Plan(given) => command::plan::run(&given, &output),
        Command::Affected(given) => command::affected::run(&given, &output),
        Command::Trace(given) => command::trace::run(&given, &output),
        Command::Health(given) => command::health::run(&given, &output),
        Command::Form(given) => command::form::run(&given, &output),
        Command::Verify(given) => command::verify::run(&given, &output),
        Command::Standards(StandardsCommand::List(given)) => command::standards::list(&given, &output),
        Command::Standards(StandardsCommand::Show(given)) => command::standards::show(&given, &output),
        Command::Sign(given) => command::sign::run(&given, &output),
        Command::Compare(given) => command::compare::run(&given, &output),
        Command::Mapping(MappingCommand::Draft(given)) => command::mapping::draft(&given, &output),
        Command::Mapping(MappingCommand::Check(given)) => command::mapping::check(&given, &output),
        Command::Formats => command::formats::run(),
        Command::Explain(given) => command::explain::run(&given),
        Command::Template(Template::List) => command::template::list(&output),
        Command::Template(Template::Preview(given)) => command::preview::run(&given, &output),
        Command::Template(Template::Check(given)) => command::template::check(&given, &output),
        Command::SelfCheck(given) => command::self_check::run(&given, &output),
        Command::Schema(given) => command::schema::run(&given),
    };
    exit.unwrap_or_else(|error| {
        // A reader that went away (`| head`) is no failure of ours.
        if error.is_closed_pipe() {
            return Exit::Done;
        }
        output.failure(&error);
        Exit::CouldNotRun
    })
    .into()
}
