//! What a reconciliation goes by: the workshop's own rules, as data.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Percent};

use crate::input::Place;

/// The rules of the workshop's books.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms {
    /// The currency the books are kept in.
    pub currency: Currency,
    /// The last day that is looked at; what comes after it is left for another time.
    pub until: NaiveDate,
    /// Up to this many minor units a document or payment may be off by rounding.
    pub rounding_minor: i64,
    /// Up to that percentage a bank's rate may be off the reference rate of the day, and less of a transfer may arrive
    /// than left where a person says which are its sides.
    pub currency_percent: Percent,
    /// Days after its issue by which an invoice is due that does not say.
    pub payment_days: u32,
    /// Partners who tell what they charge, and where that is said. Of others nothing is missed.
    pub reporting: BTreeMap<Arc<str>, Place>,
    /// Whose bank accounts there are.
    pub accounts: Vec<BankAccount>,
    /// Yearly bonuses on turnover.
    pub bonuses: Vec<BonusTier>,
}

/// Whose a bank account is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BankAccount {
    /// Where that stands.
    pub place: Place,
    /// The account, as a statement names it.
    pub account: Arc<str>,
    /// The firm, by what accounts know it by.
    pub firm: Arc<str>,
}

/// A step of a yearly bonus: from that turnover on, the percentage counts for all of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BonusTier {
    /// Where it stands.
    pub place: Place,
    /// The partner's code.
    pub partner: Arc<str>,
    /// The year it is agreed for.
    pub year: i32,
    /// From that turnover on, in minor units of the books' currency, net of VAT.
    pub from_minor: i64,
    /// Of the turnover of the year.
    pub percent: Percent,
}

/// A payment's name: the account, the bank's name of the statement, and the places in it, from 1.
///
/// A statement is known again by account and name, so this name outlives the file it was read from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PaymentId {
    /// The account.
    pub account: Arc<str>,
    /// The statement.
    pub statement: Arc<str>,
    /// The entry in the statement.
    pub entry: u32,
    /// The payment in the entry.
    pub payment: u32,
}

impl std::fmt::Display for PaymentId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&payment_name(&self.account, &self.statement, self.entry, self.payment))
    }
}

/// What one of our invoices, or a quote without one, takes of a payment; or which payment is the other side of it, where it
/// is a side of a transfer between own accounts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Its number, or that of a quote; of a transfer `payment` and the name of the payment at the other side.
    pub invoice: Box<str>,
    /// Of the invoice, and of the amount; of a quote that in which it is held, of a transfer that of the account.
    pub currency: Currency,
    /// How much.
    pub minor: i64,
}

impl Part {
    /// The name of the payment at the other side of a transfer, where that is what it says.
    pub fn other_side(&self) -> Option<&str> {
        self.invoice.strip_prefix(OTHER_SIDE)
    }
}

/// What stands before the name of a payment where the number of an invoice might stand.
const OTHER_SIDE: &str = "payment ";

/// A payment of this name, in the place of an invoice.
pub(crate) fn other_side(name: &str) -> Box<str> {
    format!("{OTHER_SIDE}{name}").into()
}

/// A payment's name as it is written.
pub(crate) fn payment_name(account: &str, statement: &str, entry: u32, payment: u32) -> String {
    // A year has a million: its room is known.
    let digits = |number: u32| number.checked_ilog10().and_then(|log| usize::try_from(log).ok()).unwrap_or(0);
    let room = [account.len(), statement.len(), digits(entry), digits(payment), "//0.0".len()];
    let mut name = String::with_capacity(room.iter().fold(0, |sum, part| sum.saturating_add(*part)));
    for part in [account, "/", statement, "/"] {
        name.push_str(part);
    }
    // Nothing is refused by a text.
    let _ = write!(name, "{entry}.{payment}");
    name
}

/// What a person decided where two matches were equally good; kept, and replayed each time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Decision {
    /// What a payment is for.
    Payment {
        /// Where it stands.
        place: Place,
        /// The payment.
        payment: PaymentId,
        /// Our invoices and the quotes that it is for, and how much of each; or, alone, the other side of it. With none,
        /// the payment is for nothing that was agreed.
        towards: Vec<Part>,
    },
    /// Which quote an invoice is for.
    Invoice {
        /// Where it stands.
        place: Place,
        /// Who wrote it: `workshop` or the partner's code.
        seller: Arc<str>,
        /// Its number.
        number: Box<str>,
        /// The quote; with none, it is for nothing that was agreed.
        quote: Option<Box<str>>,
    },
}

impl Decision {
    /// Where it stands.
    pub fn place(&self) -> &Place {
        match self {
            Self::Payment { place, .. } | Self::Invoice { place, .. } => place,
        }
    }

    /// What it is about, as an order: payments, then invoices by who wrote them.
    pub(crate) fn about(&self) -> (Option<&PaymentId>, &str, &str) {
        match self {
            Self::Payment { payment, .. } => (Some(payment), "", ""),
            Self::Invoice { seller, number, .. } => (None, seller, number),
        }
    }

    /// Does it say the same, wherever it stands?
    pub(crate) fn says_the_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Payment { towards: own, .. }, Self::Payment { towards: others, .. }) => own == others,
            (Self::Invoice { quote: own, .. }, Self::Invoice { quote: others, .. }) => own == others,
            _ => false,
        }
    }
}
