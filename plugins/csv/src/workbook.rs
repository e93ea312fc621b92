//! Reads discharge logs from workbooks (.xlsx, .ods): a sheet is laid out as text, row by row, and then read like
//! any other log.
//!
//! Row n of the text is row n of the sheet, so that places are those that a person sees there. Numbers and
//! dates are what the workbook stores, not how it shows them; a formula counts with the result stored in it.

mod budget;
mod cell;
mod codes;
mod ods;
mod references;
mod sheet;

pub(crate) use codes::ALL as CODES;

use crate::read;
use calamine::{Reader as _, SheetVisible, Xlsx};
use ods::Ods;
use plugin_api::{Drafted, Intake, Options, Part, ReadContext, Reported, Source};
use record::{Finding, Place};
use serde_json::{Map, Value, json};
use sheet::{Laid, Trouble};
use std::collections::BTreeSet;
use std::io::{BufRead, Cursor, Read};

/// The settings beyond those of delimited text.
pub(crate) const SETTINGS: &[&str] = &[
    "sheet: name of the sheet that holds the log, where several could; a list of names where each holds a part",
];

/// A workbook is a zip whose files an XML program reads whole; larger ones are no discharge log.
const MOST_BYTES: u64 = 64 << 20;

/// Reads the log of a workbook into the intake.
pub(crate) fn read(source: &Source<'_>, intake: &mut Intake, cx: &ReadContext<'_>) -> Result<(), Reported> {
    let (laid, name) = lay_out(source, cx).map_err(|finding| intake.refuse(*finding))?;
    read_sheet(&laid, &name, source, intake, cx)
}

/// A workbook is read once for each sheet of a list.
pub(crate) fn parts(options: &Options) -> Vec<Part> {
    let whole = || vec![Part { name: None, options: options.clone() }];
    let Some(Value::Array(list)) = options.value.get("sheet") else { return whole() };
    let names: Vec<&str> = list.iter().filter_map(Value::as_str).collect();
    let different: BTreeSet<&&str> = names.iter().collect();
    // What is no list of names is refused by the reading.
    if names.is_empty() || names.len() < list.len() || different.len() < names.len() {
        return whole();
    }
    let part = |(at, name): (usize, &&str)| {
        let mut own = options.clone();
        own.value.insert("sheet".to_owned(), (*name).into());
        if let Some(place) = options.places.get(&format!("/sheet/{at}")) {
            own.places.insert("/sheet".to_owned(), place.clone());
        }
        Part { name: (list.len() > 1).then(|| (*name).to_owned()), options: own }
    };
    names.iter().enumerate().map(part).collect()
}

/// Drafts the settings of the log in a workbook.
pub(crate) fn draft(source: &Source<'_>, cx: &ReadContext<'_>) -> Result<Vec<Drafted>, Box<Finding>> {
    let (laid, name) = lay_out(source, cx)?;
    let mut drafted = vec![Drafted {
        key: "sheet".to_owned(),
        value: name.into(),
        why: "the only visible sheet that looks like a discharge log".to_owned(),
        open: false,
    }];
    let options = options(&laid, cx.options);
    let open = || Ok(Box::new(laid.text.as_bytes()) as Box<dyn BufRead>);
    let inner = Source::new(source.id, source.name, laid.text.len() as u64, &open);
    let of_text = crate::draft::draft(&inner, &ReadContext { options: &options, ..*cx })?;
    // How the sheet is laid out as text is no business of a mapping.
    drafted.extend(of_text.into_iter().filter(|d| !LAID_OUT.contains(&d.key.as_str())));
    Ok(drafted)
}

/// The schema of the settings.
pub(crate) fn schema() -> Map<String, Value> {
    let mut all = crate::schema::settings();
    all.retain(|key, _| !LAID_OUT.contains(&key.as_str()));
    let name = json!({ "type": "string" });
    all.insert(
        "sheet".to_owned(),
        json!({
            "description": "Name of the sheet, or a list of names where each holds a part of the log.",
            "oneOf": [name, { "type": "array", "items": name, "minItems": 1, "uniqueItems": true }],
        }),
    );
    all
}

/// Settings of a text that a sheet does not have.
const LAID_OUT: [&str; 3] = ["encoding", "delimiter", "quote"];

