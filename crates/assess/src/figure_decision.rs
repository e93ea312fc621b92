//! A waveform figure with the uncertainty that the laboratory states, held against its limits by the stated rule.

use crate::assessment::FigureDecision;
use crate::decision::{DecisionRule, Measured, ToleranceLimits, decide};
use crate::special::Confidence;
use crate::standard::{WaveformQuantity, number};
use crate::uncertainty::{Budget, Combined, DofRule, Input, InputUncertainty, expanded};
use record::{
    ContributionKind, Decimal, FigureUncertainty, RoundingStrategy, UncertaintyContribution, UncertaintyUnit,
    WaveformFigure, WaveformRule, WaveformUncertainty,
};

/// What is stated for a figure.
pub(crate) fn stated(given: &WaveformUncertainty, quantity: WaveformQuantity) -> Option<&FigureUncertainty> {
    given.figures.iter().find(|one| match (one.figure, quantity) {
        (WaveformFigure::FirstPeak, WaveformQuantity::PeakCurrent)
        | (WaveformFigure::RiseTime, WaveformQuantity::RiseTime) => true,
        (WaveformFigure::CurrentAt, WaveformQuantity::CurrentAt { time_ns }) => one.time_ns == Some(time_ns),
        _ => false,
    })
}

/// The name under which the figure stands among those compared with limits.
pub(crate) fn name(one: &FigureUncertainty) -> String {
    match (one.figure, one.time_ns) {
        (WaveformFigure::FirstPeak, _) => WaveformQuantity::PeakCurrent.to_string(),
        (WaveformFigure::RiseTime, _) => WaveformQuantity::RiseTime.to_string(),
        (WaveformFigure::CurrentAt, Some(time_ns)) => WaveformQuantity::CurrentAt { time_ns }.to_string(),
        (WaveformFigure::CurrentAt, None) => "current at a time that is not stated".to_owned(),
    }
}

/// The expanded uncertainty of a figure as it was worked out, its coverage factor, and what they follow from.
struct Worked {
    /// Not rounded: the decision rests on it, the reader sees it with three digits.
    expanded: Decimal,
    k: Decimal,
    dof: Option<f64>,
    how: String,
}

/// Decides about a figure: its magnitude, and the limits where there are any.
pub(crate) fn decision(
    given: &WaveformUncertainty,
    one: &FigureUncertainty,
    unit: &str,
    magnitude: Decimal,
    limits: Option<(Decimal, Decimal)>,
) -> FigureDecision {
    let worked = match work_out(one, unit, magnitude) {
        Ok(worked) => worked,
        Err(why) => {
            return FigureDecision {
                expanded: None,
                k: None,
                dof: None,
                how: format!("the uncertainty can't be worked out: {why}"),
                rule: None,
                outcome: None,
                accepts: None,
                conformity: None,
            };
        }
    };
    let mut result = FigureDecision {
        expanded: Some(three_digits(worked.expanded)),
        k: Some(worked.k),
        dof: worked.dof.filter(|dof| dof.is_finite()),
        how: worked.how,
        rule: None,
        outcome: None,
        accepts: None,
        conformity: None,
    };
    let Some((least, most)) = limits else { return result };
    let limits = ToleranceLimits::new(Some(least), Some(most));
    let measured = Measured::new(magnitude, worked.expanded, worked.k);
    let (Ok(limits), Ok(measured)) = (limits, measured) else { return result };
    let rule = match rule(given) {
        Some(Ok(rule)) => rule,
        Some(Err(why)) => {
            result.rule = Some(why);
            return result;
        }
        None => {
            // Without a rule there is no decision; the probability is a fact all the same.
            result.conformity =
                decide(measured, limits, DecisionRule::Simple).ok().map(|d| d.conformity.within);
            return result;
        }
    };
    result.rule = Some(rule.to_string());
    if let Ok(decided) = decide(measured, limits, rule) {
        result.outcome = Some(decided.outcome);
        result.accepts = decided.accept_from.zip(decided.accept_to).map(|(from, to)| acceptance(from, to));
        result.conformity = Some(decided.conformity.within);
    }
    result
}

/// The rule as it is stated; in words what is missing.
fn rule(given: &WaveformUncertainty) -> Option<Result<DecisionRule, String>> {
    let width = || given.guard_band.ok_or_else(|| "the width of the guard band is not stated".to_owned());
    Some(match given.rule? {
        WaveformRule::Simple => Ok(DecisionRule::Simple),
        WaveformRule::GuardBand => width().map(|r| DecisionRule::Binary { r }),
        WaveformRule::FourWay => width().map(|r| DecisionRule::FourWay { r }),
    })
}

