//! Finds the cases: which folders there are, and of which kind each is.

use std::path::{Path, PathBuf};

use super::entries::entries;

/// Says what each group holds.
const README: &str = "README.md";

/// What a case's name promises.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Exit 0 and no error.
    Ok,
    /// Exit 1 with outputs: something was set aside, the rest was written.
    Part,
    /// The exit code stated, and no output.
    Err,
}

/// One case folder.
#[derive(Debug, Clone)]
pub(crate) struct Case {
    pub(crate) folder: PathBuf,
    pub(crate) kind: Kind,
    name: String,
}

impl Case {
    /// The case in `folder`, when its name says what it is.
    pub(crate) fn at(group: &str, folder: PathBuf) -> Option<Self> {
        let name = folder.file_name()?.to_str()?.to_owned();
        let kind = match name.split_once('-')? {
            (_, "") => return None,
            ("ok", _) => Kind::Ok,
            ("part", _) => Kind::Part,
            ("err", _) => Kind::Err,
            _ => return None,
        };
        Some(Self { folder, kind, name: format!("{group}/{name}") })
    }

    /// `group/kind-fact`.
    pub(crate) fn name(&self) -> &str {
        &self.name
    }
}

/// All cases, and what lies among them that is none.
pub(crate) struct Found {
    pub(crate) cases: Vec<Case>,
    pub(crate) stray: Vec<String>,
}

/// Every case below `top`.
pub(crate) fn all(top: &Path) -> Result<Found, String> {
    let mut found = Found { cases: Vec::new(), stray: Vec::new() };
    if !top.is_dir() {
        return Ok(found);
    }
    for group in entries(top)? {
        let name = group.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if !group.is_dir() {
            if name != super::coverage::UNCOVERED && name != README {
                found.stray.push(format!("{}: not a group of cases", group.display()));
            }
            continue;
        }
        for folder in entries(&group)? {
            match Case::at(&name, folder.clone()) {
                Some(case) if folder.is_dir() => found.cases.push(case),
                _ => found
                    .stray
                    .push(format!("{}: a case is a folder ok-, part- or err-<fact>", folder.display())),
            }
        }
    }
    Ok(found)
}
