//! Packing a large tree beside Python's zipfile in one run, each side in turn, and the memory that a long pack takes.
//!
//! `cargo bench -p plugin-pack --bench peers`; `taskset -c 1` keeps both on one core. Read ratios, not times.
//! `FULGURITE_PACK_GIGABYTES=2` packs that much instead, and says how much memory the process held at most.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench stops at what it can't use, asks the clock, and says what it found"
)]

use plugin_pack::{Content, PackFile, PackPlan, Role, write_pack};
use std::fs::File;
use std::io::{self, BufRead, BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

const RUNS: usize = 5;
const FILES: u64 = 64;

/// A file on disk.
struct OnDisk {
    path: PathBuf,
    size: u64,
}

impl Content for OnDisk {
    fn size(&self) -> u64 {
        self.size
    }

    fn write_to(&self, out: &mut dyn Write) -> io::Result<()> {
        io::copy(&mut File::open(&self.path)?, out).map(|_| ())
    }
}

/// Numbers from a fixed start (xorshift, Marsaglia 2003).
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
}

/// A waveform as an oscilloscope writes it: time and a noisy current.
fn trace(noise: &mut Noise, bytes: usize) -> Vec<u8> {
    let mut text = String::with_capacity(bytes + 40);
    for n in 0.. {
        if text.len() >= bytes {
            break;
        }
        let at = n as f64 * 5e-11;
        let current = 30.0 * (-at / 3e-8).exp() + (noise.next() % 1000) as f64 / 2000.0;
        text += &format!("{at:.4e},{current:.3}\n");
    }
    text.into_bytes()
}

/// A log of discharges.
fn log(noise: &mut Noise, bytes: usize) -> Vec<u8> {
    let mut text = String::from("Point,Application,U [kV],Pol,n,Obs\n");
    while text.len() < bytes {
        let point = noise.next() % 24;
        let level = [2, 4, 6, 8, 15][(noise.next() % 5) as usize];
        let sign = if noise.next().is_multiple_of(2) { '+' } else { '-' };
        text += &format!("P{point},contact,{level},{sign},10,no change seen\n");
    }
    text.into_bytes()
}

fn pictures(noise: &mut Noise, bytes: usize) -> Vec<u8> {
    (0..bytes / 8).flat_map(|_| noise.next().to_le_bytes()).collect()
}

fn plan(folder: &Path) -> PackPlan<'static> {
    let in_memory = |role, name: &str| PackFile {
        role,
        name: name.to_owned(),
        media_type: None,
        sha256: None,
        content: Box::new(b"{}\n".to_vec()),
    };
    let mut files =
        vec![in_memory(Role::Record, "record.json"), in_memory(Role::Assessment, "assessment.json")];
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let size = path.metadata().unwrap().len();
        files.push(PackFile {
            role: Role::Source,
            name: path.file_name().unwrap().to_str().unwrap().to_owned(),
            media_type: None,
            sha256: None,
            content: Box::new(OnDisk { path, size }),
        });
    }
    PackPlan { report_number: Some("bench".into()), files, ..PackPlan::default() }
}

fn pack(folder: &Path, out: &Path) -> (f64, u64) {
    let start = Instant::now();
    let (_, written) = write_pack(&plan(folder), BufWriter::new(File::create(out).unwrap())).unwrap();
    (start.elapsed().as_secs_f64(), written.zip_bytes)
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn beside(folder: &Path, what: &str) {
    let place = folder.parent().unwrap();
    let mut python = Command::new("python3")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/peers.py"))
        .args([folder.as_os_str(), place.join("python.zip").as_os_str()])
        .arg(RUNS.to_string())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut ask = python.stdin.take().unwrap();
    let mut answers = BufReader::new(python.stdout.take().unwrap());
    let mut theirs = |word: &str| -> (f64, u64) {
        writeln!(ask, "{word}").unwrap();
        let mut line = String::new();
        answers.read_line(&mut line).unwrap();
        let (seconds, bytes) = line.trim().split_once(' ').unwrap();
        (seconds.parse().unwrap(), bytes.parse().unwrap())
    };
    let (mut ours, mut plain, mut same_work) = (Vec::new(), Vec::new(), Vec::new());
    let (mut our_bytes, mut their_bytes) = (0, 0);
    for _ in 0..RUNS {
        let (seconds, bytes) = pack(folder, &place.join("ours.zip"));
        ours.push(seconds);
        our_bytes = bytes;
        let (seconds, bytes) = theirs("zip");
        plain.push(seconds);
        their_bytes = bytes;
        same_work.push(theirs("checksums").0);
    }
    drop(ask);
    python.wait().unwrap();
    let (ours, plain, same_work) = (median(ours), median(plain), median(same_work));
    println!(
        "{what}: ours {ours:.2} s ({our_bytes} bytes), zipfile level 6 {plain:.2} s ({their_bytes} bytes), zipfile with \
         SHA-256 and SHA-512 {same_work:.2} s: {:.2} and {:.2} times as fast",
        plain / ours,
        same_work / ours
    );
}

/// The most memory that the process held, in MB, where the system says so.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? / 1024)
}

fn long(folder: &Path, gigabytes: u64) {
    let mut noise = Noise(77);
    let piece = [trace(&mut noise, 4 << 20), pictures(&mut noise, 4 << 20)];
    for (number, part) in (0..4_usize).zip([0, 0, 1, 1]) {
        let name = ["long.csv", "longer.csv", "film.bin", "second.bin"][number];
        let mut file = BufWriter::new(File::create(folder.join(name)).unwrap());
        let mut left = gigabytes * (1 << 30) / 4;
        while left > 0 {
            let count = left.min(piece[part].len() as u64);
            file.write_all(&piece[part][..count as usize]).unwrap();
            left -= count;
        }
    }
    drop(piece);
    let before = peak();
    let (seconds, bytes) = pack(folder, &folder.parent().unwrap().join("long.zip"));
    println!(
        "{gigabytes} GiB in four files: {seconds:.1} s, {bytes} bytes; memory {before:?} MB before, {:?} MB at most",
        peak()
    );
}

fn main() {
    let place = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let folder = place.path().join("tree");
    std::fs::create_dir(&folder).unwrap();
    if let Ok(gigabytes) = std::env::var("FULGURITE_PACK_GIGABYTES") {
        return long(&folder, gigabytes.parse().unwrap());
    }
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    println!("{cores} cores, {RUNS} runs each in turn, medians");
    let mut noise = Noise(2026);
    for number in 0..FILES {
        let bytes =
            if number.is_multiple_of(2) { trace(&mut noise, 3 << 20) } else { log(&mut noise, 1 << 20) };
        std::fs::write(folder.join(format!("{number:02}.csv")), bytes).unwrap();
    }
    beside(&folder, "logs and waveforms");
    for number in 0..FILES {
        std::fs::write(folder.join(format!("{number:02}.jpg")), pictures(&mut noise, 1 << 20)).unwrap();
    }
    beside(&folder, "the same with pictures");
}
