//! Writes the demonstration jobs below tests/demo from the descriptions in xtask/demo; all of it invented.

mod logs;
mod noise;
mod pictures;
mod traces;

use crate::finding::{Answer, Finding, Report};
use crate::tree::Tree;
use std::path::Path;

/// `demo`: writes both jobs. `demo --check` compares and writes nothing.
pub(crate) fn run(tree: &Tree, arguments: &[String]) -> Answer {
    let check = arguments.iter().any(|a| a == "--check");
    let mut findings = Vec::new();
    let mut count = 0;
    for (job, settled) in [("lock-gate", false), ("lock-gate-settled", true)] {
        for (name, bytes) in files(tree, settled)? {
            let shown = format!("tests/demo/{job}/{name}");
            count += 1;
            let path = tree.root.join(&shown);
            let same = std::fs::read(&path).is_ok_and(|found| found == bytes);
            if same {
                continue;
            }
            if check {
                findings.push(Finding::new(&shown, 1, "is not what `cargo xtask demo` writes"));
            } else {
                write(&path, &bytes)?;
                println!("wrote {shown}");
            }
        }
    }
    Ok(Report { findings, summary: format!("{count} files of two jobs") })
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let say = |error: std::io::Error| format!("{}: {error}", path.display());
    if let Some(parent) = path.parent() {
        std::fs::create_dir_all(parent).map_err(say)?;
    }
    std::fs::write(path, bytes).map_err(say)
}

/// The files of a job: names below its folder, and bytes.
fn files(tree: &Tree, settled: bool) -> Result<Vec<(String, Vec<u8>)>, String> {
    let description = tree.root.join("xtask/demo/lock-gate.toml");
    let text =
        std::fs::read_to_string(&description).map_err(|e| format!("{}: {e}", description.display()))?;
    let air = logs::air(settled);
    let mut job = text.replace(
        "file = \"logs/air.csv\", row = 0",
        &format!("file = \"logs/air.csv\", row = {}", air.seen_row),
    );
    if settled {
        job = settle(&job)?;
    }
    let mut files = vec![
        ("job.toml".to_owned(), job.into_bytes()),
        ("logs/contact.csv".to_owned(), logs::contact(settled)),
        ("logs/air.csv".to_owned(), air.bytes),
        ("logs/planes.txt".to_owned(), logs::planes(settled)),
        ("pictures/front.png".to_owned(), pictures::front()?),
        ("pictures/rear.png".to_owned(), pictures::rear()?),
        ("pictures/bench.png".to_owned(), pictures::bench()?),
    ];
    for (name, bytes) in traces::all(settled) {
        files.push((format!("traces/{name}"), bytes));
    }
    Ok(files)
}

/// What the settled job says otherwise, in order: later lines change what earlier ones wrote.
const SETTLED: &[(&str, &str)] = &[
    ("# The demonstration job: invented", "# The settled demonstration job: invented"),
    ("number = \"OPL-26-0117\"", "number = \"OPL-26-0121\""),
    ("judged_state = \"AR\"", "judged_state = \"M1\""),
    ("state = \"AR\"", "state = \"M1\""),
    ("[[states]]\nid = \"AR\"\ndescription = \"as received\"\n\n", ""),
    (
        "configuration = \"M12 cable",
        "configuration = \"with the braid of state M1 fitted by the maker; M12 cable",
    ),
    // A later week: every date of the test moves by seven days, and the generator was calibrated in between.
    ("2026-03-12", "2026-03-19"),
    ("2026-03-13", "2026-03-20"),
    ("calibrated_on = 2025-03-14", "calibrated_on = 2026-03-16"),
    ("calibration_due = 2026-03-14", "calibration_due = 2027-03-16"),
    ("C-25-0882", "C-26-0790"),
    ("since = 2026-03-19T10:20", "since = 2026-03-17T15:00"),
    ("; fitted for a trial and taken off again at 11:30", ""),
    ("received_on = 2026-03-09", "received_on = 2026-03-18"),
    (
        "condition = \"undamaged, in the maker's box\"",
        "condition = \"returned after report OPL-26-0117, in which it failed as received, with modification M1; undamaged\"",
    ),
    // Nothing reads the same a week later.
    ("temperature_c = 21.8", "temperature_c = 22.3"),
    ("humidity_percent = 44", "humidity_percent = 40"),
    ("pressure_hpa = 1007", "pressure_hpa = 1015"),
    ("temperature_c = 22.6", "temperature_c = 23.1"),
    ("humidity_percent = 42", "humidity_percent = 38"),
    ("pressure_hpa = 1006", "pressure_hpa = 1014"),
    ("temperature_c = 21.4", "temperature_c = 21.9"),
    ("humidity_percent = 39", "humidity_percent = 41"),
    ("pressure_hpa = 1011", "pressure_hpa = 1008"),
    ("temperature_c = 22.9", "temperature_c = 22.8"),
    ("humidity_percent = 37", "humidity_percent = 43"),
    ("pressure_hpa = 1012", "pressure_hpa = 1009"),
    ("reading = 941", "reading = 939"),
    ("reading = 938", "reading = 935"),
    ("reading = 942", "reading = 940"),
    ("reading = 937", "reading = 936"),
];

/// The description of the job in which the whole plan was run after the modification.
fn settle(job: &str) -> Result<String, String> {
    let mut job = job.to_owned();
    for (from, to) in SETTLED {
        if !job.contains(from) {
            return Err(format!("xtask/demo/lock-gate.toml no longer holds {from:?}"));
        }
        job = job.replace(from, to);
    }
    // Of the observations only the one at the display window is left.
    let start = job
        .find("[[observations]]\nat = { file = \"logs/contact.csv\"")
        .ok_or("no observation at a contact")?;
    let end =
        job.find("[[observations]]\nat = { file = \"logs/air.csv\"").ok_or("no observation at the window")?;
    job.replace_range(start..end, "");
    Ok(job)
}
