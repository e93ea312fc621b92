//! What programs that know nothing of ours say about the demo's outputs: XML, JSON, PDF, PDF/A, pack and page.
//!
//! `cargo xtask test` sets the judges up and names their folder in `FULGURITE_JUDGES`. Without it these tests are shown
//! as ignored; under CI they fail. Each judge is also given something broken, since a judge that never says no is none.
#![allow(clippy::print_stderr, reason = "a test program talks to the person at the terminal")]

#[path = "harness/entries.rs"]
mod entries;
#[path = "judges/printed_rows.rs"]
mod printed_rows;

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Output};
use std::sync::{Arc, OnceLock};

use libtest_mimic::{Arguments, Failed, Trial};

/// What the judges look at.
const FORMATS: &str = "pdf,html,xml,json,csv,pack";

/// How a judge is called on files.
type Ask = fn(&Judges, &[PathBuf]) -> Result<Output, String>;

/// How a sound file is broken.
type Break = fn(Vec<u8>) -> Vec<u8>;

/// Every judge by what it must say, with the ending of what it judges.
const ASKED: &[(&str, &str, Ask, Break)] = &[
    ("xmllint, lxml and xmlschema accept the summary", "xml", xml, misspell_an_element),
    ("json and jsonschema accept the record", "json", json, end_early),
    ("poppler, qpdf, pikepdf, pypdf and pdfua accept the report", "pdf", pdf, end_early),
    ("pikepdf accepts the report as PDF/A-3b", "pdf", pdf_a, drop_the_output_intent),
    ("bagit accepts the pack", "zip", bag, change_a_byte),
    ("axe in a browser accepts the page", "html", page, drop_the_language),
    ("the viewer in a browser calls the pack in order", "zip", viewer, change_a_byte),
];

fn main() -> ExitCode {
    let arguments = Arguments::from_args();
    let judges = std::env::var_os("FULGURITE_JUDGES").map(PathBuf::from);
    let ci = std::env::var_os("CI").is_some_and(|value| !value.is_empty());
    if judges.is_none() && ci {
        eprintln!("FULGURITE_JUDGES is not set: CI runs `cargo xtask test`, which sets the judges up");
        return ExitCode::FAILURE;
    }
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let skip = judges.is_none();
    let judges = Arc::new(Judges { folder: judges.unwrap_or_default(), top: top.clone() });
    let demos = match entries::entries(&top.join("tests/demo")) {
        Ok(demos) => demos.into_iter().filter(|demo| demo.join("job.toml").is_file()),
        Err(reason) => {
            eprintln!("{reason}");
            return ExitCode::FAILURE;
        }
    };
    let mut trials = Vec::new();
    for demo in demos {
        let outputs = Arc::new(Outputs { demo: demo.clone(), made: OnceLock::new() });
        let name = demo.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let made = outputs.clone();
        let sound = move || made.printed().map_err(Failed::from);
        let what = "poppler finds every series of the results table in the report";
        trials.push(Trial::test(format!("{name}: {what}"), sound).with_ignored_flag(skip));
        let made = outputs.clone();
        let broken = move || made.printed_with_a_gap().map_err(Failed::from);
        trials.push(
            Trial::test(format!("{name}: a row taken out, not so: {what}"), broken).with_ignored_flag(skip),
        );
        for &(judge, ending, ask, spoil) in ASKED {
            let (asked, made) = (judges.clone(), outputs.clone());
            let sound = move || asked.accept(ask, &made.with_ending(ending)?);
            trials.push(Trial::test(format!("{name}: {judge}"), sound).with_ignored_flag(skip));
            let (asked, made) = (judges.clone(), outputs.clone());
            let broken = move || asked.refuse(ask, &made.with_ending(ending)?, spoil);
            trials.push(
                Trial::test(format!("{name}: broken, not so: {judge}"), broken).with_ignored_flag(skip),
            );
        }
    }
    libtest_mimic::run(&arguments, trials).exit_code()
}

/// The outputs of one demo job, made once, when first asked for.
struct Outputs {
    demo: PathBuf,
    made: OnceLock<Result<tempfile::TempDir, String>>,
}

