//! Why nothing was written down, or nothing can be read.

use chrono::NaiveDate;
use evenfare_engine::text::Code;

use crate::entry::State;
use crate::number::{Number, Series};

/// Why a request was refused. Nothing was written down.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The id was used for another request.
    #[error("the request id `{id}` was used for another request")]
    RequestIdReused {
        /// The id.
        id: Code,
    },
    /// There is no such quote.
    #[error("there is no quote {number}")]
    NoSuchQuote {
        /// Its number.
        number: Number,
    },
    /// Something has happened to the quote since it was read.
    #[error("something has happened to {number} since it was read")]
    EtagMismatch {
        /// Its number.
        number: Number,
    },
    /// Only an open quote can be accepted or declined.
    #[error("{number} is not open: it is {state}")]
    NotOpen {
        /// Its number.
        number: Number,
        /// What became of it.
        state: State,
    },
    /// A quote that was taken back stays so.
    #[error("{number} was taken back by its opposite entry")]
    AlreadyReversed {
        /// Its number.
        number: Number,
    },
    /// The quote has no such offer.
    #[error("{number} has no offer `{offer}`")]
    NoSuchOffer {
        /// Its number.
        number: Number,
        /// What was asked for.
        offer: Code,
        /// What there is.
        offers: Vec<Code>,
    },
    /// The quote can no longer be accepted.
    #[error("{number} could be accepted until {valid_until}")]
    Expired {
        /// Its number.
        number: Number,
        /// The last day on which it could.
        valid_until: NaiveDate,
    },
    /// The customer cannot have answered before he was asked.
    #[error("{number} was quoted on {quoted}, after that day")]
    BeforeQuote {
        /// Its number.
        number: Number,
        /// The day of the quote.
        quoted: NaiveDate,
    },
    /// A quote of another revision than the next.
    #[error("the next revision of {number} is {expected}")]
    WrongRevision {
        /// Its number.
        number: Number,
        /// What it has to be.
        expected: u32,
    },
    /// Only an accepted quote is invoiced.
    #[error("{number} is not accepted: it is {state}")]
    NotAccepted {
        /// Its number.
        number: Number,
        /// What became of it.
        state: State,
    },
    /// The quote has an invoice that was not taken back.
    #[error("{number} was invoiced by {invoice}, which a credit note has to take back first")]
    AlreadyInvoiced {
        /// Its number.
        number: Number,
        /// The invoice.
        invoice: Number,
    },
    /// The invoice cannot have been issued before the quote was accepted.
    #[error("{number} was accepted on {accepted}, after that day")]
    BeforeAcceptance {
        /// The number of the quote.
        number: Number,
        /// The day of acceptance.
        accepted: NaiveDate,
    },
    /// The invoice cannot be due before it is issued.
    #[error("the invoice is issued on {issued}, after the day on which it would be due")]
    DueBeforeIssue {
        /// The day of issue.
        issued: NaiveDate,
    },
    /// There is no such invoice.
    #[error("there is no invoice {number}")]
    NoSuchInvoice {
        /// Its number.
        number: Number,
    },
    /// The number is that of a credit note, which is not taken back.
    #[error("{number} is a credit note, of {preceding}")]
    NotAnInvoice {
        /// Its number.
        number: Number,
        /// The invoice that it takes back.
        preceding: Number,
    },
    /// The invoice was taken back.
    #[error("{number} was taken back by {credit_note}")]
    AlreadyCredited {
        /// The number of the invoice.
        number: Number,
        /// The credit note.
        credit_note: Number,
    },
    /// The invoice cannot have been taken back before it was issued.
    #[error("{number} was issued on {issued}, after that day")]
    BeforeInvoice {
        /// The number of the invoice.
        number: Number,
        /// Its day of issue.
        issued: NaiveDate,
    },
    /// In a series the days of issue go with the numbers.
    #[error("{last}, the last number of its series, was issued on {issued}, after that day")]
    OutOfOrder {
        /// The last number.
        last: Number,
        /// Its day of issue.
        issued: NaiveDate,
    },
    /// A series is one of quotes or one of invoices: a number stands for one thing.
    #[error("the series {series} is one of {of}")]
    SeriesInUse {
        /// The series.
        series: Series,
        /// What it is of.
        of: &'static str,
    },
    /// An edition was published while the job was priced.
    #[error("an edition was published while the job was priced")]
    TariffChanged,
    /// There is such an edition already.
    #[error("there is an edition `{code}` already")]
    EditionExists {
        /// Its name.
        code: Code,
    },
    /// The edition does not begin after those before it.
    #[error("the edition has to begin after {after}, which edition `{code}` has taken")]
    EditionTooEarly {
        /// The edition that is in the way.
        code: Code,
        /// A day that it has taken.
        after: NaiveDate,
    },
    /// The name or the days of an edition cannot be read: the next might have that name, or begin too early.
    #[error("edition `{code}` cannot be read, so it is not known which name and days are taken")]
    EditionUnreadable {
        /// The edition.
        code: Code,
    },
    /// There is such a caller already, or was.
    #[error("there is, or was, a caller `{name}` already")]
    CallerExists {
        /// His name.
        name: Code,
    },
    /// The token or the certificate is another caller's, or was.
    #[error("the credential is that of another caller")]
    CredentialInUse,
    /// There is no such caller, or he was withdrawn before.
    #[error("there is no caller `{name}`")]
    NoSuchCaller {
        /// His name.
        name: Code,
    },
    /// The series has run out of numbers for the year.
    #[error("the series {series} has no numbers left in {year}")]
    SeriesExhausted {
        /// The series.
        series: Series,
        /// The year.
        year: u16,
    },
}

