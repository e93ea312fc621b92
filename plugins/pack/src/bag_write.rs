//! Lays out a pack as a BagIt 1.0 bag and writes it as a zip in one pass, in the order of its names.

use crate::algorithms::{Algorithm, sha256_hex};
use crate::content::Content;
use crate::names::{NameBook, safe_segment};
use crate::prepare::{KEPT, prepare_all};
use crate::read_me;
use crate::zip_write::ZipWriter;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::io::{self, Write};

/// Version of the layout that this build writes: which folders there are and what must be in them.
pub const PACK_VERSION: u32 = 1;

/// The label in `bag-info.txt` by which a pack is known as ours.
pub(crate) const VERSION_LABEL: &str = "Fulgurite-Pack-Version";
pub(crate) const RECORD_PATH: &str = "data/record.json";
pub(crate) const ASSESSMENT_PATH: &str = "data/assessment.json";
pub(crate) const CONTENTS_PATH: &str = "data/contents.json";
pub(crate) const VIEWER_PATH: &str = "data/viewer.html";
/// What an amended report changes, among the summaries.
pub(crate) const CHANGES_ENDING: &str = ".changes.json";
pub(crate) const READ_ME_NAME: &str = "READ-ME-FIRST.txt";
/// The manifests of every pack that we write.
pub(crate) const ALGORITHMS: [Algorithm; 2] = [Algorithm::Sha256, Algorithm::Sha512];

/// Bytes and files that are prepared side by side.
const BATCH_BYTES: u64 = 32 << 20;
const BATCH_FILES: usize = 1024;

/// What a packed file is for; it decides the folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The record as canonical JSON: `data/record.json`. Exactly one.
    Record,
    /// The assessment as canonical JSON: `data/assessment.json`. Exactly one.
    Assessment,
    /// A report for people: PDF, HTML.
    Paper,
    /// A summary for programs: XML, CSV, JSON lines.
    Summary,
    /// A file that came from the bench, byte for byte.
    Source,
    /// A schema that a file in the pack is written to.
    Schema,
    /// The data of a test standard that the assessment used.
    Standard,
    /// A part of the template that the papers were made with.
    Template,
    /// The page that checks and shows a pack in a browser: `data/viewer.html`.
    Viewer,
    /// Anything else.
    Other,
}

impl Role {
    pub(crate) fn folder(self) -> &'static str {
        match self {
            Self::Record | Self::Assessment | Self::Viewer => "data",
            Self::Paper => "data/papers",
            Self::Summary => "data/summary",
            Self::Source => "data/sources",
            Self::Schema => "data/schemas",
            Self::Standard => "data/standards",
            Self::Template => "data/templates",
            Self::Other => "data/other",
        }
    }
}

/// One file to be packed.
pub struct PackFile<'a> {
    /// What it is for.
    pub role: Role,
    /// Its name where it came from, with folders if any; kept in the table of contents whatever it is.
    pub name: String,
    /// Media type, where known.
    pub media_type: Option<String>,
    /// Its SHA-256 as lower-case hexadecimal text, where it was taken before: packing fails when it is another one.
    pub sha256: Option<String>,
    /// Its bytes.
    pub content: Box<dyn Content + 'a>,
}

/// Everything that goes into a pack.
#[derive(Default)]
pub struct PackPlan<'a> {
    /// Number of the report; names the top folder and is the bag's external identifier.
    pub report_number: Option<String>,
    /// Revision of the report, where it has one.
    pub revision: Option<String>,
    /// Name of the laboratory.
    pub laboratory: Option<String>,
    /// One line on what is inside, for `bag-info.txt`.
    pub description: Option<String>,
    /// Day of issue as `YYYY-MM-DD`. A draft has none, and its pack then states no date.
    pub issue_date: Option<String>,
    /// The program that writes the pack, with its version.
    pub software: Option<String>,
    /// The plug-ins that read the originals and wrote the documents, each with its version.
    pub plug_ins: Vec<String>,
    /// Language of the papers.
    pub language: Option<String>,
    /// Words that every output must show, such as that the data are invented.
    pub notice: Option<String>,
    /// Number of the report that this one amends or replaces.
    pub amends: Option<String>,
    /// Identity of the pack of that report.
    pub amends_pack: Option<String>,
    /// Why it was amended.
    pub amendment_reason: Option<String>,
    /// The files, in any order.
    pub files: Vec<PackFile<'a>>,
    /// Files that belong here and are not at hand; named in the table of contents.
    pub absent: Vec<AbsentFile>,
}

