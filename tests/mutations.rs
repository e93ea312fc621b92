//! Mutated files for every reader: read or refused with a reason, never a panic, never slow.
//!
//! The corpus of a reader is its fixtures. Each is cut within its first 4 KiB, then files are mutated at random:
//! bits, telling tokens, pieces cut out, doubled, moved, or taken from another file. By default every 29th prefix
//! is read, and a reader has two seconds of mutants. `FULGURITE_MUTATE_SECONDS` sets more, and then every prefix
//! is read, or every so many with `FULGURITE_MUTATE_STEP`. `FULGURITE_MUTATE_READER` names one reader,
//! `FULGURITE_RANDOM_SEED` another start. What breaks a reader is kept in `target/mutations`.
//!
//! A mutant of a packed file (gzip, workbook) is mostly made inside: a mutant of the outside seldom gets past its
//! checksum. Seconds are those that the test's thread works, so that a busy machine neither shortens a run nor
//! makes a reader look slow.
#![allow(clippy::unwrap_used, clippy::print_stderr, reason = "a test stops at what it can't use")]

use plugin_api::{Intake, Options, ReadContext, Reader, SeriesDefaults, Source, Taken};
use record::{Facts, Severity, SourceId};
use std::collections::BTreeSet;
use std::io::{Cursor, Read as _, Write as _};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Every so many bytes a file is cut in the usual run: a prime step that starts elsewhere in each file meets every
/// kind of place.
const STEP: u64 = 29;

/// One file of a corpus, with the settings that it is read by.
struct Seed {
    name: String,
    bytes: Vec<u8>,
    options: Options,
}

struct Corpus {
    reader: Box<dyn Reader>,
    seeds: Vec<Seed>,
    tokens: &'static [&'static str],
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn options(folder: &Path) -> Options {
    let Ok(text) = std::fs::read_to_string(folder.join("options.toml")) else { return Options::default() };
    let value = serde_json::to_value(toml::from_str::<toml::Table>(&text).unwrap()).unwrap();
    Options { value: value.as_object().cloned().unwrap(), ..Options::default() }
}

/// The files below a folder with these endings; large ones make slow mutants and are left out.
fn seeds(folder: &str, endings: &[&str]) -> Vec<Seed> {
    let mut found: Vec<Seed> = walkdir::WalkDir::new(root().join(folder))
        .sort_by_file_name()
        .into_iter()
        .map(Result::unwrap)
        .filter(|e| e.file_type().is_file() && e.metadata().unwrap().len() < 200_000)
        .filter(|e| !e.path().components().any(|c| c.as_os_str() == "expected"))
        .filter(|e| endings.iter().any(|ending| e.file_name().to_string_lossy().ends_with(ending)))
        .map(|e| Seed {
            name: e.path().strip_prefix(root()).unwrap().display().to_string(),
            bytes: std::fs::read(e.path()).unwrap(),
            options: options(e.path().parent().unwrap()),
        })
        .collect();
    found.retain(|seed| !seed.bytes.is_empty());
    found
}

