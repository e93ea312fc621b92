//! Reasons in the paper's language: a sentence for each rule, filled with the values that it was applied to.
//!
//! The assessment words its reasons in English. Here the same facts are put into the sentence that the language's
//! file has for the rule. Where a value has no words in the language, the sentence says what it can, and the
//! English text follows, marked as English.

use super::Subject;
use crate::Words;
use crate::numbers::Cut;
use assess::{JudgedObservation, Phrase, Reason, Rule, StateVerdict};
use record::{Affected, Application, Kilovolts, Monitoring, Observation, Polarity, RunKind, Series, Stated};

/// A reason in words.
pub(super) struct Wording {
    /// The sentence.
    pub text: String,
    /// English words that say what the sentence could not.
    pub detail: Option<String>,
}

/// Words reasons.
#[derive(Clone, Copy)]
pub(super) struct Worder<'a> {
    pub subject: &'a Subject<'a>,
    pub words: &'a Words,
}

/// A sentence's key below `rule`, the values for its places, and what only English says.
#[derive(Default)]
struct Found {
    variant: &'static str,
    values: Vec<(&'static str, String)>,
    detail: Option<String>,
}

impl Worder<'_> {
    /// The reason in the paper's language; of a state, where it belongs to one.
    pub(super) fn reason(&self, r: &Reason, state: Option<&StateVerdict>) -> Wording {
        let english = without_place(r);
        if self.words.language() == "en" {
            return Wording { text: english.to_owned(), detail: None };
        }
        let found = self.found(r, english, state);
        let sentence = found.as_ref().and_then(|f| {
            let key = match f.variant {
                "" => format!("rule.{}", r.rule),
                variant => format!("rule.{}.{variant}", r.rule),
            };
            put(self.words.get(&key)?, &f.values)
        });
        match (sentence, found) {
            (Some(text), Some(found)) => Wording { text, detail: found.detail },
            _ => Wording { text: String::new(), detail: Some(english.to_owned()) },
        }
    }

    /// Sentences about evidence, or about what would settle a verdict, in the paper's language.
    pub(super) fn phrases(&self, phrases: &[Phrase]) -> Wording {
        let english = || phrases.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
        match self.sentences(phrases) {
            Some(text) => Wording { text, detail: None },
            None if self.english() => Wording { text: english(), detail: None },
            None => Wording { text: String::new(), detail: Some(english()) },
        }
    }

    pub(super) fn word(&self, key: &str) -> Option<String> {
        self.words.get(key).map(str::to_owned)
    }

    pub(super) fn number(&self, value: &str) -> String {
        self.words.numbers().number(value, Cut::default()).unwrap_or_else(|| value.to_owned())
    }

    fn kv(&self, kv: Kilovolts) -> String {
        format!("{}\u{a0}kV", self.number(&kv.as_kv().to_string()))
    }

    /// `P1 contact +8 kV` in the language.
    pub(super) fn place_of(
        &self,
        point: &str,
        application: Application,
        polarity: Polarity,
        kv: Kilovolts,
    ) -> Option<String> {
        let how = self.word(&format!("application.{application}"))?;
        // The label of the assessment, which English papers show as it is, has no comma.
        let comma = if self.english() { "" } else { self.words.get("mark.comma")? };
        Some(format!("{point}{comma} {how} {}{}", polarity.sign(), self.kv(kv)))
    }

    pub(super) fn of_series(&self, s: &Series) -> Option<String> {
        self.place_of(s.point.as_str(), s.application, s.polarity, s.voltage_kv)
    }

    /// A required series by the label that reasons carry.
    pub(super) fn of_label(&self, label: &str) -> Option<String> {
        let required = self.subject.assessment.plan.iter().find(|r| r.label() == label)?;
        let at = self.place_of(
            required.point.as_str(),
            required.application,
            required.polarity,
            required.voltage_kv,
        )?;
        Some(required.mode.as_ref().map_or(at.clone(), |mode| format!("{at}, {mode}")))
    }

    /// The series that a reason's first place is the origin of.
    fn series_at(&self, r: &Reason) -> Option<&Series> {
        let origin = r.origins.first()?;
        self.subject.record.series.iter().find(|s| s.origin == *origin)
    }

