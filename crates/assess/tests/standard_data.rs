//! The standards' data held against the table of public facts, and bad files held against what is said about them.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use assess::standard::{Given, Standard, Status, TimeOrigin, WaveformQuantity, built_in, codes};
use record::{Decimal, Kilovolts};
use std::path::{Path, PathBuf};

fn edition_2() -> Standard {
    let (_, text) = built_in().iter().find(|(id, _)| *id == "iec-61000-4-2-ed2").unwrap();
    Standard::parse("iec-61000-4-2-ed2.toml", text).unwrap()
}

/// The folder of facts beside the repository, which may be absent; then the test says so.
fn facts(file: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/domain").join(file);
    if path.exists() {
        return Some(path);
    }
    println!("SKIPPED: {} is not there", path.display());
    None
}

fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

#[test]
fn every_file_of_the_program_is_sound_and_named_by_its_id() {
    for (id, text) in built_in() {
        let standard = Standard::parse(id, text).unwrap_or_else(|findings| panic!("{id}: {findings:#?}"));
        assert_eq!(standard.id, *id);
    }
}

/// Words of the table's status column for ours: V seen, V2 second-hand, M memory.
fn status_word(status: Status) -> &'static str {
    match status {
        Status::Seen => "V",
        Status::SecondHand => "V2",
        Status::Memory => "M",
        Status::Computed => "C",
        Status::Practice => "P",
        Status::Unknown => "U",
    }
}

#[test]
fn levels_counts_interval_and_network_are_those_of_the_table() {
    let Some(path) = facts("levels.csv") else { return };
    let text = std::fs::read_to_string(path).unwrap();
    let standard = edition_2();
    let mut rows = 0;
    for line in text.lines().filter(|line| line.starts_with("IEC 61000-4-2,Ed.2:2008")) {
        // No quoted field stands before the network's status, the last column that is compared.
        let cells: Vec<&str> = line.split(',').collect();
        let level = standard.level(cells[5].strip_prefix("level ").unwrap()).unwrap();
        let voltage = |given: &Option<Given<Kilovolts>>| {
            given.as_ref().map_or("open".to_owned(), |given| given.value.as_kv().to_string())
        };
        assert_eq!(voltage(&level.contact_kv), cells[6], "{line}");
        assert_eq!(voltage(&level.air_kv), cells[7], "{line}");
        for given in [&level.contact_kv, &level.air_kv].into_iter().flatten() {
            assert_eq!(status_word(given.status), cells[13], "{line}");
        }
        let rules = &standard.rules;
        if cells[6] != "open" {
            assert_eq!(rules.discharges.value.to_string(), cells[8]);
            assert_eq!(status_word(rules.discharges.status), cells[14]);
            assert_eq!(rules.interval_s.value.as_s(), decimal(cells[10]));
            assert_eq!(status_word(rules.interval_s.status), cells[15]);
        }
        assert_eq!(
            format!("{}/{}", rules.network_pf.value.as_pf(), rules.network_ohm.value.as_ohm()),
            cells[11]
        );
        assert_eq!(status_word(rules.network_pf.status), cells[16]);
        rows += 1;
    }
    assert_eq!(rows, standard.levels.len(), "one row of the table for each level of the file");
}