impl Refused {
    /// A stable name for programs, such as `edition_exists`; on the wire it stands in capitals.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::RequestIdReused { .. } => "request_id_reused",
            Self::NoSuchQuote { .. } => "no_such_quote",
            Self::EtagMismatch { .. } => "etag_mismatch",
            Self::NotOpen { .. } => "not_open",
            Self::AlreadyReversed { .. } => "already_reversed",
            Self::NoSuchOffer { .. } => "no_such_offer",
            Self::Expired { .. } => "expired",
            Self::BeforeQuote { .. } => "before_quote",
            Self::WrongRevision { .. } => "wrong_revision",
            Self::NotAccepted { .. } => "not_accepted",
            Self::AlreadyInvoiced { .. } => "already_invoiced",
            Self::BeforeAcceptance { .. } => "before_acceptance",
            Self::DueBeforeIssue { .. } => "due_before_issue",
            Self::NoSuchInvoice { .. } => "no_such_invoice",
            Self::NotAnInvoice { .. } => "not_an_invoice",
            Self::AlreadyCredited { .. } => "already_credited",
            Self::BeforeInvoice { .. } => "before_invoice",
            Self::OutOfOrder { .. } => "out_of_order",
            Self::SeriesInUse { .. } => "series_in_use",
            Self::TariffChanged => "tariff_changed",
            Self::EditionExists { .. } => "edition_exists",
            Self::EditionTooEarly { .. } => "edition_too_early",
            Self::EditionUnreadable { .. } => "edition_unreadable",
            Self::CallerExists { .. } => "caller_exists",
            Self::CredentialInUse => "credential_in_use",
            Self::NoSuchCaller { .. } => "no_such_caller",
            Self::SeriesExhausted { .. } => "series_exhausted",
        }
    }
}

/// Why a store has no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// The request was refused; nothing was written down.
    #[error(transparent)]
    Refused(#[from] Refused),
    /// More is waiting for the database than is taken on; nothing was written down.
    #[error("more is waiting for the database than is taken on")]
    Busy,
    /// The database does not answer, or cannot write. Whether the request was written down is not
    /// known: sent again with the same id it is answered.
    #[error("the database does not answer: {0}")]
    Unavailable(String),
    /// What is kept cannot be read.
    #[error("what is kept cannot be read: {0}")]
    Corrupt(String),
    /// A later version of the program has written here.
    #[error("the database is of version {found}, this program knows versions up to {known}")]
    Newer {
        /// The version of the database.
        found: i64,
        /// The last version that is known here.
        known: i64,
    },
    /// The store was closed before the request was taken on; nothing was written down.
    #[error("the store is closed")]
    Closed,
}

impl StoreError {
    /// The same of a request that may have been written down all the same, now or by its first sending: nobody is told
    /// then that nothing was.
    #[must_use]
    pub fn not_known(self) -> Self {
        match self {
            Self::Busy | Self::Closed => Self::Unavailable(self.to_string()),
            error => error,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_told_that_nothing_was_written_while_that_is_not_known() {
        for error in [StoreError::Busy, StoreError::Closed] {
            let why = error.to_string();
            assert_eq!(error.not_known(), StoreError::Unavailable(why));
        }
        let refused = StoreError::from(Refused::TariffChanged);
        assert_eq!(refused.clone().not_known(), refused);
    }
}
