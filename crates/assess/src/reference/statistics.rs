//! Reference cases of statistics.

use super::Computed;
use super::inputs::Inputs;
use crate::special::{Confidence, Probability};
use crate::statistics::{
    ControlChart, FailureRate, IntervalMethod, RisingRun, Shot, Side, Trend, Trials, UpAndDown,
    chance_of_a_failure, chance_of_no_failure, fisher_exact, grubbs, interval, probit_threshold,
    rising_step_threshold, shots_needed, up_and_down_threshold,
};
use record::{Kilovolts, parse_decimal};

const EXACT: &str = "statistics::exact_interval";
const INTERVAL: &str = "statistics::interval";
const FISHER: &str = "statistics::fisher_exact";

/// One value of a table: its kind, then four counts or empty and a level.
pub(super) fn of_row(kind: &str, fields: &[&str]) -> Option<(&'static str, f64)> {
    let counts: Vec<u64> = fields.get(..4)?.iter().filter_map(|text| text.parse().ok()).collect();
    let level = *fields.get(4)?;
    let by = |side, method| {
        let confidence = Confidence::new(parse_decimal(level).ok()?).ok()?;
        Some(interval(Trials::new(*counts.first()?, *counts.get(1)?).ok()?, confidence, side, method))
    };
    let fisher = || {
        let pair = |at: usize| Trials::new(*counts.get(at)?, *counts.get(at + 1)?).ok();
        Some(fisher_exact(pair(0)?, pair(2)?))
    };
    let probability = || Probability::new(level.parse().ok()?).ok();
    use IntervalMethod::{ClopperPearson, Jeffreys, Wilson};
    Some(match kind {
        "exact_low" => (EXACT, by(Side::Both, ClopperPearson)?.low),
        "exact_high" => (EXACT, by(Side::Both, ClopperPearson)?.high),
        "exact_only_low" => (EXACT, by(Side::Lower, ClopperPearson)?.low),
        "exact_only_high" => (EXACT, by(Side::Upper, ClopperPearson)?.high),
        "wilson_low" => (INTERVAL, by(Side::Both, Wilson)?.low),
        "wilson_high" => (INTERVAL, by(Side::Both, Wilson)?.high),
        "jeffreys_low" => (INTERVAL, by(Side::Both, Jeffreys)?.low),
        "jeffreys_high" => (INTERVAL, by(Side::Both, Jeffreys)?.high),
        "fisher_either" => (FISHER, fisher()?.either),
        "fisher_fewer_after" => (FISHER, fisher()?.fewer_after),
        "fisher_more_after" => (FISHER, fisher()?.more_after),
        "chance_of_no_failure" => {
            ("statistics::chance_of_no_failure", chance_of_no_failure(probability()?, *counts.first()?))
        }
        "chance_of_a_failure" => {
            ("statistics::chance_of_a_failure", chance_of_a_failure(probability()?, *counts.first()?))
        }
        _ => return None,
    })
}

pub(super) fn compute(kind: &str, inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    match kind {
        "interval" => of_interval(inputs),
        "shots needed" => {
            let below = probability(inputs)?;
            let allowed = if inputs.has("allowed") { inputs.count("allowed")? } else { 0 };
            let needed = shots_needed(below, inputs.confidence("confidence")?, allowed);
            let needed = needed.map_err(|error| error.to_string())?;
            Ok(vec![Computed::number("statistics::shots_needed", "shots", needed as f64)])
        }
        "chance" => {
            let (per_shot, shots) = (probability(inputs)?, inputs.count("shots")?);
            Ok(vec![
                Computed::number(
                    "statistics::chance_of_a_failure",
                    "a_failure",
                    chance_of_a_failure(per_shot, shots),
                ),
                Computed::number(
                    "statistics::chance_of_no_failure",
                    "no_failure",
                    chance_of_no_failure(per_shot, shots),
                ),
            ])
        }
        "before and after" => {
            let of = |failures: &str, shots: &str| trials(inputs.count(failures)?, inputs.count(shots)?);
            let got = fisher_exact(of("failures_before", "before")?, of("failures_after", "after")?);
            let figures =
                [("either", got.either), ("fewer_after", got.fewer_after), ("more_after", got.more_after)];
            Ok(figures.map(|(figure, value)| Computed::number(FISHER, figure, value)).into())
        }
        "probit" => of_probit(inputs),
        "up and down" => of_up_and_down(inputs),
        "rising" => of_rising(inputs),
        "outlier" => of_outlier(inputs),
        "control chart" => of_control_chart(inputs),
        "trend" => of_trend(inputs),
        other => Err(format!("no kind `{other}`")),
    }
}

