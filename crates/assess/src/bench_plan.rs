//! The plan as it is worked through at the bench: series in order, tip, positions of the planes, charge
//! removal, and the time that it takes with hand work.

mod charge;
mod order;
mod planes;

pub use charge::{ChargeFigures, ShotFigures};
pub use planes::{Faces, PlanePosition};

use crate::assessment::{Reason, Required};
use crate::place::Places;
use crate::standard::{Given, Standard, Status};
use record::{Application, Decimal, Record, Stated, Tip};

/// Seconds that a person takes beside the discharges; common practice, no source, to be replaced by the
/// laboratory's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HandWork {
    /// To change the tip.
    pub tip_s: Decimal,
    /// To set another voltage or polarity.
    pub setting_s: Decimal,
    /// To go to another point and take up the position.
    pub point_s: Decimal,
    /// To move the vertical plane.
    pub plane_s: Decimal,
    /// Beside the interval, for each air approach: arm, approach, withdraw.
    pub approach_s: Decimal,
    /// For each discharge to an item that is not earthed: take its charge off.
    pub charge_removal_s: Decimal,
    /// To look at the item after each series and to write down what was seen.
    pub look_s: Decimal,
}

impl Default for HandWork {
    fn default() -> Self {
        let seconds = |s: u32| Decimal::from(s);
        Self {
            tip_s: seconds(60),
            setting_s: seconds(10),
            point_s: seconds(20),
            plane_s: seconds(120),
            approach_s: seconds(3),
            charge_removal_s: seconds(3),
            look_s: seconds(15),
        }
    }
}

/// One series at the bench.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchSeries {
    /// What is required.
    pub required: Required,
    /// Position of the series in the standard's plan ([`crate::Assessment::plan`]).
    pub number: usize,
    /// Discharges to apply: all that are required, or what is owed.
    pub discharges: u32,
    /// The tip, and how the standard's demand for it is known.
    pub tip: Given<Tip>,
    /// What to do before each discharge, for an item that is not earthed.
    pub charge_removal: Option<String>,
    /// Why it is owed; none in a plan of everything.
    pub why: Option<String>,
    /// Time of the discharges at their interval, in seconds.
    pub discharges_s: Decimal,
    /// Hand work, in seconds.
    pub hand_s: Decimal,
}

/// The plan at the bench.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchPlan {
    /// Series in the order in which they are applied.
    pub series: Vec<BenchSeries>,
    /// Why some of it can't be worked out.
    pub problems: Vec<Reason>,
    /// Positions of the coupling planes, from the item's dimensions.
    pub positions: Vec<PlanePosition>,
    /// What a person should know before starting, each with how it is known.
    pub notes: Vec<(String, Option<Status>)>,
    /// Energy, charge and times.
    pub charge: ChargeFigures,
    /// The hand work that was reckoned with.
    pub hand: HandWork,
}

impl BenchPlan {
    /// Time of the discharges and of the hand work, in minutes.
    pub fn minutes(&self) -> (Decimal, Decimal) {
        let sixty = Decimal::from(60);
        let sum = |of: fn(&BenchSeries) -> Decimal| self.series.iter().map(of).sum::<Decimal>() / sixty;
        (sum(|s| s.discharges_s).round_dp(1), sum(|s| s.hand_s).round_dp(1))
    }

    /// Number of discharges.
    pub fn discharges(&self) -> u64 {
        self.series.iter().map(|s| u64::from(s.discharges)).sum()
    }
}

/// The whole plan of a record under a standard's data.
pub fn bench_plan(record: &Record, standard: &Standard, hand: HandWork) -> BenchPlan {
    let places = Places::new(record);
    let (plan, problems) = crate::plan::required(&places, standard);
    let wanted = (0..plan.len()).filter_map(|row| Some((row, plan.get(row)?.count, None))).collect();
    made(record, standard, hand, &plan, problems, wanted)
}

/// What is owed of it, as the shortest list of an assessment says; see [`crate::owed`].
pub(crate) fn made(
    record: &Record,
    standard: &Standard,
    hand: HandWork,
    plan: &[Required],
    problems: Vec<Reason>,
    wanted: Vec<(usize, u32, Option<String>)>,
) -> BenchPlan {
    let unearthed = record.facts.item.earthed == Stated::Stated(false);
    let removal = match (&record.facts.charge_removal, unearthed) {
        (_, false) => None,
        (Stated::Stated(removal), true) => Some(removal.method.clone()),
        (_, true) => Some("take the charge off (method not stated)".to_owned()),
    };
    let mut series: Vec<BenchSeries> = wanted
        .into_iter()
        .filter_map(|(number, discharges, why)| {
            let required = plan.get(number)?.clone();
            let air = required.application == Application::Air;
            let tip = if air { &standard.rules.air_tip } else { &standard.rules.contact_tip };
            let removal = removal.clone().filter(|_| !required.application.is_indirect());
            Some(BenchSeries {
                discharges_s: required.interval_s.as_s() * Decimal::from(discharges),
                required,
                number,
                discharges,
                tip: tip.clone(),
                charge_removal: removal,
                why,
                hand_s: Decimal::ZERO,
            })
        })
        .collect();
    order::arrange(&mut series);
    order::reckon(&mut series, &hand);
    let (positions, mut notes) = planes::positions(record, standard);
    notes.extend(cautions(record, standard, &series));
    let charge = charge::figures(record, standard, &series);
    BenchPlan { series, problems, positions, notes, charge, hand }
}

/// What a person should know before starting.
fn cautions(record: &Record, standard: &Standard, series: &[BenchSeries]) -> Vec<(String, Option<Status>)> {
    let mut notes = vec![(
        "High voltage: local rules, the standard itself and trained staff come first. Nobody with a pacemaker or other implant at the bench.".to_owned(),
        None,
    )];
    let earthed = &record.facts.item.earthed;
    let rule = &standard.evidence.charge_removal_unearthed;
    let direct = series.iter().any(|s| !s.required.application.is_indirect());
    if direct && earthed.is_not_stated() {
        notes.push((
            "whether the item is earthed is not stated: if it is not, take its charge off before each discharge".into(),
            Some(rule.status),
        ));
    }
    if direct && *earthed == Stated::Stated(false) {
        notes.push((
            format!("the item is not earthed: take its charge off before each discharge ({})", rule.clause),
            Some(rule.status),
        ));
    }
    if series.iter().any(|s| s.required.application == Application::Air) {
        notes.push((
            "air: approach as fast as possible without damage, withdraw after each discharge; no ionizer while air discharges are applied".into(),
            Some(Status::Memory),
        ));
        for climate in &standard.climate {
            let humidity = climate.humidity_percent.as_ref();
            if let Some(given) = humidity.filter(|_| climate.applies_to.value.contains(&Application::Air)) {
                notes.push((
                    format!(
                        "read the climate before starting and during the day: {} to {} relative humidity",
                        given.value.least.as_percent(),
                        given.value.most
                    ),
                    Some(given.status),
                ));
            }
        }
    }
    let kinds: Vec<&str> = standard.evidence.setup_kinds.value.iter().map(|k| k.as_str()).collect();
    if standard.evidence.setup_verification.value {
        notes.push((
            format!("verify the set-up before the first discharge of the day ({})", kinds.join(", ")),
            Some(standard.evidence.setup_verification.status),
        ));
    }
    notes
}
