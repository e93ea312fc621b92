//! What a time-stamp token says (RFC 3161 section 2.4.2), read from its reply or alone.

use super::check::StampRefusal;
use cms::cert::CertificateChoices;
use cms::content_info::ContentInfo;
use cms::signed_data::{SignedData, SignerInfo};
use der::asn1::{AnyRef, IntRef, ObjectIdentifier, OctetStringRef};
use der::{Decode, Encode as _, Reader, SliceReader, Tag, Tagged as _};
use x509_cert::Certificate;
use x509_cert::spki::AlgorithmIdentifierRef;

/// `id-signedData` (RFC 5652 section 5.1).
const SIGNED_DATA: &str = "1.2.840.113549.1.7.2";
/// `id-ct-TSTInfo`.
pub(super) const TST_INFO: &str = "1.2.840.113549.1.9.16.1.4";

/// A token taken apart; nothing of it is checked yet.
pub(super) struct Token {
    /// The bytes that were signed, by way of their digest.
    pub(super) info_bytes: Vec<u8>,
    pub(super) info: Info,
    pub(super) certificates: Vec<Certificate>,
    pub(super) signer: SignerInfo,
}

/// The part that the authority states.
pub(super) struct Info {
    /// The digest's kind.
    pub(super) imprint_hash: ObjectIdentifier,
    /// The digest of what was stamped.
    pub(super) imprint: Vec<u8>,
    /// The authority's number of the token, in hexadecimal.
    pub(super) serial: String,
    /// The moment, in seconds since 1970-01-01 UTC; a fraction is left away.
    pub(super) at: i64,
}

impl Token {
    /// Reads a reply (`.tsr`) or a token by itself.
    pub(super) fn read(bytes: &[u8]) -> Result<Self, StampRefusal> {
        let unreadable = |error: der::Error| StampRefusal::Unreadable(error.to_string());
        let bare = out_of_reply(bytes)?;
        let content = ContentInfo::from_der(bare).map_err(unreadable)?;
        if content.content_type.to_string() != SIGNED_DATA {
            return Err(StampRefusal::Unreadable("holds no signed data".to_owned()));
        }
        let data: SignedData = content.content.decode_as().map_err(unreadable)?;
        if data.encap_content_info.econtent_type.to_string() != TST_INFO {
            return Err(StampRefusal::Unreadable("what is signed in it is no time stamp".to_owned()));
        }
        let content = data
            .encap_content_info
            .econtent
            .as_ref()
            .ok_or_else(|| StampRefusal::Unreadable("what it signs is left out".to_owned()))?;
        let content: OctetStringRef<'_> = content.decode_as().map_err(unreadable)?;
        let info_bytes = content.as_bytes().to_vec();
        let info = info(&info_bytes)?;
        // "The time-stamp token MUST NOT contain any signatures other than the signature of the TSA."
        let mut signers = data.signer_infos.0.into_vec().into_iter();
        let (Some(signer), None) = (signers.next(), signers.next()) else {
            return Err(StampRefusal::Unreadable("it is not signed exactly once".to_owned()));
        };
        let certificates = data
            .certificates
            .map(|set| set.0.into_vec())
            .unwrap_or_default()
            .into_iter()
            .filter_map(|choice| match choice {
                CertificateChoices::Certificate(certificate) => Some(certificate),
                CertificateChoices::Other(_) => None,
            })
            .collect();
        Ok(Self { info_bytes, info, certificates, signer })
    }
}

/// The token in a reply `SEQUENCE { PKIStatusInfo, TimeStampToken OPTIONAL }`, or the bytes when they are no reply.
fn out_of_reply(bytes: &[u8]) -> Result<&[u8], StampRefusal> {
    let unreadable = |error: der::Error| StampRefusal::Unreadable(error.to_string());
    let outer = AnyRef::from_der(bytes).map_err(unreadable)?;
    outer.tag().assert_eq(Tag::Sequence).map_err(unreadable)?;
    let mut reader = SliceReader::new(outer.value()).map_err(unreadable)?;
    if reader.peek_tag().map_err(unreadable)? == Tag::ObjectIdentifier {
        return Ok(bytes);
    }
    let status = AnyRef::decode(&mut reader).map_err(unreadable)?;
    let status = status.sequence(|reader| {
        let status = u8::decode(reader)?;
        while !reader.is_finished() {
            AnyRef::decode(reader)?;
        }
        Ok(status)
    });
    // 0 granted, 1 granted with changes; all else is a refusal by the authority.
    match status.map_err(unreadable)? {
        0 | 1 => {}
        other => return Err(StampRefusal::NotGranted(other)),
    }
    if reader.is_finished() {
        return Err(StampRefusal::Unreadable("the reply holds no token".to_owned()));
    }
    let token = reader.tlv_bytes().map_err(unreadable)?;
    reader.finish(token).map_err(unreadable)
}

