//! Amounts as decimals.

use evenfare_engine::money::{Currency, Net, Overflow, Percent};
use evenfare_engine::supply::vat;
use evenfare_engine::view::VatView;

use super::element::{Element, text};
use super::refused::NotWritable;

/// Below it, the published test of BR-CO-17 takes a rate for zero and VAT of half a unit for too much.
const HALF_A_PERCENT: i64 = 5_000;

/// How the amounts of one document are written.
#[derive(Clone, Copy)]
pub(super) struct Money {
    currency: Currency,
    /// With the other sign: what is taken back.
    turned: bool,
    /// With two decimals at most.
    short: bool,
}

impl Money {
    /// As they are, with all decimals of the currency.
    pub(super) fn of(currency: &str) -> Result<Self, NotWritable> {
        Ok(Self { currency: currency.parse()?, turned: false, short: false })
    }

    /// As EN 16931 has them.
    pub(super) fn of_en16931(currency: &str) -> Result<Self, NotWritable> {
        Ok(Self { short: true, ..Self::of(currency)? })
    }

    /// With the other sign.
    pub(super) fn turned(self) -> Self {
        Self { turned: !self.turned, ..self }
    }

    pub(super) fn code(self) -> &'static str {
        self.currency.code()
    }

    /// An element that holds an amount.
    pub(super) fn amount(self, name: &'static str, minor: i64) -> Result<Element, NotWritable> {
        let amount = Net::from_minor(minor)?;
        let amount = if self.turned { amount.reversed() } else { amount };
        let mut written = amount.in_major_units(self.currency);
        if let Some((_, decimals)) = written.split_once('.').filter(|_| self.short) {
            let third = decimals.get(2..).unwrap_or_default();
            if third.bytes().any(|digit| digit != b'0') {
                return Err(NotWritable::ThirdDecimal { amount: format!("{written} {}", self.code()) });
            }
            written.truncate(written.len().saturating_sub(third.len()));
        }
        Ok(text(name, written).with("currencyID", self.code()))
    }

    /// An amount without its sign, and whether it is below nothing as it is written.
    pub(super) fn magnitude(self, name: &'static str, minor: i64) -> Result<(Element, bool), NotWritable> {
        let is_negative = if self.turned { minor > 0 } else { minor < 0 };
        let towards = Self { turned: minor < 0, ..self };
        Ok((towards.amount(name, minor)?, is_negative))
    }

    /// That VAT is what two decimals come to, where it is charged by a rate.
    pub(super) fn check_vat(self, group: &VatView) -> Result<(), NotWritable> {
        let Some(rate) = group.rate.as_deref().and_then(|rate| rate.parse::<Percent>().ok()) else {
            return Ok(());
        };
        let base = Net::from_minor(self.hundredths(group.base_minor)?)?;
        let tax = self.hundredths(group.tax_minor)?;
        let shown = |minor| {
            Ok::<_, Overflow>(format!(
                "{} {}",
                Net::from_minor(minor)?.in_major_units(self.currency),
                self.code()
            ))
        };
        if vat(base, rate)?.minor() != tax {
            return Err(NotWritable::RoundedToo {
                tax: shown(group.tax_minor)?,
                base: shown(group.base_minor)?,
            });
        }
        if rate.scaled() < HALF_A_PERCENT && tax.saturating_abs() >= 50 {
            return Err(NotWritable::RateTooSmall { rate: rate.to_string(), tax: shown(group.tax_minor)? });
        }
        Ok(())
    }

    /// In hundredths of the major unit; a third decimal has been refused before.
    fn hundredths(self, minor: i64) -> Result<i64, Overflow> {
        let hundredths = i128::from(minor).checked_mul(100).ok_or(Overflow)?;
        let whole = hundredths.checked_div(i128::from(self.currency.minor_per_major())).ok_or(Overflow)?;
        i64::try_from(whole).map_err(|_| Overflow)
    }
}

#[cfg(test)]
mod tests {
    use evenfare_engine::supply::VatCategory;

    use super::*;

    fn check_vat(currency: &str, base_minor: i64, rate: &str, tax_minor: i64, expect: bool) {
        let category = VatCategory::S;
        let group = VatView { category, rate: Some(rate.to_owned()), base_minor, tax_minor, reason: None };
        let held = Money::of_en16931(currency).and_then(|money| money.check_vat(&group));
        assert_eq!(held.is_ok(), expect, "{held:?}");
    }

    #[test]
    fn vat_has_two_decimals_whatever_the_currency() {
        // CEN tc434-example2, CEN issue 303, CEN unit test, tc434-example1 and tc434-example8
        check_vat("NOK", 146_050, "25", 36_513, true);
        check_vat("EUR", -171_050, "19", -32_500, true);
        check_vat("DKK", -649_134, "25", -162_284, true);
        check_vat("EUR", 18_323, "6", 1_099, true);
        check_vat("EUR", 4_637, "21", 974, true);
        check_vat("EUR", 90_891, "21", 19_087, true);
        check_vat("EUR", 146_050, "25", 36_512, false);
        // 1235 yen at 10 % are 123.50, of which the quote makes 124
        check_vat("JPY", 1_230, "10", 123, true);
        check_vat("JPY", 1_235, "10", 124, false);
        // 1.230 dinar at 10 % are 0.123, and at 100 % they are 1.230
        check_vat("KWD", 1_230, "100", 1_230, true);
        // the stylesheet of EN 16931 takes 0.4999 % for nothing, and so has no room for VAT of it
        check_vat("EUR", 10_000, "0.4999", 50, false);
        check_vat("EUR", -10_000, "0.4999", -50, false);
        check_vat("EUR", 9_800, "0.4999", 49, true);
        check_vat("EUR", 10_000, "0.5", 50, true);
    }

    fn check_amount(currency: &str, minor: i64, expect: Option<&str>) {
        let written = Money::of_en16931(currency).and_then(|money| money.amount("cbc:Amount", minor));
        let written = written.ok().map(|element| String::from_utf8(element.document()).unwrap_or_default());
        assert_eq!(written.is_some(), expect.is_some(), "{minor} {currency}");
        let expect = expect.unwrap_or_default();
        assert!(written.unwrap_or_default().contains(expect), "{minor} {currency}: {expect}");
    }

    #[test]
    fn a_third_decimal_is_refused_where_it_counts() {
        check_amount("EUR", -5, Some(">-0.05<"));
        check_amount("JPY", 1_234, Some(">1234<"));
        check_amount("KWD", 1_230, Some(">1.23<"));
        check_amount("KWD", 1_234, None);
        check_amount("CLF", 12_300, Some(">1.23<"));
        check_amount("CLF", 12_301, None);
    }
}
