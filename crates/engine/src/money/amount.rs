//! Amounts of money, told apart by what they are.

use std::fmt;
use std::marker::PhantomData;

use super::{Currency, Fixed, Overflow};

/// What an amount is; see [`kind`].
pub trait AmountKind: Copy {
    /// The kind in words.
    const NAME: &'static str;
}

/// The kinds of [`Amount`].
pub mod kind {
    use super::AmountKind;

    macro_rules! kinds {
        ($($(#[$doc:meta])* $name:ident $text:literal;)*) => { $(
            $(#[$doc])*
            #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
            pub enum $name {}
            impl AmountKind for $name { const NAME: &'static str = $text; }
        )* };
    }

    kinds! {
        /// What is charged, before VAT.
        Net "net";
        /// Value added tax.
        Vat "VAT";
        /// Net and VAT together.
        Gross "gross";
        /// What the workshop spends.
        Cost "cost";
        /// What a partner keeps of the end price.
        Share "share";
    }
}

/// Whole minor units of the one currency of the quote it stands in, of one [`kind`].
///
/// A net amount and a cost are different types, so that one is never taken for the other.
///
/// # Examples
/// ```
/// use evenfare_engine::money::{Currency, Net, Share};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let eur: Currency = "EUR".parse()?;
/// let sold_at = Net::from_minor(119_000)?;
/// let bought_at = sold_at.less(Share::from_minor(17_850)?)?;
/// assert_eq!(bought_at.in_major_units(eur), "1011.50");
/// # Ok(()) }
/// ```
#[derive(PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Amount<K> {
    minor: i64,
    kind: PhantomData<fn() -> K>,
}

/// What is charged, before VAT.
pub type Net = Amount<kind::Net>;
/// Value added tax.
pub type Vat = Amount<kind::Vat>;
/// Net and VAT together.
pub type Gross = Amount<kind::Gross>;
/// What the workshop spends.
pub type Cost = Amount<kind::Cost>;
/// What a partner keeps of the end price.
pub type Share = Amount<kind::Share>;

impl<K> Clone for Amount<K> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<K> Copy for Amount<K> {}

impl<K> Default for Amount<K> {
    fn default() -> Self {
        Self::ZERO
    }
}

impl<K> Amount<K> {
    /// The largest magnitude of an amount: 10^14 minor units, which are 10^12 euros. Bounded so that
    /// a product with a quantity, a percentage and a rate stays exact in 128 bits.
    pub const MAX_MINOR: i64 = 100_000_000_000_000;

    /// Nothing.
    pub const ZERO: Self = Self { minor: 0, kind: PhantomData };

    /// From whole minor units.
    ///
    /// # Errors
    /// [`Overflow`] beyond [`MAX_MINOR`](Self::MAX_MINOR) either way.
    pub const fn from_minor(minor: i64) -> Result<Self, Overflow> {
        if minor > Self::MAX_MINOR || minor < -Self::MAX_MINOR {
            Err(Overflow)
        } else {
            Ok(Self { minor, kind: PhantomData })
        }
    }

    /// Whole minor units.
    pub const fn minor(self) -> i64 {
        self.minor
    }

    /// Whole minor units, for the kernel.
    pub(crate) fn wide(self) -> i128 {
        self.minor.into()
    }

    /// From what the kernel worked out.
    pub(crate) fn from_wide(minor: i128) -> Result<Self, Overflow> {
        Self::from_minor(i64::try_from(minor).map_err(|_| Overflow)?)
    }

    /// The sum of two amounts of one kind.
    ///
    /// # Errors
    /// [`Overflow`] beyond the bounds.
    pub fn plus(self, other: Self) -> Result<Self, Overflow> {
        Self::from_minor(self.minor.checked_add(other.minor).ok_or(Overflow)?)
    }

    /// The difference of two amounts of one kind.
    ///
    /// # Errors
    /// [`Overflow`] beyond the bounds.
    pub fn minus(self, other: Self) -> Result<Self, Overflow> {
        Self::from_minor(self.minor.checked_sub(other.minor).ok_or(Overflow)?)
    }

    /// The sum of all.
    ///
    /// # Errors
    /// [`Overflow`] beyond the bounds.
    pub fn sum(amounts: impl IntoIterator<Item = Self>) -> Result<Self, Overflow> {
        amounts.into_iter().try_fold(Self::ZERO, Self::plus)
    }

    /// The opposite entry.
    #[must_use]
    pub const fn reversed(self) -> Self {
        // The bounds are symmetric, so the opposite of an amount is an amount.
        Self { minor: self.minor.wrapping_neg(), kind: PhantomData }
    }

    /// In major units with all decimals of the currency, for people to read: `1011.50`.
    pub fn in_major_units(self, currency: Currency) -> String {
        self.shown(currency).to_string()
    }

    pub(crate) fn shown(self, currency: Currency) -> Fixed {
        Fixed::new(self.minor, u32::from(currency.exponent()))
    }
}

impl Net {
    /// What is left for the seller before: this sale less the share of the one who makes it.
    ///
    /// # Errors
    /// [`Overflow`] beyond the bounds.
    pub fn less(self, share: Share) -> Result<Net, Overflow> {
        Net::from_minor(self.minor.checked_sub(share.minor).ok_or(Overflow)?)
    }

    /// What is left over a cost; below zero where the cost is higher.
    ///
    /// # Errors
    /// [`Overflow`] beyond the bounds.
    pub fn over(self, cost: Cost) -> Result<Net, Overflow> {
        Net::from_minor(self.minor.checked_sub(cost.minor).ok_or(Overflow)?)
    }

    /// Net and VAT together.
    ///
    /// # Errors
    /// [`Overflow`] beyond the bounds.
    pub fn with_vat(self, vat: Vat) -> Result<Gross, Overflow> {
        Gross::from_minor(self.minor.checked_add(vat.minor).ok_or(Overflow)?)
    }
}

impl<K: AmountKind> fmt::Debug for Amount<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", K::NAME, self.minor)
    }
}

