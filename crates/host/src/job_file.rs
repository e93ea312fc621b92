//! job.toml: the facts of a job, and which files belong to it.

use crate::codes;
use crate::toml_place::{self, PlacedToml, RowColumn};
use plugin_api::wire::v1::{self, Trouble};
use plugin_api::{Options, SeriesDefaults};
use record::{Decimal, Draft, Finding, Observation, Origin, Place, SourceId, Verification};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// The name under which a job's file appears in findings and origins.
pub(crate) const JOB_FILE: &str = "job.toml";

/// One `[[logs]]` entry.
pub(crate) struct LogEntry {
    pub(crate) files: FilePatterns,
    pub(crate) mapping: Option<MappingName>,
    pub(crate) settings: LogSettings,
    /// The log records the same discharges as the filled forms, and is held against them.
    pub(crate) beside: Option<Beside>,
}

/// How a generator's own log is held against the forms.
#[derive(Clone, Debug)]
pub(crate) struct Beside {
    /// Seconds by which the generator's clock is ahead of the forms'; estimated where not stated.
    pub(crate) clock_ahead_s: Option<Decimal>,
    /// How far times may differ, in seconds.
    pub(crate) within_s: Decimal,
    /// How far the log's voltage may be from the form's, in per cent of it.
    pub(crate) voltage_within_percent: Decimal,
    /// The tolerances are the job's own, not those of this program.
    pub(crate) stated: bool,
    /// Where it is asked for.
    pub(crate) place: Place,
}

/// How logs are read: by which reader, with which settings, and what holds for rows that don't say it.
#[derive(Clone, Debug, Default)]
pub(crate) struct LogSettings {
    pub(crate) reader: Option<String>,
    pub(crate) defaults: SeriesDefaults,
    pub(crate) options: Options,
}

/// The mapping file of an entry, by its path within the job, with the place where it is named.
pub(crate) struct MappingName {
    pub(crate) file: String,
    pub(crate) place: Place,
}

/// One `[[verifications]]` entry: its facts, and the files that hold its waveforms.
pub(crate) struct VerificationEntry {
    pub(crate) verification: Verification,
    /// Where its measuring chain is stated, by the path within the entry (`/chain/0/attenuation_db`).
    pub(crate) chain_origins: BTreeMap<String, Origin>,
    pub(crate) files: FilePatterns,
    pub(crate) mapping: Option<MappingName>,
    pub(crate) settings: LogSettings,
}

/// File patterns with the place where they were written.
pub(crate) struct FilePatterns {
    pub(crate) patterns: Vec<String>,
    pub(crate) place: Place,
}

/// What a job file says.
pub(crate) struct JobFile {
    /// Facts, their origins, the job's own observations, and findings so far.
    pub(crate) draft: Draft,
    pub(crate) logs: Vec<LogEntry>,
    pub(crate) verifications: Vec<VerificationEntry>,
    pub(crate) ignore: Option<FilePatterns>,
    /// Filled forms and sheets; none need be there yet.
    pub(crate) forms: FilePatterns,
    /// Calibration certificates of equipment.
    pub(crate) certificates: Vec<LogEntry>,
}