/// A file that belongs into a pack and could not be put there.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct AbsentFile {
    /// What it is for.
    pub role: Role,
    /// Its name where it came from.
    pub original_name: String,
    /// Its SHA-256, where known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub sha256: Option<String>,
    /// Why it is not here.
    pub why: String,
}

/// What was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The pack's identity: SHA-256 of its `tagmanifest-sha256.txt`, lower-case hexadecimal.
    pub identity: String,
    /// Name of the folder inside the zip, fit for the zip's own name too.
    pub folder: String,
    /// Payload files, the table of contents included.
    pub payload_files: u64,
    /// Bytes of the payload files together.
    pub payload_bytes: u64,
    /// Bytes of the zip.
    pub zip_bytes: u64,
}

/// Why no pack came about.
#[derive(Debug)]
#[non_exhaustive]
pub enum PackError {
    /// The plan has not exactly one file of a role that needs exactly one.
    NotExactlyOne {
        /// `record` or `assessment`.
        role: &'static str,
        /// How many there were.
        count: usize,
    },
    /// The date of issue is not `YYYY-MM-DD`.
    BadDate {
        /// The text given.
        text: String,
    },
    /// A file has not the checksum that it had when it was read.
    Changed {
        /// Path inside the pack.
        path: String,
    },
    /// A source could not be read, or the pack not written.
    Io {
        /// Path inside the pack.
        path: String,
        /// What happened.
        source: io::Error,
    },
}

impl fmt::Display for PackError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotExactlyOne { role, count } => {
                write!(f, "a pack needs exactly one {role}, {count} were given")
            }
            Self::BadDate { text } => write!(f, "the date of issue `{text}` is not of the form YYYY-MM-DD"),
            Self::Changed { path } => write!(f, "`{path}` has changed since it was read"),
            Self::Io { path, .. } => write!(f, "`{path}` could not be packed"),
        }
    }
}

impl std::error::Error for PackError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { source, .. } => Some(source),
            _ => None,
        }
    }
}

/// The table of contents, `data/contents.json`.
#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) struct Contents {
    pub(crate) pack_version: u32,
    /// The program that made the pack, with its version.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub(crate) program: Option<String>,
    /// The plug-ins that read the originals and wrote the documents, each with its version.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub(crate) plug_ins: Vec<String>,
    /// Language of the papers.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub(crate) language: Option<String>,
    pub(crate) files: Vec<ContentsEntry>,
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub(crate) absent: Vec<AbsentFile>,
}

/// One payload file in the table of contents.
#[derive(Debug, Serialize, Deserialize)]
pub(crate) struct ContentsEntry {
    /// Path inside the bag.
    pub(crate) path: String,
    /// What it is for.
    pub(crate) role: Role,
    /// Name where it came from.
    pub(crate) original_name: String,
    /// Media type, where known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub(crate) media_type: Option<String>,
}

/// The name of the folder inside the zip for a report number.
pub fn folder_name(report_number: Option<&str>) -> String {
    match report_number.map(str::trim) {
        Some(number) if !number.is_empty() => format!("{}-evidence", safe_segment(number)),
        _ => "evidence".to_owned(),
    }
}

