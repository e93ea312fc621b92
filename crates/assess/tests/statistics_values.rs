//! Intervals, claims, tests of two counts and thresholds held against scipy, R and published figures.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::collections::BTreeMap;

use assess::special::{Confidence, Probability};
use assess::statistics::*;
use record::{Decimal, Kilovolts};

/// Relative.
const TOLERANCE: f64 = 1e-10;

fn confidence(text: &str) -> Confidence {
    Confidence::new(text.parse().unwrap()).unwrap()
}

fn trials(failures: u64, shots: u64) -> Trials {
    Trials::new(failures, shots).unwrap()
}

fn ours(kind: &str, n: &[u64], level: &str) -> f64 {
    use IntervalMethod::{Jeffreys, Wilson};
    let exact = |side| exact_interval(trials(n[0], n[1]), confidence(level), side);
    let by = |method| interval(trials(n[0], n[1]), confidence(level), Side::Both, method);
    let fisher = || fisher_exact(trials(n[0], n[1]), trials(n[2], n[3]));
    let probability = || Probability::new(level.parse().unwrap()).unwrap();
    match kind {
        "exact_low" => exact(Side::Both).low,
        "exact_high" => exact(Side::Both).high,
        "exact_only_low" => exact(Side::Lower).low,
        "exact_only_high" => exact(Side::Upper).high,
        "wilson_low" => by(Wilson).low,
        "wilson_high" => by(Wilson).high,
        "jeffreys_low" => by(Jeffreys).low,
        "jeffreys_high" => by(Jeffreys).high,
        "fisher_either" => fisher().either,
        "fisher_fewer_after" => fisher().fewer_after,
        "fisher_more_after" => fisher().more_after,
        "chance_of_no_failure" => chance_of_no_failure(probability(), n[0]),
        "chance_of_a_failure" => chance_of_a_failure(probability(), n[0]),
        _ => panic!("no kind `{kind}`"),
    }
}

/// Values: shared/reference/statistics/values.csv, written by values.py beside it, which names the versions.
#[test]
fn a_thousand_values_agree_with_scipy_to_1e_10() {
    let mut worst: BTreeMap<&str, (f64, usize, usize)> = BTreeMap::new();
    for (index, line) in
        include_str!("../../../shared/reference/statistics/values.csv").lines().enumerate().skip(2)
    {
        let fields: Vec<&str> = line.split(',').collect();
        let counts: Vec<u64> =
            fields[1..5].iter().filter(|text| !text.is_empty()).map(|text| text.parse().unwrap()).collect();
        let truth: f64 = fields[6].parse().unwrap();
        let got = ours(fields[0], &counts, fields[5]);
        let off = ((got - truth) / truth).abs();
        assert!(off <= TOLERANCE, "line {}: {line}: {got:e}, {off:.1e} off", index + 1);
        let entry = worst.entry(fields[0]).or_insert((0.0, 0, 0));
        entry.2 += 1;
        if off > entry.0 {
            (entry.0, entry.1) = (off, index + 1);
        }
    }
    for (kind, (off, line, count)) in &worst {
        println!("{kind}: {count} values, worst {off:.1e} at line {line}");
    }
    assert!(worst.values().map(|(_, _, count)| count).sum::<usize>() > 1000);
}

fn kv(text: &str) -> Kilovolts {
    Kilovolts::parse(text).unwrap()
}

/// Values: shared/reference/statistics/thresholds.csv, written by thresholds.R beside it.
#[test]
fn probit_fits_agree_with_r() {
    let mut fits = 0;
    for line in include_str!("../../../shared/reference/statistics/thresholds.csv").lines().skip(2) {
        let fields: Vec<&str> = line.split(',').collect();
        let list = |at: usize| fields[at].split(' ');
        let rates: Vec<FailureRate> = list(1)
            .zip(list(2).zip(list(3)))
            .map(|(level, (failures, shots))| FailureRate {
                level: kv(level),
                trials: trials(failures.parse().unwrap(), shots.parse().unwrap()),
            })
            .collect();
        let got = probit_threshold(&rates, Confidence::ninety_five()).unwrap().unwrap();
        let close = |got: f64, at: usize, tolerance: f64| {
            let truth: f64 = fields[at].parse().unwrap();
            assert!(((got - truth) / truth).abs() < tolerance, "{}: {got} for {truth}", fields[0]);
        };
        close(got.threshold_kv, 4, 1e-9);
        close(got.spread_kv.unwrap(), 5, 1e-6);
        for (limit, at) in [(got.limits.low_kv, 6), (got.limits.high_kv, 7)] {
            match limit {
                Some(limit) => close(limit, at, 1e-6),
                None => assert_eq!(fields[at], "NA", "{}: no limit", fields[0]),
            }
        }
        fits += 1;
    }
    assert_eq!(fits, 7);
}