impl Outputs {
    fn with_ending(&self, ending: &str) -> Result<Vec<PathBuf>, String> {
        let folder = self.made.get_or_init(|| self.make()).as_ref().map_err(Clone::clone)?;
        let mut files = Vec::new();
        let mut todo = vec![folder.path().to_path_buf()];
        while let Some(folder) = todo.pop() {
            for entry in entries::entries(&folder)? {
                if entry.is_dir() {
                    todo.push(entry);
                } else if entry.extension().is_some_and(|found| found == ending)
                    // The assessment has a form of its own, which the record's schema does not describe.
                    && !entry.to_string_lossy().ends_with(".assessment.json")
                {
                    files.push(entry);
                }
            }
        }
        if files.is_empty() { Err(format!("no .{ending} was written")) } else { Ok(files) }
    }

    /// The results table, and the report's text as poppler lays it out.
    fn table_and_text(&self) -> Result<(Vec<u8>, String), String> {
        let one = |ending: &str| match self.with_ending(ending)?.as_slice() {
            [one] => Ok(one.clone()),
            several => Err(format!("{} files end in .{ending}, not one", several.len())),
        };
        let table = std::fs::read(one("csv")?).map_err(|error| error.to_string())?;
        let mut poppler = Command::new("pdftotext");
        let output = poppler.args(["-layout", "-enc", "UTF-8"]).arg(one("pdf")?).arg("-").output();
        let output = output.map_err(|error| format!("pdftotext: {error}"))?;
        if !output.status.success() {
            return Err(told(&output));
        }
        Ok((table, String::from_utf8_lossy(&output.stdout).into_owned()))
    }

    fn printed(&self) -> Result<(), String> {
        let (table, text) = self.table_and_text()?;
        printed_rows::all_printed(&table, &text).map(drop)
    }

    /// The search itself must miss a row that is not there.
    fn printed_with_a_gap(&self) -> Result<(), String> {
        let (table, text) = self.table_and_text()?;
        match printed_rows::all_printed(&table, &printed_rows::without_one(&table, &text)?) {
            Ok(count) => Err(format!("{count} series found, though one was taken out")),
            Err(missing) if missing.lines().count() == 1 => Ok(()),
            Err(missing) => Err(format!("one row was taken out, and these are missing:\n{missing}")),
        }
    }

    fn make(&self) -> Result<tempfile::TempDir, String> {
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
        program.arg("convert").arg(&self.demo).args(["--to", FORMATS, "--out"]).arg(folder.path());
        let output = program.output().map_err(|error| error.to_string())?;
        if !output.status.success() {
            return Err(told(&output));
        }
        // The other shapes of the paper, for who looks at pages.
        for template in ["summary", "protocol"] {
            let mut program = Command::new(env!("CARGO_BIN_EXE_fulgurite"));
            program.arg("convert").arg(&self.demo).args(["--to", "html", "--template", template, "--out"]);
            let output = program.arg(folder.path()).output().map_err(|error| error.to_string())?;
            if !output.status.success() {
                return Err(told(&output));
            }
        }
        Ok(folder)
    }
}

/// Where the judges lie.
struct Judges {
    folder: PathBuf,
    top: PathBuf,
}

impl Judges {
    /// The judge must say yes.
    fn accept(&self, ask: Ask, files: &[PathBuf]) -> Result<(), Failed> {
        let output = ask(self, files)?;
        if output.status.success() { Ok(()) } else { Err(told(&output).into()) }
    }

    /// The judge must say no (exit code 1, not a failure of its own) to each of the files once it is broken.
    fn refuse(&self, ask: Ask, files: &[PathBuf], spoil: Break) -> Result<(), Failed> {
        let folder = tempfile::tempdir()?;
        for file in files {
            let sound = std::fs::read(file)?;
            let broken = spoil(sound.clone());
            if broken == sound {
                return Err(format!("{}: there is nothing to break", file.display()).into());
            }
            let path = folder.path().join(file.file_name().unwrap_or_default());
            std::fs::write(&path, broken)?;
            let output = ask(self, &[path])?;
            if output.status.code() != Some(1) {
                return Err(format!("{}: not refused: {}", file.display(), told(&output)).into());
            }
        }
        Ok(())
    }

