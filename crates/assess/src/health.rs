//! How a generator's figures go over months: control chart, trend, and when a figure would leave its limits.

use crate::assessment::{Assessment, JudgedFigure};
use crate::special::Confidence;
use crate::standard::number;
use crate::statistics::{ControlChart, Trend};
use record::{Date, Decimal, Kilovolts, Polarity, Record, Verification};
use std::collections::BTreeMap;

/// One figure of one generator, in one polarity at one charge voltage, over time.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureHealth {
    /// The generator: its inventory name, and its serial number where that is stated.
    pub generator: String,
    /// Polarity, where it is stated.
    pub polarity: Option<Polarity>,
    /// Charge voltage, where it is stated.
    pub charge_kv: Option<Kilovolts>,
    /// The figure.
    pub figure: String,
    /// Its unit.
    pub unit: &'static str,
    /// Least and greatest value inside the limits, where they are the same for all readings.
    pub limits: Option<(Decimal, Decimal)>,
    /// Day and mean magnitude of each verification, in the order of time.
    pub readings: Vec<(Date, f64)>,
    /// The control chart; none for a single reading.
    pub chart: Option<ControlChart>,
    /// The trend per day, from the day of the first reading; none with fewer than 3 readings or all on one day.
    pub trend: Option<Trend>,
    /// When the trend reaches a limit; none where no trend is shown.
    pub leaves: Option<Leaving>,
}

/// When a figure would leave its limits if it went on as it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Leaving {
    /// The limit that the figure moves towards.
    pub limit: Decimal,
    /// The day by the trend; none beyond the calendar.
    pub on: Option<Date>,
    /// The earliest day that the readings allow with 95 %.
    pub from: Option<Date>,
    /// The latest such day; none beyond the calendar.
    pub to: Option<Date>,
}

impl FigureHealth {
    /// Level of confidence of the trend and of the days.
    pub fn confidence() -> Confidence {
        Confidence::ninety_five()
    }

    /// Days of the readings that lie outside the control limits.
    pub fn outside(&self) -> Vec<Date> {
        let outside = self.chart.iter().flat_map(|chart| &chart.outside);
        outside.filter_map(|index| self.readings.get(*index)).map(|(day, _)| *day).collect()
    }
}

/// Generator, polarity, charge voltage, and the figure with its place in the order of the limits.
type Key = (String, Option<Polarity>, Option<Kilovolts>, (usize, String));
type Readings = (&'static str, Option<(Decimal, Decimal)>, BTreeMap<String, (Date, f64)>);

/// Readings gathered from one job after the other.
#[derive(Clone, Debug, Default)]
pub struct HealthHistory {
    found: BTreeMap<Key, Readings>,
    not_placed: usize,
}

impl HealthHistory {
    /// Takes the verifications of a job: a reading is the mean over the waveforms of one. The same verification in
    /// several jobs counts once.
    pub fn add(&mut self, record: &Record, assessment: &Assessment) {
        for verification in &record.verifications {
            let (Some(generator), Some(at)) = (generator(record, verification), &verification.at) else {
                self.not_placed += 1;
                continue;
            };
            let traces: Vec<_> =
                assessment.waveforms.iter().filter(|t| t.verification == verification.id).collect();
            let Some(first) = traces.first() else { continue };
            for (place, figure) in first.figures.iter().enumerate() {
                let same = |f: &&JudgedFigure| f.name == figure.name;
                let each = traces.iter().filter_map(|t| t.figures.iter().find(same)?.value).map(f64::abs);
                let (sum, count) = each.fold((0.0, 0u32), |(sum, count), value| (sum + value, count + 1));
                if count == 0 {
                    continue;
                }
                let name = (place, figure.name.clone());
                let key = (generator.clone(), verification.polarity, verification.charge_kv, name);
                let limits = figure.least.zip(figure.most);
                let entry = self.found.entry(key).or_insert_with(|| (figure.unit, limits, BTreeMap::new()));
                if entry.1 != limits {
                    entry.1 = None;
                }
                // The moment as written tells verifications of one day apart, and the same one in two jobs not.
                entry.2.insert(at.to_string(), (at.date(), sum / f64::from(count)));
            }
        }
    }

    /// Verifications that name no generator or no day, and so can't be placed.
    pub fn not_placed(&self) -> usize {
        self.not_placed
    }

    /// The health of every generator, by figure in the order of the limits.
    pub fn health(self) -> Vec<FigureHealth> {
        self.found.into_iter().map(|(key, readings)| figure_health(key, readings)).collect()
    }
}

fn generator(record: &Record, verification: &Verification) -> Option<String> {
    let id = verification.equipment.as_ref().or(record.facts.generator.equipment.as_ref())?;
    let serial = record.facts.equipment.iter().find(|e| e.id == *id).and_then(|e| e.serial.as_ref());
    Some(match serial {
        Some(serial) => format!("{id} ({serial})"),
        None => id.to_string(),
    })
}

fn figure_health(key: Key, (unit, limits, readings): Readings) -> FigureHealth {
    let (generator, polarity, charge_kv, (_, figure)) = key;
    let mut readings: Vec<(Date, f64)> = readings.into_values().collect();
    readings.sort_by_key(|(day, _)| *day);
    let values: Vec<f64> = readings.iter().map(|(_, value)| *value).collect();
    let first = readings.first().map(|(day, _)| *day);
    let days: Vec<f64> =
        readings.iter().filter_map(|(day, _)| first.map(|first| days_between(first, *day))).collect();
    let trend = Trend::fit(&days, &values).ok();
    let leaves = trend.as_ref().zip(limits).zip(first).and_then(|((trend, (least, most)), first)| {
        let limit = if trend.slope < 0.0 { least } else { most };
        let crossing = trend.crossing(number(limit), FigureHealth::confidence())?;
        let day = |days: f64| day_after(first, days);
        Some(Leaving { limit, on: day(crossing.at), from: day(crossing.from), to: day(crossing.to) })
    });
    let chart = ControlChart::of(&values).ok();
    FigureHealth { generator, polarity, charge_kv, figure, unit, limits, readings, chart, trend, leaves }
}

fn days_between(first: Date, day: Date) -> f64 {
    day.duration_since(first).as_hours() as f64 / 24.0
}

/// The whole day in which so many days have passed.
fn day_after(first: Date, days: f64) -> Option<Date> {
    if !(-4e6..4e6).contains(&days) {
        return None;
    }
    let whole = libm::floor(days);
    let span = core::time::Duration::from_secs(whole.abs() as u64 * 86_400);
    if whole < 0.0 { first.checked_sub(span).ok() } else { first.checked_add(span).ok() }
}
