//! The files that a plug-in made: each named, none elsewhere, none behind a link.

use super::broke::Broke;
use super::codes;
use plugin_api::wire::stdio::ArtifactLine;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn bad(what: String) -> Broke {
    Broke::new(codes::BAD_ARTIFACT, what)
}

/// A path below a folder, each of its parts a plain folder or file; none for a path that leads elsewhere.
fn below(folder: &Path, path: &str) -> Result<PathBuf, Broke> {
    let refused = |why: &str| bad(format!("named the file `{path}`: {why}"));
    if path.is_empty() || path.len() > 400 {
        return Err(refused("a path has 1 to 400 characters"));
    }
    if path.contains(['\\', ':', '\0']) || path.chars().any(char::is_control) {
        return Err(refused("a path is written with `/`, without drive letters"));
    }
    if path.starts_with('/') || path.starts_with('~') {
        return Err(refused("a path begins below the plug-in's own folder"));
    }
    let mut whole = folder.to_owned();
    for part in path.split('/') {
        let trimmed = part.trim_end_matches(['.', ' ']);
        let device = trimmed.split('.').next().unwrap_or_default().to_ascii_lowercase();
        let device = matches!(&*device, "con" | "prn" | "aux" | "nul")
            || matches!(device.strip_prefix("com").or(device.strip_prefix("lpt")), Some(n) if n.len() == 1);
        if part.is_empty() || part == "." || part == ".." {
            return Err(refused("no part of a path is empty, `.` or `..`"));
        }
        if trimmed != part || device {
            return Err(refused("some systems know no such name"));
        }
        whole.push(part);
        match std::fs::symlink_metadata(&whole) {
            Ok(meta) if meta.file_type().is_symlink() => {
                return Err(refused("it is a link, or lies behind one"));
            }
            Ok(_) => {}
            Err(_) => return Err(refused("it is not there")),
        }
    }
    Ok(whole)
}

/// Reads a file that a plug-in names, within what is left of its limit.
pub(super) fn read(folder: &Path, path: &str, left: &mut u64) -> Result<Vec<u8>, Broke> {
    let whole = below(folder, path)?;
    let refused = |why: String| bad(format!("named the file `{path}`: {why}"));
    let meta = std::fs::symlink_metadata(&whole).map_err(|error| refused(error.to_string()))?;
    if !meta.is_file() {
        return Err(refused("it is no plain file".to_owned()));
    }
    if other_names(&meta) {
        return Err(refused("it has a second name elsewhere (a hard link)".to_owned()));
    }
    *left = left.checked_sub(meta.len()).ok_or_else(|| {
        Broke::new(codes::TOO_MUCH, format!("made files beyond its limit: `{path}` has {} bytes", meta.len()))
            .help("raise output_limit_mib in its plugin.toml and trust it again, if that much is meant")
    })?;
    std::fs::read(&whole).map_err(|error| refused(error.to_string()))
}

#[cfg(unix)]
fn other_names(meta: &std::fs::Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(meta) > 1
}

#[cfg(not(unix))]
fn other_names(_: &std::fs::Metadata) -> bool {
    false
}

/// Reads all files of a writer: those named are those there, and no two have names that some systems take for one.
pub(super) fn read_all(
    folder: &Path,
    named: &[ArtifactLine],
    limit: u64,
) -> Result<Vec<(ArtifactLine, Vec<u8>)>, Broke> {
    let mut left = limit;
    let mut seen: BTreeMap<String, &str> = BTreeMap::new();
    let mut files = Vec::new();
    for artifact in named {
        if let Some(other) = seen.insert(one_form(&artifact.path), &artifact.path) {
            let what = if other == artifact.path {
                format!("named the file `{}` twice", artifact.path)
            } else {
                format!("named the files `{other}` and `{}`, which some systems take for one", artifact.path)
            };
            return Err(bad(what));
        }
        let parts = artifact.media_type.split('/').collect::<Vec<_>>();
        let fits = |part: &&str| {
            !part.is_empty() && part.bytes().all(|b| b.is_ascii_alphanumeric() || b"!#$&-^_.+".contains(&b))
        };
        if parts.len() != 2 || !parts.iter().all(fits) {
            return Err(bad(format!(
                "gave `{}` the media type `{}`, which is none such as text/csv",
                artifact.path, artifact.media_type
            )));
        }
        files.push((artifact.clone(), read(folder, &artifact.path, &mut left)?));
    }
    for entry in walkdir::WalkDir::new(folder).min_depth(1).sort_by_file_name() {
        let entry = entry.map_err(|error| bad(format!("made a folder that can't be listed: {error}")))?;
        let path = entry.path().strip_prefix(folder).unwrap_or(entry.path());
        let path = path.components().map(|c| c.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/");
        if !entry.file_type().is_dir() && !named.iter().any(|artifact| artifact.path == path) {
            return Err(bad(format!("made the file `{path}` and did not name it")));
        }
    }
    Ok(files)
}

/// A name without case and in one Unicode form.
fn one_form(path: &str) -> String {
    use unicode_normalization::UnicodeNormalization;
    path.nfc().collect::<String>().to_lowercase()
}
