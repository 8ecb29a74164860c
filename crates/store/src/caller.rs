//! Who may call: people and programs that hold a token or a certificate.

use std::fmt;
use std::str::FromStr;

use chrono::{DateTime, Utc};
use evenfare_engine::text::Code;

use crate::digest::Digest;

/// What a caller is to the workshop.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Role {
    /// Issues quotes and publishes tariffs.
    Office,
    /// Reads everything and changes nothing.
    Accountant,
    /// One partner: prices and his own quotes.
    Partner(Code),
}

/// The text names no role.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a role; expected office, accountant or partner:CODE")]
pub struct UnknownRole {
    /// What stood there, shortened.
    pub found: String,
}

/// What a caller proves himself by. Only its digest is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CredentialKind {
    /// A random token of 256 bits.
    Token,
    /// A client certificate, by the digest of its DER encoding.
    Certificate,
}

/// A caller as he is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    /// His name, given once.
    pub name: Code,
    /// What he is to the workshop.
    pub role: Role,
    /// What he proves himself by.
    pub kind: CredentialKind,
    /// The digest of that.
    pub credential: Digest,
    /// When he was added.
    pub added: DateTime<Utc>,
    /// When he was withdrawn; from then on he is nobody.
    pub withdrawn: Option<DateTime<Utc>>,
}

impl FromStr for Role {
    type Err = UnknownRole;

    fn from_str(text: &str) -> Result<Self, UnknownRole> {
        let unknown = || UnknownRole { found: text.chars().take(60).collect() };
        match text {
            "office" => Ok(Self::Office),
            "accountant" => Ok(Self::Accountant),
            _ => {
                let code = text.strip_prefix("partner:").ok_or_else(unknown)?;
                code.parse().map(Self::Partner).map_err(|_| unknown())
            }
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Office => f.write_str("office"),
            Self::Accountant => f.write_str("accountant"),
            Self::Partner(code) => write!(f, "partner:{code}"),
        }
    }
}

impl CredentialKind {
    /// Its stable name.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Token => "token",
            Self::Certificate => "certificate",
        }
    }

    /// The kind of that name.
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Token, Self::Certificate].into_iter().find(|kind| kind.code() == code)
    }
}
