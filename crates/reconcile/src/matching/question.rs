//! What only a person can decide.

use std::sync::Arc;

use evenfare_engine::money::Currency;

use crate::difference::Document;
use crate::terms::{Part, PaymentId};

macro_rules! whys {
    ($($(#[$doc:meta])* $name:ident = $code:literal,)*) => {
        /// Why something was not matched.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Why { $($(#[$doc])* $name,)* }

        impl Why {
            /// All of them, in order.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The stable code.
            pub const fn code(self) -> &'static str {
                match self { $(Self::$name => $code,)* }
            }
        }
    };
}

whys! {
    /// Several matches are equally good.
    EquallyGood = "equally_good",
    /// The party has more open invoices than combinations of them are tried for.
    TooMany = "too_many",
    /// It is a part of what is left of one of several invoices, or of one about which another question is open.
    PartOfSeveral = "part_of_several",
    /// It goes out to who is owed money back, and is a part of that or in another currency.
    GivenBack = "given_back",
    /// It names invoices of several currencies.
    SeveralCurrencies = "several_currencies",
    /// It names an invoice, or a quote before there is one, of another party than the one that paid. Or it goes to somebody
    /// whom nobody knows, and who paid nothing for those whose papers it names.
    OtherPayer = "other_payer",
    /// It is listed as going between accounts of the workshop, and names an invoice or a quote or is of a party. No
    /// other candidate: it may be for nothing that was agreed, which leaves it a transfer.
    OwnAccount = "own_account",
    /// It goes between accounts of the workshop, and several are equally good as its other side.
    OtherSide = "other_side",
}

/// A question for a person: what a payment or an invoice is for. A
/// [`Decision`](crate::terms::Decision) answers it.
///
/// What it may be for is not told as a difference as well: as unpaid, as overpaid where money went out, or as a sale
/// without an invoice. That holds for all of the candidates, also where only some of the best are told. What a month was
/// closed with stays a difference until then, as it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undecided {
    /// The payment or invoice.
    pub subject: Document,
    /// The payment's name, where it is one.
    pub payment: Option<PaymentId>,
    /// Who wrote the invoice, where it is one: `workshop` or the partner's code.
    pub seller: Option<Arc<str>>,
    /// Why it is asked.
    pub why: Why,
    /// Of the amount.
    pub currency: Currency,
    /// What came in and what banks kept back of it on the way, or the invoice's gross. Each answer's parts come to it.
    pub amount_minor: i64,
    /// What it may be for: numbers of our invoices, which together are one match, and of quotes of which money may give
    /// back what was paid in advance; for an invoice, the number of a quote; for a side of a transfer, the other side as
    /// [`Part`] has it.
    /// Some of the best, where there are many.
    pub candidates: Vec<Vec<Box<str>>>,
    /// For a payment, what each of the candidates takes of it, invoice by invoice; where there are too many to
    /// try, or of several currencies, what is left of each.
    pub parts: Vec<Vec<Part>>,
}
