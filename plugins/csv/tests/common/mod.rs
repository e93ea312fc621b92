//! Reads bytes as a log and shows the result as text.
#![allow(dead_code, reason = "each test program uses a part of it")]

use plugin_api::{Intake, Options, ReadContext, Reader, SeriesDefaults, Source, Taken};
use plugin_csv::CsvLogs;
use record::{
    Application, Facts, Mode, ModeId, Monitoring, Observation, Place, Point, PointId, Seconds, Series,
    SourceId, Stated,
};
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::io::Cursor;

/// What a job would say about a log, beside the settings.
#[derive(Default)]
pub(crate) struct Job {
    pub(crate) options: Options,
    pub(crate) defaults: SeriesDefaults,
    pub(crate) facts: Facts,
}

impl Job {
    /// A job with these settings and nothing else.
    pub(crate) fn with(settings: Value) -> Self {
        let value = settings.as_object().cloned().unwrap_or_default();
        Self { options: Options { value, places: BTreeMap::new() }, ..Self::default() }
    }
}

/// Reads bytes under a name; true when the file was read.
pub(crate) fn read(name: &str, bytes: &[u8], job: &Job) -> (bool, Taken) {
    let open = || Ok(Box::new(Cursor::new(bytes)) as Box<dyn std::io::BufRead>);
    let source = Source::new(SourceId(0), name, bytes.len() as u64, &open);
    let mut intake = Intake::new(SourceId(0));
    let context = ReadContext { options: &job.options, defaults: &job.defaults, facts: &job.facts };
    let done = CsvLogs.read(&source, &mut intake, &context).is_ok();
    (done, intake.finish())
}

/// Settings from TOML, with the line of each.
pub(crate) fn options(text: &str) -> Options {
    let value: Value = toml::from_str::<toml::Table>(text)
        .map(|table| serde_json::to_value(table).unwrap())
        .unwrap_or_else(|e| panic!("{e}"));
    let value = value.as_object().cloned().unwrap();
    let mut places = BTreeMap::new();
    collect("", &value, text, &mut places);
    Options { value, places }
}

fn collect(path: &str, table: &Map<String, Value>, text: &str, places: &mut BTreeMap<String, Place>) {
    for (key, value) in table {
        let path = format!("{path}/{key}");
        let row = (1..)
            .zip(text.lines())
            .find(|(_, l)| l.contains(&format!("{key} =")) || l.contains(&format!("{key}]")));
        if let Some((row, _)) = row {
            let place = Place { file: "options.toml".into(), row: Some(row), column: None, label: None };
            places.insert(path.clone(), place);
        }
        if let Value::Object(inner) = value {
            collect(&path, inner, text, places);
        }
    }
}

/// What a fixture's `job.toml` says: defaults, points with their applications, modes.
pub(crate) fn job(text: &str) -> (SeriesDefaults, Facts) {
    let table: toml::Table = toml::from_str(text).unwrap();
    let mut defaults = SeriesDefaults::default();
    let mut facts = Facts::default();
    for (key, value) in &table {
        match key.as_str() {
            "application" => defaults.application = Some(value.as_str().unwrap().parse().unwrap()),
            "monitoring" => {
                defaults.monitoring = Some(value.as_str().unwrap().parse::<Monitoring>().unwrap())
            }
            "interval_s" => defaults.interval_s = Some(Seconds::parse(value.as_str().unwrap()).unwrap()),
            "points" => {
                for (id, applications) in value.as_table().unwrap() {
                    facts.points.push(Point {
                        id: PointId::new(id).unwrap(),
                        description: None,
                        applications: applications
                            .as_array()
                            .unwrap()
                            .iter()
                            .map(|a| a.as_str().unwrap().parse::<Application>().unwrap())
                            .collect(),
                        reason: None,
                        excluded: None,
                        picture: None,
                        mark: None,
                    });
                }
            }
            "modes" => {
                for id in value.as_array().unwrap() {
                    let id = ModeId::new(id.as_str().unwrap()).unwrap();
                    facts.modes.push(Mode { id, description: None });
                }
            }
            other => panic!("job.toml: {other}"),
        }
    }
    (defaults, facts)
}

