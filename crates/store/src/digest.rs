//! SHA-256 digests.

use std::fmt;
use std::str::FromStr;

use sha2::{Digest as _, Sha256};

/// A SHA-256 digest (FIPS 180-4), written as 64 hexadecimal digits.
///
/// # Examples
/// ```
/// use evenfare_store::digest::Digest;
/// // FIPS 180-4, the example of one block: "abc".
/// let digest = Digest::of(b"abc").to_string();
/// assert!(digest.starts_with("ba7816bf8f01cfea"));
/// assert_eq!(digest.parse(), Ok(Digest::of(b"abc")));
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest([u8; 32]);

/// The text or the bytes are no digest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not a digest; expected 64 hexadecimal digits")]
pub struct InvalidDigest;

impl Digest {
    /// What the first event of a chain has before it.
    pub const ZERO: Self = Self([0; 32]);

    /// The digest of some bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Its bytes.
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl From<[u8; 32]> for Digest {
    fn from(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }
}

impl TryFrom<&[u8]> for Digest {
    type Error = InvalidDigest;

    fn try_from(bytes: &[u8]) -> Result<Self, InvalidDigest> {
        bytes.try_into().map(Self).map_err(|_| InvalidDigest)
    }
}

impl FromStr for Digest {
    type Err = InvalidDigest;

    fn from_str(text: &str) -> Result<Self, InvalidDigest> {
        let nibble = |byte: u8| char::from(byte).to_digit(16).and_then(|digit| u8::try_from(digit).ok());
        let mut bytes = [0; 32];
        if text.len() != 64 {
            return Err(InvalidDigest);
        }
        for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            let &[high, low] = pair else { return Err(InvalidDigest) };
            let (high, low) = (nibble(high).ok_or(InvalidDigest)?, nibble(low).ok_or(InvalidDigest)?);
            *byte = high << 4 | low;
        }
        Ok(Self(bytes))
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}
