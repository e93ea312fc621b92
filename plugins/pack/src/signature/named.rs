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

/// Holds a key with which somebody signed against those that the record names. In which order it names them makes no
/// difference: a key that is named for somebody is theirs, also where another person's key is left open.
pub fn as_named(people: &[NamedKey], role: SignedAs, fingerprint: &str) -> AsNamed {
    let may = || people.iter().filter(|person| person.role == role);
    if let Some(named) = may().find(|p| p.key.as_ref().is_some_and(|key| key.as_str() == fingerprint)) {
        return AsNamed::Yes(named.name.clone());
    }
    // Nobody, or somebody without a named key: it may be theirs.
    let Some(others) = may()
        .map(|p| p.key.as_ref().map(|key| format!("{key} for {}", crate::names::shown(&p.name))))
        .collect::<Option<Vec<String>>>()
        .filter(|others| !others.is_empty())
    else {
        return AsNamed::Open;
    };
    AsNamed::No(others.join(", "))
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
        // In whatever order the two stand, the named key stays the named one.
        let turned = people(&format!(r#"{{"name":"T. Sedge","part":"authorised","key":null}},{heron}"#));
        for list in [&list, &turned] {
            assert_eq!(as_named(list, SignedAs::Authorised, KEY), AsNamed::Yes("O. Heron".into()));
            assert_eq!(as_named(list, SignedAs::Authorised, "SHA256:other"), AsNamed::Open);
        }
        assert_eq!(named_keys(&b"no record"[..]), []);
    }
}
