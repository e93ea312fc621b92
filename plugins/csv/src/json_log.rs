//! Reads discharge logs from JSON of other programs, a record a discharge or set: JSON lines, or a list in a file.
//!
//! A record is laid out as a row of text and then read like any other log; a column's header is the JSON pointer
//! of its value without the first slash. Row n is line n of the file where each record begins on a line of its
//! own, as it does in JSON lines; else it is the number of the record, and that is said.

mod codes;
mod parse;

pub(crate) use codes::ALL as CODES;

use crate::mapping::{ColumnName, Mapping};
use crate::{read, schema as text_schema, settings};
use parse::{Fault, Kind, Node};
use plugin_api::{Drafted, Intake, Options, ReadContext, Reported, Source};
use record::{Finding, Place, RowAccount, Severity};
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, HashMap};
use std::io::{BufRead, Read};

/// The settings beyond those of delimited text.
pub(crate) const SETTINGS: &[&str] = &[
    "records: JSON pointer of the list of records, where it is not the whole file, such as /log/runs",
    "columns.ROLE: JSON pointer within a record, such as /result/seen",
];

/// The file is held in memory while it is read.
const MOST_BYTES: u64 = 256 << 20;
const MOST_COLUMNS: usize = 999;
/// Settings of a text that JSON does not have.
const LAID_OUT: [&str; 4] = ["encoding", "delimiter", "quote", "header_row"];

/// Whether a file may be JSON of another program.
pub(crate) fn looks_like_json_lines(head: &[u8]) -> bool {
    let head = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head);
    let mut lines = head.split(|b| *b == b'\n').filter(|line| !line.trim_ascii().is_empty());
    let first = lines.next().and_then(|line| std::str::from_utf8(line).ok());
    let second = lines.next().is_some_and(|line| line.trim_ascii().starts_with(b"{"));
    second && first.is_some_and(|line| matches!(parse::whole(line), Ok(Node { kind: Kind::Object(_), .. })))
}

/// The schema of the settings.
pub(crate) fn schema() -> Map<String, Value> {
    let mut all = text_schema::settings();
    all.retain(|key, _| !LAID_OUT.contains(&key.as_str()));
    let about = "JSON pointer of the list of records, where it is not the whole file.";
    all.insert(
        "records".to_owned(),
        json!({ "description": about, "type": "string", "pattern": "^(/.*)?$" }),
    );
    all
}

/// Reads the log into the intake.
pub(crate) fn read(source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
    let text = all_text(source).map_err(|finding| intake.refuse(*finding))?;
    let log = lay_out(&text, source.name, cx.options).map_err(|finding| intake.refuse(*finding))?;
    let mapping = mapping(cx.options, &log).map_err(|findings| {
        let mut reported = None;
        for finding in findings {
            reported = Some(intake.refuse(finding));
        }
        reported.unwrap_or_else(|| intake.refuse(no_records(source.name, "a setting can't be read")))
    })?;
    let mut inner = Intake::new(source.id);
    let open = || Ok(Box::new(log.text.as_bytes()) as Box<dyn BufRead>);
    let laid = Source::new(source.id, source.name, log.text.len() as u64, &open);
    let done = read::read_by(&laid, &mut inner, cx, mapping);
    log.hand_over(inner, done.is_ok(), source.name, intake)
}

/// Drafts the settings.
pub(crate) fn draft(source: &Source<'_>, cx: &ReadContext<'_>) -> Result<Vec<Drafted>, Box<Finding>> {
    let text = all_text(source)?;
    let log = lay_out(&text, source.name, cx.options)?;
    let mapping = mapping(cx.options, &log).map_err(|mut found| Box::new(found.remove(0)))?;
    let open = || Ok(Box::new(log.text.as_bytes()) as Box<dyn BufRead>);
    let laid = Source::new(source.id, source.name, log.text.len() as u64, &open);
    let mut drafted = crate::draft::of_text(&laid, cx, &mapping)?;
    drafted.retain(|line| !LAID_OUT.contains(&line.key.as_str()));
    for line in &mut drafted {
        if let Some(name) = line.value.as_str().filter(|_| line.key.starts_with("columns.")) {
            line.value = format!("/{name}").into();
            line.why = line.why.replace("its header", "its key");
        }
    }
    Ok(drafted)
}

