//! What the parser says about a text that is no identifier.

/// Why a text is not a [`VatIdentifier`](super::VatIdentifier).
///
/// # Examples
///
/// ```
/// use evenfare_engine::vat::identifier::VatIdentifier;
///
/// let message = VatIdentifier::parse("DK1").map_err(|error| error.to_string());
/// let expected = "identifier `DK1` has the wrong shape: \
///     expected `DK` followed by 8 digits, the first not 0";
/// assert_eq!(message, Err(expected.to_owned()));
/// ```
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum InvalidVatIdentifier {
    /// The text begins with the prefix of no country this crate knows.
    #[error(
        "identifier `{input}` has no known prefix: expected that of an EU member state (`EL` for Greece), `GB`, `XI`, \
         `CHE` or `NO`"
    )]
    UnknownPrefix {
        /// What was found.
        input: String,
    },
    /// Length or characters are wrong, or a part such as a date of birth does not exist.
    #[error("identifier `{input}` has the wrong shape: expected `{prefix}` followed by {expected}")]
    Shape {
        /// What was found.
        input: String,
        /// The prefix it begins with.
        prefix: &'static str,
        /// What follows the prefix in a well-formed identifier.
        expected: &'static str,
    },
    /// The shape is right, but the check digit or check letter is not that of the number.
    #[error("identifier `{input}` has a wrong check digit: expected that of `{prefix}`, {expected}")]
    CheckDigit {
        /// What was found.
        input: String,
        /// The prefix it begins with.
        prefix: &'static str,
        /// The rule the check digit follows.
        expected: &'static str,
    },
}
