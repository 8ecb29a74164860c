//! What persons decided, and the rows that answer a question.

use std::collections::BTreeMap;

use evenfare_engine::money::Net;
use evenfare_reconcile::input::Place;
use evenfare_reconcile::matching::Undecided;
use evenfare_reconcile::terms::{Decision, Part, PaymentId};

use crate::books::list::parse;
use crate::books::rows::{DECIDED_INVOICES, DECIDED_PAYMENTS, decided_invoice, decided_payment, once};
use crate::csv::push_row;
use crate::log::Log;

/// The file of decisions about payments.
pub(super) const PAYMENTS: &str = "decided_payments.csv";
/// The file of decisions about invoices.
pub(super) const INVOICES: &str = "decided_invoices.csv";

/// What payments are for: the rows of each make one decision.
pub(super) fn payments(text: &str, log: &mut Log) -> Vec<Decision> {
    let rows = parse(text, &DECIDED_PAYMENTS, log, decided_payment);
    let without = rows.iter().filter(|row| row.key.1.is_none());
    let nothing: Vec<_> = without.map(|row| (row.key.0.clone(), row.bytes.clone())).collect();
    let mut payments: BTreeMap<PaymentId, (Place, Vec<_>)> = BTreeMap::new();
    for (place, (id, invoice), taken) in once(rows, log) {
        let (first, towards) = payments.entry(id).or_insert_with(|| (place.clone(), Vec::new()));
        *first = place.min(first.clone());
        let part = |(invoice, (currency, minor))| Part { invoice, currency, minor };
        towards.extend(invoice.zip(taken).map(part));
    }
    for (id, bytes) in nothing {
        if payments.get(&id).is_some_and(|(_, towards)| !towards.is_empty()) {
            let expected = "rows with invoices, or one without, of a payment; not both";
            log.error(bytes, "decided_twice", &id.to_string(), expected);
        }
    }
    let decided = payments.into_iter();
    decided.map(|(payment, (place, towards))| Decision::Payment { place, payment, towards }).collect()
}

/// Which quotes invoices are for.
pub(super) fn invoices(text: &str, log: &mut Log) -> Vec<Decision> {
    let rows = once(parse(text, &DECIDED_INVOICES, log, decided_invoice), log);
    let decided = rows.into_iter();
    decided
        .map(|(place, (seller, number), quote)| Decision::Invoice { place, seller, number, quote })
        .collect()
}

/// The file that the answer to a question is a part of, and the first row of that file.
pub fn answered_in(question: &Undecided) -> (&'static str, String) {
    let (file, columns) = match question.payment {
        Some(_) => (PAYMENTS, &DECIDED_PAYMENTS),
        None => (INVOICES, &DECIDED_INVOICES),
    };
    let mut header = String::new();
    push_row(&mut header, columns.names);
    (file, header)
}

/// The rows that answer a question, for each candidate and, at last, for nothing that was agreed. One of
/// these texts, put below the rows of the file that [`answered_in`] names, is the person's decision.
///
/// Where a question is asked because there are too many combinations, each candidate is an invoice with what
/// is left of it, and several of them together are the answer.
///
/// # Examples
/// ```
/// use evenfare_files::{answered_in, answers};
/// use evenfare_reconcile::difference::{Document, Paper};
/// use evenfare_reconcile::matching::{Undecided, Why};
/// use evenfare_reconcile::terms::{Part, PaymentId};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let payment =
///     PaymentId { account: "DE02".into(), statement: "10/2026".into(), entry: 4, payment: 1 };
/// let part = |invoice: &str| Ok::<_, Box<dyn std::error::Error>>(Part {
///     invoice: invoice.into(), currency: "EUR".parse()?, minor: 11_900,
/// });
/// let question = Undecided {
///     subject: Document { paper: Paper::Payment, number: payment.to_string().into(), place: None },
///     payment: Some(payment),
///     seller: None,
///     why: Why::EquallyGood,
///     currency: "EUR".parse()?,
///     amount_minor: 11_900,
///     candidates: vec![vec!["R-1".into()], vec!["R-2".into()]],
///     parts: vec![vec![part("R-1")?], vec![part("R-2")?]],
/// };
/// assert_eq!(answered_in(&question).0, "decided_payments.csv");
/// assert_eq!(answers(&question), [
///     "DE02,10/2026,4,1,R-1,EUR,119.00\n",
///     "DE02,10/2026,4,1,R-2,EUR,119.00\n",
///     "DE02,10/2026,4,1,,,\n",
/// ]);
/// # Ok(()) }
/// ```
pub fn answers(question: &Undecided) -> Vec<String> {
    let mut answers = Vec::new();
    let mut answer = |rows: &[&[&str]]| {
        let mut text = String::new();
        rows.iter().for_each(|row| push_row(&mut text, row));
        answers.push(text);
    };
    if let Some(PaymentId { account, statement, entry, payment }) = &question.payment {
        let (entry, payment) = (entry.to_string(), payment.to_string());
        for parts in &question.parts {
            let amount = |part: &Part| {
                let amount = Net::from_minor(part.minor).ok()?;
                Some([part.currency.to_string(), amount.in_major_units(part.currency)])
            };
            // No file could hold larger amounts, so none asks about them.
            let Some(amounts) = parts.iter().map(amount).collect::<Option<Vec<_>>>() else { continue };
            let cells = parts.iter().zip(&amounts).map(|(part, [currency, amount])| {
                [&**account, &**statement, &entry, &payment, &part.invoice, currency, amount]
            });
            let cells: Vec<[&str; 7]> = cells.collect();
            answer(&cells.iter().map(<[&str; 7]>::as_slice).collect::<Vec<_>>());
        }
        answer(&[&[account, statement, &entry, &payment, "", "", ""]]);
    } else {
        let seller = question.seller.as_deref().unwrap_or_default();
        let number = &*question.subject.number;
        for quote in question.candidates.iter().filter_map(|candidate| candidate.first()) {
            answer(&[&[seller, number, quote]]);
        }
        answer(&[&[seller, number, ""]]);
    }
    answers
}
