//! Waveform figures with a stated uncertainty, decided by the stated rule.
#![allow(clippy::unwrap_used)]

use assess::standard::{Standard, built_in};
use assess::{FigureDecision, judge_trace};
use record::*;

fn decimal(text: &str) -> Decimal {
    parse_decimal(text).unwrap()
}

/// A triangle that rises in 1 ns to the peak given: its first peak is exactly that.
fn decided(peak_a: f64, uncertainty: &WaveformUncertainty) -> FigureDecision {
    let at = |t: f64| peak_a * (t / 1.0).min((101.0 - t) / 100.0).max(0.0);
    let trace = Trace {
        name: "triangle".into(),
        segment: 1,
        time: TimeBase::Uniform { start_ns: -5.0, step_ns: 0.0625 },
        current_a: (0..1500).map(|k| at(f64::from(k) * 0.0625 - 5.0)).collect(),
        over_range: false,
        step_a: None,
        a_per_v: None,
        origin: Origin::file(SourceId(0)),
    };
    let verification = Verification {
        charge_kv: Some(Kilovolts::parse("4").unwrap()),
        ..Verification::new(VerificationId::new("V").unwrap())
    };
    let (name, text) = built_in().iter().find(|(name, _)| name.contains("iec-61000-4-2-ed2")).unwrap();
    let standard = Standard::parse(name, text).unwrap();
    let (judged, _) = judge_trace(&Generator::default(), uncertainty, &standard, &verification, &trace);
    judged.figures.into_iter().find(|f| f.name == "first peak").unwrap().uncertainty.unwrap()
}

fn first_peak(unit: UncertaintyUnit, expanded: Option<&str>, k: Option<&str>) -> FigureUncertainty {
    FigureUncertainty {
        figure: WaveformFigure::FirstPeak,
        time_ns: None,
        unit,
        expanded: expanded.map(decimal),
        k: k.map(decimal),
        coverage: None,
        contributions: Vec::new(),
        document: None,
    }
}

fn with_rule(one: FigureUncertainty, rule: Option<WaveformRule>, r: Option<&str>) -> WaveformUncertainty {
    WaveformUncertainty { figures: vec![one], rule, guard_band: r.map(decimal) }
}

/// Probabilities computed in double precision from the normal distribution (limits 12.75 A to 17.25 A, U = 1.05 A,
/// k = 2, w = U); outcomes by the rules of ILAC-G8:09/2019 4.2.
#[test]
fn the_worked_example_of_first_peaks_comes_out_row_by_row() {
    for (peak, conformity, simple, binary, four) in [
        (12.60, 0.38754848, "fail", "fail", "conditional fail"),
        (12.90, 0.61245152, "pass", "fail", "conditional pass"),
        (13.79, 0.97620169, "pass", "fail", "conditional pass"),
        (13.80, 0.97724987, "pass", "pass", "pass"),
        (15.00, 0.99998178, "pass", "pass", "pass"),
        (16.20, 0.97724987, "pass", "pass", "pass"),
        (16.50, 0.92343627, "pass", "fail", "conditional pass"),
        (17.30, 0.46206286, "fail", "fail", "conditional fail"),
        (18.50, 0.00863397, "fail", "fail", "fail"),
    ] {
        let by = |rule| {
            let stated = first_peak(UncertaintyUnit::Amperes, Some("1.05"), Some("2"));
            decided(peak, &with_rule(stated, Some(rule), Some("1")))
        };
        for (rule, outcome) in
            [(WaveformRule::Simple, simple), (WaveformRule::GuardBand, binary), (WaveformRule::FourWay, four)]
        {
            let got = by(rule);
            assert_eq!(got.outcome.unwrap().to_string(), outcome, "{peak} A, {rule}: {got:?}");
            assert!((got.conformity.unwrap() - conformity).abs() < 5e-9, "{peak} A: {got:?}");
        }
    }
}

/// Combined standard uncertainty of these lines: 2.712846 % (double-precision arithmetic in Python).
#[test]
fn a_budget_in_percent_gives_the_uncertainty_in_amperes() {
    let line = |what: &str, kind, value: &str| UncertaintyContribution {
        what: what.into(),
        kind,
        value: decimal(value),
        k: (kind == ContributionKind::Normal).then(|| decimal("2")),
        readings: (kind == ContributionKind::TypeA).then_some(5),
        dof: None,
        sensitivity: None,
    };
    use ContributionKind::{Normal, Rectangular, TypeA, UShaped};
    let mut one = first_peak(UncertaintyUnit::Percent, None, Some("2"));
    one.contributions = vec![
        line("target impedance", Normal, "2.0"),
        line("attenuator and cable", Normal, "1.5"),
        line("oscilloscope gain", Rectangular, "2.0"),
        line("resolution", Rectangular, "0.39"),
        line("mismatch", UShaped, "1.5"),
        line("chain flatness", Rectangular, "3.0"),
        line("repeatability", TypeA, "1.2"),
    ];
    let got = decided(15.0, &with_rule(one.clone(), None, None));
    assert_eq!(got.expanded, Some(decimal("0.814")), "2 x 2.712846 % of 15 A: {got:?}");
    assert!(got.rule.is_none() && got.outcome.is_none(), "no rule is stated, so nothing is decided: {got:?}");
    assert!(got.conformity.unwrap() > 0.99);
    one.k = None;
    one.coverage = Some(decimal("0.95"));
    let got = decided(15.0, &with_rule(one, Some(WaveformRule::GuardBand), Some("1")));
    // Only the repeatability has finite degrees of freedom: 4 (2.712846 / 0.536656)^4 = 2612.0.
    assert!((got.dof.unwrap() - 2612.0).abs() < 0.1, "{got:?}");
    assert_eq!(got.k, Some(decimal("1.961")));
}

/// The acceptance limit is the tolerance limit and the whole guard band (ILAC-G8:09/2019 4.2): 12.75 A + 1.0504 A.
/// Rounded to 1.05 A first, the band would let 13.8002 A pass.
#[test]
fn the_decision_rests_on_the_uncertainty_before_it_is_rounded_for_the_reader() {
    let by = |peak| {
        let stated = first_peak(UncertaintyUnit::Amperes, Some("1.0504"), Some("2"));
        decided(peak, &with_rule(stated, Some(WaveformRule::GuardBand), Some("1")))
    };
    let short = by(13.8002);
    assert_eq!(short.outcome.unwrap().to_string(), "fail", "{short:?}");
    assert_eq!(short.expanded, Some(decimal("1.05")), "the reader sees three digits");
    assert_eq!(short.accepts, Some((decimal("13.8004"), decimal("16.1996"))));
    assert_eq!(by(13.8004).outcome.unwrap().to_string(), "pass");
}

#[test]
fn what_is_not_stated_is_named_and_nothing_is_decided() {
    let why = |one: FigureUncertainty, rule: Option<WaveformRule>| {
        let got = decided(15.0, &with_rule(one, rule, None));
        assert!(got.outcome.is_none(), "{got:?}");
        (got.how, got.rule)
    };
    let stated = |k| first_peak(UncertaintyUnit::Percent, Some("7"), k);
    assert!(why(stated(None), None).0.contains("coverage factor is not stated"));
    assert!(
        why(first_peak(UncertaintyUnit::Nanoseconds, Some("7"), Some("2")), None).0.contains("given in ns")
    );
    assert!(why(first_peak(UncertaintyUnit::Amperes, None, None), None).0.contains("nor a budget"));
    let (_, rule) = why(stated(Some("2")), Some(WaveformRule::FourWay));
    assert!(rule.unwrap().contains("guard band is not stated"));
}
