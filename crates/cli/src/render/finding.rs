//! Findings as text, one line, or JSON.

use super::text::{BAD, CARE, FAINT, STRONG, fold, styled};
use record::{Finding, Place, Severity};
use serde_json::{Value, json};

fn head(finding: &Finding) -> String {
    let style = match finding.severity {
        Severity::Error => BAD,
        Severity::Warning => CARE,
        Severity::Note => STRONG,
    };
    styled(style, format!("{}[{}]", finding.severity, finding.code))
}

fn with_job(job: Option<&str>, place: &Place) -> String {
    match job {
        Some(job) => format!("{job}/{place}"),
        None => place.to_string(),
    }
}

/// What, where, why, what to do; a blank line at the end.
pub(super) fn full(job: Option<&str>, finding: &Finding) -> String {
    let mut text = format!("{}: {}\n", head(finding), finding.message);
    let arrow = styled(FAINT, "  --> ");
    match &finding.place {
        Some(place) => text += &format!("{arrow}{}\n", with_job(job, place)),
        None => {
            if let Some(job) = job {
                text += &format!("{arrow}{job}\n");
            }
        }
    }
    if let Some((place, why)) = &finding.related {
        text += &format!("{arrow}{} {why}\n", with_job(job, place));
    }
    for help in &finding.help {
        text += &format!("{} {}\n", styled(FAINT, "  = help:"), fold(help, 88, "          "));
    }
    if let Some(clause) = &finding.clause {
        text += &format!("{} {clause}\n", styled(FAINT, "  = see:"));
    }
    text.push('\n');
    text
}

/// `file:row:column: severity[code]: message`
pub(super) fn short(job: Option<&str>, finding: &Finding) -> String {
    let place = match &finding.place {
        Some(place) => with_job(job, &Place { label: None, ..place.clone() }),
        None => job.unwrap_or("-").to_owned(),
    };
    format!("{place}: {}: {}\n", head(finding), finding.message)
}

/// One object.
pub(super) fn json(job: Option<&str>, finding: &Finding) -> String {
    let place = |p: &Place| json!({ "file": p.file, "row": p.row, "column": p.column, "label": p.label });
    let object = json!({
        "job": job,
        "code": finding.code,
        "severity": finding.severity.as_str(),
        "message": finding.message,
        "place": finding.place.as_ref().map_or(Value::Null, place),
        "related": finding.related.as_ref().map(|(p, text)| json!({ "place": place(p), "text": text })),
        "help": finding.help,
        "clause": finding.clause,
    });
    format!("{object}\n")
}
