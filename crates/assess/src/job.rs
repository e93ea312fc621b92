//! From a record to its assessment.

use crate::assessment::*;
use crate::outcome::class_from_facts;
use crate::phrase::say;
use crate::place::Places;
use crate::plan::required;
use crate::standard::Standard;
use crate::unread::unread_rows;
use crate::verdict::StateWork;
use record::{Finding, Record, StateId};

/// The rules that this build applies. A change in what a record comes to is a new number.
pub const RULES_VERSION: u32 = 2;

/// Codes of the findings that an assessment raises.
pub mod codes {
    use record::CodeDoc;

    /// A written class that the observation's own facts contradict.
    pub const CLASS_CONTRADICTS_FACTS: &str = "assess/class-contradicts-facts";
    /// A calibration of other equipment that was out of date.
    pub const CALIBRATION_OUT_OF_DATE: &str = "assess/calibration-out-of-date";

    /// An uncertainty of a waveform figure from which nothing follows.
    pub const UNCERTAINTY_INCOMPLETE: &str = "assess/uncertainty-incomplete";

    /// Every code with its explanation.
    pub const ALL: &[CodeDoc] = &[
        CodeDoc {
            code: UNCERTAINTY_INCOMPLETE,
            means: "The uncertainty that the record states for a waveform figure can't be worked out, or belongs to no figure.",
            matters: "The figure is then held against its limits without it, and no decision rule is applied.",
            example: "an expanded uncertainty of 7 percent without its coverage factor",
            remedy: "State what the finding names; a budget needs k or a coverage probability.",
        },
        CodeDoc {
            code: CLASS_CONTRADICTS_FACTS,
            means: "Somebody wrote a class for an observation, and its recorded facts lead to another one.",
            matters: "The class follows from what happened. The facts win, and the letter is shown beside them.",
            example: "written class b, restored = \"operator\" (which is class c)",
            remedy: "Correct the letter or the fact, whichever is wrong.",
        },
        CodeDoc {
            code: CALIBRATION_OUT_OF_DATE,
            means: "A piece of equipment other than the generator was used after its calibration had ended.",
            matters: "Readings taken with it may be wrong. The verdict does not rest on it by rule; the reader must know.",
            example: "a thermometer with calibration_due = 2026-02-28 in a test on 2026-03-12",
            remedy: "Have it calibrated and assess the readings taken in between.",
        },
    ];
}

/// Assesses a record under a standard's data. A pure function: the same record and data give the same
/// assessment, on every platform.
///
/// Without a standard (the record names none, or one whose data are not known) nothing can be judged, and
/// the verdict is undetermined.
pub fn assess(record: &Record, standard: Option<&Standard>) -> Assessment {
    let places = Places::new(record);
    let missing_identity = record.missing_identity();
    let mut findings = class_findings(record);
    findings.extend(calibration_findings(record, &places));
    let completeness = crate::completeness::completeness(record, standard);
    let Some(standard) = standard else {
        return Assessment {
            rules_version: RULES_VERSION,
            standard: None,
            missing_identity,
            plan: Vec::new(),
            plan_problems: Vec::new(),
            observations: Vec::new(),
            states: vec![without_method(record, &places)],
            completeness,
            waveforms: Vec::new(),
            repeatability: Vec::new(),
            findings,
        };
    };
    let (plan, mut plan_problems) = required(&places, standard);
    if record.facts.demands.is_empty() {
        plan_problems.push(
            Reason::new(
                Rule::DemandNotStated,
                Some(Verdict::Undetermined),
                "the record does not say which outcomes are accepted",
            )
            .value("path", "/demands")
            .at(places.fact("/demands")),
        );
    }
    let (waveforms, found) = crate::verification::waveforms(record, standard);
    findings.extend(found);
    let mut states = Vec::new();
    let mut observations: Vec<JudgedObservation> = Vec::new();
    for state in states_to_judge(record) {
        let first = state.is_none() || record.facts.states.first().map(|s| &s.id) == state;
        let work = StateWork {
            places: &places,
            standard,
            plan: &plan,
            plan_problems: &plan_problems,
            waveforms: &waveforms,
            state,
            first,
        };
        let (verdict, judged) = work.judge();
        for outcome in judged {
            if !observations.iter().any(|o| o.observation == outcome.observation) {
                observations.push(outcome);
            }
        }
        states.push(verdict);
    }
    observations.sort_by_key(|o| record.observations.iter().position(|r| r.id == o.observation));
    Assessment {
        rules_version: RULES_VERSION,
        standard: Some(StandardUsed {
            id: standard.id.clone(),
            name: standard.full_name(),
            version: standard.version,
            count_status: standard.rules.discharges.status,
            interval_status: standard.rules.interval_s.status,
            level_status: crate::plan::level_status(&record.facts.plan, standard),
            laid_over: standard.laid_over.clone(),
            basic_edition: standard.basic_edition.clone(),
        }),
        missing_identity,
        plan,
        plan_problems,
        observations,
        states,
        completeness,
        repeatability: crate::repeatability::of_all(&waveforms),
        waveforms,
        findings,
    }
}

