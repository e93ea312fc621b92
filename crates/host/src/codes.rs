//! Findings that the engine raises about jobs, files and plug-ins.

use record::CodeDoc;

pub(crate) const BROKEN_JOB_FILE: &str = "job/broken-toml";
pub(crate) const BROKEN_MAPPING: &str = "job/broken-mapping";
pub(crate) const NO_FILE_MATCHES: &str = "job/no-file-matches";
pub(crate) const FILE_NAMED_TWICE: &str = "job/file-named-twice";
pub(crate) const UNREAD_FILE: &str = "job/file-not-named";
pub(crate) const UNKNOWN_READER: &str = "job/unknown-reader";
pub(crate) const NO_READER: &str = "job/no-reader";
pub(crate) const TWO_READERS: &str = "job/two-readers";
pub(crate) const CANT_READ: &str = "job/cant-read";
pub(crate) const ROWS_DO_NOT_BALANCE: &str = "job/rows-do-not-balance";
pub(crate) const UNKNOWN_STANDARD: &str = "job/unknown-standard";
pub(crate) const PLUGIN_BROKE: &str = "job/plugin-broke";
pub(crate) const OWN_STANDARD: &str = "job/standard-came-with-record";
pub(crate) const SAME_NAME: &str = "job/same-name";
pub(crate) const FORM_DIFFERS: &str = "job/form-differs";
pub(crate) const STATED_TWICE: &str = "job/stated-twice";
pub(crate) const EARLIER_COPY: &str = "job/earlier-copy";
pub(crate) const FORMS_PARTED: &str = "job/forms-parted";

/// Every code with its explanation.
pub const CODES: &[CodeDoc] = &[
    CodeDoc {
        code: FORM_DIFFERS,
        means: "A fact of the job is not what it was when a filled form was made.",
        matters: "The work was done under the plan and facts that the form showed.",
        example: "a form made for 8 kV, and a job.toml that says 6 kV since",
        remedy: "See which of the two holds for the work that was done, and mend job.toml if it is not the job's.",
    },
    CodeDoc {
        code: STATED_TWICE,
        means: "Two files of a job state one fact differently.",
        matters: "One of them is wrong. What was seen at the bench holds over the job file; between two forms the first holds. Both are shown.",
        example: "network_pf = 150 in job.toml and 330 in the filled form",
        remedy: "Find out which is right and correct the other where it was written.",
    },
    CodeDoc {
        code: EARLIER_COPY,
        means: "A filled form is an earlier copy of another one that the job holds.",
        matters: "What stands in both counts once: only the later copy is used.",
        example: "a form saved at noon and again in the evening",
        remedy: "Nothing; or leave the earlier copy out.",
    },
    CodeDoc {
        code: FORMS_PARTED,
        means: "Two filled forms have the same beginning and went on separately.",
        matters: "Both were counted in: what was done on both devices stands in the record.",
        example: "a form loaded into a second tablet while the first one went on",
        remedy: "See that nothing was written down twice.",
    },
    CodeDoc {
        code: BROKEN_MAPPING,
        means: "A mapping file is not valid TOML, or no text in UTF-8.",
        matters: "It says which column is what: half of it would read a log as another one.",
        example: "a header's text without its closing quote",
        remedy: "Mend the line that the message names; `fulgurite mapping draft LOG` writes one to begin with.",
    },
    CodeDoc {
        code: BROKEN_JOB_FILE,
        means: "job.toml is not valid TOML.",
        matters: "Nothing can be taken from a file that can't be read with certainty.",
        example: "a string without its closing quote",
        remedy: "Mend the line that the message names.",
    },
    CodeDoc {
        code: NO_FILE_MATCHES,
        means: "A pattern under `files` matches no file of the job folder.",
        matters: "A log that is not read is a log that is lost: the job is refused.",
        example: "files = \"logs/contakt.csv\" when the file is logs/contact.csv",
        remedy: "Correct the pattern, or add the missing file.",
    },
    CodeDoc {
        code: FILE_NAMED_TWICE,
        means: "Two entries of job.toml claim the same file.",
        matters: "Its discharges would count twice.",
        example: "two [[logs]] entries whose patterns both match logs/air.csv",
        remedy: "Let each file belong to one entry.",
    },
    CodeDoc {
        code: UNREAD_FILE,
        means: "A file in the job folder is named by no entry of job.toml.",
        matters: "It may be a log that was forgotten.",
        example: "logs/air-2.csv beside a pattern that matches logs/air.csv only",
        remedy: "Name it under [[logs]], [[verifications]] or [[attachments]], or list it under `ignore`.",
    },
    CodeDoc {
        code: UNKNOWN_READER,
        means: "job.toml or --from names a reader that does not exist.",
        matters: "The file can't be read without it.",
        example: "reader = \"cvs\"",
        remedy: "Use one of the readers that the message lists; `fulgurite formats` explains them.",
    },
    CodeDoc {
        code: NO_READER,
        means: "No reader recognises the file.",
        matters: "The file can't be read.",
        example: "a photo under [[logs]]",
        remedy: "Name the reader (`reader = ...`), or list the file where it belongs.",
    },
    CodeDoc {
        code: TWO_READERS,
        means: "Two readers recognise the file.",
        matters: "Which one is right decides what the file says; nothing is guessed.",
        example: "a loose CSV file that could be a discharge log or a waveform",
        remedy: "Say which: `reader = ...` in job.toml, or --from on the command line.",
    },
    CodeDoc {
        code: CANT_READ,
        means: "The system refused to open or read the file.",
        matters: "What is in it is not known.",
        example: "no permission, a file that vanished",
        remedy: "Make the file readable and run again.",
    },
    CodeDoc {
        code: ROWS_DO_NOT_BALANCE,
        means: "A reader's account of a file's rows does not add up.",
        matters: "A row may have been lost; the file is refused. This is a fault of the plug-in.",
        example: "100 rows, of which 98 used, 1 set aside, none in preamble or footer",
        remedy: "Report it to whoever maintains the plug-in, with the file.",
    },
    CodeDoc {
        code: UNKNOWN_STANDARD,
        means: "The record names a standard whose data are not at hand.",
        matters: "Without them neither plan nor verdict can be worked out.",
        example: "method.standard = \"iec-61000-4-2-ed9\"",
        remedy: "Use an id that the message lists, or give the laboratory's own file with --standards.",
    },
    CodeDoc {
        code: PLUGIN_BROKE,
        means: "A plug-in stopped in the middle of its work.",
        matters: "Nothing it made can be trusted, so nothing is written for the job.",
        example: "a fault in the plug-in itself",
        remedy: "Report it to whoever maintains the plug-in, with the input.",
    },
    CodeDoc {
        code: OWN_STANDARD,
        means: "The data of the standard came with the record, in its pack, and are not those of this program.",
        matters: "The verdict rests on the data that the laboratory used then; here the same id means something else.",
        example: "converting a pack from before the data of the standard were amended",
        remedy: "Compare the two with `fulgurite verify`, and say in the report which were used.",
    },
    CodeDoc {
        code: SAME_NAME,
        means: "Two jobs of one run would write to the same place.",
        matters: "One would overwrite the other.",
        example: "jobs/a/lock-gate and jobs/b/lock-gate in one run",
        remedy: "Convert them in separate runs, or rename one folder.",
    },
];
