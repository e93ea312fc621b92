//! Checks signatures of certificates and tokens with the public keys of others.

use der::oid::ObjectIdentifier;
use der::{Decode as _, Encode as _};
use p256::ecdsa::signature::hazmat::PrehashVerifier as _;
use rsa::pkcs8::DecodePublicKey as _;
use rsa::{Pkcs1v15Sign, RsaPublicKey};
use sha2::{Digest as _, Sha256, Sha384, Sha512};
use x509_cert::spki::{AlgorithmIdentifierOwned, SubjectPublicKeyInfoOwned};

/// A digest that is taken for sound. SHA-1 is not among them: two texts with one digest can be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Hash {
    Sha256,
    Sha384,
    Sha512,
}

impl Hash {
    /// By its object identifier (RFC 5754 section 2).
    pub(super) fn of(id: ObjectIdentifier) -> Option<Self> {
        match id.to_string().as_str() {
            "2.16.840.1.101.3.4.2.1" => Some(Self::Sha256),
            "2.16.840.1.101.3.4.2.2" => Some(Self::Sha384),
            "2.16.840.1.101.3.4.2.3" => Some(Self::Sha512),
            _ => None,
        }
    }

    pub(super) fn digest(self, bytes: &[u8]) -> Vec<u8> {
        match self {
            Self::Sha256 => Sha256::digest(bytes).to_vec(),
            Self::Sha384 => Sha384::digest(bytes).to_vec(),
            Self::Sha512 => Sha512::digest(bytes).to_vec(),
        }
    }
}

/// Why a signature by a certificate's key was not accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NotSigned {
    /// It does not fit.
    Broken,
    /// It may fit; this program does not know the method, named by its object identifier.
    Unknown(String),
}

/// How something was signed.
enum Method {
    Rsa(Hash),
    Ecdsa(Hash),
}

impl Method {
    /// By object identifier (RFC 8017 appendix C, RFC 5758 section 3.2). `digest` stands beside the methods that don't
    /// name one themselves.
    fn of(algorithm: &AlgorithmIdentifierOwned, digest: Option<Hash>) -> Result<Self, NotSigned> {
        let id = algorithm.oid.to_string();
        let known = match id.as_str() {
            "1.2.840.113549.1.1.1" => digest.map(Self::Rsa),
            "1.2.840.113549.1.1.11" => Some(Self::Rsa(Hash::Sha256)),
            "1.2.840.113549.1.1.12" => Some(Self::Rsa(Hash::Sha384)),
            "1.2.840.113549.1.1.13" => Some(Self::Rsa(Hash::Sha512)),
            "1.2.840.10045.4.3.2" => Some(Self::Ecdsa(Hash::Sha256)),
            "1.2.840.10045.4.3.3" => Some(Self::Ecdsa(Hash::Sha384)),
            "1.2.840.10045.4.3.4" => Some(Self::Ecdsa(Hash::Sha512)),
            _ => None,
        };
        known.ok_or(NotSigned::Unknown(id))
    }
}

/// Checks a signature over a message.
pub(super) fn signed_by(
    key: &SubjectPublicKeyInfoOwned,
    algorithm: &AlgorithmIdentifierOwned,
    digest: Option<Hash>,
    message: &[u8],
    signature: &[u8],
) -> Result<(), NotSigned> {
    match Method::of(algorithm, digest)? {
        Method::Rsa(hash) => rsa(key, hash, &hash.digest(message), signature),
        Method::Ecdsa(hash) => ecdsa(key, &hash.digest(message), signature),
    }
}

fn rsa(
    key: &SubjectPublicKeyInfoOwned,
    hash: Hash,
    digest: &[u8],
    signature: &[u8],
) -> Result<(), NotSigned> {
    let der = key.to_der().map_err(|_| NotSigned::Broken)?;
    // Also refuses keys of more than 4096 bits, whose checking takes long.
    let key = RsaPublicKey::from_public_key_der(&der)
        .map_err(|_| NotSigned::Unknown(format!("a key of the kind {}", key.algorithm.oid)))?;
    let padding = match hash {
        Hash::Sha256 => Pkcs1v15Sign::new::<rsa::sha2::Sha256>(),
        Hash::Sha384 => Pkcs1v15Sign::new::<rsa::sha2::Sha384>(),
        Hash::Sha512 => Pkcs1v15Sign::new::<rsa::sha2::Sha512>(),
    };
    key.verify(padding, digest, signature).map_err(|_| NotSigned::Broken)
}

fn ecdsa(key: &SubjectPublicKeyInfoOwned, digest: &[u8], signature: &[u8]) -> Result<(), NotSigned> {
    let named = key.algorithm.parameters.as_ref().and_then(|any| any.decode_as::<ObjectIdentifier>().ok());
    let curve = named.map(|id| id.to_string()).unwrap_or_default();
    let point = key.subject_public_key.raw_bytes();
    let fits = match curve.as_str() {
        // RFC 5480 section 2.1.1.1.
        "1.2.840.10045.3.1.7" => {
            let key = p256::ecdsa::VerifyingKey::from_sec1_bytes(point).map_err(|_| NotSigned::Broken)?;
            let signature = p256::ecdsa::DerSignature::from_der(signature).map_err(|_| NotSigned::Broken)?;
            key.verify_prehash(digest, &signature)
        }
        "1.3.132.0.34" => {
            let key = p384::ecdsa::VerifyingKey::from_sec1_bytes(point).map_err(|_| NotSigned::Broken)?;
            let signature = p384::ecdsa::DerSignature::from_der(signature).map_err(|_| NotSigned::Broken)?;
            key.verify_prehash(digest, &signature)
        }
        _ => return Err(NotSigned::Unknown(format!("a key on the curve {curve}"))),
    };
    fits.map_err(|_| NotSigned::Broken)
}