#[cfg(feature = "serde")]
impl<K> serde::Serialize for Amount<K> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i64(self.minor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_hold_both_ways() {
        let most = Net::from_minor(Net::MAX_MINOR);
        assert!(most.is_ok());
        assert_eq!(most.and_then(|m| m.plus(Net::from_minor(1)?)), Err(Overflow));
        assert_eq!(most.map(|m| m.reversed().minor()), Ok(-Net::MAX_MINOR));
        assert_eq!(Net::from_minor(-Net::MAX_MINOR), most.map(Net::reversed));
        assert_eq!(Net::from_minor(-Net::MAX_MINOR - 1), Err(Overflow));
        assert_eq!(Net::from_minor(i64::MIN), Err(Overflow));
    }

    #[test]
    fn sums_and_differences_are_those_of_their_minor_units() -> Result<(), Overflow> {
        let (a, b) = (Net::from_minor(119_000)?, Net::from_minor(17_850)?);
        assert_eq!(a.minus(b)?.minor(), 101_150);
        assert_eq!(Net::sum([a, b, b])?.minor(), 154_700);
        assert_eq!(b.less(Share::from_minor(20_000)?)?.minor(), -2_150);
        assert_eq!(b.over(Cost::from_minor(17_851)?)?.minor(), -1);
        assert_eq!(a.with_vat(Vat::from_minor(22_610)?)?.minor(), 141_610);
        assert_eq!(Amount::clone(&a), a);
        assert_eq!(format!("{a:?}, {:?}", b.reversed()), "net 119000, net -17850");
        Ok(())
    }

    #[test]
    fn decimals_are_those_of_the_currency() {
        let show = |minor, code: &str| {
            let currency: Currency = code.parse().ok()?;
            Some(Net::from_minor(minor).ok()?.in_major_units(currency))
        };
        assert_eq!(show(-5, "EUR").as_deref(), Some("-0.05"));
        assert_eq!(show(1_234, "JPY").as_deref(), Some("1234"));
        assert_eq!(show(1_234, "KWD").as_deref(), Some("1.234"));
    }
}
