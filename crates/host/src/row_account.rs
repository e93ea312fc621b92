//! The account of a job's rows as JSON: one shape for the journal, the lines of a run and its totals.

use record::RowAccount;
use serde_json::{Value, json};

/// The account as JSON.
pub fn row_account_to_value(rows: RowAccount) -> Value {
    json!({
        "total": rows.total, "used": rows.used, "set_aside": rows.set_aside,
        "preamble": rows.preamble, "footer": rows.footer, "blank": rows.blank,
    })
}

/// The account that [`row_account_to_value`] wrote; none where a part is missing or no whole number.
pub(crate) fn row_account_from_value(value: &Value) -> Option<RowAccount> {
    let count = |part: &str| value.get(part)?.as_u64();
    Some(RowAccount {
        total: count("total")?,
        used: count("used")?,
        set_aside: count("set_aside")?,
        preamble: count("preamble")?,
        footer: count("footer")?,
        blank: count("blank")?,
    })
}
