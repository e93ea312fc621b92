//! Codes of the findings about templates, with what `explain` says about them.

use record::CodeDoc;

/// A template's file can't be understood as Handlebars.
pub const SYNTAX: &str = "pages/template-syntax";
/// A template asks for a field that the view does not have.
pub const FIELD: &str = "pages/unknown-field";
/// A helper was given something that it can't use.
pub const HELPER: &str = "pages/helper-misused";
/// A word that the language file does not have.
pub const WORD: &str = "pages/missing-word";
/// Markup outside the subset.
pub const MARKUP: &str = "pages/markup";
/// A name of a picture or place that does not exist.
pub const NAME: &str = "pages/unknown-name";
/// `template.toml` or a language file is wrong.
pub const MANIFEST: &str = "pages/template-settings";

/// A picture is listed but not shown.
pub const PICTURE: &str = "pages/picture-not-shown";

/// Words of a language that nobody who works in it has read yet.
pub const REVIEW: &str = "pages/words-for-review";

/// All of them.
pub const CODES: &[CodeDoc] = &[
    CodeDoc {
        code: SYNTAX,
        means: "A template file is not Handlebars as this program understands it.",
        matters: "A part that can't be understood would be missing from the report without a word.",
        example: "`{{#if item}}` without `{{/if}}`, or `{{{raw}}}`, which would pass markup unchecked",
        remedy: "Mend the template at the line and column named.",
    },
    CodeDoc {
        code: FIELD,
        means: "A template asks for a field that the report's data do not have.",
        matters: "An empty place in a report looks like a fact that nobody stated.",
        example: "`{{item.serail}}`",
        remedy: "Use the name proposed, or ask `template fields` for the names there are.",
    },
    CodeDoc {
        code: HELPER,
        means: "A helper such as `num` or `date` was given a value that it can't set.",
        matters: "A number set wrongly is worse than none.",
        example: "`{{num item.name}}`",
        remedy: "Give the helper a number or a date; guard values that may be absent with `{{#if}}`.",
    },
    CodeDoc {
        code: WORD,
        means: "The language file has no words under this key.",
        matters: "A report with a hole in its sentences can't be issued.",
        example: "`{{word \"verdict.pas\"}}`",
        remedy: "Add the key to the language file, or use the key proposed.",
    },
    CodeDoc {
        code: MARKUP,
        means: "The template makes markup outside the strict subset of XHTML that papers are made of.",
        matters: "What one paper can't show would be lost there and stay in another; both must say the same.",
        example: "`<div>`, an unknown class, a `<td>` outside a row",
        remedy: "Use the element, attribute or class proposed; the subset is listed in crates/pages/README.md.",
    },
    CodeDoc {
        code: NAME,
        means: "The template shows a picture or links to a place that does not exist.",
        matters: "A dead link or an empty frame in a report.",
        example: "`<img name=\"point-mpa\"/>`",
        remedy: "Use the name proposed, or guard the figure with `{{#if}}`.",
    },
    CodeDoc {
        code: MANIFEST,
        means: "`template.toml` or a language file holds something that can't be used, or lacks what is needed.",
        matters: "Without it no report can be made of the template.",
        example: "`accent = \"teal\"` (a colour is written `#1f5a6b`)",
        remedy: "Mend the file at the line and column named.",
    },
    CodeDoc {
        code: REVIEW,
        means: "A language file says that its words were not yet read by somebody who tests in that language.",
        matters: "A trade term that is slightly off can be misread by a client or an assessor.",
        example: "`[review]` in `languages/de.toml`",
        remedy: "Read the terms named, correct what is off in a language file of your own, and give it an empty `[review] what = \"\"`.",
    },
    CodeDoc {
        code: PICTURE,
        means: "An attached picture is listed in the report with its checksum, but not shown.",
        matters: "Where it marks points, the reader can't see where the discharges were applied.",
        example: "a drawing attached as `.svg` or a photo as `.heic`",
        remedy: "Attach it as JPEG or PNG as well.",
    },
];
