//! Why a call is refused: one place turns every reason into a status with its details.

use std::time::Duration;

use evenfare_engine::Refused as NotPriced;
use evenfare_engine::money::Currency;
use evenfare_engine::problem::{Place, Problem, Severity};
use evenfare_engine::view::Reader;
use evenfare_reconcile::error::Unreconciled;
use evenfare_store::refused::{Refused, StoreError};
use tonic::{Code, Status};

use super::told::Told;
use crate::wire::month_end::{slip, untied};
use crate::wire::pb;

mod from;

/// Where the job stands in the messages that have one.
pub(super) const FIELD: &str = "job";
/// When what the store had no answer for may be sent again.
const SOON: Duration = Duration::from_millis(200);

/// Why a call is refused.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Refusal {
    /// The message, or the job in it, has mistakes: all of them.
    Input(Vec<Problem>),
    /// The files of an edition have mistakes: all of them.
    Files(Vec<Problem>),
    /// The files of a books folder have mistakes: all of them.
    Books(Vec<Problem>),
    /// A request for quotation has mistakes: all of them.
    Request(Vec<Problem>),
    /// The books cannot be held against anything, or a month is not closed yet.
    Unreconciled(Unreconciled),
    /// A month is not closed: its reason, and in words.
    NotClosed(&'static str, String),
    /// A month is closed otherwise than it was noted down: the reason, and in words.
    NotAsNoted(&'static str, String),
    /// A published edition is needed that cannot be read. Which editions there are is not for everybody to know.
    UnreadableEdition,
    /// A sum is too large, or a day outside the calendar.
    OutOfRange(&'static str, String),
    /// An agreement on the route refuses the quote.
    UnderTheFloor(Box<pb::RefusedOffer>),
    /// The shares would be scaled down; what they come to then, a partner is not told of a job that he can vary.
    AskTheOffice(Box<pb::RefusedOffer>),
    /// The partner was refused often; for so long he is not told whether the floor refuses such jobs.
    Withheld(Box<pb::RefusedOffer>, Duration),
    /// The partner is in no agreement of the edition that prices the job.
    NoRoute,
    /// There is no such quote, or it is none of the reader's.
    NoSuchQuote,
    /// There is no such invoice, or it is none of the reader's.
    NoSuchInvoice,
    /// The quote has no such document for the reader, in words.
    NoSuchDocument(String),
    /// A standard has no form for a document, or the fonts no letter, in words.
    NotWritable(String),
    /// The program was built without PDF.
    NoPdf,
    /// Who sells or who buys lacks part of the name and address that an invoice has to say, in words.
    IncompleteAddress(String),
    /// Goods cross a border through a chain of sellers: how each sale is taxed is not decided here.
    GoodsInChain,
    /// VAT has to be said in the currency of the seller's country, and no rate is known, in words.
    NoNationalVat(String),
    /// The quote has no offer of that id.
    NoSuchOffer(Problem),
    /// Nobody whom the workshop knows.
    Nobody(&'static str),
    /// Somebody whose role may not call the method.
    NotHis,
    /// There is no such method.
    NoSuchMethod,
    /// More of this kind is under way than is taken on.
    TooMany(&'static str),
    /// The store refuses, or has no answer.
    Store(StoreError),
    /// A defect of this program.
    Internal(String),
}

impl Refusal {
    /// Why a job has no quote, as far as the reader may know it.
    pub(super) fn not_priced(refused: NotPriced, reader: &Reader, currency: Currency) -> Self {
        let message = refused.to_string();
        match refused {
            NotPriced::Job(problems) => Self::Input(below(FIELD, problems)),
            NotPriced::TooLarge => Self::OutOfRange("TOO_LARGE", message),
            NotPriced::OutOfCalendar => Self::OutOfRange("OUT_OF_CALENDAR", message),
            NotPriced::UnderTheFloor(under) => {
                let money = |minor| pb::Money::of(minor, currency);
                let of_all = |amount_minor| reader.sees_all().then(|| money(amount_minor));
                Self::UnderTheFloor(Box::new(pb::RefusedOffer {
                    id: under.offer.to_string(),
                    end_net: Some(money(under.end_net.minor())),
                    shares: of_all(under.shares.minor()),
                    available: of_all(under.available.minor()),
                    refused_by: reader.sees_all().then(|| under.refused_by.to_string()),
                }))
            }
            NotPriced::Unsealed(reason) => Self::Internal(format!("a quote could not be sealed: {reason}")),
        }
    }

    /// One mistake of a message.
    pub(super) fn problem(problem: Problem) -> Self {
        Self::Input(vec![problem])
    }

    /// What the caller is told in all.
    fn told(self) -> Told {
        let told = |code, reason: &str, message: &str| Told::new(code, reason, message);
        match self {
            Self::Input(problems) => {
                let problems: Vec<Problem> = problems.into_iter().map(on_the_wire).collect();
                let message = match problems.as_slice() {
                    [one] => one.to_string(),
                    all => format!("the request has {} mistakes", all.len()),
                };
                Told { problems, ..told(Code::InvalidArgument, "INVALID_INPUT", &message) }
            }
            Self::Files(problems) => {
                let message =
                    format!("the edition has {} mistake(s); CheckTariff tells them all", problems.len());
                Told { problems, ..told(Code::InvalidArgument, "INVALID_TARIFF", &message) }
            }
            Self::Books(problems) => {
                let message = format!("the books have {} mistake(s)", problems.len());
                Told { problems, ..told(Code::InvalidArgument, "INVALID_BOOKS", &message) }
            }
            Self::Request(problems) => {
                let message = format!("the request for quotation has {} mistake(s)", problems.len());
                Told { problems, ..told(Code::InvalidArgument, "INVALID_REQUEST", &message) }
            }
            Self::Unreconciled(error) => of_books(&error),
            Self::NotClosed(reason, why) => told(Code::FailedPrecondition, reason, &why),
            Self::NotAsNoted(reason, why) => told(Code::InvalidArgument, reason, &why),
            Self::UnreadableEdition => told(
                Code::FailedPrecondition,
                "EDITION_UNREADABLE",
                "this server cannot read the edition of the tariff that this needs; the office finds which and why in \
                 ListEditions",
            ),
            Self::OutOfRange(reason, message) => told(Code::OutOfRange, reason, &message),
            Self::UnderTheFloor(offer) => Told {
                under_the_floor: Some(*offer),
                ..told(
                    Code::FailedPrecondition,
                    "UNDER_THE_FLOOR",
                    "an agreement on this route refuses the quote: too little would be left to the workshop",
                )
            },
            Self::AskTheOffice(offer) => Told {
                under_the_floor: Some(*offer),
                ..told(
                    Code::FailedPrecondition,
                    "ASK_THE_OFFICE",
                    "the shares of this route would be scaled down on this job: ask the office for a quote",
                )
            },
            Self::Withheld(offer, left) => Told {
                under_the_floor: Some(*offer),
                retry: Some(left),
                ..told(
                    Code::FailedPrecondition,
                    "ASK_THE_OFFICE",
                    "too many offers for units of a family of this job were refused within a day: ask the office for a \
                     quote",
                )
            },
            Self::NoRoute => told(
                Code::FailedPrecondition,
                "NO_ROUTE",
                "the tariff of the day of receipt has no route to this partner",
            ),
            Self::NoSuchQuote => told(Code::NotFound, "NO_SUCH_QUOTE", "there is no such quote"),
            Self::NoSuchInvoice => told(Code::NotFound, "NO_SUCH_INVOICE", "there is no such invoice"),
            Self::NoSuchDocument(why) => told(Code::NotFound, "NO_SUCH_DOCUMENT", &why),
            Self::NotWritable(why) => told(Code::FailedPrecondition, "NOT_WRITABLE", &why),
            Self::NoPdf => {
                told(Code::Unimplemented, "NO_PDF", "this server was built without PDF: ask for xml")
            }
            Self::IncompleteAddress(lacks) => told(
                Code::FailedPrecondition,
                "INCOMPLETE_ADDRESS",
                &format!(
                    "{lacks}; expected the full name and address of seller and buyer (Directive 2006/112/EC \
                     Art. 226(5)): revise the quote with them"
                ),
            ),
            Self::GoodsInChain => told(
                Code::FailedPrecondition,
                "GOODS_IN_CHAIN",
                "goods cross a border through a chain of sellers; which of the sales carries the transport (Directive \
                 2006/112/EC Art. 36a), and so how each is taxed, is not decided here: a licensed tax adviser has to \
                 say it before anything is invoiced",
            ),
            Self::NoNationalVat(why) => told(Code::FailedPrecondition, "NO_NATIONAL_VAT", &why),
            Self::NoSuchOffer(problem) => Told {
                problems: vec![problem.clone()],
                ..told(Code::InvalidArgument, "NO_SUCH_OFFER", &problem.to_string())
            },
            Self::Nobody(why) => told(Code::Unauthenticated, "UNAUTHENTICATED", why),
            Self::NotHis => told(
                Code::PermissionDenied,
                "NOT_FOR_THIS_ROLE",
                "this method is not for callers of this role",
            ),
            Self::NoSuchMethod => told(Code::Unimplemented, "NO_SUCH_METHOD", "there is no such method"),
            Self::TooMany(what) => Told {
                retry: Some(Duration::from_secs(1)),
                ..told(
                    Code::ResourceExhausted,
                    "TOO_MANY",
                    &format!("there are too many {what}; try again later"),
                )
            },
            Self::Store(error) => of_store(error),
            Self::Internal(message) => {
                // What is wrong inside is for the log, not for the caller.
                tracing::error!(%message, "internal error");
                told(Code::Internal, "INTERNAL", "an error of the server; its log says more")
            }
        }
    }
}

/// The same problems, in the field of a message that the job stands in.
pub(super) fn below(field: &str, problems: Vec<Problem>) -> Vec<Problem> {
    let at = |problem: Problem| Problem { place: Place::field(field).at(problem.place.as_str()), ..problem };
    problems.into_iter().map(at).collect()
}

/// The engine's name of a place, as the message has it.
fn on_the_wire(problem: Problem) -> Problem {
    let mut path = problem.place.as_str().replace(".takes_over[", ".takes_over.works[");
    if ["job.currency", "job.customer.country"].contains(&&*path) {
        path.push_str("_code");
    } else if path.starts_with("takes_over[") {
        path = path.replacen("takes_over[", "takes_over.works[", 1);
    }
    Problem { place: Place::field(&path), ..problem }
}

fn of_books(error: &Unreconciled) -> Told {
    let code = match error {
        Unreconciled::SaidTwice(_)
        | Unreconciled::AgreedTwice { .. }
        | Unreconciled::StatementsUntied { .. }
        | Unreconciled::NoRate { .. }
        | Unreconciled::Undecidable(_)
        | Unreconciled::ClosingChanged { .. }
        | Unreconciled::ClosingUnlinked { .. }
        | Unreconciled::ClosingMissing { .. }
        | Unreconciled::InsideClosed { .. } => Code::InvalidArgument,
        Unreconciled::ClosingOutOfOrder { .. } | Unreconciled::MonthNotOver { .. } => {
            Code::FailedPrecondition
        }
        Unreconciled::Overflow(_) => Code::OutOfRange,
    };
    let reason = match error {
        // To a program it is the same.
        Unreconciled::ClosingUnlinked { .. } => "CLOSING_CHANGED".to_owned(),
        error => error.code().to_uppercase(),
    };
    let problems: Vec<Problem> = match error {
        Unreconciled::StatementsUntied { untied: all } => all.iter().map(untied).collect(),
        _ => error.slips().iter().map(|one| slip(one, Severity::Error)).collect(),
    };
    let message = match problems.as_slice() {
        [] | [_] => error.to_string(),
        all => format!("the books have {} mistakes", all.len()),
    };
    Told { problems, ..Told::new(code, reason, message) }
}

fn of_refused(refused: &Refused) -> Told {
    let code = match refused {
        // What a partner is told as well is said in one way.
        Refused::NoSuchQuote { .. } => return Refusal::NoSuchQuote.told(),
        Refused::NoSuchInvoice { .. } => return Refusal::NoSuchInvoice.told(),
        Refused::NoSuchOffer { offer, offers, .. } => {
            let offers: Vec<&str> = offers.iter().map(evenfare_engine::text::Code::as_str).collect();
            let expected = format!("one of its offers: {}", offers.join(", "));
            let problem = Problem::error(Place::field("offer"), "unknown_offer", offer, expected);
            return Refusal::NoSuchOffer(problem).told();
        }
        Refused::NoSuchCaller { .. } => Code::NotFound,
        Refused::RequestIdReused { .. }
        | Refused::EditionExists { .. }
        | Refused::CallerExists { .. }
        | Refused::CredentialInUse => Code::AlreadyExists,
        Refused::EtagMismatch { .. } | Refused::WrongRevision { .. } | Refused::TariffChanged => {
            Code::Aborted
        }
        Refused::NotOpen { .. }
        | Refused::AlreadyReversed { .. }
        | Refused::Expired { .. }
        | Refused::BeforeQuote { .. }
        | Refused::EditionTooEarly { .. }
        | Refused::EditionUnreadable { .. }
        | Refused::NotAccepted { .. }
        | Refused::AlreadyInvoiced { .. }
        | Refused::BeforeAcceptance { .. }
        | Refused::DueBeforeIssue { .. }
        | Refused::NotAnInvoice { .. }
        | Refused::AlreadyCredited { .. }
        | Refused::BeforeInvoice { .. }
        | Refused::OutOfOrder { .. }
        | Refused::SeriesInUse { .. }
        | Refused::SeriesExhausted { .. } => Code::FailedPrecondition,
    };
    let retry = matches!(refused, Refused::TariffChanged).then_some(SOON);
    Told { retry, ..Told::new(code, refused.code().to_uppercase(), refused.to_string()) }
}

fn of_store(error: StoreError) -> Told {
    let message = error.to_string();
    let later = |told| Told { retry: Some(SOON), ..told };
    match error {
        StoreError::Refused(refused) => of_refused(&refused),
        StoreError::Busy => later(Told::new(Code::ResourceExhausted, "BUSY", message)),
        StoreError::Unavailable(_) => {
            tracing::error!(%message, "the store has no answer");
            later(Told::new(
                Code::Unavailable,
                "STORE_UNAVAILABLE",
                "the store does not answer; whether the request was kept is not known, so send it again with the same id",
            ))
        }
        StoreError::Closed => later(Told::new(Code::Unavailable, "STOPPING", "the server is about to stop")),
        StoreError::Corrupt(_) | StoreError::Newer { .. } => Refusal::Internal(message).told(),
    }
}

/// A reason as part of an answer.
impl From<Refusal> for pb::Refusal {
    fn from(refusal: Refusal) -> Self {
        refusal.told().refusal()
    }
}

/// A reason as the end of a call.
impl From<Refusal> for Status {
    fn from(refusal: Refusal) -> Self {
        refusal.told().into()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
