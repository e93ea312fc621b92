//! Whole-program cases: each folder `tests/cases/<group>/<ok|part|err>-<fact>` is one test.
//!
//! A case holds `case.toml`, `input/` and `expected/`; `harness/description.rs` says what may stand in `case.toml`.
//! The built program is run in a copy of the input, and its exit code, its words, the codes of its findings and every
//! file that it leaves are compared, both ways. `BLESS=1 cargo test -p cli --test cases [FILTER]` rewrites
//! `expected/`; read the difference before committing it.
#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a test program talks to the person at the terminal"
)]

mod harness;

use std::path::Path;
use std::process::ExitCode;

use libtest_mimic::{Arguments, Failed, Trial};

use harness::case::{Mode, Program, check};
use harness::{actor, coverage, folders, self_test};

fn main() -> ExitCode {
    let mut words = std::env::args_os().skip(1);
    if words.next().is_some_and(|word| word == actor::WORD) {
        return actor::act(words);
    }
    let bless = std::env::var_os("BLESS").is_some_and(|value| value == "1");
    if bless && std::env::var_os("CI").is_some_and(|value| !value.is_empty()) {
        eprintln!("BLESS rewrites what is expected, and CI is there to check it: not both");
        return ExitCode::FAILURE;
    }
    let mode = if bless { Mode::Bless } else { Mode::Compare };
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests");
    let program = Program::at(env!("CARGO_BIN_EXE_fulgurite"));

    let mut trials = self_test::trials();
    let found = match folders::all(&tests.join("cases")) {
        Ok(found) => found,
        Err(reason) => {
            eprintln!("{reason}");
            return ExitCode::FAILURE;
        }
    };
    for case in &found.cases {
        let (case, tests, program) = (case.clone(), tests.clone(), program.clone());
        trials.push(Trial::test(case.name().to_owned(), move || {
            check(&case, &tests, &program, mode).map_err(Failed::from)
        }));
    }
    let stray = found.stray;
    trials.push(Trial::test("every folder is a case", move || {
        if stray.is_empty() { Ok(()) } else { Err(Failed::from(stray.join("\n"))) }
    }));
    let cases = found.cases;
    trials.push(Trial::test("every code has its case", move || {
        coverage::check(&cases, &tests, &program).map_err(Failed::from)
    }));
    libtest_mimic::run(&Arguments::from_args(), trials).exit_code()
}
