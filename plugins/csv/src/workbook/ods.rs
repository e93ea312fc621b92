//! OpenDocument spreadsheets (.ods): the cells of `content.xml`, one after another.
//!
//! Elements and attributes are those of OpenDocument 1.3 part 3 (OASIS), chapters 9 (tables) and 19.383 to 19.390
//! (values of cells). Rows and cells that are repeated count as often as they say; what is repeated and empty costs
//! nothing.

use super::sheet::{Trouble, Value};
use quick_xml::Reader;
use quick_xml::XmlVersion;
use quick_xml::events::{BytesRef, BytesStart, Event};
use std::collections::BTreeSet;
use std::io::{Cursor, Read};

/// A sheet has no more rows and columns than this in any program.
const MOST_ROWS: u64 = 1 << 20;
const MOST_COLUMNS: u64 = 1 << 14;
/// The text of one row, with everything that is repeated, is no longer than this.
const MOST_ROW: usize = 16 << 20;
/// The text of a whole sheet, with everything that is repeated, is no longer than this.
const MOST_SHEET: u64 = 256 << 20;
/// So many cells may come of repeating beyond those that are written: a log repeats a row or two, a file made to keep
/// the program busy repeats rows of thousands of cells a million times.
const MOST_REPEATED: u64 = 1 << 22;
/// So many spaces may stand in a row in one place.
const MOST_SPACES: u64 = 4096;

/// A spreadsheet whose content was unpacked.
pub(super) struct Ods {
    content: Vec<u8>,
}

/// A cell that holds something.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    /// From 0.
    pub(super) row: u32,
    /// From 0.
    pub(super) column: u32,
    pub(super) value: Value,
    pub(super) formula: bool,
    /// The last row that it covers, from 0.
    pub(super) last_row: u32,
}

/// What a visitor wants next.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Next {
    Go,
    Stop,
}

/// A sheet while its cells are read.
#[derive(Default)]
struct Sheet {
    row: u64,
    row_repeated: u64,
    column: u64,
    cells: Vec<(u64, Value, bool, u64)>,
    /// The text of this row.
    text: usize,
    /// The text of the sheet, as often as it is shown.
    shown: u64,
    /// Cells of this row that are written, and cells of the sheet that are only repeated.
    written: u64,
    repeated: u64,
}

/// A cell while its text is read.
struct Open {
    repeated: u64,
    rows: u64,
    formula: bool,
    /// The value that its attributes state.
    stated: Option<Value>,
    paragraphs: u32,
    within: u32,
    text: String,
}

fn broken(why: impl ToString) -> Trouble {
    Trouble::Broken(why.to_string())
}

impl Ods {
    /// Whether a zip is a spreadsheet of this kind, as its first entry says.
    pub(super) fn is_one(bytes: &[u8]) -> bool {
        const MARK: &[u8] = b"mimetypeapplication/vnd.oasis.opendocument.spreadsheet";
        bytes.get(30..).is_some_and(|bytes| bytes.starts_with(MARK))
    }

