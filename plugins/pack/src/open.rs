//! A pack opened for its content: its record, its original files, its papers.

use crate::bag_files::{BagFiles, find_root};
use crate::bag_write::{
    ASSESSMENT_PATH, CHANGES_ENDING, CONTENTS_PATH, Contents, ContentsEntry, RECORD_PATH, Role,
};
use crate::derive::{MOST_BYTES, own_standard, read_record};
use crate::other_version;
use crate::report::{Findings, Problem};
use crate::store::{Limits, Stores};
use crate::write::pretty;
use crate::zip_end::Trouble;
use crate::zip_read::ZipStore;
use assess::Changes;
use assess::standard::Standard;
use plugin_api::{Container, Opener, wire::v1};
use record::{Record, SourceId};
use std::io;
use std::sync::Arc;

/// Opens a zip as often as asked.
pub fn zip_stores(container: Container, limits: &Limits) -> Stores {
    let limits = limits.clone();
    Arc::new(move || match ZipStore::open(container()?, &limits) {
        Ok(zip) => Ok(Box::new(zip)),
        Err(troubles) => Err(io::Error::other(match troubles.into_iter().next() {
            Some(Trouble::Refused(problem)) => problem.what,
            Some(Trouble::CannotOpen(what)) => what,
            None => "not a zip".to_owned(),
        })),
    })
}

/// A document in a pack: a paper, a summary.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Document {
    /// Path inside the bag.
    pub path: String,
    /// What it is for.
    pub role: Role,
    /// The name that its writer gave it.
    pub name: String,
}

/// A pack that was found to be in order, opened for its content.
pub struct OpenPack {
    stores: Stores,
    prefix: String,
    contents: Contents,
    /// The record, read and checked.
    pub record: Arc<Record>,
    /// The assessment as stored.
    pub assessment: serde_json::Value,
    /// Data of standards: name of the file and text.
    pub standards: Vec<(String, String)>,
    /// Which of them are those of the record's standard, and these data read.
    pub standard: Option<(usize, Standard)>,
    /// What it states to change against the pack that it amends, with the name of the document that states it; none
    /// where there is no such document, or it was written under other rules.
    pub changes: Option<(String, Changes)>,
}

impl OpenPack {
    /// Opens a pack. Its checksums are not looked at: verify it first.
    ///
    /// # Errors
    /// What keeps it from being read.
    pub fn open(stores: Stores, limits: &Limits) -> Result<Self, Vec<Problem>> {
        let one = |problem: Problem| vec![problem];
        let mut store = stores().map_err(|error| one(Problem::new("", error.to_string())))?;
        let root = find_root(&*store).map_err(one)?;
        let mut files = BagFiles::new(&mut *store, &root);
        let contents = files.read(CONTENTS_PATH, limits.tag_file_bytes).map_err(one)?;
        let contents: Contents = serde_json::from_slice(&contents).map_err(|error| {
            one(Problem::new(CONTENTS_PATH, format!("is not a table of contents: {error}")))
        })?;
        let mut findings = Findings::default();
        let record = files.read(RECORD_PATH, MOST_BYTES).map_err(one)?;
        let record = read_record(&record, other_version::made_it(&contents), &mut findings);
        let record = match (record, findings.into_problems()) {
            (Some(record), problems) if problems.is_empty() => record,
            (_, problems) => return Err(problems),
        };
        let assessment = files.read(ASSESSMENT_PATH, MOST_BYTES).map_err(one)?;
        let assessment = serde_json::from_slice(&assessment)
            .map_err(|error| one(Problem::new(ASSESSMENT_PATH, format!("is not JSON: {error}"))))?;
        let mut standards = Vec::new();
        for entry in contents.files.iter().filter(|f| f.role == Role::Standard) {
            let bytes = files.read(&entry.path, MOST_BYTES).map_err(one)?;
            standards.push((entry.original_name.clone(), String::from_utf8_lossy(&bytes).into_owned()));
        }
        let standard = own_standard(&standards, &record).map_err(one)?;
        let changes = stated_changes(&mut files, &contents, &record).map_err(one)?;
        let prefix = root.prefix;
        let record = Arc::new(record);
        Ok(Self { stores, prefix, contents, record, assessment, standards, standard, changes })
    }

