//! Checks of the set-up: verification before use, and readings against the standard's limits.

use super::{Work, days_of, mark};
use crate::assessment::{EvidenceItem, EvidenceKind, EvidenceState};
use crate::standard::{Given, SetupLimit};
use record::{Date, Decimal, Moment, SetupCheck};
use std::collections::{BTreeMap, BTreeSet};

/// What can be said about one check.
enum Looked {
    InOrder(String),
    NotInOrder(String),
    Nothing,
}

impl Work<'_> {
    /// Whether the set-up was verified before the first discharge of each day.
    ///
    /// The last check of each thing before that discharge counts: what was found wrong, mended and checked
    /// again is in order. A check that finds something wrong later in the day spoils the day.
    pub(super) fn setup_verification(&self) -> EvidenceItem {
        let evidence = &self.standard.evidence;
        let rule = &evidence.setup_verification;
        let kind = EvidenceKind::SetupVerification;
        let checks: Vec<(usize, &SetupCheck, Looked)> = self
            .places
            .record
            .facts
            .setup_checks
            .iter()
            .enumerate()
            .filter(|(_, check)| evidence.setup_kinds.value.contains(&check.kind))
            .map(|(index, check)| (index, check, self.look(check)))
            .collect();
        let mut bad: Vec<(usize, String, Option<Date>)> = Vec::new();
        let mut verified: BTreeSet<Date> = BTreeSet::new();
        let (mut said, mut origins) = (Vec::new(), Vec::new());
        for (index, check, looked) in &checks {
            if let (None, Looked::NotInOrder(text)) = (&check.at, looked) {
                bad.push((*index, format!("{}: {text}", name(check)), None));
            }
        }
        for day in &self.days {
            let mut last: BTreeMap<(record::SetupCheckKind, &str), (usize, &SetupCheck, &Looked, &Moment)> =
                BTreeMap::new();
            for (index, check, looked) in &checks {
                let Some(at) = check.at.as_ref().filter(|at| at.date() == *day) else { continue };
                if !self.before_first_discharge(at) {
                    if let Looked::NotInOrder(text) = looked {
                        bad.push((*index, format!("{} on {day}: {text}", name(check)), Some(*day)));
                    }
                    continue;
                }
                let key = (check.kind, check.what.as_deref().unwrap_or_default());
                let later = last.get(&key).is_none_or(|(.., known)| at.local() >= known.local());
                if later {
                    last.insert(key, (*index, check, looked, at));
                }
            }
            for (index, check, looked, _) in last.values() {
                match looked {
                    Looked::NotInOrder(text) => {
                        bad.push((*index, format!("{} on {day}: {text}", name(check)), Some(*day)));
                    }
                    Looked::InOrder(text) => {
                        verified.insert(*day);
                        if !said.contains(text) {
                            said.push(text.clone());
                        }
                        origins.extend(self.places.fact(&format!("/setup_checks/{index}")));
                    }
                    Looked::Nothing => {}
                }
            }
        }
        if let Some((index, ..)) = bad.first() {
            let texts: Vec<&str> = bad.iter().map(|(_, text, _)| text.as_str()).collect();
            let path = format!("/setup_checks/{index}");
            let mut item = self.item(kind, rule, EvidenceState::Violated, texts.join("; "), &path);
            let days: BTreeSet<Date> = bad.iter().filter_map(|(.., day)| *day).collect();
            item.ask = bad
                .iter()
                .filter(|(.., day)| day.is_none())
                .map(|(index, ..)| format!("/setup_checks/{index}/at"))
                .collect();
            item.remedy = Some(if item.ask.is_empty() {
                "mend the set-up, verify it, and repeat".into()
            } else {
                "state when the check was made that found the set-up not in order (at): it spoils the discharges of its day".into()
            });
            item.repeat = self
                .series
                .iter()
                .filter(|series| {
                    let own = days_of(series);
                    !days.is_empty() && (own.is_empty() || own.iter().any(|day| days.contains(day)))
                })
                .map(|series| series.id.clone())
                .collect();
            return item;
        }
        let missing: Vec<String> =
            self.days.iter().filter(|day| !verified.contains(day)).map(Date::to_string).collect();
        if self.days.is_empty() || !missing.is_empty() {
            let days = if missing.is_empty() { self.span_of_days() } else { missing.join(", ") };
            let kinds: Vec<&str> = evidence.setup_kinds.value.iter().map(|k| k.as_str()).collect();
            let text = format!("no verification of the set-up before use is stated for {days}");
            let mut item = self.item(kind, rule, EvidenceState::NotStated, text, "/setup_checks");
            item.remedy = Some(format!(
                "state a check of the set-up made before the first discharge of {days} ({})",
                kinds.join(", ")
            ));
            return item;
        }
        let text = format!("set-up verified before use on {}: {}", self.span_of_days(), said.join("; "));
        let mut item = self.item(kind, rule, EvidenceState::Shown, text, "/setup_checks");
        item.origins = origins;
        item
    }

    /// Readings of set-up checks against the standard's limits of their kind; none where there is no reading.
    pub(super) fn setup_limits(&self) -> Option<EvidenceItem> {
        let limits = &self.standard.setup_limits;
        let fallback = Given {
            value: false,
            clause: "limits of the set-up".to_owned(),
            source: "choice of this program".to_owned(),
            status: crate::standard::Status::Practice,
            note: None,
        };
        let rule = self.standard.evidence.setup_limits.as_ref().unwrap_or(&fallback);
        let (mut inside, mut outside, mut origins) = (Vec::new(), Vec::new(), Vec::new());
        for (index, check) in self.places.record.facts.setup_checks.iter().enumerate() {
            let (Some(reading), Some(unit)) = (check.reading, &check.unit) else { continue };
            if check.at.as_ref().is_some_and(|at| !self.days.contains(&at.date())) {
                continue;
            }
            let of_kind: Vec<(&SetupLimit, Decimal)> = limits
                .iter()
                .filter(|limit| limit.kind == check.kind)
                .filter_map(|limit| Some((limit, limit.in_own_unit(reading, unit)?)))
                .collect();
            if of_kind.is_empty() {
                continue;
            }
            let shown = format!("{} {reading} {unit}", name(check));
            match of_kind.iter().find(|(limit, reading)| limit.holds(*reading)) {
                Some((limit, _)) => inside.push(format!("{shown} ({}: {})", limit.what, ends(limit))),
                None => {
                    let all: Vec<String> =
                        of_kind.iter().map(|(l, _)| format!("{}: {}", l.what, ends(l))).collect();
                    outside.push(format!("{shown} is outside ({})", all.join("; ")));
                    origins.extend(self.places.fact(&format!("/setup_checks/{index}")));
                }
            }
        }
        if inside.is_empty() && outside.is_empty() {
            return None;
        }
        let kind = EvidenceKind::SetupLimits;
        if outside.is_empty() {
            return Some(self.item(kind, rule, EvidenceState::Shown, inside.join("; "), "/setup_checks"));
        }
        let mut item = self.item(kind, rule, EvidenceState::Violated, outside.join("; "), "/setup_checks");
        item.origins = origins;
        item.remedy = Some(
            "correct the reading where it was written down wrongly; else state a deviation with its reason, or mend the set-up and repeat"
                .into(),
        );
        item.ask = vec!["/setup_checks".to_owned()];
        Some(item)
    }

    fn look(&self, check: &SetupCheck) -> Looked {
        if check.in_order == Some(false) {
            return Looked::NotInOrder("found not in order".into());
        }
        let (Some(reading), Some(unit)) = (check.reading, &check.unit) else {
            return if check.in_order == Some(true) { Looked::InOrder(name(check)) } else { Looked::Nothing };
        };
        let shown = format!("{} {reading} {unit}", name(check));
        let outside =
            check.least.is_some_and(|least| reading < least) || check.most.is_some_and(|most| reading > most);
        if outside {
            let end = |value: Option<Decimal>| value.map_or_else(|| "open".into(), |v| v.to_string());
            return Looked::NotInOrder(format!(
                "{reading} {unit} is outside {} to {} {unit}",
                end(check.least),
                end(check.most)
            ));
        }
        if check.least.is_some() || check.most.is_some() || check.in_order == Some(true) {
            return Looked::InOrder(shown);
        }
        // Nobody states limits: the standard's own decide, where it has any of this kind.
        let of_kind: Vec<(&SetupLimit, Decimal)> = self
            .standard
            .setup_limits
            .iter()
            .filter(|limit| limit.kind == check.kind)
            .filter_map(|limit| Some((limit, limit.in_own_unit(reading, unit)?)))
            .collect();
        match of_kind.iter().find(|(limit, reading)| limit.holds(*reading)) {
            Some((limit, _)) => Looked::InOrder(format!("{shown} ({}: {})", limit.what, ends(limit))),
            None if of_kind.is_empty() => Looked::Nothing,
            None => {
                let all: Vec<String> =
                    of_kind.iter().map(|(l, _)| format!("{}: {}", l.what, ends(l))).collect();
                Looked::NotInOrder(format!("{reading} {unit} is outside ({})", all.join("; ")))
            }
        }
    }

    /// Whether a check was made before the first discharge of its day.
    fn before_first_discharge(&self, at: &Moment) -> bool {
        let day = at.date();
        self.series
            .iter()
            .filter_map(|s| s.started.as_ref().or_else(|| s.shots.first().and_then(|shot| shot.at.as_ref())))
            .filter(|started| started.date() == day)
            .all(|started| at.local() <= started.local())
    }
}

fn name(check: &SetupCheck) -> String {
    check.what.clone().unwrap_or_else(|| check.kind.to_string())
}

/// Both ends of a limit with the mark of a value that is not sound.
fn ends(limit: &SetupLimit) -> String {
    let unit = &limit.unit;
    let status = [&limit.least, &limit.most].into_iter().flatten().map(|end| end.status).max();
    let mark = status.map(mark).unwrap_or_default();
    match (&limit.least, &limit.most) {
        (Some(least), Some(most)) => format!("{} to {} {unit}{mark}", least.value, most.value),
        (Some(least), None) => format!("at least {} {unit}{mark}", least.value),
        (None, Some(most)) => format!("at most {} {unit}{mark}", most.value),
        (None, None) => String::new(),
    }
}