/// `TSTInfo`. What follows the time (accuracy, ordering, nonce, name, extensions) must be well formed and is not used.
fn info(bytes: &[u8]) -> Result<Info, StampRefusal> {
    let read = AnyRef::from_der(bytes).and_then(|outer| {
        outer.sequence(|reader| {
            let version = u8::decode(reader)?;
            let _policy = ObjectIdentifier::decode(reader)?;
            let (imprint_hash, imprint) = reader.sequence(|reader| {
                let hash = AlgorithmIdentifierRef::decode(reader)?.oid;
                Ok((hash, OctetStringRef::decode(reader)?.as_bytes().to_vec()))
            })?;
            let serial = IntRef::decode(reader)?;
            let serial: String = serial.as_bytes().iter().map(|byte| format!("{byte:02x}")).collect();
            let time = AnyRef::decode(reader)?;
            time.tag().assert_eq(Tag::GeneralizedTime)?;
            let time = time.value().to_vec();
            while !reader.is_finished() {
                AnyRef::decode(reader)?;
            }
            Ok((version, imprint_hash, imprint, serial, time))
        })
    });
    let (version, imprint_hash, imprint, serial, time) =
        read.map_err(|error| StampRefusal::Unreadable(error.to_string()))?;
    if version != 1 {
        return Err(StampRefusal::Unreadable(format!("a time stamp of version {version} is not known")));
    }
    let at = moment(&time).ok_or_else(|| StampRefusal::Unreadable("the time is not one".to_owned()))?;
    Ok(Info { imprint_hash, imprint, serial, at })
}

/// `YYYYMMDDhhmmss[.s...]Z`, the only form that RFC 3161 section 2.4.2 allows.
fn moment(text: &[u8]) -> Option<i64> {
    let text = std::str::from_utf8(text).ok()?.strip_suffix('Z')?;
    let (whole, fraction) = text.split_once('.').map_or((text, None), |(whole, rest)| (whole, Some(rest)));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.len() != 14 || !digits(whole) || fraction.is_some_and(|rest| !digits(rest)) {
        return None;
    }
    let small = |from: usize| whole.get(from..from + 2).and_then(|part| part.parse::<i8>().ok());
    let year = whole.get(..4)?.parse::<i16>().ok()?;
    let time =
        jiff::civil::DateTime::new(year, small(4)?, small(6)?, small(8)?, small(10)?, small(12)?, 0).ok()?;
    Some(jiff::tz::Offset::UTC.to_timestamp(time).ok()?.as_second())
}

/// The bytes that the signer signed: the attributes as a set in DER (RFC 5652 section 5.4).
pub(super) fn signed_attributes(signer: &SignerInfo) -> Option<Vec<u8>> {
    signer.signed_attrs.as_ref().and_then(|attributes| attributes.to_der().ok())
}

/// The one value of a signed attribute.
pub(super) fn attribute<'a>(signer: &'a SignerInfo, id: &str) -> Option<&'a der::Any> {
    let mut found = signer.signed_attrs.as_ref()?.iter().filter(|one| one.oid.to_string() == id);
    let (Some(attribute), None) = (found.next(), found.next()) else { return None };
    match attribute.values.as_slice() {
        [only] => Some(only),
        _ => None,
    }
}

/// The digest of the signer's certificate, which the signature covers: (kind, digest). None for the kind means SHA-1.
/// `ESSCertIDv2` of RFC 5035, else `ESSCertID` of RFC 2634.
pub(super) fn signing_certificate(signer: &SignerInfo) -> Option<(Option<ObjectIdentifier>, Vec<u8>)> {
    const VERSION_2: &str = "1.2.840.113549.1.9.16.2.47";
    const VERSION_1: &str = "1.2.840.113549.1.9.16.2.12";
    const SHA_256: ObjectIdentifier = ObjectIdentifier::new_unwrap("2.16.840.1.101.3.4.2.1");
    let first = |value: &der::Any, version_2: bool| {
        value
            .sequence(|reader| {
                let list = AnyRef::decode(reader)?;
                while !reader.is_finished() {
                    AnyRef::decode(reader)?;
                }
                list.sequence(|reader| {
                    let id = AnyRef::decode(reader)?;
                    while !reader.is_finished() {
                        AnyRef::decode(reader)?;
                    }
                    id.sequence(|reader| {
                        let hash = if version_2 && reader.peek_tag()? == Tag::Sequence {
                            AlgorithmIdentifierRef::decode(reader)?.oid
                        } else {
                            SHA_256
                        };
                        let digest = OctetStringRef::decode(reader)?.as_bytes().to_vec();
                        while !reader.is_finished() {
                            AnyRef::decode(reader)?;
                        }
                        Ok((hash, digest))
                    })
                })
            })
            .ok()
    };
    if let Some(value) = attribute(signer, VERSION_2) {
        return first(value, true).map(|(hash, digest)| (Some(hash), digest));
    }
    attribute(signer, VERSION_1).and_then(|value| first(value, false)).map(|(_, digest)| (None, digest))
}
