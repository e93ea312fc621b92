//! `fulgurite`: reads the records of electrostatic-discharge tests, computes what follows, and writes
//! what each reader needs.
#![forbid(unsafe_code)]

mod arguments;
mod command;
mod exit;
mod making;
mod plugins;
mod progress;
mod render;
mod settings;
mod unattended;

use arguments::{Arguments, Command, MappingCommand, PluginCommand, StandardsCommand, Template};
use clap::{CommandFactory, FromArgMatches, Parser};
use exit::Exit;
use settings::Settings;
use unattended::{Register, SettingsCommand};

#[cfg(feature = "allocator")]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    let program = Arguments::command();
    let settings = match Settings::load(&program) {
        Ok(settings) => settings,
        Err(error) => {
            // Help, and what is wrong with the arguments, come first.
            let arguments = Arguments::parse();
            render::Output::new(&arguments.common).failure(&error);
            return Exit::CouldNotRun.into();
        }
    };
    let matches = settings.under(program).get_matches();
    let arguments = Arguments::from_arg_matches(&matches).unwrap_or_else(|error| error.exit());
    let output = render::Output::new(&arguments.common);
    let named = plugins::name(&arguments.common.plugin);
    let exit = named.and_then(|()| match arguments.command {
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
        Command::Filter(given) => command::filter::run(&given, &output),
        Command::Watch(given) => command::watch::run(&given, &output),
        Command::Register(Register::Find(given)) => command::register::find(&given, &output),
        Command::Settings(SettingsCommand::Show(given)) => {
            command::settings::show(&given, &settings, &output)
        }
        Command::Completions(given) => command::shell::completions(&given, &output),
        Command::Man(given) => command::shell::man(&given, &output),
        Command::Formats => command::formats::run(),
        Command::Plugin(PluginCommand::List(given)) => {
            command::plugin::list(&given, &arguments.common.plugin, &output)
        }
        Command::Plugin(PluginCommand::Show(given)) => command::plugin::show(&given, &output),
        Command::Plugin(PluginCommand::Check(given)) => command::plugin::check(&given, &output),
        Command::Plugin(PluginCommand::New(given)) => command::plugin_new::run(&given, &output),
        Command::Plugin(PluginCommand::Trust(given)) => command::plugin::trust(&given, &output),
        Command::Explain(given) => command::explain::run(&given),
        Command::Template(Template::List) => command::template::list(&output),
        Command::Template(Template::Preview(given)) => command::preview::run(&given, &output),
        Command::Template(Template::Check(given)) => command::template::check(&given, &output),
        Command::SelfCheck(given) => command::self_check::run(&given, &output),
        Command::Schema(given) => command::schema::run(&given),
    });
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