/// Writes a pack. Nothing is held in memory beyond the names, the digests and a few megabytes.
///
/// # Errors
/// See [`PackError`]; what has been written to `out` until then is no pack and must be thrown away.
pub fn write_pack<W: Write>(plan: &PackPlan<'_>, out: W) -> Result<(W, Written), PackError> {
    for (role, name) in [(Role::Record, "record"), (Role::Assessment, "assessment")] {
        let count = plan.files.iter().filter(|file| file.role == role).count();
        if count != 1 {
            return Err(PackError::NotExactlyOne { role: name, count });
        }
    }
    if let Some(text) = plan.issue_date.as_ref().filter(|text| !is_date(text)) {
        return Err(PackError::BadDate { text: text.clone() });
    }
    let folder = folder_name(plan.report_number.as_deref());
    let placed = place(&plan.files);
    let contents = contents(&placed, plan);
    let mut payload: Vec<Payload<'_>> = placed
        .iter()
        .map(|(path, file)| Payload { path, content: &*file.content, sha256: file.sha256.as_deref() })
        .collect();
    payload.push(Payload { path: CONTENTS_PATH, content: &contents, sha256: None });
    payload.sort_by_key(|part| part.path);

    let payload_bytes = payload.iter().map(|part| part.content.size()).sum();
    let payload_files = payload.len() as u64;
    let bag_info = bag_info(plan, payload_bytes, payload_files);
    let read_me = read_me::text(plan, placed.iter().map(|(_, file)| file.role));

    let mut bag = BagWriter { folder: &folder, zip: ZipWriter::new(out), lists: Default::default() };
    let mut tags = Manifests::default();
    tags.add(READ_ME_NAME, bag.add(READ_ME_NAME, &read_me.into_bytes())?);
    tags.add("bag-info.txt", bag.add("bag-info.txt", &bag_info.into_bytes())?);
    let declaration = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n".to_vec();
    tags.add("bagit.txt", bag.add("bagit.txt", &declaration)?);
    for batch in batches(&payload) {
        for (path, digests) in bag.add_all(batch)? {
            bag.lists.add(path, digests);
        }
    }
    let Manifests { sha256, sha512 } = std::mem::take(&mut bag.lists);
    for (name, text) in [("manifest-sha256.txt", sha256), ("manifest-sha512.txt", sha512)] {
        tags.add(name, bag.add(name, &text.into_bytes())?);
    }
    let identity = sha256_hex(tags.sha256.as_bytes());
    for (name, text) in [("tagmanifest-sha256.txt", tags.sha256), ("tagmanifest-sha512.txt", tags.sha512)] {
        bag.add(name, &text.into_bytes())?;
    }
    let (out, zip_bytes) =
        bag.zip.finish().map_err(|source| PackError::Io { path: folder.clone(), source })?;
    Ok((out, Written { identity, folder, payload_files, payload_bytes, zip_bytes }))
}

struct Payload<'a> {
    path: &'a str,
    content: &'a dyn Content,
    sha256: Option<&'a str>,
}

/// Files that are read and compressed side by side, so many that their bytes together stay few.
fn batches<'p, 'a>(payload: &'p [Payload<'a>]) -> impl Iterator<Item = &'p [Payload<'a>]> {
    let mut rest = payload;
    std::iter::from_fn(move || {
        let mut bytes = 0_u64;
        let fitting = rest
            .iter()
            .take_while(|part| {
                bytes = bytes.saturating_add(part.content.size());
                bytes <= BATCH_BYTES
            })
            .count();
        let (batch, left) = rest.split_at_checked(fitting.clamp(1, BATCH_FILES).min(rest.len()))?;
        rest = left;
        (!batch.is_empty()).then_some(batch)
    })
}

struct BagWriter<'a, W> {
    folder: &'a str,
    zip: ZipWriter<W>,
    lists: Manifests,
}

/// The digests of a file, by algorithm.
type FileDigests = Vec<(Algorithm, String)>;

impl<W: Write> BagWriter<'_, W> {
    fn add(&mut self, path: &str, content: &dyn Content) -> Result<FileDigests, PackError> {
        let one = [Payload { path, content, sha256: None }];
        Ok(self.add_all(&one)?.pop().map(|(_, digests)| digests).unwrap_or_default())
    }

    fn add_all<'p>(&mut self, batch: &[Payload<'p>]) -> Result<Vec<(&'p str, FileDigests)>, PackError> {
        let files: Vec<(&str, &dyn Content)> = batch.iter().map(|part| (part.path, part.content)).collect();
        let mut added = Vec::new();
        for (part, prepared) in batch.iter().zip(prepare_all(&files, &ALGORITHMS, KEPT)) {
            let fail = |source| PackError::Io { path: part.path.to_owned(), source };
            let prepared = prepared.map_err(fail)?;
            let found = prepared.digests.iter().find(|(algorithm, _)| *algorithm == Algorithm::Sha256);
            if let (Some(expected), Some((_, found))) = (part.sha256, found)
                && expected != found
            {
                return Err(PackError::Changed { path: part.path.to_owned() });
            }
            let name = format!("{}/{}", self.folder, part.path);
            self.zip.add(&name, &prepared, part.content).map_err(fail)?;
            added.push((part.path, prepared.digests));
        }
        Ok(added)
    }
}