/// A log as text.
struct Log {
    text: String,
    /// Names of the columns.
    labels: Vec<String>,
    /// The records by their rows: what is said about them, and where their values are.
    records: HashMap<u64, Laid>,
    /// Rows of the text that are in the file too, and lines that are no JSON.
    lines: Lines,
    /// Some number has digits after its point: in JSON it can be nothing else.
    fractions: bool,
    /// Pointers of the mapping that no record has.
    absent: Vec<String>,
    broken: Vec<(u64, String, Finding)>,
}

struct Laid {
    raw: String,
    /// Line and column of the record.
    at: (u64, u32),
    /// Line and column of its values, by column.
    cells: BTreeMap<usize, (u64, u32)>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Lines {
    /// Row n of the text is line n of the file, all of them.
    OneEach,
    /// Row n is the line on which a record begins; the other rows are nothing.
    Begin,
    /// Row n is the record of that number.
    Numbered,
}

fn all_text(source: &Source<'_>) -> Result<String, Box<Finding>> {
    let here = || Place { file: source.name.to_owned(), row: Some(1), ..Place::default() };
    let mut bytes = Vec::new();
    let read = source.open().and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes));
    if let Err(error) = read {
        return Err(Box::new(
            Finding::error(codes::UNREADABLE, format!("the file can't be read: {error}"))
                .at(here())
                .help("check the disk or the share it is on"),
        ));
    }
    if bytes.len() as u64 > MOST_BYTES {
        return Err(Box::new(
            Finding::error(codes::TOO_LARGE, "the file has more than 256 MB")
                .at(here())
                .help("export fewer discharges at a time, or as CSV"),
        ));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let valid = error.as_bytes().get(..error.utf8_error().valid_up_to()).unwrap_or_default();
        let row = 1 + valid.iter().filter(|b| **b == b'\n').count() as u64;
        Box::new(
            Finding::error(codes::NOT_JSON, format!("row {row} is not UTF-8, as JSON must be"))
                .at(Place { row: Some(row), ..here() })
                .help("save the file as UTF-8"),
        )
    })?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}

/// The settings, with pointers as the headers that the columns have here.
fn mapping(options: &Options, log: &Log) -> Result<Mapping, Vec<Finding>> {
    let mut options = options.clone();
    options.value.remove("records");
    for key in LAID_OUT {
        if let Some(value) = options.value.get(key) {
            let finding = Finding::error(
                crate::codes::UNKNOWN_SETTING,
                format!("`{key}` = {value} is no setting of a log in JSON"),
            );
            return Err(vec![match options.place(&format!("/{key}")) {
                Some(place) => finding.at(place),
                None => finding,
            }]);
        }
    }
    for (key, value) in [("encoding", "utf-8"), ("delimiter", "tab"), ("quote", "double")] {
        options.value.insert(key.to_owned(), value.into());
    }
    if log.fractions && !options.value.contains_key("decimal") {
        options.value.insert("decimal".to_owned(), "point".into());
    }
    let mut mapping = settings::read(&options)?;
    for (_, name) in &mut mapping.columns {
        if let ColumnName::Header(text) = name
            && let Some(path) = text.strip_prefix('/')
        {
            *text = path.to_owned();
        }
    }
    mapping.labels = Some(log.labels.clone());
    Ok(mapping)
}

fn no_records(file: &str, what: &str) -> Finding {
    Finding::error(codes::NO_RECORDS, what.to_owned())
        .at(Place { file: file.to_owned(), row: Some(1), ..Place::default() })
        .help("name the list of discharges by its JSON pointer, for example records = \"/runs\"")
}