/// The sheet with the log as text, and its name.
fn lay_out(source: &Source<'_>, cx: &ReadContext<'_>) -> Result<(Laid, String), Box<Finding>> {
    let here = || Place { file: source.name.to_owned(), ..Place::default() };
    let mut bytes = Vec::new();
    let opened = source.open().and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes));
    if let Err(error) = opened {
        return Err(Box::new(
            Finding::error(codes::UNREADABLE, format!("the file can't be read: {error}"))
                .at(here())
                .help("check the disk or the share it is on"),
        ));
    }
    if bytes.len() as u64 > MOST_BYTES {
        return Err(Box::new(too_large("it has more than 64 MB").at(here())));
    }
    if let Err(why) = budget::check(&bytes) {
        return Err(Box::new(match why {
            budget::Over::TooLarge(what) => too_large(&what).at(here()),
            budget::Over::Broken(what) => broken(&what).at(here()),
        }));
    }
    if let Err(what) = references::check(&bytes) {
        return Err(Box::new(broken(&what).at(here())));
    }
    let trouble = |trouble: Trouble| {
        Box::new(match trouble {
            Trouble::TooLarge => too_large("the sheet is too large to be a log").at(here()),
            Trouble::Broken(what) => broken(&what).at(here()),
        })
    };
    let mut book = Book::open(bytes).map_err(|what| Box::new(broken(&what).at(here())))?;
    let sheets = book.sheets().map_err(trouble)?;
    let wanted = match cx.options.value.get("sheet") {
        None => None,
        Some(Value::String(name)) => Some(name.as_str()),
        Some(other) => {
            return Err(Box::new(
                Finding::error(
                    codes::NO_SHEET_NAMES,
                    format!("`sheet` is {other}: no name, and no list of different names"),
                )
                .at(cx.options.place("/sheet").unwrap_or_else(here))
                .help("sheet = \"Contact\", or sheet = [\"Contact\", \"Air\"], each once"),
            ));
        }
    };
    let name = choose(&mut book, &sheets, wanted, cx.options, source.name)?;
    let laid = book.lay_out(&name).map_err(trouble)?;
    Ok((laid, name))
}

/// A workbook of either kind.
enum Book {
    Xlsx(Box<Xlsx<Cursor<Vec<u8>>>>),
    Ods(Ods),
}

impl Book {
    fn open(bytes: Vec<u8>) -> Result<Self, String> {
        if Ods::is_one(&bytes) {
            return Ods::open(&bytes).map(Self::Ods);
        }
        Xlsx::new(Cursor::new(bytes)).map(|book| Self::Xlsx(Box::new(book))).map_err(|e| e.to_string())
    }

    /// Names of the sheets, and whether each is shown.
    fn sheets(&self) -> Result<Vec<(String, bool)>, Trouble> {
        match self {
            Self::Xlsx(book) => Ok(book
                .sheets_metadata()
                .iter()
                .map(|sheet| (sheet.name.clone(), sheet.visible == SheetVisible::Visible))
                .collect()),
            Self::Ods(book) => book.sheets(),
        }
    }

    fn looks_like_log(&mut self, name: &str) -> bool {
        match self {
            Self::Xlsx(book) => sheet::looks_like_log(book, name),
            Self::Ods(book) => sheet::ods_looks_like_log(book, name),
        }
    }

    fn lay_out(&mut self, name: &str) -> Result<Laid, Trouble> {
        match self {
            Self::Xlsx(book) => sheet::lay_out(book, name),
            Self::Ods(book) => sheet::lay_out_ods(book, name),
        }
    }
}

/// The settings with which the text of a sheet is read.
fn options(laid: &Laid, given: &Options) -> Options {
    let mut options = given.clone();
    options.value.remove("sheet");
    for (key, value) in [("encoding", "utf-8"), ("delimiter", "tab"), ("quote", "none")] {
        options.value.insert(key.to_owned(), value.into());
    }
    // A number that the workbook stores as a number has a point here, whatever it is shown with.
    if laid.fractions && !options.value.contains_key("decimal") {
        options.value.insert("decimal".to_owned(), "point".into());
    }
    options
}

