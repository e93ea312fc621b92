//! The class of an observation, and whether it lies within what is demanded.

use crate::standard::{Fact, Outcome, Standard};
use record::{
    Application, Class, Demand, Facts, FunctionId, Kilovolts, ModeId, Observation, Restoration, Stated,
};

/// The class that follows from an observation's facts, where they suffice.
///
/// Own reading of IEC 61000-4-2:2008 clause 9 (see `shared/standards`): nothing lost is a; what comes back
/// by itself is b; what needs an operator or the supply switched is c; what does not come back, or cost
/// stored data, is d.
pub(crate) fn class_from_facts(observation: &Observation) -> Option<Class> {
    if observation.data_lost == Stated::Stated(true) {
        return Some(Class::D);
    }
    match observation.restored.value()? {
        Restoration::NothingLost => Some(Class::A),
        Restoration::ByItself => Some(Class::B),
        Restoration::Operator | Restoration::PowerCycle => Some(Class::C),
        Restoration::NotRestored => Some(Class::D),
    }
}

/// How an observation stands to a demand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Stand {
    /// Within it.
    Within,
    /// Outside it.
    Outside,
    /// These facts are needed to tell.
    Open(Vec<&'static str>),
}

const STATE_CHANGED: &str = "whether the operating state changed";
const DATA_LOST: &str = "whether stored data were lost";
const RESTORED: &str = "who or what restored the function";
pub(crate) const FUNCTION: &str = "which function was affected";

/// The key that papers have words for a lacking fact under.
pub(crate) fn open_fact(english: &str) -> &'static str {
    match english {
        STATE_CHANGED => "state_changed",
        DATA_LOST => "data_lost",
        RESTORED => "restored",
        _ => "function",
    }
}

/// Holds an observation against one word of the vocabulary.
fn against(outcome: &Outcome, observation: &Observation, class: Option<Class>) -> Stand {
    let Some(class) = class else {
        // Which class it is follows from the recovery; the outcome's other needs are asked in the same breath.
        let mut open = vec![RESTORED];
        for need in &outcome.needs {
            match need {
                Fact::NoStateChange if observation.state_changed.is_not_stated() => open.push(STATE_CHANGED),
                Fact::NoDataLoss if observation.data_lost.is_not_stated() => open.push(DATA_LOST),
                Fact::NoStateChange | Fact::NoDataLoss | Fact::SelfRecovery => {}
            }
        }
        return Stand::Open(open);
    };
    if !outcome.classes.contains(&class) {
        return Stand::Outside;
    }
    if class == Class::A {
        return Stand::Within;
    }
    let mut open = Vec::new();
    for need in &outcome.needs {
        let (stands, missing) = match need {
            Fact::NoStateChange => (no(&observation.state_changed), STATE_CHANGED),
            Fact::NoDataLoss => (no(&observation.data_lost), DATA_LOST),
            Fact::SelfRecovery => (
                match &observation.restored {
                    Stated::Stated(by) => {
                        Some(matches!(by, Restoration::ByItself | Restoration::NothingLost))
                    }
                    Stated::NotStated | Stated::NotApplicable { .. } => None,
                },
                RESTORED,
            ),
        };
        match stands {
            Some(true) => {}
            Some(false) => return Stand::Outside,
            None => open.push(missing),
        }
    }
    if open.is_empty() { Stand::Within } else { Stand::Open(open) }
}

/// Facts that are not stated and that any outcome of the vocabulary may need.
pub(crate) fn open_facts(
    standard: &Standard,
    observation: &Observation,
    class: Option<Class>,
) -> Vec<&'static str> {
    let mut open: Vec<&'static str> = Vec::new();
    for outcome in &standard.outcomes {
        if let Stand::Open(facts) = against(outcome, observation, class) {
            for fact in facts {
                if !open.contains(&fact) {
                    open.push(fact);
                }
            }
        }
    }
    // Without a class the needs beside it have not been looked at.
    if class.is_none() {
        if observation.state_changed.is_not_stated() {
            open.push(STATE_CHANGED);
        }
        if observation.data_lost.is_not_stated() {
            open.push(DATA_LOST);
        }
    }
    open
}

/// `Some(true)` when the fact was denied or can't apply, `Some(false)` when it was affirmed.
fn no(fact: &Stated<bool>) -> Option<bool> {
    match fact {
        Stated::Stated(value) => Some(!value),
        Stated::NotApplicable { .. } => Some(true),
        Stated::NotStated => None,
    }
}

/// Holds an observation against a demand: within it when any accepted outcome accepts it.
///
/// # Errors
/// A word of the demand that the vocabulary does not have.
pub(crate) fn stand(
    standard: &Standard,
    demand: &Demand,
    observation: &Observation,
    class: Option<Class>,
) -> Result<Stand, String> {
    let mut open: Option<Vec<&'static str>> = None;
    for word in &demand.accepted {
        let outcome = standard.outcome(word).ok_or_else(|| word.clone())?;
        match against(outcome, observation, class) {
            Stand::Within => return Ok(Stand::Within),
            Stand::Outside => {}
            // The outcome that needs the fewest facts is the shortest way to an answer.
            Stand::Open(facts) => {
                if open.as_ref().is_none_or(|o| facts.len() < o.len()) {
                    open = Some(facts);
                }
            }
        }
    }
    Ok(open.map_or(Stand::Outside, Stand::Open))
}

/// The demands that bind at a discharge, for a function or (where it is not named) for any function.
///
/// A demand that says more about where it holds replaces one that says less: function before mode before
/// kind of discharge before voltage range.
pub fn binding<'a>(
    facts: &'a Facts,
    function: Option<&FunctionId>,
    mode: Option<&ModeId>,
    application: Application,
    kv: Kilovolts,
) -> Vec<&'a Demand> {
    let holds = |demand: &&Demand| {
        demand.mode.as_ref().is_none_or(|m| Some(m) == mode)
            && demand.application.is_none_or(|a| a == application)
            && demand.from_kv.is_none_or(|from| kv >= from)
            && demand.to_kv.is_none_or(|to| kv <= to)
    };
    let weight = |demand: &Demand| {
        u8::from(demand.function.is_some()) * 8
            + u8::from(demand.mode.is_some()) * 4
            + u8::from(demand.application.is_some()) * 2
            + u8::from(demand.from_kv.is_some() || demand.to_kv.is_some())
    };
    let best = |demands: Vec<&'a Demand>| {
        let most = demands.iter().map(|d| weight(d)).max();
        demands.into_iter().filter(|d| Some(weight(d)) == most).collect::<Vec<_>>()
    };
    match function {
        Some(function) => best(
            facts
                .demands
                .iter()
                .filter(holds)
                .filter(|d| d.function.as_ref().is_none_or(|f| f == function))
                .collect(),
        ),
        None => {
            // Which function was affected is not said: every function's demand counts.
            let mut all = Vec::new();
            let functions: Vec<Option<&FunctionId>> = if facts.functions.is_empty() {
                vec![None]
            } else {
                facts.functions.iter().map(|f| Some(&f.id)).collect()
            };
            for function in functions {
                let of_function = facts
                    .demands
                    .iter()
                    .filter(holds)
                    .filter(|d| d.function.as_ref().is_none_or(|f| Some(f) == function))
                    .collect();
                for demand in best(of_function) {
                    if !all.contains(&demand) {
                        all.push(demand);
                    }
                }
            }
            all
        }
    }
}
