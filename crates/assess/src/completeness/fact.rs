//! Whether a record states a fact that a list asks for.

use record::{AttachmentKind, EquipmentRole, PartPlayed, PolarityRule, Record, Restoration, Stated, Tip};
use std::collections::BTreeSet;

/// What was found of a fact.
pub(super) enum Found {
    /// Stated: in words, and the path of the fact.
    Stated(String, Option<String>),
    /// Missing: which part.
    Missing(String),
    /// It can't apply, and why.
    NotApplicable(String),
}

type Look = fn(&Record) -> Found;

/// Whether a name is a fact.
pub fn is_fact(name: &str) -> bool {
    FACTS.contains(&name)
}

/// Looks for a fact by name.
pub(super) fn look(record: &Record, name: &str) -> Found {
    match TABLE.iter().find(|(known, _)| *known == name) {
        Some((_, look)) => look(record),
        None => Found::Missing(format!("nothing is known by the name {name}")),
    }
}

fn text(value: Option<&String>, what: &str, path: &str) -> Found {
    match value {
        Some(value) => Found::Stated(value.clone(), Some(path.to_owned())),
        None => Found::Missing(format!("{what} is not stated")),
    }
}

fn shown<T: std::fmt::Display>(value: Option<T>, what: &str, path: &str) -> Found {
    match value {
        Some(value) => Found::Stated(value.to_string(), Some(path.to_owned())),
        None => Found::Missing(format!("{what} is not stated")),
    }
}

/// All entries of a list have something; the names of those that don't are given.
fn all<T>(
    list: &[T],
    none: &str,
    path: &str,
    what: &str,
    name: fn(&T) -> String,
    has: impl Fn(&T) -> bool,
) -> Found {
    if list.is_empty() {
        return Found::Missing(none.to_owned());
    }
    let without: Vec<String> = list.iter().filter(|entry| !has(entry)).map(name).collect();
    if without.is_empty() {
        return Found::Stated(format!("{what}: {} of {}", list.len(), list.len()), Some(path.to_owned()));
    }
    let shown: Vec<String> = without.iter().take(6).cloned().collect();
    let more = if without.len() > 6 { format!(" and {} more", without.len() - 6) } else { String::new() };
    Found::Missing(format!("{what} not stated for {}{more}", shown.join(", ")))
}

fn person(record: &Record, part: PartPlayed, what: &str) -> Found {
    let people = &record.facts.people;
    match people.iter().position(|p| p.part == part) {
        Some(index) => Found::Stated(people[index].name.clone(), Some(format!("/people/{index}"))),
        None => Found::Missing(format!("nobody is named who {what}")),
    }
}

fn by_report(what: &str) -> Found {
    Found::Stated(what.to_owned(), None)
}

/// Names of the facts that a list may ask for.
pub const FACTS: &[&str] = &{
    let mut names = [""; TABLE.len()];
    let mut index = 0;
    while index < TABLE.len() {
        names[index] = TABLE[index].0;
        index += 1;
    }
    names
};

