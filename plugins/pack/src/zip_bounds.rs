//! Refuses a directory whose names would meet on some system, or whose sizes only a bomb has.

use crate::names::{collision_key, shown};
use crate::report::Problem;
use crate::store::Limits;
use crate::zip_directory::Listed;
use crate::zip_end::{Trouble, refused};
use crate::zip_read::ENOUGH_PROBLEMS;
use std::collections::{BTreeMap, BTreeSet};

const RATIO_FROM: u64 = 1 << 20;
const TOTAL_RATIO_FROM: u64 = 64 << 20;

/// No two names may meet on any common system, and no file may stand where another entry needs a folder.
pub(crate) fn check_names(listed: &[Listed]) -> Result<(), Vec<Trouble>> {
    let mut troubles = Vec::new();
    let mut entries: BTreeMap<String, &str> = BTreeMap::new();
    let mut files: BTreeSet<String> = BTreeSet::new();
    let mut folders: BTreeMap<String, &str> = BTreeMap::new();
    for entry in listed {
        let name = entry.member.name.as_str();
        let path = name.strip_suffix('/').unwrap_or(name);
        let key = collision_key(path);
        if let Some(other) = entries.get(&key) {
            let what = if *other == path {
                "the name occurs twice".to_owned()
            } else {
                format!("the name differs from `{}` only by case or Unicode form", shown(other))
            };
            troubles.push(Trouble::Refused(Problem::new(name, what)));
        } else {
            entries.insert(key.clone(), path);
        }
        if !entry.folder {
            files.insert(key);
        }
        for (at, _) in name.match_indices('/') {
            let folder = name.get(..at).unwrap_or_default();
            match folders.get(&collision_key(folder)) {
                Some(other) if *other != folder => troubles.push(Trouble::Refused(Problem::new(
                    name,
                    format!("its folder differs from `{}` only by case or Unicode form", shown(other)),
                ))),
                Some(_) => {}
                None => {
                    folders.insert(collision_key(folder), folder);
                }
            }
        }
        if troubles.len() >= ENOUGH_PROBLEMS {
            return Err(troubles);
        }
    }
    for (key, folder) in &folders {
        if files.contains(key) {
            troubles.push(Trouble::Refused(Problem::new(folder, "the name is both a file and a folder")));
        }
    }
    troubles.truncate(ENOUGH_PROBLEMS);
    if troubles.is_empty() { Ok(()) } else { Err(troubles) }
}

/// Sizes that only a bomb has.
pub(crate) fn check_sizes(listed: &[Listed], length: u64, limits: &Limits) -> Result<(), Vec<Trouble>> {
    let mut troubles = Vec::new();
    let mut total: u64 = 0;
    for entry in listed {
        let member = &entry.member;
        total = total.saturating_add(member.size);
        if member.size > RATIO_FROM && member.size / member.packed.max(1) > limits.ratio {
            troubles.push(Trouble::Refused(
                Problem::new(
                    &member.name,
                    format!("{} bytes packed into {}: a zip bomb", member.size, member.packed),
                )
                .help(format!("the limit is a ratio of {}", limits.ratio)),
            ));
        }
        if troubles.len() >= ENOUGH_PROBLEMS {
            return Err(troubles);
        }
    }
    if total > limits.total_bytes {
        troubles.push(refused(format!("{total} bytes when unpacked, the limit is {}", limits.total_bytes)));
    } else if total > TOTAL_RATIO_FROM && total / length.max(1) > limits.ratio {
        troubles.push(refused(format!("{total} bytes packed into {length}: a zip bomb")));
    }
    if troubles.is_empty() { Ok(()) } else { Err(troubles) }
}