#[test]
fn waveform_limits_are_those_of_the_table() {
    let Some(path) = facts("waveform.csv") else { return };
    let text = std::fs::read_to_string(path).unwrap();
    let standard = edition_2();
    let mut rows = 0;
    for line in text.lines().filter(|line| line.starts_with("IEC 61000-4-2,Ed.2:2008,150/330")) {
        let cells: Vec<&str> = line.split(',').collect();
        let quantity = match cells[3] {
            "first peak Ip" => WaveformQuantity::PeakCurrent,
            "rise time 10-90 %" => WaveformQuantity::RiseTime,
            "I30" | "I60" => WaveformQuantity::CurrentAt { time_ns: decimal(cells[8]) },
            other => panic!("{other}"),
        };
        let limit = standard.waveform.iter().find(|limit| limit.quantity == quantity).unwrap();
        assert_eq!(limit.nominal, decimal(cells[4]));
        assert_eq!(limit.per_kv, cells[5] == "A/kV");
        assert_eq!((limit.minus_percent, limit.plus_percent), (decimal(cells[6]), decimal(cells[7])));
        assert_eq!(status_word(limit.status), cells[10]);
        let origin = limit.time_origin.as_ref().map(|origin| origin.value);
        assert_eq!(origin, (cells[9] == "first crossing of 10 % Ip").then_some(TimeOrigin::TenPercent));
        rows += 1;
    }
    assert_eq!(rows, standard.waveform.len());
}

/// Source: the table of limits per voltage in ../shared/domain/waveform.md section 1 (computed there).
#[test]
fn limits_at_a_charge_voltage_are_exact() {
    let standard = edition_2();
    let at = |quantity, kv: &str| {
        let limit = standard.waveform.iter().find(|limit| limit.quantity == quantity).unwrap();
        let (nominal, span) = limit.at(Kilovolts::parse(kv).unwrap()).unwrap();
        [nominal, span.least, span.most].map(|number| number.to_string())
    };
    let i30 = WaveformQuantity::CurrentAt { time_ns: Decimal::from(30) };
    let i60 = WaveformQuantity::CurrentAt { time_ns: Decimal::from(60) };
    assert_eq!(at(WaveformQuantity::PeakCurrent, "2"), ["7.5", "6.375", "8.625"]);
    assert_eq!(at(WaveformQuantity::PeakCurrent, "4"), ["15", "12.75", "17.25"]);
    assert_eq!(at(WaveformQuantity::PeakCurrent, "6"), ["22.5", "19.125", "25.875"]);
    assert_eq!(at(WaveformQuantity::PeakCurrent, "8"), ["30", "25.5", "34.5"]);
    assert_eq!(at(i30, "2"), ["4", "2.8", "5.2"]);
    assert_eq!(at(i30, "8"), ["16", "11.2", "20.8"]);
    assert_eq!(at(i60, "6"), ["6", "4.2", "7.8"]);
    assert_eq!(at(WaveformQuantity::RiseTime, "6"), ["0.8", "0.6", "1"]);
}

#[test]
fn readings_are_compared_in_the_unit_of_the_limit() {
    let standard = edition_2();
    let limit = standard.setup_limits.first().unwrap();
    let inside =
        |reading: &str, unit: &str| limit.in_own_unit(decimal(reading), unit).map(|r| limit.holds(r));
    assert_eq!(inside("0.94", "Mohm"), Some(true));
    assert_eq!(inside("940000", "ohm"), Some(true));
    assert_eq!(inside("470", "kohm"), Some(false), "one resistor shorted");
    assert_eq!(inside("846", "kohm"), Some(true), "an end belongs to the inside");
    assert_eq!(inside("845.999", "kohm"), Some(false));
    assert_eq!(inside("940", "mm"), None);
}

/// The sound file with one change, and what is said about it.
fn refused(from: &str, to: &str) -> Vec<record::Finding> {
    let (_, text) = built_in().first().unwrap();
    assert!(text.contains(from), "{from}");
    Standard::parse("own.toml", &text.replacen(from, to, 1)).unwrap_err()
}

#[track_caller]
fn refuses(from: &str, to: &str, code: &str, words: &str) {
    let findings = refused(from, to);
    assert_eq!(findings.len(), 1, "{findings:#?}");
    let finding = &findings[0];
    assert_eq!(finding.code, code);
    let said = format!("{} {}", finding.message, finding.help.join(" "));
    assert!(said.contains(words), "{said}");
    let place = finding.place.as_ref().unwrap();
    assert!(place.row.is_some() && place.column.is_some(), "{place}");
}

