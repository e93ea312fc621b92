//! Codes of the findings that the PDF writer raises.

use record::CodeDoc;

/// No font has a sign that the report holds.
pub(crate) const NO_GLYPH: &str = "pdf/no-glyph";
/// A picture can't be set.
pub(crate) const PICTURE: &str = "pdf/picture-unreadable";
/// A font file of the template can't be used.
pub(crate) const FONT: &str = "pdf/font-unreadable";
/// What was set does not conform to PDF/A-3a and PDF/UA-1.
pub(crate) const NOT_CONFORMING: &str = "pdf/not-conforming";

/// All of them.
pub const CODES: &[CodeDoc] = &[
    CodeDoc {
        code: NO_GLYPH,
        means: "The report holds a character that no font of the template has.",
        matters: "It would be printed as an empty box, and what was observed could no longer be read.",
        example: "An observation in a script that the fonts do not cover",
        remedy: "Add a font file for the script to a template of your own and name it in `template.toml` under `[fonts] fallback`; other outputs are written meanwhile.",
    },
    CodeDoc {
        code: PICTURE,
        means: "A photo is neither JPEG nor PNG as this program can embed them, or is damaged.",
        matters: "A report without the photo that it speaks of is not whole.",
        example: "A JPEG file that was cut off by a full card",
        remedy: "Save the photo again as JPEG or PNG.",
    },
    CodeDoc {
        code: FONT,
        means: "A font file named in `template.toml` is no TrueType or OpenType font.",
        matters: "Nothing can be set without it.",
        example: "A `.woff2` file given as a fallback font",
        remedy: "Give the font as `.ttf` or `.otf`.",
    },
    CodeDoc {
        code: NOT_CONFORMING,
        means: "The PDF library found that the document would not conform to PDF/A-3a and PDF/UA-1.",
        matters: "A report for signing and archiving must be readable in decades and by everyone.",
        example: "A picture with transparency rules that the archive format forbids",
        remedy: "The message names what is wrong; other outputs are written meanwhile.",
    },
];
