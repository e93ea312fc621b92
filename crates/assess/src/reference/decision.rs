//! Reference cases of decision rules and their risks.

use super::Computed;
use super::inputs::Inputs;
use crate::decision::{
    DecisionRule, Measured, Prior, ToleranceLimits, decide, false_accept_at_acceptance_limit, global_risks,
    guard_band_for, probability_of_conformity, proof_of_excess,
};
use record::Decimal;

pub(super) fn compute(kind: &str, inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    match kind {
        "conformity" => {
            const FUNCTION: &str = "decision::probability_of_conformity";
            let got = probability_of_conformity(measured(inputs)?, limits(inputs)?);
            let figures = [("within", got.within), ("below", got.below), ("above", got.above)];
            Ok(figures.map(|(figure, value)| Computed::number(FUNCTION, figure, value)).into())
        }
        "decision" => of_decision(inputs),
        "false accept" => {
            let risk = false_accept_at_acceptance_limit(inputs.number("r")?, inputs.number("k")?);
            Ok(vec![Computed::number("decision::false_accept_at_acceptance_limit", "risk", risk)])
        }
        "guard band" => {
            let width = guard_band_for(inputs.confidence("probability")?, inputs.number("standard")?);
            let width = width.map_err(|error| error.to_string())?;
            Ok(vec![Computed::number("decision::guard_band_for", "width", width)])
        }
        "proof of excess" => {
            let at = proof_of_excess(
                inputs.number("limit")?,
                inputs.number("relative")?,
                inputs.confidence("probability")?,
            );
            let at = at.map_err(|error| error.to_string())?;
            Ok(vec![Computed::number("decision::proof_of_excess", "from", at)])
        }
        "global risk" => of_global_risk(inputs),
        other => Err(format!("no kind `{other}`")),
    }
}

fn measured(inputs: Inputs<'_>) -> Result<Measured, String> {
    let k = if inputs.has("k") { inputs.decimal("k")? } else { Decimal::ONE };
    let uncertainty = inputs.decimal(if inputs.has("expanded") { "expanded" } else { "standard" })?;
    Measured::new(inputs.decimal("value")?, uncertainty, k).map_err(|error| error.to_string())
}

fn limits(inputs: Inputs<'_>) -> Result<ToleranceLimits, String> {
    ToleranceLimits::new(inputs.optional_decimal("lower")?, inputs.optional_decimal("upper")?)
        .map_err(|error| error.to_string())
}

fn of_decision(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FUNCTION: &str = "decision::decide";
    let (measured, limits, r) = (measured(inputs)?, limits(inputs)?, inputs.decimal("r")?);
    let by = |rule| decide(measured, limits, rule).map_err(|error| error.to_string());
    let four = by(DecisionRule::FourWay { r })?;
    Ok(vec![
        Computed::words(FUNCTION, "simple", by(DecisionRule::Simple)?.outcome),
        Computed::words(FUNCTION, "binary", by(DecisionRule::Binary { r })?.outcome),
        Computed::words(FUNCTION, "four_way", four.outcome),
        Computed::number(FUNCTION, "within", four.conformity.within),
        Computed::number("decision::Decision::specific_risk", "specific_risk", four.specific_risk()),
    ])
}

fn of_global_risk(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FUNCTION: &str = "decision::global_risks";
    let (mean, deviation) = (inputs.number("prior_mean")?, inputs.number("prior_deviation")?);
    let prior = match inputs.text("prior")? {
        "normal" => Prior::normal(mean, deviation),
        "gamma" => Prior::gamma(mean, deviation),
        other => return Err(format!("no prior `{other}`")),
    };
    let prior = prior.map_err(|error| error.to_string())?;
    let got = global_risks(prior, inputs.number("standard")?, limits(inputs)?, inputs.decimal("guard_band")?)
        .map_err(|error| error.to_string())?;
    let figures =
        [("nonconforming", got.nonconforming), ("consumer", got.consumer), ("producer", got.producer)];
    Ok(figures.map(|(figure, value)| Computed::number(FUNCTION, figure, value)).into())
}
