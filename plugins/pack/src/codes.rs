//! Codes of the findings that writing a pack can raise.

use record::CodeDoc;

pub(crate) const ORIGINAL_MISSING: &str = "pack/original-missing";

/// What each code means.
pub(crate) const CODES: &[CodeDoc] = &[CodeDoc {
    code: ORIGINAL_MISSING,
    means: "an original file of the job is not at hand, so the pack was written without it",
    matters: "the record can then not be compared with what the bench left behind; the pack's table of \
                  contents names the file and its checksum",
    example: "`convert record.json --to pack`: the record names `shots.csv`, the file is not there",
    remedy: "convert the job folder with its original files instead of the record alone",
}];