/// Everything that was read, as text.
pub(crate) fn show(done: bool, taken: &Taken) -> String {
    let mut out = String::new();
    writeln!(out, "{}", if done { "read" } else { "refused" }).unwrap();
    for line in &taken.understood {
        writeln!(out, "  {line}").unwrap();
    }
    for series in taken.series.iter() {
        writeln!(out, "{}", show_series(series)).unwrap();
    }
    for observation in &taken.observations {
        writeln!(out, "{}", show_observation(observation)).unwrap();
    }
    for row in &taken.unread {
        writeln!(out, "set aside: row {} ({}): {:?}", row.row, row.code, shorten(&row.text)).unwrap();
    }
    for finding in &taken.findings {
        let place = finding.place.as_ref().map_or_else(|| "-".to_owned(), ToString::to_string);
        writeln!(out, "{}[{}] {place}: {}", finding.severity, finding.code, finding.message).unwrap();
        for help in &finding.help {
            writeln!(out, "  help: {help}").unwrap();
        }
    }
    if let Some(a) = &taken.account {
        writeln!(
            out,
            "rows: {} = {} used + {} set aside + {} preamble + {} footer + {} blank",
            a.total, a.used, a.set_aside, a.preamble, a.footer, a.blank
        )
        .unwrap();
    }
    out
}

fn shorten(text: &str) -> String {
    if text.chars().count() > 200 {
        text.chars().take(200).collect::<String>() + "..."
    } else {
        text.to_owned()
    }
}

fn stated<T: std::fmt::Display>(value: &Stated<T>) -> String {
    match value {
        Stated::Stated(value) => value.to_string(),
        Stated::NotStated => "not stated".into(),
        Stated::NotApplicable { reason } => format!("not applicable: {reason}"),
    }
}

fn show_series(s: &Series) -> String {
    let rows = s.origin.rows.unwrap();
    let mut out = format!(
        "series {}: {} {} {}{} x {}, rows {}-{}, {}, monitoring {}",
        s.id,
        shorten(s.point.as_str()),
        s.application,
        s.polarity.sign(),
        s.voltage_kv,
        s.count,
        rows.first,
        rows.last,
        s.kind,
        stated(&s.monitoring)
    );
    let mut add = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            write!(out, ", {name} {value}").unwrap();
        }
    };
    add("interval", s.interval_s.map(|i| i.to_string()));
    add("sparks", s.sparks.map(|n| n.to_string()));
    add("single", s.single.map(|b| b.to_string()));
    add("state", s.state.as_ref().map(ToString::to_string));
    add("mode", s.mode.as_ref().map(ToString::to_string));
    add("tip", s.tip.map(|t| t.to_string()));
    add("started", s.started.as_ref().map(ToString::to_string));
    add("ended", s.ended.as_ref().map(ToString::to_string));
    add("by", s.tested_by.clone());
    add("reference", s.external_reference.clone());
    add("remark", s.remark.as_ref().map(|r| format!("{r:?}")));
    if !s.shots.is_empty() {
        let shots: Vec<String> = s
            .shots
            .iter()
            .map(|shot| match shot.spark {
                None => shot.row.to_string(),
                Some(true) => format!("{} spark", shot.row),
                Some(false) => format!("{} no spark", shot.row),
            })
            .collect();
        add("shots", Some(format!("[{}]", shots.join(", "))));
    }
    out
}

fn show_observation(o: &Observation) -> String {
    let rows = o.origin.rows.unwrap();
    let mut out = format!("observation {} at row {} column {}", o.id, rows.first, o.origin.column.unwrap());
    let mut add = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            write!(out, ", {name} {value}").unwrap();
        }
    };
    add("series", o.series.as_ref().map(ToString::to_string));
    add("shot", o.shot.map(|n| n.to_string()));
    add("seen", o.seen.as_ref().map(|t| format!("{t:?}")));
    add("class", o.written_class.map(|c| c.to_string()));
    add("function", o.function.as_ref().map(ToString::to_string));
    add("state changed", o.state_changed.value().map(ToString::to_string));
    add("data lost", o.data_lost.value().map(ToString::to_string));
    add("restored", o.restored.value().map(ToString::to_string));
    add("lasted", o.lasted_s.map(|t| t.to_string()));
    add("before next", o.before_next.value().map(ToString::to_string));
    add("coincident", o.coincident.value().map(ToString::to_string));
    add("affected", o.affected.value().map(ToString::to_string));
    add("remark", o.remark.as_ref().map(|r| format!("{r:?}")));
    out
}
