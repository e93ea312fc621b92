//! The standards' data held against the table of public facts, and bad files held against what is said about them.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use assess::standard::{
    CountsPer, Standard, Status, TimeOrigin, TotalOf, WaveformBounds, WaveformQuantity, built_in, codes,
};
use record::{Application, Decimal, Kilovolts};
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

#[test]
fn a_number_too_large_to_reckon_with_is_refused_at_its_place() {
    let (id, text) = built_in().iter().find(|(id, _)| *id == "iec-61000-4-2-ed2").unwrap();
    let line = text.lines().find(|line| line.starts_with("hcp_margin_mm")).unwrap();
    let value = line.split("value = ").nth(1).unwrap().split([',', ' ', '}']).next().unwrap();
    let huge = text.replace(line, &line.replace(&format!("value = {value}"), "value = 7e28"));
    let findings = Standard::parse(id, &huge).unwrap_err();
    assert!(findings.iter().any(|f| f.message.contains("is larger than 1000000000000")), "{findings:#?}");
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

/// The cells of a line; a cell in quotes may hold commas.
fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut quoted) = (vec![String::new()], false);
    for sign in line.chars() {
        match sign {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            sign => cells.last_mut().unwrap().push(sign),
        }
    }
    cells
}

fn all_standards() -> Vec<Standard> {
    built_in().iter().map(|(id, text)| Standard::parse(id, text).unwrap()).collect()
}

/// Files that a row of the table of levels is about: id, level, and whether its columns are the coupling planes'.
fn about(cells: &[String]) -> Vec<(&'static str, String, bool)> {
    let category = cells[3].strip_prefix("category ").unwrap_or_default();
    let iso = format!("category {category} {}", cells[5]);
    let one = |id, level: &str| vec![(id, level.to_owned(), false)];
    match (cells[0].as_str(), cells[1].as_str()) {
        ("IEC 61000-4-2", "Ed.2:2008") => one("iec-61000-4-2-ed2", "X"),
        ("IEC 61000-4-2", _) => ["iec-61000-4-2-ed1", "iec-61000-4-2-ed2", "iec-61000-4-2-ed3"]
            .map(|id| (id, cells[5].replace("level ", ""), false))
            .into(),
        ("ISO 10605", "2008 / 2023") => ["iso-10605-2008", "iso-10605-2023"]
            .map(|id| (id, iso.clone(), cells[4] == "indirect contact"))
            .into(),
        // Greatest voltages of vehicle tests: no table of a component's plan; in the file as a comment.
        ("ISO 10605", _) => Vec::new(),
        ("MIL-STD-461G", _) => one("mil-std-461g-cs118", "Table IX"),
        ("RTCA DO-160", _) => one("rtca-do-160-section-25", "A"),
        ("IEC 61000-6-1", _) => one("iec-61000-6-1-ed3", "product"),
        ("IEC 61000-6-2", _) => one("iec-61000-6-2-ed3", "product"),
        ("CISPR 35 / EN 55035", _) => one("cispr-35-2016", "product"),
        ("CISPR 24 / EN 55024", _) => one("cispr-24-2010", "product"),
        ("IEC 60601-1-2", _) => one("iec-60601-1-2-ed4-1", "product"),
        ("EN 301 489-1", _) => one("en-301-489-1-v2-2-3", "product"),
        ("IEC 61326-1", _) => match cells[2].as_str() {
            "Table 1" => one("iec-61326-1-ed3", "basic"),
            "Table 2" => one("iec-61326-1-ed3", "industrial"),
            _ => one("iec-61326-1-ed3", "controlled"),
        },
        ("EN 50121-4", _) => one("en-50121-4-2016", "product"),
        ("IEC 60255-26", _) => one("iec-60255-26-2023", "3"),
        ("IEC 61850-3", _) => one("iec-61850-3-ed2", "3"),
        ("IEEE C37.90.3", _) => one("ieee-c37-90-3-2001", "product"),
        ("OIML R 60 (load cells)", _) => one("oiml-r-60-2017", "form"),
        (name, edition) => panic!("no file for {name} {edition}"),
    }
}