fn corpora() -> Vec<Corpus> {
    const XML: &[&str] = &[
        "<",
        ">",
        "/>",
        "</",
        "<!--",
        "-->",
        "<![CDATA[",
        "]]>",
        "<?",
        "?>",
        "&",
        "&amp;",
        "&#0;",
        "&#x110000;",
        "&a;",
        "<!DOCTYPE a [<!ENTITY a \"b\">]>",
        "xmlns=\"\"",
        "xmlns:dcc=\"urn:x\"",
        "<dcc:item>",
        "</dcc:item>",
        "<si:real>",
        "\"",
        "'",
        "=",
        "\0",
        "\u{feff}",
        "3.1.2",
        "pass",
        "fail",
    ];
    const TEXT: &[&str] = &[
        "\0",
        "\t",
        "\n",
        "\r",
        "\r\n",
        "\"",
        "\"\"",
        ",",
        ";",
        "|",
        "+",
        "-",
        "\u{2212}",
        "\u{b1}",
        "+/-",
        ".",
        "'",
        "#",
        "=",
        "NaN",
        "inf",
        "1e308",
        "1e-308",
        "99999999999999999999",
        "0x8",
        "1,234",
        "\u{feff}",
        "\u{202e}",
        "\u{fffd}",
        "sep=;",
        "Point",
        "kV",
        "2026-02-30",
        "24:00:00",
        "\u{1a}",
    ];
    const JSON: &[&str] = &[
        "{",
        "}",
        "[",
        "]",
        "[[[[[[[[",
        "\"",
        ":",
        ",",
        "null",
        "true",
        "1e999",
        "-",
        "0.",
        "\\u0000",
        "\\ud800",
        "\\",
        "\"a\":1,",
        "{}",
        "[]",
        "\n",
        "\u{feff}",
        "18446744073709551616",
    ];
    const SHEET: &[&str] = &[
        "PK\u{3}\u{4}",
        "PK\u{1}\u{2}",
        "PK\u{5}\u{6}",
        "\0\0\0\0",
        "<",
        "/>",
        "&",
        "&amp;",
        "&#0;",
        "\"",
        "<row r=\"1048577\">",
        "<row>",
        "</row>",
        "<c r=\"A1\">",
        "<c r=\"XFE99\">",
        "<c t=\"s\">",
        "<c t=\"e\">",
        "<v>",
        "</v>",
        "<v>99999999</v>",
        "<f>A1</f>",
        "<mergeCell ref=\"A1:XFD1048576\"/>",
        "<mergeCell ref=\"B2:A1\"/>",
        "-1",
        "1e308",
        "4294967296",
        "table:number-columns-repeated=\"4294967296\"",
        "table:number-rows-repeated=\"1048576\"",
        "<table:table-cell/>",
        "</table:table-row>",
        "office:value-type=\"date\"",
        "office:date-value=\"2026-02-30\"",
        "<text:p>",
        "<text:s text:c=\"4000000000\"/>",
        "state=\"hidden\"",
        "date1904=\"1\"",
    ];
    let packed = |mut seeds: Vec<Seed>| {
        let as_gzip: Vec<Seed> = seeds
            .iter()
            .map(|seed| Seed {
                name: format!("{}.gz", seed.name),
                bytes: gzip(&seed.bytes),
                options: seed.options.clone(),
            })
            .collect();
        seeds.extend(as_gzip);
        seeds
    };
    let json_log = |mut seeds: Vec<Seed>| {
        let value = serde_json::json!({
            "polarity": "signed", "application": "contact",
            "columns": { "point": "/where/point", "voltage": "/u", "count": "/n", "observation": "/seen" },
        });
        for seed in &mut seeds {
            let mut value = value.as_object().cloned().unwrap();
            value.remove("application");
            if seed.name.ends_with(".json") {
                value.insert("records".into(), "/runs".into());
            }
            seed.options.value = value;
        }
        seeds
    };
    vec![
        Corpus {
            reader: Box::new(plugin_csv::CsvLogs),
            seeds: seeds("plugins/csv/fixtures", &["input.csv"]),
            tokens: TEXT,
        },
        Corpus {
            reader: Box::new(plugin_csv::Workbooks),
            seeds: seeds("plugins/csv/workbooks", &[".xlsx", ".ods"]),
            tokens: SHEET,
        },
        Corpus {
            reader: Box::new(plugin_csv::JsonLogs),
            seeds: json_log(seeds("tests/cases/json-log", &["log.json", "log.jsonl"])),
            tokens: JSON,
        },
        Corpus {
            reader: Box::new(plugin_trace::TraceReader),
            seeds: packed(seeds("plugins/trace/fixtures", &[".csv", ".txt"])),
            tokens: TEXT,
        },
        Corpus {
            reader: Box::new(plugin_json::Json),
            seeds: seeds("plugins/json/fixtures", &["input.json"]),
            tokens: JSON,
        },
        Corpus {
            reader: Box::new(plugin_form::FormReader),
            seeds: seeds("tests", &[".form.json"]),
            tokens: JSON,
        },
        Corpus {
            reader: Box::new(plugin_dcc::DccReader),
            seeds: seeds("plugins/dcc/fixtures", &[".xml"]),
            tokens: XML,
        },
    ]
}

