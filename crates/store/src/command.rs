//! What a store can be asked to write down.

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_engine::text::{Code, Text};

use crate::caller::{CredentialKind, Role};
use crate::digest::Digest;
use crate::entry::Content;
use crate::invoice::Sale;
use crate::number::{Number, Series};

/// A request to write something down. Repeated with the same id it is done once, and answered the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Request {
    /// Its id.
    pub id: Code,
    /// The digest of the whole request: the same id with another one is refused.
    pub fingerprint: Digest,
    /// Who asks.
    pub caller: Code,
    /// What for.
    pub command: Command,
}

/// What is to be written down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Command {
    /// A quote under the next number of its series, in the year of its day.
    Issue {
        /// The series.
        series: Series,
        /// The quote, revision 1.
        content: Box<Content>,
        /// How many editions there were when it was priced; with another number it is refused, to be
        /// priced anew.
        editions: usize,
    },
    /// A revision under the same number, whatever became of the one before; not of a reversed one.
    Revise {
        /// Which quote.
        number: Number,
        /// The etag it was read with.
        etag: Digest,
        /// The quote, of the next revision.
        content: Box<Content>,
        /// As in `Issue`.
        editions: usize,
        /// Why.
        reason: Text,
    },
    /// The opposite entry of the last revision.
    Reverse {
        /// Which quote.
        number: Number,
        /// The etag it was read with.
        etag: Digest,
        /// The opposite entry.
        content: Box<Content>,
        /// Why.
        reason: Text,
    },
    /// The customer's acceptance of one offer of an open quote.
    Accept {
        /// Which quote.
        number: Number,
        /// The etag it was read with.
        etag: Digest,
        /// Which offer.
        offer: Code,
        /// The day of acceptance, not before the quote and not after its validity.
        day: NaiveDate,
    },
    /// The customer's refusal of an open quote.
    Decline {
        /// Which quote.
        number: Number,
        /// The etag it was read with.
        etag: Digest,
        /// The day of refusal, not before the quote.
        day: NaiveDate,
        /// Why.
        reason: Text,
    },
    /// The invoice of what was accepted, under the next number of its series, in the year of its day. A quote has one
    /// that was not taken back, at most.
    Invoice {
        /// The series; one of quotes is refused.
        series: Series,
        /// Which quote.
        number: Number,
        /// The etag it was read with. It stays the same: an invoice changes nothing about the quote.
        etag: Digest,
        /// The day of issue, not before that of acceptance, nor before the one on the last number of the series.
        issued: NaiveDate,
        /// The day on which it is due, not before that.
        due: NaiveDate,
        /// What the workshop's own sale comes to, by the offer that was accepted.
        sale: Sale,
    },
    /// The credit note that takes a whole invoice back, once. An invoice never changes, so there is no etag.
    Credit {
        /// The series; one of quotes is refused.
        series: Series,
        /// Which invoice.
        invoice: Number,
        /// The day of issue, not before that of the invoice, nor before the one on the last number of the series.
        issued: NaiveDate,
        /// Why.
        reason: Text,
    },
    /// A tariff edition that begins after every edition before it, and after the end of the last where
    /// that one is not open.
    Publish {
        /// Its name.
        code: Code,
        /// The first day of receipt that it prices.
        from: NaiveDate,
        /// The last day; none where it is open.
        until: Option<NaiveDate>,
        /// The currency of its amounts.
        currency: Currency,
        /// Its files.
        archive: Vec<u8>,
    },
    /// A caller. Names are given once.
    AddCaller {
        /// His name.
        name: Code,
        /// What he is to the workshop.
        role: Role,
        /// What he proves himself by.
        kind: CredentialKind,
        /// The digest of that.
        credential: Digest,
    },
    /// The end of a caller.
    WithdrawCaller {
        /// His name.
        name: Code,
    },
}