/// A status of the table covers one of the file when it is the same; where the table names two, the weaker.
#[track_caller]
fn same_status(status: Status, cell: &str, line: &str) {
    let wanted = match cell {
        "M+V2" => "M",
        other => other,
    };
    assert_eq!(status_word(status), wanted, "{line}");
}

#[test]
fn every_value_of_every_file_is_that_of_the_table_of_levels() {
    let Some(path) = facts("levels.csv") else { return };
    let text = std::fs::read_to_string(path).unwrap();
    let standards = all_standards();
    let (mut rows, mut values) = (0, 0);
    let mut seen: std::collections::BTreeSet<(String, String)> = std::collections::BTreeSet::new();
    for line in text.lines().skip(1) {
        let cells = cells(line);
        rows += 1;
        for (id, name, planes) in about(&cells) {
            let standard = standards.iter().find(|s| s.id == id).unwrap_or_else(|| panic!("{id}"));
            let level = standard.level(&name).unwrap_or_else(|| panic!("{id} has no level {name}"));
            seen.insert((id.to_owned(), name.clone()));
            if cells[6] == "open" {
                assert!(level.open.as_ref().is_some_and(|open| open.value), "{line}");
                continue;
            }
            let first = if planes { &level.indirect_kv } else { &level.contact_kv };
            for (given, cell) in [(first, &cells[6]), (&level.air_kv, &cells[7])] {
                if cell.is_empty() {
                    continue;
                }
                let given = given.as_ref().unwrap_or_else(|| panic!("{line}"));
                let found: Vec<String> = given.value.iter().map(|kv| kv.as_kv().to_string()).collect();
                assert_eq!(found.join(";"), *cell, "{line}");
                same_status(given.status, &cells[13], line);
                values += 1;
            }
            let application = if planes { Application::Hcp } else { Application::Contact };
            let application = if cells[6].is_empty() { Application::Air } else { application };
            let (count, _, interval) = standard.counting(application);
            let of_edition = |cell: &str| {
                // `10 (2023) / 50 (2008)`
                let own = cell.split(" / ").find(|part| part.contains(standard.edition.as_str()));
                own.unwrap_or(cell).split(' ').next().unwrap_or_default().to_owned()
            };
            let counted = of_edition(&cells[8]);
            if let Ok(number) = counted.parse::<u32>()
                && !cells[8].starts_with("200")
            {
                assert_eq!(count.value, number, "{line}");
                same_status(count.status, &cells[14], line);
                values += 1;
            }
            if !cells[10].is_empty() {
                assert_eq!(interval.value.as_s(), decimal(&of_edition(&cells[10])), "{line}");
                same_status(interval.status, &cells[15], line);
                values += 1;
            }
            let networks: Vec<String> = if standard.networks.is_empty() {
                vec![format!(
                    "{}/{}",
                    standard.rules.network_pf.value.as_pf(),
                    standard.rules.network_ohm.value.as_ohm()
                )]
            } else {
                standard.networks.iter().map(|n| format!("{}/{}", n.pf.as_pf(), n.ohm.as_ohm())).collect()
            };
            let wanted: std::collections::BTreeSet<&str> = cells[11].split(';').collect();
            assert_eq!(
                networks.iter().map(String::as_str).collect::<std::collections::BTreeSet<_>>(),
                wanted,
                "{line}"
            );
            values += 1;
        }
    }
    assert_eq!(rows, 60, "the table has changed: look at what is compared");
    // Every level of every file has its row; files laid over another repeat its levels and are compared by it.
    for standard in standards.iter().filter(|s| !s.id.ends_with("-unpowered")) {
        for level in &standard.levels {
            let key = (standard.id.clone(), level.name.clone());
            let open = level.open.is_some();
            assert!(seen.contains(&key) || open, "no row for {key:?}");
        }
    }
    println!("{rows} rows, {values} values compared");
}

