//! Observations of one state held against the demands.

use crate::assessment::{Asks, JudgedObservation, Reason, Required, Rule, Verdict};
use crate::evidence::tip_fits;
use crate::outcome::{FUNCTION, Stand, binding, class_from_facts, open_fact, open_facts, stand};
use crate::phrase::{Phrase, Value, say};
use crate::place::Places;
use crate::standard::Standard;
use record::{
    Affected, Application, Class, Kilovolts, Observation, RunKind, Series, SeriesId, StateId, Stated,
};
use std::collections::{BTreeMap, BTreeSet};

pub(crate) struct Observed<'a> {
    pub(crate) places: &'a Places<'a>,
    pub(crate) standard: &'a Standard,
    pub(crate) plan: &'a [Required],
    pub(crate) state: Option<&'a StateId>,
    /// Whether the plan could be worked out.
    pub(crate) plan_known: bool,
    /// Whether calibration and network say which severity was really applied; the tip is each series' own.
    pub(crate) generator_known: bool,
}

impl Observed<'_> {
    /// Every observation made in the state, and the reasons that follow.
    pub(crate) fn judge(&self, series: &[&Series]) -> (Vec<JudgedObservation>, Vec<Reason>) {
        let mut judged = Vec::new();
        let mut reasons = Vec::new();
        let known: BTreeMap<&SeriesId, &Series> = series.iter().map(|s| (&s.id, *s)).collect();
        let anywhere: BTreeSet<&SeriesId> = self.places.record.series.iter().map(|s| &s.id).collect();
        for observation in &self.places.record.observations {
            let found = observation.series.as_ref().map(|id| known.get(id));
            let of_series = match found {
                Some(Some(series)) => Some(*series),
                // Of a series in another state.
                Some(None) if observation.series.as_ref().is_some_and(|id| anywhere.contains(id)) => {
                    continue;
                }
                Some(None) | None => None,
            };
            let (outcome, mut reason) = self.one(observation, of_series);
            reason = reason.at([observation.origin.clone()]).at(observation.completed_at.clone());
            judged.push(outcome);
            reasons.push(reason);
        }
        (judged, reasons)
    }

    fn one(&self, observation: &Observation, series: Option<&Series>) -> (JudgedObservation, Reason) {
        let from_facts = class_from_facts(observation);
        let class = from_facts.or(observation.written_class);
        let place = self.places.record.place(&observation.origin);
        let seen = observation.seen.as_deref().unwrap_or("not described");
        let class_text = match (class, from_facts) {
            (Some(class), Some(_)) => format!("class {class}"),
            (Some(class), None) => format!("class {class} as written"),
            (None, _) => "class not determinable".into(),
        };
        let make = |verdict: Option<Verdict>, rule: Rule, accepted: Vec<String>, text: String| {
            let mut reason = Reason::new(rule, verdict, text.clone())
                .value("observation", &observation.id)
                .value("place", &place)
                .value("seen", seen);
            if let Some(class) = class {
                reason = reason.value("class", class);
            }
            let outcome = JudgedObservation {
                observation: observation.id.clone(),
                state: self.state.cloned(),
                class,
                class_from_facts: from_facts.is_some(),
                accepted,
                verdict,
                rule,
                text,
            };
            (outcome, reason)
        };
        let head = format!("{place}: \u{201c}{seen}\u{201d}, {class_text}");
        if observation.affected == Stated::Stated(Affected::Associated) {
            let text = format!("{head}; only associated equipment was affected");
            return make(None, Rule::OutcomeWithoutEffect, Vec::new(), text);
        }
        if observation.coincident == Stated::Stated(false) {
            let text = format!("{head}; it did not coincide with a discharge");
            return make(None, Rule::OutcomeWithoutEffect, Vec::new(), text);
        }
        let Some(series) = series else {
            let text = format!("{head}; it is not stated with which discharge it coincided, if with any");
            let (outcome, reason) =
                make(Some(Verdict::Undetermined), Rule::CoincidenceNotStated, Vec::new(), text);
            let ask = say!(
                StateCoincidence,
                "{place}: state with which discharge it coincided (at), or that it did not (coincident)",
                place = place.to_string(),
            );
            return (outcome, reason.asking(Asks::First, ask));
        };
        let at = format!(
            "{} {} {}{}",
            series.point,
            series.application,
            series.polarity.sign(),
            series.voltage_kv
        );
        if series.kind != RunKind::Compliance {
            let text = format!("{head} at {at}; in a {} run", series.kind);
            return make(None, Rule::OutcomeWithoutEffect, Vec::new(), text);
        }
        let level = self.required_level(series.application);
        match level {
            Some(level) if series.voltage_kv > level => {
                let text = format!("{head} at {at}; above the required level of {level}");
                return make(None, Rule::OutcomeWithoutEffect, Vec::new(), text);
            }
            None if self.plan_known => {
                let text = format!("{head} at {at}; the plan requires no {} discharge", series.application);
                return make(None, Rule::OutcomeWithoutEffect, Vec::new(), text);
            }
            _ => {}
        }
        let demands = binding(
            &self.places.record.facts,
            observation.function.as_ref(),
            series.mode.as_ref(),
            series.application,
            series.voltage_kv,
        );
        if class == Some(Class::A) && !demands.is_empty() {
            let text = format!("{head} at {at}; within every demand");
            return make(None, Rule::OutcomeWithinDemand, words(&demands), text);
        }
        if demands.is_empty() {
            let text = format!("{head} at {at}; no demand is stated for {}", function_name(observation));
            let ask = say!(
                StateDemand,
                "state which outcomes are accepted for {function} ([[demands]])",
                function = function_name(observation),
            );
            let (outcome, mut reason) =
                make(Some(Verdict::Undetermined), Rule::DemandNotStated, Vec::new(), text);
            // Where nobody states any demand, the plan as a whole asks for them.
            if !self.places.record.facts.demands.is_empty() {
                reason = reason.asking(Asks::First, ask);
            }
            // Which facts a demand will need is not known yet: those that any of the vocabulary may need.
            let open = open_facts(self.standard, observation, class);
            if !open.is_empty() {
                reason = reason.asking(Asks::Facts, state_facts(&place.to_string(), &open));
            }
            return (outcome, reason.at(self.places.fact("/demands")));
        }
        let accepted = words(&demands);
        let mut stands = Vec::new();
        for demand in &demands {
            match stand(self.standard, demand, observation, class) {
                Ok(stand) => stands.push(stand),
                Err(word) => {
                    let text = format!(
                        "{head} at {at}; the demand `{word}` is not in the vocabulary of {}",
                        self.standard.full_name()
                    );
                    let (outcome, reason) =
                        make(Some(Verdict::Undetermined), Rule::DemandUnknownWord, accepted, text);
                    let known: Vec<&str> = self.standard.outcomes.iter().map(|o| o.name.as_str()).collect();
                    let ask = say!(
                        StateDemandWord,
                        "state the demand in the standard's words: {known}",
                        known = known.join(", "),
                    );
                    let open = open_facts(self.standard, observation, class);
                    let mut reason = reason.asking(Asks::First, ask);
                    if !open.is_empty() {
                        reason = reason.asking(Asks::Facts, state_facts(&place.to_string(), &open));
                    }
                    return (outcome, reason.at(self.places.fact("/demands")));
                }
            }
        }
        let demanded = format!("{} demanded", accepted.join(" or "));
        let outside = stands.iter().filter(|s| **s == Stand::Outside).count();
        let function_open = observation.function.is_none() && demands.len() > 1;
        if outside == stands.len() || (outside > 0 && !function_open) {
            let tip_known = tip_fits(&self.places.record.facts.generator, self.standard, series);
            if level.is_some() && self.generator_known && tip_known {
                let text = format!("{head} at {at}; {demanded}");
                return make(Some(Verdict::Fail), Rule::OutcomeOutsideDemand, accepted, text);
            }
            let text = format!(
                "failure observed: {head} at {at}; {demanded}; the severity is not known or may have been above the requirement"
            );
            return make(Some(Verdict::Undetermined), Rule::FailureAtUnknownSeverity, accepted, text);
        }
        if stands.iter().all(|s| *s == Stand::Within) {
            let text = format!("{head} at {at}; {demanded}");
            return make(None, Rule::OutcomeWithinDemand, accepted, text);
        }
        let mut facts: Vec<&str> = Vec::new();
        for stand in &stands {
            if let Stand::Open(open) = stand {
                for fact in open {
                    if !facts.contains(fact) {
                        facts.push(fact);
                    }
                }
            }
        }
        if outside > 0 {
            facts.push(FUNCTION);
        }
        let list = facts.join(", ");
        let text = format!("{head} at {at}; {demanded}; not stated: {list}");
        let (outcome, reason) =
            make(Some(Verdict::Undetermined), Rule::ObservationFactsMissing, accepted, text);
        let ask = state_facts(&place.to_string(), &facts);
        (outcome, reason.asking(Asks::First, ask).value("facts", list))
    }

    /// The highest voltage that the plan requires for a kind of discharge.
    fn required_level(&self, application: Application) -> Option<Kilovolts> {
        self.plan.iter().filter(|r| r.application == application).map(|r| r.voltage_kv).max()
    }
}

fn words(demands: &[&record::Demand]) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for demand in demands {
        for word in &demand.accepted {
            if !words.contains(word) {
                words.push(word.clone());
            }
        }
    }
    words
}

fn function_name(observation: &Observation) -> String {
    observation
        .function
        .as_ref()
        .map_or_else(|| "the function affected".to_owned(), |f| format!("function {f}"))
}

/// What to state of an observation.
fn state_facts(place: &str, facts: &[&str]) -> Phrase {
    let facts = facts.iter().map(|fact| Value::named("open_fact", open_fact(fact), fact)).collect();
    say!(StateFacts, "{place}: state {facts}", place = place, facts = Value::List(facts))
}
