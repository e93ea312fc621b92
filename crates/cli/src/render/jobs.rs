//! Jobs that were converted: what each came to, and the files that were made.

use super::text::{BAD, CARE, FAINT, STRONG, styled};
use super::{Output, verdict};
use host::{JobResult, JobStatus};
use serde_json::Value;

/// One job: lines for people, or one JSON object.
pub(crate) fn one(output: &Output, result: &JobResult) -> String {
    if output.as_json() { format!("{}\n", object(result)) } else { text(result) }
}

fn text(result: &JobResult) -> String {
    let mut out = styled(STRONG, &result.name);
    let says = match (result.status, &result.outcome) {
        (JobStatus::NotWritten, _) => styled(BAD, "outputs can't be written; nothing of it appeared"),
        (JobStatus::PluginBroke, _) => styled(BAD, "a plug-in broke; nothing written"),
        (_, Some(outcome)) => verdict::line(outcome),
        (_, None) => styled(BAD, "refused; nothing written"),
    };
    out += &format!("  {says}\n");
    match result.rows.set_aside {
        0 => {}
        1 => out += &format!("  {}\n", styled(CARE, "1 row could not be read and was set aside")),
        rows => {
            out +=
                &format!("  {}\n", styled(CARE, format!("{rows} rows could not be read and were set aside")))
        }
    }
    for format in &result.not_made {
        out += &format!(
            "  {}\n",
            styled(CARE, format!("{format}: refused, not written (the findings say why)"))
        );
    }
    if result.remembered {
        let files = match result.written.len() {
            1 => "its output is there".to_owned(),
            count => format!("its {count} outputs are there"),
        };
        out += &format!("  {}\n", styled(FAINT, format!("not changed since an earlier run; {files}")));
        return out;
    }
    for file in &result.written {
        let note = if file.unchanged { ", unchanged" } else { "" };
        out += &format!(
            "  {} {}\n",
            file.path.display(),
            styled(FAINT, format!("({}{note})", size(file.bytes)))
        );
    }
    out
}

/// What a job came to, for programs.
pub(crate) fn object(result: &JobResult) -> Value {
    Value::Object(host::result_line(result))
}

fn size(bytes: u64) -> String {
    match bytes {
        0..1_000 => format!("{bytes} B"),
        1_000..1_000_000 => format!("{:.1} kB", bytes as f64 / 1e3),
        _ => format!("{:.1} MB", bytes as f64 / 1e6),
    }
}