/// Source: the procedure of the row for CISPR 24 in ../shared/domain/levels.csv and levels.md section 5:
/// 200 contact discharges in all, 100 of each polarity, at least 4 points, 50 at each; air 10 a point.
#[test]
fn a_rule_of_200_shots_is_one_constraint_over_the_job() {
    let standards = all_standards();
    let standard = standards.iter().find(|s| s.id == "cispr-24-2010").unwrap();
    let totals: Vec<(TotalOf, u32)> = standard.totals.iter().map(|t| (t.of, t.least.value)).collect();
    assert_eq!(totals, [(TotalOf::Job, 200), (TotalOf::Polarity, 100), (TotalOf::Points, 4)]);
    let (count, per, _) = standard.counting(Application::Contact);
    assert_eq!((count.value, per.value), (50, CountsPer::PointLevel));
    assert_eq!(standard.counting(Application::Air).0.value, 10);
}

/// Source: the national foreword to edition 2, as levels.md section 2 quotes it.
#[test]
fn lower_levels_follow_the_edition() {
    let standards = all_standards();
    let lower = |id: &str| {
        let rules = &standards.iter().find(|s| s.id == id).unwrap().rules;
        (rules.lower_levels_contact.value, rules.lower_levels_air.value)
    };
    assert_eq!(lower("iec-61000-4-2-ed1"), (true, true));
    assert_eq!(lower("iec-61000-4-2-ed2"), (false, true));
}

#[test]
fn the_basic_edition_of_a_product_standard_is_unknown_until_seen() {
    for standard in all_standards().iter().filter(|s| s.laid_over == ["iec-61000-4-2-ed2"]) {
        if standard.designation == "IEC 61000-4-2" {
            continue;
        }
        let basic = standard.basic_edition.as_ref().unwrap_or_else(|| panic!("{}", standard.id));
        assert_eq!((basic.value.as_str(), basic.status), ("not known", Status::Unknown), "{}", standard.id);
        // What comes from the basic standard says so.
        assert!(standard.rules.contact_tip.clause.starts_with("IEC 61000-4-2 Ed.2:2008: "));
    }
}

#[test]
fn a_file_laid_over_another_stands_by_itself_once_joined() {
    let find = |id: &str| {
        let (id, text) = built_in().iter().find(|(known, _)| *known == id)?;
        Some((format!("{id}.toml"), (*text).to_owned()))
    };
    for (id, text) in built_in() {
        let loaded = Standard::parse_over(id, text, &find).unwrap();
        let again = Standard::parse_over(id, &loaded.text, &|_| None).unwrap();
        assert_eq!(again.standard, loaded.standard, "{id}");
        assert_eq!(again.text, loaded.text, "{id}");
    }
}

/// A laboratory's own file over one of ours, for a customer's plan.
#[test]
fn a_laboratory_s_own_file_extends_one_of_ours() {
    let own = "schema = 1\nid = \"own\"\ntitle = \"t\"\ndesignation = \"Customer plan 7\"\nedition = \"2\"\nversion = 1\n\
        extends = \"iso-10605-2023\"\n[sources]\nplan = \"the customer's plan\"\n[rules]\n\
        discharges = { value = 5, clause = \"4\", source = \"plan\", status = \"seen\" }\n";
    let standard = Standard::parse("own.toml", own).unwrap();
    assert_eq!(standard.rules.discharges.value, 5);
    assert_eq!(standard.rules.discharges.source, "the customer's plan");
    assert_eq!(standard.networks.len(), 4);
    assert_eq!(standard.laid_over, ["iso-10605-2023"]);
    // A mistake is named at its place in the file that has it.
    let wrong = own.replace("value = 5", "value = 0");
    let findings = Standard::parse("own.toml", &wrong).unwrap_err();
    assert_eq!(findings[0].place.as_ref().unwrap().to_string(), "own.toml:11:24 (rules.discharges.value)");
    let lost = own.replace("iso-10605-2023", "iso-10605-2032");
    assert_eq!(Standard::parse("own.toml", &lost).unwrap_err()[0].code, codes::UNKNOWN_BASE);
    let circle = own.replace("iso-10605-2023", "own");
    let find = |_: &str| Some(("own.toml".to_owned(), circle.clone()));
    assert_eq!(Standard::parse_over("own.toml", &circle, &find).unwrap_err()[0].code, codes::CONTRADICTION);
}