/// C. I. Bliss's beetles as fitted in A. J. Dobson, "An Introduction to Generalized Linear Models" (from memory):
/// intercept -34.935, slope 19.728 of the probit.
#[test]
fn the_published_probit_fit_comes_out_to_its_digits() {
    let data = [
        ("1.6907", 6, 59),
        ("1.7242", 13, 60),
        ("1.7552", 18, 62),
        ("1.7842", 28, 56),
        ("1.8113", 52, 63),
        ("1.8369", 53, 59),
        ("1.8610", 61, 62),
        ("1.8839", 60, 60),
    ];
    let rates = data
        .map(|(level, failures, shots)| FailureRate { level: kv(level), trials: trials(failures, shots) });
    let got = probit_threshold(&rates, Confidence::ninety_five()).unwrap().unwrap();
    let slope = 1.0 / got.spread_kv.unwrap();
    assert_eq!(format!("{slope:.3}"), "19.728");
    assert_eq!(format!("{:.3}", -slope * got.threshold_kv), "-34.935");
}

#[test]
fn counts_and_levels_that_cannot_be_are_refused() {
    assert!(Trials::new(0, 0).is_err());
    assert!(Trials::new(6, 5).unwrap_err().to_string().contains("at most the number of shots"));
    assert!(Trials::new(0, u64::MAX).is_err());
    assert!(Confidence::new(Decimal::ONE).is_err());
    assert!(Confidence::new(Decimal::ZERO).is_err());
    assert!(Probability::new(f64::NAN).is_err());
    assert!(Probability::new(-1e-9).is_err());
    let c95 = Confidence::ninety_five();
    assert!(shots_needed(Probability::new(0.0).unwrap(), c95, 0).is_err());
    assert!(shots_needed(Probability::new(1.0).unwrap(), c95, 0).is_err());
    assert!(shots_needed(Probability::new(1e-18).unwrap(), c95, 0).is_err());
    assert_eq!(Confidence::ninety_five().to_string(), "95 %");
    assert_eq!(confidence("0.9545").to_string(), "95.45 %");
}

#[test]
fn a_risk_that_is_met_exactly_counts_as_met() {
    // 0.9^2 = 0.81, 0.5^10 = 1/1024: equal in decimals.
    let needed =
        |p: f64, level: &str| shots_needed(Probability::new(p).unwrap(), confidence(level), 0).unwrap();
    assert_eq!(needed(0.1, "0.19"), 2);
    assert_eq!(needed(0.1, "0.1900001"), 3);
    assert_eq!(needed(0.3, "0.7599"), 4);
    assert_eq!(needed(0.5, "0.9990234375"), 10);
    assert_eq!(needed(0.2, "0.89262581760"), 10);
}

#[test]
fn exact_limits_rise_with_failures_fall_with_shots_and_widen_with_confidence() {
    let at = |k, n, level| exact_interval(trials(k, n), confidence(level), Side::Both);
    for n in [1, 2, 5, 10, 37, 200] {
        for k in 0..=n {
            let here = at(k, n, "0.95");
            assert!(here.low <= here.trials.share() && here.trials.share() <= here.high);
            let wider = at(k, n, "0.99");
            assert!(wider.low <= here.low && wider.high >= here.high);
            let mirrored = at(n - k, n, "0.95");
            assert!((here.low - (1.0 - mirrored.high)).abs() < 1e-14, "{k} of {n}");
            if k < n {
                let more = at(k + 1, n, "0.95");
                assert!(more.low > here.low && more.high > here.high || k + 1 == n && more.high == 1.0);
            }
            assert!(at(k, n + 1, "0.95").high < here.high || k == n);
            // A one-sided limit at 95 % is the two-sided one at 90 %.
            let one = exact_interval(trials(k, n), confidence("0.95"), Side::Upper);
            assert!((one.high - at(k, n, "0.90").high).abs() < 1e-14 && one.low == 0.0);
        }
    }
}

