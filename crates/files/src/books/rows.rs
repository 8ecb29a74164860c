//! Which columns each list of month end has, and what a row of it says.

use chrono::NaiveDate;
use evenfare_engine::category::Work;
use evenfare_engine::money::{Currency, ReferenceRate};
use evenfare_engine::text::{Code, Text};
use evenfare_reconcile::input::{Charge, CourierBill, Leg, Place, WorkDone};
use evenfare_reconcile::terms::PaymentId;

use crate::books::figure::typed;
use crate::books::list::Columns;
use crate::fields::Fields;
use crate::log::Log;
use crate::source::Bytes;
use crate::value::Value;

/// What partners charged.
pub(super) const CHARGES: Columns =
    Columns { names: &["partner", "quote", "invoice", "issued", "currency", "net", "vat"], optional: &[] };
/// What couriers bill.
pub(super) const COURIER_BILLS: Columns = Columns {
    names: &["courier", "bill", "consignment", "quote", "leg", "carried", "currency", "net"],
    optional: &[],
};
/// What the workshop did itself.
pub(super) const WORK_DONE: Columns = Columns { names: &["quote", "work", "done"], optional: &[] };
/// Reference rates.
pub(super) const RATES: Columns = Columns { names: &["date", "currency", "units_per_eur"], optional: &[] };
/// What payments are for, by decision.
pub(super) const DECIDED_PAYMENTS: Columns = Columns {
    names: &["account", "statement", "entry", "payment", "invoice", "currency", "amount"],
    optional: &[],
};
/// Which quotes invoices are for, by decision.
pub(super) const DECIDED_INVOICES: Columns = Columns { names: &["seller", "number", "quote"], optional: &[] };

/// One line of text, shared or not.
pub(super) fn line<T: for<'t> From<&'t str>>(fields: &mut Fields, name: &'static str) -> Option<T> {
    fields.need::<Text>(name).map(|text| text.as_str().into())
}

pub(super) fn amount(fields: &mut Fields, name: &'static str, currency: Currency) -> Option<i64> {
    fields
        .need_with(name, "an amount", |node, log| typed(&node.in_words(), node.bytes.clone(), currency, log))
}

pub(super) fn charge(place: Place, fields: &mut Fields) -> Option<Charge> {
    let partner = fields.need::<Code>("partner");
    let (quote, invoice) = (line(fields, "quote"), line(fields, "invoice"));
    let issued = fields.need::<NaiveDate>("issued");
    let currency = fields.need::<Currency>("currency")?;
    let (net, vat) = (amount(fields, "net", currency), amount(fields, "vat", currency));
    Some(Charge {
        place,
        partner: partner?,
        quote: quote?,
        invoice: invoice?,
        issued: issued?,
        currency,
        net_minor: net?,
        vat_minor: vat?,
    })
}

pub(super) fn courier_bill(place: Place, fields: &mut Fields) -> Option<CourierBill> {
    let (courier, bill) = (line(fields, "courier"), line(fields, "bill"));
    let (consignment, quote) = (line(fields, "consignment"), line(fields, "quote"));
    let leg = fields.need::<Leg>("leg");
    let carried = fields.need::<NaiveDate>("carried");
    let currency = fields.need::<Currency>("currency")?;
    let net = amount(fields, "net", currency);
    Some(CourierBill {
        place,
        courier: courier?,
        bill: bill?,
        consignment: consignment?,
        quote: quote?,
        leg: leg?,
        carried: carried?,
        currency,
        net_minor: net?,
    })
}

pub(super) fn work_done(place: Place, fields: &mut Fields) -> Option<WorkDone> {
    let quote = line(fields, "quote");
    let (work, done) = (fields.need::<Work>("work"), fields.need("done"));
    Some(WorkDone { place, quote: quote?, work: work?, done: done? })
}

/// A row that says something of a key, and where: twice it may only say the same.
pub(super) struct Said<K, V> {
    pub(super) place: Place,
    pub(super) key: K,
    pub(super) value: V,
    /// The cell that the key begins with.
    pub(super) bytes: Bytes,
}

