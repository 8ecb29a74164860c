//! The journal as lines of text, each column described.

use evenfare_engine::money::{Currency, Net, Overflow};

use crate::chart::Chart;
use crate::journal::{Journal, Posting, Transaction};

/// The columns of a journal's line, and what stands in each.
pub const COLUMNS: [(&str, &str); 12] = [
    ("transaction", "Number of the transaction in this journal; its lines add up to nothing in `base`."),
    ("posted", "The day it counts for: that of the document, or the first that was open when it was found."),
    ("day", "The day of the document."),
    ("event", "What happened: invoice, payment, bank_charges, courier_bill, bonus or rounding."),
    ("document", "The document's number; a payment's account, statement and place in it."),
    ("party", "The partner, customer or courier; empty where there is none."),
    ("account", "The account, by the chart of accounts."),
    ("debit", "The amount, where it is a debit, in `currency`."),
    ("credit", "The amount, where it is a credit, in `currency`."),
    ("currency", "ISO 4217 code of the document."),
    ("base", "The amount in the books' currency: a debit above nothing, a credit below."),
    ("base_currency", "ISO 4217 code of the books."),
];

/// The journal line by line, in the order of [`COLUMNS`]; amounts with all decimals of their currency.
///
/// # Errors
/// Each line [`Overflow`] where its amount is beyond what an amount may be.
pub fn lines<'j>(
    journal: &'j Journal,
    chart: &'j Chart,
    books: Currency,
) -> impl Iterator<Item = Result<[String; COLUMNS.len()], Overflow>> + 'j {
    let numbered = (1_u64..).zip(journal.transactions());
    numbered.flat_map(move |(number, (one, postings))| {
        postings.iter().map(move |posting| line(number, one, posting, chart, books))
    })
}

fn line(
    number: u64,
    one: &Transaction,
    posting: &Posting,
    chart: &Chart,
    books: Currency,
) -> Result<[String; COLUMNS.len()], Overflow> {
    let amount = |minor: i64, currency| Ok(Net::from_minor(minor)?.in_major_units(currency));
    let of_side = |is_side: bool| match is_side {
        true => amount(posting.minor.saturating_abs(), posting.currency),
        false => Ok(String::new()),
    };
    Ok([
        number.to_string(),
        one.posted.to_string(),
        one.day.to_string(),
        one.source.event.word().to_owned(),
        one.source.document.to_string(),
        one.source.party.as_deref().unwrap_or_default().to_owned(),
        chart.account(posting.role).to_owned(),
        of_side(posting.minor > 0)?,
        of_side(posting.minor < 0)?,
        posting.currency.to_string(),
        amount(posting.base_minor, books)?,
        books.to_string(),
    ])
}
