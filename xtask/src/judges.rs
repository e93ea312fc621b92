//! The outside judges that tests ask about our files: pinned Python and npm packages in target/judges, and programs of
//! the system.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::finding::{Answer, Finding, Report};
use crate::tree::{Tree, run as run_tool};

/// The variable that tells the tests where the judges lie.
pub(crate) const VARIABLE: &str = "FULGURITE_JUDGES";

/// Programs of the system that tests ask: names it may have, the Debian package that brings it, what it judges.
const PROGRAMS: &[(&[&str], &str, &str)] = &[
    (&["xmllint"], "libxml2-utils", "XML against its schema"),
    (&["qpdf"], "qpdf", "PDF syntax"),
    (&["pdftotext"], "poppler-utils", "the text of a PDF"),
    (&["pdftoppm"], "poppler-utils", "the pages of a PDF"),
    (&["chromium", "chromium-browser"], "chromium", "pages in a browser"),
    (&["ssh-keygen"], "openssh-client", "signatures"),
    (&["openssl"], "openssl", "time stamps"),
    (&["node"], "nodejs", "pages in a browser"),
    (&["parallel"], "parallel", "the filter under GNU parallel"),
];

/// Sets up the judges and says what is missing.
pub(crate) fn run(tree: &Tree, _: &[String]) -> Answer {
    let missing = set_up(tree)?;
    let place = tree.relative(&folder(tree)?);
    let findings = missing.into_iter().map(|judge| Finding::new("xtask/judges", 1, judge)).collect();
    Ok(Report { findings, summary: format!("judges lie in {}", place.display()) })
}

/// Where the judges are put.
fn folder(tree: &Tree) -> Result<PathBuf, String> {
    Ok(tree.target()?.join("judges"))
}

/// Tells a command that runs tests where the judges lie.
pub(crate) fn hand_over(tree: &Tree, command: &mut Command) -> Result<(), String> {
    command.env(VARIABLE, folder(tree)?);
    Ok(())
}

/// Sets up what can be set up; gives what is missing, each with what to do.
pub(crate) fn set_up(tree: &Tree) -> Result<Vec<String>, String> {
    let judges = folder(tree)?;
    std::fs::create_dir_all(&judges).map_err(|error| format!("{}: {error}", judges.display()))?;
    let source = tree.root.join("xtask/judges");
    let mut missing = Vec::new();
    for (names, package, about) in PROGRAMS {
        if !names.iter().any(|name| answers(name)) {
            missing.push(format!("{} ({about}): install Debian's {package}", names.join(" or ")));
        }
    }
    if let Err(reason) = python(tree, &source, &judges) {
        missing.push(format!("Python judges (bagit, lxml, xmlschema, pikepdf, pdfua, scipy): {reason}"));
    }
    if let Err(reason) = node(tree, &source, &judges) {
        missing.push(format!("browser judges (axe-core, playwright-core): {reason}"));
    }
    Ok(missing)
}

/// Does a program of that name start? Its answer does not matter: some know no `--version`.
fn answers(name: &str) -> bool {
    let mut command = Command::new(name);
    command.arg("--version").stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command.status().is_ok()
}

/// A file of versions and the copy that says which of them are installed.
struct Pins {
    wanted: PathBuf,
    installed: PathBuf,
}

impl Pins {
    fn are_installed(&self) -> bool {
        std::fs::read(&self.wanted)
            .is_ok_and(|wanted| std::fs::read(&self.installed).is_ok_and(|have| have == wanted))
    }

    fn mark(&self) -> Result<(), String> {
        std::fs::copy(&self.wanted, &self.installed).map(drop).map_err(|error| error.to_string())
    }
}

/// A virtual environment with the pinned packages.
fn python(tree: &Tree, source: &Path, judges: &Path) -> Result<(), String> {
    let pins = Pins {
        wanted: source.join("requirements.txt"),
        installed: judges.join("installed-requirements.txt"),
    };
    if pins.are_installed() {
        return Ok(());
    }
    let python = ["python3", "python"].into_iter().find(|name| answers(name)).ok_or("no Python 3 found")?;
    run_tool(tree.command(python).args(["-m", "venv"]).arg(judges))
        .map_err(|error| format!("{error}; on Debian, install python3-venv"))?;
    let inside = if cfg!(windows) { judges.join("Scripts/python.exe") } else { judges.join("bin/python") };
    run_tool(
        tree.command(inside)
            .args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--requirement"])
            .arg(&pins.wanted),
    )?;
    pins.mark()
}

/// The pinned npm packages; no package may run a script of its own while it is installed.
fn node(tree: &Tree, source: &Path, judges: &Path) -> Result<(), String> {
    let pins = Pins {
        wanted: source.join("package-lock.json"),
        installed: judges.join("installed-package-lock.json"),
    };
    if pins.are_installed() {
        return Ok(());
    }
    for file in ["package.json", "package-lock.json"] {
        std::fs::copy(source.join(file), judges.join(file)).map_err(|error| format!("{file}: {error}"))?;
    }
    let npm = if cfg!(windows) { "npm.cmd" } else { "npm" };
    if !answers(npm) {
        return Err("no npm found; on Debian, install npm".to_owned());
    }
    run_tool(
        tree.command(npm)
            .args(["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error", "--prefix"])
            .arg(judges),
    )?;
    pins.mark()
}
