//! Reference cases of budgets, coverage factors and their cross-check.

use super::Computed;
use super::inputs::Inputs;
use crate::uncertainty::{
    Budget, CoverageInterval, DofRule, Formula, Input, InputUncertainty, MonteCarlo, Random, cross_check,
    dof_from_reliability, expanded, expanded_with_k, numerical_tolerance, observed, simultaneous,
};

const INPUT: &str = "uncertainty::InputUncertainty";
const COMBINED: &str = "uncertainty::Budget::combined";

pub(super) fn compute(kind: &str, inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    match kind {
        "budget" => of_budget(inputs),
        "readings" => of_readings(inputs),
        "simulation" => of_simulation(inputs),
        "reliability" => {
            let dof = dof_from_reliability(inputs.number("relative")?).map_err(|error| error.to_string())?;
            Ok(vec![Computed::number("uncertainty::dof_from_reliability", "dof", dof)])
        }
        "tolerance" => {
            let tolerance = numerical_tolerance(inputs.number("standard")?, inputs.count("digits")? as u32);
            Ok(vec![Computed::number("uncertainty::numerical_tolerance", "tolerance", tolerance)])
        }
        "random block" => {
            let words = |key: &str| -> Result<Vec<u64>, String> {
                let words = inputs.list(key)?.iter().filter_map(toml::Value::as_str);
                words.map(|word| u64::from_str_radix(word, 16).map_err(|error| error.to_string())).collect()
            };
            let key = words("key")?.try_into().map_err(|_| "the key has 2 words")?;
            let counter = words("counter")?.try_into().map_err(|_| "the counter has 4 words")?;
            let shown = Random::block(key, counter).map(|word| format!("{word:016x}")).join(" ");
            Ok(vec![Computed::words("uncertainty::Random::block", "words", shown)])
        }
        other => Err(format!("no kind `{other}`")),
    }
}

fn input(given: Inputs<'_>) -> Result<Input, String> {
    let uncertainty = if given.has("standard") {
        InputUncertainty::standard(given.number("standard")?)
    } else if given.has("expanded") {
        InputUncertainty::normal(given.number("expanded")?, given.number("k")?)
    } else if given.has("rectangular") {
        InputUncertainty::rectangular(given.number("rectangular")?)
    } else if given.has("u_shaped") {
        InputUncertainty::u_shaped(given.number("u_shaped")?)
    } else if given.has("triangular") {
        InputUncertainty::triangular(given.number("triangular")?)
    } else if given.has("step") {
        InputUncertainty::resolution(given.number("step")?)
    } else {
        InputUncertainty::mean_of(given.count("readings")? as u32, given.number("deviation")?)
    };
    let uncertainty = match given.has("dof") {
        true => {
            uncertainty.and_then(|uncertainty| uncertainty.with_dof(given.number("dof").unwrap_or(f64::NAN)))
        }
        false => uncertainty,
    };
    let uncertainty = uncertainty.map_err(|error| error.to_string())?;
    Ok(Input::new(given.text("name")?, given.number_or("estimate", 0.0)?, uncertainty))
}

/// A budget from a formula, or from sensitivities (1 where none is stated), with its correlations.
fn budget(inputs: Inputs<'_>) -> Result<Budget, String> {
    let given = inputs.tables("inputs")?;
    let built = if inputs.has("formula") {
        let formula = Formula::parse(inputs.text("formula")?).map_err(|error| error.to_string())?;
        let list: Result<Vec<Input>, String> = given.iter().map(|one| input(*one)).collect();
        Budget::of_formula(formula, list?)
    } else {
        let line = |one: &Inputs<'_>| Ok((input(*one)?, one.number_or("sensitivity", 1.0)?));
        let lines: Result<Vec<(Input, f64)>, String> = given.iter().map(line).collect();
        Budget::additive(lines?)
    };
    let mut budget = built.map_err(|error| error.to_string())?;
    for pair in inputs.tables("correlations")? {
        let stated = budget.correlate(pair.text("first")?, pair.text("second")?, pair.number("r")?);
        stated.map_err(|error| error.to_string())?;
    }
    Ok(budget)
}