    /// The document that states what this pack changes, which this build may not be able to read.
    pub fn states_changes(&self) -> bool {
        self.documents(Role::Summary).any(|document| document.name.ends_with(CHANGES_ENDING))
    }

    /// Version of the pack's layout.
    pub fn pack_version(&self) -> u32 {
        self.contents.pack_version
    }

    /// The program that made the pack, where the pack says so.
    pub fn program(&self) -> Option<&str> {
        self.contents.program.as_deref()
    }

    /// Language of its papers, where the pack says so.
    pub fn language(&self) -> Option<&str> {
        self.contents.language.as_deref()
    }

    /// Opens an original file by its place in the record's sources; none for one that is not in the pack.
    pub fn original(&self, id: SourceId) -> Option<Opener> {
        let source = self.record.sources.get(usize::try_from(id.0).ok()?)?;
        let entry = self
            .contents
            .files
            .iter()
            .find(|f| f.role == Role::Source && f.original_name == source.file())?;
        Some(self.opener(entry))
    }

    fn opener(&self, entry: &ContentsEntry) -> Opener {
        let (stores, path) = (Arc::clone(&self.stores), format!("{}{}", self.prefix, entry.path));
        Box::new(move || {
            let store = stores()?;
            let at = store.entries().iter().position(|entry| entry.path == path);
            store.into_file(at.ok_or(io::ErrorKind::NotFound)?)
        })
    }

    /// The files of a kind, in the order of their paths.
    pub fn documents(&self, role: Role) -> impl Iterator<Item = Document> {
        self.contents.files.iter().filter(move |f| f.role == role).map(|f| Document {
            path: f.path.clone(),
            role: f.role,
            name: f.original_name.clone(),
        })
    }

    /// The bytes of a file in the pack.
    ///
    /// # Errors
    /// When it can't be read.
    pub fn read(&self, document: &Document) -> io::Result<Vec<u8>> {
        let entry = self.contents.files.iter().find(|f| f.path == document.path);
        let entry = entry.ok_or(io::ErrorKind::NotFound)?;
        let mut bytes = Vec::new();
        io::Read::read_to_end(&mut (self.opener(entry))()?, &mut bytes)?;
        Ok(bytes)
    }
}

/// What the pack states to change. Another build may have written it in another form: then it is not used, and the
/// check of the chain says so.
fn stated_changes(
    files: &mut BagFiles<'_>,
    contents: &Contents,
    record: &Record,
) -> Result<Option<(String, Changes)>, Problem> {
    let mut entries = contents
        .files
        .iter()
        .filter(|f| f.role == Role::Summary && f.original_name.ends_with(CHANGES_ENDING));
    let Some(entry) = entries.next() else { return Ok(None) };
    if let Some(second) = entries.next() {
        return Err(Problem::new(&second.path, "a second document of what this pack changes"));
    }
    let bytes = files.read(&entry.path, MOST_BYTES)?;
    let value: serde_json::Value = serde_json::from_slice(&bytes)
        .map_err(|error| Problem::new(&entry.path, format!("is not JSON: {error}")))?;
    let named = value.pointer("/earlier/pack").and_then(serde_json::Value::as_str);
    if named.is_none() || named != record.facts.report.amends_pack.as_deref() {
        return Err(Problem::new(&entry.path, "is about another pack than the one that the record amends"));
    }
    if value.get("rules_version").and_then(serde_json::Value::as_u64)
        != Some(u64::from(assess::RULES_VERSION))
    {
        return Ok(None);
    }
    match v1::changes_from_value(&value) {
        Some(changes) if pretty(&value) == bytes => Ok(Some((entry.original_name.clone(), changes))),
        _ => Err(Problem::new(&entry.path, "has another form than what a pack states of its changes")),
    }
}