fn probability(inputs: Inputs<'_>) -> Result<Probability, String> {
    Probability::new(inputs.number("per_shot")?).map_err(|error| error.to_string())
}

fn trials(failures: u64, shots: u64) -> Result<Trials, String> {
    Trials::new(failures, shots).map_err(|error| error.to_string())
}

fn of_interval(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    let (function, method) = match inputs.text("method")? {
        "exact" => (EXACT, IntervalMethod::ClopperPearson),
        "score" => (INTERVAL, IntervalMethod::Wilson),
        "jeffreys" => (INTERVAL, IntervalMethod::Jeffreys),
        "jeffreys, closed" => (INTERVAL, IntervalMethod::JeffreysClosed),
        other => return Err(format!("no method `{other}`")),
    };
    let side = side(inputs)?;
    let trials = trials(inputs.count("failures")?, inputs.count("shots")?)?;
    let got = interval(trials, inputs.confidence("confidence")?, side, method);
    Ok(vec![Computed::number(function, "low", got.low), Computed::number(function, "high", got.high)])
}

fn side(inputs: Inputs<'_>) -> Result<Side, String> {
    match if inputs.has("side") { inputs.text("side")? } else { "both" } {
        "both" => Ok(Side::Both),
        "upper" => Ok(Side::Upper),
        "lower" => Ok(Side::Lower),
        other => Err(format!("no side `{other}`")),
    }
}

fn of_outlier(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FUNCTION: &str = "statistics::grubbs";
    let got = grubbs(&inputs.numbers("readings")?, inputs.confidence("confidence")?, side(inputs)?)
        .map_err(|error| error.to_string())?;
    Ok(vec![
        Computed::number(FUNCTION, "statistic", got.statistic),
        Computed::number(FUNCTION, "critical", got.critical),
        Computed::number(FUNCTION, "index", got.index as f64),
        Computed::words(FUNCTION, "outlier", if got.is_outlier() { "yes" } else { "no" }),
    ])
}

fn of_control_chart(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FUNCTION: &str = "statistics::ControlChart::of";
    let got = ControlChart::of(&inputs.numbers("readings")?).map_err(|error| error.to_string())?;
    let figures =
        [("centre", got.centre), ("mean_range", got.mean_range), ("low", got.low), ("high", got.high)];
    let mut all: Vec<Computed> =
        figures.map(|(figure, value)| Computed::number(FUNCTION, figure, value)).into();
    all.push(Computed::number(FUNCTION, "outside", got.outside.len() as f64));
    Ok(all)
}

fn of_trend(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FIT: &str = "statistics::Trend::fit";
    const CROSSING: &str = "statistics::Trend::crossing";
    let trend = Trend::fit(&inputs.numbers("times")?, &inputs.numbers("values")?)
        .map_err(|error| error.to_string())?;
    let mut all: Vec<Computed> = [
        ("slope", trend.slope),
        ("intercept", trend.intercept),
        ("slope_standard", trend.slope_standard),
        ("intercept_standard", trend.intercept_standard),
        ("residual", trend.residual),
    ]
    .map(|(figure, value)| Computed::number(FIT, figure, value))
    .into();
    if inputs.has("limit") {
        match trend.crossing(inputs.number("limit")?, inputs.confidence("confidence")?) {
            Some(crossing) => all.extend(
                [("at", crossing.at), ("from", crossing.from), ("to", crossing.to)]
                    .map(|(figure, value)| Computed::number(CROSSING, figure, value)),
            ),
            None => all.push(Computed::words(CROSSING, "at", "no trend is shown")),
        }
    }
    Ok(all)
}