/// The text of the two manifests while it grows.
#[derive(Default)]
struct Manifests {
    sha256: String,
    sha512: String,
}

impl Manifests {
    fn add(&mut self, path: &str, digests: Vec<(Algorithm, String)>) {
        for (algorithm, digest) in digests {
            let text = if algorithm == Algorithm::Sha512 { &mut self.sha512 } else { &mut self.sha256 };
            text.push_str(&digest);
            text.push_str("  ");
            text.push_str(path);
            text.push('\n');
        }
    }
}

/// Gives every file its path in the bag; the same files in another order get the same paths.
fn place<'p, 'a>(files: &'p [PackFile<'a>]) -> Vec<(String, &'p PackFile<'a>)> {
    let mut in_order: Vec<&PackFile<'a>> = files.iter().collect();
    in_order.sort_by(|a, b| (a.role, &a.name).cmp(&(b.role, &b.name)));
    let mut book = NameBook::default();
    in_order
        .into_iter()
        .map(|file| {
            let path = match file.role {
                Role::Record => RECORD_PATH.to_owned(),
                Role::Assessment => ASSESSMENT_PATH.to_owned(),
                Role::Viewer => VIEWER_PATH.to_owned(),
                role => book.place(role.folder(), &file.name),
            };
            (path, file)
        })
        .collect()
}

fn contents(placed: &[(String, &PackFile<'_>)], plan: &PackPlan<'_>) -> Vec<u8> {
    let mut files: Vec<ContentsEntry> = placed
        .iter()
        .map(|(path, file)| ContentsEntry {
            path: path.clone(),
            role: file.role,
            original_name: file.name.clone(),
            media_type: file.media_type.clone(),
        })
        .collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let mut absent = plan.absent.clone();
    absent.sort();
    let table = Contents {
        pack_version: PACK_VERSION,
        program: plan.software.clone(),
        plug_ins: plan.plug_ins.clone(),
        language: plan.language.clone(),
        files,
        absent,
    };
    // Strings and numbers only: serialising them cannot fail, and an empty table would be found by `verify`.
    let mut bytes = serde_json::to_vec_pretty(&table).unwrap_or_default();
    bytes.push(b'\n');
    bytes
}

fn bag_info(plan: &PackPlan<'_>, bytes: u64, files: u64) -> String {
    let mut text = String::new();
    let mut line = |label: &str, value: Option<&str>| {
        let value = value.map(one_line).filter(|value| !value.is_empty());
        if let Some(value) = value {
            text.push_str(label);
            text.push_str(": ");
            text.push_str(&value);
            text.push('\n');
        }
    };
    line("Data-Notice", plan.notice.as_deref());
    line("Source-Organization", plan.laboratory.as_deref());
    line("External-Description", plan.description.as_deref());
    line("External-Identifier", plan.report_number.as_deref());
    line("Report-Revision", plan.revision.as_deref());
    line("Amends-Report", plan.amends.as_deref());
    line("Amends-Pack", plan.amends_pack.as_deref());
    line("Amendment-Reason", plan.amendment_reason.as_deref());
    line("Bagging-Date", plan.issue_date.as_deref());
    line("Bag-Software-Agent", plan.software.as_deref());
    line("Payload-Oxum", Some(&format!("{bytes}.{files}")));
    line(VERSION_LABEL, Some(&PACK_VERSION.to_string()));
    text
}

/// Text for one line of a tag file: line ends and control characters become spaces.
fn one_line(text: &str) -> String {
    let spaced: String = text
        .chars()
        .map(|c| if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') { ' ' } else { c })
        .collect();
    spaced.trim().to_owned()
}

fn is_date(text: &str) -> bool {
    text.len() == 10
        && text
            .bytes()
            .enumerate()
            .all(|(at, byte)| if matches!(at, 4 | 7) { byte == b'-' } else { byte.is_ascii_digit() })
}