fn fault(file: &str, fault: &Fault, place: (u64, u32)) -> Finding {
    let at = Place { file: file.to_owned(), row: Some(place.0), column: Some(place.1), label: None };
    match fault {
        Fault::Broken { what, .. } => Finding::error(codes::NOT_JSON, format!("not JSON: {what}"))
            .at(at)
            .help("mend this place, or export the log again"),
        Fault::DuplicateKey { key, .. } => {
            Finding::error(codes::DUPLICATE_KEY, format!("the key `{key}` stands twice in one object"))
                .at(at)
                .help("find out which value is right and remove the other")
        }
        Fault::TooDeep { .. } => {
            Finding::error(codes::TOO_DEEP, "lists and objects are nested more than 64 deep")
                .at(at)
                .help("export the log again: no log is nested like this")
        }
    }
}

/// Where lines begin, for telling line and column of a byte.
struct Places<'t> {
    text: &'t str,
    starts: Vec<usize>,
}

impl<'t> Places<'t> {
    fn new(text: &'t str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { text, starts }
    }

    /// Line and column, both from 1; the column counts characters.
    fn of(&self, at: usize) -> (u64, u32) {
        let line = self.starts.partition_point(|start| *start <= at).max(1);
        let start = self.starts.get(line - 1).copied().unwrap_or(0);
        let before = self.text.get(start..at).map_or(0, |before| before.chars().count());
        (line as u64, u32::try_from(before + 1).unwrap_or(u32::MAX))
    }
}

fn lay_out(text: &str, file: &str, options: &Options) -> Result<Log, Box<Finding>> {
    let places = Places::new(text);
    let pointer = options.value.get("records").and_then(Value::as_str);
    let wanted = wanted(options);
    if pointer.is_none() && is_lines(text) {
        return json_lines(text, file, &places, &wanted);
    }
    let node = parse::whole(text).map_err(|f| Box::new(fault(file, &f, places.of(f.at()))))?;
    let list = match pointer {
        None => Some(&node),
        Some(pointer) => parse::find(&node, pointer),
    };
    let records: Vec<&Node> = match list.map(|node| &node.kind) {
        Some(Kind::List(items)) => items.iter().collect(),
        Some(Kind::Object(_)) if pointer.is_none() => {
            return Err(Box::new(no_records(
                file,
                "the file is one object: which list in it are the discharges?",
            )));
        }
        _ => return Err(Box::new(no_records(file, "there is no list of discharges where the settings say"))),
    };
    if let Some((number, other)) = (1..).zip(&records).find(|(_, node)| !matches!(node.kind, Kind::Object(_)))
    {
        let (row, column) = places.of(other.at);
        let place = Place { file: file.to_owned(), row: Some(row), column: Some(column), label: None };
        return Err(Box::new(no_records(file, &format!("record {number} is no object")).at(place)));
    }
    let starts: Vec<u64> = records.iter().map(|node| places.of(node.at).0).collect();
    let lines = if starts.windows(2).all(|w| w[0] < w[1]) { Lines::Begin } else { Lines::Numbered };
    let rows = records.into_iter().enumerate().map(|(index, node)| {
        let number = match lines {
            Lines::Numbered => index as u64 + 1,
            _ => starts.get(index).copied().unwrap_or(1),
        };
        (number, node, 0)
    });
    let rows: Vec<(u64, &Node, usize)> = rows.collect();
    build(&rows, text, &places, &wanted, lines, Vec::new(), file)
}

/// The paths that the mapping names, of columns that a log may do without.
fn wanted(options: &Options) -> Vec<String> {
    let columns = options.value.get("columns").and_then(Value::as_object);
    columns
        .into_iter()
        .flatten()
        .filter(|(role, _)| !["point", "voltage", "remark", "ignore"].contains(&role.as_str()))
        .filter_map(|(_, value)| value.as_str()?.strip_prefix('/').map(str::to_owned))
        .collect()
}

/// Whether the first line that is not blank is an object by itself.
fn is_lines(text: &str) -> bool {
    text.lines()
        .find(|line| !line.trim().is_empty())
        .is_some_and(|line| matches!(parse::whole(line), Ok(Node { kind: Kind::Object(_), .. })))
}

