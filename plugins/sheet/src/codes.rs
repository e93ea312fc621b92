//! Codes of the findings that making a sheet raises.

use record::CodeDoc;

/// The plan requires nothing.
pub(crate) const NO_PLAN: &str = "sheet/no-plan";
/// The fonts can't be used, or don't fit the pages.
pub(crate) const NOT_SET: &str = "sheet/not-set";
/// A character that the sheet's fonts don't have.
pub(crate) const GLYPH_MISSING: &str = "sheet/glyph-missing";

/// A text was cut because its place is too small.
pub(crate) const TEXT_CUT: &str = "sheet/text-cut";

/// Every code with its explanation.
pub(crate) const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: NO_PLAN,
        means: "The job's plan requires no series, so there is nothing to put on a sheet.",
        matters: "A sheet without rows would be filled from memory.",
        example: "a job without a standard, or without points",
        remedy: "State the standard (method.standard), the levels (plan) and the points.",
    },
    CodeDoc {
        code: TEXT_CUT,
        means: "A text is longer than its place on the sheet; it ends with an ellipsis there.",
        matters: "Who reads the sheet at the bench does not see the rest. The record has it whole.",
        example: "a point described in two hundred letters",
        remedy: "Describe it in fewer words, or have the report at hand beside the sheet.",
    },
    CodeDoc {
        code: NOT_SET,
        means: "The sheet could not be set with the fonts of the template.",
        matters: "No sheet is written; the plan can be printed as a report or used as a form.",
        example: "a template whose sans-serif font is no TrueType font",
        remedy: "Use the built-in template, or fonts with TrueType outlines.",
    },
    CodeDoc {
        code: GLYPH_MISSING,
        means: "A text of the job holds a character that the sheet's fonts do not have.",
        matters: "On paper it would be an empty box, and nobody would know what it stood for.",
        example: "a point described in Japanese",
        remedy: "Describe it in Latin, Greek or Cyrillic letters for the sheet, or use the form (`fulgurite form`), which shows every script.",
    },
];
