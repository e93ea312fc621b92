//! From standard, level and points to the series that are required.

use crate::assessment::{Reason, Required, Rule, Verdict};
use crate::place::Places;
use crate::standard::Standard;
use record::{Application, Kilovolts, ModeId, Plan, Polarity, PolarityRule};

/// The series required, and why some of them can't be worked out.
pub(crate) fn required(places: &Places<'_>, standard: &Standard) -> (Vec<Required>, Vec<Reason>) {
    let facts = &places.record.facts;
    let plan = &facts.plan;
    let mut problems = Vec::new();
    let mut unknown = |text: String, path: &str| {
        problems
            .push(Reason::new(Rule::PlanUnknown, Some(Verdict::Undetermined), text).at(places.fact(path)));
    };
    let polarities: &[Polarity] = match plan.polarity {
        Some(PolarityRule::Both) => &[Polarity::Positive, Polarity::Negative],
        Some(PolarityRule::Positive) => &[Polarity::Positive],
        Some(PolarityRule::Negative) => &[Polarity::Negative],
        None => {
            unknown("the plan does not say which polarities are required".into(), "/plan/polarity");
            &[]
        }
    };
    if matches!(plan.polarity, Some(PolarityRule::Positive | PolarityRule::Negative))
        && plan.polarity_basis.is_none()
    {
        unknown("the plan asks for one polarity and does not say on what basis".into(), "/plan/polarity");
    }
    if facts.points.iter().all(|point| point.excluded.is_some()) {
        unknown("the plan names no points".into(), "/points");
    }
    let ladder = Ladder::new(plan, standard);
    if let Err(text) = &ladder {
        unknown(text.clone(), "/plan");
    }
    let modes: Vec<Option<ModeId>> =
        if plan.modes.is_empty() { vec![None] } else { plan.modes.iter().cloned().map(Some).collect() };
    let count = plan.discharges.unwrap_or(standard.rules.discharges.value);
    if count < standard.rules.discharges.value {
        unknown(
            format!(
                "the plan asks for {count} discharges, {} for at least {} ({})",
                standard.full_name(),
                standard.rules.discharges.value,
                standard.rules.discharges.status
            ),
            "/plan/discharges",
        );
    }
    let interval_s = plan.interval_s.unwrap_or(standard.rules.interval_s.value);
    let mut series = Vec::new();
    for (index, point) in facts.points.iter().enumerate() {
        if point.excluded.is_some() {
            continue;
        }
        if point.applications.is_empty() {
            unknown(
                format!("point {} does not say how discharges are applied", point.id),
                &format!("/points/{index}"),
            );
        }
        for application in &point.applications {
            let Ok(ladder) = &ladder else { continue };
            let voltages = ladder.voltages(*application);
            if voltages.is_empty() {
                unknown(
                    format!(
                        "the plan has no voltage for {application} discharge, which point {} needs",
                        point.id
                    ),
                    &format!("/points/{index}"),
                );
            }
            for voltage_kv in voltages {
                for mode in &modes {
                    for polarity in polarities {
                        series.push(Required {
                            point: point.id.clone(),
                            application: *application,
                            polarity: *polarity,
                            voltage_kv: *voltage_kv,
                            mode: mode.clone(),
                            count,
                            interval_s,
                        });
                    }
                }
            }
        }
    }
    (series, problems)
}

/// The voltages that the plan requires, rising, per kind of discharge.
struct Ladder {
    contact: Vec<Kilovolts>,
    air: Vec<Kilovolts>,
    indirect: Vec<Kilovolts>,
}

impl Ladder {
    fn new(plan: &Plan, standard: &Standard) -> Result<Self, String> {
        let own = !(plan.contact_kv.is_empty() && plan.air_kv.is_empty() && plan.indirect_kv.is_empty());
        let (contact, air) = match (&plan.level, own) {
            (_, true) => (plan.contact_kv.clone(), plan.air_kv.clone()),
            (None, false) => return Err("the plan names neither a level nor voltages of its own".into()),
            (Some(name), false) => {
                let Some(level) = standard.level(name) else {
                    let known: Vec<&str> = standard.levels.iter().map(|l| l.name.as_str()).collect();
                    return Err(format!(
                        "{} has no level `{name}`; it has {}",
                        standard.full_name(),
                        known.join(", ")
                    ));
                };
                if level.contact_kv.is_none() && level.air_kv.is_none() {
                    return Err(format!("level {name} is open: the plan must state its voltages"));
                }
                let below =
                    |top: Kilovolts, lower: bool, pick: fn(&crate::standard::Level) -> Option<Kilovolts>| {
                        standard
                            .levels
                            .iter()
                            .filter_map(pick)
                            .filter(|kv| *kv == top || (lower && *kv < top))
                            .collect::<Vec<_>>()
                    };
                let rules = &standard.rules;
                let contact = level
                    .contact_kv
                    .as_ref()
                    .map(|top| {
                        below(top.value, rules.lower_levels_contact.value, |l| {
                            l.contact_kv.as_ref().map(|g| g.value)
                        })
                    })
                    .unwrap_or_default();
                let air = level
                    .air_kv
                    .as_ref()
                    .map(|top| {
                        below(top.value, rules.lower_levels_air.value, |l| l.air_kv.as_ref().map(|g| g.value))
                    })
                    .unwrap_or_default();
                (contact, air)
            }
        };
        let indirect = if !plan.indirect_kv.is_empty() {
            plan.indirect_kv.clone()
        } else if standard.rules.indirect_uses_contact_level.value {
            contact.clone()
        } else {
            Vec::new()
        };
        let rising = |mut list: Vec<Kilovolts>| {
            list.sort();
            list.dedup();
            list
        };
        Ok(Self { contact: rising(contact), air: rising(air), indirect: rising(indirect) })
    }

    fn voltages(&self, application: Application) -> &[Kilovolts] {
        match application {
            Application::Contact => &self.contact,
            Application::Air => &self.air,
            Application::Hcp | Application::Vcp => &self.indirect,
        }
    }
}
