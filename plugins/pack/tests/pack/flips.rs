//! Every byte of a small pack changed in turn: none may go unseen.

use crate::samples::{small, written};
use plugin_pack::{Limits, Outcome, verify_zip};
use std::collections::BTreeMap;
use std::io::Cursor;

#[test]
fn no_changed_byte_goes_unseen() {
    let pack = written(&small());
    assert_eq!(verify_zip(Cursor::new(&pack), &Limits::default()).outcome, Outcome::Intact);
    let mut counts: BTreeMap<String, u32> = BTreeMap::new();
    let mut unseen = Vec::new();
    for at in 0..pack.len() {
        let mask = [0x01, 0x80, 0xFF][at % 3];
        let mut changed = pack.clone();
        changed[at] ^= mask;
        let outcome = verify_zip(Cursor::new(&changed), &Limits::default()).outcome;
        *counts.entry(format!("{outcome:?}")).or_default() += 1;
        if !matches!(outcome, Outcome::Altered | Outcome::Refused | Outcome::Rezipped) {
            unseen.push((at, mask, outcome));
        }
    }
    println!("{} bytes changed one at a time: {counts:?}", pack.len());
    assert!(unseen.is_empty(), "{unseen:?}");
}

#[test]
fn no_missing_or_added_end_goes_unseen() {
    let pack = written(&small());
    for length in 0..pack.len() {
        let outcome = verify_zip(Cursor::new(&pack[..length]), &Limits::default()).outcome;
        assert!(!outcome.is_sound(), "cut to {length}: {outcome:?}");
    }
    for extra in [1, 4, 22, 1000] {
        let mut longer = pack.clone();
        longer.extend(std::iter::repeat_n(b' ', extra));
        assert_eq!(verify_zip(Cursor::new(&longer), &Limits::default()).outcome, Outcome::Refused);
        let mut shifted = vec![b' '; extra];
        shifted.extend_from_slice(&pack);
        assert_eq!(verify_zip(Cursor::new(&shifted), &Limits::default()).outcome, Outcome::Refused);
    }
}
