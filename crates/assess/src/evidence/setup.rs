//! Checks of the set-up: verification before use, and readings against the standard's limits.

use super::{Work, days_of, marked};
use crate::assessment::{EvidenceItem, EvidenceKind, EvidenceState};
use crate::phrase::{Phrase, Value, say};
use crate::standard::{Given, SetupLimit};
use record::{Date, Decimal, Moment, SetupCheck};
use std::collections::{BTreeMap, BTreeSet};

/// What can be said about one check.
enum Looked {
    InOrder(Phrase),
    NotInOrder(Phrase),
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
        let mut bad: Vec<(usize, Phrase, Option<Date>)> = Vec::new();
        let mut verified: BTreeSet<Date> = BTreeSet::new();
        let (mut said, mut origins): (Vec<Phrase>, Vec<_>) = (Vec::new(), Vec::new());
        for (index, check, looked) in &checks {
            if let (None, Looked::NotInOrder(text)) = (&check.at, looked) {
                let said = say!(CheckBad, "{check}: {found}", check = name(check), found = text.clone());
                bad.push((*index, said, None));
            }
        }
        for day in &self.days {
            let mut last: BTreeMap<(record::SetupCheckKind, &str), (usize, &SetupCheck, &Looked, &Moment)> =
                BTreeMap::new();
            for (index, check, looked) in &checks {
                let Some(at) = check.at.as_ref().filter(|at| at.date() == *day) else { continue };
                if !self.before_first_discharge(at) {
                    if let Looked::NotInOrder(text) = looked {
                        bad.push((*index, bad_on(check, *day, text), Some(*day)));
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
                        bad.push((*index, bad_on(check, *day, text), Some(*day)));
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
            let said: Vec<Phrase> = bad.iter().map(|(_, said, _)| said.clone()).collect();
            let path = format!("/setup_checks/{index}");
            let mut item = self.item(kind, rule, EvidenceState::Violated, said, &path);
            let days: BTreeSet<Date> = bad.iter().filter_map(|(.., day)| *day).collect();
            item.ask = bad
                .iter()
                .filter(|(.., day)| day.is_none())
                .map(|(index, ..)| format!("/setup_checks/{index}/at"))
                .collect();
            item.remedy = Some(if item.ask.is_empty() {
                mend_setup()
            } else {
                say!(
                    StateSetupTime,
                    "state when the check was made that found the set-up not in order (at): it spoils the discharges of its day"
                )
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
        let missing: Vec<Value> =
            self.days.iter().filter(|day| !verified.contains(day)).copied().map(Value::Day).collect();
        if self.days.is_empty() || !missing.is_empty() {
            let days = if missing.is_empty() { self.span_of_days() } else { Value::List(missing) };
            let kinds =
                evidence.setup_kinds.value.iter().map(|kind| Value::word("setup_kind", kind)).collect();
            let said = say!(
                SetupOpen,
                "no verification of the set-up before use is stated for {days}",
                days = days.clone(),
            );
            let mut item = self.item(kind, rule, EvidenceState::NotStated, said, "/setup_checks");
            item.remedy = Some(say!(
                StateSetup,
                "state a check of the set-up made before the first discharge of {days} ({kinds})",
                days = days,
                kinds = Value::List(kinds),
            ));
            return item;
        }
        let checks = Value::Clauses(said.into_iter().map(Value::from).collect());
        let said = say!(
            SetupVerified,
            "set-up verified before use on {days}: {checks}",
            days = self.span_of_days(),
            checks = checks,
        );
        let mut item = self.item(kind, rule, EvidenceState::Shown, said, "/setup_checks");
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
        let (mut inside, mut outside): (Vec<Phrase>, Vec<Phrase>) = (Vec::new(), Vec::new());
        let mut origins = Vec::new();
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
            match of_kind.iter().find(|(limit, reading)| limit.holds(*reading)) {
                Some((limit, _)) => inside.push(within(check, reading, unit, limit)),
                None => {
                    outside.push(say!(
                        CheckOutside,
                        "{shown} is outside ({limits})",
                        shown = shown(check, reading, unit),
                        limits = all_limits(&of_kind),
                    ));
                    origins.extend(self.places.fact(&format!("/setup_checks/{index}")));
                }
            }
        }
        if inside.is_empty() && outside.is_empty() {
            return None;
        }
        let kind = EvidenceKind::SetupLimits;
        if outside.is_empty() {
            return Some(self.item(kind, rule, EvidenceState::Shown, inside, "/setup_checks"));
        }
        let mut item = self.item(kind, rule, EvidenceState::Violated, outside, "/setup_checks");
        item.origins = origins;
        item.remedy = Some(say!(
            CorrectSetup,
            "correct the reading where it was written down wrongly; else state a deviation with its reason, or mend the set-up and repeat"
        ));
        item.ask = vec!["/setup_checks".to_owned()];
        Some(item)
    }

    fn look(&self, check: &SetupCheck) -> Looked {
        if check.in_order == Some(false) {
            return Looked::NotInOrder(say!(NotInOrder, "found not in order"));
        }
        let (Some(reading), Some(unit)) = (check.reading, &check.unit) else {
            return if check.in_order == Some(true) {
                Looked::InOrder(say!(AsWritten, "{words}", words = name(check)))
            } else {
                Looked::Nothing
            };
        };
        let outside =
            check.least.is_some_and(|least| reading < least) || check.most.is_some_and(|most| reading > most);
        if outside {
            let end = |value: Option<Decimal>| {
                value.map_or_else(|| Value::named("setup_end", "open", "open"), Value::number)
            };
            return Looked::NotInOrder(say!(
                ReadingOutside,
                "{reading} {unit} is outside {least} to {most} {unit}",
                reading = Value::number(reading),
                unit = unit.as_str(),
                least = end(check.least),
                most = end(check.most),
            ));
        }
        if check.least.is_some() || check.most.is_some() || check.in_order == Some(true) {
            return Looked::InOrder(shown(check, reading, unit));
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
            Some((limit, _)) => Looked::InOrder(within(check, reading, unit, limit)),
            None if of_kind.is_empty() => Looked::Nothing,
            None => Looked::NotInOrder(say!(
                CheckOutside,
                "{shown} is outside ({limits})",
                shown = format!("{reading} {unit}"),
                limits = all_limits(&of_kind),
            )),
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

/// What was checked: in the record's words, or else the kind.
fn name(check: &SetupCheck) -> Value {
    check.what.clone().map_or_else(|| Value::word("setup_kind", check.kind), Value::Text)
}

/// A check with its reading.
fn shown(check: &SetupCheck, reading: Decimal, unit: &str) -> Phrase {
    say!(
        CheckReading,
        "{check} {reading} {unit}",
        check = name(check),
        reading = Value::number(reading),
        unit = unit,
    )
}

/// A check with its reading and the limit that it keeps.
fn within(check: &SetupCheck, reading: Decimal, unit: &str, limit: &SetupLimit) -> Phrase {
    say!(CheckInside, "{shown} ({limit})", shown = shown(check, reading, unit), limit = named_limit(limit),)
}

/// A check that failed on a day.
fn bad_on(check: &SetupCheck, day: Date, found: &Phrase) -> Phrase {
    say!(CheckBadOn, "{check} on {day}: {found}", check = name(check), day = day, found = found.clone(),)
}

/// What to do where the set-up was not in order.
pub(crate) fn mend_setup() -> Phrase {
    say!(MendSetup, "mend the set-up, verify it, and repeat")
}

/// The limits of a kind, all of which a reading misses.
fn all_limits(limits: &[(&SetupLimit, Decimal)]) -> Value {
    Value::Clauses(limits.iter().map(|(limit, _)| named_limit(limit)).collect())
}

/// A limit with its name and both ends.
fn named_limit(limit: &SetupLimit) -> Value {
    let what = Value::named("setup_limit", &slug(&limit.what), &limit.what);
    say!(LimitNamed, "{what}: {ends}", what = what, ends = ends(limit)).into()
}

/// The key that words for a limit have: its English name in small letters, with hyphens between.
fn slug(what: &str) -> String {
    let words: Vec<&str> =
        what.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty()).collect();
    words.join("-").to_ascii_lowercase()
}

/// Both ends of a limit with the mark of a value that is not sound.
fn ends(limit: &SetupLimit) -> Value {
    let unit = limit.unit.as_str();
    let status = [&limit.least, &limit.most].into_iter().flatten().map(|end| end.status).max();
    let number = |end: &Given<Decimal>| Value::number(end.value);
    let ends: Value = match (&limit.least, &limit.most) {
        (Some(least), Some(most)) => say!(
            Between,
            "{least} to {most} {unit}",
            least = number(least),
            most = number(most),
            unit = unit,
        )
        .into(),
        (Some(least), None) => {
            say!(AtLeast, "at least {least} {unit}", least = number(least), unit = unit).into()
        }
        (None, Some(most)) => say!(AtMost, "at most {most} {unit}", most = number(most), unit = unit).into(),
        (None, None) => Value::Text(String::new()),
    };
    status.map_or_else(|| ends.clone(), |status| marked(ends.clone(), status))
}
