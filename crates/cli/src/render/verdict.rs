//! The verdict with its reasons: what a test engineer needs first comes first.

use super::text::{BAD, CARE, FAINT, GOOD, STRONG, fold, styled};
use assess::completeness::CompletenessState;
use assess::standard::Status;
use assess::{Assessment, CoverageState, EvidenceState, Reason, StateVerdict, Verdict};
use host::Outcome;
use record::Record;

const WIDTH: usize = 92;

fn word(verdict: Verdict) -> String {
    match verdict {
        Verdict::Pass => styled(GOOD, "PASS"),
        Verdict::Fail => styled(BAD, "FAIL"),
        Verdict::Undetermined => styled(CARE, "UNDETERMINED"),
    }
}

/// The verdict, or what it would be: of bench data no conformity is stated.
fn said(bench_data: bool, verdict: Verdict) -> String {
    if bench_data {
        format!("{} {}", styled(CARE, "bench data, would be"), word(verdict))
    } else {
        word(verdict)
    }
}

/// The verdict in one line, for lists of jobs.
pub(crate) fn line(outcome: &Outcome) -> String {
    let mut text = said(outcome.bench_data, outcome.verdict);
    if outcome.failure_observed {
        text += ", failure observed";
    }
    if let Some(reason) = &outcome.reason {
        text += &format!("  {reason}");
    }
    text
}

/// The whole assessment.
pub(crate) fn full(name: &str, record: &Record, assessment: &Assessment) -> String {
    let facts = &record.facts;
    let mut out = String::new();
    if let Some(invented) = &facts.invented {
        out += &format!("{}\n\n", styled(CARE, invented));
    }
    let item =
        [&facts.item.name, &facts.item.type_designation].into_iter().flatten().cloned().collect::<Vec<_>>();
    let title = if item.is_empty() { name.to_owned() } else { item.join(" ") };
    out += &styled(STRONG, title);
    if let Some(serial) = &facts.item.serial {
        out += &format!(", serial {serial}");
    }
    out.push('\n');
    let method = match (&assessment.standard, &facts.method.standard) {
        (Some(standard), _) => standard.name.clone(),
        (None, Some(id)) => format!("{id} (its data are not at hand)"),
        (None, None) => "method not stated".to_owned(),
    };
    let level = facts.plan.level.as_ref().map(|l| format!(", level {l}")).unwrap_or_else(|| {
        if assessment.plan.is_empty() { String::new() } else { ", voltages of the plan's own".into() }
    });
    let used = assessment.standard.as_ref();
    let level = match used.and_then(|s| s.level_status) {
        Some(status) if !status.is_sound() => format!("{level} ({status})"),
        _ => level,
    };
    out += &format!("{}\n\n", styled(FAINT, format!("{method}{level}")));
    if let Some(basic) = used.and_then(|s| s.basic_edition.as_ref()) {
        out.pop();
        let note = basic.note.as_deref().map(|n| format!("; {n}")).unwrap_or_default();
        out +=
            &format!("{}\n\n", styled(CARE, format!("edition of the basic standard: {}{note}", basic.value)));
    }
    if let Some(first) = assessment.plan.first() {
        let known = |own: bool, status: Option<Status>| match status {
            Some(status) if !own && !status.is_sound() => format!(" ({status})"),
            _ => String::new(),
        };
        out.pop();
        out += &format!(
            "{}\n\n",
            styled(
                FAINT,
                format!(
                    "{} required series of {} discharges{}, at least {}{} apart",
                    assessment.plan.len(),
                    first.count,
                    known(facts.plan.discharges.is_some(), used.map(|s| s.count_status)),
                    first.interval_s,
                    known(facts.plan.interval_s.is_some(), used.map(|s| s.interval_status)),
                )
            )
        );
    }
    if !assessment.missing_identity.is_empty() {
        out += &format!(
            "{} not stated: {}. Papers made from it are bench data, not a test report.\n\n",
            styled(CARE, "No conformity can be stated:"),
            assessment.missing_identity.join(", ")
        );
    }
    for (index, state) in assessment.states.iter().enumerate() {
        if index > 0 {
            out.push('\n');
        }
        out += &one_state(assessment, state, index == 0);
    }
    for judgement in &facts.judgements {
        let word = judgement.verdict.map(|v| format!(" {v}")).unwrap_or_default();
        let at = judgement.at.as_ref().map(|at| format!(", {at}")).unwrap_or_default();
        let text = format!("of {} on {}{at}:{word}; {}", judgement.by, judgement.concerns, judgement.why);
        out += &format!(
            "\n{}  {}\n",
            styled(CARE, "Judgement beside the computed verdict"),
            fold(&text, WIDTH - 12, "  ")
        );
    }
    let missing = assessment.completeness.iter().filter(|c| c.state == CompletenessState::Missing).count();
    if missing > 0 {
        out += &format!(
            "\n{}  {missing} of {} items that plan, records and report must hold are missing; see --completeness\n",
            styled(STRONG, "Completeness"),
            assessment.completeness.len()
        );
    }
    let outside = assessment.waveforms.iter().filter(|w| w.within == Some(false)).count();
    let within = assessment.waveforms.iter().filter(|w| w.within == Some(true)).count();
    if !assessment.waveforms.is_empty() {
        let rest = assessment.waveforms.len() - outside - within;
        out += &format!(
            "\n{}  {within} of {} generator waveforms within limits",
            styled(STRONG, "Waveforms"),
            assessment.waveforms.len()
        );
        if outside > 0 {
            out += &format!(", {}", styled(BAD, format!("{outside} outside")));
        }
        if rest > 0 {
            out += &format!(", {rest} not determinable");
        }
        out.push('\n');
    }
    out
}

