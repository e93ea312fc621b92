//! Codes of the findings about a standard's file.

use record::CodeDoc;

/// The text is not TOML.
pub const BAD_TOML: &str = "standard/bad-toml";
/// A key that means nothing.
pub const UNKNOWN_KEY: &str = "standard/unknown-key";
/// A key that must be there.
pub const MISSING_KEY: &str = "standard/missing-key";
/// A value that the key can't have.
pub const BAD_VALUE: &str = "standard/bad-value";
/// A source that the file does not spell out.
pub const UNKNOWN_SOURCE: &str = "standard/unknown-source";
/// Two entries that say the same thing differently.
pub const CONTRADICTION: &str = "standard/contradiction";
/// A file that is to be extended and is not at hand.
pub const UNKNOWN_BASE: &str = "standard/unknown-base";
/// A form of the file that this program does not know.
pub const UNKNOWN_SCHEMA: &str = "standard/unknown-schema";

/// Every code with its explanation.
pub const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: BAD_TOML,
        means: "The file of a standard is not well-formed TOML.",
        matters: "Nothing in it can be relied on, so the whole file is refused.",
        example: "a line `discharges = ` with nothing after the equals sign",
        remedy: "Mend the line that is named; most editors mark the place.",
    },
    CodeDoc {
        code: UNKNOWN_KEY,
        means: "The file of a standard holds a key that has no meaning there.",
        matters: "A mistyped key would silently leave a limit out of force.",
        example: "contact_v = { value = 8000, ... } where the key is contact_kv",
        remedy: "Use the key that is suggested, in its unit, or take the line out.",
    },
    CodeDoc {
        code: MISSING_KEY,
        means: "A key that the file of a standard must have is not there.",
        matters: "A value without clause, source and status can't be checked by anybody, and a rule that is not stated would be a hidden default.",
        example: "discharges = { value = 10, source = \"summaries\", status = \"seen\" } without a clause",
        remedy: "Add the key; where a clause is not known, write so in its place.",
    },
    CodeDoc {
        code: BAD_VALUE,
        means: "A value in the file of a standard is not one that its key can have.",
        matters: "The plan, the limits and the verdict follow from these values.",
        example: "air_kv = { value = -8, ... }",
        remedy: "Write a value of the kind and range that the finding names.",
    },
    CodeDoc {
        code: UNKNOWN_SOURCE,
        means: "A value names a source that the table [sources] does not spell out.",
        matters: "Reports print where each value comes from.",
        example: "source = \"summary\" when [sources] has summaries",
        remedy: "Add the source to [sources], or mend the name.",
    },
    CodeDoc {
        code: CONTRADICTION,
        means: "Two entries of the file of a standard can't both hold.",
        matters: "The program would have to choose one of them without grounds.",
        example: "two [[levels]] with name = \"3\"",
        remedy: "Take one of them out, or mend it.",
    },
    CodeDoc {
        code: UNKNOWN_BASE,
        means: "The file of a standard extends one that is not at hand.",
        matters: "What it does not say itself would be missing.",
        example: "extends = \"iec-61000-4-2\" where the id is iec-61000-4-2-ed2",
        remedy: "Write an id that `fulgurite standards list` shows, or give the other file with --standards too.",
    },
    CodeDoc {
        code: UNKNOWN_SCHEMA,
        means: "The file of a standard is written in a form that this program does not know.",
        matters: "Its keys may mean something else than this program would take them for.",
        example: "schema = 9",
        remedy: "Use a program that is as recent as the file, or write the file in the form named.",
    },
];