    /// Unpacks a spreadsheet.
    pub(super) fn open(bytes: &[u8]) -> Result<Self, String> {
        let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| e.to_string())?;
        let mut part = |name: &str| -> Result<Vec<u8>, String> {
            let mut bytes = Vec::new();
            zip.by_name(name)
                .map_err(|e| format!("{name}: {e}"))?
                .read_to_end(&mut bytes)
                .map_err(|e| format!("{name}: {e}"))?;
            Ok(bytes)
        };
        if memchr::memmem::find(&part("META-INF/manifest.xml")?, b"encryption-data").is_some() {
            return Err("it is locked with a password".to_owned());
        }
        Ok(Self { content: part("content.xml")? })
    }

    /// Names of the sheets, and whether each is shown.
    pub(super) fn sheets(&self) -> Result<Vec<(String, bool)>, Trouble> {
        let mut reader = self.reader();
        let (mut style, mut hidden, mut sheets) = (None, BTreeSet::new(), Vec::new());
        loop {
            match reader.read_event().map_err(broken)? {
                Event::Eof => return Ok(sheets),
                Event::Start(e) => match e.name().0 {
                    "style:style" => style = attribute(&e, "style:name")?,
                    "style:table-properties" => {
                        let hide = attribute(&e, "table:display")?.as_deref() == Some("false");
                        hidden.extend(style.clone().filter(|_| hide));
                    }
                    "table:table" => {
                        let name = attribute(&e, "table:name")?.unwrap_or_default();
                        let shown =
                            attribute(&e, "table:style-name")?.is_none_or(|style| !hidden.contains(&style));
                        sheets.push((name, shown));
                        reader.read_to_end(e.to_end().into_owned().name()).map_err(broken)?;
                    }
                    _ => {}
                },
                _ => {}
            }
        }
    }

    /// Shows every cell of a sheet that holds something, row by row and in a row column by column.
    pub(super) fn cells(
        &self,
        name: &str,
        visit: &mut dyn FnMut(Cell) -> Result<Next, Trouble>,
    ) -> Result<(), Trouble> {
        let mut reader = self.reader();
        let mut sheet: Option<Sheet> = None;
        let mut open: Option<Open> = None;
        loop {
            let event = reader.read_event().map_err(broken)?;
            match (&mut sheet, &mut open, event) {
                (None, _, Event::Eof) => return Ok(()),
                (Some(_), _, Event::Eof) => return Err(broken("the file ends within a sheet")),
                (None, _, Event::Start(e)) if e.name().0 == "table:table" => {
                    if attribute(&e, "table:name")?.as_deref() == Some(name) {
                        sheet = Some(Sheet { row_repeated: 1, ..Sheet::default() });
                    } else {
                        reader.read_to_end(e.to_end().into_owned().name()).map_err(broken)?;
                    }
                }
                (Some(sheet), None, Event::Start(e)) => match e.name().0 {
                    "table:table" => return Err(broken("a table stands within a table")),
                    "table:table-row" => {
                        sheet.row_repeated = number(&e, "table:number-rows-repeated")?;
                        sheet.column = 0;
                    }
                    "table:table-cell" | "table:covered-table-cell" => open = Some(Open::new(&e)?),
                    "table:shapes" => {
                        reader.read_to_end(e.to_end().into_owned().name()).map_err(broken)?;
                    }
                    _ => {}
                },
                (Some(_), None, Event::End(e)) if e.name().0 == "table:table" => return Ok(()),
                (Some(sheet), None, Event::End(e)) if e.name().0 == "table:table-row" => {
                    match sheet.end_row(visit)? {
                        Next::Go => {}
                        Next::Stop => return Ok(()),
                    }
                }
                (Some(_), Some(cell), Event::Start(e)) => match e.name().0 {
                    "text:p" | "text:h" => {
                        if cell.paragraphs > 0 {
                            cell.text.push('\n');
                        }
                        cell.paragraphs += 1;
                        cell.within += 1;
                    }
                    "text:s" => {
                        let count = number(&e, "text:c")?;
                        if count > MOST_SPACES || cell.text.len() > MOST_ROW {
                            return Err(Trouble::TooLarge);
                        }
                        cell.text.extend((0..count).map(|_| ' '));
                    }
                    "text:tab" => cell.text.push('\t'),
                    "text:line-break" => cell.text.push('\n'),
                    "text:span" | "text:a" => {}
                    // Notes and drawings are no content of the cell.
                    _ => {
                        reader.read_to_end(e.to_end().into_owned().name()).map_err(broken)?;
                    }
                },
                (Some(sheet), Some(_), Event::End(e))
                    if matches!(e.name().0, "table:table-cell" | "table:covered-table-cell") =>
                {
                    if let Some(cell) = open.take() {
                        sheet.take(cell)?;
                    }
                }
                (Some(_), Some(cell), Event::End(e)) if matches!(e.name().0, "text:p" | "text:h") => {
                    cell.within = cell.within.saturating_sub(1);
                }
                (Some(_), Some(cell), Event::Text(text)) if cell.within > 0 => {
                    cell.text.push_str(&text.xml10_content());
                }
                (Some(_), Some(cell), Event::CData(text)) if cell.within > 0 => {
                    cell.text.push_str(&text.xml10_content());
                }
                (Some(_), Some(cell), Event::GeneralRef(reference)) if cell.within > 0 => {
                    cell.text.push(entity(&reference)?);
                }
                _ => {}
            }
        }
    }

    fn reader(&self) -> Reader<&[u8]> {
        let mut reader = Reader::from_reader(self.content.as_slice());
        reader.config_mut().expand_empty_elements = true;
        reader
    }
}

impl Open {
    fn new(e: &BytesStart<'_>) -> Result<Self, Trouble> {
        let value = |key: &str| attribute(e, key);
        let kind = match (value("calcext:value-type")?.as_deref(), value("office:value-type")?.as_deref()) {
            (Some("error"), _) => String::new(),
            (_, kind) => kind.unwrap_or_default().to_owned(),
        };
        let stated = match kind.as_str() {
            "float" | "percentage" | "currency" => value("office:value")?.map(|text| Value {
                fraction: text.contains(['.', 'e', 'E']),
                text,
                is_text: false,
            }),
            "date" => value("office:date-value")?.map(plain),
            "time" => value("office:time-value")?.map(|text| plain(clock(&text).unwrap_or(text))),
            "boolean" => value("office:boolean-value")?.map(plain),
            "string" => value("office:string-value")?.map(worded),
            _ => None,
        };
        Ok(Self {
            repeated: number(e, "table:number-columns-repeated")?,
            rows: number(e, "table:number-rows-spanned")?,
            formula: value("table:formula")?.is_some(),
            stated,
            paragraphs: 0,
            within: 0,
            text: String::new(),
        })
    }
}

