//! Intervals and limits without a failure held against the tables of the outside suite, where it is there.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use assess::special::Confidence;
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