/// Reads the text of a job file.
pub(crate) fn parse(text: &str) -> Result<JobFile, Vec<Finding>> {
    let PlacedToml { mut value, places } = toml_place::parse(text).map_err(|bad| {
        let place = Place {
            file: JOB_FILE.into(),
            row: bad.place.map(|p| p.0),
            column: bad.place.map(|p| p.1),
            label: None,
        };
        vec![
            Finding::error(codes::BROKEN_JOB_FILE, bad.message)
                .at(place)
                .help("mend this line; https://toml.io describes the form"),
        ]
    })?;
    let mut work = Work::new(JOB_FILE, places);
    let logs = work.list(&mut value, "logs");
    let verifications = work.list(&mut value, "verifications");
    let observations = work.list(&mut value, "observations");
    let certificates = work.list(&mut value, "certificates");
    let ignore = value.remove("ignore").map(|list| {
        let place = work.place("/ignore");
        FilePatterns { patterns: work.texts(list, "/ignore"), place }
    });
    let forms = FilePatterns {
        patterns: value.remove("forms").map(|list| work.texts(list, "/forms")).unwrap_or_default(),
        place: work.place("/forms"),
    };
    let (facts, unknown) = match v1::facts_from_value(Value::Object(value), &[]) {
        Ok(read) => read,
        Err(troubles) => {
            for trouble in troubles {
                work.trouble(trouble, "");
            }
            (record::Facts::default(), BTreeMap::new())
        }
    };
    work.unknown(unknown, "", "/facts");
    let logs = logs.into_iter().enumerate().filter_map(|(index, table)| work.log(index, table)).collect();
    let verifications = verifications
        .into_iter()
        .enumerate()
        .filter_map(|(index, table)| work.verification(index, table))
        .collect();
    let observations = observations
        .into_iter()
        .enumerate()
        .filter_map(|(index, table)| work.observation(index, table))
        .collect();
    let certificates = certificates
        .into_iter()
        .enumerate()
        .filter_map(|(index, table)| work.certificate(index, table))
        .collect();
    let Work { places, findings, passed_through, .. } = work;
    if findings.iter().any(|f| f.severity == record::Severity::Error) {
        return Err(findings);
    }
    let mine = ["/logs", "/verifications", "/observations", "/ignore", "/forms", "/certificates"];
    let origins = places
        .into_iter()
        .filter(|(path, _)| !mine.iter().any(|own| path == own || path.starts_with(&format!("{own}/"))))
        .map(|(path, (row, column))| (path, Origin::cell(SourceId(0), row, column)))
        .collect();
    let draft = Draft { facts, origins, observations, passed_through, findings, ..Draft::default() };
    Ok(JobFile { draft, logs, verifications, ignore, forms, certificates })
}

/// Reads the text of a mapping file: the keys of a `[[logs]]` entry, without the files.
pub(crate) fn parse_mapping(name: &str, text: &str) -> Result<LogSettings, Vec<Finding>> {
    let PlacedToml { value, places } =
        toml_place::parse(text.trim_start_matches('\u{feff}')).map_err(|bad| {
            let (row, column) = (bad.place.map(|p| p.0), bad.place.map(|p| p.1));
            let place = Place { file: name.to_owned(), row, column, label: None };
            vec![
                Finding::error(codes::BROKEN_MAPPING, bad.message)
                    .at(place)
                    .help("mend this line; https://toml.io describes the form"),
            ]
        })?;
    let mut work = Work::new(name, places);
    let settings = work.settings(value, "");
    if work.findings.is_empty() { Ok(settings) } else { Err(work.findings) }
}

impl LogSettings {
    /// These settings over others: what is said here counts, and the rest is taken from there.
    pub(crate) fn over(self, base: &Self) -> Self {
        let (own, other) = (self.defaults, base.defaults.clone());
        let mut value = base.options.value.clone();
        lay_over(&mut value, self.options.value);
        let mut places = base.options.places.clone();
        places.extend(self.options.places);
        Self {
            reader: self.reader.or_else(|| base.reader.clone()),
            defaults: SeriesDefaults {
                point: own.point.or(other.point),
                state: own.state.or(other.state),
                mode: own.mode.or(other.mode),
                kind: own.kind.or(other.kind),
                monitoring: own.monitoring.or(other.monitoring),
                interval_s: own.interval_s.or(other.interval_s),
                single: own.single.or(other.single),
                application: own.application.or(other.application),
                tested_by: own.tested_by.or(other.tested_by),
                chain_a_per_v: own.chain_a_per_v.or(other.chain_a_per_v),
            },
            options: Options { value, places },
        }
    }
}

/// Lays one table over another: tables within are joined, anything else replaces what was there.
fn lay_over(base: &mut Map<String, Value>, over: Map<String, Value>) {
    for (key, value) in over {
        match (base.get_mut(&key), value) {
            (Some(Value::Object(below)), Value::Object(table)) => lay_over(below, table),
            (_, value) => {
                base.insert(key, value);
            }
        }
    }
}

struct Work {
    file: String,
    places: BTreeMap<String, RowColumn>,
    findings: Vec<Finding>,
    passed_through: BTreeMap<String, String>,
}

impl Work {
    fn new(file: &str, places: BTreeMap<String, RowColumn>) -> Self {
        Self { file: file.to_owned(), places, findings: Vec::new(), passed_through: BTreeMap::new() }
    }

