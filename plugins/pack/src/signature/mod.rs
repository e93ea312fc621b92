//! Signatures of a pack: SSHSIG over its `tagmanifest-sha256.txt`, in files of their own beside it.
//!
//! The signed file lists every other file of the bag by its digest, directly or through the manifests, so a signature
//! covers them all. The signature files themselves are in no manifest: they are added after the pack was made, and its
//! identity stays. Format: PROTOCOL.sshsig of OpenSSH; `ssh-keygen -Y verify` judges the same files.

mod check;
mod make;
mod named;
mod signers;

pub(crate) use check::check_signatures;
pub use check::{Good, Refusal, check_signature};
pub use make::{SignError, add_signature, add_time_stamp, checked_signature, make_signature};
pub use named::{AsNamed, NamedKey, as_named};
pub use signers::Signers;

/// The folder of signatures in a pack.
pub(crate) const FOLDER: &str = "signatures/";
/// The file that is signed.
pub(crate) const SIGNED: &str = "tagmanifest-sha256.txt";

/// Whether a tag file belongs to the signatures, which no manifest lists.
pub(crate) fn is_signature(path: &str) -> bool {
    path.strip_prefix(FOLDER).is_some_and(|name| !name.contains('/') && name.ends_with(".sig"))
}

/// As what a person signs. It is part of the signature (its namespace), so a file with another name changes nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum SignedAs {
    /// Carried out the test.
    Tested,
    /// Checked the results.
    Checked,
    /// Authorised the report (ISO/IEC 17025:2017 7.8.2.1 o).
    Authorised,
}

impl SignedAs {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Tested, Self::Checked, Self::Authorised];

    /// Stable name.
    pub fn id(self) -> &'static str {
        match self {
            Self::Tested => "tested",
            Self::Checked => "checked",
            Self::Authorised => "authorised",
        }
    }

    /// The namespace of such a signature, for `ssh-keygen -Y sign -n` and for the list of allowed signers.
    pub fn namespace(self) -> &'static str {
        match self {
            Self::Tested => "fulgurite-pack-tested",
            Self::Checked => "fulgurite-pack-checked",
            Self::Authorised => "fulgurite-pack-authorised",
        }
    }

    fn of(namespace: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.namespace() == namespace)
    }
}
