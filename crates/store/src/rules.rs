//! What may follow what: the decisions about quotes, editions and callers, for writing and for the audit.

use chrono::NaiveDate;
use evenfare_engine::text::Code;

use crate::entry::{Content, State};
use crate::event::Kind;
use crate::number::Number;
use crate::refused::Refused;

/// How a quote stands after the last event of its number.
#[derive(Debug, Clone)]
pub(crate) struct Standing {
    /// What became of its last entry.
    pub(crate) state: State,
    /// The last revision.
    pub(crate) revision: u32,
    /// The day of its last entry.
    pub(crate) quoted: NaiveDate,
    /// The last day on which that can be accepted.
    pub(crate) valid_until: NaiveDate,
    /// Its offers.
    pub(crate) offers: Vec<Code>,
}

/// The days of an edition.
#[derive(Debug, Clone)]
pub(crate) struct Span {
    /// Its name.
    pub(crate) code: Code,
    /// The first day.
    pub(crate) from: NaiveDate,
    /// The last day; none where it is open.
    pub(crate) until: Option<NaiveDate>,
}

impl State {
    /// What became of an entry of that revision when the last event of its number is of this kind and
    /// revision; none where the event is not about a quote.
    pub(crate) fn after(last: Kind, last_revision: u32, revision: u32) -> Option<Self> {
        let state = match last {
            Kind::Issued | Kind::Revised => Self::Open,
            Kind::Accepted => Self::Accepted,
            Kind::Declined => Self::Declined,
            Kind::Reversed => Self::Reversed,
            Kind::Published | Kind::CallerAdded | Kind::CallerWithdrawn => return None,
        };
        Some(if revision < last_revision { Self::Superseded } else { state })
    }
}

impl Standing {
    /// Right after that content was written down.
    pub(crate) fn written(content: &Content) -> Self {
        Self {
            state: if content.reversal { State::Reversed } else { State::Open },
            revision: content.revision,
            quoted: content.quoted,
            valid_until: content.valid_until,
            offers: content.offers.clone(),
        }
    }

    /// May the customer accept that offer on that day?
    pub(crate) fn accept(&self, number: &Number, offer: &Code, day: NaiveDate) -> Result<(), Refused> {
        self.open(number)?;
        if !self.offers.contains(offer) {
            let (offer, offers) = (offer.clone(), self.offers.clone());
            return Err(Refused::NoSuchOffer { number: number.clone(), offer, offers });
        }
        self.asked_by(number, day)?;
        if day > self.valid_until {
            return Err(Refused::Expired { number: number.clone(), valid_until: self.valid_until });
        }
        Ok(())
    }

    /// May the customer decline on that day?
    pub(crate) fn decline(&self, number: &Number, day: NaiveDate) -> Result<(), Refused> {
        self.open(number)?;
        self.asked_by(number, day)
    }

    /// May that content take the place of the last?
    pub(crate) fn revise(&self, number: &Number, content: &Content) -> Result<(), Refused> {
        self.not_reversed(number)?;
        expect_revision(number, content, self.revision.saturating_add(1), false)
    }

    /// May that content take the last back?
    pub(crate) fn reverse(&self, number: &Number, content: &Content) -> Result<(), Refused> {
        self.not_reversed(number)?;
        expect_revision(number, content, self.revision, true)
    }

    fn open(&self, number: &Number) -> Result<(), Refused> {
        match self.state {
            State::Open => Ok(()),
            state => Err(Refused::NotOpen { number: number.clone(), state }),
        }
    }

    fn not_reversed(&self, number: &Number) -> Result<(), Refused> {
        match self.state {
            State::Reversed => Err(Refused::AlreadyReversed { number: number.clone() }),
            _ => Ok(()),
        }
    }

    fn asked_by(&self, number: &Number, day: NaiveDate) -> Result<(), Refused> {
        if day < self.quoted {
            return Err(Refused::BeforeQuote { number: number.clone(), quoted: self.quoted });
        }
        Ok(())
    }
}

/// May that content be the first of that number?
pub(crate) fn issue(number: &Number, content: &Content) -> Result<(), Refused> {
    expect_revision(number, content, 1, false)
}

fn expect_revision(number: &Number, content: &Content, expected: u32, reversal: bool) -> Result<(), Refused> {
    if (content.revision, content.reversal) == (expected, reversal) {
        Ok(())
    } else {
        Err(Refused::WrongRevision { number: number.clone(), expected })
    }
}

/// May that edition be published after those? An open one is ended by the next.
pub(crate) fn publish<'a>(
    before: impl IntoIterator<Item = &'a Span>,
    code: &Code,
    from: NaiveDate,
) -> Result<(), Refused> {
    let mut last: Option<&Span> = None;
    for span in before {
        if span.code == *code {
            return Err(Refused::EditionExists { code: code.clone() });
        }
        if last.is_none_or(|last| last.from < span.from) {
            last = Some(span);
        }
    }
    let Some(last) = last else { return Ok(()) };
    let after = last.until.map_or(last.from, |until| until.max(last.from));
    if from <= after {
        return Err(Refused::EditionTooEarly { code: last.code.clone(), after });
    }
    Ok(())
}
