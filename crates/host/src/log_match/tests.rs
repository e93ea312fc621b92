//! Clocks and series made up for the purpose: expected results follow from how each case is built.

use super::clock::{Ahead, estimate, estimate_of};
use super::compare::compare;
use super::item::{Item, Setting, Span, milliseconds};
use crate::job_file::Beside;
use record::{Decimal, Place, Polarity, SourceId};

fn asked() -> Beside {
    Beside {
        clock_ahead_s: None,
        within_s: Decimal::from(30),
        voltage_within_percent: Decimal::from(5),
        stated: false,
        place: Place::default(),
    }
}

fn setting(kv: i64) -> Setting {
    let polarity = if kv < 0 { Polarity::Negative } else { Polarity::Positive };
    Setting { voltage: Decimal::from(kv.abs()), polarity, in_air: false, point: None }
}

/// Series of ten, one every forty seconds, at these voltages.
fn spans(kv: &[i64]) -> Vec<Span> {
    let mut before = 0;
    kv.iter()
        .zip(1i64..)
        .map(|(kv, n)| {
            let span = Span {
                series: 0,
                setting: setting(*kv),
                count: 10,
                sparks: None,
                from_ms: before,
                end_ms: n * 40_000,
            };
            before = span.end_ms;
            span
        })
        .collect()
}

/// The discharges of each series, a second apart, the last three seconds before it was marked as done.
fn shots(spans: &[Span], ahead_ms: i64) -> Vec<Item> {
    let mut items = Vec::new();
    for span in spans {
        for shot in 0..10i64 {
            items.push(Item {
                source: SourceId(1),
                first_row: items.len() as u64 + 2,
                last_row: items.len() as u64 + 2,
                setting: span.setting.clone(),
                count: 1,
                at_ms: span.end_ms - 3_000 - (9 - shot) * 1_000 + ahead_ms,
                at: String::new(),
            });
        }
    }
    items
}

fn ends(items: &[Item]) -> Vec<(Setting, i64)> {
    items
        .chunk_by(|a, b| a.setting == b.setting)
        .filter_map(|run| Some((run[0].setting.clone(), run.last()?.at_ms)))
        .collect()
}

#[test]
fn a_clock_that_is_an_hour_off_is_found_and_everything_agrees() {
    let spans = spans(&[4, -4, 6, -6, 8, -8]);
    for ahead in [0, 41_000, 3_600_000, -7_200_000] {
        let items = shots(&spans, ahead);
        let found = estimate(&spans, &ends(&items), 30_000, &asked()).unwrap();
        assert_eq!(found, Ahead { ms: ahead - 3_000, estimated: Some((6, 0)) });
        let found = compare(&spans, &items, found.ms, 30_000, &asked());
        assert!(found.held.iter().all(|one| one.agree == 10 && one.others.is_empty()), "{ahead}");
        assert!(found.alone.is_empty());
    }
}

#[test]
fn equal_series_one_after_the_other_each_get_their_own() {
    let spans = spans(&[8, 8, 8, -8]);
    let found = compare(&spans, &shots(&spans, 0), 0, 30_000, &asked());
    assert_eq!(found.held.iter().map(|one| one.agree).collect::<Vec<_>>(), [10, 10, 10, 10]);
}

#[test]
fn a_pattern_that_fits_in_two_ways_is_not_chosen_from() {
    // Three series, and the log has the same three twice, an hour apart.
    let spans = spans(&[4, 6, 8]);
    let mut items = shots(&spans, 0);
    items.extend(shots(&spans, 3_600_000));
    assert!(estimate(&spans, &ends(&items), 30_000, &asked()).is_err());
    assert!(
        estimate(&spans[..2], &ends(&items[..20]), 30_000, &asked()).is_err(),
        "two series say too little"
    );
}

#[test]
fn another_polarity_stands_against_its_series_and_a_trial_shot_stands_alone() {
    let spans = spans(&[4, -4, 6]);
    let mut items = shots(&spans, 0);
    for item in &mut items[10..20] {
        item.setting = setting(4);
    }
    // A single shot at another voltage in the middle of the third series.
    items.push(Item { setting: setting(2), ..items[24].clone() });
    let found = compare(&spans, &items, 0, 10_000, &asked());
    assert_eq!(
        found.held.iter().map(|one| (one.agree, one.others.len())).collect::<Vec<_>>(),
        [(10, 0), (0, 10), (10, 0)]
    );
    assert_eq!(found.alone.len(), 1);
}

#[test]
fn a_missing_series_is_fewer_only_where_the_log_reaches() {
    let spans = spans(&[4, -4, 6, -6]);
    let items = shots(&spans, 0);
    let found = compare(&spans, &[&items[..10], &items[20..30]].concat(), 0, 5_000, &asked());
    assert_eq!(
        found.held.iter().map(|one| (one.agree, one.reached)).collect::<Vec<_>>(),
        [(10, true), (0, true), (10, true), (0, false)]
    );
}

#[test]
fn more_pairs_than_are_looked_at_are_refused() {
    let spans = spans(&[4, -4, 6, -6]);
    let ends = ends(&shots(&spans, 0));
    assert!(estimate_of(&spans, &ends, 30_000, &asked(), 4).is_ok());
    let why = estimate_of(&spans, &ends, 30_000, &asked(), 3).unwrap_err();
    assert!(why.contains("more than 3 pairs"), "{why}");
}

#[test]
fn no_number_of_seconds_is_too_large_to_reckon_with() {
    let century = milliseconds(Decimal::MAX);
    assert_eq!(milliseconds(Decimal::MIN), -century);
    assert_eq!(milliseconds(Decimal::from(-30)), -30_000);
    assert_eq!(milliseconds("0.0005".parse().unwrap()), 0, "half to even");
}
