//! Codes of the findings that making and reading a form raise.

use record::CodeDoc;

/// The file can't be read at all.
pub(crate) const UNREADABLE: &str = "form/unreadable";
/// The file is no saved form.
pub(crate) const NOT_A_FORM: &str = "form/not-a-form";
/// The form is of a version that this program does not know.
pub(crate) const UNKNOWN_VERSION: &str = "form/unknown-version";
/// Entries of the journal are missing or out of order.
pub(crate) const OUT_OF_ORDER: &str = "form/out-of-order";
/// An entry that can't be read.
pub(crate) const BAD_ENTRY: &str = "form/bad-entry";
/// A statement was corrected.
pub(crate) const CORRECTED: &str = "form/corrected";
/// An entry was taken back.
pub(crate) const TAKEN_BACK: &str = "form/taken-back";
/// The form was interrupted.
pub(crate) const INTERRUPTED: &str = "form/interrupted";
/// The clock was moved.
pub(crate) const CLOCK_MOVED: &str = "form/clock-moved";
/// A series was skipped.
pub(crate) const SKIPPED: &str = "form/skipped";
/// A series was taken out of its turn.
pub(crate) const OUT_OF_TURN: &str = "form/out-of-turn";
/// A series that the plan does not have.
pub(crate) const OUTSIDE_PLAN: &str = "form/outside-plan";
/// A series was done sooner than its discharges take.
pub(crate) const TOO_QUICK: &str = "form/too-quick";
/// A series was begun and not ended.
pub(crate) const NOT_ENDED: &str = "form/not-ended";
/// A remark of the bench.
pub(crate) const REMARK: &str = "form/remark";
/// Somebody put a name under the form.
pub(crate) const SIGNED: &str = "form/signed";
/// A row of a paper sheet was copied.
pub(crate) const COPIED: &str = "form/copied-from-paper";
/// The last line of a journal was cut off.
pub(crate) const LINE_CUT_OFF: &str = "form/line-cut-off";
/// A row of a sheet's table that can't be taken.
pub(crate) const BAD_ROW: &str = "form/bad-row";
/// A photo is missing or damaged.
pub(crate) const PHOTO_DAMAGED: &str = "form/photo-damaged";
/// Entries that the record has no place for.
pub(crate) const KEPT_IN_FORM: &str = "form/kept-in-form";
/// The plan requires nothing.
pub(crate) const NO_PLAN: &str = "form/no-plan";
/// A picture is not in the form.
pub(crate) const PICTURE_LEFT_OUT: &str = "form/picture-left-out";

/// What making a form raises.
pub(crate) const WRITTEN: &[CodeDoc] = &[
    CodeDoc {
        code: NO_PLAN,
        means: "The job's plan requires no series, so there is nothing to put into a form.",
        matters: "A form without series would look like a day without work.",
        example: "a job.toml without [[points]], or without a standard",
        remedy: "State points, voltages, polarities and the standard; `fulgurite assess` says what is missing.",
    },
    CodeDoc {
        code: PICTURE_LEFT_OUT,
        means: "A picture on which points are marked could not be put into the form.",
        matters: "The person at the bench sees the point's name and words, but no mark.",
        example: "picture = \"pictures/front.png\" without an [[attachments]] entry of that name",
        remedy: "List the picture under [[attachments]] as PNG or JPEG.",
    },
];

/// What reading a table of a sheet's rows raises beside what reading a form does.
pub(crate) const ROWS: &[CodeDoc] = &[CodeDoc {
    code: BAD_ROW,
    means: "A row that was typed in from a paper sheet does not say what a row must say, or says it twice.",
    matters: "What was done may not be known: the verdict is capped until somebody rules on the row.",
    example: "`applied` without a word on whether the item was watched",
    remedy: "Look at the sheet and mend the row; if the sheet does not say it, rule on the row under [[rulings]].",
}];

