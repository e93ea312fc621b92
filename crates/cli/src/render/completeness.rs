//! What plan, records and report must hold, item by item: what is missing first.

use super::standard::mark;
use super::text::{BAD, FAINT, GOOD, STRONG, fold, styled};
use assess::Assessment;
use assess::completeness::CompletenessState;

/// The whole list.
pub(crate) fn full(name: &str, assessment: &Assessment) -> String {
    let items = &assessment.completeness;
    let count = |state| items.iter().filter(|item| item.state == state).count();
    let mut out = format!(
        "{}  {} stated, {} missing, {} not applicable\n",
        styled(STRONG, name),
        count(CompletenessState::Stated),
        count(CompletenessState::Missing),
        count(CompletenessState::NotApplicable)
    );
    for (state, title, style) in [
        (CompletenessState::Missing, "missing", BAD),
        (CompletenessState::NotApplicable, "not applicable", FAINT),
        (CompletenessState::Stated, "stated", GOOD),
    ] {
        if count(state) == 0 {
            continue;
        }
        out += &format!("\n{}\n", styled(style, title));
        let mut list = "";
        for item in items.iter().filter(|item| item.state == state) {
            if item.list != list {
                out += &format!("  {}\n", styled(STRONG, &item.list));
                list = &item.list;
            }
            let asks = fold(&format!("{}{}", item.asks, mark(item.status)), 76, &" ".repeat(19));
            out += &format!("    {:<14} {asks}\n", item.clause);
            out += &format!("{:19}{}\n", "", styled(FAINT, fold(&item.text, 76, &" ".repeat(19))));
        }
    }
    out
}
