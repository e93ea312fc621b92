//! What is asked of a verification: how deep it goes, and within which bounds.

use crate::signature::{SignedAs, Signers};
use crate::store::Limits;
use crate::time_stamp::Authorities;

/// How deep a verification looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Depth {
    /// Structure, names, numbers, and the checksums of the bag's own files.
    Quick,
    /// Also the checksum of every file, and signatures.
    #[default]
    Full,
    /// Also whether the verdict follows from the record, and the record from the original files.
    ReDerive,
}

impl Depth {
    /// Stable name, as on the command line.
    pub fn id(self) -> &'static str {
        match self {
            Self::Quick => "quick",
            Self::Full => "full",
            Self::ReDerive => "re-derive",
        }
    }
}

pub(crate) const NOT_AT_THIS_DEPTH: &str = "not part of a verification of this depth";

/// What is asked of a verification.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Bounds on what is read.
    pub limits: Limits,
    /// How deep.
    pub depth: Depth,
    /// Who may sign; given from outside the pack, since a list inside it could be anybody's.
    pub signers: Option<Signers>,
    /// The moment for which signers' keys must be valid, in seconds since 1970-01-01 UTC.
    pub at: i64,
    /// Signatures that must be there.
    pub signed_as: Vec<SignedAs>,
    /// Whose time stamps are trusted; given from outside the pack.
    pub authorities: Option<Authorities>,
    /// Time stamps that lie beside the pack: each one's name and bytes.
    pub time_stamps: Vec<(String, Vec<u8>)>,
}

impl From<&Limits> for Request {
    /// Every checksum, within these bounds.
    fn from(limits: &Limits) -> Self {
        Self { limits: limits.clone(), ..Self::default() }
    }
}