const TABLE: &[(&str, Look)] = &[
    ("printed.title", |r| match &r.facts.report.title {
        Some(title) => Found::Stated(title.clone(), Some("/report/title".into())),
        None => by_report("printed by the report"),
    }),
    ("printed.pages", |_| {
        by_report("each page carries the report's identity, its number and the number of pages")
    }),
    ("printed.scope", |_| by_report("printed by the report: the results concern only the item tested")),
    ("printed.copying", |_| by_report("printed by the report")),
    ("printed.results", |r| {
        if r.series.is_empty() {
            Found::Missing("no series is recorded".into())
        } else {
            by_report("the report lists each series with voltage in kV, polarity and count")
        }
    }),
    ("printed.statement", |_| by_report("the report says which series meet the plan, which do not, and why")),
    ("printed.opinions", |_| by_report("the report prints opinions apart, with author and basis")),
    ("printed.uncertainty", |_| {
        Found::NotApplicable(
            "behaviour is classified, not measured: no uncertainty of the result is evaluated".into(),
        )
    }),
    ("software", |_| by_report("name and version of the program stand in report and pack")),
    ("laboratory.name", |r| {
        text(r.facts.laboratory.name.as_ref(), "the laboratory's name", "/laboratory/name")
    }),
    ("laboratory.address", |r| {
        text(r.facts.laboratory.address.as_ref(), "the laboratory's address", "/laboratory/address")
    }),
    ("laboratory.place_of_work", |r| {
        text(
            r.facts.laboratory.place_of_work.as_ref(),
            "where the work was done",
            "/laboratory/place_of_work",
        )
    }),
    ("report.number", |r| text(r.facts.report.number.as_ref(), "the report's number", "/report/number")),
    ("report.issued_on", |r| shown(r.facts.report.issued_on, "the date of issue", "/report/issued_on")),
    ("report.amends", |r| text(r.facts.report.amends.as_ref(), "which report is amended", "/report/amends")),
    ("report.amendment_reason", |r| {
        text(r.facts.report.amendment_reason.as_ref(), "why it was amended", "/report/amendment_reason")
    }),
    ("report.new_number", |r| match (&r.facts.report.number, &r.facts.report.amends) {
        (Some(own), Some(amended)) if own == amended && r.facts.report.revision.is_none() => {
            Found::Missing("a number or revision of its own".into())
        }
        (Some(own), _) => Found::Stated(own.clone(), Some("/report/number".into())),
        (None, _) => Found::Missing("the report's number is not stated".into()),
    }),
    ("client.name", |r| text(r.facts.client.name.as_ref(), "the client's name", "/client/name")),
    ("client.contact", |r| {
        text(r.facts.client.contact.as_ref(), "how to reach the client", "/client/contact")
    }),
    ("receipt.received_on", |r| {
        shown(r.facts.receipt.received_on, "the day of receipt", "/receipt/received_on")
    }),
    ("receipt.condition", |r| {
        text(r.facts.receipt.condition.as_ref(), "the item's condition on receipt", "/receipt/condition")
    }),
    ("work.dates", |r| match (r.facts.work_started, r.facts.work_ended) {
        (Some(first), Some(last)) if first == last => {
            Found::Stated(first.to_string(), Some("/work_started".into()))
        }
        (Some(first), Some(last)) => {
            Found::Stated(format!("{first} to {last}"), Some("/work_started".into()))
        }
        _ => Found::Missing("first and last day of the work are not stated".into()),
    }),
    ("method.standard", |r| text(r.facts.method.standard.as_ref(), "the method", "/method/standard")),
    ("method.deviations", |r| {
        all(
            &r.facts.method.deviations,
            "no departure is stated",
            "/method/deviations",
            "reason of each departure",
            |d| d.what.clone(),
            |d| d.reason.is_some(),
        )
    }),
    ("item.identity", |r| {
        let item = &r.facts.item;
        text(item.name.as_ref().or(item.type_designation.as_ref()), "what the item is", "/item")
    }),
    ("item.type", |r| {
        text(r.facts.item.type_designation.as_ref(), "the item's type", "/item/type_designation")
    }),
    ("item.serial", |r| text(r.facts.item.serial.as_ref(), "the item's serial number", "/item/serial")),
    ("item.hardware_version", |r| {
        text(r.facts.item.hardware_version.as_ref(), "the hardware version", "/item/hardware_version")
    }),
    ("item.firmware_version", |r| {
        text(r.facts.item.firmware_version.as_ref(), "the firmware version", "/item/firmware_version")
    }),
    ("item.arrangement", |r| {
        shown(r.facts.item.arrangement, "how the item stands in the test", "/item/arrangement")
    }),
    ("item.configuration", |r| {
        text(r.facts.item.configuration.as_ref(), "the item's configuration", "/item/configuration")
    }),
    ("item.conditions_of_use", |r| {
        text(r.facts.item.conditions_of_use.as_ref(), "conditions of use", "/item/conditions_of_use")
    }),
    ("item.earthed", |r| match &r.facts.item.earthed {
        Stated::Stated(true) => Found::Stated("earthed".into(), Some("/item/earthed".into())),
        Stated::Stated(false) => Found::Stated("not earthed".into(), Some("/item/earthed".into())),
        Stated::NotApplicable { reason } => Found::NotApplicable(reason.clone()),
        Stated::NotStated => Found::Missing("whether the item is earthed is not stated".into()),
    }),
    ("charge_removal", |r| match &r.facts.charge_removal {
        Stated::Stated(how) => Found::Stated(how.method.clone(), Some("/charge_removal".into())),
        Stated::NotApplicable { reason } => Found::NotApplicable(reason.clone()),
        Stated::NotStated => Found::Missing("how charge was removed is not stated".into()),
    }),
    ("states", |r| {
        all(
            &r.facts.states,
            "no modification state of the item is described",
            "/states",
            "description of each modification state",
            |s| s.id.to_string(),
            |s| s.description.is_some(),
        )
    }),
    ("associated.serials", |r| {
        all(
            &r.facts.associated,
            "no associated equipment is stated",
            "/associated",
            "serial number of associated equipment",
            |a| a.name.clone(),
            |a| a.serial.is_some(),
        )
    }),
    ("modes", |r| {
        all(
            &r.facts.modes,
            "no operating mode is described",
            "/modes",
            "description of each operating mode",
            |m| m.id.to_string(),
            |m| m.description.is_some(),
        )
    }),
    ("functions.monitored_by", |r| {
        all(
            &r.facts.functions,
            "no monitored function is named",
            "/functions",
            "how each function is watched",
            |f| f.id.to_string(),
            |f| f.monitored_by.is_some(),
        )
    }),
    ("functions.allowed_loss", |r| {
        all(
            &r.facts.functions,
            "no monitored function is named",
            "/functions",
            "allowed loss of performance",
            |f| f.id.to_string(),
            |f| f.allowed_loss.is_some(),
        )
    }),
    ("demands", |r| {
        if r.facts.demands.is_empty() {
            Found::Missing("no accepted outcome is stated".into())
        } else {
            let words: Vec<&str> =
                r.facts.demands.iter().flat_map(|d| d.accepted.iter().map(String::as_str)).collect();
            Found::Stated(words.join(", "), Some("/demands".into()))
        }
    }),
    ("demands.basis", |r| {
        all(
            &r.facts.demands,
            "no accepted outcome is stated",
            "/demands",
            "where each demand comes from",
            |d| d.accepted.join(" or "),
            |d| d.basis.is_some(),
        )
    }),
    ("plan.levels", |r| {
        let plan = &r.facts.plan;
        match &plan.level {
            _ if !(plan.contact_kv.is_empty() && plan.air_kv.is_empty() && plan.indirect_kv.is_empty()) => {
                Found::Stated("voltages of the plan's own".into(), Some("/plan".into()))
            }
            Some(level) => Found::Stated(format!("level {level}"), Some("/plan/level".into())),
            None => Found::Missing("neither level nor voltages are stated".into()),
        }
    }),
    ("plan.polarity", |r| match (r.facts.plan.polarity, &r.facts.plan.polarity_basis) {
        (None, _) => Found::Missing("which polarities the plan asks for is not stated".into()),
        (Some(PolarityRule::Both), _) => {
            Found::Stated("both polarities".into(), Some("/plan/polarity".into()))
        }
        (Some(one), Some(basis)) => {
            Found::Stated(format!("{one}: {basis}"), Some("/plan/polarity_basis".into()))
        }
        (Some(_), None) => Found::Missing("on what basis one polarity suffices is not stated".into()),
    }),
    ("plan.chosen_by", |r| {
        text(r.facts.plan.chosen_by.as_ref(), "whose choice the plan is", "/plan/chosen_by")
    }),
    ("test_plan.number", |r| {
        text(r.facts.test_plan.number.as_ref(), "the test plan's identity", "/test_plan/number")
    }),
    ("decision_rule.rule", |r| {
        text(r.facts.decision_rule.rule.as_ref(), "the decision rule", "/decision_rule/rule")
    }),
    ("decision_rule.agreed", |r| {
        let rule = &r.facts.decision_rule;
        match (&rule.agreed_with, rule.agreed_on) {
            (Some(with), Some(on)) => {
                Found::Stated(format!("agreed with {with} on {on}"), Some("/decision_rule".into()))
            }
            (None, _) => Found::Missing("with whom the decision rule was agreed is not stated".into()),
            (Some(_), None) => Found::Missing("when the decision rule was agreed is not stated".into()),
        }
    }),
    ("people.tested", |r| person(r, PartPlayed::Tested, "tested")),
    ("people.checked", |r| person(r, PartPlayed::Checked, "checked records and calculations")),
    ("people.authorised", |r| person(r, PartPlayed::Authorised, "authorises the report")),
    ("equipment.serials", |r| {
        all(
            &r.facts.equipment,
            "no equipment is named",
            "/equipment",
            "serial number of equipment",
            |e| e.id.to_string(),
            |e| e.serial.is_some(),
        )
    }),
    ("equipment.calibration", |r| {
        all(
            &r.facts.equipment,
            "no equipment is named",
            "/equipment",
            "calibration and its end",
            |e| e.id.to_string(),
            |e| {
                (e.calibrated_on.is_some() && e.calibration_due.is_some())
                    || matches!(e.role, Some(EquipmentRole::Monitor | EquipmentRole::Other))
            },
        )
    }),
    ("generator.network", |r| match (r.facts.generator.network_pf, r.facts.generator.network_ohm) {
        (Some(pf), Some(ohm)) => Found::Stated(format!("{pf} / {ohm}"), Some("/generator/network_pf".into())),
        _ => Found::Missing("the generator's network is not stated".into()),
    }),
    ("generator.tips", |r| {
        let mut missing = Vec::new();
        for (air, stated, name) in
            [(false, r.facts.generator.contact_tip, "contact"), (true, r.facts.generator.air_tip, "air")]
        {
            let mut of_kind =
                r.series.iter().filter(|s| (s.application == record::Application::Air) == air).peekable();
            if of_kind.peek().is_some() && stated.is_none() && of_kind.any(|s| s.tip.is_none()) {
                missing.push(name);
            }
        }
        let tips: Vec<&str> = [r.facts.generator.contact_tip, r.facts.generator.air_tip]
            .into_iter()
            .flatten()
            .map(Tip::as_str)
            .collect();
        if missing.is_empty() {
            Found::Stated(tips.join(", "), Some("/generator".into()))
        } else {
            Found::Missing(format!("the tip for {} discharge is not stated", missing.join(" and ")))
        }
    }),
    ("generator.return_cable", |r| {
        text(
            r.facts.generator.return_cable.as_ref(),
            "the course of the return cable",
            "/generator/return_cable",
        )
    }),
    ("climate", |r| {
        all(
            &r.facts.climate,
            "no climate reading is stated",
            "/climate",
            "temperature, humidity and pressure with their time",
            |c| c.at.as_ref().map_or("a reading without time".into(), ToString::to_string),
            |c| {
                c.at.is_some()
                    && c.temperature_c.is_some()
                    && c.humidity_percent.is_some()
                    && c.pressure_hpa.is_some()
            },
        )
    }),
    ("setup_checks", |r| {
        all(
            &r.facts.setup_checks,
            "no check of the set-up is stated",
            "/setup_checks",
            "time and person of each set-up check",
            |c| c.what.clone().unwrap_or_else(|| c.kind.to_string()),
            |c| c.at.is_some() && c.by.is_some(),
        )
    }),
    ("points.applications", |r| {
        all(
            &r.facts.points,
            "no point is described",
            "/points",
            "contact or air at each point",
            |p| p.id.to_string(),
            |p| p.excluded.is_some() || !p.applications.is_empty(),
        )
    }),
    ("points.reasons", |r| {
        all(
            &r.facts.points,
            "no point is described",
            "/points",
            "why each point was chosen or left out",
            |p| p.id.to_string(),
            |p| p.excluded.is_some() || p.reason.is_some() || p.applications.iter().all(|a| a.is_indirect()),
        )
    }),
    ("points.marked", |r| {
        all(
            &r.facts.points,
            "no point is described",
            "/points",
            "mark of each tested point on a picture",
            |p| p.id.to_string(),
            |p| p.excluded.is_some() || (p.picture.is_some() && p.mark.is_some()),
        )
    }),
    ("setup.pictures", |r| {
        let list = &r.facts.attachments;
        let is_picture = |kind| matches!(kind, Some(AttachmentKind::Photo | AttachmentKind::Drawing));
        let count = list.iter().filter(|a| is_picture(a.kind)).count();
        if count > 0 {
            Found::Stated(
                counted(count, "photo or drawing", "photos or drawings"),
                Some("/attachments".into()),
            )
        } else {
            Found::Missing("no photo or drawing is attached".into())
        }
    }),
    ("series.times", |r| {
        all(
            &r.series,
            "no series is recorded",
            "",
            "date and time of each series",
            |s| s.id.to_string(),
            |s| s.started.is_some() || s.shots.iter().any(|shot| shot.at.is_some()),
        )
    }),
    ("series.people", |r| {
        let somebody = r.facts.people.iter().any(|p| p.part == PartPlayed::Tested);
        all(
            &r.series,
            "no series is recorded",
            "",
            "who applied each series",
            |s| s.id.to_string(),
            |s| s.tested_by.is_some() || somebody,
        )
    }),
    ("series.counts", |r| {
        all(
            &r.series,
            "no series is recorded",
            "",
            "count and interval of each series",
            |s| s.id.to_string(),
            |s| s.count > 0 && s.interval_s.is_some(),
        )
    }),
    ("observations.seen", |r| {
        all(&r.observations, "nothing was observed", "", "what was seen, in words", name_of, |o| {
            o.seen.is_some()
        })
    }),
    ("observations.recovery", |r| {
        all(&r.observations, "nothing was observed", "", "who or what restored the function", name_of, |o| {
            !o.restored.is_not_stated()
        })
    }),
    ("observations.duration", |r| {
        all(&r.observations, "nothing was observed", "", "how long each effect lasted", name_of, |o| {
            o.lasted_s.is_some()
                || matches!(o.restored, Stated::Stated(Restoration::NothingLost | Restoration::NotRestored))
        })
    }),
    ("supplied", |r| {
        if r.facts.supplied.is_empty() {
            Found::Missing("who supplied which facts is not stated".into())
        } else {
            let facts: Vec<&str> = r.facts.supplied.iter().map(|s| s.fact.as_str()).collect();
            Found::Stated(facts.join(", "), Some("/supplied".into()))
        }
    }),
    ("external_providers", |r| {
        all(
            &r.facts.external_providers,
            "no work by others is stated",
            "/external_providers",
            "what each provider did",
            |p| p.name.clone(),
            |p| p.what.is_some(),
        )
    }),
    ("opinions.basis", |r| {
        all(
            &r.facts.opinions,
            "no opinion is given",
            "/opinions",
            "basis of each opinion",
            |o| o.by.clone(),
            |o| o.basis.is_some(),
        )
    }),
    ("accreditation_scope", |r| {
        all(
            &r.facts.accreditation_scope,
            "whether the method lies inside the scope of accreditation is not stated",
            "/accreditation_scope",
            "inside or outside the scope",
            |s| s.method.clone(),
            |s| s.inside.is_some(),
        )
    }),
    ("sources", |r| {
        if r.sources.is_empty() {
            Found::Missing("no original file is recorded".into())
        } else {
            let files: BTreeSet<&str> = r.sources.iter().map(|source| source.file()).collect();
            Found::Stated(
                counted(files.len(), "original file with its SHA-256", "original files with their SHA-256"),
                None,
            )
        }
    }),
    ("rulings", |r| {
        let open = r
            .unread
            .iter()
            .filter(|row| {
                let file = r.sources.get(row.source.0 as usize).map(|s| s.name.as_str());
                !r.facts.rulings.iter().any(|x| Some(x.file.as_str()) == file && x.row == row.row)
            })
            .count();
        if open == 0 {
            Found::Stated("every row that could not be read is ruled on".into(), Some("/rulings".into()))
        } else {
            Found::Missing(counted(
                open,
                "row that could not be read has no ruling",
                "rows that could not be read have no ruling",
            ))
        }
    }),
    ("verifications", |r| {
        if r.verifications.is_empty() {
            Found::Missing("no generator waveform is recorded".into())
        } else {
            Found::Stated(
                counted(r.verifications.len(), "verification with waveforms", "verifications with waveforms"),
                None,
            )
        }
    }),
];

/// A number with the words for one or for several.
fn counted(count: usize, one: &str, several: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {several}") }
}

fn name_of(observation: &record::Observation) -> String {
    observation.id.to_string()
}
