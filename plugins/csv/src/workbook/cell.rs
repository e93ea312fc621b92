//! One cell of a workbook as text.

use calamine::{DataRef, ExcelDateTime};

/// The text of a cell as a log would have it; none for an empty one.
pub(super) fn text(value: &DataRef<'_>) -> Option<String> {
    let text = match value {
        DataRef::Empty => return None,
        DataRef::Int(number) => number.to_string(),
        // The shortest digits that stand for the stored number.
        DataRef::Float(number) => number.to_string(),
        DataRef::String(text) => text.clone(),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(value) => if *value { "true" } else { "false" }.to_owned(),
        DataRef::DateTime(moment) => date(moment),
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => text.clone(),
        DataRef::Error(error) => error.to_string(),
    };
    Some(text)
}

/// Whether it is a number with digits after the point.
pub(super) fn has_fraction(value: &DataRef<'_>) -> bool {
    matches!(value, DataRef::Float(number) if number.fract() != 0.0)
}

/// A day, a time of day, or both, as ISO 8601 writes them.
fn date(moment: &ExcelDateTime) -> String {
    let serial = moment.as_f64();
    let (year, month, day, hour, minute, second, milli) = moment.to_ymd_hms_milli();
    let time = match milli {
        0 => format!("{hour:02}:{minute:02}:{second:02}"),
        milli => format!("{hour:02}:{minute:02}:{second:02}.{milli:03}"),
    };
    if (0.0..1.0).contains(&serial) {
        time
    } else if moment.is_duration() {
        // A duration of more than a day is none that a log has; as a number it is refused where it stands.
        serial.to_string()
    } else if serial.fract() == 0.0 {
        format!("{year:04}-{month:02}-{day:02}")
    } else {
        format!("{year:04}-{month:02}-{day:02} {time}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use calamine::ExcelDateTimeType;

    fn moment(serial: f64, first_1904: bool) -> String {
        let value = ExcelDateTime::new(serial, ExcelDateTimeType::DateTime, first_1904);
        text(&DataRef::DateTime(value)).unwrap_or_default()
    }

    /// Serials from ECMA-376 part 1, 18.17.4 (1900 and 1904 date systems): 1900-03-01 is 61, the 1904 system starts
    /// 1462 days later; 2026-03-12 is 46093 by counting days.
    #[test]
    fn days_and_times_are_those_of_the_date_systems() {
        assert_eq!(moment(61.0, false), "1900-03-01");
        assert_eq!(moment(46093.0, false), "2026-03-12");
        assert_eq!(moment(46093.0 - 1462.0, true), "2026-03-12");
        assert_eq!(moment(46093.5, false), "2026-03-12 12:00:00");
        assert_eq!(moment(0.375, false), "09:00:00");
    }

    #[test]
    fn numbers_keep_the_digits_that_stand_for_them() {
        for (number, expected) in [(8.0, "8"), (0.1, "0.1"), (-15.0, "-15"), (4.05, "4.05")] {
            assert_eq!(text(&DataRef::Float(number)).as_deref(), Some(expected));
        }
        assert_eq!(text(&DataRef::Empty), None);
        assert!(has_fraction(&DataRef::Float(0.5)) && !has_fraction(&DataRef::Float(8.0)));
    }
}