/// The states to be judged, the headline's first: those that the job describes, and series without a
/// state where there are any (or where the job describes none).
fn states_to_judge(record: &Record) -> Vec<Option<&StateId>> {
    let headline = record.judged_state();
    let mut states: Vec<Option<&StateId>> = Vec::new();
    let mut order: Vec<Option<&StateId>> = Vec::new();
    if headline.is_some() {
        order.push(headline);
    }
    order.extend(record.facts.states.iter().map(|s| Some(&s.id)));
    order.extend(record.series.iter().map(|s| s.state.as_ref()));
    for state in order {
        if !states.contains(&state) {
            states.push(state);
        }
    }
    if states.is_empty() {
        states.push(None);
    }
    states
}

fn without_method(record: &Record, places: &Places<'_>) -> StateVerdict {
    let named = record.facts.method.standard.as_deref();
    let text = match named {
        Some(id) => format!("the data of `{id}` are not known to this program"),
        None => "the method is not stated".to_owned(),
    };
    let what = match named {
        Some(id) => say!(AddStandard, "add a standard's file with the id `{id}`", id = id),
        None => say!(StateMethod, "state the method (method.standard)"),
    };
    let mut reasons = vec![
        Reason::new(Rule::MethodUnknown, Some(Verdict::Undetermined), text)
            .at(places.fact("/method/standard")),
    ];
    let act = Act::State { paths: vec!["/method/standard".to_owned()] };
    let mut settle = vec![Settlement { what, minutes: None, act }];
    let state = record.judged_state();
    let of_state =
        record.series.iter().filter(|s| s.state.as_ref() == state).map(|s| s.origin.source).collect();
    unread_rows(record, &of_state, &mut reasons, &mut settle);
    StateVerdict {
        state: state.cloned(),
        verdict: Verdict::Undetermined,
        failure_observed: false,
        reasons,
        settle,
        coverage: Vec::new(),
        uncounted: Vec::new(),
        evidence: Vec::new(),
        points: Vec::new(),
        functions: Vec::new(),
        statistics: Vec::new(),
    }
}

fn class_findings(record: &Record) -> Vec<Finding> {
    let mut findings = Vec::new();
    for observation in &record.observations {
        if let (Some(written), Some(class)) = (observation.written_class, class_from_facts(observation))
            && written != class
        {
            findings.push(
                Finding::warning(
                    codes::CLASS_CONTRADICTS_FACTS,
                    format!("class `{written}` is written, the recorded facts lead to class {class}"),
                )
                .at(record.place(&observation.origin))
                .help("correct the letter or the fact, whichever is wrong; the facts were used"),
            );
        }
    }
    findings
}

fn calibration_findings(record: &Record, places: &Places<'_>) -> Vec<Finding> {
    let facts = &record.facts;
    let last = record
        .series
        .iter()
        .filter_map(|s| s.ended.as_ref().or(s.started.as_ref()).map(record::Moment::date))
        .chain(facts.work_ended)
        .max();
    let mut findings = Vec::new();
    for (index, equipment) in facts.equipment.iter().enumerate() {
        if facts.generator.equipment.as_ref() == Some(&equipment.id) {
            continue;
        }
        if let (Some(due), Some(last)) = (equipment.calibration_due, last)
            && last > due
        {
            let mut finding = Finding::warning(
                codes::CALIBRATION_OUT_OF_DATE,
                format!("{}: calibration ended on {due}, used until {last}", equipment.id),
            )
            .help("have it calibrated and assess the readings taken in between");
            if let Some(origin) = places.fact(&format!("/equipment/{index}/calibration_due")) {
                finding = finding.at(record.place(&origin));
            }
            findings.push(finding);
        }
    }
    findings
}