fn plain(text: String) -> Value {
    Value { text, is_text: false, fraction: false }
}

fn worded(text: String) -> Value {
    Value { text, is_text: true, fraction: false }
}

impl Sheet {
    /// Takes a cell that was read to its end.
    fn take(&mut self, cell: Open) -> Result<(), Trouble> {
        let first = self.column;
        self.column = self.column.saturating_add(cell.repeated);
        let value = cell.stated.unwrap_or_else(|| worded(cell.text));
        if value.text.is_empty() && !cell.formula {
            return Ok(());
        }
        if self.column > MOST_COLUMNS {
            return Err(Trouble::TooLarge);
        }
        self.written += 1;
        for column in first..self.column {
            self.text += value.text.len() + 1;
            if self.text > MOST_ROW {
                return Err(Trouble::TooLarge);
            }
            self.cells.push((column, value.clone(), cell.formula, cell.rows));
        }
        Ok(())
    }

    /// Shows the cells of a row as often as it is repeated.
    fn end_row(&mut self, visit: &mut dyn FnMut(Cell) -> Result<Next, Trouble>) -> Result<Next, Trouble> {
        let first = self.row;
        self.row = self.row.saturating_add(self.row_repeated);
        let (text, written) = (std::mem::take(&mut self.text) as u64, std::mem::take(&mut self.written));
        let cells = std::mem::take(&mut self.cells);
        if cells.is_empty() {
            return Ok(Next::Go);
        }
        self.shown = self.shown.saturating_add(text.saturating_mul(self.row_repeated));
        let all = (cells.len() as u64).saturating_mul(self.row_repeated);
        self.repeated = self.repeated.saturating_add(all.saturating_sub(written));
        if self.row > MOST_ROWS || self.shown > MOST_SHEET || self.repeated > MOST_REPEATED {
            return Err(Trouble::TooLarge);
        }
        for row in first..self.row {
            for (column, value, formula, rows) in &cells {
                let last = row.saturating_add(rows.saturating_sub(1)).min(MOST_ROWS);
                // Rows and columns are below the limits, which fit.
                let small = |number: u64| u32::try_from(number).unwrap_or(u32::MAX);
                let cell = Cell {
                    row: small(row),
                    column: small(*column),
                    value: value.clone(),
                    formula: *formula,
                    last_row: small(last),
                };
                if visit(cell)? == Next::Stop {
                    return Ok(Next::Stop);
                }
            }
        }
        Ok(Next::Go)
    }
}

/// An attribute's value; none where it is not there.
fn attribute(e: &BytesStart<'_>, key: &str) -> Result<Option<String>, Trouble> {
    let found = e.try_get_attribute(key).map_err(broken)?;
    found
        .map(|found| found.normalized_value(XmlVersion::Implicit1_0).map(|text| text.into_owned()))
        .transpose()
        .map_err(broken)
}

/// A whole number above 0 in an attribute; 1 where it is not there.
fn number(e: &BytesStart<'_>, key: &str) -> Result<u64, Trouble> {
    let Some(text) = attribute(e, key)? else { return Ok(1) };
    text.trim().parse().ok().filter(|number| *number > 0).ok_or_else(|| broken(format!("{key} is `{text}`")))
}

/// The character that a reference stands for; the five of XML itself have names.
fn entity(reference: &BytesRef<'_>) -> Result<char, Trouble> {
    if let Some(character) = reference.resolve_char_ref().map_err(broken)? {
        return Ok(character);
    }
    match &*reference.xml10_content() {
        "amp" => Ok('&'),
        "lt" => Ok('<'),
        "gt" => Ok('>'),
        "apos" => Ok('\''),
        "quot" => Ok('"'),
        other => Err(broken(format!("the entity `{other}` is not known"))),
    }
}

