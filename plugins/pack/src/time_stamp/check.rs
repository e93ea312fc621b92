//! Judges time stamps: whether a token fits what it stamps, and whether a trusted authority made it.

use super::authority::{Authorities, NotTrusted, for_time_stamps, leads_to};
use super::public_key::{Hash, NotSigned, signed_by};
use super::token::{TST_INFO, Token, attribute, signed_attributes, signing_certificate};
use super::{ENDING, is_time_stamp};
use crate::bag_check::Bag;
use crate::names::shown;
use crate::report::{Findings, Kind, Ledger, Problem};
use crate::request::Request;
use crate::signature::{FOLDER, SIGNED};
use cms::signed_data::SignerIdentifier;
use der::Encode as _;
use der::asn1::{ObjectIdentifier, OctetStringRef};
use sha1::{Digest as _, Sha1};
use std::fmt;
use x509_cert::Certificate;
use x509_cert::ext::pkix::SubjectKeyIdentifier;

/// What a token says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamped {
    /// The moment that the authority states, `YYYY-MM-DDThh:mm:ssZ`.
    pub at: String,
    /// Number of the token, in hexadecimal.
    pub serial: String,
    /// Name in the authority's certificate; none while the authority was not looked at.
    pub authority: Option<String>,
}

/// Why a time stamp is not accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StampRefusal {
    /// It is no time stamp, or damaged beyond reading.
    Unreadable(String),
    /// The authority refused; the status of its reply.
    NotGranted(u8),
    /// It is for something else, or that was changed.
    OtherContent,
    /// It rests on a digest that is not taken for sound.
    WeakDigest(String),
    /// Its signature does not fit.
    Broken,
    /// Neither it nor the certificates given hold the certificate of who signed it.
    SignerNotThere,
    /// The certificate of who signed it is not one for time stamps only (RFC 3161 section 2.3).
    NotForTimeStamps(String),
    /// No certificate given leads to who signed it.
    Untrusted(String),
    /// A certificate was not valid at the moment that the token states.
    NotValidThen(String),
    /// It may be good; this program does not know a part of it.
    Unknown(String),
}

impl fmt::Display for StampRefusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(why) => write!(f, "can't be read as a time stamp: {why}"),
            Self::NotGranted(status) => write!(f, "is a refusal by the authority (status {status})"),
            Self::OtherContent => f.write_str("was made for something else, or what it stamps was changed"),
            Self::WeakDigest(id) => write!(f, "rests on a digest that is not taken for sound ({id})"),
            Self::Broken => f.write_str("does not fit: the time stamp was changed"),
            Self::SignerNotThere => f.write_str("does not hold the certificate of who made it"),
            Self::NotForTimeStamps(who) => write!(f, "is by {who}, whose certificate is not for time stamps"),
            Self::Untrusted(who) => write!(f, "is by {who}, whom no certificate given stands for"),
            Self::NotValidThen(who) => {
                write!(f, "states a time at which the certificate of {who} was not valid")
            }
            Self::Unknown(what) => write!(f, "can't be checked: {what} is not known to this build"),
        }
    }
}

/// Checks that a token is for this message, without asking who made it.
///
/// # Errors
/// Why it is not.
pub fn look_at_time_stamp(token: &[u8], message: &[u8]) -> Result<Stamped, StampRefusal> {
    stated(&Token::read(token)?, message)
}

/// Checks a token over a message against authorities that are trusted. Certificates are judged for the moment that the
/// token states; whether one was revoked is not known.
///
/// # Errors
/// Why it is not accepted.
pub fn check_time_stamp(
    token: &[u8],
    message: &[u8],
    authorities: &Authorities,
) -> Result<Stamped, StampRefusal> {
    let token = Token::read(token)?;
    let mut stamped = stated(&token, message)?;
    let signer = signer(&token, authorities)?;
    let name = shown(&signer.tbs_certificate.subject.to_string());
    signature_fits(&token, signer)?;
    if !for_time_stamps(signer) {
        return Err(StampRefusal::NotForTimeStamps(name));
    }
    leads_to(signer, &token.certificates, authorities, token.info.at).map_err(|reason| match reason {
        NotTrusted::Stranger => StampRefusal::Untrusted(name.clone()),
        NotTrusted::NotThen(who) => StampRefusal::NotValidThen(who),
        NotTrusted::Unknown(what) => StampRefusal::Unknown(what),
    })?;
    stamped.authority = Some(name);
    Ok(stamped)
}

fn stated(token: &Token, message: &[u8]) -> Result<Stamped, StampRefusal> {
    let hash = sound(token.info.imprint_hash)?;
    if hash.digest(message) != token.info.imprint {
        return Err(StampRefusal::OtherContent);
    }
    let at = jiff::Timestamp::from_second(token.info.at)
        .map_err(|_| StampRefusal::Unreadable("the time is not one".to_owned()))?;
    Ok(Stamped { at: at.to_string(), serial: token.info.serial.clone(), authority: None })
}

fn sound(id: ObjectIdentifier) -> Result<Hash, StampRefusal> {
    Hash::of(id).ok_or_else(|| StampRefusal::WeakDigest(id.to_string()))
}

