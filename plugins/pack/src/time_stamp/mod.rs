//! Time stamps of a pack (RFC 3161): tokens over its `tagmanifest-sha256.txt`, in files of their own beside it.
//!
//! A token says that the pack was there at a moment which an authority states. Like signatures, tokens are added after
//! the pack was made, are in no manifest, and leave its identity as it is. They are checked without a network, against
//! certificates that come from outside the pack; whether a certificate was revoked can't be told so, and is said.

mod authority;
mod check;
mod public_key;
mod token;

pub use authority::Authorities;
pub(crate) use check::check_time_stamps;
pub use check::{StampRefusal, Stamped, check_time_stamp, look_at_time_stamp};

use crate::signature::FOLDER;

/// Ending of a token's file.
pub(crate) const ENDING: &str = ".tsr";

/// Whether a tag file is a time stamp, which no manifest lists.
pub(crate) fn is_time_stamp(path: &str) -> bool {
    path.strip_prefix(FOLDER).is_some_and(|name| !name.contains('/') && name.ends_with(ENDING))
}