#[test]
fn the_list_of_iso_iec_17025_is_in_order() {
    let (file, text) = assess::completeness::Checklist::built_in();
    let list =
        assess::completeness::Checklist::parse(file, text).unwrap_or_else(|found| panic!("{found:#?}"));
    assert!(list.items.len() >= 30);
    // The clauses that ../shared/domain/report-content.md section 2 lists for agreements, records and reports.
    for clause in [
        "7.1.3",
        "7.5.1",
        "7.5.2",
        "7.8.2.1 a",
        "7.8.2.1 p",
        "7.8.2.2",
        "7.8.3.1 a",
        "7.8.6.1",
        "7.8.6.2",
        "7.8.7",
        "7.8.8.1",
        "7.8.8.2",
        "7.8.8.3",
    ] {
        assert!(list.items.iter().any(|item| item.clause.starts_with(clause)), "{clause}");
    }
}

#[test]
fn waveform_limits_are_those_of_the_table() {
    let Some(path) = facts("waveform.csv") else { return };
    let text = std::fs::read_to_string(path).unwrap();
    let standards = all_standards();
    let mut rows = 0;
    for line in text.lines().skip(1) {
        let cells = cells(line);
        let ids: &[&str] = match (cells[0].as_str(), cells[1].as_str()) {
            ("IEC 61000-4-2", "Ed.1:1995") => &["iec-61000-4-2-ed1"],
            ("IEC 61000-4-2", "Ed.2:2008") => &["iec-61000-4-2-ed2"],
            // The second peak of edition 3: no nominal value was found, so the file has none.
            ("IEC 61000-4-2", _) => continue,
            ("ISO 10605", _) => &["iso-10605-2008", "iso-10605-2023"],
            ("MIL-STD-461G", _) => &["mil-std-461g-cs118"],
            _ => continue,
        };
        let quantity = match cells[3].as_str() {
            name if name.starts_with("first peak") => WaveformQuantity::PeakCurrent,
            name if name.starts_with("rise time") => WaveformQuantity::RiseTime,
            "I30" | "I60" | "I(t1)" | "I(t2)" => WaveformQuantity::CurrentAt { time_ns: decimal(&cells[8]) },
            other => panic!("{other}"),
        };
        let bounds = match cells[4].split_once('-') {
            Some((least, most)) => WaveformBounds::Range {
                least: decimal(least),
                most: decimal(most.split(' ').next().unwrap()),
            },
            None => WaveformBounds::Tolerance {
                nominal: decimal(&cells[4]),
                minus_percent: decimal(&cells[6]),
                plus_percent: decimal(&cells[7]),
            },
        };
        for id in ids {
            let standard = standards.iter().find(|s| s.id == *id).unwrap();
            let (pf, ohm) = cells[2].split_once('/').unwrap();
            let limit = standard
                .waveform
                .iter()
                .find(|l| {
                    l.quantity == quantity
                        && l.network_pf.as_pf() == decimal(pf)
                        && l.network_ohm.as_ohm() == decimal(ohm)
                })
                .unwrap_or_else(|| panic!("{id}: {line}"));
            assert_eq!(limit.bounds, bounds, "{id}: {line}");
            assert_eq!(limit.per_kv, cells[5] == "A/kV");
            assert_eq!(status_word(limit.status), cells[10].split('+').next().unwrap(), "{id}: {line}");
            let origin = limit.time_origin.as_ref().map(|origin| origin.value);
            let wanted = match cells[9].as_str() {
                _ if !matches!(quantity, WaveformQuantity::CurrentAt { .. }) => None,
                text if text.contains("NOT CONFIRMED") => Some(TimeOrigin::Unknown),
                _ => Some(TimeOrigin::TenPercent),
            };
            assert_eq!(origin, wanted, "{id}: {line}");
            rows += 1;
        }
    }
    assert_eq!(rows, 4 + 4 + 32 + 4);
}

/// Source: the table of limits per voltage in ../shared/domain/waveform.md section 1 (computed there).
#[test]
fn limits_at_a_charge_voltage_are_exact() {
    let standard = edition_2();
    let at = |quantity, kv: &str| {
        let limit = standard.waveform.iter().find(|limit| limit.quantity == quantity).unwrap();
        let (nominal, span) = limit.at(Kilovolts::parse(kv).unwrap()).unwrap();
        [nominal.unwrap(), span.least, span.most].map(|number| number.to_string())
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
