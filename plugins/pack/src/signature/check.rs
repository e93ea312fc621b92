//! Judges signatures against a list of allowed signers.

use super::named::{AsNamed, NamedKey, as_named, named_keys};
use super::signers::{Signers, fits};
use super::{FOLDER, SIGNED, SignedAs, is_signature};
use crate::bag_check::Bag;
use crate::bag_write::RECORD_PATH;
use crate::names::shown;
use crate::report::{Findings, Kind, Ledger, Problem};
use crate::request::Request;
use ssh_key::{HashAlg, PublicKey, SshSig};
use std::fmt;

/// A signature that holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Good {
    /// Who the key belongs to, as the list says.
    pub signer: String,
    /// The key's fingerprint (`SHA256:...`).
    pub fingerprint: String,
}

/// Why a signature is not accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// It is no signature, or damaged beyond reading.
    Unreadable(String),
    /// It was made for another purpose.
    OtherNamespace(String),
    /// It does not fit what it should sign: one of the two was changed.
    Broken,
    /// It is good for its key, and nobody says whose key that is.
    UnknownKey(String),
    /// The key is listed, and not for this purpose.
    NotForThis(String),
    /// The key was not valid yet, or no longer.
    NotValidThen(String),
    /// The key is listed for somebody else.
    OtherIdentity(String),
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(why) => write!(f, "can't be read as a signature: {why}"),
            Self::OtherNamespace(found) => {
                write!(f, "was made for another purpose (namespace `{}`)", shown(found))
            }
            Self::Broken => f.write_str("does not fit: the signature or what it signs was changed"),
            Self::UnknownKey(key) => write!(f, "is by the key {key}, which is not in the list of signers"),
            Self::NotForThis(who) => write!(f, "is by {who}, whose key is not listed for this purpose"),
            Self::NotValidThen(who) => {
                write!(f, "is by {who}, whose key is not valid at the time it was checked for")
            }
            Self::OtherIdentity(who) => write!(f, "is by {who}, not by the person asked for"),
        }
    }
}

/// Checks one signature over a message. `identity` asks for one person; `at` is the moment for which keys must be
/// valid, in seconds since 1970-01-01 UTC.
///
/// # Errors
/// Why it is not accepted.
pub fn check_signature(
    pem: &[u8],
    message: &[u8],
    namespace: &str,
    identity: Option<&str>,
    signers: &Signers,
    at: i64,
) -> Result<Good, Refusal> {
    let (key, fingerprint) = holds(pem, message, namespace)?;
    let mut nearest = Refusal::UnknownKey(fingerprint.clone());
    for signer in signers.list.iter().filter(|signer| signer.key.key_data() == key.key_data()) {
        let who = format!("{} (line {})", shown(&signer.principals), signer.line);
        if identity.is_some_and(|identity| !fits(&signer.principals, identity)) {
            nearest = Refusal::OtherIdentity(who);
        } else if signer.namespaces.as_ref().is_some_and(|list| !fits(list, namespace)) {
            nearest = Refusal::NotForThis(who);
        } else if signer.after.is_some_and(|after| at < after)
            || signer.before.is_some_and(|before| at > before)
        {
            nearest = Refusal::NotValidThen(who);
        } else {
            return Ok(Good { signer: shown(&signer.principals), fingerprint });
        }
    }
    Err(nearest)
}

/// Whether a signature is good for the key that it carries; that says nothing about whose key it is.
pub(super) fn holds(pem: &[u8], message: &[u8], namespace: &str) -> Result<(PublicKey, String), Refusal> {
    let signature = SshSig::from_pem(pem).map_err(|error| Refusal::Unreadable(error.to_string()))?;
    if signature.namespace() != namespace {
        return Err(Refusal::OtherNamespace(signature.namespace().to_owned()));
    }
    let key = PublicKey::new(signature.public_key().clone(), "");
    key.verify(namespace, message, &signature).map_err(|_| Refusal::Broken)?;
    let fingerprint = key.fingerprint(HashAlg::Sha256).to_string();
    Ok((key, fingerprint))
}

