//! Signs a pack: makes a signature, or takes one made elsewhere, and writes the pack with it.

use super::check::holds;
use super::named::{AsNamed, NamedKey, as_named, named_keys};
use super::{FOLDER, Refusal, SIGNED, SignedAs};
use crate::bag_files::find_root;
use crate::bag_write::RECORD_PATH;
use crate::store::{EntryKind, Limits, Store as _};
use crate::time_stamp::{StampRefusal, look_at_time_stamp};
use crate::zip_end::Trouble;
use crate::zip_read::ZipStore;
use crate::zip_write::ZipWriter;
use ssh_key::{Algorithm, HashAlg, LineEnding, PrivateKey, SshSig};
use std::fmt;
use std::io::{self, Read, Seek, Write};

/// Why a pack was not signed.
#[derive(Debug)]
#[non_exhaustive]
pub enum SignError {
    /// The key can't be used; in words, with what to do.
    Key(String),
    /// A signature that was made elsewhere does not fit the pack.
    Signature(Refusal),
    /// The record, and so the report, names another key for this signature.
    OtherKey {
        /// The key that was used.
        found: String,
        /// As what.
        role: SignedAs,
        /// Which keys the record names, and for whom.
        named: String,
    },
    /// A time stamp does not fit the pack.
    TimeStamp(StampRefusal),
    /// The pack holds this signature or time stamp already.
    Again {
        /// Path in the pack.
        path: String,
    },
    /// The pack can't be read.
    Pack(String),
    /// Reading or writing failed.
    Io(io::Error),
}

impl fmt::Display for SignError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Key(what) => f.write_str(what),
            Self::Signature(refusal) => write!(f, "the signature {refusal}"),
            Self::OtherKey { found, role, named } => write!(
                f,
                "this is the key {found}, and the record names another one to sign as {}: {named}; sign with that key, \
                 or correct the record and make the pack again",
                role.id()
            ),
            Self::TimeStamp(refusal) => write!(f, "the time stamp {refusal}"),
            Self::Again { path } => write!(f, "the pack holds this already: {path}"),
            Self::Pack(what) => write!(f, "the pack can't be signed: {what}"),
            Self::Io(_) => f.write_str("the signed pack could not be written"),
        }
    }
}

impl std::error::Error for SignError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io(error) => Some(error),
            _ => None,
        }
    }
}

