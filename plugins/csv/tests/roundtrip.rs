//! Random discharges, written in a random dialect by the csv crate, read back equal.
#![allow(clippy::unwrap_used, reason = "a test stops at what it can't use")]

mod common;

use common::Job;
use proptest::prelude::*;
use proptest::sample::select;
use record::{Application, Polarity, Stated};
use serde_json::json;

/// Discharges of one kind.
#[derive(Clone, Debug, PartialEq)]
struct Applied {
    point: String,
    application: Application,
    polarity: Polarity,
    /// Tenths of a kilovolt.
    tenths: u32,
    count: u32,
    /// What the item did at the last of them; none where nobody wrote anything.
    result: Option<String>,
}

/// How a bench writes it.
#[derive(Clone, Debug)]
struct Dialect {
    delimiter: u8,
    comma: bool,
    line_end: &'static str,
    encoding: Encoding,
    always_quoted: bool,
    german: bool,
    volts: bool,
    unit: UnitPlace,
    signed: bool,
    per_shot: bool,
    sep_line: bool,
    preamble: u8,
    footer: bool,
    blank_rows: bool,
    trailing: usize,
    order: u64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Encoding {
    Utf8,
    Utf8Mark,
    Utf16Le,
    Utf16Be,
    Windows1252,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum UnitPlace {
    Header,
    Row,
    Cell,
    Settings,
}

fn applied() -> impl Strategy<Value = Applied> {
    let result = prop_oneof![
        Just(None),
        Just(Some("ok".to_owned())),
        "[a-zé]{2,6} [0-9]{1,2}; \"[a-z]{1,5}\",\n[a-z]{1,3}".prop_map(Some),
    ];
    (
        "Q[a-zA-Zäöüß0-9 .,;|\"'\n+-]{0,12}[a-z]",
        select(Application::ALL),
        select(Polarity::ALL),
        1..=300u32,
        1..=12u32,
        result,
    )
        .prop_map(|(point, application, polarity, tenths, count, result)| Applied {
            point,
            application,
            polarity,
            tenths,
            count,
            result,
        })
}

fn dialect() -> impl Strategy<Value = Dialect> {
    let bools = (any::<bool>(), any::<bool>(), any::<bool>(), any::<bool>(), any::<bool>(), any::<bool>());
    let more = (any::<bool>(), any::<bool>(), any::<bool>(), 0..4u8, 0..3usize, any::<u64>());
    let forms = (
        select(b",;\t|".to_vec()),
        select(vec!["\n", "\r\n", "\r"]),
        select(vec![
            Encoding::Utf8,
            Encoding::Utf8Mark,
            Encoding::Utf16Le,
            Encoding::Utf16Be,
            Encoding::Windows1252,
        ]),
        select(vec![UnitPlace::Header, UnitPlace::Row, UnitPlace::Cell, UnitPlace::Settings]),
    );
    (bools, more, forms).prop_map(
        |(
            (comma, always_quoted, german, volts, signed, per_shot),
            (sep_line, footer, blank_rows, preamble, trailing, order),
            (delimiter, line_end, encoding, unit),
        )| Dialect {
            delimiter,
            comma,
            line_end,
            encoding,
            always_quoted,
            german,
            volts,
            unit,
            signed,
            per_shot,
            sep_line,
            preamble,
            footer,
            blank_rows,
            trailing,
            order,
        },
    )
}

/// The order of the columns, by a seed.
fn shuffled(mut columns: Vec<&'static str>, mut seed: u64) -> Vec<&'static str> {
    for last in (1..columns.len()).rev() {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        columns.swap(last, (seed >> 33) as usize % (last + 1));
    }
    columns
}

fn header(role: &str, dialect: &Dialect) -> String {
    let unit = if dialect.volts { "V" } else { "kV" };
    let (english, german) = match role {
        "point" => ("Point", "Stelle"),
        "application" => ("Application", "Entladungsart"),
        "voltage" => ("Voltage", "Spannung"),
        "polarity" => ("Polarity", "Polarität"),
        "count" => ("Count", "Anzahl"),
        _ => ("Observation", "Befund"),
    };
    let word = if dialect.german { german } else { english };
    if role == "voltage" && dialect.unit == UnitPlace::Header {
        format!("{word} [{unit}]")
    } else {
        word.to_owned()
    }
}

fn cell(role: &str, a: &Applied, count: u32, result: &str, dialect: &Dialect) -> String {
    match role {
        "point" => a.point.clone(),
        "application" => match (a.application, dialect.german) {
            (Application::Contact, true) => "KE".into(),
            (Application::Air, true) => "Luft".into(),
            (Application::Contact, false) => "Contact".into(),
            (other, _) => other.as_str().to_uppercase(),
        },
        "polarity" => match (a.polarity, dialect.german) {
            (Polarity::Positive, true) => "positiv".into(),
            (Polarity::Negative, true) => "negativ".into(),
            (Polarity::Positive, false) => "pos".into(),
            (Polarity::Negative, false) => "neg".into(),
        },
        "count" => count.to_string(),
        "result" => result.to_owned(),
        _ => {
            let sign = match (dialect.signed, a.polarity) {
                (false, _) => "",
                (true, Polarity::Positive) => "+",
                (true, Polarity::Negative) => "-",
            };
            let number = if dialect.volts {
                (a.tenths * 100).to_string()
            } else if a.tenths.is_multiple_of(10) {
                (a.tenths / 10).to_string()
            } else {
                format!("{}{}{}", a.tenths / 10, if dialect.comma { ',' } else { '.' }, a.tenths % 10)
            };
            let unit = match (dialect.unit, dialect.volts) {
                (UnitPlace::Cell, true) => " V",
                (UnitPlace::Cell, false) => "kV",
                _ => "",
            };
            format!("{sign}{number}{unit}")
        }
    }
}

fn write(all: &[Applied], dialect: &Dialect) -> Vec<u8> {
    let mut columns = vec!["point", "application", "voltage", "result"];
    if !dialect.signed {
        columns.push("polarity");
    }
    if !dialect.per_shot {
        columns.push("count");
    }
    let columns = shuffled(columns, dialect.order);
    let mut out = csv::WriterBuilder::new()
        .delimiter(dialect.delimiter)
        .quote_style(if dialect.always_quoted { csv::QuoteStyle::Always } else { csv::QuoteStyle::Necessary })
        .flexible(true)
        .from_writer(Vec::new());
    let mut row = |cells: Vec<String>| {
        let mut cells = cells;
        cells.resize(cells.len() + dialect.trailing, String::new());
        out.write_record(&cells).unwrap();
    };
    row(columns.iter().map(|c| header(c, dialect)).collect());
    if dialect.unit == UnitPlace::Row {
        let unit = if dialect.volts { "V" } else { "kV" };
        row(columns.iter().map(|c| if *c == "voltage" { unit.to_owned() } else { String::new() }).collect());
    }
    for a in all {
        let result = a.result.as_deref().unwrap_or_default();
        if dialect.per_shot {
            let before = if a.result.is_some() { "ok" } else { "" };
            for shot in 1..=a.count {
                let result = if shot == a.count { result } else { before };
                row(columns.iter().map(|c| cell(c, a, 1, result, dialect)).collect());
            }
        } else {
            row(columns.iter().map(|c| cell(c, a, a.count, result, dialect)).collect());
        }
        if dialect.blank_rows {
            row(columns.iter().map(|_| String::new()).collect());
        }
    }
    let table = String::from_utf8(out.into_inner().unwrap()).unwrap();
    let delimiter = char::from(dialect.delimiter);
    let mut text = String::new();
    if dialect.sep_line {
        text.push_str(&format!("sep={delimiter}\n"));
    }
    for line in 0..dialect.preamble {
        text.push_str(&format!("Note {line}{delimiter}bench 2\n"));
    }
    text.push_str(&table);
    if dialect.footer {
        text.push_str("end of log\n");
    }
    // The csv crate writes LF; line ends within quoted fields change along.
    let text = text.replace('\n', dialect.line_end);
    let utf16 = |unit: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(unit).collect::<Vec<u8>>();
    match dialect.encoding {
        Encoding::Utf8 => text.into_bytes(),
        Encoding::Utf8Mark => [b"\xef\xbb\xbf".as_slice(), text.as_bytes()].concat(),
        Encoding::Utf16Le => [vec![0xff, 0xfe], utf16(u16::to_le_bytes)].concat(),
        Encoding::Utf16Be => [vec![0xfe, 0xff], utf16(u16::to_be_bytes)].concat(),
        // Every character used here is in Latin-1, which Windows-1252 agrees with.
        Encoding::Windows1252 => text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn what_was_written_is_read_back(
        all in proptest::collection::vec(applied(), 1..8),
        dialect in dialect(),
    ) {
        let mut all = all;
        // Equal ones in a row are one series with a row per shot; that is tested elsewhere.
        all.dedup_by(|b, a| (&a.point, a.application, a.polarity, a.tenths) == (&b.point, b.application, b.polarity, b.tenths));
        let bytes = write(&all, &dialect);
        let mut settings = json!({});
        if dialect.unit == UnitPlace::Settings {
            settings["units"] = json!({"voltage": if dialect.volts { "V" } else { "kV" }});
        }
        let (done, taken) = common::read("log.csv", &bytes, &Job::with(settings));
        let shown = common::show(done, &taken);
        prop_assert!(done && taken.unread.is_empty(), "{}\n{}", shown, String::from_utf8_lossy(&bytes));
        prop_assert!(taken.account.unwrap().balances());
        prop_assert_eq!(taken.series.len(), all.len(), "{}\n{}", shown, String::from_utf8_lossy(&bytes));
        let mut observations = taken.observations.iter();
        for (series, a) in taken.series.iter().zip(&all) {
            let line = |text: &str| text.replace('\n', dialect.line_end);
            prop_assert_eq!(series.point.as_str(), line(&a.point));
            prop_assert_eq!(series.application, a.application);
            prop_assert_eq!(series.polarity, a.polarity);
            prop_assert_eq!(series.voltage_kv.as_kv(), record::Decimal::new(i64::from(a.tenths), 1));
            prop_assert_eq!(series.count, a.count);
            prop_assert_eq!(matches!(series.monitoring, Stated::Stated(_)), a.result.is_some());
            if let Some(text) = a.result.as_ref().filter(|r| *r != "ok") {
                let observation = observations.next().unwrap();
                prop_assert_eq!(observation.series.as_ref(), Some(&series.id));
                prop_assert_eq!(observation.seen.clone(), Some(line(text)));
                let single = dialect.per_shot || a.count == 1;
                prop_assert_eq!(observation.shot, single.then_some(a.count));
            }
        }
        prop_assert!(observations.next().is_none());
    }
}
