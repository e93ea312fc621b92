//! Findings about digital calibration certificates.

use record::CodeDoc;

pub(crate) const CANT_READ: &str = "dcc/cant-read";
pub(crate) const TOO_LARGE: &str = "dcc/too-large";
pub(crate) const BROKEN: &str = "dcc/broken-xml";
pub(crate) const FORBIDDEN: &str = "dcc/forbidden-xml";
pub(crate) const NOT_A_CERTIFICATE: &str = "dcc/not-a-certificate";
pub(crate) const UNKNOWN_VERSION: &str = "dcc/unknown-version";
pub(crate) const NO_EQUIPMENT: &str = "dcc/no-equipment";
pub(crate) const WHICH_ITEM: &str = "dcc/which-item";
pub(crate) const OTHER_INSTRUMENT: &str = "dcc/other-instrument";
pub(crate) const NOT_TAKEN: &str = "dcc/not-taken";

/// Every code with its explanation.
pub const CODES: &[CodeDoc] = &[
    CodeDoc {
        code: CANT_READ,
        means: "A calibration certificate can't be read from the disk.",
        matters: "The evidence that it holds is missing.",
        example: "a disk that fails while reading",
        remedy: "Make the file readable and run again.",
    },
    CodeDoc {
        code: TOO_LARGE,
        means: "A calibration certificate has more bytes, elements or levels than any certificate needs.",
        matters: "A file made to exhaust the machine is refused before it does.",
        example: "elements nested a thousand deep",
        remedy: "Take pictures and documents out of the certificate, or ask its laboratory for another.",
    },
    CodeDoc {
        code: BROKEN,
        means: "A calibration certificate is not well-formed XML in UTF-8.",
        matters: "Half a certificate may lack what matters.",
        example: "a file that was cut off",
        remedy: "Fetch the certificate again.",
    },
    CodeDoc {
        code: FORBIDDEN,
        means: "A calibration certificate brings a document type or entities of its own.",
        matters: "They can make a text say something else, or fetch other files; certificates need neither.",
        example: "<!DOCTYPE ...>",
        remedy: "Ask the laboratory for a certificate without them.",
    },
    CodeDoc {
        code: NOT_A_CERTIFICATE,
        means: "The file is no digital calibration certificate, or lacks what every certificate has.",
        matters: "Nothing is taken from it.",
        example: "another XML file; a certificate without its number",
        remedy: "Name the certificate; type what a paper certificate says into [[equipment]].",
    },
    CodeDoc {
        code: UNKNOWN_VERSION,
        means: "The certificate is of a version of the form that this program does not know.",
        matters: "Its elements may mean something else.",
        example: "schemaVersion=\"4.0.0\"",
        remedy: "Ask for a certificate of version 3.0 to 3.3, or type what it says into [[equipment]].",
    },
    CodeDoc {
        code: NO_EQUIPMENT,
        means: "It is not said which equipment of the job a certificate belongs to.",
        matters: "A certificate is evidence for one instrument.",
        example: "a certificate that is converted by itself",
        remedy: "Write [[certificates]] with files and equipment in job.toml.",
    },
    CodeDoc {
        code: WHICH_ITEM,
        means: "A certificate covers several items, and none or more than one has the serial number of the job's equipment.",
        matters: "The wrong item's results would stand as evidence.",
        example: "a certificate for two generators, and equipment without a serial number",
        remedy: "State the serial number of the equipment in job.toml.",
    },
    CodeDoc {
        code: OTHER_INSTRUMENT,
        means: "A certificate is for another serial number than the job's equipment has.",
        matters: "It is no evidence for this equipment.",
        example: "serial = \"21\" in job.toml, and a certificate for 12",
        remedy: "Name the right certificate, or mend the serial number.",
    },
    CodeDoc {
        code: NOT_TAKEN,
        means: "Something in a certificate could not be taken over, and stays in the file only.",
        matters: "The report does not show it.",
        example: "a serial number among several marks of the maker; results as lists or curves; the conformity of one among several items",
        remedy: "Look into the certificate where it matters.",
    },
];