    fn place(&self, path: &str) -> Place {
        let mut at = path;
        let found = loop {
            if let Some(place) = self.places.get(at) {
                break Some(*place);
            }
            match at.rfind('/') {
                Some(cut) => at = &at[..cut],
                None => break None,
            }
        };
        let label = record::spoken_path(path);
        Place {
            file: self.file.clone(),
            row: found.map(|p| p.0),
            column: found.map(|p| p.1),
            label: (!label.is_empty()).then_some(label),
        }
    }

    fn wrong(&mut self, path: &str, message: impl Into<String>, help: &str) {
        let finding = Finding::error(v1::codes::BAD_VALUE, message).at(self.place(path)).help(help);
        self.findings.push(finding);
    }

    fn trouble(&mut self, trouble: Trouble, prefix: &str) {
        let mut finding = Finding::error(trouble.code, trouble.message)
            .at(self.place(&format!("{prefix}{}", trouble.path)));
        finding.help = trouble.help;
        if finding.help.is_empty() {
            finding.help.push(match trouble.code {
                v1::codes::MISSING_VALUE => {
                    format!("write it here: {} = ...", trouble.path.rsplit('/').next().unwrap_or_default())
                }
                _ => "correct the value, or leave the key out where the fact is not known".to_owned(),
            });
        }
        self.findings.push(finding);
    }

    fn unknown(&mut self, unknown: BTreeMap<String, Value>, prefix: &str, schema: &str) {
        for (path, value) in unknown {
            let full = format!("{prefix}{path}");
            let (parent, key) = path.rsplit_once('/').unwrap_or(("", &path));
            let mut finding =
                Finding::warning(v1::codes::UNKNOWN_KEY, format!("`{key}` is not a key of the job file"))
                    .at(self.place(&full));
            finding = match v1::nearest_key(&format!("{schema}{parent}"), key) {
                Some(near) => {
                    finding.help(format!("did you mean `{near}`? the value is kept, but nothing reads it"))
                }
                None => finding.help("the value is kept as written and passed through, but nothing reads it"),
            };
            self.findings.push(finding);
            self.passed_through.insert(full, value.to_string());
        }
    }

    fn list(&mut self, value: &mut Map<String, Value>, key: &str) -> Vec<Map<String, Value>> {
        let Some(found) = value.remove(key) else { return Vec::new() };
        let mut tables = Vec::new();
        match found {
            Value::Array(items) => {
                for (index, item) in items.into_iter().enumerate() {
                    match item {
                        Value::Object(table) => tables.push(table),
                        _ => self.wrong(
                            &format!("/{key}/{index}"),
                            format!("an entry of `{key}` must be a table"),
                            &format!("write it as [[{key}]]"),
                        ),
                    }
                }
            }
            _ => self.wrong(
                &format!("/{key}"),
                format!("`{key}` must be a list of tables"),
                &format!("write each entry as [[{key}]]"),
            ),
        }
        tables
    }

    fn texts(&mut self, value: Value, path: &str) -> Vec<String> {
        match value {
            Value::String(text) => vec![text],
            Value::Array(items) if items.iter().all(Value::is_string) => {
                items.into_iter().filter_map(|v| v.as_str().map(str::to_owned)).collect()
            }
            _ => {
                self.wrong(
                    path,
                    "a file pattern or a list of them is expected",
                    "for instance \"logs/contact-*.csv\"",
                );
                Vec::new()
            }
        }
    }

    fn files(&mut self, table: &mut Map<String, Value>, path: &str) -> Option<FilePatterns> {
        let place = self.place(&format!("{path}/files"));
        match table.remove("files") {
            Some(value) => {
                let patterns = self.texts(value, &format!("{path}/files"));
                (!patterns.is_empty()).then_some(FilePatterns { patterns, place })
            }
            None => {
                let finding = Finding::error(v1::codes::MISSING_VALUE, "`files` is missing")
                    .at(self.place(path))
                    .help("say which files belong to this entry: files = \"logs/contact.csv\"");
                self.findings.push(finding);
                None
            }
        }
    }

    fn text(&mut self, table: &mut Map<String, Value>, key: &str, path: &str) -> Option<String> {
        match table.remove(key)? {
            Value::String(text) => Some(text),
            other => {
                self.wrong(
                    &format!("{path}/{key}"),
                    format!("`{other}` is not a text"),
                    "write it in quotes",
                );
                None
            }
        }
    }

