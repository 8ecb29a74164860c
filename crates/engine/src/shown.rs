//! How much an input of a figure is: what the engine says of it beside numbers and units, as a value whose text is read
//! back.

use std::fmt;

use chrono::NaiveDate;

use crate::role::Role;
use crate::why::{Row, When};

/// How much an input is. The text of a quote that is kept is this one in English; whoever tells it in another language
/// reads it back with [`of`](Shown::of).
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shown<'t, A> {
    /// Numbers, units and codes: `2 x 12 min`.
    Plain(A),
    /// `3 pc at C12`
    At(A, &'t str),
    /// `OP-CLEAN 1 x 25 min, once for the unit`
    Once(A),
    /// `16.5 CZK for 1 EUR`
    ForOneEuro(A),
    /// `open until 2027-03-05`
    OpenUntil(NaiveDate),
    /// `DE to FR: AE`
    Supply {
        /// The country of who sells.
        seller: A,
        /// The country of who buys.
        buyer: A,
        /// The code of the VAT category.
        category: &'t str,
    },
    /// `2 pc, from 5 years`
    Due {
        /// What a row of a refresh list asks for.
        amount: A,
        /// When it does.
        when: When,
        /// Was the figure known that it goes by?
        is_known: bool,
    },
}

const AT: &str = " at ";
const ONCE: &str = ", once for the unit";
const FOR_ONE_EURO: &str = " for 1 EUR";
const OPEN_UNTIL: &str = "open until ";
const TO: &str = " to ";
const AS: &str = ": ";
const BETWEEN: &str = ", ";

impl<A: fmt::Display> fmt::Display for Shown<'_, A> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plain(amount) => write!(f, "{amount}"),
            Self::At(amount, position) => write!(f, "{amount}{AT}{position}"),
            Self::Once(amount) => write!(f, "{amount}{ONCE}"),
            Self::ForOneEuro(rate) => write!(f, "{rate}{FOR_ONE_EURO}"),
            Self::OpenUntil(day) => write!(f, "{OPEN_UNTIL}{day}"),
            Self::Supply { seller, buyer, category } => write!(f, "{seller}{TO}{buyer}{AS}{category}"),
            Self::Due { amount, when, is_known } => {
                write!(f, "{amount}{BETWEEN}{}", Row { when, is_known: *is_known })
            }
        }
    }
}

impl<'t> Shown<'t, &'t str> {
    /// What the text of an input says that plays that part; what is none of it is plain.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::role::Role;
    /// use evenfare_engine::shown::Shown;
    /// use evenfare_engine::why::When;
    /// let due = Shown::of(Role::RefreshList, "2 pc at C4, from 5 years");
    /// let Shown::Due { amount, when, is_known } = due else { panic!("{due}") };
    /// assert_eq!((amount, when, is_known), ("2 pc at C4", When::Years(5), true));
    /// assert_eq!(Shown::of(Role::Finding, amount), Shown::At("2 pc", "C4"));
    /// ```
    pub fn of(role: Role, text: &'t str) -> Self {
        let read = match role {
            Role::RefreshList => due(text),
            Role::PlaceOfSupply => supply(text),
            Role::Warranty => {
                text.strip_prefix(OPEN_UNTIL).and_then(|day| day.parse().ok()).map(Self::OpenUntil)
            }
            Role::Rate => text.strip_suffix(FOR_ONE_EURO).map(Self::ForOneEuro),
            _ => None,
        };
        read.unwrap_or_else(|| match (text.strip_suffix(ONCE), text.split_once(AT)) {
            (Some(amount), _) => Self::Once(amount),
            (None, Some((amount, position))) => Self::At(amount, position),
            (None, None) => Self::Plain(text),
        })
    }
}

fn supply(text: &str) -> Option<Shown<'_, &str>> {
    let (countries, category) = text.split_once(AS)?;
    let (seller, buyer) = countries.split_once(TO)?;
    Some(Shown::Supply { seller, buyer, category })
}

/// The amount may have what stands before a row as well.
fn due(text: &str) -> Option<Shown<'_, &str>> {
    text.match_indices(BETWEEN).find_map(|(at, _)| {
        let (amount, row) = (text.get(..at)?, text.get(at..)?.strip_prefix(BETWEEN)?);
        let (when, is_known) = Row::read(row)?;
        Some(Shown::Due { amount, when, is_known })
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn check(role: Role, shown: Shown<'_, &str>, text: &str) {
        assert_eq!(shown.to_string(), text);
        assert_eq!(Shown::of(role, text), shown, "{text}");
    }

    #[test]
    fn what_is_said_is_read_back() {
        check(Role::Minutes, Shown::Plain("104 min"), "104 min");
        check(Role::Finding, Shown::At("3 pc", "C12"), "3 pc at C12");
        check(Role::Finding, Shown::Once("OP-A 1 x 25 min"), "OP-A 1 x 25 min, once for the unit");
        check(Role::Rate, Shown::ForOneEuro("16.5 CZK"), "16.5 CZK for 1 EUR");
        check(Role::Rate, Shown::Plain("19 %"), "19 %");
        check(Role::Warranty, Shown::OpenUntil("2027-03-05".parse().unwrap()), "open until 2027-03-05");
        let supply = Shown::Supply { seller: "DE", buyer: "FR", category: "AE" };
        check(Role::PlaceOfSupply, supply, "DE to FR: AE");
        let due = |amount, when, is_known| Shown::Due { amount, when, is_known };
        check(Role::RefreshList, due("2 pc", When::Always, true), "2 pc, always");
        let once = "OP-A 1 x 25 min, once for the unit";
        let text = [once, ", from 8 years; not known, so taken for due"].concat();
        check(Role::RefreshList, due(once, When::Years(8), false), &text);
        let wear = When::Wear { share: "50".parse().unwrap(), wear: "W-CAP".parse().unwrap() };
        let text = "1 pc at C4, from 50 % of its life used (W-CAP)";
        check(Role::RefreshList, due("1 pc at C4", wear, true), text);
    }
}
