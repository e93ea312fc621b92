//! What a written pack looks like, and that it does not depend on anything but its content.

use crate::folder::{Folder, put, unpack};
use crate::samples::{file, plan, small, written};
use plugin_pack::{
    Content, Limits, Outcome, PackError, PackFile, Role, State, verify_folder, verify_zip, write_pack,
};
use std::io::{Cursor, Write};
use std::sync::atomic::{AtomicBool, Ordering};

fn names(pack: &[u8]) -> Vec<String> {
    let mut zip = zip::ZipArchive::new(Cursor::new(pack)).unwrap();
    (0..zip.len()).map(|at| zip.by_index(at).unwrap().name().unwrap().into_owned()).collect()
}

#[test]
fn the_layout_is_as_described() {
    let pack = written(&small());
    let expected = "
        OPL-2026-017-evidence/READ-ME-FIRST.txt
        OPL-2026-017-evidence/bag-info.txt
        OPL-2026-017-evidence/bagit.txt
        OPL-2026-017-evidence/data/assessment.json
        OPL-2026-017-evidence/data/contents.json
        OPL-2026-017-evidence/data/papers/report.html
        OPL-2026-017-evidence/data/record.json
        OPL-2026-017-evidence/data/sources/empty.csv
        OPL-2026-017-evidence/data/sources/logs/shots.csv
        OPL-2026-017-evidence/data/sources/logs/Übersicht 100_.txt
        OPL-2026-017-evidence/data/sources/photos/set-up.JPG
        OPL-2026-017-evidence/data/standards/iec-61000-4-2-ed2.toml
        OPL-2026-017-evidence/manifest-sha256.txt
        OPL-2026-017-evidence/manifest-sha512.txt
        OPL-2026-017-evidence/tagmanifest-sha256.txt
        OPL-2026-017-evidence/tagmanifest-sha512.txt";
    let expected: Vec<&str> = expected.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    assert_eq!(names(&pack), expected);
}

#[test]
fn the_order_of_the_files_and_the_run_change_nothing() {
    let first = written(&small());
    let mut other = small();
    other.files.reverse();
    assert_eq!(first, written(&other));
}

#[test]
fn the_identity_is_the_checksum_of_the_tag_manifest() {
    let (pack, done) = write_pack(&small(), Vec::new()).unwrap();
    let report = verify_zip(Cursor::new(&pack), &Limits::default());
    assert_eq!(report.outcome, Outcome::Intact, "{report}");
    assert_eq!(report.identity.as_deref(), Some(done.identity.as_str()));
    assert_eq!(report.pack_version, Some(1));
    assert_eq!(report.external_identifier.as_deref(), Some("OPL-2026-017"));
    assert_eq!(done.zip_bytes, pack.len() as u64);
    assert!(matches!(report.check("verdict").unwrap().state, State::NotDone { .. }));
    // Without the depth that derives it again, the verdict is said not to be.
    assert!(!report.verdict_derived_again());
    assert!(report.to_string().contains("not done  verdict derived again"), "{report}");
}

#[test]
fn a_pack_zipped_again_keeps_its_identity_and_is_told_apart() {
    let pack = written(&small());
    let before = verify_zip(Cursor::new(&pack), &Limits::default());
    for method in [zip::CompressionMethod::Stored, zip::CompressionMethod::Deflated] {
        let again = zip_again(&pack, method, |_, _| true);
        let report = verify_zip(Cursor::new(&again), &Limits::default());
        assert_eq!(report.outcome, Outcome::Rezipped, "{report}");
        assert_eq!(report.identity, before.identity);
        assert!(matches!(report.check("form").unwrap().state, State::Differs { .. }));
    }
}

#[test]
fn a_pack_zipped_again_without_seeking_back_is_sound_too() {
    let pack = written(&small());
    let mut source = zip::ZipArchive::new(Cursor::new(&pack)).unwrap();
    let mut out = zip::ZipWriter::new_stream(Vec::new());
    for at in 0..source.len() {
        let mut entry = source.by_index(at).unwrap();
        let name = entry.name().unwrap().into_owned();
        let options = zip::write::SimpleFileOptions::default();
        out.start_file(name.clone(), options).unwrap();
        std::io::copy(&mut entry, &mut out).unwrap();
    }
    let again = out.finish().unwrap().into_inner();
    let report = verify_zip(Cursor::new(&again), &Limits::default());
    assert_eq!(report.outcome, Outcome::Rezipped, "{report}");
}

