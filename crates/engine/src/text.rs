//! Codes and texts that people write, bounded on the way in.

use std::borrow::Borrow;
use std::fmt::{self, Write as _};
use std::str::FromStr;

use compact_str::CompactString;

/// (De)serialises a type as the text it is displayed as and parsed from.
macro_rules! serde_as_text {
    ($name:ident) => {
        #[cfg(feature = "serde")]
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        #[cfg(feature = "serde")]
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                // Text only: a JSON number may have passed through a binary fraction already.
                let text = <std::borrow::Cow<'de, str> as serde::Deserialize>::deserialize(deserializer)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }
    };
}
pub(crate) use serde_as_text;

/// A text that is made, most often so short that it takes no memory of its own.
pub(crate) fn written(text: impl fmt::Display) -> CompactString {
    let mut written = CompactString::default();
    // Writing to a string does not fail.
    let _ = write!(written, "{text}");
    written
}

/// Why a text is no [`Code`] or no [`Text`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum InvalidText {
    /// Not a code.
    #[error("`{found}` is not a code; expected 1 to 40 characters out of A-Z, a-z, 0-9 and . _ / + -")]
    NotACode {
        /// What stood there, cut to forty characters.
        found: String,
    },
    /// Too long, or with control characters.
    #[error(
        "`{found}` is not a line of text; expected at most 200 characters, none of them a control character"
    )]
    NotALine {
        /// What stood there, cut to forty characters.
        found: String,
    },
}

/// A short name that things are found by: a part number, a finding, a partner.
///
/// # Examples
/// ```
/// use evenfare_engine::text::Code;
/// assert!("CAP-470/63".parse::<Code>().is_ok());
/// assert!("two words".parse::<Code>().is_err());
/// ```
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Code(CompactString);

/// One line of text for people: a name, a description. May be empty.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Text(CompactString);

fn cut(text: &str) -> String {
    text.chars().take(40).collect()
}

impl FromStr for Code {
    type Err = InvalidText;

    fn from_str(text: &str) -> Result<Self, InvalidText> {
        let fits = (1..=40).contains(&text.len())
            && text.bytes().all(|b| b.is_ascii_alphanumeric() || b"._/+-".contains(&b));
        if fits { Ok(Self(text.into())) } else { Err(InvalidText::NotACode { found: cut(text) }) }
    }
}

impl FromStr for Text {
    type Err = InvalidText;

    fn from_str(text: &str) -> Result<Self, InvalidText> {
        let fits = text.len() <= 800 && text.chars().count() <= 200 && !text.chars().any(char::is_control);
        if fits { Ok(Self(text.into())) } else { Err(InvalidText::NotALine { found: cut(text) }) }
    }
}

macro_rules! text_like {
    ($name:ident) => {
        impl $name {
            /// The text itself.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl From<$name> for String {
            fn from(text: $name) -> Self {
                text.0.into()
            }
        }

        impl Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }

        impl AsRef<str> for $name {
            fn as_ref(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Debug::fmt(&self.0, f)
            }
        }

        serde_as_text!($name);
    };
}

text_like!(Code);
text_like!(Text);

#[cfg(test)]
mod tests {
    use super::*;

    fn check<T: FromStr<Err = InvalidText>>(text: &str, expect: Result<(), InvalidText>) {
        assert_eq!(text.parse::<T>().map(|_| ()), expect, "{text}");
    }

    #[test]
    fn what_is_short_takes_no_memory_of_its_own() {
        let name = "U1/part/CAP-470-63-105C-";
        let code: Result<Code, _> = name.parse();
        assert!(code.is_ok_and(|code| !code.0.is_heap_allocated() && code.as_str() == name));
        let made = written(format_args!("{}/{}/{}", "U1", "part", "CAP-470-63-105C-"));
        assert!(!made.is_heap_allocated() && made == name);
    }

    #[test]
    fn codes_and_texts_have_a_length() {
        check::<Code>(&"A".repeat(40), Ok(()));
        check::<Code>(&"A".repeat(41), Err(InvalidText::NotACode { found: "A".repeat(40) }));
        check::<Code>("", Err(InvalidText::NotACode { found: String::new() }));
        // Counted in characters, of which each may take four bytes.
        check::<Text>(&"\u{1F527}".repeat(200), Ok(()));
        check::<Text>(&"x".repeat(200), Ok(()));
        check::<Text>(&"x".repeat(201), Err(InvalidText::NotALine { found: "x".repeat(40) }));
        check::<Text>("two\nlines", Err(InvalidText::NotALine { found: "two\nlines".to_owned() }));
    }
}
