//! Thousands of generated jobs through the program: jobs a second, memory, runs killed at random moments, and a run in
//! which nothing has changed.
//!
//! usage: cargo xtask scale --program PATH [--jobs 10000] [--kills 20] [--to json,xml,csv] [--folder DIR]
//! Memory is read from the system's account of the process (`VmHWM`), so that this chore needs Linux.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant, SystemTime};

use crate::finding::{Answer, Finding, Report};
use crate::tree::Tree;

/// What was asked for.
struct Asked {
    program: PathBuf,
    jobs: usize,
    kills: usize,
    formats: String,
    folder: PathBuf,
}

/// Generates the jobs and measures.
pub(crate) fn run(_: &Tree, arguments: &[String]) -> Answer {
    let asked = asked(arguments)?;
    fs::create_dir_all(&asked.folder).map_err(say(&asked.folder))?;
    let mut wrong = Vec::new();
    let small = asked.folder.join("jobs-small");
    let large = asked.folder.join("jobs");
    generate(&small, asked.jobs / 10)?;
    generate(&large, asked.jobs)?;
    let (few, many) = (asked.folder.join("out-small"), asked.folder.join("out"));
    let first = convert(&asked, &small, &few)?;
    println!("{:>6} jobs: {}", asked.jobs / 10, first.said(asked.jobs / 10));
    let whole = convert(&asked, &large, &many)?;
    println!("{:>6} jobs: {}", asked.jobs, whole.said(asked.jobs));
    println!(
        "memory at ten times the jobs: {:.2} of that before",
        whole.peak_kb as f64 / first.peak_kb as f64
    );
    let again = convert(&asked, &large, &many)?;
    println!(
        "unchanged: {:.2} s, {:.4} of the first run; {}",
        again.took.as_secs_f64(),
        again.took.as_secs_f64() / whole.took.as_secs_f64(),
        again.said(asked.jobs)
    );
    if asked.kills > 0 {
        let undisturbed = tree(&many)?;
        let killed = asked.folder.join("out-killed");
        let mut noise = SystemTime::now()
            .duration_since(SystemTime::UNIX_EPOCH)
            .map_or(1, |since| since.as_nanos() as u64);
        let mut struck = 0;
        for _ in 0..asked.kills {
            noise = noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let share = (noise >> 11) as f64 / (1u64 << 53) as f64;
            // Each run goes on from the one before: all moments together are about one whole run.
            let wait = whole.took.mul_f64(share * 2.0 / asked.kills as f64);
            let mut child = command(&asked, &large, &killed).spawn().map_err(say(&asked.program))?;
            std::thread::sleep(wait);
            struck += usize::from(child.try_wait().is_ok_and(|ended| ended.is_none()));
            child.kill().map_err(say(&asked.program))?;
            child.wait().map_err(say(&asked.program))?;
        }
        let last = convert(&asked, &large, &killed)?;
        println!("killed at {struck} random moments, then {:.1} s to the end", last.took.as_secs_f64());
        let ended = tree(&killed)?;
        let differ = undisturbed.iter().filter(|(name, bytes)| ended.get(*name) != Some(*bytes)).count()
            + ended.keys().filter(|name| !undisturbed.contains_key(*name)).count();
        println!("{} files, {differ} differ from those of the undisturbed run", undisturbed.len());
        if differ > 0 {
            wrong.push(Finding::new(killed, 1, format!("{differ} files differ after kills")));
        }
    }
    Ok(Report { findings: wrong, summary: format!("{} jobs measured", asked.jobs) })
}

fn asked(arguments: &[String]) -> Result<Asked, String> {
    let mut asked = Asked {
        program: PathBuf::new(),
        jobs: 10_000,
        kills: 20,
        formats: "json,xml,csv".to_owned(),
        folder: std::env::temp_dir().join("fulgurite-scale"),
    };
    for pair in arguments.chunks(2) {
        let [key, value] = pair else { return Err("each argument takes a value".to_owned()) };
        let number = || value.parse::<usize>().map_err(|_| format!("{key}: `{value}` is no number"));
        match key.as_str() {
            "--program" => asked.program = value.into(),
            "--jobs" => asked.jobs = number()?,
            "--kills" => asked.kills = number()?,
            "--to" => asked.formats.clone_from(value),
            "--folder" => asked.folder = value.into(),
            other => {
                return Err(format!("`{other}` is not known: --program, --jobs, --kills, --to, --folder"));
            }
        }
    }
    if !asked.program.is_file() {
        return Err("name the program: --program target/release/fulgurite".to_owned());
    }
    Ok(asked)
}