/// What reading a form raises.
pub(crate) const READ: &[CodeDoc] = &[
    CodeDoc {
        code: UNREADABLE,
        means: "The file could not be read from the disk, or is larger than a form can be.",
        matters: "Nothing of it is known.",
        example: "a disk that fails",
        remedy: "Copy the file again from the device that saved it.",
    },
    CodeDoc {
        code: NOT_A_FORM,
        means: "The file is no saved form: not JSON, cut off, or with other keys than a form has.",
        matters: "A form that was cut off may lack the last series, and nobody would see it.",
        example: "a file that ends in the middle of an entry",
        remedy: "Save the form again; the journal is still on the device.",
    },
    CodeDoc {
        code: UNKNOWN_VERSION,
        means: "The form is of a version that this program does not know.",
        matters: "Reading it as another version could change what it says.",
        example: "\"form\": 9",
        remedy: "Use the version of the program that made the form, or a later one.",
    },
    CodeDoc {
        code: OUT_OF_ORDER,
        means: "The numbers of the journal's entries do not run from 1 without a gap.",
        matters: "An entry was removed, added or moved after the form was saved.",
        example: "an entry 7 that follows entry 5",
        remedy: "Save the form again from the device, and don't edit the file.",
    },
    CodeDoc {
        code: BAD_ENTRY,
        means: "An entry of the journal does not say what an entry of its kind must say.",
        matters: "What was done may not be known: the verdict is capped until somebody rules on the row.",
        example: "a `done` entry without `applied`",
        remedy: "Save the form again from the device; if it stays, rule on the row under [[rulings]].",
    },
    CodeDoc {
        code: CORRECTED,
        means: "Something that was stated at the bench was corrected there. The later value holds, the earlier one is shown.",
        matters: "ISO/IEC 17025:2017 7.5.2 asks that changes can be followed to what was written before.",
        example: "relative humidity 24, then 42, \"read or typed wrongly\"",
        remedy: "Nothing, if the reason satisfies you.",
    },
    CodeDoc {
        code: TAKEN_BACK,
        means: "A touch was taken back at the bench.",
        matters: "It counts for nothing, and stays in the form.",
        example: "a series marked done by mistake",
        remedy: "Nothing, if it was a mistake.",
    },
    CodeDoc {
        code: INTERRUPTED,
        means: "The form was opened again without having been left in an orderly way: reload, crash, empty battery.",
        matters: "What was entered before is there; what happened in between was not written down here.",
        example: "the tablet was upset by a discharge",
        remedy: "Ask who was at the bench whether anything was applied in between.",
    },
    CodeDoc {
        code: CLOCK_MOVED,
        means: "The clock of the device was moved, or the device slept, between two entries.",
        matters: "Times before and after do not belong to one clock.",
        example: "the tablet fetched the time and jumped by an hour",
        remedy: "Take the times of this day with that reservation.",
    },
    CodeDoc {
        code: SKIPPED,
        means: "A series of the plan was skipped at the bench, with a reason.",
        matters: "It is missing from what the plan requires.",
        example: "point not reachable",
        remedy: "Apply it, or state why the plan in part suffices.",
    },
    CodeDoc {
        code: OUT_OF_TURN,
        means: "A series was taken out of the plan's order, with a reason.",
        matters: "The order can matter to the item; the reader should know it.",
        example: "same tip as now",
        remedy: "Nothing, if the order does not matter.",
    },
    CodeDoc {
        code: OUTSIDE_PLAN,
        means: "A series was applied that the plan does not have, for the reason that was stated at the bench.",
        matters: "It counts towards no requirement that the plan does not have; the reader should know why it was applied.",
        example: "9 kV at a point planned for 8 kV, \"to see how near the limit is\"",
        remedy: "Nothing; amend the plan if it should be required.",
    },
    CodeDoc {
        code: TOO_QUICK,
        means: "A series was marked as done sooner after the one before than its discharges take at the interval.",
        matters: "Fewer discharges may have been applied, or faster ones, than the entry says.",
        example: "ten discharges one second apart, done four seconds after the last series",
        remedy: "Ask who was at the bench; repeat the series, or state what was really applied. The verdict is not capped: the touch says when it was written down, not when each discharge came.",
    },
    CodeDoc {
        code: NOT_ENDED,
        means: "A series was begun in the form and never marked as done.",
        matters: "Only the discharges that were counted one by one are known to have been applied.",
        example: "three discharges counted, then the day ended",
        remedy: "Apply the rest, or state what was applied.",
    },
    CodeDoc {
        code: REMARK,
        means: "A remark that was written at the bench.",
        matters: "The reader of the record should see it.",
        example: "\"compressor next door running from 14:10\"",
        remedy: "Nothing; it stands in the record.",
    },
    CodeDoc {
        code: SIGNED,
        means: "Somebody put their name under the form at the bench, and when.",
        matters: "ISO/IEC 17025:2017 7.5.1 asks who is responsible for each activity.",
        example: "I. Marsh at the end of the day",
        remedy: "Nothing.",
    },
    CodeDoc {
        code: COPIED,
        means: "Rows of a paper sheet were copied into the record, by whom and when it says.",
        matters: "Copying is a step at which a slip can enter; the sheet is the original and must be kept.",
        example: "rows 1 to 6 of sheet OPL-26-0117-1",
        remedy: "Keep the sheet; compare a few rows.",
    },
    CodeDoc {
        code: LINE_CUT_OFF,
        means: "The last line of a journal that `form --serve` kept is cut off: the program was stopped while it wrote.",
        matters: "The page shows a touch as taken only once the line is on disk, so nothing that was shown is lost.",
        example: "a power cut at the PC in the middle of a touch",
        remedy: "Serve the form again: the page sends what was not stored, and the cut-off line is put aside.",
    },
    CodeDoc {
        code: PHOTO_DAMAGED,
        means: "A photo that an entry names is not in the file, or is not the one that was taken.",
        matters: "The picture would not show what the bench saw.",
        example: "a checksum that does not fit",
        remedy: "Save the form again from the device.",
    },
    CodeDoc {
        code: KEPT_IN_FORM,
        means: "Entries of the form that the record has no place for, each kind with its rows.",
        matters: "They are in no report; whoever needs them must know where they stand.",
        example: "the time of a choice, or a remark that was taken back",
        remedy: "Nothing; keep the form, or the evidence pack that holds it.",
    },
];
