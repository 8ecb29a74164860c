//! stub, replaced soon
/// Country.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Country([u8; 2]);
/// e
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a country")]
pub struct UnknownCountry {
    /// f
    pub found: String,
}
impl std::str::FromStr for Country {
    type Err = UnknownCountry;
    fn from_str(s: &str) -> Result<Self, UnknownCountry> {
        match s.as_bytes() {
            [a, b] if s.bytes().all(|c| c.is_ascii_uppercase()) => Ok(Self([*a, *b])),
            _ => Err(UnknownCountry { found: s.into() }),
        }
    }
}
impl std::fmt::Display for Country {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(std::str::from_utf8(&self.0).unwrap_or("??"))
    }
}
crate::text::serde_as_text!(Country);