fn of_budget(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    let budget = budget(inputs)?;
    let combined = budget.combined().map_err(|error| error.to_string())?;
    let mut all = vec![
        Computed::number(COMBINED, "estimate", combined.estimate),
        Computed::number(COMBINED, "standard", combined.standard),
        Computed::number(COMBINED, "relative_standard", combined.standard / combined.estimate),
    ];
    all.extend(combined.dof.map(|dof| Computed::number(COMBINED, "dof", dof)));
    for line in &combined.contributions {
        let name = &line.name;
        all.push(Computed::number(INPUT, format!("standard of {name}"), line.standard));
        all.push(Computed::number(COMBINED, format!("contribution of {name}"), line.contribution.abs()));
        let slope = if inputs.has("formula") { "uncertainty::Formula::gradient" } else { COMBINED };
        all.push(Computed::number(slope, format!("sensitivity to {name}"), line.sensitivity));
    }
    if let Ok(standard) = budget.combined_second_order() {
        all.push(Computed::number("uncertainty::Budget::combined_second_order", "second_order", standard));
    }
    if inputs.has("coverage_factor") {
        let k = inputs.number("coverage_factor")?;
        let stated = expanded_with_k(&combined, k).map_err(|error| error.to_string())?;
        all.push(Computed::number("uncertainty::expanded_with_k", "expanded", stated));
    }
    if inputs.has("probability") {
        let rule = match inputs.text("rule")? {
            "truncated" => DofRule::Truncated,
            "as computed" => DofRule::AsComputed,
            other => return Err(format!("no rule `{other}`")),
        };
        let covered = expanded(&combined, inputs.confidence("probability")?, rule)
            .ok_or("the effective degrees of freedom are not defined")?;
        for (figure, value) in [
            ("k", covered.used.k),
            ("expanded", covered.used.expanded),
            ("dof_used", covered.used.dof),
            ("k_by_the_other_rule", covered.other.k),
        ] {
            all.push(Computed::number("uncertainty::expanded", figure, value));
        }
    }
    Ok(all)
}

/// Readings of several quantities together: `names`, and the readings of each under its name.
fn of_readings(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    let names: Vec<&str> = inputs.list("names")?.iter().filter_map(toml::Value::as_str).collect();
    let readings = names.iter().map(|name| inputs.numbers(name)).collect::<Result<Vec<_>, _>>()?;
    let series: Vec<&[f64]> = readings.iter().map(Vec::as_slice).collect();
    let mut all = Vec::new();
    for (name, readings) in names.iter().zip(&series) {
        const FUNCTION: &str = "uncertainty::observed";
        let one = observed(readings).map_err(|error| error.to_string())?;
        all.push(Computed::number(FUNCTION, format!("mean of {name}"), one.mean));
        all.push(Computed::number(FUNCTION, format!("deviation of {name}"), one.deviation));
        let standard = one.uncertainty.standard_uncertainty();
        all.push(Computed::number(FUNCTION, format!("standard of {name}"), standard));
    }
    if series.len() > 1 {
        let (_, rows) = simultaneous(&series).map_err(|error| error.to_string())?;
        for (first, row) in names.iter().zip(&rows) {
            for (second, r) in names.iter().zip(row) {
                let figure = format!("r of {first} and {second}");
                all.push(Computed::number("uncertainty::simultaneous", figure, *r));
            }
        }
    }
    Ok(all)
}

fn of_simulation(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FUNCTION: &str = "uncertainty::MonteCarlo::simulate";
    let budget = budget(inputs)?;
    let shortest = inputs.has("interval") && inputs.text("interval")? == "shortest";
    let interval = if shortest { CoverageInterval::Shortest } else { CoverageInterval::Symmetric };
    let simulation = MonteCarlo {
        seed: inputs.count("seed")?,
        probability: inputs.confidence("probability")?,
        interval,
        trials: inputs.count("trials")?,
        digits: None,
    };
    let got = simulation.simulate(&budget).map_err(|error| error.to_string())?;
    let mut all: Vec<Computed> =
        [("mean", got.mean), ("standard", got.standard), ("low", got.low), ("high", got.high)]
            .map(|(figure, value)| Computed::number(FUNCTION, figure, value))
            .into();
    if inputs.has("digits") {
        let combined = budget.combined().map_err(|error| error.to_string())?;
        let covered = expanded(&combined, inputs.confidence("probability")?, DofRule::AsComputed)
            .ok_or("the effective degrees of freedom are not defined")?;
        let check = cross_check(&combined, covered.used.expanded, &got, inputs.count("digits")? as u32);
        all.push(Computed::words(
            "uncertainty::cross_check",
            "validated",
            if check.agrees { "yes" } else { "no" },
        ));
    }
    Ok(all)
}
