//! Where money is sent to: IBAN and BIC.

use std::fmt;
use std::str::FromStr;

use evenfare_engine::country::Country;

/// An international bank account number of ISO 13616, its check digits verified (ISO 7064, mod 97-10).
///
/// # Examples
/// ```
/// use evenfare_files::Iban;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let iban: Iban = "GB82 WEST 1234 5698 7654 32".parse()?;
/// assert_eq!(iban.as_str(), "GB82WEST12345698765432");
/// assert_eq!(iban.to_string(), "GB82 WEST 1234 5698 7654 32");
/// assert!("GB83 WEST 1234 5698 7654 32".parse::<Iban>().is_err());
/// # Ok(()) }
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Iban(Box<str>);

/// A business identifier code of ISO 9362: of a bank, or of one of its branches.
///
/// # Examples
/// ```
/// use evenfare_files::Bic;
/// assert!("TESTDE99XXX".parse::<Bic>().is_ok());
/// assert!("TESTDE9".parse::<Bic>().is_err());
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Bic(Box<str>);

/// The text is no IBAN, or no BIC.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum InvalidAccount {
    /// Not of the form of an IBAN.
    #[error("not an IBAN; expected a country, two check digits, then 11 to 30 capitals and digits")]
    NotAnIban,
    /// A digit is wrong, or two are in each other's place.
    #[error("an IBAN whose check digits do not hold; expected one copied without a slip")]
    CheckDigits,
    /// Not of the form of a BIC.
    #[error("not a BIC; expected four capitals or digits, a country, then two or five capitals or digits")]
    NotABic,
}

impl Iban {
    /// As programs exchange it, without spaces.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Iban {
    type Err = InvalidAccount;

    fn from_str(text: &str) -> Result<Self, InvalidAccount> {
        let plain: String = text.chars().filter(|c| *c != ' ').take(35).collect();
        let is_plain = plain.bytes().all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit());
        let head: Option<&[u8; 4]> = plain.as_bytes().first_chunk();
        let (Some([_, _, c, d]), true, 15..=34) = (head, is_plain, plain.len()) else {
            return Err(InvalidAccount::NotAnIban);
        };
        let is_country = plain.get(..2).is_some_and(|code| code.parse::<Country>().is_ok() || code == "XK");
        let has_digits = c.is_ascii_digit() && d.is_ascii_digit();
        if !(is_country && has_digits) {
            return Err(InvalidAccount::NotAnIban);
        }
        // 98 less the remainder: neither 00 and 01 nor 99 can come out of it.
        if matches!(plain.get(2..4), Some("00" | "01" | "99")) || remainder(&plain) != 1 {
            return Err(InvalidAccount::CheckDigits);
        }
        Ok(Self(plain.into()))
    }
}

/// The first four characters put last, letters as 10 to 35: what remains of that number modulo 97.
fn remainder(plain: &str) -> u32 {
    let (head, body) = plain.split_at_checked(4).unwrap_or((plain, ""));
    body.chars().chain(head.chars()).filter_map(|c| c.to_digit(36)).fold(0, |rest, value| {
        let places: u32 = if value > 9 { 100 } else { 10 };
        rest.saturating_mul(places).saturating_add(value) % 97
    })
}

/// In groups of four, as people read it.
impl fmt::Display for Iban {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, c) in self.0.chars().enumerate() {
            if index > 0 && index.is_multiple_of(4) {
                f.write_str(" ")?;
            }
            write!(f, "{c}")?;
        }
        Ok(())
    }
}

impl Bic {
    /// The code itself.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Bic {
    type Err = InvalidAccount;

    fn from_str(text: &str) -> Result<Self, InvalidAccount> {
        let is_plain = text.bytes().all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit());
        let country = text.get(4..6).is_some_and(|code| code.parse::<Country>().is_ok() || code == "XK");
        if is_plain && matches!(text.len(), 8 | 11) && country {
            Ok(Self(text.into()))
        } else {
            Err(InvalidAccount::NotABic)
        }
    }
}

impl fmt::Display for Bic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_digits_are_those_of_iso_13616() {
        // The examples of the IBAN registry for these countries, published by SWIFT for ISO 13616.
        for sound in [
            "GB29 NWBK 6016 1331 9268 19",
            "DE89370400440532013000",
            "FR1420041010050500013M02606",
            "PL61109010140000071219812874",
            "CZ6508000000192000145399",
            "NO9386011117947",
            "MT84MALT011000012345MTLCAST001S",
        ] {
            assert!(sound.parse::<Iban>().is_ok(), "{sound}");
        }
    }

    #[test]
    fn slips_are_found() {
        let check = |text: &str, expected| assert_eq!(text.parse::<Iban>(), Err(expected), "{text}");
        check("DE89370400440532013001", InvalidAccount::CheckDigits);
        check("DE89370400440532010300", InvalidAccount::CheckDigits);
        check("de89370400440532013000", InvalidAccount::NotAnIban);
        check("ZZ89370400440532013000", InvalidAccount::NotAnIban);
        check("DE8937040044", InvalidAccount::NotAnIban);
        check("DEX9370400440532013000", InvalidAccount::NotAnIban);
        check("", InvalidAccount::NotAnIban);
        check("D€89370400440532013000", InvalidAccount::NotAnIban);
    }

    #[test]
    fn a_bic_names_a_country() {
        let check = |text: &str, holds| assert_eq!(text.parse::<Bic>().is_ok(), holds, "{text}");
        check("TESTDE99", true);
        check("TESTDE99XXX", true);
        check("TESTZZ99", false);
        check("TESTDE99X", false);
        check("testde99", false);
        check("TÄSTDE99", false);
    }
}