#[test]
fn an_unpacked_pack_is_checked_in_its_folder() {
    let place = tempfile::tempdir().unwrap();
    unpack(&written(&small()), place.path());
    let check = |below: &str| {
        let mut folder = Folder::new(&place.path().join(below)).unwrap();
        verify_folder(&mut folder, &Limits::default())
    };
    assert_eq!(check("").outcome, Outcome::Unpacked, "{}", check(""));
    assert_eq!(check("OPL-2026-017-evidence").outcome, Outcome::Unpacked);

    let bag = place.path().join("OPL-2026-017-evidence");
    put(&bag, "note.txt", b"left here by somebody");
    let report = check("");
    assert_eq!(report.outcome, Outcome::Altered);
    assert!(report.to_string().contains("note.txt: is not listed in tagmanifest-sha256.txt"), "{report}");
    std::fs::remove_file(bag.join("note.txt")).unwrap();

    put(&bag, "data/sources/logs/more.csv", b"added\n");
    assert!(check("").to_string().contains("data/sources/logs/more.csv: is in no manifest"));
    std::fs::remove_file(bag.join("data/sources/logs/more.csv")).unwrap();

    std::fs::remove_file(bag.join("data/papers/report.html")).unwrap();
    let report = check("");
    assert_eq!(report.outcome, Outcome::Altered);
    assert!(report.to_string().contains("data/papers/report.html: is missing"), "{report}");
}

#[cfg(unix)]
#[test]
fn a_link_in_a_folder_is_refused_and_not_followed() {
    let place = tempfile::tempdir().unwrap();
    unpack(&written(&small()), place.path());
    std::os::unix::fs::symlink("/etc/hostname", place.path().join("OPL-2026-017-evidence/data/link"))
        .unwrap();
    let report = verify_folder(&mut Folder::new(place.path()).unwrap(), &Limits::default());
    assert_eq!(report.outcome, Outcome::Refused);
    assert!(report.to_string().contains("data/link: a link"), "{report}");
}

#[test]
fn what_every_pack_must_have_is_asked_for() {
    let pack = written(&small());
    let without = |name: &'static str| {
        let again = zip_again(&pack, zip::CompressionMethod::Deflated, move |path, _| !path.ends_with(name));
        verify_zip(Cursor::new(&again), &Limits::default())
    };
    for name in
        ["manifest-sha512.txt", "tagmanifest-sha256.txt", "tagmanifest-sha512.txt", "READ-ME-FIRST.txt"]
    {
        let report = without(name);
        assert_eq!(report.outcome, Outcome::Altered, "{name}");
        assert!(report.to_string().contains(&format!("{name}: is missing")), "{report}");
    }
    // Without the file that says whose it is, it is a broken bag at best.
    assert_eq!(without("bag-info.txt").outcome, Outcome::Altered);
}

#[test]
fn media_are_stored_and_text_is_deflated() {
    let pack = written(&small());
    let mut zip = zip::ZipArchive::new(Cursor::new(&pack)).unwrap();
    let mut method =
        |path: &str| zip.by_name(&format!("OPL-2026-017-evidence/{path}")).unwrap().compression();
    assert_eq!(method("data/sources/photos/set-up.JPG"), zip::CompressionMethod::Stored);
    assert_eq!(method("data/sources/logs/shots.csv"), zip::CompressionMethod::Deflated);
    assert_eq!(method("data/sources/empty.csv"), zip::CompressionMethod::Stored);
}

#[test]
fn a_file_that_shrinks_like_a_bomb_is_stored_and_verifies() {
    let pack = written(&plan(vec![file(Role::Source, "zeros.bin", &vec![0; 3 << 20])]));
    let report = verify_zip(Cursor::new(&pack), &Limits::default());
    assert_eq!(report.outcome, Outcome::Intact, "{report}");
}

