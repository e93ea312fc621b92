//! Findings about plug-ins outside the program.

use record::CodeDoc;

pub(crate) const DID_NOT_START: &str = "plugin/did-not-start";
pub(crate) const BAD_HELLO: &str = "plugin/bad-hello";
pub(crate) const BAD_LINE: &str = "plugin/bad-line";
pub(crate) const TOO_MUCH: &str = "plugin/too-much";
pub(crate) const TIMED_OUT: &str = "plugin/timed-out";
pub(crate) const DIED: &str = "plugin/died";
pub(crate) const BAD_ARTIFACT: &str = "plugin/bad-artifact";
pub(crate) const BAD_ORIGIN: &str = "plugin/bad-origin";
pub(crate) const FALSE_ACCOUNT: &str = "plugin/false-account";
pub(crate) const CHANGED: &str = "plugin/changed";
pub(crate) const LEFT_BEHIND: &str = "plugin/left-behind";
pub(crate) const TOO_LARGE: &str = "plugin/input-too-large";
pub(crate) const UNKNOWN_SETTING: &str = "plugin/unknown-setting";

/// Every code with its explanation.
pub const ALL: &[CodeDoc] = &[
    CodeDoc {
        code: DID_NOT_START,
        means: "The program of a plug-in could not be started.",
        matters: "Without it its files can be neither read nor written.",
        example: "argv = [\"python3\", \"reader.py\"] where there is no python3",
        remedy: "Install what `argv` in its plugin.toml names, or mend `argv`.",
    },
    CodeDoc {
        code: BAD_HELLO,
        means: "A plug-in did not say hello as the protocol asks.",
        matters: "Program and plug-in would not understand one another: nothing is sent to it.",
        example: "a library's greeting printed on standard output before the first line",
        remedy: "The first line on standard output is its hello, with protocol, name and version as in plugin.toml; anything for people goes to standard error.",
    },
    CodeDoc {
        code: BAD_LINE,
        means: "A plug-in gave a line that is none of the protocol, or half of one.",
        matters: "What was meant would have to be guessed; nothing of the answer is used.",
        example: "a print for debugging on standard output, or a line without its end",
        remedy: "Mend the plug-in: standard output is for lines of the protocol alone. `fulgurite schema plugin-lines` describes them.",
    },
    CodeDoc {
        code: TOO_MUCH,
        means: "A plug-in gave more than its limit: a line of more than 1 MiB, or more in all than output_limit_mib.",
        matters: "It may never end, and would fill memory or disk.",
        example: "a loop without end that prints records",
        remedy: "Mend the loop; give large parts by file; or raise output_limit_mib in plugin.toml and trust the plug-in again.",
    },
    CodeDoc {
        code: TIMED_OUT,
        means: "A plug-in took longer than its limit, and was ended with everything that it had started.",
        matters: "Nothing of an unfinished answer can be used.",
        example: "a plug-in that waits for a key",
        remedy: "See what it waits for; or raise timeout_s in plugin.toml and trust the plug-in again.",
    },
    CodeDoc {
        code: DIED,
        means: "A plug-in ended before its answer did.",
        matters: "What is missing from the answer is not known, so nothing of it is used.",
        example: "an exception in a Python plug-in",
        remedy: "Its last words on standard error are shown with the finding; mend the plug-in.",
    },
    CodeDoc {
        code: BAD_ARTIFACT,
        means: "A plug-in named a file that it may not name, did not make, or did not name although it made it.",
        matters: "A file outside its folder, or behind a link, may be anybody's; one that is not named would be lost.",
        example: "\"path\": \"../results.csv\", or a link among its files",
        remedy: "Mend the plug-in: it names each file that it made below its folder, by a plain relative path.",
    },
    CodeDoc {
        code: BAD_ORIGIN,
        means: "A plug-in gave a place that its input does not have.",
        matters: "A value whose origin is wrong can't be looked up, so nobody could check it.",
        example: "row 900 of a file of 40 rows",
        remedy: "Mend the plug-in: rows are physical lines and count from 1, header included.",
    },
    CodeDoc {
        code: FALSE_ACCOUNT,
        means: "What a plug-in says about the rows of its input is not so.",
        matters: "A row may have been lost, or counted twice.",
        example: "12 rows used, where its series name 11",
        remedy: "Mend the plug-in: each row is used, set aside, preamble, footer or blank, and those used are the origins of what they became.",
    },
    CodeDoc {
        code: CHANGED,
        means: "A plug-in's files changed while the program ran.",
        matters: "What would run is not what was trusted.",
        example: "an editor saved reader.py in the middle of a batch",
        remedy: "Look at what changed, run `fulgurite plugin trust DIR`, and run again.",
    },
    CodeDoc {
        code: LEFT_BEHIND,
        means: "A plug-in left a process behind when it ended; it was ended too.",
        matters: "Such a process holds files and memory, and may go on writing.",
        example: "a helper that was started in the background and not waited for",
        remedy: "Mend the plug-in: it ends what it started.",
    },
    CodeDoc {
        code: TOO_LARGE,
        means: "A file is larger than a plug-in may be given.",
        matters: "It is not read, so what it holds is not known.",
        example: "a log of 80 MiB, with input_limit_mib = 64",
        remedy: "Raise input_limit_mib in plugin.toml, and trust the plug-in again.",
    },
    CodeDoc {
        code: UNKNOWN_SETTING,
        means: "A setting is not one that the plug-in has, or not of its type.",
        matters: "A mistyped setting would be no setting, and the file would be read otherwise than meant.",
        example: "frist_row = 3",
        remedy: "Use one of the settings that `fulgurite formats --plugin DIR` lists.",
    },
];
