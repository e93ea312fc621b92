//! Codes of the findings about a record's file.

use record::CodeDoc;

macro_rules! codes {
    ($($(#[$meta:meta])* $name:ident = $code:literal {
        means: $means:literal, matters: $matters:literal, example: $example:literal, remedy: $remedy:literal $(,)?
    })+) => {
        $($(#[$meta])* pub(crate) const $name: &str = $code;)+

        /// Every code that this reader raises, with its explanation.
        pub const CODES: &[CodeDoc] = &[$(CodeDoc {
            code: $name, means: $means, matters: $matters, example: $example, remedy: $remedy,
        }),+];
    };
}

codes! {
    /// The system can't give the file.
    CANT_READ = "trace/cant-read" {
        means: "The operating system could not read the file to its end.",
        matters: "What was read so far may be any part of the record.",
        example: "a file on a drive that was taken out",
        remedy: "Copy the file to a drive that is at hand, and try again.",
    }
    /// No text.
    NOT_TEXT = "trace/not-text" {
        means: "The file is no text with lines: packed otherwise than with gzip, UTF-16, binary, or without line ends.",
        matters: "Nothing in it can be read with certainty.",
        example: "an instrument's own binary format",
        remedy: "Unpack it, save it as UTF-8, or export the record as text.",
    }
    /// No rows of numbers.
    NO_TABLE = "trace/no-table" {
        means: "No table of numbers with a column for the current is found.",
        matters: "There is no record in the file.",
        example: "a file with a header and no rows",
        remedy: "Look whether the export was complete.",
    }
    /// A row with more or fewer cells, or a line between rows.
    BAD_ROW = "trace/bad-row" {
        means: "A line within the table is no row of it: it has more or fewer cells, or is text.",
        matters: "Leaving it out would shift every later sample, or hide a lost one.",
        example: "`1.5e-09` in a table of two columns",
        remedy: "Mend the row in a copy of the file, or export the record again.",
    }
    /// A cell that is no number.
    BAD_NUMBER = "trace/bad-number" {
        means: "A cell of the table is no number in the form of the others.",
        matters: "A sample that is guessed is an invented one.",
        example: "`1.234,5`, or `0.5` in a file with decimal commas",
        remedy: "Mend the cell in a copy of the file, or export the record again.",
    }
    /// More than one way to read the file.
    TWO_READINGS = "trace/two-readings" {
        means: "The file can be read in two ways: two columns may be the current, a mark may be a decimal sign or not, values may be codes or not.",
        matters: "Choosing one without being told would be a guess at what was measured.",
        example: "a table with the columns Time, CH1 and CH2",
        remedy: "State the setting that the finding names.",
    }
    /// A unit that is not there.
    UNIT_NOT_STATED = "trace/unit-not-stated" {
        means: "Neither the file nor a setting states the unit of a column or of the sample interval.",
        matters: "Seconds and nanoseconds, amperes and volts look alike as numbers.",
        example: "a file that begins with `-6,0` and has no header",
        remedy: "State `time_unit` and `value_unit`.",
    }
    /// A unit that is not known.
    UNKNOWN_UNIT = "trace/unknown-unit" {
        means: "The preamble or a column's header states a unit that is none of time, current or voltage where one is needed.",
        matters: "The values can't be turned into nanoseconds and amperes.",
        example: "`Vertical Units,dBm`, or a column `current [lb]`",
        remedy: "Export the record in amperes or volts, or take the line out of a copy and state the unit.",
    }
    /// Volts without a conversion.
    SCALE_NOT_STATED = "trace/scale-not-stated" {
        means: "The record is in volts, and the conversion to the discharge current is not stated.",
        matters: "The factor depends on target, attenuator and cable; it can't be seen in the record.",
        example: "a column `CH1 [V]` without `scale_a_per_v`",
        remedy: "State the measuring chain of the verification (`chain`, or at its equipment), or `scale_a_per_v` (on the command line `--scale-a-per-v`), from the certificates.",
    }
    /// A conversion that is not needed.
    SCALE_NOT_USED = "trace/scale-not-used" {
        means: "A conversion from volts is stated, but the record is in amperes.",
        matters: "Applied nevertheless, it would make every current wrong.",
        example: "`--scale-a-per-v 10` for a column `current_A`",
        remedy: "Take the setting out, or state `value_unit = \"V\"` if the column holds volts.",
    }
    /// A setting and the file differ.
    SETTING_OVER_FILE = "trace/setting-over-file" {
        means: "A setting states another unit than the file does; the setting is used.",
        matters: "One of the two is wrong, and every figure depends on it.",
        example: "`time_unit = \"ns\"` for a column `time_s`",
        remedy: "Take the setting out if the file is right.",
    }
    /// Two statements that can't both hold.
    CONTRADICTION = "trace/contradiction" {
        means: "Two places of the file state different values for the same thing.",
        matters: "The program would have to choose one of them without grounds.",
        example: "a column `i [A]` below a line `Vertical Units,mA`",
        remedy: "Take the line that is wrong out of a copy of the file.",
    }
    /// Neither a time column nor an interval.
    NO_TIME = "trace/no-time" {
        means: "The record has neither a time column nor a stated sample interval.",
        matters: "Without time there is no rise time and no current at a time.",
        example: "a single column of numbers below `unit=A`",
        remedy: "State `sample_interval_ns`.",
    }
    /// A setting names a column that is not there.
    NO_SUCH_COLUMN = "trace/no-such-column" {
        means: "A setting names a column that the table does not have.",
        matters: "Another column must not be taken in its place.",
        example: "`channel = \"CH3\"` for a table with CH1 and CH2",
        remedy: "Name one of the columns that the finding lists, or its number.",
    }
    /// A sample without a number.
    NO_NUMBER = "trace/no-number" {
        means: "A sample holds a word or a number by which instruments say that there is none.",
        matters: "The sample is kept as unknown; figures are not given across it.",
        example: "a row `2.065e-08,NaN`",
        remedy: "Record or export again.",
    }
    /// A sample out of range.
    OVER_RANGE = "trace/over-range" {
        means: "A sample is marked as out of the instrument's range.",
        matters: "The true value is larger than anything recorded.",
        example: "a row `1.5e-09,OVER`",
        remedy: "Record again with a larger vertical range.",
    }
    /// Another number of samples than announced.
    OTHER_LENGTH = "trace/other-length" {
        means: "The table has another number of rows than the preamble announces.",
        matters: "The export may have been cut off, or rows were lost.",
        example: "`Record Length,400` above 398 rows",
        remedy: "Export the record again.",
    }
    /// Another interval than stated.
    OTHER_INTERVAL = "trace/other-interval" {
        means: "The time column has another step than the sample interval of the preamble.",
        matters: "One of the two is wrong, and all times depend on it.",
        example: "`Sample Interval,2e-10,s` above times with steps of 0.1 ns",
        remedy: "State `sample_interval_ns` if the preamble is right; else the time column is used.",
    }
    /// Lines behind the table.
    LINES_BEHIND = "trace/lines-behind-the-table" {
        means: "Lines of text follow the table.",
        matters: "Nothing in them was read.",
        example: "a line `end of data`",
        remedy: "Nothing, if they say nothing about the record.",
    }
    /// A setting with a bad value.
    BAD_SETTING = "trace/bad-setting" {
        means: "A setting has a value that it can't have.",
        matters: "The file would be read otherwise than intended.",
        example: "`scale_a_per_v = 0`",
        remedy: "Write a value of the kind that the finding names.",
    }
    /// A setting that does not exist.
    UNKNOWN_SETTING = "trace/unknown-setting" {
        means: "A setting of this name does not exist.",
        matters: "A mistyped setting would silently have no effect.",
        example: "`scale = 10`",
        remedy: "Use one of the settings that are listed.",
    }
}