    fn word<T: std::str::FromStr<Err = record::UnknownWord>>(
        &mut self,
        table: &mut Map<String, Value>,
        key: &str,
        path: &str,
    ) -> Option<T> {
        let text = self.text(table, key, path)?;
        match text.parse() {
            Ok(word) => Some(word),
            Err(error) => {
                self.wrong(&format!("{path}/{key}"), error.to_string(), "use one of these words");
                None
            }
        }
    }

    fn options(&self, value: Map<String, Value>, path: &str) -> Options {
        let places = self
            .places
            .iter()
            .filter_map(|(at, (row, column))| {
                let below = at.strip_prefix(path)?;
                let place =
                    Place { file: self.file.clone(), row: Some(*row), column: Some(*column), label: None };
                Some((below.to_owned(), place))
            })
            .collect();
        Options { value, places }
    }

    fn mapping(&mut self, table: &mut Map<String, Value>, path: &str) -> Option<MappingName> {
        let place = self.place(&format!("{path}/mapping"));
        let file = self.text(table, "mapping", path)?;
        Some(MappingName { file, place })
    }

    fn log(&mut self, index: usize, mut table: Map<String, Value>) -> Option<LogEntry> {
        let path = format!("/logs/{index}");
        let files = self.files(&mut table, &path);
        let mapping = self.mapping(&mut table, &path);
        let beside = self.beside(&mut table, &path);
        let settings = self.settings(table, &path);
        Some(LogEntry { files: files?, mapping, settings, beside })
    }

    fn beside(&mut self, table: &mut Map<String, Value>, path: &str) -> Option<Beside> {
        let place = self.place(&format!("{path}/beside"));
        let named = table.contains_key("beside");
        let what = self.text(table, "beside", path);
        if named && what.as_deref() != Some("forms") {
            let help = "write beside = \"forms\" for a log of the discharges that filled forms hold too";
            self.wrong(&format!("{path}/beside"), "a log can only stand beside the forms", help);
        }
        let mut number = |key: &str| {
            let text = match table.remove(key)? {
                Value::String(text) => text,
                other => other.to_string(),
            };
            let found = record::parse_decimal(&text).ok();
            if found.is_none() || !named {
                let why = if named {
                    format!("`{text}` is not a number")
                } else {
                    format!("`{key}` is for a log beside the forms")
                };
                self.wrong(
                    &format!("{path}/{key}"),
                    why,
                    "for instance beside = \"forms\" and within_s = 30",
                );
            }
            found
        };
        let clock_ahead_s = number("clock_ahead_s");
        let (within, voltage) = (number("within_s"), number("voltage_within_percent"));
        // No clock is off by more than a lifetime; what lies beyond is a slip of the hand, and too large to reckon with.
        let mut between = |key: &str, value: Option<Decimal>, least: i64, most: i64| {
            if let Some(value) = value
                && !(Decimal::from(least)..=Decimal::from(most)).contains(&value)
            {
                let why = format!("{value} is not from {least} to {most}");
                self.wrong(&format!("{path}/{key}"), why, "check the number and its unit");
                return None;
            }
            value
        };
        const LIFETIME_S: i64 = 3_000_000_000;
        let clock_ahead_s = between("clock_ahead_s", clock_ahead_s, -LIFETIME_S, LIFETIME_S);
        let within = between("within_s", within, 0, 86_400);
        let voltage = between("voltage_within_percent", voltage, 0, 100);
        named.then(|| Beside {
            clock_ahead_s,
            stated: within.is_some() || voltage.is_some(),
            // Common practice, no source: a hand needs some seconds from the last spark to the touch, and a generator
            // shows its voltage within five per cent.
            within_s: within.unwrap_or(Decimal::from(30)),
            voltage_within_percent: voltage.unwrap_or(Decimal::from(5)),
            place,
        })
    }

