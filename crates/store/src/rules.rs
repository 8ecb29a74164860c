//! What may follow what: the decisions about quotes, invoices, editions and callers, for writing and for the audit.

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_engine::text::Code;

use crate::entry::{Content, State};
use crate::event::Kind;
use crate::invoice::{Billed, Sale};
use crate::number::{Number, Series};
use crate::refused::Refused;

/// What the numbers of a series stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Numbered {
    /// Quotes.
    Quotes,
    /// Invoices and credit notes.
    Invoices,
}

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
    /// Of its amounts.
    pub(crate) currency: Currency,
    /// The partner to whom the workshop sells.
    pub(crate) buyer: Option<Code>,
    /// The offer that was accepted, and the day of it.
    pub(crate) accepted: Option<(Code, NaiveDate)>,
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
            Kind::Invoiced | Kind::Credited | Kind::Published | Kind::CallerAdded | Kind::CallerWithdrawn => {
                return None;
            }
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
            offers: content.offers.iter().map(|offer| offer.id.clone()).collect(),
            currency: content.currency,
            buyer: content.partners.first().cloned(),
            accepted: None,
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

    /// The invoice of what was accepted, where that may be issued; `standing` is one that was not taken back.
    pub(crate) fn invoice(
        &self,
        number: &Number,
        standing: Option<Number>,
        (issued, due): (NaiveDate, NaiveDate),
        sale: Sale,
    ) -> Result<Billed, Refused> {
        let (State::Accepted, Some((offer, accepted))) = (self.state, &self.accepted) else {
            return Err(Refused::NotAccepted { number: number.clone(), state: self.state });
        };
        // Also one of an earlier revision is in the way.
        if let Some(invoice) = standing {
            return Err(Refused::AlreadyInvoiced { number: number.clone(), invoice });
        }
        if issued < *accepted {
            return Err(Refused::BeforeAcceptance { number: number.clone(), accepted: *accepted });
        }
        if due < issued {
            return Err(Refused::DueBeforeIssue { issued });
        }
        Ok(Billed {
            quote: number.clone(),
            revision: self.revision,
            offer: offer.clone(),
            preceding: None,
            partner: self.buyer.clone(),
            issued,
            due: Some(due),
            currency: self.currency,
            sale,
        })
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

/// May one more of that kind be numbered in that series, which has numbers of these kinds so far? One series is of one
/// kind: that of its first number, and those that are meant where none is named are so from the beginning. Else a slip
/// of the pen, one quote in R, would have every invoice refused that names no series, for ever. Where that has happened
/// before it was refused, the series goes on.
pub(crate) fn in_series(
    series: &Series,
    kind: Numbered,
    (has_quotes, has_invoices): (bool, bool),
) -> Result<(), Refused> {
    let (has_own, has_other, usual, of) = match kind {
        Numbered::Quotes => (has_quotes, has_invoices, Series::of_invoices(), "invoices"),
        Numbered::Invoices => (has_invoices, has_quotes, Series::usual(), "quotes"),
    };
    if has_other || (!has_own && *series == usual) {
        return Err(Refused::SeriesInUse { series: series.clone(), of });
    }
    Ok(())
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

/// The credit note of that invoice, where it may be issued on that day; `credited` is one that was issued before.
pub(crate) fn credit(
    number: &Number,
    invoice: &Billed,
    credited: Option<Number>,
    issued: NaiveDate,
) -> Result<Billed, Refused> {
    let number = number.clone();
    if let Some(preceding) = invoice.preceding.clone() {
        return Err(Refused::NotAnInvoice { number, preceding });
    }
    if let Some(credit_note) = credited {
        return Err(Refused::AlreadyCredited { number, credit_note });
    }
    if issued < invoice.issued {
        return Err(Refused::BeforeInvoice { number, issued: invoice.issued });
    }
    let sale = invoice.sale.opposite();
    Ok(Billed { preceding: Some(number), issued, due: None, sale, ..invoice.clone() })
}

/// May the number after that one be issued on that day?
pub(crate) fn in_order(last: Option<(Number, NaiveDate)>, issued: NaiveDate) -> Result<(), Refused> {
    match last {
        Some((last, day)) if issued < day => Err(Refused::OutOfOrder { last, issued: day }),
        _ => Ok(()),
    }
}

/// The day after which the next edition may begin: one that is open ends where the next begins.
pub(crate) fn taken_until(from: NaiveDate, until: Option<NaiveDate>) -> NaiveDate {
    until.map_or(from, |until| until.max(from))
}

/// May that edition be published after those?
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
    let after = taken_until(last.from, last.until);
    if from <= after {
        return Err(Refused::EditionTooEarly { code: last.code.clone(), after });
    }
    Ok(())
}