impl From<io::Error> for SignError {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

/// Signs a message with a private key in OpenSSH's form; gives the signature as text.
///
/// # Errors
/// When the key can't be used.
pub fn make_signature(key: &str, message: &[u8], role: SignedAs) -> Result<String, SignError> {
    const ELSEWHERE: &str =
        "sign with `ssh-keygen -Y sign`, which asks for it, and hand the signature over with --attach";
    let key = PrivateKey::from_openssh(key).map_err(|error| {
        SignError::Key(format!("the file holds no private key in OpenSSH's form: {error}"))
    })?;
    if key.is_encrypted() {
        return Err(SignError::Key(format!("the key is protected by a passphrase: {ELSEWHERE}")));
    }
    if !matches!(key.algorithm(), Algorithm::Ed25519 | Algorithm::Ecdsa { .. }) {
        return Err(SignError::Key(format!(
            "keys of the kind {} are not signed with here; use an Ed25519 key, or {ELSEWHERE}",
            key.algorithm()
        )));
    }
    let signed = key
        .sign(role.namespace(), HashAlg::Sha512, message)
        .and_then(|signature| signature.to_pem(LineEnding::LF));
    signed.map_err(|error| SignError::Key(format!("the key can't sign: {error}")))
}

/// Looks at a signature that was made elsewhere: it must be good for its key, this message and this role.
///
/// # Errors
/// Why it is not.
pub fn checked_signature(pem: &[u8], message: &[u8], role: SignedAs) -> Result<String, SignError> {
    holds(pem, message, role.namespace()).map_err(SignError::Signature)?;
    let again = SshSig::from_pem(pem).and_then(|signature| signature.to_pem(LineEnding::LF));
    again.map_err(|error| SignError::Key(error.to_string()))
}

/// Writes a pack with one signature more. `sign` is given the bytes to be signed and gives the signature as text. All
/// other files are copied as they are packed; the result is in canonical form. Returns the path of the signature.
///
/// # Errors
/// See [`SignError`]; what has been written to `out` until then is no pack.
pub fn add_signature<R: Read + Seek, W: Write>(
    reader: R,
    limits: &Limits,
    role: SignedAs,
    sign: impl FnOnce(&[u8]) -> Result<String, SignError>,
    out: W,
) -> Result<String, SignError> {
    add_beside(reader, limits, out, |message, people| {
        let text = sign(message)?;
        let (_, fingerprint) =
            holds(text.as_bytes(), message, role.namespace()).map_err(SignError::Signature)?;
        if let AsNamed::No(named) = as_named(people, role, &fingerprint) {
            return Err(SignError::OtherKey { found: fingerprint, role, named });
        }
        // Letters and digits of the fingerprint: its other signs are no good in file names.
        let short: String =
            fingerprint.chars().skip("SHA256:".len()).filter(char::is_ascii_alphanumeric).take(12).collect();
        Ok((format!("{FOLDER}{}-{short}.sig", role.id()), text.into_bytes()))
    })
}

/// Writes a pack with a time stamp, whose token must be for this pack; who made it is left to [`crate::verify_zip`].
/// Returns the path of the token and the moment that it states.
///
/// # Errors
/// See [`SignError`]; what has been written to `out` until then is no pack.
pub fn add_time_stamp<R: Read + Seek, W: Write>(
    reader: R,
    limits: &Limits,
    token: &[u8],
    out: W,
) -> Result<(String, String), SignError> {
    let mut at = String::new();
    let path = add_beside(reader, limits, out, |message, _| {
        let stamped = look_at_time_stamp(token, message).map_err(SignError::TimeStamp)?;
        at = stamped.at;
        // Letters and digits of the moment and the number: unlike for another token, the same for the same.
        let day: String = at.chars().filter(char::is_ascii_digit).collect();
        let number: String =
            stamped.serial.chars().rev().take(12).collect::<Vec<_>>().into_iter().rev().collect();
        Ok((format!("{FOLDER}stamped-{day}-{number}.tsr"), token.to_vec()))
    })?;
    Ok((path, at))
}

/// Writes a pack with one file more in the folder of signatures; `make` is given the file that such files are about, and
/// gives the path in the bag and the bytes.
fn add_beside<R: Read + Seek, W: Write>(
    reader: R,
    limits: &Limits,
    out: W,
    make: impl FnOnce(&[u8], &[NamedKey]) -> Result<(String, Vec<u8>), SignError>,
) -> Result<String, SignError> {
    let mut zip = ZipStore::open(reader, limits).map_err(|troubles| {
        SignError::Pack(match troubles.into_iter().next() {
            Some(Trouble::Refused(problem)) => problem.what,
            Some(Trouble::CannotOpen(what)) => what,
            None => "not a zip".to_owned(),
        })
    })?;
    let root = find_root(&zip).map_err(|problem| SignError::Pack(problem.what))?;
    if root.prefix.is_empty() {
        return Err(SignError::Pack(
            "its files stand at the top and not in a folder of their own".to_owned(),
        ));
    }
    let position = |zip: &ZipStore<R>, path: &str| zip.entries().iter().position(|entry| entry.path == path);
    let signed = position(&zip, &format!("{}{SIGNED}", root.prefix))
        .ok_or_else(|| SignError::Pack(format!("it has no {SIGNED}")))?;
    let mut message = Vec::new();
    zip.open(signed)?.take(limits.tag_file_bytes).read_to_end(&mut message)?;
    let people = match position(&zip, &format!("{}{RECORD_PATH}", root.prefix)) {
        Some(at) => named_keys(zip.open(at)?),
        None => Vec::new(),
    };
    let (path, bytes) = make(&message, &people)?;
    let name = format!("{}{path}", root.prefix);
    if position(&zip, &name).is_some() {
        return Err(SignError::Again { path });
    }
    let mut order: Vec<(String, Option<usize>)> = zip
        .entries()
        .iter()
        .enumerate()
        .filter(|(_, entry)| entry.kind == EntryKind::File)
        .map(|(at, entry)| (entry.path.clone(), Some(at)))
        .collect();
    order.push((name, None));
    order.sort();
    let mut writer = ZipWriter::new(out);
    for (name, at) in order {
        match at {
            Some(at) => zip.copy_member(at, &mut writer)?,
            None => writer.add_bytes(&name, &bytes)?,
        }
    }
    writer.finish()?;
    Ok(path)
}