fn json_lines(text: &str, file: &str, places: &Places<'_>, wanted: &[String]) -> Result<Log, Box<Finding>> {
    let (mut nodes, mut broken) = (Vec::new(), Vec::new());
    let mut start = 0;
    for (row, line) in (1u64..).zip(text.split_inclusive('\n')) {
        if !line.trim().is_empty() {
            match parse::whole(line) {
                Ok(node @ Node { kind: Kind::Object(_), .. }) => nodes.push((row, node, start)),
                Ok(node) => {
                    let f = Fault::Broken { at: node.at, what: "the line is no object" };
                    broken.push((
                        row,
                        line.trim_end().to_owned(),
                        fault(file, &f, places.of(start + node.at)),
                    ));
                }
                Err(f) => {
                    let at = places.of(start + f.at().min(line.trim_end().len()));
                    broken.push((row, line.trim_end().to_owned(), fault(file, &f, at)));
                }
            }
        }
        start += line.len();
    }
    let rows: Vec<(u64, &Node, usize)> = nodes.iter().map(|(row, node, at)| (*row, node, *at)).collect();
    build(&rows, text, places, wanted, Lines::OneEach, broken, file)
}

fn build(
    rows: &[(u64, &Node, usize)],
    text: &str,
    places: &Places<'_>,
    wanted: &[String],
    lines: Lines,
    broken: Vec<(u64, String, Finding)>,
    file: &str,
) -> Result<Log, Box<Finding>> {
    let mut labels: Vec<String> = Vec::new();
    let mut known: HashMap<String, usize> = HashMap::new();
    let mut laid = HashMap::new();
    let mut cells: Vec<(u64, BTreeMap<usize, String>)> = Vec::new();
    let mut fractions = false;
    for (row, node, start) in rows {
        let mut flat = Vec::new();
        flatten(node, "", text.get(*start..).unwrap_or_default(), &mut flat);
        let mut texts = BTreeMap::new();
        let mut at = BTreeMap::new();
        for (path, value, offset) in flat {
            let next = known.len();
            let column = *known.entry(path.clone()).or_insert(next);
            if column == next {
                labels.push(path);
            }
            let quoted = text.as_bytes().get(start + offset) == Some(&b'"');
            fractions |= !quoted && value.contains('.') && value.parse::<f64>().is_ok();
            at.insert(column, places.of(start + offset));
            texts.insert(column, value);
        }
        if labels.len() > MOST_COLUMNS {
            let place = Place { file: file.to_owned(), row: Some(*row), ..Place::default() };
            return Err(Box::new(
                Finding::error(codes::TOO_LARGE, "the records have more than 999 different keys")
                    .at(place)
                    .help("export the discharges with fewer keys, or as CSV"),
            ));
        }
        let raw = text.get(start + node.at..start + node.end).unwrap_or_default().to_owned();
        laid.insert(*row, Laid { raw, at: places.of(start + node.at), cells: at });
        cells.push((*row, texts));
    }
    if labels.len() < 2 {
        let what =
            if rows.is_empty() { "there are no records" } else { "no record holds a point and a voltage" };
        return Err(Box::new(no_records(file, what)));
    }
    let absent: Vec<String> = wanted.iter().filter(|path| !known.contains_key(*path)).cloned().collect();
    labels.extend(absent.iter().cloned());
    let mut out = String::new();
    let mut line = 1;
    for (row, texts) in cells {
        while line < row {
            out.push('\n');
            line += 1;
        }
        for column in 0..labels.len() {
            if column > 0 {
                out.push('\t');
            }
            if let Some(text) = texts.get(&column).filter(|text| !text.is_empty()) {
                out.push('"');
                out.push_str(&text.replace('"', "\"\""));
                out.push('"');
            }
        }
        out.push('\n');
        line += 1;
    }
    if lines == Lines::OneEach {
        while line <= text.split_inclusive('\n').count() as u64 {
            out.push('\n');
            line += 1;
        }
    }
    Ok(Log { text: out, labels, records: laid, lines, fractions, absent, broken })
}