fn work_out(one: &FigureUncertainty, unit: &str, magnitude: Decimal) -> Result<Worked, String> {
    // What a value in the stated unit is in the figure's.
    let scale = match one.unit {
        UncertaintyUnit::Percent => magnitude / Decimal::ONE_HUNDRED,
        UncertaintyUnit::Amperes | UncertaintyUnit::Nanoseconds if one.unit.as_str() == unit => Decimal::ONE,
        other => return Err(format!("it is given in {other}, the figure in {unit}")),
    };
    let document = one.document.as_ref().map(|name| format!(" ({name})")).unwrap_or_default();
    if let Some(stated) = one.expanded {
        if !one.contributions.is_empty() {
            return Err("both an expanded uncertainty and a budget are stated".to_owned());
        }
        let k = one.k.ok_or("its coverage factor is not stated")?;
        if stated < Decimal::ZERO || k <= Decimal::ZERO {
            return Err("an uncertainty is not negative, and a coverage factor above 0".to_owned());
        }
        let expanded = stated.checked_mul(scale).ok_or("it is too large")?;
        let how = format!("stated as {} {}, k = {}{document}", stated.normalize(), one.unit, k.normalize());
        return Ok(Worked { expanded, k, dof: None, how });
    }
    if one.contributions.is_empty() {
        return Err("neither an expanded uncertainty nor a budget is stated".to_owned());
    }
    let combined = combine(&one.contributions)?;
    let (k, rule) = match (one.k, one.coverage) {
        (Some(_), Some(_)) => {
            return Err("both a coverage factor and a coverage probability are stated".into());
        }
        (None, None) => return Err("neither a coverage factor nor a coverage probability is stated".into()),
        (Some(k), None) if k > Decimal::ZERO => (k, "k as agreed".to_owned()),
        (Some(_), None) => return Err("a coverage factor is above 0".to_owned()),
        (None, Some(probability)) => from_coverage(&combined, probability)?,
    };
    let standard = decimal(combined.standard).ok_or("the budget gives no finite uncertainty")?;
    let expanded =
        standard.checked_mul(k).and_then(|value| value.checked_mul(scale)).ok_or("it is too large")?;
    let how = format!(
        "budget of {} contributions: combined standard uncertainty {} {}, {rule}{document}",
        one.contributions.len(),
        three_digits(standard),
        one.unit
    );
    Ok(Worked { expanded, k, dof: combined.dof, how })
}

fn combine(lines: &[UncertaintyContribution]) -> Result<Combined, String> {
    let of = |line: &UncertaintyContribution| -> Result<(Input, f64), String> {
        let bad = |why: &dyn std::fmt::Display| format!("`{}`: {why}", line.what);
        let value = number(line.value);
        let uncertainty = match line.kind {
            ContributionKind::Normal => {
                let k = line.k.ok_or_else(|| bad(&"its coverage factor is not stated"))?;
                InputUncertainty::normal(value, number(k))
            }
            ContributionKind::Standard => InputUncertainty::standard(value),
            ContributionKind::Rectangular => InputUncertainty::rectangular(value),
            ContributionKind::UShaped => InputUncertainty::u_shaped(value),
            ContributionKind::Triangular => InputUncertainty::triangular(value),
            ContributionKind::TypeA => {
                let readings = line.readings.ok_or_else(|| bad(&"its number of readings is not stated"))?;
                InputUncertainty::mean_of(readings, value)
            }
        };
        let uncertainty = match line.dof {
            Some(dof) => uncertainty.and_then(|uncertainty| uncertainty.with_dof(number(dof))),
            None => uncertainty,
        };
        let uncertainty = uncertainty.map_err(|error| bad(&error))?;
        Ok((Input::new(line.what.clone(), 0.0, uncertainty), line.sensitivity.map_or(1.0, number)))
    };
    let lines = lines.iter().map(of).collect::<Result<Vec<_>, _>>()?;
    Budget::additive(lines).and_then(|budget| budget.combined()).map_err(|error| error.to_string())
}

/// A coverage factor from Student's t; to 3 decimals, as tables print it.
fn from_coverage(combined: &Combined, probability: Decimal) -> Result<(Decimal, String), String> {
    let probability = Confidence::new(probability).map_err(|error| error.to_string())?;
    let covered = expanded(combined, probability, DofRule::Truncated)
        .ok_or("the effective degrees of freedom are not defined")?;
    let k = decimal(covered.used.k).map(|k| k.round_dp(3)).ok_or("its coverage factor is not finite")?;
    let dof = match combined.dof {
        Some(dof) if dof.is_finite() => {
            format!("{dof:.1} effective degrees of freedom, truncated to {}", covered.used.dof)
        }
        _ => "infinite degrees of freedom".to_owned(),
    };
    let k_text = k.normalize();
    Ok((k, format!("k = {k_text} from Student's t for {probability} with {dof}")))
}

fn decimal(value: f64) -> Option<Decimal> {
    Decimal::from_scientific(&format!("{value:.8e}")).ok()
}

/// Limits of acceptance to 9 significant digits, towards each other: what is printed never accepts more than was decided.
fn acceptance(from: Decimal, to: Decimal) -> (Decimal, Decimal) {
    let nine = |value: Decimal, how| value.round_sf_with_strategy(9, how).unwrap_or(value).normalize();
    (nine(from, RoundingStrategy::ToPositiveInfinity), nine(to, RoundingStrategy::ToNegativeInfinity))
}

/// Rounded to 3 significant digits, half to even, for a reader: an uncertainty is not known better.
fn three_digits(value: Decimal) -> Decimal {
    value.round_sf(3).unwrap_or(value).normalize()
}
