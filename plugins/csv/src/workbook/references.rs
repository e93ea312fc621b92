//! Whether the references of a workbook's sheets name cells that a sheet can have.
//!
//! The library that reads .xlsx counts them without a check: a number that is too large would come out as another
//! row's, and a cell would be read in a place where it does not stand. So they are looked at before.
//! The limits are those of every program: columns to XFD, rows to 1,048,576.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::io::{BufRead, BufReader, Cursor};

const MOST_ROWS: u64 = 1 << 20;
const MOST_COLUMNS: u64 = 1 << 14;

/// Says which reference can't be one, if there is such a one.
///
/// A part that is no sound XML is looked at as far as it goes: whoever reads it stops there too.
pub(super) fn check(bytes: &[u8]) -> Result<(), String> {
    let Ok(mut zip) = zip::ZipArchive::new(Cursor::new(bytes)) else { return Ok(()) };
    for index in 0..zip.len() {
        let Ok(part) = zip.by_index(index) else { continue };
        let Ok(name) = part.name().map(|name| name.into_owned()) else { continue };
        if name.to_ascii_lowercase().ends_with(".xml") {
            check_part(BufReader::new(part)).map_err(|what| format!("{name}: {what}"))?;
        }
    }
    Ok(())
}

fn check_part(part: impl BufRead) -> Result<(), String> {
    let mut reader = Reader::from_reader(part);
    let config = reader.config_mut();
    config.check_end_names = false;
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Start(element) | Event::Empty(element)) => check_element(&element)?,
            Ok(Event::Eof) | Err(_) => return Ok(()),
            Ok(_) => {}
        }
    }
}

fn check_element(element: &BytesStart<'_>) -> Result<(), String> {
    let name = element.local_name();
    let key = match name.as_ref() {
        "row" | "c" => "r",
        "dimension" | "mergeCell" | "table" | "f" => "ref",
        _ => return Ok(()),
    };
    for attribute in element.attributes().with_checks(false).flatten() {
        if attribute.key.as_ref() != key {
            continue;
        }
        let text: &str = attribute.value.as_ref();
        let mut corners = text.split(':').map(place);
        let bad = || format!("`{text}` is no place in a sheet");
        let first = corners.next().ok_or_else(bad)?.ok_or_else(bad)?;
        if let Some(second) = corners.next() {
            let second = second.ok_or_else(bad)?;
            if second.0 < first.0 || second.1 < first.1 {
                return Err(format!("`{text}` ends before it begins"));
            }
        }
    }
    Ok(())
}

/// Column and row, each from 1 and 0 where it is left out; none for more than a sheet has.
fn place(text: &str) -> Option<(u64, u64)> {
    let letters = text.bytes().take_while(u8::is_ascii_alphabetic);
    let column = letters.clone().fold(0_u64, |column, letter| {
        (column.saturating_mul(26)).saturating_add(u64::from(letter.to_ascii_uppercase() - b'A') + 1)
    });
    let row = text.bytes().skip(letters.count()).try_fold(0_u64, |row, digit| {
        digit.is_ascii_digit().then(|| row.saturating_mul(10).saturating_add(u64::from(digit - b'0')))
    })?;
    (column <= MOST_COLUMNS && row <= MOST_ROWS).then_some((column, row))
}

#[cfg(test)]
mod tests {
    use super::{check_part, place};

    #[test]
    fn a_place_is_within_the_sheet() {
        assert_eq!(place("A1"), Some((1, 1)));
        assert_eq!(place("XFD1048576"), Some((16384, 1_048_576)));
        assert_eq!(place("xfd7"), Some((16384, 7)));
        assert_eq!(place("12"), Some((0, 12)));
        for text in
            ["XFE1", "A1048577", "A4294967299", "A18446744073709551617", "ZZZZZZZZZZZZZZZ1", "A1!", "$A$1"]
        {
            assert_eq!(place(text), None, "{text}");
        }
    }

    #[test]
    fn references_beyond_a_sheet_are_named() {
        let said = |xml: &str| check_part(xml.as_bytes()).err().unwrap_or_default();
        assert_eq!(said("<sheetData><row r=\"2\"><c r=\"A2\" t=\"s\"><v>0</v></c></row></sheetData>"), "");
        assert!(said("<row r=\"4294967298\"/>").contains("`4294967298`"));
        assert!(said("<x:c r=\"A4294967298\">").contains("`A4294967298`"));
        assert!(said("<mergeCell ref=\"B2:A1\"/>").contains("ends before it begins"));
        assert!(said("<dimension ref=\"A1:XFE9\"/>").contains("no place"));
        assert_eq!(said("<other r=\"A4294967298\"/>"), "");
    }
}
