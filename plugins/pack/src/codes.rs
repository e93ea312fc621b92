//! Codes of the findings that writing a pack can raise.

use record::CodeDoc;

pub(crate) const ORIGINAL_MISSING: &str = "pack/original-missing";
pub(crate) const ALTERED: &str = "pack/altered";
pub(crate) const NOT_A_PACK: &str = "pack/not-a-pack";
/// Findings about a pack that was read, and not about the job in it.
pub const ABOUT_PACKS: &[&str] = &[ORIGINAL_MISSING, ALTERED, NOT_A_PACK, RESULT_DIFFERS];

pub(crate) const RESULT_DIFFERS: &str = "pack/result-differs";

/// What each code means.
pub(crate) const CODES: &[CodeDoc] = &[
    CodeDoc {
        code: ORIGINAL_MISSING,
        means: "an original file of the job is not at hand, so the pack was written without it",
        matters: "the record can then not be compared with what the bench left behind; the pack's table of \
                  contents names the file and its checksum",
        example: "`convert record.json --to pack`: the record names `shots.csv`, the file is not there",
        remedy: "convert the job folder with its original files instead of the record alone",
    },
    CodeDoc {
        code: ALTERED,
        means: "The pack given as an input is altered, damaged, or not safe to open.",
        matters: "Nothing may be written anew from evidence that is not what it was.",
        example: "a pack in which one byte of a log was changed",
        remedy: "Run `fulgurite verify` on it for every failed check, and ask its sender for it again.",
    },
    CodeDoc {
        code: NOT_A_PACK,
        means: "The zip given as an input is no pack that this build can read.",
        matters: "Only a pack says which record and which original files belong together.",
        example: "a BagIt bag that another program made",
        remedy: "Unpack it and convert what is inside.",
    },
    CodeDoc {
        code: RESULT_DIFFERS,
        means: "The assessment in the pack is not what its record comes to under the same rules and data.",
        matters: "The papers in the pack may state a verdict that its evidence does not carry.",
        example: "a pack in which `fail` was changed to `pass` and every checksum made anew",
        remedy: "Don't rely on the pack's papers; ask the laboratory.",
    },
];
