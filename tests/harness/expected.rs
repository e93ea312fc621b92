//! What a case keeps in `expected/`: printed text, outputs, and hashes with a readable form of what is kept by its hash.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::io::Read as _;
use std::path::Path;
use std::process::Command;

use sha2::{Digest, Sha256};
use similar::TextDiff;

use super::description::Description;
use super::workplace::{Tree, tree};

/// Where hashes are kept.
const HASHES: &str = "hashes.txt";

/// Lines of a difference that are shown; the rest is counted.
const SHOWN: usize = 120;

/// What `expected/` ought to hold.
pub(crate) struct Kept {
    files: Tree,
    /// Readable forms that could not be made here, for want of a tool.
    not_made: BTreeSet<String>,
}

/// Puts what was printed and written into the form in which it is kept.
pub(crate) fn form(
    description: &Description,
    printed: &Tree,
    written: &Tree,
    place: &Path,
) -> Result<Kept, String> {
    let mut kept = Kept { files: Tree::new(), not_made: BTreeSet::new() };
    let mut hashes = String::new();
    for (path, bytes) in printed {
        // Nothing printed needs no file.
        if !bytes.is_empty() && !description.is_in_part(path) {
            kept.files.insert(path.clone(), bytes.clone());
        }
    }
    for (path, bytes) in written {
        if path == HASHES || printed.contains_key(path) {
            return Err(format!("{path}: an output of that name can't be told from what the harness keeps"));
        }
        if description.is_in_part(path) {
            continue;
        }
        if !description.is_hash_only(path) {
            kept.files.insert(path.clone(), bytes.clone());
            continue;
        }
        let _infallible = writeln!(hashes, "{}  {path}", hex(&Sha256::digest(bytes)));
        let readable = format!("{path}.txt");
        if path.ends_with(".pdf") {
            match pdf_text(&place.join(path))? {
                Some(text) => drop(kept.files.insert(readable, text.into_bytes())),
                None => drop(kept.not_made.insert(readable)),
            }
        } else if path.ends_with(".zip") {
            let members = zip_members(bytes).map_err(|reason| format!("{path}: {reason}"))?;
            kept.files.insert(readable, members.into_bytes());
        }
    }
    if !hashes.is_empty() {
        kept.files.insert(HASHES.to_owned(), hashes.into_bytes());
    }
    Ok(kept)
}

/// Compares both ways: missing, extra, different.
pub(crate) fn compare(folder: &Path, kept: &Kept) -> Result<Vec<String>, String> {
    let mut expected = tree(folder)?;
    expected.retain(|path, _| !kept.not_made.contains(path));
    let mut wrong = Vec::new();
    for (path, bytes) in &kept.files {
        match expected.get(path) {
            None => wrong.push(format!("{path}: not expected\n{}", difference(b"", bytes))),
            Some(expected) if expected != bytes => {
                wrong.push(format!("{path}: differs\n{}", difference(expected, bytes)));
            }
            Some(_) => {}
        }
    }
    for path in expected.keys().filter(|path| !kept.files.contains_key(*path)) {
        wrong.push(format!("{path}: expected, and not there"));
    }
    Ok(wrong)
}

/// Rewrites `expected/` as a whole.
pub(crate) fn bless(folder: &Path, kept: &Kept) -> Result<(), String> {
    if let Some(path) = kept.not_made.first() {
        return Err(format!("{path} can't be made here: install pdftotext"));
    }
    let fail = |error: std::io::Error| format!("{}: {error}", folder.display());
    if folder.exists() {
        std::fs::remove_dir_all(folder).map_err(fail)?;
    }
    for (path, bytes) in &kept.files {
        let target = folder.join(path);
        if let Some(parent) = target.parent() {
            std::fs::create_dir_all(parent).map_err(fail)?;
        }
        std::fs::write(&target, bytes).map_err(fail)?;
    }
    Ok(())
}

/// Checks the fragments that a case names.
pub(crate) fn fragments(description: &Description, printed: &Tree, written: &Tree) -> Vec<String> {
    let text = |path: &str| {
        let bytes = printed.get(path).or_else(|| written.get(path))?;
        Some(String::from_utf8_lossy(bytes).into_owned())
    };
    let mut wrong = Vec::new();
    for (wanted, list) in [(true, &description.expect.contains), (false, &description.expect.lacks)] {
        for (path, fragments) in list {
            let Some(text) = text(path) else {
                wrong.push(format!("{path}: expected, and not there"));
                continue;
            };
            for fragment in fragments.iter().filter(|fragment| text.contains(fragment.as_str()) != wanted) {
                let fault = if wanted { "lacks" } else { "holds" };
                let shown: String = text.chars().take(4_000).collect();
                wrong.push(format!("{path}: {fault} `{fragment}`; it begins:\n{shown}"));
            }
        }
    }
    wrong
}

/// A difference as text, or the sizes where either side is not text.
fn difference(expected: &[u8], found: &[u8]) -> String {
    let (Ok(before), Ok(after)) = (std::str::from_utf8(expected), std::str::from_utf8(found)) else {
        return format!("{} bytes expected, {} found", expected.len(), found.len());
    };
    let diff = TextDiff::from_lines(before, after);
    let text = diff.unified_diff().context_radius(2).header("expected", "found").to_string();
    let lines = text.lines().count();
    let mut shown: String = text.split_inclusive('\n').take(SHOWN).collect();
    if lines > SHOWN {
        let _infallible = writeln!(shown, "... and {} lines more", lines - SHOWN);
    }
    shown
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _infallible = write!(text, "{byte:02x}");
        text
    })
}

/// The text of a PDF as poppler finds it, each page closed with a line; `None` without poppler.
fn pdf_text(path: &Path) -> Result<Option<String>, String> {
    let Ok(output) = Command::new("pdftotext").args(["-layout", "-enc", "UTF-8"]).arg(path).arg("-").output()
    else {
        return Ok(None);
    };
    if !output.status.success() {
        return Err(format!(
            "{}: pdftotext refuses it: {}",
            path.display(),
            String::from_utf8_lossy(&output.stderr)
        ));
    }
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let mut pages: Vec<&str> = text.split('\u{c}').collect();
    // Each page ends with a form feed, so nothing stands after the last.
    pages.pop();
    let mut shown = String::new();
    for (index, page) in pages.iter().enumerate() {
        for line in page.lines() {
            let _infallible = writeln!(shown, "{}", line.trim_end());
        }
        let _infallible = writeln!(shown, "--- end of page {} of {} ---", index + 1, pages.len());
    }
    Ok(Some(shown))
}

/// The members of a zip in their order: SHA-256, size and name.
pub(crate) fn zip_members(bytes: &[u8]) -> Result<String, String> {
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(bytes)).map_err(|error| error.to_string())?;
    let mut shown = String::new();
    for index in 0..zip.len() {
        let mut member = zip.by_index(index).map_err(|error| error.to_string())?;
        let name = member.name().map_err(|error| error.to_string())?.into_owned();
        let mut content = Vec::new();
        member.read_to_end(&mut content).map_err(|error| error.to_string())?;
        let _infallible =
            writeln!(shown, "{}  {:>9}  {}", hex(&Sha256::digest(&content)), content.len(), name);
    }
    Ok(shown)
}