#[test]
fn fewer_shots_never_suffice_than_the_number_needed() {
    for p in [0.001, 0.01, 0.07, 0.3] {
        for level in ["0.6", "0.9", "0.95", "0.99"] {
            for allowed in [0, 1, 2, 7] {
                let per_shot = Probability::new(p).unwrap();
                let needed = shots_needed(per_shot, confidence(level), allowed).unwrap();
                let upper =
                    |shots| exact_interval(trials(allowed, shots), confidence(level), Side::Upper).high;
                assert!(upper(needed) <= p * (1.0 + 1e-9) && upper(needed - 1) > p, "{p} {level} {allowed}");
            }
        }
    }
}

#[test]
fn fishers_test_is_symmetric_and_its_two_sides_share_the_observed_table() {
    for (k, n, j, m) in
        [(3, 10, 0, 10), (1, 4, 3, 4), (5, 5, 0, 9), (12, 200, 4, 210), (0, 7, 0, 9), (7, 7, 9, 9)]
    {
        let there = fisher_exact(trials(k, n), trials(j, m));
        let back = fisher_exact(trials(j, m), trials(k, n));
        assert!((there.either - back.either).abs() < 1e-13);
        assert!((there.fewer_after - back.more_after).abs() < 1e-13);
        assert!(there.fewer_after + there.more_after >= 1.0 - 1e-13);
        assert!(there.either <= 1.0 && there.either >= there.fewer_after.min(there.more_after));
    }
    // The mirror image of the observed table is as probable as it: 2 of 4 tables each, both counted.
    let mirrored = fisher_exact(trials(5, 5), trials(0, 5));
    assert!((mirrored.either - 2.0 / 252.0).abs() < 1e-15, "{mirrored:?}");
}

fn shots(list: &[(&str, bool)]) -> Vec<Shot> {
    list.iter().map(|(level, failed)| Shot { level: kv(level), failed: *failed }).collect()
}

/// Loads of a published staircase (C. Gorla et al. 2017, table 9, as given in the example of R's package `upndown`),
/// kN in the place of kV; the estimate by hand: passes are the rarer outcome, at 35 (2), 36 (2), 37 (2) and 38 (1).
#[test]
fn an_up_and_down_sequence_gives_dixon_and_moods_estimate() {
    let levels = [36, 35, 36, 37, 38, 39, 38, 37, 38, 37, 36, 35, 36, 37, 36];
    let failed: Vec<bool> = levels.windows(2).map(|pair| pair[1] < pair[0]).chain([true]).collect();
    let sequence: Vec<Shot> = levels
        .iter()
        .zip(failed)
        .map(|(level, failed)| Shot { level: kv(&level.to_string()), failed })
        .collect();
    let got = up_and_down_threshold(&UpAndDown::new(sequence).unwrap(), Confidence::ninety_five()).unwrap();
    assert!(!got.counted_failures);
    assert_eq!(got.counted, 7);
    // A = 0*2 + 1*2 + 2*2 + 3 = 9, B = 2 + 8 + 9 = 19, N = 7.
    let (a, b, n) = (9.0, 19.0, 7.0);
    assert!((got.threshold_kv - (35.0 + a / n + 0.5)).abs() < 1e-12, "{got:?}");
    let m: f64 = (n * b - a * a) / (n * n);
    assert!((got.spread_kv.unwrap() - 1.62 * (m + 0.029)).abs() < 1e-12);
    // 15 shots over steps of half the spread bound nothing, as R finds too (thresholds.csv, staircase).
    let limits = got.limits.unwrap();
    assert_eq!((limits.low_kv, limits.high_kv), (None, None));
}

#[test]
fn an_up_and_down_sequence_that_breaks_its_rule_is_refused() {
    let refused = |list: &[(&str, bool)]| UpAndDown::new(shots(list)).unwrap_err().to_string();
    assert!(refused(&[("4", true)]).contains("at least two shots"));
    assert!(refused(&[("4", true), ("5", false)]).contains("one equal step"));
    assert!(refused(&[("4", false), ("5", false), ("7", true)]).contains("one equal step"));
    assert!(refused(&[("4", false), ("4", false)]).contains("one equal step"));
    assert!(refused(&[("0", false), ("1", false)]).contains("magnitude"));
    let never = UpAndDown::new(shots(&[("4", false), ("5", false), ("6", false)])).unwrap();
    assert_eq!(up_and_down_threshold(&never, Confidence::ninety_five()), Err(NoThreshold::NeverFailed));
}