    fn found(&self, r: &Reason, english: &str, state: Option<&StateVerdict>) -> Option<Found> {
        let facts = &self.subject.record.facts;
        let value = |name: &str| r.values.get(name).cloned();
        let plain = |values: Vec<(&'static str, String)>| Some(Found { values, ..Found::default() });
        match r.rule {
            Rule::OutcomeOutsideDemand
            | Rule::FailureAtUnknownSeverity
            | Rule::OutcomeWithoutEffect
            | Rule::OutcomeWithinDemand
            | Rule::ObservationFactsMissing
            | Rule::CoincidenceNotStated
            | Rule::DemandUnknownWord => self.observed(r),
            Rule::DemandNotStated if r.values.contains_key("observation") => self.observed(r),
            Rule::DemandNotStated => Some(Found { variant: "at-all", ..Found::default() }),
            Rule::RowUnread => {
                let why = english.split_once("could not be read: ").map(|(_, why)| why.to_owned());
                Some(Found { detail: why, ..Found::default() })
            }
            Rule::RowRuled => {
                let place = value("place")?;
                // A row of a sheet is named with the sheet between file and row.
                let ruling = facts.rulings.iter().find(|g| {
                    let rest = place.strip_prefix(&g.file).and_then(|rest| rest.strip_prefix(':'));
                    rest.is_some_and(|rest| rest.rsplit('!').next() == Some(&g.row.to_string()))
                })?;
                plain(vec![("by", ruling.by.clone()), ("ruling", ruling.ruling.clone())])
            }
            Rule::SeriesShort => plain(vec![
                ("series", self.of_label(&value("series")?)?),
                ("applied", value("applied")?),
                ("required", value("required")?),
            ]),
            Rule::SeriesNotWatched => {
                let variant = match &self.series_at(r)?.monitoring {
                    Stated::Stated(Monitoring::Interrupted) => "interrupted",
                    _ => "not-stated",
                };
                let values = vec![("series", self.of_label(&value("series")?)?)];
                Some(Found { variant, values, detail: None })
            }
            Rule::IntervalNotStated => plain(vec![("series", self.of_series(self.series_at(r)?)?)]),
            Rule::WatchedByResults => plain(vec![("series", value("series")?)]),
            Rule::TotalShort => plain(vec![("applied", value("applied")?), ("required", value("required")?)]),
            Rule::PlanInPart => plain(vec![("run", value("run")?), ("required", value("required")?)]),
            Rule::PlanInPartJustified => {
                let of = state.and_then(|s| s.state.as_ref());
                let given = facts.partial_plan_justifications.iter().find(|j| Some(&j.state) == of)?;
                plain(vec![("by", given.by.clone()), ("why", given.why.clone())])
            }
            Rule::PlanUnknown => {
                let said = r.said.as_ref().map(|said| self.phrases(std::slice::from_ref(said)));
                match said {
                    Some(Wording { text, detail: None }) => plain(vec![("said", text)]),
                    _ => Some(Found {
                        values: vec![("said", String::new())],
                        detail: Some(english.to_owned()),
                        ..Found::default()
                    }),
                }
            }
            Rule::EvidenceViolated | Rule::EvidenceNotStated => {
                let kind = value("kind")?;
                let detail = english.strip_prefix(&format!("{kind}: ")).unwrap_or(english).to_owned();
                let mut values = vec![("kind", self.word(&format!("evidence_kind.{kind}"))?)];
                let item =
                    state?.evidence.iter().find(|item| item.kind.as_str() == kind && item.text() == detail);
                let said = item.map(|item| self.phrases(&item.said));
                match said {
                    Some(Wording { text, detail: None }) => {
                        values.push(("said", text));
                        Some(Found { variant: "", values, detail: None })
                    }
                    _ => {
                        values.push(("said", String::new()));
                        Some(Found { variant: "", values, detail: Some(detail) })
                    }
                }
            }
            Rule::Deviation => {
                let of = facts.method.deviations.iter().find(|d| english.contains(&d.what))?;
                let why = of.reason.clone().or_else(|| self.word("not_stated"))?;
                plain(vec![("what", of.what.clone()), ("why", why)])
            }
            Rule::MethodUnknown => match &facts.method.standard {
                Some(id) => {
                    Some(Found { variant: "named", values: vec![("standard", id.clone())], detail: None })
                }
                None => Some(Found { variant: "absent", ..Found::default() }),
            },
            Rule::MeetsPlan => {
                let rows = &state?.coverage;
                let run = rows.iter().filter(|c| c.state != assess::CoverageState::Missing).count();
                plain(vec![
                    ("run", run.to_string()),
                    ("series", value("series")?),
                    ("discharges", value("discharges")?),
                ])
            }
        }
    }

    /// A reason that rests on an observation.
    fn observed(&self, r: &Reason) -> Option<Found> {
        let record = self.subject.record;
        let id = r.values.get("observation")?;
        let o = record.observations.iter().find(|o| o.id.as_str() == id)?;
        let judged = self.subject.assessment.observations.iter().find(|j| j.observation == o.id)?;
        let series = o.series.as_ref().and_then(|id| record.series.iter().find(|s| s.id == *id));
        let mut values = vec![
            ("seen", o.seen.clone().or_else(|| self.word("observations.not_described"))?),
            ("class", self.class(judged)?),
            ("accepted", judged.accepted.join(", ")),
        ];
        if let Some(series) = series {
            values.push(("at", self.of_series(series)?));
        }
        let variant = match r.rule {
            Rule::OutcomeWithoutEffect => self.without_effect(o, series, &mut values)?,
            Rule::DemandNotStated => {
                let function = o.function.as_ref().map(ToString::to_string);
                values.push(("function", function.or_else(|| self.word("not_stated"))?));
                "for"
            }
            Rule::DemandUnknownWord => {
                let standard = self.subject.standard?;
                let known = |word: &&String| standard.outcomes.iter().any(|o| o.name == **word);
                values.push(("word", judged.accepted.iter().find(|w| !known(w))?.clone()));
                ""
            }
            Rule::ObservationFactsMissing => {
                // The facts are words of the sentence that asks for them.
                let asked = r.asks.iter().flat_map(|(_, asks)| &asks.values);
                let facts = asked.filter(|(name, _)| *name == "facts").map(|(_, facts)| facts).next()?;
                values.push(("facts", self.value(facts)?));
                ""
            }
            _ => "",
        };
        Some(Found { variant, values, detail: None })
    }

    /// Why an outcome has no effect: the first of these that holds, as the rule has it.
    fn without_effect(
        &self,
        o: &Observation,
        series: Option<&Series>,
        values: &mut Vec<(&'static str, String)>,
    ) -> Option<&'static str> {
        if o.affected == Stated::Stated(Affected::Associated) {
            return Some("associated");
        }
        if o.coincident == Stated::Stated(false) {
            return Some("no-discharge");
        }
        let series = series?;
        if series.kind != RunKind::Compliance {
            values.push(("run", self.word(&format!("run_kind.{}", series.kind))?));
            return Some("other-run");
        }
        let plan = self.subject.assessment.plan.iter();
        match plan.filter(|r| r.application == series.application).map(|r| r.voltage_kv).max() {
            Some(level) => {
                values.push(("level", self.kv(level)));
                Some("above-level")
            }
            None => Some("not-planned"),
        }
    }

    fn class(&self, judged: &JudgedObservation) -> Option<String> {
        let Some(class) = judged.class else { return self.word("class_phrase.open") };
        let key = if judged.class_from_facts { "class_phrase.facts" } else { "class_phrase.written" };
        put(self.words.get(key)?, &[("class", class.to_string())])
    }
}

/// Fills the places of a sentence; none where a value is not at hand. Values without a place are left out.
pub(super) fn put(sentence: &str, values: &[(&'static str, String)]) -> Option<String> {
    let mut out = String::with_capacity(sentence.len() + 32);
    let mut rest = sentence;
    while let Some((before, after)) = rest.split_once('{') {
        let (name, behind) = after.split_once('}')?;
        out.push_str(before);
        out.push_str(&values.iter().find(|(n, _)| *n == name)?.1);
        rest = behind;
    }
    out.push_str(rest);
    Some(out)
}

/// The reason without the place that it starts with: the paper shows places behind their reasons.
fn without_place(r: &Reason) -> &str {
    let place = r.values.get("place").map_or("", String::as_str);
    let rest = r.text.strip_prefix(place).filter(|_| !place.is_empty() && !r.origins.is_empty());
    rest.and_then(|t| t.strip_prefix(": ")).unwrap_or(&r.text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_are_filled_or_refused() {
        let values = [("a", "1".to_owned()), ("b", "{c}".to_owned())];
        assert_eq!(put("x {a} y {b}.", &values).as_deref(), Some("x 1 y {c}."));
        assert_eq!(put("x {c}", &values), None);
        assert_eq!(put("x {a", &values), None);
    }
}
