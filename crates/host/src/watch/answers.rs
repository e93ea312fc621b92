//! The lines of results: appended, synchronised, and never half of one.

use super::drop_folder::number;
use crate::HostError;
use serde_json::Value;
use std::collections::HashMap;
use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

const FILE: &str = "results.jsonl";

/// The file of results, open at its end.
#[derive(Debug)]
pub(super) struct Answers {
    path: PathBuf,
    file: File,
    /// Up to here every line is whole.
    whole: u64,
}

/// What is known from the lines of earlier runs.
#[derive(Debug, Default)]
pub(super) struct Known {
    /// Status of those inputs that were asked for.
    pub(super) status: HashMap<String, String>,
    /// The highest number of any input.
    pub(super) highest: u64,
}

impl Answers {
    /// Opens the file below the output folder, takes off a line that a killed run did not finish, and looks for the
    /// lines of some inputs.
    pub(super) fn open(out: &Path, ids: &[String]) -> Result<(Self, Known), HostError> {
        let path = out.join(FILE);
        let fail = |source| HostError::WriteOutput { path: path.clone(), source };
        let file = OpenOptions::new().create(true).truncate(false).read(true).write(true).open(&path);
        let file = file.map_err(fail)?;
        let (whole, known) = read(&file, ids).map_err(fail)?;
        let mut answers = Self { path: path.clone(), file, whole };
        answers.back_to_whole().map_err(fail)?;
        Ok((answers, known))
    }

    /// Appends a line; on disk when this returns.
    pub(super) fn append(&mut self, line: &str) -> Result<(), HostError> {
        let mut bytes = line.as_bytes().to_vec();
        bytes.push(b'\n');
        let written = self
            .back_to_whole()
            .and_then(|()| self.file.write_all(&bytes))
            .and_then(|()| self.file.sync_data());
        match written {
            Ok(()) => {
                self.whole += bytes.len() as u64;
                Ok(())
            }
            Err(source) => {
                // Half a line must not stay: what follows would be read as its rest.
                let _ = self.back_to_whole();
                Err(HostError::WriteOutput { path: self.path.clone(), source })
            }
        }
    }

    fn back_to_whole(&mut self) -> io::Result<()> {
        if self.file.metadata()?.len() != self.whole {
            self.file.set_len(self.whole)?;
        }
        self.file.seek(SeekFrom::Start(self.whole))?;
        Ok(())
    }
}

fn read(file: &File, ids: &[String]) -> io::Result<(u64, Known)> {
    let mut reader = BufReader::new(file);
    let (mut whole, mut known, mut line) = (0_u64, Known::default(), Vec::new());
    loop {
        line.clear();
        let count = reader.read_until(b'\n', &mut line)?;
        if count == 0 || line.last() != Some(&b'\n') {
            return Ok((whole, known));
        }
        whole += count as u64;
        let Ok(value) = serde_json::from_slice::<Value>(&line) else { continue };
        let Some(id) = value["id"].as_str() else { continue };
        known.highest = known.highest.max(number(id));
        if ids.iter().any(|wanted| wanted == id) {
            let status = value["status"].as_str().unwrap_or_default();
            known.status.insert(id.to_owned(), status.to_owned());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_a_line_is_taken_off_and_whole_ones_are_known() {
        let out = tempfile::tempdir().unwrap();
        let path = out.path().join(FILE);
        let first = "{\"id\":\"000007-a\",\"status\":\"refused\"}\n";
        std::fs::write(&path, format!("{first}{{\"id\":\"000009-b\",\"sta")).unwrap();
        let ids = ["000007-a".to_owned(), "000009-b".to_owned()];
        let (mut answers, known) = Answers::open(out.path(), &ids).unwrap();
        assert_eq!(known.highest, 7);
        assert_eq!(known.status, HashMap::from([("000007-a".to_owned(), "refused".to_owned())]));
        answers.append("{\"id\":\"000009-b\"}").unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), format!("{first}{{\"id\":\"000009-b\"}}\n"));
    }
}
