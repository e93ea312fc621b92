//! Properties: no input makes the reader panic, and any name survives packing.

use crate::samples::{file, plan, small, written};
use plugin_pack::{EntryKind, Limits, Outcome, Role, Store, StoreEntry, verify_folder, verify_zip};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::io::{Cursor, Read};

fn config() -> ProptestConfig {
    ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() }
}

/// A folder in memory.
struct Memory(Vec<StoreEntry>, Vec<Vec<u8>>);

impl Memory {
    fn new(files: Vec<(String, Vec<u8>)>) -> Self {
        let entry = |(path, bytes): &(String, Vec<u8>)| StoreEntry {
            path: path.clone(),
            kind: EntryKind::File,
            size: bytes.len() as u64,
        };
        Self(files.iter().map(entry).collect(), files.into_iter().map(|(_, bytes)| bytes).collect())
    }
}

impl Store for Memory {
    fn entries(&self) -> &[StoreEntry] {
        &self.0
    }

    fn open(&mut self, index: usize) -> std::io::Result<Box<dyn Read + '_>> {
        Ok(Box::new(self.1[index].as_slice()))
    }
}

/// Text that looks like parts of tag files.
fn tag_text() -> impl Strategy<Value = Vec<u8>> {
    let part = prop_oneof![
        Just("BagIt-Version: 1.0\n".to_owned()),
        Just("Tag-File-Character-Encoding: UTF-8\r\n".to_owned()),
        Just("Tag-File-Character-Encoding: UTF-16\n".to_owned()),
        Just("Payload-Oxum: 3.1\n".to_owned()),
        Just("Fulgurite-Pack-Version: 1\n".to_owned()),
        "[0-9a-f]{64}( |\\t){1,3}\\*?(data/|\\./|~|/|)(a|%0a|%25|\\.\\.|é|\\\\){0,4}(\n|\r|\r\n)",
        "http://x 3 data/a\n",
        "\\PC{0,20}\n?",
    ];
    prop_oneof![
        proptest::collection::vec(part, 0..8).prop_map(|parts| parts.concat().into_bytes()),
        proptest::collection::vec(any::<u8>(), 0..80),
    ]
}

/// Pieces that zip readers look for, so that arbitrary input gets past the first check now and then.
fn piece() -> impl Strategy<Value = Vec<u8>> {
    prop_oneof![
        proptest::collection::vec(any::<u8>(), 0..60),
        Just(b"PK\x03\x04".to_vec()),
        Just(b"PK\x01\x02".to_vec()),
        Just(b"PK\x05\x06\0\0\0\0".to_vec()),
        Just(b"PK\x06\x06".to_vec()),
        Just(b"PK\x06\x07".to_vec()),
        Just(vec![0; 22]),
        Just(vec![0xFF; 8]),
    ]
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn arbitrary_bytes_never_panic(pieces in proptest::collection::vec(piece(), 0..20)) {
        let bytes = pieces.concat();
        prop_assert!(!verify_zip(Cursor::new(bytes), &Limits::default()).outcome.is_sound());
    }

    #[test]
    fn arbitrary_tag_files_never_panic_and_never_make_a_pack(
        texts in proptest::collection::vec(tag_text(), 9),
        sound_declaration in any::<bool>(),
    ) {
        let names = [
            "bagit.txt", "bag-info.txt", "manifest-sha256.txt", "manifest-md5.txt", "tagmanifest-sha256.txt",
            "fetch.txt", "data/a", "data/contents.json", "data/record.json",
        ];
        let mut files: Vec<(String, Vec<u8>)> = names.iter().map(|name| (*name).to_owned()).zip(texts).collect();
        if sound_declaration {
            files[0].1 = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n".to_vec();
        }
        let report = verify_folder(&mut Memory::new(files), &Limits::default());
        prop_assert!(!report.outcome.is_sound(), "{report}");
    }

    #[test]
    fn a_damaged_pack_never_panics_and_never_passes_as_intact(
        places in proptest::collection::vec((any::<proptest::sample::Index>(), any::<u8>()), 1..12),
    ) {
        let pack = written(&small());
        let mut damaged = pack.clone();
        for (place, value) in places {
            let at = place.index(damaged.len());
            damaged[at] = value;
        }
        prop_assume!(damaged != pack);
        let outcome = verify_zip(Cursor::new(damaged), &Limits::default()).outcome;
        prop_assert!(outcome != Outcome::Intact && outcome != Outcome::ForeignBag, "{outcome:?}");
    }

    #[test]
    fn any_names_are_packed_under_safe_ones_and_kept_in_the_table(
        names in proptest::collection::vec("\\PC{0,12}|[a-cA-C/.]{0,6}|.{0,6}|(nul|CON|a|A)(\\.txt)?", 1..12),
    ) {
        let files = names.iter().enumerate().map(|(at, name)| file(Role::Source, name, format!("{at}").as_bytes())).collect();
        let pack = written(&plan(files));
        let report = verify_zip(Cursor::new(&pack), &Limits::default());
        prop_assert_eq!(report.outcome, Outcome::Intact, "{}", report);
        prop_assert!(report.checks.iter().all(|check| check.notes.is_empty()), "{}", report);

        // Each original name leads, by the table, to the bytes that it had.
        let mut zip = zip::ZipArchive::new(Cursor::new(&pack)).unwrap();
        let top = "OPL-2026-017-evidence";
        let mut text = String::new();
        zip.by_name(&format!("{top}/data/contents.json")).unwrap().read_to_string(&mut text).unwrap();
        let table: serde_json::Value = serde_json::from_str(&text).unwrap();
        let mut left: Vec<(String, String)> =
            names.iter().enumerate().map(|(at, name)| (name.clone(), at.to_string())).collect();
        let mut paths = BTreeSet::new();
        for entry in table["files"].as_array().unwrap() {
            if entry["role"] != "source" { continue }
            let path = entry["path"].as_str().unwrap();
            prop_assert!(paths.insert(path.to_lowercase()), "two files at {path}");
            let mut content = String::new();
            zip.by_name(&format!("{top}/{path}")).unwrap().read_to_string(&mut content).unwrap();
            let original = (entry["original_name"].as_str().unwrap().to_owned(), content);
            let at = left.iter().position(|known| *known == original);
            prop_assert!(at.is_some(), "{original:?}");
            left.remove(at.unwrap());
        }
        prop_assert!(left.is_empty());
    }
}
