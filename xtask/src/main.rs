//! The project's chores by name: `cargo xtask` lists them, `cargo xtask ci` runs all that a change must pass.
#![forbid(unsafe_code)]
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "a chore talks to the person at the terminal")]

mod advisories;
mod ci;
mod demo;
mod deps;
mod finding;
mod judges;
mod licences;
mod lints;
mod program;
mod scale;
mod suite;
mod tidy;
mod traits;
mod tree;
mod viewer;

use std::process::ExitCode;

use finding::Answer;
use tree::Tree;

/// One chore: its name on the command line, what it is for, and whether CI runs it.
struct Verb {
    name: &'static str,
    about: &'static str,
    /// The arguments that CI gives it; `None` for a chore that CI does not run.
    in_ci: Option<&'static [&'static str]>,
    run: fn(&Tree, &[String]) -> Answer,
}

/// Every chore. `ci` runs those that have `in_ci`, in this order: quick ones first, so that a slip costs
/// seconds, and the tests last, so that their count closes what CI reads.
const VERBS: &[Verb] = &[
    Verb { name: "fmt", about: "is every file formatted", in_ci: Some(&[]), run: lints::fmt },
    Verb {
        name: "tidy",
        about: "first lines, blanks, sizes, stubs, machine paths, the top level",
        in_ci: Some(&[]),
        run: tidy::run,
    },
    Verb { name: "deps", about: "who may use whom, and what from outside", in_ci: Some(&[]), run: deps::run },
    Verb {
        name: "licences",
        about: "licences and sources of all packages against deny.toml",
        in_ci: Some(&[]),
        run: licences::run,
    },
    Verb {
        name: "advisories",
        about: "known weaknesses of the packages used, from a copy of the public database",
        in_ci: Some(&[]),
        run: advisories::run,
    },
    Verb {
        name: "clippy",
        about: "compiler and clippy warnings are errors",
        in_ci: Some(&[]),
        run: lints::clippy,
    },
    Verb {
        name: "doc",
        about: "the documentation builds without a warning",
        in_ci: Some(&[]),
        run: lints::doc,
    },
    Verb {
        name: "demo",
        about: "write the demonstration jobs below tests/demo; --check compares and writes nothing",
        in_ci: Some(&["--check"]),
        run: demo::run,
    },
    Verb {
        name: "schemas",
        about: "write shared/schemas from the program; --check compares and writes nothing",
        in_ci: Some(&["--check"]),
        run: program::schemas,
    },
    Verb {
        name: "traits",
        about: "write the table from traits of inputs to fixtures; --check compares and writes nothing",
        in_ci: Some(&["--check"]),
        run: traits::run,
    },
    Verb {
        name: "viewer",
        about: "join the viewer of packs into one page; --check compares and writes nothing",
        in_ci: Some(&["--check"]),
        run: viewer::run,
    },
    Verb {
        name: "check-templates",
        about: "every template, checked by the program itself",
        in_ci: Some(&[]),
        run: program::check_templates,
    },
    Verb {
        name: "judges",
        about: "set up the outside judges that the tests ask, in target/judges",
        in_ci: None,
        run: judges::run,
    },
    Verb {
        name: "reference-cases",
        about: "the program's own check of its figures, and the tests that hold outside reference cases",
        in_ci: Some(&[]),
        run: program::reference_cases,
    },
    Verb {
        name: "test",
        about: "set up what the tests need and run them; arguments go to `cargo test --workspace`",
        in_ci: Some(&[]),
        run: suite::run,
    },
    Verb {
        name: "scale",
        about: "thousands of generated jobs through a program: speed, memory, kills, an unchanged run",
        in_ci: None,
        run: scale::run,
    },
    Verb { name: "ci", about: "all that CI runs, with the time of each", in_ci: None, run: ci::run },
];

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let Some(name) = arguments.next().filter(|name| !matches!(name.as_str(), "help" | "--help" | "-h"))
    else {
        println!("cargo xtask CHORE [ARGUMENTS]\n");
        for verb in VERBS {
            println!("  {:<16} {}", verb.name, verb.about);
        }
        println!("\nExit: 0 nothing found, 1 something found (file:line: message), 2 no such chore.");
        return ExitCode::SUCCESS;
    };
    let Some(verb) = VERBS.iter().find(|verb| verb.name == name) else {
        eprintln!("no chore is called `{name}`; `cargo xtask` lists them");
        return ExitCode::from(2);
    };
    let arguments: Vec<String> = arguments.collect();
    let answer = Tree::find().and_then(|tree| (verb.run)(&tree, &arguments));
    if finding::tell(verb.name, &answer) { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
