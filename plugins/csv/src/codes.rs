//! The findings of this reader, each with what it means and what to do.

use record::CodeDoc;

/// Every code.
pub(crate) const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: EMPTY,
        means: "The file has no bytes, or only the mark of its encoding.",
        matters: "A log without rows proves nothing; an empty file is usually a failed export.",
        example: "a file of 0 bytes",
        remedy: "Export the log again.",
    },
    CodeDoc {
        code: UNREADABLE,
        means: "The system could not read the file.",
        matters: "Nothing is known about what it holds.",
        example: "a file on a share that went away",
        remedy: "Check the disk or the share, then read it again.",
    },
    CodeDoc {
        code: NOT_TEXT,
        means: "The file holds NUL characters between other text.",
        matters: "It is a picture, a spreadsheet or a program, or its encoding is another one.",
        example: "a photo named log.csv",
        remedy: "Export the log as text; for UTF-16, set `encoding`.",
    },
    CodeDoc {
        code: UTF16_WITHOUT_MARK,
        means: "Every second byte is zero, as in UTF-16, and the mark that says so is missing.",
        matters: "Byte order decides what every character is.",
        example: "a log in UTF-16LE without its first two bytes",
        remedy: "Set `encoding = \"utf-16le\"` or `\"utf-16be\"` for this log.",
    },
    CodeDoc {
        code: UNDECODABLE,
        means: "Some bytes are no text in the encoding that was declared or marked, or neither in UTF-8 nor in Windows-1252.",
        matters: "Replacing them would change names and values without a trace.",
        example: "`encoding = \"utf-8\"` for a log in Windows-1252",
        remedy: "Set `encoding` to the one that the program of the log writes.",
    },
    CodeDoc {
        code: ENCODING_ASSUMED,
        means: "The file is not UTF-8 and nothing says what it is; it was read as Windows-1252.",
        matters: "Special characters in names could be wrong, and a wrong name is another point.",
        example: "`Geh\\xe4use` as the name of a point",
        remedy: "Look at the special characters, then set `encoding` to confirm it or to correct it.",
    },
    CodeDoc {
        code: HIDDEN_CHARACTERS,
        means: "The text holds characters that are not seen: they change its direction, or take no room.",
        matters: "Two names can look alike and differ, or be read in another order than they are stored.",
        example: "a point named `USB` with a zero-width space in it",
        remedy: "Compare the names with those in the job; they are kept as they are.",
    },
    CodeDoc {
        code: CONTROL_CHARACTER,
        means: "A field holds a control character that is no tab or line end.",
        matters: "It can't be printed, and XML does not allow it.",
        example: "an escape sequence of a terminal in a point's name",
        remedy: "Remove it in the original and read the log again.",
    },
    CodeDoc {
        code: NO_TABLE,
        means: "No row looks like the header of a discharge log, and the settings don't name columns by number.",
        matters: "Without knowing which column is what, every reading would be a guess.",
        example: "a log whose header reads `a;b;c`",
        remedy: "Name the columns under `columns`, by header or by number; set `header_row` and `delimiter` where needed.",
    },
    CodeDoc {
        code: WHICH_DELIMITER,
        means: "The table can be read with more than one delimiter.",
        matters: "The two readings differ in their columns.",
        example: "columns named by number in a log with as many commas as semicolons",
        remedy: "Set `delimiter` for this log.",
    },
    CodeDoc {
        code: COLUMN_MISSING,
        means: "A column that is needed or named in the settings is not in the table.",
        matters: "Without point and voltage a discharge belongs nowhere.",
        example: "`columns.voltage = \"U\"` when the header reads `U [kV]`",
        remedy: "Name the column as its header reads, or by its number.",
    },
    CodeDoc {
        code: DUPLICATE_HEADER,
        means: "Two columns have the same header, and it is the one that is needed.",
        matters: "Which of the two counts is not known.",
        example: "a header with `Discharges` twice",
        remedy: "Name the right column by its number under `columns`.",
    },
    CodeDoc {
        code: WHICH_COLUMN,
        means: "Two columns could have the same role, or one column was given two.",
        matters: "Which of them counts is not known.",
        example: "a header with `Voltage` and `U [kV]`",
        remedy: "Say which under `columns`; list the other under `columns.remark` or `columns.ignore`.",
    },
    CodeDoc {
        code: OUTCOME_OR_DEMAND,
        means: "A column could hold the outcome that was observed or the one that is demanded.",
        matters: "A demand that is read as an observation makes results out of nothing.",
        example: "a column `Criterion` with A, B and C; a column `Result` with the letter A",
        remedy: "Say which: `columns.class` or `columns.result` if it was observed, `columns.demand` if it is demanded.",
    },
    CodeDoc {
        code: WHICH_DECIMAL_SIGN,
        means: "A number fits two readings, and no other number of the file shows which is meant.",
        matters: "`1,234` is 1.234 or 1234.",
        example: "`1,234` among whole numbers",
        remedy: "Set `decimal = \"point\"` or `decimal = \"comma\"` for this log.",
    },
    CodeDoc {
        code: MIXED_DECIMAL_SIGNS,
        means: "Some numbers have a decimal point, others a decimal comma.",
        matters: "A number such as `1,234` elsewhere in the file then has two readings.",
        example: "`2,5` on one row and `2.5` on another",
        remedy: "Set `decimal` for this log; rows with the other sign are then set aside one by one.",
    },
    CodeDoc {
        code: UNIT_CONFLICT,
        means: "Two places give different units for the same value.",
        matters: "The value is wrong by a factor of a thousand in one of the readings.",
        example: "a header `U [kV]` over a units row with V",
        remedy: "Say which is right: `units.voltage = \"V\"`, or mend the cell.",
    },
    CodeDoc {
        code: UNIT_NOT_STATED,
        means: "The column may hold voltages or levels of the standard's table, and no unit says which.",
        matters: "Level 4 is not 4 kV.",
        example: "a column `Level` with 1, 2, 3, 4",
        remedy: "Set `units.voltage = \"kV\"` if they are voltages.",
    },
    CodeDoc {
        code: UNIT_ASSUMED,
        means: "Values have no unit anywhere and were read in the usual one (kV, s).",
        matters: "The reading is likely, not stated.",
        example: "a column `U` with 2, 4 and 8",
        remedy: "Set `units.voltage` or `units.interval` to confirm it.",
    },
    CodeDoc {
        code: UNIT_OVERRULED,
        means: "The settings give another unit than the log.",
        matters: "One of the two is wrong by a factor.",
        example: "`units.voltage = \"V\"` for a column `U [kV]`",
        remedy: "Remove the setting if the log is right.",
    },
    CodeDoc {
        code: VOLTAGE_RANGE,
        means: "A voltage can't be what its unit says: above 100 kV, or zero.",
        matters: "It is probably in volts, or no discharge.",
        example: "8000 in a column of kV",
        remedy: "Set `units.voltage = \"V\"` if the log is in volts, or mend the row.",
    },
    CodeDoc {
        code: POLARITY_NOT_STATED,
        means: "No row of the log states a polarity.",
        matters: "Requirements count discharges of each polarity.",
        example: "voltages 2, 4, 8 and no polarity column",
        remedy: "Set `polarity = \"positive\"` or `\"negative\"` for the log, or name the polarity column.",
    },
    CodeDoc {
        code: POLARITY_MISSING,
        means: "A row states no polarity, though the log has a column for it.",
        matters: "The discharge can't be counted at either polarity.",
        example: "an empty cell under `Pol`",
        remedy: "Write + or - in the row.",
    },
    CodeDoc {
        code: POLARITY_CONTRADICTION,
        means: "The sign of the voltage and the polarity column differ.",
        matters: "The discharge can't be counted at either polarity.",
        example: "-4 with `pos` in the polarity column",
        remedy: "Look at the original record of the test and mend the row.",
    },
    CodeDoc {
        code: BOTH_POLARITIES,
        means: "One row stands for runs at both polarities.",
        matters: "How many discharges each polarity got is not stated.",
        example: "`+/-8` with a count of 10",
        remedy: "Write a row for each, or set `both_polarities = \"count-each\"`.",
    },
    CodeDoc {
        code: POINT_MISSING,
        means: "A row names no point.",
        matters: "Discharges at no point count for nothing.",
        example: "an empty cell under `Point`",
        remedy: "Write the point; set `blanks = \"above\"` if empty cells repeat the one above.",
    },
    CodeDoc {
        code: APPLICATION_MISSING,
        means: "Nothing says whether the discharges were by contact, through air or to a plane.",
        matters: "The requirements differ.",
        example: "a log without such a column, for a job whose points don't say it",
        remedy: "Name the column, or set `application` for the log.",
    },
    CodeDoc {
        code: APPLICATION_CONTRADICTION,
        means: "The row's kind of discharge is none of those that the point is for.",
        matters: "One of the two is wrong.",
        example: "point HCP with VCP in the mode column",
        remedy: "Mend the row, or the point's `applications` in the job.",
    },
    CodeDoc {
        code: UNKNOWN_WORD,
        means: "A cell holds a word that stands for nothing known in its column.",
        matters: "Guessing it would invent a fact.",
        example: "`sideways` as the kind of discharge",
        remedy: "Say what it stands for under `words`, or mend the row.",
    },
    CodeDoc {
        code: BAD_NUMBER,
        means: "A cell that must hold a number does not.",
        matters: "A value that can't be read is no result.",
        example: "`8-`, `(8)`, `NaN`, `=2+2` as a voltage",
        remedy: "Write the number with digits and the sign before it.",
    },
    CodeDoc {
        code: BAD_COUNT,
        means: "A count of discharges is missing, below zero or not whole.",
        matters: "Counts decide whether the requirement is met.",
        example: "10.5 discharges",
        remedy: "Look at the original record of the test and mend the row.",
    },
    CodeDoc {
        code: COUNTER,
        means: "The count of a row can't be had from the running counter.",
        matters: "A difference needs two readings.",
        example: "a counter that was reset in the middle of the log",
        remedy: "Set `counter_start`, or write the counts in a column of their own.",
    },
    CodeDoc {
        code: DATE_FORM,
        means: "A date's parts can be read in more than one order.",
        matters: "The day of the test decides whether calibrations were valid.",
        example: "03/04/2026",
        remedy: "Set `date = \"dd/mm/yyyy\"` or `\"mm/dd/yyyy\"` (or `\"serial\"`) for this log.",
    },
    CodeDoc {
        code: BAD_TIME,
        means: "A cell that must hold a date or time does not, or holds one that does not exist.",
        matters: "A wrong time puts the discharge on another day.",
        example: "2026-02-30",
        remedy: "Look at the original record of the test and mend the row, or set `date`.",
    },
    CodeDoc {
        code: TIME_WITHOUT_DATE,
        means: "The log has times of day and no date.",
        matters: "Without a date a time says nothing about the day of the test.",
        example: "`10:32:05` under `Time`, and no date column",
        remedy: "Set `day` for this log, or name the date column.",
    },
    CodeDoc {
        code: OUTCOME_CONTRADICTION,
        means: "Cells of one row contradict each other about what was seen.",
        matters: "One of them is wrong.",
        example: "`ok` as result and 3 upsets",
        remedy: "Look at the original record of the test and mend the row.",
    },
    CodeDoc {
        code: VERDICT_WORD,
        means: "A result judges (pass, fail) instead of saying what the item did.",
        matters: "The verdict follows from what was seen; a word like pass hides it.",
        example: "`pass` under `Result`",
        remedy: "State what was seen, or set `words.result.nothing` if the word means that nothing was seen.",
    },
    CodeDoc {
        code: FIELD_COUNT,
        means: "A row has fewer or more fields than the table.",
        matters: "Which value belongs to which column is not known.",
        example: "a row that was cut off",
        remedy: "Complete the row, or put quotes around a text that holds the delimiter.",
    },
    CodeDoc {
        code: UNCLOSED_QUOTE,
        means: "A quote is opened and not closed until the end of the file.",
        matters: "Everything after it belongs to one field, so those rows can't be told apart.",
        example: "`\"USB shell,contact,8,+,10`",
        remedy: "Close the quote, or set `quote = \"none\"`.",
    },
    CodeDoc {
        code: RECORD_TOO_LONG,
        means: "A row does not end within a megabyte.",
        matters: "It is probably a quote that was never closed, or no log.",
        example: "a quote before a remark that never ends",
        remedy: "Close the quote, or set `quote = \"none\"`.",
    },
    CodeDoc {
        code: MOSTLY_UNREADABLE,
        means: "More than 10,000 rows can't be read, and fewer can.",
        matters: "A log that is mostly unreadable was not understood; its few readable rows may be wrong too.",
        example: "a long log of something else under a header with Point and Voltage",
        remedy: "Look at the first findings about its rows, and name columns, delimiter and units.",
    },
    CodeDoc {
        code: UNKNOWN_SETTING,
        means: "The settings hold a name that is not known.",
        matters: "A misspelt setting would silently do nothing.",
        example: "`delimeter = \"comma\"`",
        remedy: "Use the name that is suggested.",
    },
    CodeDoc {
        code: BAD_SETTING,
        means: "A setting has a value that it can't have.",
        matters: "The log would be read otherwise than meant.",
        example: "`decimal = \"dot\"`",
        remedy: "Write one of the values named in the help.",
    },
    CodeDoc {
        code: COLUMNS_KEPT,
        means: "Columns without a known role were kept as remarks of their series.",
        matters: "Nothing is lost, and nothing is computed with them.",
        example: "a column `Humidity`",
        remedy: "Give them a role under `columns`, or list them under `columns.ignore`.",
    },
    CodeDoc {
        code: EMPTY_COLUMNS,
        means: "Columns at the end of the table have neither header nor content.",
        matters: "They come from a spreadsheet and mean nothing.",
        example: "rows that end in `,,`",
        remedy: "Nothing needs to be done.",
    },
    CodeDoc {
        code: REPEATED_HEADER,
        means: "The header comes again within the table.",
        matters: "Two logs may have been joined, and rows may be in both.",
        example: "the header on rows 1 and 6",
        remedy: "Check that no row is in both.",
    },
    CodeDoc {
        code: FOOTER,
        means: "Rows after the table don't fit it and were not read as discharges.",
        matters: "They are totals or a signature; they are kept with the log's description.",
        example: "`Total;160`",
        remedy: "Check that they are no discharges.",
    },
    CodeDoc {
        code: NO_ROWS,
        means: "The table has a header and no rows.",
        matters: "The log proves nothing.",
        example: "a log exported before the test",
        remedy: "Check that it was exported whole.",
    },
    CodeDoc {
        code: NO_DISCHARGE,
        means: "A row says that no discharge was applied.",
        matters: "It counts for nothing.",
        example: "a count of 0",
        remedy: "Nothing needs to be done.",
    },
    CodeDoc {
        code: DUPLICATE_ROWS,
        means: "Rows repeat an earlier one field by field.",
        matters: "Discharges may be counted twice.",
        example: "a row that was pasted twice",
        remedy: "Remove what was written twice.",
    },
    CodeDoc {
        code: SHOT_NUMBERS,
        means: "The number of a shot does not follow the one before in its series.",
        matters: "A row may be missing or written twice.",
        example: "1, 2, 4",
        remedy: "Check the original record of the test.",
    },
];

