//! The journal of a form as a file to which lines are only added: one is answered for once it is on disk.

use crate::output::{folder_of, sync_folder};
use crate::whole_lines::WholeLines;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// The largest journal that is written and taken up again, in bytes.
const MAX_BYTES: u64 = 512 << 20;

/// Why a journal can't be kept in a file.
#[derive(Debug)]
pub enum JournalProblem {
    /// What the system said.
    Io(io::Error),
    /// The file is not the journal of this form; in words.
    Other(String),
}

impl From<io::Error> for JournalProblem {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

/// The end of a line that was cut off when the server was stopped: nobody was told that it is stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Torn {
    /// Where it was put.
    pub kept_as: PathBuf,
    /// Its size in bytes.
    pub bytes: u64,
}

/// A journal in a file, which this process alone writes.
#[derive(Debug)]
pub struct JournalFile {
    path: PathBuf,
    lines: WholeLines,
    /// Bytes that it may have.
    most: u64,
    /// The entries, a line each, as they stand in the file.
    entries: Vec<String>,
    /// The names of the photos that are in the file.
    photos: Vec<String>,
}

/// What became of entries that were to be added.
#[derive(Debug)]
pub(crate) enum Added {
    /// They are on disk; the number of entries now.
    Stored(usize),
    /// Others stand at these numbers, or some before them are missing.
    Conflict(usize),
    /// The file would be larger than one that can be taken up again.
    Full,
}