#[test]
fn rising_searches_give_a_bracket_and_limits_only_from_enough_runs() {
    let run = |passed: &[&str], failed: Option<&str>| {
        let passed: Vec<Kilovolts> = passed.iter().map(|level| kv(level)).collect();
        RisingRun::new(&passed, failed.map(kv)).unwrap()
    };
    let c95 = Confidence::ninety_five();
    let five: Vec<RisingRun> = (0..5).map(|_| run(&["2", "4"], Some("6"))).collect();
    let got = rising_step_threshold(&five, c95);
    assert_eq!((got.above_kv, got.up_to_kv, got.threshold_kv), (Some(4.0), Some(6.0), Some(5.0)));
    assert_eq!(got.limits, Err(NoThreshold::TooFewRuns { needed: 6 }), "2 / 2^6 is the first below 0.05");
    let mut six = five;
    six.push(run(&["2", "4", "6", "8"], None));
    let limits = rising_step_threshold(&six, c95).limits.unwrap();
    assert_eq!((limits.low_kv, limits.high_kv), (Some(4.0), None), "the last run never failed: open above");
    // Order statistics 2 and 8 of 9 (tables of the sign test: 96.1 %).
    let nine: Vec<RisingRun> =
        ["3", "4", "5", "6", "7", "8", "9", "10", "11"].map(|level| run(&["2"], Some(level))).to_vec();
    let got = rising_step_threshold(&nine, c95);
    assert_eq!(got.up_to_kv, Some(7.0));
    assert_eq!(got.limits.unwrap().high_kv, Some(10.0));
    assert_eq!(rising_step_threshold(&[], c95).limits, Err(NoThreshold::NoShots));
    assert!(RisingRun::new(&[], None).is_err());
    assert!(RisingRun::new(&[kv("4"), kv("4")], None).is_err());
    assert!(RisingRun::new(&[kv("4")], Some(kv("2"))).is_err());
}

#[test]
fn shots_that_show_no_threshold_say_why() {
    let c95 = Confidence::ninety_five();
    let of = |list: &[(&str, u64, u64)]| {
        let rates: Vec<FailureRate> = list
            .iter()
            .map(|(level, k, n)| FailureRate { level: kv(level), trials: trials(*k, *n) })
            .collect();
        probit_threshold(&rates, c95).unwrap()
    };
    assert_eq!(of(&[]), Err(NoThreshold::NoShots));
    assert_eq!(of(&[("4", 0, 10), ("8", 0, 10)]), Err(NoThreshold::NeverFailed));
    assert_eq!(of(&[("4", 10, 10), ("8", 9, 9)]), Err(NoThreshold::AlwaysFailed));
    assert_eq!(of(&[("4", 3, 10)]), Err(NoThreshold::StepsTooWide));
    assert_eq!(of(&[("4", 8, 10), ("8", 1, 10)]), Err(NoThreshold::NotRising));
    // Nothing failed up to 4 kV, everything from 6 kV on: no spread, a bracket, limits about it.
    let apart = of(&[("2", 0, 10), ("4", 0, 10), ("6", 10, 10), ("8", 10, 10)]).unwrap();
    assert_eq!((apart.between_kv, apart.spread_kv, apart.threshold_kv), (Some((4.0, 6.0)), None, 5.0));
    let (low, high) = (apart.limits.low_kv.unwrap(), apart.limits.high_kv.unwrap());
    assert!((2.0..=4.0).contains(&low) && (6.0..=8.0).contains(&high), "{apart:?}");
    // One failure in twenty says little about how far the threshold may lie above.
    let open = of(&[("4", 0, 10), ("5", 1, 10), ("4.5", 0, 5)]).unwrap();
    assert_eq!(open.limits.high_kv, None, "{open:?}");
    // The same voltage given twice is one level.
    assert_eq!(
        of(&[("4", 1, 5), ("4", 0, 5), ("8", 7, 10)]).unwrap(),
        of(&[("4", 1, 10), ("8", 7, 10)]).unwrap()
    );
}