/// The values of a record with their paths and places; a list is kept as it is written.
fn flatten(node: &Node, path: &str, text: &str, out: &mut Vec<(String, String, usize)>) {
    match &node.kind {
        Kind::Null => {}
        Kind::Scalar(value) => out.push((path.to_owned(), one_line(value), node.at)),
        Kind::List(_) => {
            out.push((path.to_owned(), one_line(text.get(node.at..node.end).unwrap_or_default()), node.at));
        }
        Kind::Object(members) => {
            for (key, value) in members {
                let key = key.replace('~', "~0").replace('/', "~1");
                let path = if path.is_empty() { key } else { format!("{path}/{key}") };
                flatten(value, &path, text, out);
            }
        }
    }
}

fn one_line(text: &str) -> String {
    text.replace("\r\n", " ").replace(['\n', '\r'], " ")
}

impl Log {
    /// Hands over what was read of the text, with the places of the file.
    fn hand_over(self, inner: Intake, done: bool, file: &str, intake: &mut Intake) -> Result<(), Reported> {
        let taken = inner.finish();
        intake.understood(match self.lines {
            Lines::OneEach => "JSON lines: a record a line",
            Lines::Begin => "a list of records: a row is the line on which a record begins",
            Lines::Numbered => "a list of records: a row is the number of a record",
        });
        for line in taken.understood {
            if !["encoding:", "line ends:", "delimiter:", "header:"].iter().any(|own| line.starts_with(own)) {
                intake.understood(line);
            }
        }
        for path in &self.absent {
            let place = Place { file: file.to_owned(), label: Some(format!("/{path}")), ..Place::default() };
            let known: Vec<&str> = self.labels.iter().map(String::as_str).filter(|l| l != path).collect();
            let mut finding = Finding::warning(
                codes::KEY_ABSENT,
                format!("no record has a value at `/{path}`, which the mapping names"),
            )
            .at(place);
            if let Some(near) = settings::nearest(path, &known) {
                finding = finding.help(format!("did you mean `/{near}`?"));
            }
            intake.say(finding.help("take it out of the mapping if these logs don't have it"));
        }
        let mut unread = taken.unread.into_iter().peekable();
        let mut reported = None;
        for mut finding in taken.findings {
            let row = finding.place.as_ref().and_then(|place| place.row);
            let aside = done
                && finding.severity == Severity::Error
                && unread.peek().is_some_and(|u| Some(u.row) == row && u.code == finding.code);
            if let Some(place) = finding.place.as_mut().filter(|place| place.file == file) {
                self.place(place);
            }
            if aside && let Some(row) = unread.next() {
                let raw = self.records.get(&row.row).map(|laid| laid.raw.clone()).unwrap_or(row.text);
                intake.set_aside(row.row..=row.last_row, raw, finding);
            } else if finding.severity == Severity::Error {
                reported = Some(intake.refuse(finding));
            } else {
                intake.say(finding);
            }
        }
        if !done {
            return Err(reported.unwrap_or_else(|| intake.refuse(no_records(file, "the log can't be read"))));
        }
        let mut account = taken.account.unwrap_or_default();
        self.count(&mut account);
        for (row, text, finding) in self.broken {
            intake.set_aside(row..=row, text, finding);
        }
        intake.batches(taken.series);
        intake.observations(taken.observations);
        intake.account(account);
        Ok(())
    }

    /// Line, column and pointer of a value. A row that is the number of a record stays that number.
    fn place(&self, place: &mut Place) {
        let column = place.column.and_then(|c| usize::try_from(c).ok()?.checked_sub(1));
        let label = column.and_then(|c| self.labels.get(c));
        if let Some(label) = label {
            place.label = Some(format!("/{label}"));
        }
        let Some(laid) = place.row.and_then(|row| self.records.get(&row)) else { return };
        let (_, at) = column.and_then(|c| laid.cells.get(&c)).copied().unwrap_or(laid.at);
        place.column = Some(at);
    }

    /// Rows that only the text has are no rows; lines that are no JSON are set aside.
    fn count(&self, account: &mut RowAccount) {
        let broken = self.broken.len() as u64;
        match self.lines {
            Lines::OneEach => {
                account.blank = account.blank.saturating_sub(broken);
                account.set_aside += broken;
            }
            Lines::Begin | Lines::Numbered => {
                account.total = account.total.saturating_sub(account.blank);
                account.blank = 0;
            }
        }
    }
}