#[test]
fn nonsense_is_refused_with_its_place_and_the_key_that_was_meant() {
    refuses(
        "contact_kv = { value = 2,",
        "contact_v = { value = 2,",
        codes::UNKNOWN_KEY,
        "did you mean `contact_kv`?",
    );
    refuses("air_kv = { value = 2,", "air_kv = { value = -2,", codes::BAD_VALUE, "-2 is not greater than 0");
    refuses(
        "discharges = { value = 10, clause = \"8.3.2, 8.3.3\",",
        "discharges = { value = 10,",
        codes::MISSING_KEY,
        "`rules.discharges` has no `clause`",
    );
    refuses(
        "discharges = { value = 10,",
        "discharges = { value = 0,",
        codes::BAD_VALUE,
        "whole number from 1",
    );
    refuses(
        "discharges = { value = 10,",
        "discharges = { value = 10.5,",
        codes::BAD_VALUE,
        "whole number from 1",
    );
    refuses(
        "discharges = { value = 10,",
        "discharges = { value = \"ten\",",
        codes::BAD_VALUE,
        "is not a number",
    );
    refuses("unit = \"kohm\"", "unit = \"kOhm/m\"", codes::BAD_VALUE, "kohm");
    refuses("status = \"seen\"", "status = \"certain\"", codes::BAD_VALUE, "second-hand");
    refuses(
        "source = \"foreword\"",
        "source = \"forword\"",
        codes::UNKNOWN_SOURCE,
        "did you mean `foreword`?",
    );
    refuses(
        "contact_tip = { value = \"sharp\"",
        "contact_tip = { value = \"blunt\"",
        codes::BAD_VALUE,
        "sharp, round",
    );
    refuses(
        "temperature_c = { least = 15,",
        "temperature_c = { least = 45,",
        codes::CONTRADICTION,
        "`least` is greater",
    );
    refuses(
        "humidity_percent = { least = 30,",
        "humidity_percent = { least = -3,",
        codes::BAD_VALUE,
        "outside 0 to 100",
    );
    refuses("name = \"2\"", "name = \"1\"", codes::CONTRADICTION, "named `1`");
    refuses("open = { value = true,", "open = { value = false,", codes::CONTRADICTION, "no voltage");
    refuses("time_ns = 30", "time_ns = 60", codes::CONTRADICTION, "two limits for the current at 60 ns");
    refuses("schema = 1", "schema = 9", codes::UNKNOWN_SCHEMA, "form 9");
    refuses("version = 1", "version = ", codes::BAD_TOML, "");
}

#[test]
fn the_place_is_the_row_and_column_of_the_word() {
    let text = "schema = 1\nid = \"ü\"\n[sources]\n";
    let findings = Standard::parse("own.toml", text).unwrap_err();
    let finding = findings.iter().find(|finding| finding.code == codes::BAD_VALUE).unwrap();
    assert_eq!(finding.place.as_ref().unwrap().to_string(), "own.toml:2:6 (id)");
}

#[test]
fn a_missing_key_and_an_unknown_one_are_both_named() {
    let findings = refused("time_ns = 30", "time_ps = 30000");
    let codes_found: Vec<&str> = findings.iter().map(|finding| finding.code.as_str()).collect();
    assert_eq!(codes_found, [codes::MISSING_KEY, codes::UNKNOWN_KEY]);
}

#[test]
fn every_prefix_of_a_file_is_refused_without_panic() {
    let (_, text) = built_in().first().unwrap();
    for end in (0..text.len()).filter(|end| text.is_char_boundary(*end)).step_by(7) {
        if let Ok(standard) = Standard::parse("own.toml", &text[..end]) {
            // Only a cut after the last obligatory table can leave a whole standard.
            assert!(end > text.find("[evidence]").unwrap(), "{}", standard.id);
        }
    }
}