/// The rows of a table by their keys, each once, with the place of the first; one that says something else of a
/// key is reported.
pub(super) fn once<K: Ord, V: PartialEq>(rows: Vec<Said<K, V>>, log: &mut Log) -> Vec<(Place, K, V)> {
    let mut known: std::collections::BTreeMap<K, (Place, V)> = std::collections::BTreeMap::new();
    for Said { place, key, value, bytes } in rows {
        match known.get(&key) {
            Some((at, first)) if *first != value => {
                let found = log.source().text().get(bytes.clone()).unwrap_or_default().to_owned();
                let expected = format!("the same as in line {}, which is about the same", at.line);
                log.error(bytes, "said_twice", &found, expected);
            }
            Some(_) => {}
            None => {
                known.insert(key, (place, value));
            }
        }
    }
    known.into_iter().map(|(key, (place, value))| (place, key, value)).collect()
}

/// Where the value of that column stands.
pub(super) fn bytes(fields: &mut Fields, name: &'static str) -> Bytes {
    fields.node(name).map_or(0..0, |node| node.bytes.clone())
}

pub(super) type Shared = std::sync::Arc<str>;

pub(super) fn rate(place: Place, fields: &mut Fields) -> Option<Said<(NaiveDate, Currency), ReferenceRate>> {
    let (date, currency) = (fields.need("date"), fields.need("currency"));
    let rate = fields.need::<ReferenceRate>("units_per_eur");
    if let (Some(true), Some(node)) = (rate.map(ReferenceRate::is_zero), fields.node("units_per_eur")) {
        // A cell that was refused stands for nothing as well, and is told already.
        if !fields.log.has_error_at(node.bytes.start) {
            fields.log.error(node.bytes.clone(), "no_rate", &node.in_words(), "a rate above zero");
        }
    }
    Some(Said { place, key: (date?, currency?), value: rate?, bytes: bytes(fields, "date") })
}

/// A value that can be read; none where anything is told of its cell, or its column is not there.
pub(super) fn sound<T: Value>(fields: &mut Fields, name: &'static str) -> Option<T> {
    let before = fields.log.errors();
    let value = fields.node(name).is_some().then(|| fields.need(name));
    value.flatten().filter(|_| fields.log.errors() == before)
}

/// What an invoice takes of a payment, or that it is for nothing that was agreed.
pub(super) type PartRow = Said<(PaymentId, Option<Box<str>>), Option<(Currency, i64)>>;

pub(super) fn decided_payment(place: Place, fields: &mut Fields) -> Option<PartRow> {
    let (account, statement) = (line(fields, "account"), line(fields, "statement"));
    let (entry, payment) = (fields.need::<u32>("entry"), fields.need::<u32>("payment"));
    let invoice = fields.need::<Option<Text>>("invoice")?;
    let taken = match &invoice {
        Some(_) => {
            let currency = fields.need::<Currency>("currency")?;
            Some((currency, amount(fields, "amount", currency)?))
        }
        None => {
            for name in ["currency", "amount"] {
                if let Some(node) = fields.node(name).filter(|node| !node.is_absent()) {
                    let expected = "nothing, as there is no invoice; or an invoice";
                    fields.log.error(node.bytes.clone(), "invoice_missing", &node.in_words(), expected);
                }
            }
            None
        }
    };
    let id = PaymentId { account: account?, statement: statement?, entry: entry?, payment: payment? };
    let invoice = invoice.map(|invoice| invoice.as_str().into());
    Some(Said { place, key: (id, invoice), value: taken, bytes: bytes(fields, "account") })
}

/// Which quote an invoice is for, by its seller and number.
pub(super) type QuoteRow = Said<(Shared, Box<str>), Option<Box<str>>>;

pub(super) fn decided_invoice(place: Place, fields: &mut Fields) -> Option<QuoteRow> {
    let (seller, number) = (line(fields, "seller"), line(fields, "number"));
    let quote = fields.need::<Option<Text>>("quote")?.map(|quote| quote.as_str().into());
    Some(Said { place, key: (seller?, number?), value: quote, bytes: bytes(fields, "seller") })
}
