//! Papers, as a closing keeps them.
//!
//! What is posted of a paper, a closing has in its journal. What else it says, and what papers say of which nothing
//! is posted, no journal has: so a closing keeps every paper of its days.

use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Net};

use crate::agreed::Agreed;
use crate::difference::Paper;
use crate::firm::WORKSHOP;
use crate::input::{AccountingVat, Charge, CourierBill, Invoice, InvoiceVat, Leg, Trader, WorkDone};
use crate::journal::Event;
use crate::loaded::Received;
use crate::matching::{Written, signed};

/// A paper, as far as a closing keeps it: a sale of a quote, an invoice or credit note, a line of what a partner
/// charged, a payment, a consignment on a courier's bill, or work that was done on site.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct KeptPaper {
    /// What it is; a line of what a partner charged is an invoice.
    pub paper: Paper,
    /// Who sells: a code or the courier; of an invoice that is not ours the VAT identifier or, without one, the
    /// name. Of payments and of work done `workshop`.
    pub seller: Arc<str>,
    /// Its number, as the journal has it; of a quote with the revision, as `Q-2026-00002/1`; of work done its word.
    pub number: Box<str>,
    /// The quote, as a line of what a partner charged or a record of work done names it; of other papers none.
    pub quote: Option<Box<str>>,
    /// The day it is of.
    pub day: NaiveDate,
    /// What it says; none where it is there no more.
    pub said: Option<Said>,
}

/// What a paper says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Said {
    /// Of the amounts; of work done that of the books.
    pub currency: Currency,
    /// Before VAT, in minor units; of a credit note below nothing. Of a payment what came in; of work done nothing.
    pub net_minor: i64,
    /// With VAT.
    pub gross_minor: i64,
    /// What else it says, in the order of the kinds.
    pub details: Box<[(Detail, Box<str>)]>,
}

macro_rules! details {
    ($($(#[$doc:meta])* $name:ident = $word:literal,)*) => {
        /// What a paper says besides its day and its amounts; one that is not here, it does not say.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Detail { $($(#[$doc])* $name,)* }

        impl Detail {
            /// All of them, in order.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The word for it.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$name => $word,)* }
            }
        }
    };
}

details! {
    /// Who buys: name, country and VAT identifier.
    Buyer = "buyer",
    /// The quote that an invoice or a courier's bill names.
    Quote = "quote",
    /// The invoice that a credit note takes back.
    Preceding = "preceding",
    /// The day an invoice is due.
    Due = "due",
    /// VAT of one category and rate: both, the base and the tax.
    Vat = "vat",
    /// All VAT in the currency that it is accounted for in.
    AccountingVat = "accounting_vat",
    /// What an invoice asks to be paid.
    Payable = "payable",
    /// What an invoice asks a payer to quote, and what a payer quoted.
    Reference = "reference",
    /// Who paid: name and account.
    Payer = "payer",
    /// What the payer wrote.
    Remittance = "remittance",
    /// What the payer sent, in another currency.
    Instructed = "instructed",
    /// What a bank kept back on the way.
    Charges = "charges",
    /// Which way a consignment went.
    Leg = "leg",
}

/// What a paper is known again by.
pub(crate) type Name<'p> = (Paper, &'p str, &'p str, Option<&'p str>);