fn kilovolts(text: &str) -> Result<Kilovolts, String> {
    Kilovolts::parse(text).map_err(|error| error.to_string())
}

fn of_probit(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FUNCTION: &str = "statistics::probit_threshold";
    let levels = inputs.list("levels_kv")?.iter().filter_map(toml::Value::as_str);
    let counts = inputs.numbers("failures")?.into_iter().zip(inputs.numbers("shots")?);
    let rates: Result<Vec<FailureRate>, String> = levels
        .zip(counts)
        .map(|(level, (failures, shots))| {
            Ok(FailureRate { level: kilovolts(level)?, trials: trials(failures as u64, shots as u64)? })
        })
        .collect();
    let got = probit_threshold(&rates?, Confidence::ninety_five()).map_err(|error| error.to_string())?;
    let got = got.map_err(|error| error.to_string())?;
    let mut all = vec![Computed::number(FUNCTION, "threshold_kv", got.threshold_kv)];
    if let Some(spread) = got.spread_kv {
        all.push(Computed::number(FUNCTION, "spread_kv", spread));
        all.push(Computed::number(FUNCTION, "slope", 1.0 / spread));
        all.push(Computed::number(FUNCTION, "intercept", -got.threshold_kv / spread));
    }
    for (figure, limit) in [("low_kv", got.limits.low_kv), ("high_kv", got.limits.high_kv)] {
        all.push(match limit {
            Some(limit) => Computed::number(FUNCTION, figure, limit),
            None => Computed::words(FUNCTION, figure, "none"),
        });
    }
    Ok(all)
}

fn of_up_and_down(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FUNCTION: &str = "statistics::up_and_down_threshold";
    let failed = inputs.text("outcomes")?.chars().map(|outcome| outcome == 'x');
    let levels = inputs.list("levels_kv")?.iter().filter_map(toml::Value::as_str);
    let shots: Result<Vec<Shot>, String> =
        levels.zip(failed).map(|(level, failed)| Ok(Shot { level: kilovolts(level)?, failed })).collect();
    let sequence = UpAndDown::new(shots?).map_err(|error| error.to_string())?;
    let got =
        up_and_down_threshold(&sequence, Confidence::ninety_five()).map_err(|error| error.to_string())?;
    let mut all = vec![
        Computed::number(FUNCTION, "threshold_kv", got.threshold_kv),
        Computed::number(FUNCTION, "counted", got.counted as f64),
    ];
    all.extend(got.spread_kv.ok().map(|spread| Computed::number(FUNCTION, "spread_kv", spread)));
    Ok(all)
}

fn of_rising(inputs: Inputs<'_>) -> Result<Vec<Computed>, String> {
    const FUNCTION: &str = "statistics::rising_step_threshold";
    let first = kilovolts(inputs.text("first_kv")?)?;
    let failed = inputs.list("failed_kv")?.iter().filter_map(toml::Value::as_str);
    let runs: Result<Vec<RisingRun>, String> = failed
        .map(|level| RisingRun::new(&[first], Some(kilovolts(level)?)).map_err(|error| error.to_string()))
        .collect();
    let got = rising_step_threshold(&runs?, inputs.confidence("confidence")?);
    let mut all = Vec::new();
    all.extend(got.up_to_kv.map(|up_to| Computed::number(FUNCTION, "up_to_kv", up_to)));
    match got.limits {
        Ok(limits) => {
            all.extend(limits.low_kv.map(|low| Computed::number(FUNCTION, "low_kv", low)));
            all.extend(limits.high_kv.map(|high| Computed::number(FUNCTION, "high_kv", high)));
        }
        Err(why) => all.push(Computed::words(FUNCTION, "no_limits", why)),
    }
    Ok(all)
}
