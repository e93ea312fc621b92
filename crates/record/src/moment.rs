//! A point in time as a laboratory writes it: with a zone, or local and marked as such.

use jiff::{Timestamp, civil::DateTime};

/// A time of day with date. A written time without a zone stays local: no zone is invented for it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Moment {
    /// Written with an offset from UTC.
    WithOffset {
        /// The instant.
        instant: Timestamp,
        /// The offset that was written, in seconds east of UTC.
        offset_s: i32,
    },
    /// Written without zone or offset.
    Local(DateTime),
}

impl Moment {
    /// Reads an RFC 3339 time with offset, or an ISO 8601 local time (`2026-03-12T09:30` or with a space
    /// between date and time); anything else gives none.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        if let Ok(pieces) = jiff::fmt::temporal::DateTimeParser::new().parse_pieces(text) {
            let time = pieces.time()?;
            let local = pieces.date().to_datetime(time);
            return match pieces.to_numeric_offset() {
                Some(offset) => {
                    let instant = offset.to_timestamp(local).ok()?;
                    Some(Self::WithOffset { instant, offset_s: offset.seconds() })
                }
                None => Some(Self::Local(local)),
            };
        }
        None
    }

    /// Date and time on the clock of the place where it was written.
    pub fn local(&self) -> DateTime {
        match self {
            Self::WithOffset { instant, offset_s } => {
                let offset = jiff::tz::Offset::from_seconds(*offset_s).unwrap_or(jiff::tz::Offset::UTC);
                offset.to_datetime(*instant)
            }
            Self::Local(local) => *local,
        }
    }

    /// Milliseconds since the start of 1970 on the clock of the place where it was written.
    pub fn local_ms(&self) -> i64 {
        jiff::tz::Offset::UTC.to_timestamp(self.local()).map_or(0, Timestamp::as_millisecond)
    }

    /// Milliseconds since the start of 1970, UTC; none for a time without an offset.
    pub fn instant_ms(&self) -> Option<i64> {
        match self {
            Self::WithOffset { instant, .. } => Some(instant.as_millisecond()),
            Self::Local(_) => None,
        }
    }

    /// The calendar day at the place where it was written.
    pub fn date(&self) -> jiff::civil::Date {
        self.local().date()
    }
}

impl std::fmt::Display for Moment {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::WithOffset { offset_s, .. } => {
                write!(f, "{}", self.local())?;
                if *offset_s == 0 {
                    return f.write_str("Z");
                }
                let (sign, size) = if *offset_s < 0 { ('-', -offset_s) } else { ('+', *offset_s) };
                write!(f, "{sign}{:02}:{:02}", size / 3600, size / 60 % 60)?;
                if size % 60 == 0 { Ok(()) } else { write!(f, ":{:02}", size % 60) }
            }
            Self::Local(local) => write!(f, "{local}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offset_and_local_times_print_as_read() {
        for text in [
            "2026-03-12T09:30:00+01:00",
            "2026-03-12T09:30:00Z",
            "2026-03-12T09:30:00",
            "1890-03-12T09:30:00+00:17:30",
        ] {
            assert_eq!(Moment::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(Moment::parse("2026-03-12 09:30").unwrap().to_string(), "2026-03-12T09:30:00");
        assert!(Moment::parse("12.03.2026").is_none());
        assert!(Moment::parse("2026-02-30T10:00").is_none());
    }
}