impl KeptPaper {
    pub(crate) fn name(&self) -> Name<'_> {
        (self.paper, &self.seller, &self.number, self.quote.as_deref())
    }

    /// Is it the same paper, whatever it says?
    pub fn is_of(&self, other: &Self) -> bool {
        self.name() == other.name()
    }

    /// What is posted of it, where anything is.
    pub fn event(&self) -> Option<Event> {
        match self.paper {
            Paper::Invoice | Paper::CreditNote => (*self.seller == *WORKSHOP).then_some(Event::Invoice),
            Paper::Payment => Some(Event::Payment),
            Paper::CourierBill => Some(Event::CourierBill),
            Paper::Quote | Paper::WorkDone => None,
        }
    }

    /// The quote it is of, as it names it.
    pub(crate) fn of(&self) -> Option<&str> {
        let detail = || {
            let details = &self.said.as_ref()?.details;
            details.iter().find(|(detail, _)| *detail == Detail::Quote).map(|(_, text)| &**text)
        };
        let of_quote = || self.number.rsplit_once('/').map(|(number, _)| number);
        match self.paper {
            Paper::Quote => of_quote(),
            _ => self.quote.as_deref().or_else(detail),
        }
    }

    /// Each sale of a quote.
    pub(crate) fn of_quote(agreed: &Agreed) -> impl Iterator<Item = Self> + '_ {
        agreed.sales.iter().map(|sale| Self {
            paper: Paper::Quote,
            seller: Arc::clone(&sale.seller.id),
            number: format!("{}/{}", agreed.number, agreed.revision).into(),
            quote: None,
            day: agreed.accepted,
            said: Some(Said {
                currency: agreed.currency,
                net_minor: sale.net.minor(),
                gross_minor: sale.gross.minor(),
                details: Box::default(),
            }),
        })
    }

    pub(crate) fn of_invoice(invoice: &Invoice, is_ours: bool) -> Self {
        let currency = invoice.currency;
        let maybe = |detail, text: &Option<Box<str>>| text.clone().map(|text| (detail, text));
        let mut details = vec![(Detail::Buyer, trader(&invoice.buyer))];
        details.extend(maybe(Detail::Quote, &invoice.quote));
        details.extend(maybe(Detail::Preceding, &invoice.preceding));
        details.extend(invoice.due.map(|due| (Detail::Due, due.to_string().into())));
        details.extend(invoice.vat.iter().map(|vat| (Detail::Vat, group(vat, currency))));
        let accounting = |vat: AccountingVat| (Detail::AccountingVat, amount(vat.minor, vat.currency));
        details.extend(invoice.accounting_vat.map(accounting));
        details.push((Detail::Payable, amount(invoice.payable_minor, currency)));
        details.extend(maybe(Detail::Reference, &invoice.payment_reference));
        Self {
            paper: Written::Invoice(invoice).paper(),
            seller: if is_ours { WORKSHOP.into() } else { Arc::clone(invoice.seller.key()) },
            number: invoice.number.clone(),
            quote: None,
            day: invoice.issued,
            said: Some(Said {
                currency,
                net_minor: signed(invoice, invoice.net_minor),
                gross_minor: signed(invoice, invoice.gross_minor),
                details: in_order(details),
            }),
        }
    }

    pub(crate) fn of_charge(charge: &Charge) -> Self {
        Self {
            paper: Paper::Invoice,
            seller: charge.partner.as_str().into(),
            number: charge.invoice.clone(),
            quote: Some(charge.quote.clone()),
            day: charge.issued,
            said: Some(Said {
                currency: charge.currency,
                net_minor: charge.net_minor,
                gross_minor: charge.net_minor.saturating_add(charge.vat_minor),
                details: Box::default(),
            }),
        }
    }

    pub(crate) fn of_payment(received: &Received<'_>) -> Self {
        let (payment, currency) = (received.payment, received.currency());
        let joined = |parts: [Option<&str>; 2]| parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
        let quoted: Vec<&str> =
            payment.structured.iter().chain(&payment.end_to_end).map(|text| &**text).collect();
        let payer = joined([payment.party.as_deref(), payment.party_account.as_deref()]);
        let texts = [
            (Detail::Reference, quoted.join(", ")),
            (Detail::Payer, payer),
            (Detail::Remittance, payment.remittance.to_string()),
        ];
        let texts = texts.into_iter().filter(|(_, text)| !text.is_empty());
        let mut details: Vec<_> = texts.map(|(detail, text)| (detail, text.into())).collect();
        details.extend(payment.instructed.map(|(minor, sent)| (Detail::Instructed, amount(minor, sent))));
        if payment.charges_minor != 0 {
            details.push((Detail::Charges, amount(payment.charges_minor, currency)));
        }
        Self {
            paper: Paper::Payment,
            seller: WORKSHOP.into(),
            number: received.name(),
            quote: None,
            day: received.booked,
            said: Some(Said {
                currency,
                net_minor: payment.minor,
                gross_minor: payment.minor,
                details: in_order(details),
            }),
        }
    }

    /// A row of a courier's bill, with what it is known by.
    pub(crate) fn of_courier_bill(bill: &CourierBill, number: Box<str>) -> Self {
        let leg = match bill.leg {
            Leg::In => "in",
            Leg::Out => "out",
        };
        Self {
            paper: Paper::CourierBill,
            seller: bill.courier.as_ref().into(),
            number,
            quote: None,
            day: bill.carried,
            said: Some(Said {
                currency: bill.currency,
                net_minor: bill.net_minor,
                gross_minor: bill.net_minor,
                details: in_order(vec![(Detail::Quote, bill.quote.clone()), (Detail::Leg, leg.into())]),
            }),
        }
    }

    pub(crate) fn of_work(work: &WorkDone, books: Currency) -> Self {
        Self {
            paper: Paper::WorkDone,
            seller: WORKSHOP.into(),
            number: work.work.word().into(),
            quote: Some(work.quote.clone()),
            day: work.done,
            said: Some(Said { currency: books, net_minor: 0, gross_minor: 0, details: Box::default() }),
        }
    }
}

fn in_order(mut details: Vec<(Detail, Box<str>)>) -> Box<[(Detail, Box<str>)]> {
    details.retain(|(_, text)| !text.is_empty());
    details.sort_unstable();
    details.into()
}

fn trader(trader: &Trader) -> Box<str> {
    let country = trader.country.map(|country| country.as_str().to_owned());
    let parts = [Some(trader.name.to_string()), country, trader.vat_id.as_deref().map(str::to_owned)];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ").into()
}

fn group(vat: &InvoiceVat, currency: Currency) -> Box<str> {
    let InvoiceVat { category: _, code, rate, base_minor, tax_minor } = vat;
    let rate = rate.map(|rate| format!(" {rate} %")).unwrap_or_default();
    let (base, tax) = (amount(*base_minor, currency), amount(*tax_minor, currency));
    format!("{code}{rate} of {base}: {tax}").into()
}

/// An amount as it is read; one beyond what an amount may be in minor units.
fn amount(minor: i64, currency: Currency) -> Box<str> {
    let amount = Net::from_minor(minor).map(|amount| amount.in_major_units(currency));
    format!("{} {currency}", amount.unwrap_or_else(|_| format!("{minor} minor units of"))).into()
}