/// A duration of less than a day, such as `PT09H30M15S`, as a time of day.
fn clock(text: &str) -> Option<String> {
    let rest = text.strip_prefix("PT")?;
    let (hours, rest) = rest.split_once('H')?;
    let (minutes, rest) = rest.split_once('M')?;
    let seconds = rest.strip_suffix('S')?;
    let (whole, fraction) = seconds.split_once(['.', ',']).unwrap_or((seconds, ""));
    let two = |text: &str, most: u8| text.parse::<u8>().ok().filter(|number| *number < most);
    let (hours, minutes, whole) = (two(hours, 24)?, two(minutes, 60)?, two(whole, 60)?);
    let fraction = fraction.trim_end_matches('0');
    if !fraction.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let point = if fraction.is_empty() { "" } else { "." };
    Some(format!("{hours:02}:{minutes:02}:{whole:02}{point}{fraction}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(table: &str) -> Result<Vec<(u32, u32, String)>, String> {
        let content = format!(
            "<office:document-content><office:body><table:table table:name=\"Log\">{table}</table:table></office:body></office:document-content>"
        );
        let mut found = Vec::new();
        let ods = Ods { content: content.into_bytes() };
        let done = ods.cells("Log", &mut |cell| {
            found.push((cell.row, cell.column, cell.value.text));
            Ok(if found.len() > 100_000 { Next::Stop } else { Next::Go })
        });
        match done {
            Ok(()) => Ok(found),
            Err(Trouble::TooLarge) => Err("too large".to_owned()),
            Err(Trouble::Broken(why)) => Err(why),
        }
    }

    #[test]
    fn texts_values_and_repeats() {
        let found = cells(
            "<table:table-row table:number-rows-repeated=\"3\"><table:table-cell/></table:table-row>\
             <table:table-row table:number-rows-repeated=\"2\"><table:table-cell table:number-columns-repeated=\"2\"/>\
             <table:table-cell office:value-type=\"string\"><office:annotation><text:p>no</text:p></office:annotation>\
             <text:p>a &amp;<text:s text:c=\"2\"/><text:span>b</text:span></text:p><text:p>c&#65;</text:p></table:table-cell>\
             <table:table-cell office:value-type=\"float\" office:value=\"2.50\"><text:p>2,5</text:p></table:table-cell>\
             <table:table-cell office:value-type=\"time\" office:time-value=\"PT09H05M07.500S\"/></table:table-row>\
             <table:table-row table:number-rows-repeated=\"1048000\"><table:table-cell table:number-columns-repeated=\"16384\"/></table:table-row>",
        );
        let row = |row: u32| {
            [
                (row, 2, "a &  b\ncA".to_owned()),
                (row, 3, "2.50".to_owned()),
                (row, 4, "09:05:07.5".to_owned()),
            ]
        };
        assert_eq!(found.unwrap(), [row(3), row(4)].concat());
    }

    #[test]
    fn what_would_fill_a_computer_is_refused() {
        let full = "<table:table-cell office:value-type=\"string\" table:number-columns-repeated=\"16384\"><text:p>x</text:p></table:table-cell>";
        let rows =
            format!("<table:table-row table:number-rows-repeated=\"1048577\">{full}</table:table-row>");
        assert_eq!(cells(&rows), Err("too large".to_owned()));
        // Each row and column is within the limits, and all of them together would take hours.
        let cell = "<table:table-cell office:value-type=\"string\" table:number-columns-repeated=\"16384\"><text:p>x</text:p></table:table-cell>";
        let many =
            format!("<table:table-row table:number-rows-repeated=\"1048576\">{cell}</table:table-row>");
        assert_eq!(cells(&many), Err("too large".to_owned()));
        let row = format!("<table:table-row table:number-rows-repeated=\"300\">{cell}</table:table-row>");
        assert_eq!(cells(&row), Err("too large".to_owned()));
        let text = format!(
            "<table:table-row table:number-rows-repeated=\"1000000\"><table:table-cell><text:p>{}</text:p></table:table-cell></table:table-row>",
            "x".repeat(300)
        );
        assert_eq!(cells(&text), Err("too large".to_owned()));
        let spaces = format!(
            "<table:table-row><table:table-cell><text:p>{}</text:p></table:table-cell></table:table-row>",
            "<text:s text:c=\"4096\"/>".repeat(4200)
        );
        assert_eq!(cells(&spaces), Err("too large".to_owned()));
        let spaces = "<table:table-row><table:table-cell><text:p><text:s text:c=\"4000000000\"/></text:p></table:table-cell></table:table-row>";
        assert_eq!(cells(spaces), Err("too large".to_owned()));
        let long = format!(
            "<table:table-row><table:table-cell table:number-columns-repeated=\"16384\"><text:p>{}</text:p></table:table-cell></table:table-row>",
            "x".repeat(5000)
        );
        assert_eq!(cells(&long), Err("too large".to_owned()));
        for cut in [
            "<table:table-row>",
            "<table:table-row><table:table-cell><text:p>",
            "<table:table-row><table:table-cell><office:annotation>",
        ] {
            let ods = Ods { content: format!("<table:table table:name=\"Log\">{cut}").into_bytes() };
            assert!(ods.cells("Log", &mut |_| Ok(Next::Go)).is_err(), "{cut}");
        }
    }
}
