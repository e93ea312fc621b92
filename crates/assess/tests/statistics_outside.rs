//! Intervals and limits without a failure held against the tables of the outside suite, where it is there.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use assess::special::{Confidence, Probability};
use assess::statistics::*;

fn outside(name: &str) -> Option<String> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../../shared/reference/statistics")
        .join(name);
    let text = std::fs::read_to_string(&path).ok();
    if text.is_none() {
        println!("SKIPPED: {} is not there", path.display());
    }
    text
}

fn confidence(text: &str) -> Confidence {
    Confidence::new(text.parse().unwrap()).unwrap()
}

#[track_caller]
fn close(got: f64, truth: &str, what: &str) {
    let truth: f64 = truth.parse().unwrap();
    let off = if truth == 0.0 { got.abs() } else { ((got - truth) / truth).abs() };
    assert!(off <= 1e-10, "{what}: {got:e} for {truth:e}, {off:.1e} off");
}

/// Figures of scipy and statsmodels (the suite's README).
#[test]
fn every_interval_of_the_outside_table_agrees() {
    let Some(text) = outside("binomial_intervals.csv") else { return };
    let mut held = 0;
    for line in text.lines().skip(1) {
        let f: Vec<&str> = line.split(',').collect();
        let trials = Trials::new(f[0].parse().unwrap(), f[1].parse().unwrap()).unwrap();
        let level = confidence(f[2]);
        let by = |method| interval(trials, level, Side::Both, method);
        let exact = exact_interval(trials, level, Side::Both);
        let (wilson, jeffreys) = (by(IntervalMethod::Wilson), by(IntervalMethod::Jeffreys));
        close(exact.low, f[3], line);
        close(exact.high, f[4], line);
        close(exact_interval(trials, level, Side::Lower).low, f[5], line);
        close(exact_interval(trials, level, Side::Upper).high, f[6], line);
        close(wilson.low, f[7], line);
        close(wilson.high, f[8], line);
        for (got, plain, kept) in [(jeffreys.low, f[9], f[11]), (jeffreys.high, f[10], f[12])] {
            let near = |text: &str| (got - text.parse::<f64>().unwrap()).abs() <= 1e-10;
            assert!(near(plain) || near(kept), "{line}: {got:e}");
        }
        held += 8;
    }
    println!("{held} figures of 195 rows");
    assert_eq!(held, 195 * 8);
}

/// Limits after no failure (the suite's README).
#[test]
fn every_limit_after_no_failure_agrees() {
    let Some(text) = outside("zero_failure_upper.csv") else { return };
    let mut held = 0;
    for line in text.lines().skip(1) {
        let f: Vec<&str> = line.split(',').collect();
        let trials = Trials::new(0, f[0].parse().unwrap()).unwrap();
        close(exact_interval(trials, confidence(f[1]), Side::Upper).high, f[2], line);
        close(exact_interval(trials, confidence(f[1]), Side::Both).high, f[3], line);
        held += 2;
    }
    println!("{held} limits");
    assert_eq!(held, 48);
}

/// Shots for a claim after no, one or two failures (the suite's README; success-run theorem for none).
#[test]
fn every_number_of_shots_for_a_claim_agrees() {
    let Some(text) = outside("zero_failure_n.csv") else { return };
    let mut held = 0;
    for line in text.lines().skip(1) {
        let f: Vec<&str> = line.split(',').collect();
        let below = Probability::new(f[1].parse().unwrap()).unwrap();
        for (allowed, cell) in (0..).zip(&f[2..5]) {
            let needed = shots_needed(below, confidence(f[0]), allowed).unwrap();
            assert_eq!(needed, cell.parse::<u64>().unwrap(), "{line}: {allowed} failures allowed");
            held += 1;
        }
        // The rule of three is a round-up for hands: never less than what the exact limit asks.
        if let Ok(three) = f[5].parse::<u64>() {
            assert!(shots_needed(below, confidence(f[0]), 0).unwrap() <= three, "{line}");
        }
    }
    println!("{held} numbers of shots");
    assert_eq!(held, 48);
}

/// Published values, with the source and the reservation that the suite states beside each.
#[test]
fn every_published_anchor_agrees() {
    let Some(text) = outside("anchors.json") else { return };
    let suite: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mut held = 0;
    for anchor in suite["intervals"].as_array().unwrap() {
        let number = |key: &str| anchor[key].as_u64().unwrap();
        let trials = Trials::new(number("k"), number("n")).unwrap();
        let method = match anchor["method"].as_str().unwrap() {
            "clopper-pearson" => IntervalMethod::ClopperPearson,
            "wilson" => IntervalMethod::Wilson,
            "jeffreys" => IntervalMethod::Jeffreys,
            other => panic!("{other}"),
        };
        assert_eq!(anchor["side"], "two");
        let level = confidence(&anchor["confidence"].to_string());
        let got = interval(trials, level, Side::Both, method);
        let within = anchor["compare_to_published_abs"].as_f64().unwrap();
        for (got, published) in [got.low, got.high].iter().zip(anchor["published"].as_array().unwrap()) {
            let Some(published) = published.as_f64() else { continue };
            assert!((got - published).abs() <= within, "{anchor}: {got}");
            held += 1;
        }
    }
    for anchor in suite["zero_failure"].as_array().unwrap() {
        let below = Probability::new(anchor["p_fail_max"].to_string().parse().unwrap()).unwrap();
        let level = confidence(&anchor["confidence"].to_string());
        assert_eq!(shots_needed(below, level, 0).unwrap(), anchor["n"].as_u64().unwrap(), "{anchor}");
        held += 1;
    }
    println!("{held} anchors");
    assert!(held >= 20);
}