pub(crate) const EMPTY: &str = "csv/empty";
pub(crate) const UNREADABLE: &str = "csv/unreadable";
pub(crate) const NOT_TEXT: &str = "csv/not-text";
pub(crate) const UTF16_WITHOUT_MARK: &str = "csv/utf-16-without-mark";
pub(crate) const UNDECODABLE: &str = "csv/undecodable";
pub(crate) const ENCODING_ASSUMED: &str = "csv/encoding-assumed";
pub(crate) const HIDDEN_CHARACTERS: &str = "csv/hidden-characters";
pub(crate) const CONTROL_CHARACTER: &str = "csv/control-character";
pub(crate) const NO_TABLE: &str = "csv/no-table";
pub(crate) const WHICH_DELIMITER: &str = "csv/which-delimiter";
pub(crate) const COLUMN_MISSING: &str = "csv/column-missing";
pub(crate) const DUPLICATE_HEADER: &str = "csv/duplicate-header";
pub(crate) const WHICH_COLUMN: &str = "csv/which-column";
pub(crate) const OUTCOME_OR_DEMAND: &str = "csv/outcome-or-demand";
pub(crate) const WHICH_DECIMAL_SIGN: &str = "csv/which-decimal-sign";
pub(crate) const MIXED_DECIMAL_SIGNS: &str = "csv/mixed-decimal-signs";
pub(crate) const UNIT_CONFLICT: &str = "csv/unit-conflict";
pub(crate) const UNIT_NOT_STATED: &str = "csv/unit-not-stated";
pub(crate) const UNIT_ASSUMED: &str = "csv/unit-assumed";
pub(crate) const UNIT_OVERRULED: &str = "csv/unit-overruled";
pub(crate) const VOLTAGE_RANGE: &str = "csv/voltage-range";
pub(crate) const POLARITY_NOT_STATED: &str = "csv/polarity-not-stated";
pub(crate) const POLARITY_MISSING: &str = "csv/polarity-missing";
pub(crate) const POLARITY_CONTRADICTION: &str = "csv/polarity-contradiction";
pub(crate) const BOTH_POLARITIES: &str = "csv/both-polarities";
pub(crate) const POINT_MISSING: &str = "csv/point-missing";
pub(crate) const APPLICATION_MISSING: &str = "csv/application-missing";
pub(crate) const APPLICATION_CONTRADICTION: &str = "csv/application-contradiction";
pub(crate) const UNKNOWN_WORD: &str = "csv/unknown-word";
pub(crate) const BAD_NUMBER: &str = "csv/bad-number";
pub(crate) const BAD_COUNT: &str = "csv/bad-count";
pub(crate) const COUNTER: &str = "csv/counter";
pub(crate) const DATE_FORM: &str = "csv/date-form";
pub(crate) const BAD_TIME: &str = "csv/bad-time";
pub(crate) const TIME_WITHOUT_DATE: &str = "csv/time-without-date";
pub(crate) const OUTCOME_CONTRADICTION: &str = "csv/outcome-contradiction";
pub(crate) const VERDICT_WORD: &str = "csv/verdict-word";
pub(crate) const FIELD_COUNT: &str = "csv/field-count";
pub(crate) const UNCLOSED_QUOTE: &str = "csv/unclosed-quote";
pub(crate) const RECORD_TOO_LONG: &str = "csv/record-too-long";
pub(crate) const MOSTLY_UNREADABLE: &str = "csv/mostly-unreadable";
pub(crate) const UNKNOWN_SETTING: &str = "csv/unknown-setting";
pub(crate) const BAD_SETTING: &str = "csv/bad-setting";
pub(crate) const COLUMNS_KEPT: &str = "csv/columns-kept";
pub(crate) const EMPTY_COLUMNS: &str = "csv/empty-columns";
pub(crate) const REPEATED_HEADER: &str = "csv/repeated-header";
pub(crate) const FOOTER: &str = "csv/footer";
pub(crate) const NO_ROWS: &str = "csv/no-rows";
pub(crate) const NO_DISCHARGE: &str = "csv/no-discharge";
pub(crate) const DUPLICATE_ROWS: &str = "csv/duplicate-rows";
pub(crate) const SHOT_NUMBERS: &str = "csv/shot-numbers";
