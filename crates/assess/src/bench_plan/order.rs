//! The order of series, and the hand work between them.

use super::{BenchSeries, HandWork};
use record::{Application, Decimal};
use std::collections::BTreeMap;

/// Puts series in the order of work: sharp tip before round, planes together, voltage rising, so that the item
/// meets the mildest discharges first; at each setting all points, in the order of the plan.
pub(super) fn arrange(series: &mut [BenchSeries]) {
    let mut point_order: BTreeMap<String, usize> = BTreeMap::new();
    let mut numbered: Vec<(usize, String)> =
        series.iter().map(|s| (s.number, s.required.point.to_string())).collect();
    numbered.sort();
    for (_, point) in numbered {
        let next = point_order.len();
        point_order.entry(point).or_insert(next);
    }
    let kind = |application: Application| match application {
        Application::Contact => 0,
        Application::Hcp => 1,
        Application::Vcp => 2,
        Application::Air => 3,
    };
    series.sort_by_key(|s| {
        let required = &s.required;
        let point = point_order.get(required.point.as_str()).copied().unwrap_or(usize::MAX);
        // A plane is moved once for all voltages; other points are walked at each setting.
        let plane = if required.application == Application::Vcp { point } else { 0 };
        (
            required.mode.as_ref().map(ToString::to_string),
            kind(required.application),
            plane,
            required.voltage_kv,
            required.polarity,
            point,
            s.number,
        )
    });
}

/// Adds up the hand work of each series from what changes against the one before.
pub(super) fn reckon(series: &mut [BenchSeries], hand: &HandWork) {
    let mut before: Option<BenchSeries> = None;
    for own in series.iter_mut() {
        let mut seconds = hand.look_s;
        let required = &own.required;
        let last = before.as_ref().map(|b| &b.required);
        if before.as_ref().is_some_and(|b| b.tip.value != own.tip.value) {
            seconds += hand.tip_s;
        }
        if last.is_none_or(|l| (l.voltage_kv, l.polarity) != (required.voltage_kv, required.polarity)) {
            seconds += hand.setting_s;
        }
        if last.is_none_or(|l| l.point != required.point || l.application != required.application) {
            seconds += if required.application == Application::Vcp { hand.plane_s } else { hand.point_s };
        }
        if required.application == Application::Air {
            seconds += hand.approach_s * Decimal::from(own.discharges);
        }
        if own.charge_removal.is_some() {
            seconds += hand.charge_removal_s * Decimal::from(own.discharges);
        }
        own.hand_s = seconds;
        before = Some(own.clone());
    }
}
