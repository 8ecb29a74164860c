//! ISO 4217 currencies and their minor units.

use std::fmt;
use std::str::FromStr;

/// A currency of ISO 4217, with the number of decimals its minor unit has.
///
/// Codes without a minor unit (precious metals, test codes) are no currencies to be invoiced in
/// and are refused.
///
/// # Examples
/// ```
/// use evenfare_engine::money::Currency;
/// let exponent = |code: &str| code.parse::<Currency>().map(|c| c.exponent());
/// assert_eq!(exponent("EUR"), Ok(2));
/// assert_eq!(exponent("JPY"), Ok(0));
/// assert_eq!(exponent("KWD"), Ok(3));
/// assert!("eur".parse::<Currency>().is_err());
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency {
    inner: iso_currency::Currency,
    exponent: u8,
}

/// The text is no currency code that can be invoiced in.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a currency; expected an upper-case ISO 4217 code such as EUR")]
pub struct UnknownCurrency {
    /// What stood there.
    pub found: String,
}

impl Currency {
    /// Decimals of the minor unit: 2 for EUR, 0 for JPY, 3 for KWD.
    pub const fn exponent(self) -> u8 {
        self.exponent
    }

    /// Minor units in one major unit: 100 for EUR.
    pub const fn minor_per_major(self) -> i64 {
        match self.exponent {
            0 => 1,
            1 => 10,
            2 => 100,
            3 => 1_000,
            _ => 10_000,
        }
    }

    /// The alphabetic code.
    pub fn code(self) -> &'static str {
        self.inner.code()
    }
}

impl FromStr for Currency {
    type Err = UnknownCurrency;

    fn from_str(text: &str) -> Result<Self, UnknownCurrency> {
        let unknown = || UnknownCurrency { found: text.chars().take(40).collect() };
        let inner = iso_currency::Currency::from_code(text).ok_or_else(unknown)?;
        let exponent = inner.exponent().ok_or_else(unknown)?;
        let exponent = u8::try_from(exponent).map_err(|_| unknown())?;
        if exponent > 4 {
            return Err(unknown());
        }
        Ok(Self { inner, exponent })
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.code())
    }
}

impl fmt::Debug for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

crate::text::serde_as_text!(Currency);

#[cfg(test)]
mod tests {
    use super::*;

    fn check(code: &str, exponent: Option<u8>) {
        assert_eq!(code.parse::<Currency>().ok().map(Currency::exponent), exponent, "{code}");
    }

    #[test]
    fn exponents_are_those_of_iso_4217() {
        // ISO 4217 list one: JPY 0, ISK 0, KWD 3, CLF 4.
        check("EUR", Some(2));
        check("JPY", Some(0));
        check("ISK", Some(0));
        check("KWD", Some(3));
        check("CLF", Some(4));
    }

    #[test]
    fn a_major_unit_has_ten_times_as_many_minor_ones_for_each_decimal() -> Result<(), UnknownCurrency> {
        for currency in ["JPY", "EUR", "KWD", "CLF"] {
            let currency: Currency = currency.parse()?;
            assert_eq!(currency.minor_per_major(), 10_i64.pow(currency.exponent().into()), "{currency}");
        }
        let euro: Currency = "EUR".parse()?;
        assert_eq!(format!("{euro:>4} {euro:?}"), " EUR EUR");
        Ok(())
    }

    #[test]
    fn what_cannot_be_invoiced_in_is_refused() {
        check("XAU", None);
        check("eur", None);
        check("", None);
        check("EURO", None);
    }
}
