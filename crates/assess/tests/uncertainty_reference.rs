//! Budgets, coverage factors and decisions held against the outside suite (../shared/reference/uncertainty), every row.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use assess::decision::*;
use assess::special::{Confidence, Tail, student_t_quantile};
use assess::uncertainty::*;
use record::{Decimal, parse_decimal};
use serde_json::Value;
use std::path::Path;

/// A file of the outside suite; none, with a line that says so, where the suite is not beside the project.
fn outside(name: &str) -> Option<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/uncertainty").join(name);
    let text = std::fs::read_to_string(&path).ok();
    if text.is_none() {
        println!("SKIPPED: {} is not there", path.display());
    }
    text
}

#[track_caller]
fn close(got: f64, truth: f64, relative: f64, what: &str) {
    let off = if truth == 0.0 { got.abs() } else { ((got - truth) / truth).abs() };
    assert!(off <= relative, "{what}: {got:e} for {truth:e}, {off:.1e} off");
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn confidence(value: &Value) -> Confidence {
    Confidence::new(parse_decimal(&value.to_string()).unwrap()).unwrap()
}

fn decimal(text: &str) -> Decimal {
    parse_decimal(text).unwrap()
}

/// The suite's sensitivities are differences over small steps, good to about six digits where the inputs differ much in
/// size; ours are exact.
const NUMERICAL_DERIVATIVE: f64 = 2e-6;

fn budget(case: &Value) -> Budget {
    let inputs = case["inputs"].as_array().unwrap().iter().map(|input| {
        let mut uncertainty = InputUncertainty::standard(number(&input["u"])).unwrap();
        if let Some(dof) = input["dof"].as_f64() {
            uncertainty = uncertainty.with_dof(dof).unwrap();
        }
        Input::new(input["name"].as_str().unwrap(), number(&input["estimate"]), uncertainty)
    });
    let formula = Formula::parse(case["model"].as_str().unwrap()).unwrap();
    let mut budget = Budget::of_formula(formula, inputs.collect()).unwrap();
    for pair in case["correlation"].as_array().into_iter().flatten() {
        budget.correlate(pair[0].as_str().unwrap(), pair[1].as_str().unwrap(), number(&pair[2])).unwrap();
    }
    budget
}

fn hold_budget(case: &Value) {
    let (id, expected) = (case["id"].as_str().unwrap(), &case["expected"]);
    let combined = budget(case).combined().unwrap();
    close(combined.estimate, number(&expected["y"]), 1e-13, id);
    let largest = combined.contributions.iter().map(|line| line.contribution.abs()).fold(0.0, f64::max);
    for line in &combined.contributions {
        let truth = number(&expected["sensitivities"][line.name.as_str()]);
        let off = (line.sensitivity - truth).abs() * line.standard;
        assert!(off <= NUMERICAL_DERIVATIVE * largest, "{id}: {line:?} for {truth}");
    }
    hold_coverage(id, &combined, expected, NUMERICAL_DERIVATIVE);
}

fn hold_coverage(id: &str, combined: &Combined, expected: &Value, tolerance: f64) {
    close(combined.standard, number(&expected["u"]), 2e-9, id);
    match expected["nu_eff"].as_f64() {
        Some(truth) => close(combined.dof.unwrap(), truth, tolerance, id),
        None => assert_eq!(combined.dof, Some(f64::INFINITY), "{id}"),
    }
    for (rule, k, u) in [
        (DofRule::AsComputed, "k_nu_exact", "U_nu_exact"),
        (DofRule::Truncated, "k_nu_truncated", "U_nu_truncated"),
    ] {
        let got = expanded(combined, confidence(&expected["p"]), rule).unwrap();
        close(got.used.k, number(&expected[k]), tolerance, id);
        close(got.used.expanded, number(&expected[u]), tolerance, id);
    }
}

fn hold_conformity(case: &Value) {
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let id = case["id"].as_str().unwrap();
    let text = |key: &str| decimal(&inputs[key].to_string());
    let limits = ToleranceLimits::new(Some(text("TL")), Some(text("TU"))).unwrap();
    let measured = Measured::new(text("y"), text("u"), Decimal::ONE).unwrap();
    close(probability_of_conformity(measured, limits).within, number(&expected["p_conform"]), 1e-12, id);
}

#[test]
fn every_reference_case_of_uncertainty_agrees() {
    let Some(text) = outside("cases.json") else { return };
    let cases: Vec<Value> = serde_json::from_str(&text).unwrap();
    for case in &cases {
        let (id, inputs, expected) = (case["id"].as_str().unwrap(), &case["inputs"], &case["expected"]);
        match case["kind"].as_str().unwrap() {
            "budget" | "budget-correlated" => hold_budget(case),
            "welch-satterthwaite" => {
                let parts = inputs["relative_u_percent"].as_array().unwrap().iter().map(number);
                let dofs = inputs["dof"].as_array().unwrap().iter().map(number);
                let lines = parts.zip(dofs).enumerate().map(|(index, (u, dof))| {
                    let u = InputUncertainty::standard(u).unwrap().with_dof(dof).unwrap();
                    (Input::new(index.to_string(), 0.0, u), 1.0)
                });
                let combined = Budget::additive(lines.collect()).unwrap().combined().unwrap();
                close(combined.standard, number(&expected["u"]), 1e-14, id);
                close(combined.dof.unwrap(), number(&expected["nu_eff"]), 1e-13, id);
                let truncated = expanded(&combined, Confidence::ninety_five(), DofRule::Truncated).unwrap();
                close(truncated.used.k, number(&expected["t95"]), 1e-12, id);
                assert_eq!(truncated.used.dof, 18.0);
                close(student_t_quantile(19.0, Tail::Upper(0.025)), number(&expected["t95_nu19"]), 1e-12, id);
            }
            "propagation-of-distributions" => {
                let lines = (0..4).map(|index| {
                    (Input::new(index.to_string(), 0.0, InputUncertainty::standard(1.0).unwrap()), 1.0)
                });
                let combined = Budget::additive(lines.collect()).unwrap().combined().unwrap();
                close(combined.standard, number(&expected["u"]), 1e-15, id);
                let got = expanded(&combined, Confidence::ninety_five(), DofRule::AsComputed).unwrap();
                close(got.used.expanded, number(&expected["interval95"][1]), 1e-12, id);
            }
            "conformity" => hold_conformity(case),
            "guard-band" => {
                let got = proof_of_excess(
                    number(&inputs["limit"]),
                    number(&inputs["relative_u"]),
                    confidence(&inputs["p_min"]),
                );
                close(got.unwrap(), number(&expected["acceptance"]), 1e-12, id);
            }
            "global-risk" => {
                let limits = ToleranceLimits::new(Some(decimal("1499.8")), Some(decimal("1500.2"))).unwrap();
                let prior = Prior::normal(1500.0, 0.12).unwrap();
                let got = global_risks(prior, number(&inputs["u_m"]), limits, Decimal::ZERO).unwrap();
                close(got.nonconforming, number(&expected["p_nonconforming"]), 1e-10, id);
                close(got.consumer, number(&expected["consumer_risk"]), 1e-10, id);
                close(got.producer, number(&expected["producer_risk"]), 1e-10, id);
                assert!(got.change < 1e-12, "{got:?}");
            }
            "decision-rule" => {
                let got = false_accept_at_acceptance_limit(number(&inputs["w_over_U"]), number(&inputs["k"]));
                close(got, number(&expected["max_false_accept"]), 1e-12, id);
            }
            other => panic!("{id}: no check for the kind `{other}`"),
        }
    }
    assert_eq!(cases.len(), 19);
}

#[test]
fn every_reference_coverage_factor_agrees() {
    let Some(text) = outside("t_factors.csv") else { return };
    let mut rows = 0;
    for line in text.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let p = Confidence::new(decimal(fields[1])).unwrap();
        let dof = if fields[0].starts_with("inf") { f64::INFINITY } else { fields[0].parse().unwrap() };
        let got = student_t_quantile(dof, Tail::Upper(0.5 * p.risk()));
        close(got, fields[2].parse().unwrap(), 1e-12, line);
        rows += 1;
    }
    assert_eq!(rows, 90);
}

#[test]
fn every_reference_decision_agrees() {
    let Some(text) = outside("decisions.csv") else { return };
    let mut rows = 0;
    for line in text.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let optional = |at: usize| (!fields[at].is_empty()).then(|| decimal(fields[at]));
        let measured = Measured::new(decimal(fields[0]), decimal(fields[1]), decimal(fields[2])).unwrap();
        let limits = ToleranceLimits::new(optional(3), optional(4)).unwrap();
        let r = decimal(fields[5]);
        let by = |rule: DecisionRule| decide(measured, limits, rule).unwrap();
        assert_eq!(by(DecisionRule::Simple).outcome.to_string(), fields[7], "{line}");
        assert_eq!(by(DecisionRule::Binary { r }).outcome.to_string(), fields[8], "{line}");
        let four = by(DecisionRule::FourWay { r });
        assert_eq!(four.outcome.to_string(), fields[9], "{line}");
        let truth: f64 = fields[6].parse().unwrap();
        assert!((four.conformity.within - truth).abs() <= 6e-13, "{line}: {:?}", four.conformity);
        rows += 1;
    }
    assert_eq!(rows, 120);
}
