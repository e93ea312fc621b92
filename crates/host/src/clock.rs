//! The clock, and days as seconds: for keys that are valid for a time.

use record::Date;
use std::time::{SystemTime, UNIX_EPOCH};

/// The present moment, in seconds since 1970-01-01 UTC.
pub fn now() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_secs()).unwrap_or(i64::MAX)
}

/// The present moment in UTC, as `2026-03-12T09:30:00Z`.
pub fn now_text() -> String {
    text_of(now())
}

/// A moment in seconds since 1970-01-01 UTC, as text.
fn text_of(seconds: i64) -> String {
    let (days, rest) = (seconds.div_euclid(86_400), seconds.rem_euclid(86_400));
    // Days of the civil calendar, from an era that begins on 1 March of the year 0.
    let shifted = days + 719_468;
    let (era, day_of_era) = (shifted.div_euclid(146_097), shifted.rem_euclid(146_097));
    let year_of_era = (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month + 2) / 5 + 1;
    let month = if month < 10 { month + 3 } else { month - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}T{:02}:{:02}:{:02}Z", rest / 3600, rest / 60 % 60, rest % 60)
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

    /// date -u -d @SECONDS +%FT%TZ
    #[test]
    fn moments_are_written_as_date_does() {
        for (seconds, text) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (1_773_307_799, "2026-03-12T09:29:59Z"),
            (4_107_542_399, "2100-02-28T23:59:59Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
        ] {
            assert_eq!(text_of(seconds), text);
        }
    }

    #[test]
    fn a_day_begins_at_midnight_utc() {
        // date -u -d 2026-03-12 +%s
        assert_eq!("2026-03-12".parse().ok().and_then(seconds_of), Some(1_773_273_600));
    }
}