#[test]
fn a_source_that_changes_while_packed_is_an_error() {
    /// Says another length than it has.
    struct Liar;
    impl Content for Liar {
        fn size(&self) -> u64 {
            10
        }
        fn write_to(&self, out: &mut dyn Write) -> std::io::Result<()> {
            out.write_all(b"only nine")
        }
    }
    /// Gives other bytes the second time, which is the time when they are written.
    struct Fickle(AtomicBool);
    impl Content for Fickle {
        fn size(&self) -> u64 {
            4
        }
        fn write_to(&self, out: &mut dyn Write) -> std::io::Result<()> {
            out.write_all(if self.0.swap(true, Ordering::Relaxed) { b"once" } else { b"more" })
        }
    }
    let contents: [Box<dyn Content>; 2] = [Box::new(Liar), Box::new(Fickle(AtomicBool::new(false)))];
    for content in contents {
        let changing = PackFile { content, ..file(Role::Source, "x.png", b"") };
        let error = write_pack(&plan(vec![changing]), Vec::new()).unwrap_err();
        assert!(matches!(&error, PackError::Io { path, .. } if path == "data/sources/x.png"), "{error:?}");
    }
}

#[test]
fn a_source_with_another_checksum_than_when_it_was_read_is_an_error() {
    // SHA-256 of "abc", RFC 6234.
    let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    let with = |bytes: &[u8]| PackFile { sha256: Some(abc.to_owned()), ..file(Role::Source, "x.csv", bytes) };
    assert!(write_pack(&plan(vec![with(b"abc")]), Vec::new()).is_ok());
    let error = write_pack(&plan(vec![with(b"abd")]), Vec::new()).unwrap_err();
    assert!(matches!(&error, PackError::Changed { path } if path == "data/sources/x.csv"), "{error:?}");
}

#[test]
fn a_plan_without_record_or_with_a_wrong_date_is_an_error() {
    let mut bare = small();
    bare.files.retain(|file| file.role != Role::Record);
    assert!(matches!(
        write_pack(&bare, Vec::new()),
        Err(PackError::NotExactlyOne { role: "record", count: 0 })
    ));
    let mut dated = small();
    dated.issue_date = Some("5 March".to_owned());
    assert!(matches!(write_pack(&dated, Vec::new()), Err(PackError::BadDate { .. })));
}

#[test]
fn more_entries_than_the_old_format_can_count() {
    let files = (0..66_000).map(|at| file(Role::Source, &format!("{at:05}"), b"")).collect();
    let pack = written(&plan(files));
    let report = verify_zip(Cursor::new(&pack), &Limits::default());
    assert_eq!(report.outcome, Outcome::Intact, "{report}");
    assert_eq!(zip::ZipArchive::new(Cursor::new(&pack)).unwrap().len(), 66_010);
    let few = {
        let mut limits = Limits::default();
        limits.entries = 1000;
        limits
    };
    assert_eq!(verify_zip(Cursor::new(&pack), &few).outcome, Outcome::Refused);
}

#[test]
fn the_first_pack_of_this_layout_stays_intact_for_ever() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/golden-1.zip");
    if std::env::var_os("BLESS").is_some() && std::env::var_os("CI").is_none() && !path.exists() {
        std::fs::write(&path, written(&small())).unwrap();
    }
    let golden = std::fs::read(path).unwrap();
    let report = verify_zip(Cursor::new(&golden), &Limits::default());
    assert_eq!(report.outcome, Outcome::Intact, "{report}");
    let identity = "48fa896ba1fb982d9190476d73ba6248398eb7e6384bcb93a18f949440ae2428";
    assert_eq!(report.identity.as_deref(), Some(identity));
}

/// Packs a zip again with an outside library.
fn zip_again(pack: &[u8], method: zip::CompressionMethod, keep: impl Fn(&str, usize) -> bool) -> Vec<u8> {
    let mut source = zip::ZipArchive::new(Cursor::new(pack)).unwrap();
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for at in 0..source.len() {
        let mut entry = source.by_index(at).unwrap();
        let name = entry.name().unwrap().into_owned();
        if keep(&name, at) {
            let options = zip::write::SimpleFileOptions::default().compression_method(method);
            out.start_file(name.clone(), options).unwrap();
            std::io::copy(&mut entry, &mut out).unwrap();
        }
    }
    out.finish().unwrap().into_inner()
}