fn one_state(assessment: &Assessment, state: &StateVerdict, headline: bool) -> String {
    let name = state.state.as_ref().map(|s| format!("state {s}")).unwrap_or_else(|| "item".into());
    let mut out = said(!assessment.missing_identity.is_empty(), state.verdict);
    if state.failure_observed {
        out += &format!("  {}", styled(BAD, "failure observed"));
    }
    out += &format!("  {}\n", styled(if headline { STRONG } else { FAINT }, name));
    let deciding: Vec<&Reason> = state.reasons.iter().filter(|r| r.effect == Some(state.verdict)).collect();
    let other: Vec<&Reason> =
        state.reasons.iter().filter(|r| r.effect.is_some() && r.effect != Some(state.verdict)).collect();
    let beside: Vec<&Reason> = state.reasons.iter().filter(|r| r.effect.is_none()).collect();
    list(&mut out, "because", &deciding, 12);
    list(&mut out, "also", &other, 6);
    list(&mut out, "beside", &beside, 6);
    if !state.settle.is_empty() {
        out += &format!("  {}\n", styled(STRONG, "what would settle it"));
        for settlement in state.settle.iter().take(12) {
            let minutes = settlement.minutes.map(|m| format!(" ({m} min of discharges)")).unwrap_or_default();
            out += &format!("    - {}\n", fold(&format!("{}{minutes}", settlement.what), WIDTH, "      "));
        }
        if state.settle.len() > 12 {
            out += &format!("    - and {} more; see --json\n", state.settle.len() - 12);
        }
    }
    if !state.coverage.is_empty() {
        let complete = state
            .coverage
            .iter()
            .filter(|c| matches!(c.state, CoverageState::Complete | CoverageState::Exceeded))
            .count();
        let applied: u64 = state.coverage.iter().map(|c| u64::from(c.counted)).sum();
        out += &format!(
            "  coverage   {complete} of {} required series complete, {applied} discharges count",
            state.coverage.len()
        );
        if !state.uncounted.is_empty() {
            out += &format!(", {} series count towards nothing", state.uncounted.len());
        }
        out.push('\n');
    }
    for item in &state.evidence {
        let style = match (item.state, item.required) {
            (EvidenceState::Shown | EvidenceState::NotNeeded, _) => FAINT,
            (_, true) => BAD,
            (_, false) => CARE,
        };
        let words = |word: &str| word.replace('-', " ");
        let text = format!("{}, {}: {}", words(item.kind.as_str()), words(item.state.as_str()), item.text());
        out += &format!("  evidence   {}\n", styled(style, fold(&text, WIDTH - 6, "             ")));
    }
    out
}

fn list(out: &mut String, head: &str, reasons: &[&Reason], most: usize) {
    if reasons.is_empty() {
        return;
    }
    *out += &format!("  {}\n", styled(STRONG, head));
    for reason in reasons.iter().take(most) {
        *out += &format!("    - {}\n", fold(&reason.text, WIDTH, "      "));
    }
    if reasons.len() > most {
        *out += &format!("    - and {} more; see --json\n", reasons.len() - most);
    }
}