/// The certificate of who signed, in the token or among those given.
fn signer<'a>(token: &'a Token, authorities: &'a Authorities) -> Result<&'a Certificate, StampRefusal> {
    let is_named = |certificate: &&Certificate| match &token.signer.sid {
        SignerIdentifier::IssuerAndSerialNumber(named) => {
            certificate.tbs_certificate.issuer == named.issuer
                && certificate.tbs_certificate.serial_number == named.serial_number
        }
        SignerIdentifier::SubjectKeyIdentifier(named) => {
            let own = certificate.tbs_certificate.get::<SubjectKeyIdentifier>();
            matches!(own, Ok(Some((_, own))) if own == *named)
        }
    };
    let all = token.certificates.iter().chain(&authorities.list);
    // Several may bear the name; the signature covers the digest of the one that is meant.
    let named: Vec<&Certificate> = all.filter(is_named).collect();
    let meant = named.iter().find(|certificate| certificate_is_meant(token, certificate));
    meant.copied().ok_or(if named.is_empty() { StampRefusal::SignerNotThere } else { StampRefusal::Broken })
}

fn certificate_is_meant(token: &Token, certificate: &Certificate) -> bool {
    let (Some((hash, digest)), Ok(der)) = (signing_certificate(&token.signer), certificate.to_der()) else {
        return false;
    };
    match hash {
        Some(id) => Hash::of(id).is_some_and(|hash| hash.digest(&der) == digest),
        // The older form knows only SHA-1. It picks among certificates; trust does not rest on it.
        None => Sha1::digest(&der).as_slice() == digest,
    }
}

/// The signature covers the attributes, and these the content (RFC 5652 section 5.4).
fn signature_fits(token: &Token, signer: &Certificate) -> Result<(), StampRefusal> {
    const CONTENT_TYPE: &str = "1.2.840.113549.1.9.3";
    const MESSAGE_DIGEST: &str = "1.2.840.113549.1.9.4";
    let hash = sound(token.signer.digest_alg.oid)?;
    let stated_type = attribute(&token.signer, CONTENT_TYPE)
        .and_then(|any| any.decode_as::<ObjectIdentifier>().ok().map(|id| id.to_string()));
    let stated_digest = attribute(&token.signer, MESSAGE_DIGEST)
        .and_then(|any| any.decode_as::<OctetStringRef<'_>>().ok())
        .map(|digest| digest.as_bytes().to_vec());
    if stated_type.as_deref() != Some(TST_INFO) || stated_digest != Some(hash.digest(&token.info_bytes)) {
        return Err(StampRefusal::Broken);
    }
    let message = signed_attributes(&token.signer).ok_or(StampRefusal::Broken)?;
    signed_by(
        &signer.tbs_certificate.subject_public_key_info,
        &token.signer.signature_algorithm,
        Some(hash),
        &message,
        token.signer.signature.as_bytes(),
    )
    .map_err(|reason| match reason {
        NotSigned::Broken => StampRefusal::Broken,
        NotSigned::Unknown(what) => StampRefusal::Unknown(what),
    })
}

/// Checks the time stamps in a pack and those given beside it.
pub(crate) fn check_time_stamps(bag: &mut Bag<'_>, request: &Request, ledger: &mut Ledger) {
    let mut findings = Findings::default();
    let limit = request.limits.tag_file_bytes;
    let paths: Vec<String> = bag.files.tags().filter(|path| is_time_stamp(path)).map(str::to_owned).collect();
    let mut tokens = request.time_stamps.clone();
    for path in paths {
        match bag.files.read(&path, limit) {
            Ok(bytes) => tokens.push((path, bytes)),
            Err(problem) => findings.fail(problem),
        }
    }
    if tokens.is_empty() {
        if request.authorities.is_some() {
            findings.fail(
                Problem::new(&format!("{FOLDER}*{ENDING}"), "no time stamp is in the pack or was given")
                    .help("give one that lies beside the pack with --time-stamp"),
            );
        }
        return ledger.not_done(Kind::TimeStamp, findings, "there is none");
    }
    let message = match bag.files.read(SIGNED, limit) {
        Ok(message) => message,
        Err(problem) => {
            findings.fail(problem);
            ledger.done(Kind::TimeStamp, findings, "");
            return;
        }
    };
    let mut good = Vec::new();
    for (place, token) in &tokens {
        let judged = match &request.authorities {
            Some(authorities) => check_time_stamp(token, &message, authorities),
            None => look_at_time_stamp(token, &message),
        };
        match judged {
            Ok(stamped) => good.push(stamped),
            Err(refusal) => findings.fail(Problem::new(place, refusal.to_string())),
        }
    }
    let listed = |stamped: &Stamped| {
        let who = stamped.authority.as_ref().map(|who| format!(" by {who}")).unwrap_or_default();
        format!("{}{who}, number {}", stamped.at, stamped.serial)
    };
    let list = good.iter().map(listed).collect::<Vec<_>>().join("; ");
    if request.authorities.is_none() {
        let reason = format!(
            "stated for this pack: {list}; who states it was not checked: give the authority's certificate, from another \
             place than the pack, with --tsa-cert"
        );
        return ledger.not_done(Kind::TimeStamp, findings, reason);
    }
    ledger.done(
        Kind::TimeStamp,
        findings,
        format!("{list}; whether a certificate was revoked later is not known"),
    );
}
