//! Outside judges on what we write: PyPI bagit, Python's zipfile, sha256sum. `FULGURITE_JUDGES` names a virtual
//! environment that has bagit.

use crate::folder::unpack;
use crate::samples::{small, written};
use std::path::{Path, PathBuf};
use std::process::Command;

fn python() -> Option<PathBuf> {
    let judges = std::env::var_os("FULGURITE_JUDGES");
    if judges.is_none() {
        println!("skipped: FULGURITE_JUDGES names no virtual environment with PyPI bagit");
    }
    let judges = PathBuf::from(judges?);
    let unix = judges.join("bin/python");
    Some(if unix.exists() { unix } else { judges.join("Scripts/python.exe") })
}

fn run(program: &Path, arguments: &[&str], folder: &Path) -> (bool, String) {
    let output = Command::new(program).args(arguments).current_dir(folder).output().unwrap();
    let text = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8_lossy(&text).into_owned())
}

#[test]
fn pypi_bagit_calls_our_packs_valid() {
    let Some(python) = python() else { return };
    let place = tempfile::tempdir().unwrap();
    unpack(&written(&small()), place.path());
    let script = "import bagit; bag = bagit.Bag('OPL-2026-017-evidence'); bag.validate(); \
                  print(bag.version, sorted(bag.algorithms), bag.info['Payload-Oxum'], bag.info['Bagging-Date'])";
    let (good, text) = run(&python, &["-c", script], place.path());
    assert!(good, "{text}");
    assert!(text.contains("1.0 ['sha256', 'sha512']"), "{text}");
    // It does judge: one changed byte and it must object.
    let record = place.path().join("OPL-2026-017-evidence/data/record.json");
    let mut bytes = std::fs::read(&record).unwrap();
    bytes[3] ^= 1;
    std::fs::write(&record, bytes).unwrap();
    let (good, text) = run(&python, &["-c", script], place.path());
    assert!(!good && text.contains("data/record.json"), "{text}");
}

#[test]
fn python_zipfile_reads_our_packs() {
    let Some(python) = python() else { return };
    let place = tempfile::tempdir().unwrap();
    std::fs::write(place.path().join("pack.zip"), written(&small())).unwrap();
    let script = "import zipfile; z = zipfile.ZipFile('pack.zip'); print(z.testzip(), len(z.infolist()), \
                  {i.date_time for i in z.infolist()}, {i.extra for i in z.infolist()})";
    let (good, text) = run(&python, &["-c", script], place.path());
    assert!(good, "{text}");
    assert_eq!(text.trim(), "None 16 {(1980, 1, 1, 0, 0, 0)} {b''}");
}

/// The first command that `READ-ME-FIRST.txt` gives.
#[cfg(target_os = "linux")]
#[test]
fn the_command_in_the_read_me_works() {
    let place = tempfile::tempdir().unwrap();
    unpack(&written(&small()), place.path());
    let bag = place.path().join("OPL-2026-017-evidence");
    let read_me = std::fs::read_to_string(bag.join("READ-ME-FIRST.txt")).unwrap();
    let command = "sha256sum --check --quiet manifest-sha256.txt tagmanifest-sha256.txt";
    assert!(read_me.contains(command));
    let shell = Path::new("/bin/sh");
    let (good, text) = run(shell, &["-c", command], &bag);
    assert!(good && text.is_empty(), "{text}");
    std::fs::write(bag.join("data/record.json"), b"{}").unwrap();
    let (good, text) = run(shell, &["-c", command], &bag);
    assert!(!good && text.contains("data/record.json: FAILED"), "{text}");
}
