//! Differences: what is not as it was agreed, why, by how much, and by which papers.

use std::fmt;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::category::Work;
use evenfare_engine::money::Currency;

use crate::input::Place;

macro_rules! reasons {
    ($($(#[$doc:meta])* $name:ident = $code:literal,)*) => {
        /// Why something is a difference.
        ///
        /// Amounts are what was found less what was agreed, unless said otherwise here.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Reason { $($(#[$doc])* $name,)* }

        impl Reason {
            /// All of them, in order.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The stable code.
            pub const fn code(self) -> &'static str {
                match self { $(Self::$name => $code,)* }
            }
        }
    };
}

reasons! {
    /// The end customer was charged more than the fixed price, before VAT.
    ChargedMore = "charged_more",
    /// The end customer was charged less, and the day by which the sale is invoiced is past: another part may come until
    /// then.
    ChargedLess = "charged_less",
    /// A partner was charged less than agreed, so that his share is beyond it; told from the same day on. The amount is of
    /// the share.
    ShareBeyond = "share_beyond",
    /// A partner was charged more than agreed, so that his share is below it. The amount is of the share.
    ShareBelow = "share_below",
    /// A partner's share is that of an agreement which was not in force on the day. The amount is of the
    /// share.
    AgreementDate = "agreement_date",
    /// VAT of another category than agreed, also of a part of what was charged as agreed. The amount is of the VAT.
    VatCategory = "vat_category",
    /// VAT of another rate than agreed. The amount is of the VAT.
    VatRate = "vat_rate",
    /// VAT that is not its rate of its base. The amount is of the VAT.
    VatAmount = "vat_amount",
    /// A sale without an invoice, though its day is past. The amount is its gross, as a minus.
    InvoiceMissing = "invoice_missing",
    /// A second invoice of one sale. The amount is its gross.
    InvoiceDouble = "invoice_double",
    /// An invoice of a sale that was taken back. The amount is its gross; of several currencies, each is told.
    InvoiceReversed = "invoice_reversed",
    /// An invoice that belongs to no quote. The amount is its gross, less what credit notes took back of it.
    InvoiceUnknown = "invoice_unknown",
    /// An invoice to another party than the quote: who has it owes it on his account, and whoever bought has none. The
    /// amount is its gross, less what credit notes to the same party took back of it.
    InvoiceOtherParty = "invoice_other_party",
    /// A credit note to another party than the one whose invoice or quote it names: it takes nothing back of that. Where it
    /// names the quote of who has it and the invoice of another, it takes back of the quote. The amount is its gross, as a
    /// minus.
    CreditOtherParty = "credit_other_party",
    /// An invoice that is due and not paid in full.
    Unpaid = "unpaid",
    /// More was paid than an invoice asks for, or in advance for a quote that was taken back.
    Overpaid = "overpaid",
    /// Money came in that is for nothing known.
    PaymentUnknown = "payment_unknown",
    /// Money went out to a party that is known, for nothing known: it pays out no bonus and returns nothing that came in. Or
    /// more went back of an advance for a quote than had come in. It stands on the party's account. Or the bank took
    /// something back, and it is not known what. The amount is a minus.
    PaidUnknown = "paid_unknown",
    /// Money went from one account of ours to another, and after ten days the other side is not there. The amount is
    /// what is in transit. Or a person said which side it is, and less arrived than the terms allow to be kept back: the
    /// amount is what is missing, as a minus.
    InTransit = "in_transit",
    /// A courier billed more or less for a leg than was quoted.
    Courier = "courier",
    /// A courier billed for carriage that no quote knows. The amount is what he billed.
    CourierUnknown = "courier_unknown",
    /// A partner was credited for work that the workshop did or paid. The amount is the credit.
    CreditForOurWork = "credit_for_our_work",
    /// Off by no more than rounding may be.
    Rounding = "rounding",
    /// Invoiced in another currency than agreed, or converted at a rate too far from the reference rate.
    /// For invoices the amount is their gross in that currency; for a payment, what came in less what it is at the
    /// reference rate. Of a transfer in two currencies whose sides a person named, what arrived less what left, in the
    /// currency of the books.
    Currency = "currency",
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.code())
    }
}

/// What a document is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Paper {
    /// An accepted quote; it has no place in a file.
    Quote,
    /// An invoice or a line of what a partner charged.
    Invoice,
    /// A credit note.
    CreditNote,
    /// A payment on an account.
    Payment,
    /// A courier's bill.
    CourierBill,
    /// The workshop's record of what it did.
    WorkDone,
}

impl Paper {
    /// All of them, in order.
    pub const ALL: &'static [Self] =
        &[Self::Quote, Self::Invoice, Self::CreditNote, Self::Payment, Self::CourierBill, Self::WorkDone];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Quote => "quote",
            Self::Invoice => "invoice",
            Self::CreditNote => "credit note",
            Self::Payment => "payment",
            Self::CourierBill => "courier bill",
            Self::WorkDone => "work done",
        }
    }
}

/// A document behind a difference.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Document {
    /// What it is.
    pub paper: Paper,
    /// Its number.
    pub number: Box<str>,
    /// Where it was read; none of what the store keeps.
    pub place: Option<Place>,
}

/// One difference.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Difference {
    /// The day that it is of.
    pub day: NaiveDate,
    /// Why.
    pub reason: Reason,
    /// The quote, where one is known.
    pub quote: Option<Box<str>>,
    /// Whom it concerns: who charged or was charged, who paid, whose share it is; a courier by his name.
    pub party: Arc<str>,
    /// Of the amount.
    pub currency: Currency,
    /// By how much, in minor units; the [`Reason`] says of what.
    pub amount_minor: i64,
    /// What was agreed or asked for of that, in minor units; none where nothing was in that currency, so that the amount is
    /// all that was found. A closing from before it was kept has none.
    pub agreed_minor: Option<i64>,
    /// The documents behind it.
    pub documents: Vec<Document>,
}

/// What a difference is about, whatever it comes to: why, whom it concerns, the currency, the quote and the number of the
/// first paper behind it.
pub type About<'d> = (Reason, &'d str, Currency, Option<&'d str>, Option<&'d str>);

impl Difference {
    /// What was agreed, and what was found: the two that it is the difference of, in minor units. None where nothing was
    /// agreed.
    ///
    /// While a question is open, what it may be the answer to counts as found.
    pub fn figures(&self) -> Option<[i64; 2]> {
        let agreed = self.agreed_minor?;
        Some([agreed, agreed.checked_add(self.amount_minor)?])
    }

    /// What it is about: by that it is known again when it comes to another amount, or more papers stand behind it.
    pub fn about(&self) -> About<'_> {
        let first = self.documents.iter().find(|document| document.paper != Paper::Quote);
        // What was taken back of a sale without an invoice stands behind it, and comes later; so may the bill for a leg of
        // which there is a record, or the record. Other work has records alone, which say what it is.
        let is_work = |first: &&Document| {
            first.paper == Paper::WorkDone
                && ![Work::LegIn, Work::LegOut].iter().any(|leg| leg.word() == &*first.number)
        };
        let first = match self.reason {
            Reason::InvoiceMissing => None,
            Reason::CreditForOurWork => first.filter(is_work),
            _ => first,
        };
        let quote = self.quote.as_deref();
        (self.reason, &self.party, self.currency, quote, first.map(|first| &*first.number))
    }
}
