//! The checksum algorithms of BagIt: SHA-256 and SHA-512 for what we write, and the older ones to read old bags.

use sha2::Digest as _;

/// A checksum algorithm under its BagIt name (RFC 8493 section 2.4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Algorithm {
    Md5,
    Sha1,
    Sha224,
    Sha256,
    Sha384,
    Sha512,
}

impl Algorithm {
    /// From the normalised name in a manifest's file name.
    pub(crate) fn from_name(name: &str) -> Option<Self> {
        Some(match name {
            "md5" => Self::Md5,
            "sha1" => Self::Sha1,
            "sha224" => Self::Sha224,
            "sha256" => Self::Sha256,
            "sha384" => Self::Sha384,
            "sha512" => Self::Sha512,
            _ => return None,
        })
    }

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Md5 => "md5",
            Self::Sha1 => "sha1",
            Self::Sha224 => "sha224",
            Self::Sha256 => "sha256",
            Self::Sha384 => "sha384",
            Self::Sha512 => "sha512",
        }
    }

    /// Length of a digest in bytes.
    pub(crate) fn length(self) -> usize {
        match self {
            Self::Md5 => 16,
            Self::Sha1 => 20,
            Self::Sha224 => 28,
            Self::Sha256 => 32,
            Self::Sha384 => 48,
            Self::Sha512 => 64,
        }
    }

    /// Collisions can be made on purpose: such a checksum finds accidents, not forgeries.
    pub(crate) fn is_weak(self) -> bool {
        matches!(self, Self::Md5 | Self::Sha1)
    }
}

enum Running {
    Md5(md5::Md5),
    Sha1(sha1::Sha1),
    Sha224(sha2::Sha224),
    Sha256(sha2::Sha256),
    Sha384(sha2::Sha384),
    Sha512(sha2::Sha512),
}

/// Several digests of the same bytes, computed in one pass.
pub(crate) struct Digests(Vec<(Algorithm, Running)>);

impl Digests {
    pub(crate) fn new(algorithms: impl IntoIterator<Item = Algorithm>) -> Self {
        Self(
            algorithms
                .into_iter()
                .map(|algorithm| {
                    let running = match algorithm {
                        Algorithm::Md5 => Running::Md5(md5::Md5::new()),
                        Algorithm::Sha1 => Running::Sha1(sha1::Sha1::new()),
                        Algorithm::Sha224 => Running::Sha224(sha2::Sha224::new()),
                        Algorithm::Sha256 => Running::Sha256(sha2::Sha256::new()),
                        Algorithm::Sha384 => Running::Sha384(sha2::Sha384::new()),
                        Algorithm::Sha512 => Running::Sha512(sha2::Sha512::new()),
                    };
                    (algorithm, running)
                })
                .collect(),
        )
    }

    pub(crate) fn update(&mut self, bytes: &[u8]) {
        for (_, running) in &mut self.0 {
            match running {
                Running::Md5(state) => state.update(bytes),
                Running::Sha1(state) => state.update(bytes),
                Running::Sha224(state) => state.update(bytes),
                Running::Sha256(state) => state.update(bytes),
                Running::Sha384(state) => state.update(bytes),
                Running::Sha512(state) => state.update(bytes),
            }
        }
    }

    /// The digests as lower-case hexadecimal text, in the order asked for.
    pub(crate) fn finish(self) -> Vec<(Algorithm, String)> {
        self.0
            .into_iter()
            .map(|(algorithm, running)| {
                let text = match running {
                    Running::Md5(state) => hex(&state.finalize()),
                    Running::Sha1(state) => hex(&state.finalize()),
                    Running::Sha224(state) => hex(&state.finalize()),
                    Running::Sha256(state) => hex(&state.finalize()),
                    Running::Sha384(state) => hex(&state.finalize()),
                    Running::Sha512(state) => hex(&state.finalize()),
                };
                (algorithm, text)
            })
            .collect()
    }
}

/// Lower-case hexadecimal text.
pub(crate) fn hex(bytes: &[u8]) -> String {
    const DIGITS: [char; 16] =
        ['0', '1', '2', '3', '4', '5', '6', '7', '8', '9', 'a', 'b', 'c', 'd', 'e', 'f'];
    bytes
        .iter()
        .flat_map(|byte| [byte >> 4, byte & 15])
        .map(|nibble| DIGITS.get(usize::from(nibble)).copied().unwrap_or('?'))
        .collect()
}

/// SHA-256 of bytes in memory, as text.
pub(crate) fn sha256_hex(bytes: &[u8]) -> String {
    hex(&sha2::Sha256::digest(bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The digests of "abc", from RFC 1321 (MD5), RFC 3174 (SHA-1), RFC 3874 (SHA-224) and RFC 6234 (SHA-256, -384, -512).
    #[test]
    fn abc_has_the_published_digests() {
        use Algorithm::*;
        let all = [Md5, Sha1, Sha224, Sha256, Sha384, Sha512];
        let mut digests = Digests::new(all);
        digests.update(b"a");
        digests.update(b"bc");
        let expected = [
            "900150983cd24fb0d6963f7d28e17f72",
            "a9993e364706816aba3e25717850c26c9cd0d89d",
            "23097d223405d8228642a477bda255b32aadbce4bda0b3f7e36c9da7",
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
            "cb00753f45a35e8bb5a03d699ac65007272c32ab0eded1631a8b605a43ff5bed8086072ba1e7cc2358baeca134c825a7",
            "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        ];
        for ((algorithm, found), expected) in digests.finish().into_iter().zip(expected) {
            assert_eq!(found, expected);
            assert_eq!(found.len(), 2 * algorithm.length());
            assert_eq!(Algorithm::from_name(algorithm.name()), Some(algorithm));
        }
    }
}
