//! The findings about workbooks, each with what it means and what to do.

use record::CodeDoc;

pub(crate) const UNREADABLE: &str = "xlsx/unreadable";
pub(crate) const BROKEN: &str = "xlsx/broken";
pub(crate) const TOO_LARGE: &str = "xlsx/too-large";
pub(crate) const NO_SUCH_SHEET: &str = "xlsx/no-such-sheet";
pub(crate) const NO_SHEET_NAMES: &str = "xlsx/no-sheet-names";
pub(crate) const NO_LOG: &str = "xlsx/no-log";
pub(crate) const WHICH_SHEET: &str = "xlsx/which-sheet";
pub(crate) const STORED_RESULTS: &str = "xlsx/stored-results";

/// Every code.
pub(crate) const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: UNREADABLE,
        means: "The system could not read the file.",
        matters: "Nothing is known about what it holds.",
        example: "a workbook on a share that went away",
        remedy: "Check the disk or the share, then read it again.",
    },
    CodeDoc {
        code: BROKEN,
        means: "The file is no workbook, or a part of it is damaged.",
        matters: "Rows could be missing without anyone seeing it, so nothing of it is used.",
        example: "a file cut short while it was copied; a workbook with a password",
        remedy: "Open it in the spreadsheet program and save it again, or save the sheet as CSV.",
    },
    CodeDoc {
        code: TOO_LARGE,
        means: "The workbook holds far more than a discharge log can.",
        matters: "A small file can unpack to more than a computer holds; it is refused before that.",
        example: "a sheet with a million filled columns and rows",
        remedy: "Save the sheet with the log as CSV.",
    },
    CodeDoc {
        code: NO_SUCH_SHEET,
        means: "The settings name a sheet that the workbook does not have.",
        matters: "Another sheet must not stand in for it.",
        example: "sheet = \"Log 2\" where the sheets are `Log` and `Notes`",
        remedy: "Use one of the names that the message lists.",
    },
    CodeDoc {
        code: NO_SHEET_NAMES,
        means: "The setting `sheet` is neither a name nor a list of different names.",
        matters: "It is not known which sheets are meant.",
        example: "sheet = []",
        remedy: "Write the name of the sheet, or a list with each name once.",
    },
    CodeDoc {
        code: NO_LOG,
        means: "No visible sheet has a header that names a point and a voltage.",
        matters: "It is not known which sheet holds the discharges.",
        example: "a workbook whose header reads `Where` and `How much`",
        remedy: "Name the sheet and its columns in the settings.",
    },
    CodeDoc {
        code: WHICH_SHEET,
        means: "Several sheets look like discharge logs.",
        matters: "Reading the wrong one, or one of two, would lose discharges.",
        example: "a workbook with the sheets `Contact` and `Air`",
        remedy: "Name the sheet; where several count, list their names: sheet = [\"Contact\", \"Air\"].",
    },
    CodeDoc {
        code: STORED_RESULTS,
        means: "Cells of the sheet are formulas; what was read is the result that the workbook stores.",
        matters: "A stored result can be older than what it was calculated from.",
        example: "a count that adds up other cells",
        remedy: "Let the spreadsheet program calculate and save; compare the results with what was applied.",
    },
];
