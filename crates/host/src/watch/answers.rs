//! The lines of results: appended, synchronised, and never half of one.

use super::drop_folder::number;
use crate::HostError;
use crate::output::{folder_of, sync_folder};
use crate::whole_lines::WholeLines;
use serde_json::Value;
use std::collections::HashMap;
use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};

const FILE: &str = "results.jsonl";

/// The file of results, open at its end.
#[derive(Debug)]
pub(super) struct Answers {
    path: PathBuf,
    lines: WholeLines,
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
        let mut lines = WholeLines::new(file, whole);
        lines.put_in_order().map_err(fail)?;
        // Its name, and the folder's own: either may be new.
        [folder_of(out), out].into_iter().for_each(sync_folder);
        Ok((Self { path: path.clone(), lines }, known))
    }

    /// Appends a line; on disk when this returns.
    pub(super) fn append(&mut self, line: &str) -> Result<(), HostError> {
        self.lines
            .add(&format!("{line}\n"))
            .map_err(|source| HostError::WriteOutput { path: self.path.clone(), source })
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
