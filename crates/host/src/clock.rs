//! The clock, and days as seconds: for keys that are valid for a time.

use record::Date;
use std::time::{SystemTime, UNIX_EPOCH};

/// The present moment, in seconds since 1970-01-01 UTC.
pub fn now() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_secs()).unwrap_or(i64::MAX)
}

/// The first moment of a day in UTC, in seconds since 1970-01-01.
pub fn seconds_of(day: Date) -> Option<i64> {
    record::Moment::parse(&format!("{day}T00:00:00+00:00")).and_then(|moment| match moment {
        record::Moment::WithOffset { instant, .. } => Some(instant.as_second()),
        record::Moment::Local(_) => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_begins_at_midnight_utc() {
        // date -u -d 2026-03-12 +%s
        assert_eq!("2026-03-12".parse().ok().and_then(seconds_of), Some(1_773_273_600));
    }
}