/// Notes keys that the record names, and so the paper prints, with which nobody has signed.
fn missing(people: &[NamedKey], by: &[SignedAs], findings: &mut Findings) {
    for person in people.iter().filter(|person| !by.contains(&person.role)) {
        if let Some(key) = &person.key {
            let (role, name) = (person.role.id(), shown(&person.name));
            let what =
                format!("the record names the key {key} for {name}, who has not signed as {role} here");
            findings.note(Problem::new(FOLDER, what));
        }
    }
}

/// Checks the signatures of a pack.
pub(crate) fn check_signatures(bag: &mut Bag<'_>, request: &Request, ledger: &mut Ledger) {
    let mut findings = Findings::default();
    let limit = request.limits.tag_file_bytes;
    let people = bag.files.open(RECORD_PATH).map(named_keys).unwrap_or_default();
    let paths: Vec<String> = bag.files.tags().filter(|path| is_signature(path)).map(str::to_owned).collect();
    if paths.is_empty() {
        if request.signers.is_some() || !request.signed_as.is_empty() {
            findings
                .fail(Problem::new(FOLDER, "the pack is not signed").help("ask its sender for a signed one"));
        }
        missing(&people, &[], &mut findings);
        let reason = "the pack is not signed: it proves integrity, not who made it";
        return ledger.not_done(Kind::Signature, findings, reason);
    }
    let message = match bag.files.read(SIGNED, limit) {
        Ok(message) => message,
        Err(problem) => {
            findings.fail(problem);
            ledger.done(Kind::Signature, findings, "");
            return;
        }
    };
    let mut good = Vec::new();
    let mut roles = Vec::new();
    let mut by = Vec::new();
    let mut unknown = Vec::new();
    for path in &paths {
        let pem = match bag.files.read(path, limit) {
            Ok(pem) => pem,
            Err(problem) => {
                findings.fail(problem);
                continue;
            }
        };
        let Some(role) = SshSig::from_pem(&pem).ok().and_then(|sig| SignedAs::of(sig.namespace())) else {
            let refusal = match SshSig::from_pem(&pem) {
                Ok(signature) => Refusal::OtherNamespace(signature.namespace().to_owned()),
                Err(error) => Refusal::Unreadable(error.to_string()),
            };
            findings.fail(Problem::new(path, refusal.to_string()));
            continue;
        };
        let judged = match &request.signers {
            Some(signers) => check_signature(&pem, &message, role.namespace(), None, signers, request.at),
            None => holds(&pem, &message, role.namespace())
                .and_then(|(_, fingerprint)| Err(Refusal::UnknownKey(fingerprint))),
        };
        if let Ok(Good { fingerprint, .. }) | Err(Refusal::UnknownKey(fingerprint)) = &judged {
            by.push(role);
            match as_named(&people, role, fingerprint) {
                AsNamed::Yes(name) => {
                    let what = format!("{}: the key that the record names for {}", role.id(), shown(&name));
                    findings.note(Problem::new(path, what));
                }
                AsNamed::No(others) => findings.fail(Problem::new(
                    path,
                    format!(
                        "is by the key {fingerprint}, and the record names another one to sign as {}: {others}",
                        role.id()
                    ),
                )),
                AsNamed::Open => {}
            }
        }
        match judged {
            Ok(Good { signer, fingerprint }) => {
                good.push(format!("{} by {signer}, key {fingerprint}", role.id()));
                roles.push(role);
            }
            Err(Refusal::UnknownKey(key)) => unknown.push((path, role, key)),
            Err(refusal) => findings.fail(Problem::new(path, refusal.to_string())),
        }
    }
    for (path, role, key) in &unknown {
        let what = format!("{}: good for the key {key}, and nothing here says whose key that is", role.id());
        findings.note(Problem::new(path, what));
    }
    missing(&people, &by, &mut findings);
    for role in request.signed_as.iter().filter(|role| !roles.contains(role)) {
        let what = format!("there is no signature `{}` by a signer of the list", role.id());
        findings.fail(Problem::new(FOLDER, what));
    }
    if request.signers.is_none() {
        let reason = format!(
            "{} signatures, each fits; whose keys they are is not known: give the list of signers that the laboratory \
             published elsewhere",
            paths.len()
        );
        return ledger.not_done(Kind::Signature, findings, reason);
    }
    if good.is_empty() && findings.is_clean() {
        findings.fail(Problem::new(FOLDER, "no signature is by a signer of the list"));
    }
    ledger.done(Kind::Signature, findings, good.join("; "));
}