    /// One of our scripts, in the Python of the judges.
    fn python(&self, script: &str) -> Command {
        let inside = if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" };
        let mut python = Command::new(self.folder.join(inside));
        python.arg(self.top.join("xtask/judges").join(script));
        python
    }
}

fn run(command: &mut Command, files: &[PathBuf]) -> Result<Output, String> {
    command.args(files).output().map_err(|error| format!("{}: {error}", command.get_program().display()))
}

fn told(output: &Output) -> String {
    format!(
        "{}\n{}{}",
        output.status,
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

fn xml(judges: &Judges, files: &[PathBuf]) -> Result<Output, String> {
    run(judges.python("judge_xml.py").arg(judges.top.join("shared/schemas/summary-1.xsd")), files)
}

fn json(judges: &Judges, files: &[PathBuf]) -> Result<Output, String> {
    run(judges.python("judge_json.py").arg(judges.top.join("shared/schemas/record-1.schema.json")), files)
}

fn pdf(judges: &Judges, files: &[PathBuf]) -> Result<Output, String> {
    run(&mut judges.python("judge_pdf.py"), files)
}

fn pdf_a(judges: &Judges, files: &[PathBuf]) -> Result<Output, String> {
    run(&mut judges.python("judge_pdfa.py"), files)
}

fn bag(judges: &Judges, files: &[PathBuf]) -> Result<Output, String> {
    run(&mut judges.python("judge_bag.py"), files)
}

fn page(judges: &Judges, files: &[PathBuf]) -> Result<Output, String> {
    let mut node = Command::new("node");
    node.env("NODE_PATH", judges.folder.join("node_modules"));
    run(node.arg(judges.top.join("xtask/judges/judge_page.js")), files)
}

fn viewer(judges: &Judges, files: &[PathBuf]) -> Result<Output, String> {
    let mut node = Command::new("node");
    node.env("NODE_PATH", judges.folder.join("node_modules"));
    node.arg(judges.top.join("xtask/judges/judge_viewer.js"));
    run(node.arg(judges.top.join("plugins/pack/viewer/viewer.html")), files)
}

/// Half of the bytes.
fn end_early(mut bytes: Vec<u8>) -> Vec<u8> {
    bytes.truncate(bytes.len() / 2);
    bytes
}

/// One bit in the middle, which falls into the payload of a pack.
fn change_a_byte(mut bytes: Vec<u8>) -> Vec<u8> {
    let middle = bytes.len() / 2;
    if let Some(byte) = bytes.get_mut(middle) {
        *byte ^= 1;
    }
    bytes
}

/// An element that the schema does not know in place of the first child of the root.
fn misspell_an_element(bytes: Vec<u8>) -> Vec<u8> {
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let name = text
        .match_indices('<')
        .filter_map(|(place, _)| text.get(place + 1..))
        .filter(|rest| rest.starts_with(|letter: char| letter.is_ascii_alphabetic()))
        .nth(1)
        .and_then(|rest| rest.split(|letter: char| !letter.is_alphanumeric() && letter != '-').next());
    match name {
        Some(name) => {
            let text = text.replace(&format!("<{name}>"), "<unheard-of>");
            let text = text.replace(&format!("<{name} "), "<unheard-of ");
            text.replace(&format!("</{name}>"), "</unheard-of>").into_bytes()
        }
        None => bytes,
    }
}

/// A PDF without what PDF/A asks of its colours: the key is misspelt, so that no offset moves.
fn drop_the_output_intent(bytes: Vec<u8>) -> Vec<u8> {
    replace(&bytes, b"/OutputIntents", b"/OutputIntentz")
}

/// A page that does not say which language it is in.
fn drop_the_language(bytes: Vec<u8>) -> Vec<u8> {
    replace(&bytes, b" lang=", b" data-was-lang=")
}

fn replace(bytes: &[u8], text: &[u8], with: &[u8]) -> Vec<u8> {
    match bytes.windows(text.len()).position(|window| window == text) {
        Some(place) => {
            let (before, rest) = bytes.split_at(place);
            [before, with, rest.get(text.len()..).unwrap_or_default()].concat()
        }
        None => bytes.to_vec(),
    }
}