fn read(reader: &dyn Reader, seed: &Seed, bytes: &[u8]) -> (bool, Taken) {
    let open = || Ok(Box::new(Cursor::new(bytes)) as Box<dyn std::io::BufRead>);
    let name = Path::new(&seed.name).file_name().unwrap().to_string_lossy().into_owned();
    let source = Source::new(SourceId(0), &name, bytes.len() as u64, &open);
    let mut intake = Intake::new(SourceId(0));
    let (defaults, facts) = (SeriesDefaults::default(), Facts::default());
    let cx = ReadContext { options: &seed.options, defaults: &defaults, facts: &facts };
    reader.probe(&bytes[..bytes.len().min(64 << 10)], &name);
    let done = reader.read(&source, &mut intake, &cx).is_ok();
    (done, intake.finish())
}

/// What must hold of any bytes; the text says what does not.
fn trouble(reader: &dyn Reader, seed: &Seed, bytes: &[u8]) -> Option<String> {
    let limit = Duration::from_secs(1 + bytes.len() as u64 / 1_000_000);
    // A machine that does other work may stop us for a while: what is slow is slow three times.
    for attempt in 0..3 {
        let start = Worked::now();
        let ran = catch_unwind(AssertUnwindSafe(|| read(reader, seed, bytes)));
        let took = start.elapsed();
        let Ok((done, taken)) = ran else { return Some("panicked".to_owned()) };
        if !done && !taken.findings.iter().any(|f| f.severity == Severity::Error) {
            return Some("refused without a reason".to_owned());
        }
        if let Some(account) = taken.account.filter(|_| done)
            && !account.balances()
        {
            return Some(format!("rows do not balance: {account:?}"));
        }
        if done && taken.unread.iter().any(|row| row.why.is_empty()) {
            return Some("a row is set aside without a reason".to_owned());
        }
        if took <= limit {
            return None;
        }
        if attempt == 2 {
            return Some(format!("took {took:?} for {} bytes", bytes.len()));
        }
    }
    None
}

/// Time that this thread has worked, where the system says so (Linux); else the time of day.
struct Worked {
    nanoseconds: Option<u64>,
    at: Instant,
}

impl Worked {
    fn now() -> Self {
        let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
        let nanoseconds = text.and_then(|text| text.split_whitespace().next()?.parse().ok());
        Self { nanoseconds, at: Instant::now() }
    }

    fn elapsed(&self) -> Duration {
        match (self.nanoseconds, Self::now().nanoseconds) {
            (Some(start), Some(end)) => Duration::from_nanos(end.saturating_sub(start)),
            _ => self.at.elapsed(),
        }
    }
}

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    packer.write_all(bytes).unwrap();
    packer.finish().unwrap()
}

/// The files of a zip, in its order; none where it can't be opened.
fn unzip(bytes: &[u8]) -> Option<Vec<(String, Vec<u8>)>> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).ok()?;
    let mut files = Vec::new();
    for at in 0..archive.len() {
        let file = archive.by_index(at).ok()?;
        let name = file.name().ok()?.into_owned();
        let mut content = Vec::new();
        // A bomb among the seeds stays packed.
        file.take(4 << 20).read_to_end(&mut content).ok()?;
        (content.len() < 4 << 20).then_some(())?;
        files.push((name, content));
    }
    (!files.is_empty()).then_some(files)
}

fn rezip(files: &[(String, Vec<u8>)]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let how = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
    for (name, content) in files {
        archive.start_file(name.as_str(), how).unwrap();
        archive.write_all(content).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// A mutant of one of the files inside, packed again; `None` for a file that is not packed.
fn mutate_inside(random: &mut Random, bytes: &[u8], other: &[u8], tokens: &[&str]) -> Option<Vec<u8>> {
    if bytes.starts_with(&[0x1f, 0x8b]) {
        let mut inside = Vec::new();
        flate2::read::GzDecoder::new(bytes).read_to_end(&mut inside).ok()?;
        mutate(random, &mut inside, other, tokens);
        return Some(gzip(&inside));
    }
    if !bytes.starts_with(b"PK") {
        return None;
    }
    let mut files = unzip(bytes)?;
    // Most of what a reader reads is in the sheets.
    let sheets: Vec<usize> = (0..files.len())
        .filter(|at| files[*at].0.contains("sheet") || files[*at].0 == "content.xml")
        .collect();
    let at = match sheets.len() {
        0 => random.below(files.len()),
        _ if random.below(4) == 0 => random.below(files.len()),
        many => sheets[random.below(many)],
    };
    let piece = unzip(other).map(|mut others| others.swap_remove(random.below(others.len())).1);
    mutate(random, &mut files[at].1, &piece.unwrap_or_default(), tokens);
    Some(rezip(&files))
}

struct Random(u64);

impl Random {
    /// xorshift64: the same start gives the same mutants.
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % most.max(1) as u64).unwrap()
    }
}

