//! A proposed edition, tried on what was quoted.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};
use evenfare_engine::problem::Problem;
use evenfare_engine::quote::{Quote, Standing, Unsealed};
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;
use evenfare_engine::{Refused, UnderTheFloor, brief};

use super::past::Past;
use crate::agreed::{Agreed, NotAgreed};
use crate::error::Unreconciled;
use crate::firm::Firms;
use crate::margin::{Margin, Parts};
use crate::rates::Rates;

/// An edition that is only proposed, as if it had been in force in the place of each that was.
///
/// Reference rates stay those by which a quote was converted, so that a difference tells of the tariff and
/// not of currencies.
pub struct Proposal {
    edition: Edition,
    places: BTreeMap<Code, Place>,
}

/// The proposed edition in the place of another, and that one's rates.
struct Place {
    edition: Edition,
    rates: Rates,
}

/// A quote of the past, and what it would have come to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tried {
    /// The number it was issued under.
    pub number: Box<str>,
    /// Which revision it is.
    pub revision: u32,
    /// The job's reference.
    pub reference: Code,
    /// The day of the quote.
    pub quoted: NaiveDate,
    /// The edition that priced it.
    pub edition: Code,
    /// The offer that is compared: the accepted one, or the job itself.
    pub offer: Box<str>,
    /// The partners, nearest to the workshop first.
    pub route: Vec<Arc<str>>,
    /// Its currency.
    pub currency: Currency,
    /// What it came to, in its currency.
    pub then: Margin,
    /// What it would have come to, in its currency; or why there would have been no quote.
    pub now: Result<Margin, Objection>,
    /// The families of its units, which are those of what it would have come to as well.
    pub(super) families: Vec<Arc<str>>,
    /// Both in the currency of the trial, as far as they are known.
    pub(super) common: Option<(Parts, Option<Parts>)>,
}

/// Why there would have been no quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Objection {
    /// A stable name for programs: `unknown_finding`, `under_the_floor`. Of several mistakes, the first.
    pub code: &'static str,
    /// In words.
    pub text: String,
}

/// Why a quote could not be tried at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotTried {
    /// The edition that it names was never published.
    #[error("its edition {0} is not there")]
    UnknownEdition(Code),
    /// It is no quote to compare with.
    #[error(transparent)]
    NotAgreed(#[from] NotAgreed),
    /// A sum is too large.
    #[error(transparent)]
    Overflow(#[from] Overflow),
    /// A sum did not hold when the other quote was closed: a defect of the engine.
    #[error("the other quote could not be sealed")]
    Unsealed(#[source] Unsealed),
}

impl Proposal {
    /// An edition in the place of each that was published.
    pub fn new(edition: Edition, published: &[Edition]) -> Self {
        let place = |other: &Edition| {
            let rates = other.currency_rates().iter();
            let rates = Rates::new(rates.map(|rate| (rate.date, rate.currency, rate.units_per_eur)));
            (other.code().clone(), Place { edition: edition.in_the_place_of(other), rates })
        };
        let places = published.iter().map(place).collect();
        Self { edition, places }
    }

    /// What is proposed.
    pub fn edition(&self) -> &Edition {
        &self.edition
    }

    /// Prices the job of a quote again, and compares the same offer.
    ///
    /// # Errors
    /// [`NotTried`] where what was kept is damaged. That there would have been no quote is no error: it is
    /// part of the answer.
    pub fn tried(&self, past: &Past<'_>, firms: &mut Firms) -> Result<Tried, NotTried> {
        let quote = past.quote;
        let place = self.places.get(&quote.edition);
        let place = place.ok_or_else(|| NotTried::UnknownEdition(quote.edition.clone()))?;
        let then = past.agreed(quote, firms)?;
        let now = match brief(&past.job(), &place.edition) {
            Ok(again) => match under_the_floor(&again, past.offer()) {
                None => Ok(past.agreed(&again, firms)?),
                Some(floor) => Err(Objection::from(floor)),
            },
            Err(Refused::Unsealed(why)) => return Err(NotTried::Unsealed(why)),
            Err(refused) => Err(Objection::from(refused)),
        };
        let (Standing::Revision(revision) | Standing::Reversal(revision)) = quote.standing;
        let in_common =
            |agreed: &Agreed| Parts::new(agreed, self.edition.currency(), &place.rates, quote.received);
        let (now, common) = match (now, in_common(&then)) {
            (Ok(now), Ok(parts)) => {
                (Ok(Margin::own(&now)?), Some((parts, Some(in_common(&now).map_err(too_large)?))))
            }
            (Err(objection), Ok(parts)) => (Err(objection), Some((parts, None))),
            // Without a rate there is no price either.
            (Err(objection), Err(Unreconciled::NoRate { .. })) => (Err(objection), None),
            (_, Err(error)) => return Err(too_large(error)),
        };
        Ok(Tried {
            number: past.number.into(),
            revision,
            reference: quote.reference.clone(),
            quoted: quote.quoted,
            edition: quote.edition.clone(),
            offer: past.offer().into(),
            route: then.shares.iter().map(|share| Arc::clone(&share.partner)).collect(),
            families: then.families.iter().map(|part| Arc::clone(&part.family)).collect(),
            currency: quote.currency,
            then: Margin::own(&then)?,
            now,
            common,
        })
    }
}

/// The rate is known where the same amount was converted before: what is left is a sum.
fn too_large(_: Unreconciled) -> NotTried {
    Overflow.into()
}

/// Why an alternative is not among the offers of a quote that was made.
fn under_the_floor<'q>(quote: &'q Quote, offer: &str) -> Option<&'q UnderTheFloor> {
    quote.refused.iter().find(|refused| refused.offer == offer)
}

impl From<&UnderTheFloor> for Objection {
    fn from(floor: &UnderTheFloor) -> Self {
        let text =
            format!("too little is left to the workshop; the agreement with {} refuses it", floor.refused_by);
        Self { code: "under_the_floor", text }
    }
}

impl From<Refused> for Objection {
    fn from(refused: Refused) -> Self {
        match &refused {
            Refused::Job(problems) => Self::of_job(problems).unwrap_or_else(|| Self::said(&refused)),
            Refused::UnderTheFloor(floor) => Self::from(&**floor),
            Refused::TooLarge | Refused::OutOfCalendar | Refused::Unsealed(_) => Self::said(&refused),
        }
    }
}

impl Objection {
    fn said(refused: &Refused) -> Self {
        Self { code: refused.code(), text: refused.to_string() }
    }

    fn of_job(problems: &[Problem]) -> Option<Self> {
        let (first, others) = problems.split_first()?;
        let text = match others.len() {
            0 => first.to_string(),
            more => format!("{first}; and {more} more"),
        };
        Some(Self { code: first.code, text })
    }
}

#[cfg(test)]
mod tests {
    use evenfare_engine::problem::Place;

    use super::*;

    fn check(refused: Refused, code: &str, text: &str) {
        let objection = Objection::from(refused);
        assert_eq!((objection.code, objection.text.as_str()), (code, text));
    }

    #[test]
    fn of_several_mistakes_the_first_is_told() {
        let problem = |code, found| Problem::error(Place::field("extras"), code, found, "an extra");
        let (first, other) = (problem("unknown_extra", "A"), problem("given_twice", "B"));
        let told = "extras: found `A`, expected an extra";
        check(Refused::Job(vec![first.clone()]), "unknown_extra", told);
        check(
            Refused::Job(vec![first, other.clone(), other]),
            "unknown_extra",
            &format!("{told}; and 2 more"),
        );
        check(Refused::TooLarge, "too_large", "a sum is too large to be kept exactly");
    }
}