fn say<E: std::fmt::Display>(path: &Path) -> impl Fn(E) -> String + '_ {
    move |error| format!("{}: {error}", path.display())
}

/// Jobs in three layouts of logs, ten folders deep and wide; in every seventh a row can't be read.
fn generate(below: &Path, jobs: usize) -> Result<(), String> {
    for job in 0..jobs {
        let folder = below.join(format!("{}", 2000 + job % 25)).join(format!("job-{job:05}"));
        fs::create_dir_all(&folder).map_err(say(&folder))?;
        let file = folder.join("job.toml");
        fs::write(&file, "[[points]]\nid = \"P\"\n\n[[logs]]\nfiles = \"log.csv\"\n").map_err(say(&file))?;
        let mut log = String::from(match job % 3 {
            0 => "Point,Mode,Polarity,Voltage [kV],Discharges\n",
            1 => "Point;Mode;Voltage [kV];Discharges\n",
            _ => "No\tPoint\tMode\tPolarity\tVoltage [V]\n",
        });
        for row in 0..80 {
            let kv = 2 + 2 * (row % 4);
            let polarity = if row % 2 == 0 { '+' } else { '-' };
            let bad = if job % 7 == 0 && row == 20 { "?" } else { "" };
            let _ = match job % 3 {
                0 => writeln!(log, "P,contact,{polarity},{kv}{bad},{}", 10 + job % 5),
                1 => writeln!(log, "P;contact;{polarity}{kv},5{bad};10"),
                _ => writeln!(log, "{}\tP\tcontact\t{polarity}\t{kv}000{bad}", row + 1),
            };
        }
        let file = folder.join("log.csv");
        fs::write(&file, log).map_err(say(&file))?;
    }
    Ok(())
}

/// What a run took.
struct Ran {
    took: Duration,
    /// Time on processors, in hundredths of a second.
    ticks: u64,
    peak_kb: u64,
}

impl Ran {
    fn said(&self, jobs: usize) -> String {
        let seconds = self.took.as_secs_f64();
        let processor = self.ticks as f64 / 100.0;
        format!(
            "{seconds:.2} s, {:.0} jobs/s ({processor:.2} s on processors, {:.0} jobs for each), {:.1} MB at most",
            jobs as f64 / seconds,
            jobs as f64 / processor,
            self.peak_kb as f64 / 1e3
        )
    }
}

fn command(asked: &Asked, jobs: &Path, out: &Path) -> Command {
    let mut command = Command::new(&asked.program);
    command.arg("convert").arg(jobs).args(["--to", &asked.formats, "--out"]).arg(out);
    command.stdout(Stdio::null()).stderr(Stdio::null());
    command
}

fn convert(asked: &Asked, jobs: &Path, out: &Path) -> Result<Ran, String> {
    let start = Instant::now();
    let mut child = command(asked, jobs, out).spawn().map_err(say(&asked.program))?;
    let account = PathBuf::from(format!("/proc/{}/status", child.id()));
    let times = PathBuf::from(format!("/proc/{}/stat", child.id()));
    let (mut peak_kb, mut ticks) = (0, 0);
    loop {
        if let Ok(text) = fs::read_to_string(&times) {
            // Behind the name in brackets, fields 12 and 13 are the times of program and system (proc(5)).
            let fields = text.rsplit_once(") ").map(|(_, rest)| rest.split(' ').collect::<Vec<_>>());
            let tick = |at: usize| fields.as_ref().and_then(|f| f.get(at)?.parse::<u64>().ok()).unwrap_or(0);
            ticks = ticks.max(tick(11) + tick(12));
        }
        if let Ok(text) = fs::read_to_string(&account)
            && let Some(line) = text.lines().find(|line| line.starts_with("VmHWM:"))
            && let Some(size) = line.split_whitespace().nth(1).and_then(|size| size.parse().ok())
        {
            peak_kb = size;
        }
        if let Some(ended) = child.try_wait().map_err(say(&asked.program))? {
            // Jobs with a row set aside end in 1.
            return match ended.code() {
                Some(0 | 1) => Ok(Ran { took: start.elapsed(), ticks, peak_kb }),
                _ => Err(format!("{} ended with {ended}", asked.program.display())),
            };
        }
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Every file below a folder with its bytes; the journal names times of no run and is compared too.
fn tree(top: &Path) -> Result<BTreeMap<PathBuf, Vec<u8>>, String> {
    let mut files = BTreeMap::new();
    let mut folders = vec![top.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).map_err(say(&folder))? {
            let path = entry.map_err(say(&folder))?.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(top).unwrap_or(&path).to_owned();
                files.insert(name, fs::read(&path).map_err(say(&path))?);
            }
        }
    }
    Ok(files)
}