fn mutate(random: &mut Random, bytes: &mut Vec<u8>, other: &[u8], tokens: &[&str]) {
    for _ in 0..=random.below(4) {
        let at = random.below(bytes.len() + 1);
        let end = (at + random.below(64)).min(bytes.len());
        match random.below(7) {
            0 if at < bytes.len() => bytes[at] ^= 1 << random.below(8),
            1 => {
                let token = tokens[random.below(tokens.len())].as_bytes();
                bytes.splice(at..at, token.iter().copied());
            }
            2 => {
                let token = tokens[random.below(tokens.len())].as_bytes();
                bytes.splice(at..end, token.iter().copied());
            }
            3 => {
                bytes.drain(at..end);
            }
            4 => {
                let piece = bytes[at..end].to_vec();
                let to = random.below(bytes.len() + 1);
                bytes.splice(to..to, piece);
            }
            5 if !other.is_empty() => {
                let from = random.below(other.len());
                let piece = &other[from..(from + random.below(200)).min(other.len())];
                bytes.splice(at..at, piece.iter().copied());
            }
            _ => bytes.truncate(at.max(1)),
        }
    }
}

fn keep(reader: &str, number: usize, bytes: &[u8]) -> PathBuf {
    let folder = std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), PathBuf::from);
    let folder = folder.join("mutations");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join(format!("{reader}-{number}"));
    std::fs::write(&path, bytes).unwrap();
    path
}

#[test]
fn every_prefix_and_many_mutants_are_read_or_refused() {
    let number = |name: &str| std::env::var(name).ok().map(|text| text.parse::<u64>().unwrap());
    let long = number("FULGURITE_MUTATE_SECONDS");
    let seconds = long.unwrap_or(2);
    let usual = if long.is_some() { 1 } else { STEP };
    let step = usize::try_from(number("FULGURITE_MUTATE_STEP").unwrap_or(usual).max(1)).unwrap();
    let start = number("FULGURITE_RANDOM_SEED").unwrap_or(0x2545_f491_4f6c_dd1d).max(1);
    let only = std::env::var("FULGURITE_MUTATE_READER").ok();
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let mut wrong = BTreeSet::new();
    for Corpus { reader, seeds, tokens } in corpora() {
        let name = reader.name();
        if only.as_deref().is_some_and(|only| only != name) {
            continue;
        }
        assert!(!seeds.is_empty(), "{name} has no corpus");
        let mut prefixes = 0u64;
        for (at, seed) in seeds.iter().enumerate() {
            for end in (at % step..=seed.bytes.len().min(4096)).step_by(step) {
                prefixes += 1;
                if let Some(what) = trouble(reader.as_ref(), seed, &seed.bytes[..end]) {
                    wrong.insert(format!("{name}: {} cut after {end} bytes: {what}", seed.name));
                }
            }
        }
        let (mut random, mut mutants) = (Random(start), 0u64);
        let (started, most) = (Worked::now(), Duration::from_secs(seconds));
        while started.elapsed() < most && wrong.len() < 50 {
            let seed = &seeds[random.below(seeds.len())];
            let other = &seeds[random.below(seeds.len())].bytes;
            let inside = (random.below(4) > 0)
                .then(|| mutate_inside(&mut random, &seed.bytes, other, tokens))
                .flatten();
            let bytes = inside.unwrap_or_else(|| {
                let mut bytes = seed.bytes.clone();
                mutate(&mut random, &mut bytes, other, tokens);
                bytes
            });
            mutants += 1;
            if let Some(what) = trouble(reader.as_ref(), seed, &bytes) {
                let path = keep(name, wrong.len(), &bytes);
                wrong.insert(format!("{name}: a mutant of {} ({}): {what}", seed.name, path.display()));
            }
        }
        eprintln!("{name}: {} files, {prefixes} prefixes, {mutants} mutants in {seconds} s", seeds.len());
    }
    std::panic::set_hook(hook);
    assert!(wrong.is_empty(), "{}", wrong.into_iter().collect::<Vec<_>>().join("\n"));
}
