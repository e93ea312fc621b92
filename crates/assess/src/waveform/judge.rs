//! Figures of a waveform against the limits of a standard.

use super::figure::{Figure, Figures};
use crate::standard::{Standard, TimeOrigin, WaveformLimit, WaveformQuantity};
use record::{Decimal, Kilovolts, Ohms, Picofarads};

/// How a figure is compared with its limits; printed with every result.
pub const COMPARISON_RULE: &str = "the magnitude of the figure, rounded to 9 significant digits (half to even), is \
compared with the exact decimal limits; a figure equal to a limit is within; measurement uncertainty is not \
taken into account";

/// What the comparison of a figure with its limits gives.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Compared {
    /// Inside the limits, or equal to one of them.
    Within,
    /// Outside.
    Outside,
    /// There is nothing to compare, and why.
    NotDeterminable(String),
}

/// A figure beside its limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The limit as the standard's data give it.
    pub limit: WaveformLimit,
    /// Nominal value at the charge voltage, in the figure's unit, where the limit has one.
    pub nominal: Option<Decimal>,
    /// Least value inside.
    pub least: Decimal,
    /// Greatest value inside.
    pub most: Decimal,
    /// Magnitude of the figure as it was compared: 9 significant digits.
    pub value: Option<Decimal>,
    /// The outcome.
    pub compared: Compared,
}

/// Compares figures with every limit that the standard has for a network (the standard's own where none is
/// stated), at the magnitude of a charge voltage. Empty where the standard has no limits for that network.
pub fn judge(
    figures: &Figures,
    standard: &Standard,
    charge_kv: Kilovolts,
    network: Option<(Picofarads, Ohms)>,
) -> Vec<Judged> {
    let limits = standard.waveform_limits(network);
    limits.filter_map(|limit| compare(figures, limit, charge_kv)).collect()
}

fn compare(figures: &Figures, limit: &WaveformLimit, charge_kv: Kilovolts) -> Option<Judged> {
    let (nominal, span) = limit.at(charge_kv)?;
    let absent = |why: &str| Err(why.to_owned());
    let figure = match limit.quantity {
        WaveformQuantity::PeakCurrent => read(&figures.peak_current_a),
        WaveformQuantity::RiseTime if figures.samples_on_edge.is_some_and(|count| count < 3) => {
            absent("fewer than 3 samples lie on the edge")
        }
        WaveformQuantity::RiseTime => read(&figures.rise_time_ns),
        WaveformQuantity::CurrentAt { time_ns } => {
            match limit.time_origin.as_ref().map(|origin| origin.value) {
                Some(TimeOrigin::TenPercent) => match figures.current_at(time_ns) {
                    Some(figure) => read(figure),
                    None => absent("the current at that time was not asked for"),
                },
                Some(TimeOrigin::Peak | TimeOrigin::Unknown) | None => {
                    absent("the standard's data do not count the time from the crossing of 10 %")
                }
            }
        }
    };
    let (value, compared) =
        match figure.and_then(|value| nine_digits(value).ok_or_else(|| "out of range".to_owned())) {
            Err(why) => (None, Compared::NotDeterminable(why)),
            Ok(value) if span.holds(&value) => (Some(value), Compared::Within),
            Ok(value) => (Some(value), Compared::Outside),
        };
    Some(Judged { limit: limit.clone(), nominal, least: span.least, most: span.most, value, compared })
}

fn read(figure: &Figure) -> Result<f64, String> {
    match figure {
        Figure::Found(value) => Ok(value.abs()),
        Figure::Absent(why) => Err(why.clone()),
    }
}

/// A number rounded to 9 significant digits, half to even.
fn nine_digits(value: f64) -> Option<Decimal> {
    Decimal::from_scientific(&format!("{value:.8e}")).ok().map(|value| value.normalize())
}