impl JournalFile {
    /// Makes the file with its first line, or takes it up again. The first line says which form it belongs to (`id`);
    /// a line that was cut off is put aside.
    ///
    /// # Errors
    /// When it is another form's, is written by another process, holds what no journal holds, or can't be written.
    pub fn open(path: &Path, head: &str) -> Result<(Self, Option<Torn>), JournalProblem> {
        let (mut file, new) = match OpenOptions::new().read(true).write(true).create_new(true).open(path) {
            Ok(file) => (file, true),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                (OpenOptions::new().read(true).write(true).open(path)?, false)
            }
            Err(error) => return Err(error.into()),
        };
        match file.try_lock() {
            Ok(()) => {}
            Err(std::fs::TryLockError::WouldBlock) => {
                return Err(JournalProblem::Other("another run serves this form already".into()));
            }
            Err(std::fs::TryLockError::Error(error)) => return Err(error.into()),
        }
        let mut bytes = Vec::new();
        Read::by_ref(&mut file).take(MAX_BYTES + 1).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > MAX_BYTES {
            return Err(JournalProblem::Other(format!("larger than {} MiB", MAX_BYTES >> 20)));
        }
        let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let torn_bytes = bytes.split_off(whole);
        let mut journal = Self {
            path: path.to_owned(),
            lines: WholeLines::new(file, whole as u64),
            most: MAX_BYTES,
            entries: Vec::new(),
            photos: Vec::new(),
        };
        // Looked at before anything is changed: it may not be a journal at all.
        if whole > 0 {
            journal.take(&bytes, head)?;
        } else if !new && !torn_bytes.is_empty() && !head.as_bytes().starts_with(&torn_bytes) {
            return Err(JournalProblem::Other("not a form's journal".into()));
        }
        let torn = if torn_bytes.is_empty() { None } else { Some(journal.put_aside(&torn_bytes)?) };
        if whole == 0 {
            journal.lines.add(&format!("{head}\n"))?;
            sync_folder(folder_of(path));
        }
        Ok((journal, torn))
    }

    fn take(&mut self, bytes: &[u8], head: &str) -> Result<(), JournalProblem> {
        let other = |why: String| Err(JournalProblem::Other(why));
        let Ok(text) = std::str::from_utf8(bytes) else {
            return other("not a form's journal: not UTF-8".into());
        };
        let id = |line: &str| {
            serde_json::from_str::<Value>(line).ok().and_then(|v| Some(v.get("id")?.as_str()?.to_owned()))
        };
        for (line, row) in text.lines().zip(1u64..) {
            if row == 1 {
                if id(line).is_none() || id(line) != id(head) {
                    return other(
                        "the journal of another form: the job or the plan has changed since".into(),
                    );
                }
                continue;
            }
            let value: Option<Value> = serde_json::from_str(line).ok();
            let number = value.as_ref().and_then(|v| v.get("n")).and_then(Value::as_u64);
            let photo = value.as_ref().and_then(|v| v.get("photo")).and_then(Value::as_str);
            match (number, photo) {
                (Some(number), None) if number == self.entries.len() as u64 + 1 => {
                    self.entries.push(line.to_owned())
                }
                (None, Some(name)) => self.photos.push(name.to_owned()),
                _ => return other(format!("row {row} is no entry, or out of order")),
            }
        }
        Ok(())
    }

    fn put_aside(&mut self, torn: &[u8]) -> Result<Torn, JournalProblem> {
        for number in 1..1000u32 {
            let mut name = self.path.clone().into_os_string();
            name.push(format!(".torn-{number}"));
            let kept_as = PathBuf::from(name);
            match OpenOptions::new().write(true).create_new(true).open(&kept_as) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error.into()),
                Ok(mut file) => {
                    file.write_all(torn)?;
                    file.sync_all()?;
                    sync_folder(folder_of(&kept_as));
                    self.lines.put_in_order()?;
                    return Ok(Torn { kept_as, bytes: torn.len() as u64 });
                }
            }
        }
        Err(JournalProblem::Other("a thousand cut-off lines lie beside it".into()))
    }

    /// Adds entries, and a photo before them; all or none. Entries that are there already, word for word, are not added
    /// twice: whoever did not hear the answer asks again.
    pub(crate) fn add(&mut self, entries: &[Value], photo: Option<(&str, &str)>) -> io::Result<Added> {
        let lines: Vec<String> = entries.iter().map(Value::to_string).collect();
        let first = entries
            .first()
            .and_then(|e| e.get("n"))
            .and_then(Value::as_u64)
            .unwrap_or(self.entries.len() as u64 + 1);
        let before = usize::try_from(first).unwrap_or(usize::MAX).saturating_sub(1);
        if before > self.entries.len() {
            return Ok(Added::Conflict(self.entries.len()));
        }
        let known = self.entries.get(before..).unwrap_or_default();
        if known.iter().zip(&lines).any(|(held, new)| held != new)
            || (known.len() > lines.len() && !lines.is_empty())
        {
            return Ok(Added::Conflict(self.entries.len()));
        }
        let new = lines.get(known.len().min(lines.len())..).unwrap_or_default();
        let mut text = String::new();
        if let Some((name, base64)) = photo
            && !self.photos.iter().any(|held| held == name)
        {
            text += &serde_json::json!({ "photo": name, "base64": base64 }).to_string();
            text.push('\n');
        }
        for line in new {
            text += line;
            text.push('\n');
        }
        if self.lines.length() + text.len() as u64 > self.most {
            return Ok(Added::Full);
        }
        if !text.is_empty() {
            self.lines.add(&text)?;
        }
        self.entries.extend(new.iter().cloned());
        if let Some((name, _)) = photo
            && !self.photos.iter().any(|held| held == name)
        {
            self.photos.push(name.to_owned());
        }
        Ok(Added::Stored(self.entries.len()))
    }

    /// The entries, as JSON in the order of their numbers.
    pub(crate) fn entries(&self) -> String {
        format!("[{}]", self.entries.join(","))
    }

    /// Photos by name, as base64 text.
    pub(crate) fn photos(&mut self) -> io::Result<BTreeMap<String, String>> {
        let mut found = BTreeMap::new();
        if self.photos.is_empty() {
            return Ok(found);
        }
        let length = self.lines.length();
        let file = self.lines.file();
        file.seek(SeekFrom::Start(0))?;
        let mut text = String::new();
        file.take(length).read_to_string(&mut text)?;
        for line in text.lines().filter(|line| line.starts_with("{\"photo\"")) {
            if let Ok(Value::Object(mut photo)) = serde_json::from_str(line)
                && let (Some(Value::String(name)), Some(Value::String(data))) =
                    (photo.remove("photo"), photo.remove("base64"))
            {
                found.insert(name, data);
            }
        }
        Ok(found)
    }

    /// Writes a text into a file beside it, with the same care, and gives back what came back.
    pub(crate) fn trial(&mut self, text: &str) -> io::Result<String> {
        let mut name = self.path.clone().into_os_string();
        name.push(".trial");
        let path = PathBuf::from(name);
        let written = File::create(&path).and_then(|mut file| {
            file.write_all(text.as_bytes())?;
            file.sync_all()
        });
        let read = written.and_then(|()| std::fs::read_to_string(&path));
        let _ = std::fs::remove_file(&path);
        self.lines.put_in_order()?;
        read
    }

    /// Its name, for whoever looks for it.
    pub(crate) fn name(&self) -> String {
        self.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// How many entries there are.
    pub fn count(&self) -> usize {
        self.entries.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    const HEAD: &str = r#"{"form":1,"id":"i"}"#;

    fn entry(n: u64) -> Value {
        json!({ "n": n, "key": format!("k-{n}") })
    }

    #[test]
    fn what_was_added_is_there_again_and_a_cut_off_line_is_put_aside() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.jsonl");
        let (mut journal, torn) = JournalFile::open(&path, HEAD).unwrap();
        assert!(torn.is_none());
        assert!(matches!(
            journal.add(&[entry(1), entry(2)], Some(("p.jpg", "AAAA"))).unwrap(),
            Added::Stored(2)
        ));
        assert!(JournalFile::open(&path, HEAD).is_err(), "one process writes");
        drop(journal);
        std::fs::OpenOptions::new().append(true).open(&path).unwrap().write_all(b"{\"n\":3,\"ke").unwrap();
        let (mut journal, torn) = JournalFile::open(&path, HEAD).unwrap();
        assert_eq!(std::fs::read(torn.unwrap().kept_as).unwrap(), b"{\"n\":3,\"ke");
        assert_eq!(journal.count(), 2);
        assert_eq!(journal.photos().unwrap()["p.jpg"], "AAAA");
        assert!(matches!(journal.add(&[entry(3)], None).unwrap(), Added::Stored(3)));
        let text = std::fs::read_to_string(&path).unwrap();
        assert_eq!(text.lines().count(), 5, "{text}");
    }

    #[test]
    fn asking_again_adds_nothing_and_other_entries_do_not_overwrite() {
        let folder = tempfile::tempdir().unwrap();
        let (mut journal, _) = JournalFile::open(&folder.path().join("a.jsonl"), HEAD).unwrap();
        journal.add(&[entry(1)], None).unwrap();
        assert!(matches!(journal.add(&[entry(1), entry(2)], None).unwrap(), Added::Stored(2)));
        assert!(matches!(journal.add(&[json!({ "n": 2, "key": "x" })], None).unwrap(), Added::Conflict(2)));
        assert!(matches!(journal.add(&[entry(4)], None).unwrap(), Added::Conflict(2)));
    }

    #[test]
    fn nothing_is_added_beyond_the_size_that_can_be_opened_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.jsonl");
        let (mut journal, _) = JournalFile::open(&path, HEAD).unwrap();
        journal.most = 100;
        assert!(matches!(journal.add(&[entry(1)], None).unwrap(), Added::Stored(1)));
        let before = std::fs::read(&path).unwrap();
        assert!(matches!(journal.add(&[entry(2)], Some(("p.jpg", &"A".repeat(80)))).unwrap(), Added::Full));
        assert_eq!(std::fs::read(&path).unwrap(), before);
        // What is there already may be asked for again, and what is small still fits.
        assert!(matches!(journal.add(&[entry(1)], None).unwrap(), Added::Stored(1)));
        assert!(matches!(journal.add(&[entry(2)], None).unwrap(), Added::Stored(2)));
        drop(journal);
        assert_eq!(JournalFile::open(&path, HEAD).unwrap().0.count(), 2);
    }

    #[test]
    fn a_file_of_something_else_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.jsonl");
        for text in [
            "notes of mine",
            "notes\nof mine\n",
            "{\"form\":1,\"id\":\"other\"}\n",
            "{\"form\":1,\"id\":\"i\"}\n{\"n\":2}\n",
        ] {
            std::fs::write(&path, text).unwrap();
            assert!(JournalFile::open(&path, HEAD).is_err(), "{text}");
            assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
        }
    }
}
