//! The people who did the work and answer for it.

use crate::word::words;
use jiff::civil::Date;

words!(
    /// What a person did for the job.
    PartPlayed {
        /// Applied the discharges and wrote down what happened.
        Tested = "tested",
        /// Checked records and calculations.
        Checked = "checked",
        /// Authorises the report.
        Authorised = "authorised",
    }
);

/// Fingerprint of a public key as OpenSSH prints it (`ssh-keygen -l`): `SHA256:` and the base64 of 32 bytes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct KeyFingerprint(String);

impl KeyFingerprint {
    /// Takes a fingerprint as written, without the spaces around it; none for any other text.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let digest = text.strip_prefix("SHA256:")?;
        let base64 = |c: char| c.is_ascii_alphanumeric() || matches!(c, '+' | '/');
        // 43 letters hold 258 bits; the last two of them belong to no byte and are nought.
        let ends_in_nought = digest
            .ends_with(['A', 'E', 'I', 'M', 'Q', 'U', 'Y', 'c', 'g', 'k', 'o', 's', 'w', '0', '4', '8']);
        (digest.len() == 43 && digest.chars().all(base64) && ends_in_nought).then(|| Self(text.to_owned()))
    }

    /// The fingerprint as written.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl std::fmt::Display for KeyFingerprint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// A person and their part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Name.
    pub name: String,
    /// What they did.
    pub part: PartPlayed,
    /// Position in the laboratory.
    pub position: Option<String>,
    /// When they signed for it.
    pub on: Option<Date>,
    /// The key with which they sign the evidence pack, so that paper and pack can be held against each other.
    pub key: Option<KeyFingerprint>,
}
