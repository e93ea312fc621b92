//! The keys that a record names for the people who sign: paper, pack and signature must say the same.

use super::SignedAs;
use record::{KeyFingerprint, PartPlayed};
use serde::Deserialize;
use std::io::Read;

/// A person of the record, as far as signatures go.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedKey {
    /// Name.
    pub name: String,
    /// As what they sign.
    pub role: SignedAs,
    /// Their key; none where the record does not name it.
    pub key: Option<KeyFingerprint>,
}

/// Whether a key is the one that the record names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AsNamed {
    /// It is, for this person.
    Yes(String),
    /// The record names other keys for everybody who may sign so: who and which.
    No(String),
    /// The record leaves open with which key somebody signs so.
    Open,
}

/// Holds a key with which somebody signed against those that the record names.
pub fn as_named(people: &[NamedKey], role: SignedAs, fingerprint: &str) -> AsNamed {
    let mut others = Vec::new();
    let mut open = true;
    for person in people.iter().filter(|person| person.role == role) {
        match &person.key {
            Some(key) if key.as_str() == fingerprint => return AsNamed::Yes(person.name.clone()),
            Some(key) => others.push(format!("{key} for {}", crate::names::shown(&person.name))),
            // Somebody without a named key: it may be theirs.
            None => return AsNamed::Open,
        }
        open = false;
    }
    if open { AsNamed::Open } else { AsNamed::No(others.join(", ")) }
}

/// The people of a record and their keys. A record that can't be read names nobody; other checks say so.
pub(crate) fn named_keys(record: impl Read) -> Vec<NamedKey> {
    #[derive(Default, Deserialize)]
    #[serde(default)]
    struct Record {
        facts: Facts,
    }
    #[derive(Default, Deserialize)]
    #[serde(default)]
    struct Facts {
        people: Vec<Person>,
    }
    #[derive(Default, Deserialize)]
    #[serde(default)]
    struct Person {
        name: String,
        part: String,
        key: Option<String>,
    }
    let read: Result<Record, _> = serde_json::from_reader(std::io::BufReader::new(record));
    let people = read.unwrap_or_default().facts.people;
    people.into_iter().filter_map(|p| named(p.name, p.part.parse().ok()?, p.key.as_deref())).collect()
}

fn named(name: String, part: PartPlayed, key: Option<&str>) -> Option<NamedKey> {
    let role = match part {
        PartPlayed::Tested => SignedAs::Tested,
        PartPlayed::Checked => SignedAs::Checked,
        PartPlayed::Authorised => SignedAs::Authorised,
    };
    Some(NamedKey { name, role, key: key.and_then(KeyFingerprint::parse) })
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEY: &str = "SHA256:aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaA";

    fn people(json: &str) -> Vec<NamedKey> {
        named_keys(
            format!(r#"{{"schema":1,"facts":{{"people":[{json}]}},"series":[{{"id":"s"}}]}}"#).as_bytes(),
        )
    }

    #[test]
    fn a_key_is_the_named_one_another_one_or_left_open() {
        let heron = format!(r#"{{"name":"O. Heron","part":"authorised","key":"{KEY}"}}"#);
        let list = people(&heron);
        assert_eq!(as_named(&list, SignedAs::Authorised, KEY), AsNamed::Yes("O. Heron".into()));
        assert!(
            matches!(as_named(&list, SignedAs::Authorised, "SHA256:other"), AsNamed::No(who) if who.contains(KEY))
        );
        assert_eq!(as_named(&list, SignedAs::Tested, "SHA256:other"), AsNamed::Open);
        // A second person of the part without a key: the signature may be theirs.
        let list = people(&format!(r#"{heron},{{"name":"T. Sedge","part":"authorised"}}"#));
        assert_eq!(as_named(&list, SignedAs::Authorised, "SHA256:other"), AsNamed::Open);
        assert_eq!(named_keys(&b"no record"[..]), []);
    }
}
