//! What is looked at before the first discharge of a day, and the cautions for whoever works at high voltage: said once,
//! for the form and the paper sheet alike.

use crate::Required;
use crate::standard::{Given, SetupLimit, Standard, Status};
use record::{Application, Arrangement, Decimal, Item, SetupCheckKind};

/// Cautions that belong on anything that guides work at high voltage.
pub const CAUTIONS: &[&str] = &[
    "Local rules, the standard itself, the makers' instructions and trained staff come first.",
    "People with a pacemaker or another implant keep away.",
    "Never touch the tip or the return cable in use.",
    "Discharge coupling planes and the item before you handle them.",
    "No explosive atmosphere, no flammable gas or vapour.",
    "Repair only by qualified people.",
];

/// A caution for a form on a screen.
pub const CAUTION_FOR_SCREENS: &str = "Discharges can upset this tablet too: keep it, its cable and its charger well away from the generator, the planes and the item (common practice, no source).";

/// What to do before anything of the set-up is touched, and how far limits can be trusted.
pub const BEFORE_CHECKS: &str = "Switch the generator off and discharge planes and item before you touch them. Limits marked as memory or practice are not from the standard's text: the standard itself decides.";

/// The check of the spark, before and after the shots.
pub const SPARK_CHECK: &str = "spark to the plane, none to an insulating part";

/// A check of the set-up: a reading where it has a unit, else a look.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchCheck {
    /// Its name within a day.
    pub key: String,
    /// Its kind in the record.
    pub kind: SetupCheckKind,
    /// What is looked at or measured.
    pub what: String,
    /// Unit of the reading.
    pub unit: Option<String>,
    /// Nominal value.
    pub nominal: Option<Decimal>,
    /// Least value in order.
    pub least: Option<Decimal>,
    /// Greatest value in order.
    pub most: Option<Decimal>,
    /// How the weaker end of the limits is known.
    pub status: Option<Status>,
}

impl BenchCheck {
    fn look(key: &str, kind: SetupCheckKind, what: &str) -> Self {
        Self {
            key: key.into(),
            kind,
            what: what.into(),
            unit: None,
            nominal: None,
            least: None,
            most: None,
            status: None,
        }
    }

    fn reading(key: String, what: String, limit: &SetupLimit) -> Self {
        let value = |end: &Option<Given<Decimal>>| end.as_ref().map(|given| given.value);
        let ends = [&limit.least, &limit.most];
        Self {
            key,
            kind: limit.kind,
            what,
            unit: Some(limit.unit.clone()),
            nominal: value(&limit.nominal),
            least: value(&limit.least),
            most: value(&limit.most),
            status: ends
                .iter()
                .filter_map(|end| end.as_ref().map(|given| given.status))
                .max_by_key(|s| weakness(*s)),
        }
    }

    /// The limits in words, such as `846 to 1034 kohm`; none for a look.
    pub fn limits(&self) -> Option<String> {
        let unit = self.unit.as_deref()?;
        Some(match (self.least, self.most) {
            (Some(least), Some(most)) => format!("{least} to {most} {unit}"),
            (Some(least), None) => format!("at least {least} {unit}"),
            (None, Some(most)) => format!("at most {most} {unit}"),
            (None, None) => unit.to_owned(),
        })
    }
}

/// The weaker a value is known, the greater.
fn weakness(status: Status) -> u8 {
    match status {
        Status::Seen => 0,
        Status::Computed => 1,
        Status::SecondHand => 2,
        Status::Memory => 3,
        Status::Practice => 4,
        Status::Unknown => 5,
    }
}

/// The checks of a day before the spark check, in the order in which they are made.
pub fn bench_checks(standard: Option<&Standard>, plan: &[Required], item: &Item) -> Vec<BenchCheck> {
    let limits = standard.map(|standard| standard.setup_limits.as_slice()).unwrap_or_default();
    // The limits of a single resistor, which may follow, are for whoever looks for a fault.
    let (bleeders, others): (Vec<_>, Vec<_>) =
        limits.iter().partition(|limit| limit.kind == SetupCheckKind::Bleeder);
    let mut checks = Vec::new();
    if let Some(whole) = bleeders.first() {
        let vertical = plan.iter().any(|required| required.application == Application::Vcp);
        for plane in ["horizontal", "vertical"].into_iter().take(if vertical { 2 } else { 1 }) {
            // Both cables are measured end to end: an open resistor is a fault that nobody sees.
            let what = format!("bleeder cable of the {plane} plane, end to end");
            checks.push(BenchCheck::reading(format!("bleeder-{plane}"), what, whole));
        }
    }
    let cable = "return cable connected, its course clear of metal and of the item";
    checks.push(BenchCheck::look("strap", SetupCheckKind::Strap, cable));
    let shown = "the generator shows the voltage that was set";
    checks.push(BenchCheck::look("voltage", SetupCheckKind::Voltage, shown));
    let floor = item.arrangement == Some(Arrangement::FloorStanding);
    let others = others.into_iter().filter(|limit| limit.kind != SetupCheckKind::Insulation || !floor);
    for (limit, number) in others.zip(1..) {
        checks.push(BenchCheck::reading(format!("{}-{number}", limit.kind), limit.what.clone(), limit));
    }
    checks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_check_has_its_own_name_and_a_job_without_a_vertical_plane_no_second_cable() {
        let text = include_str!("../../../shared/standards/iec-61000-4-2-ed2.toml");
        let standard = Standard::parse("iec-61000-4-2-ed2.toml", text).unwrap();
        let checks = bench_checks(Some(&standard), &[], &Item::default());
        let mut keys: Vec<&str> = checks.iter().map(|check| check.key.as_str()).collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), checks.len());
        assert!(checks.iter().any(|check| check.what.contains("horizontal plane")));
        assert!(!checks.iter().any(|check| check.what.contains("vertical plane, end to end")));
        let floor = Item { arrangement: Some(Arrangement::FloorStanding), ..Item::default() };
        assert!(
            bench_checks(Some(&standard), &[], &floor).len() < checks.len(),
            "no insulation on the table"
        );
    }
}