/// Reads the text of a sheet, under the name of the workbook and the sheet.
fn read_sheet(
    laid: &Laid,
    name: &str,
    source: &Source<'_>,
    intake: &mut Intake,
    cx: &ReadContext<'_>,
) -> Result<(), Reported> {
    intake.part(name);
    intake.understood(format!("sheet: {name}"));
    if laid.formulas > 0 {
        intake.say(
            Finding::note(
                codes::STORED_RESULTS,
                format!("{}: the results stored with them were read", count(laid.formulas, "formula")),
            )
            .at(Place { file: source.name.to_owned(), label: Some(name.to_owned()), ..Place::default() })
            .help(
                "open the workbook and let it calculate before it is saved, if a result may be out of date",
            ),
        );
    }
    if laid.line_breaks > 0 {
        intake
            .understood(format!("line breaks within {} are read as spaces", count(laid.line_breaks, "cell")));
    }
    if laid.merged > 0 {
        intake.understood(format!(
            "{}: their text counts for every row they cover",
            count(laid.merged, "merged cell")
        ));
    }
    let options = options(laid, cx.options);
    let open = || Ok(Box::new(laid.text.as_bytes()) as Box<dyn BufRead>);
    let inner = Source::new(source.id, source.name, laid.text.len() as u64, &open);
    let done = read::read(&inner, intake, &ReadContext { options: &options, ..*cx });
    // A sheet has no such things: they are those of the text that it was laid out as.
    intake.keep_understood(|line| {
        !["encoding: ", "line ends: ", "delimiter: "].iter().any(|of_text| line.starts_with(of_text))
    });
    let file = source.name.strip_suffix(name).and_then(|file| file.strip_suffix(':')).unwrap_or(source.name);
    intake.name_rows(source.name, &format!("{file}:{name}!"));
    done
}

/// The sheet that is named, or the only visible one that looks like a discharge log.
fn choose(
    book: &mut Book,
    all: &[(String, bool)],
    wanted: Option<&str>,
    options: &Options,
    file: &str,
) -> Result<String, Box<Finding>> {
    let here = Place { file: file.to_owned(), ..Place::default() };
    let list = |names: &[&String]| names.iter().map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ");
    let names: Vec<&String> = all.iter().map(|(name, _)| name).collect();
    if let Some(wanted) = wanted {
        return match names.iter().find(|name| name.as_str() == wanted) {
            Some(name) => Ok((*name).clone()),
            None => Err(Box::new(
                Finding::error(codes::NO_SUCH_SHEET, format!("there is no sheet `{wanted}`"))
                    .at(options.place("/sheet").unwrap_or(here))
                    .help(format!("the sheets are {}", list(&names))),
            )),
        };
    }
    let mut fit = Vec::new();
    for (name, visible) in all {
        if *visible && book.looks_like_log(name) {
            fit.push(name);
        }
    }
    match (fit.as_slice(), names.as_slice()) {
        ([one], _) => Ok((*one).clone()),
        // The reading says what is missing in it.
        ([], [only]) => Ok((*only).clone()),
        ([], _) => Err(Box::new(
            Finding::error(codes::NO_LOG, "no visible sheet has a header with a point and a voltage")
                .at(here)
                .help(format!(
                    "name the sheet (sheet = \"...\") and its columns; the sheets are {}",
                    list(&names)
                )),
        )),
        (more, _) => Err(Box::new(
            Finding::error(
                codes::WHICH_SHEET,
                format!("{} sheets could be the log: {}", more.len(), list(more)),
            )
            .at(here)
            .help(format!(
                "name the one that is meant: sheet = \"...\"; where all count: sheet = {}",
                Value::from(more.iter().map(|name| name.as_str()).collect::<Vec<_>>())
            )),
        )),
    }
}

fn count(number: u64, what: &str) -> String {
    if number == 1 { format!("1 {what}") } else { format!("{number} {what}s") }
}

fn broken(what: &str) -> Finding {
    Finding::error(codes::BROKEN, format!("the workbook can't be read: {what}")).help(
        "open it in the spreadsheet program and save it as .xlsx or .ods again, or save the sheet as CSV",
    )
}

fn too_large(what: &str) -> Finding {
    Finding::error(codes::TOO_LARGE, format!("the workbook is refused: {what}"))
        .help("save the sheet with the log as CSV")
}