    /// The reader, what holds for rows that don't say it, and the reader's own settings.
    fn settings(&mut self, mut table: Map<String, Value>, path: &str) -> LogSettings {
        let reader = self.text(&mut table, "reader", path);
        let defaults = SeriesDefaults {
            point: self.text(&mut table, "point", path).and_then(|t| record::PointId::new(&t)),
            state: self.text(&mut table, "state", path).and_then(|t| record::StateId::new(&t)),
            mode: self.text(&mut table, "mode", path).and_then(|t| record::ModeId::new(&t)),
            kind: self.word(&mut table, "kind", path),
            monitoring: self.word(&mut table, "monitoring", path),
            interval_s: self.interval(&mut table, path),
            single: match table.remove("single") {
                None => None,
                Some(Value::Bool(flag)) => Some(flag),
                Some(other) => {
                    self.wrong(
                        &format!("{path}/single"),
                        format!("`{other}` is neither true nor false"),
                        "write true or false",
                    );
                    None
                }
            },
            application: self.word(&mut table, "application", path),
            tested_by: self.text(&mut table, "tested_by", path),
            // The engine works it out from the facts.
            chain_a_per_v: None,
        };
        let options = self.options(table, path);
        LogSettings { reader, defaults, options }
    }

    fn interval(&mut self, table: &mut Map<String, Value>, path: &str) -> Option<record::Seconds> {
        let text = match table.remove("interval_s")? {
            Value::String(text) => text,
            other => other.to_string(),
        };
        match record::Seconds::parse(&text) {
            Ok(seconds) => Some(seconds),
            Err(error) => {
                self.wrong(
                    &format!("{path}/interval_s"),
                    error.to_string(),
                    "write the time between discharges in seconds",
                );
                None
            }
        }
    }

    /// Files, and the equipment that they certify: settings of their reader.
    fn certificate(&mut self, index: usize, mut table: Map<String, Value>) -> Option<LogEntry> {
        let path = format!("/certificates/{index}");
        let files = self.files(&mut table, &path);
        let reader = self.text(&mut table, "reader", &path);
        let options = self.options(table, &path);
        let settings = LogSettings { reader, options, ..LogSettings::default() };
        Some(LogEntry { files: files?, mapping: None, settings, beside: None })
    }

    fn verification(&mut self, index: usize, mut table: Map<String, Value>) -> Option<VerificationEntry> {
        let path = format!("/verifications/{index}");
        let files = self.files(&mut table, &path);
        let mapping = self.mapping(&mut table, &path);
        let reader = self.text(&mut table, "reader", &path);
        let keys = v1::known_keys("/verifications/0");
        let mut facts = Map::new();
        for key in keys {
            if key != "traces"
                && let Some(value) = table.remove(&key)
            {
                facts.insert(key, value);
            }
        }
        let read = v1::part_from_value::<v1::Verification, Verification>(Value::Object(facts));
        let verification = match read {
            Ok((verification, unknown)) => {
                self.unknown(unknown, &path, "/verifications/0");
                verification
            }
            Err(troubles) => {
                for trouble in troubles {
                    self.trouble(trouble, &path);
                }
                return None;
            }
        };
        let options = self.options(table, &path);
        let settings = LogSettings { reader, options, ..LogSettings::default() };
        let chain_origins = self
            .places
            .iter()
            .filter_map(|(place, (row, column))| {
                let within = place.strip_prefix(&path)?;
                let own = within == "/chain" || within.starts_with("/chain/");
                own.then(|| (within.to_owned(), Origin::cell(SourceId(0), *row, *column)))
            })
            .collect();
        Some(VerificationEntry { verification, chain_origins, files: files?, mapping, settings })
    }

    fn observation(&mut self, index: usize, mut table: Map<String, Value>) -> Option<Observation> {
        let path = format!("/observations/{index}");
        let place = self.place(&path);
        let origin = match (place.row, place.column) {
            (Some(row), Some(column)) => format!("0:{row}:{column}"),
            _ => "0".to_owned(),
        };
        table.insert("origin".into(), Value::String(origin));
        if !table.contains_key("id") {
            table.insert("id".into(), Value::String(format!("job#{}", index + 1)));
        }
        match v1::part_from_value::<v1::Observation, Observation>(Value::Object(table)) {
            Ok((observation, unknown)) => {
                self.unknown(unknown, &path, "/observations/0");
                Some(observation)
            }
            Err(troubles) => {
                for trouble in troubles {
                    self.trouble(trouble, &path);
                }
                None
            }
        }
    }
}
