//! The certificates that a reader trusts for time stamps, and whether another leads to one of them.

use super::public_key::{NotSigned, signed_by};
use crate::names::shown;
use der::Encode as _;
use x509_cert::Certificate;
use x509_cert::ext::pkix::{BasicConstraints, ExtendedKeyUsage, KeyUsage};

/// Certificates in one chain, at most. Chains of authorities have three or four.
const LONGEST: usize = 8;
/// Certificates looked at for one chain: what a hostile token can make us do.
const MOST_TRIED: usize = 64;

/// `id-kp-timeStamping` (RFC 3161 section 2.3).
const FOR_TIME_STAMPS: &str = "1.3.6.1.5.5.7.3.8";
/// Extensions whose meaning is looked at below, or that only narrow what the authority promises: basic constraints, key
/// usage, extended key usage, certificate policies.
const UNDERSTOOD: [&str; 4] = ["2.5.29.19", "2.5.29.15", "2.5.29.37", "2.5.29.32"];

/// Certificates that are trusted for being given: each may be an authority's own or that of one above it.
#[derive(Clone, Debug, Default)]
pub struct Authorities {
    pub(super) list: Vec<Certificate>,
}

impl Authorities {
    /// Reads certificates: PEM with any number of them, or DER with one.
    ///
    /// # Errors
    /// In words, why none can be used.
    pub fn parse(bytes: &[u8]) -> Result<Self, String> {
        let text =
            std::str::from_utf8(bytes).ok().filter(|text| text.contains("-----BEGIN CERTIFICATE-----"));
        let list = match text {
            Some(text) => from_pem(text)?,
            None => vec![
                <Certificate as der::Decode>::from_der(bytes)
                    .map_err(|error| format!("holds no certificate (PEM or DER): {error}"))?,
            ],
        };
        Ok(Self { list })
    }
}

/// Other text may stand between certificates, as the tools write it.
fn from_pem(text: &str) -> Result<Vec<Certificate>, String> {
    const END: &str = "-----END CERTIFICATE-----";
    let mut list = Vec::new();
    for part in text.split("-----BEGIN CERTIFICATE-----").skip(1) {
        let number = list.len() + 1;
        let body = part.split_once(END).ok_or_else(|| format!("certificate {number} has no end"))?.0;
        let pem = format!("-----BEGIN CERTIFICATE-----\n{}\n{END}\n", body.trim().replace('\r', ""));
        let certificate = <Certificate as der::DecodePem>::from_pem(pem.as_bytes())
            .map_err(|error| format!("certificate {number} can't be read: {error}"))?;
        list.push(certificate);
    }
    Ok(list)
}

/// Why a certificate is not accepted for a time stamp.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NotTrusted {
    /// No certificate given leads to it.
    Stranger,
    /// It or one above it was not valid at the moment in question.
    NotThen(String),
    /// Signed by a method, or bound by a condition, that this program does not know.
    Unknown(String),
}

/// Whether a certificate is made for time stamps and nothing else (RFC 3161 section 2.3).
pub(super) fn for_time_stamps(certificate: &Certificate) -> bool {
    match certificate.tbs_certificate.get::<ExtendedKeyUsage>() {
        Ok(Some((true, usage))) => {
            matches!(usage.0.as_slice(), [only] if only.to_string() == FOR_TIME_STAMPS)
        }
        _ => false,
    }
}

/// Whether a certificate leads to one of those given, each valid at the moment `at` (seconds since 1970).
pub(super) fn leads_to(
    leaf: &Certificate,
    beside: &[Certificate],
    authorities: &Authorities,
    at: i64,
) -> Result<(), NotTrusted> {
    let mut search = Search { beside, authorities, at, tried: 0, nearest: NotTrusted::Stranger };
    if search.up(leaf, 0) { Ok(()) } else { Err(search.nearest) }
}

struct Search<'a> {
    beside: &'a [Certificate],
    authorities: &'a Authorities,
    at: i64,
    tried: usize,
    /// The most telling reason met.
    nearest: NotTrusted,
}

impl Search<'_> {
    fn up(&mut self, certificate: &Certificate, depth: usize) -> bool {
        if let Err(reason) = sound_then(certificate, self.at) {
            self.nearest = reason;
            return false;
        }
        if self.authorities.list.contains(certificate) {
            return true;
        }
        if depth >= LONGEST {
            return false;
        }
        let issuer = &certificate.tbs_certificate.issuer;
        let (beside, authorities) = (self.beside, self.authorities);
        for above in authorities.list.iter().chain(beside) {
            if above.tbs_certificate.subject != *issuer || above == certificate || !may_issue(above, depth) {
                continue;
            }
            self.tried += 1;
            if self.tried > MOST_TRIED {
                return false;
            }
            match issued(above, certificate) {
                Ok(()) if self.up(above, depth + 1) => return true,
                Ok(()) | Err(NotSigned::Broken) => {}
                Err(NotSigned::Unknown(method)) => self.nearest = NotTrusted::Unknown(method),
            }
        }
        false
    }
}

/// Whether a certificate was valid then, and holds no condition that we can't judge.
fn sound_then(certificate: &Certificate, at: i64) -> Result<(), NotTrusted> {
    let validity = &certificate.tbs_certificate.validity;
    let from = i64::try_from(validity.not_before.to_unix_duration().as_secs()).unwrap_or(i64::MAX);
    let to = i64::try_from(validity.not_after.to_unix_duration().as_secs()).unwrap_or(i64::MAX);
    let name = shown(&certificate.tbs_certificate.subject.to_string());
    if at < from || at > to {
        return Err(NotTrusted::NotThen(name));
    }
    for extension in certificate.tbs_certificate.extensions.iter().flatten() {
        let id = extension.extn_id.to_string();
        if extension.critical && !UNDERSTOOD.contains(&id.as_str()) {
            return Err(NotTrusted::Unknown(format!("the condition {id} in the certificate of {name}")));
        }
    }
    Ok(())
}

/// Whether a certificate may issue others, with `below` authorities between it and the end (RFC 5280 4.2.1.9, 4.2.1.3).
fn may_issue(certificate: &Certificate, below: usize) -> bool {
    let tbs = &certificate.tbs_certificate;
    let Ok(Some((_, basic))) = tbs.get::<BasicConstraints>() else { return false };
    let signs = match tbs.get::<KeyUsage>() {
        Ok(Some((_, usage))) => usage.key_cert_sign(),
        Ok(None) => true,
        Err(_) => false,
    };
    basic.ca && signs && basic.path_len_constraint.is_none_or(|most| below <= usize::from(most))
}

/// Whether one certificate was signed with the key of another.
fn issued(above: &Certificate, certificate: &Certificate) -> Result<(), NotSigned> {
    if certificate.signature_algorithm != certificate.tbs_certificate.signature {
        return Err(NotSigned::Broken);
    }
    let message = certificate.tbs_certificate.to_der().map_err(|_| NotSigned::Broken)?;
    let signature = certificate.signature.as_bytes().ok_or(NotSigned::Broken)?;
    signed_by(
        &above.tbs_certificate.subject_public_key_info,
        &certificate.signature_algorithm,
        None,
        &message,
        signature,
    )
}
