//! Rows of invoices to what they mean and back.

use std::fmt::Write as _;

use chrono::{Datelike as _, NaiveDate};
use evenfare_engine::text::Code;

use crate::invoice::{Billed, Invoice, Sale};
use crate::number::{Number, Series};
use crate::rows::number_values;
use crate::rules::{self, Numbered};
use crate::store::{InvoiceListing, Sight};
use crate::tables::{Ask, Fault, Row, Value, corrupt, said_of, sequence_value};

/// Invoices `i` with the entry `e` that each is of and the event `w` that wrote it, and which credit note `c` counts.
macro_rules! invoice_select {
    ($c:expr) => {
        concat!(
            "SELECT i.number, e.number, e.revision, i.offer, i.preceding, p.number, i.partner, i.issued, i.due, \
             i.currency, i.net_minor, i.gross_minor, e.reference, e.customer, w.recorded, w.reason, c.number \
             FROM invoices i JOIN entries e ON e.event = i.entry AND NOT e.reversal \
             JOIN events w ON w.sequence = i.event LEFT JOIN invoices p ON p.event = i.preceding \
             LEFT JOIN invoices c ON ",
            $c
        )
    };
}

/// As it stood right after that event.
pub(crate) fn invoice_of_event(event: u64) -> Ask<'static> {
    Ask::new(concat!(invoice_select!("FALSE"), " WHERE i.event = $1"), vec![sequence_value(event)])
}

/// The invoice or credit note of that number as it stands now; a partner finds what was sold to him.
pub(crate) fn invoice_now<'a>(number: &Number, partner: Option<&'a Code>) -> Ask<'a> {
    let mut sql = concat!(
        invoice_select!("c.preceding = i.event"),
        " WHERE i.series = $1 AND i.year = $2 AND i.sequence = $3"
    )
    .to_owned();
    let mut values = Vec::from(number_values(number));
    if let Some(partner) = partner {
        values.push(partner.into());
        sql.push_str(" AND i.partner = $4");
    }
    Ask::new(sql, values)
}

/// A page of invoices and credit notes, the last first, and one more.
pub(crate) fn invoices(listing: &InvoiceListing) -> Ask<'_> {
    let mut sql = invoice_select!("c.preceding = i.event").to_owned();
    let mut values: Vec<Value<'_>> = Vec::new();
    // The clause of the first has to say WHERE, of the others AND. Writing into a string does not fail.
    let mut narrow = |clause: &str, value: Value<'static>| {
        let word = if values.is_empty() { "WHERE" } else { "AND" };
        values.push(value);
        let _ = write!(sql, " {word} {clause} ${}", values.len());
    };
    let owner = match &listing.sight {
        Sight::All => "",
        Sight::Partner(partner) => {
            narrow("i.partner =", partner.as_str().to_owned().into());
            " AND n.partner = $1"
        }
    };
    let filter = &listing.filter;
    if let Some(series) = &filter.series {
        // By no index, as in a list of quotes.
        narrow("i.series || '' =", series.as_str().to_owned().into());
    }
    if let Some(quote) = &filter.quote {
        let [series, year, place] = number_values(quote);
        narrow("e.series =", series);
        narrow("e.year =", year);
        narrow("e.sequence =", place);
    }
    if let Some(day) = filter.issued_from {
        narrow("i.issued >=", day.into());
    }
    if let Some(day) = filter.issued_until {
        narrow("i.issued <=", day.into());
    }
    if let Some(number) = &listing.before {
        let [series, year, place] = number_values(number);
        narrow("i.event < (SELECT n.event FROM invoices n WHERE n.series =", series);
        narrow("n.year =", year);
        narrow("n.sequence =", place);
        let _ = write!(sql, "{owner})");
    }
    values.push(i64::from(listing.limit.max(1)).saturating_add(1).into());
    let _ = write!(sql, " ORDER BY i.event DESC LIMIT ${}", values.len());
    Ask::new(sql, values)
}

pub(crate) fn invoice_of_row(mut row: Row) -> Result<Invoice, Fault> {
    let number: Number = row.parsed("the number")?;
    invoice_of(number.clone(), row).map_err(|fault| said_of(&number, fault))
}

fn invoice_of(number: Number, mut row: Row) -> Result<Invoice, Fault> {
    let (quote, revision, offer) =
        (row.parsed("the quote")?, row.int("the revision")?, row.parsed("the offer")?);
    let has_preceding = row.optional_int::<i64>("the preceding invoice")?.is_some();
    let preceding = row.optional_parsed("the preceding invoice")?;
    if has_preceding != preceding.is_some() {
        return Err(corrupt("the preceding invoice is missing"));
    }
    let billed = Billed {
        quote,
        revision,
        offer,
        preceding,
        partner: row.optional_parsed("the partner")?,
        issued: row.day("the day of issue")?,
        due: row.optional_day("the day due")?,
        currency: row.parsed("the currency")?,
        sale: Sale { net_minor: row.int("the net amount")?, gross_minor: row.int("the gross amount")? },
    };
    Ok(Invoice {
        number,
        billed,
        reference: row.parsed("the reference")?,
        customer: row.parsed("the customer")?,
        recorded: row.moment("the time")?,
        reason: row.parsed("the reason")?,
        credited: row.optional_parsed("the credit note")?,
    })
}

/// Of any entry of a quote, the invoice that was not taken back.
pub(crate) fn standing_of(quote: &Number) -> Ask<'static> {
    let sql = "SELECT i.number FROM entries e JOIN invoices i ON i.entry = e.event \
         WHERE e.series = $1 AND e.year = $2 AND e.sequence = $3 AND i.preceding IS NULL \
         AND NOT EXISTS (SELECT 1 FROM invoices c WHERE c.preceding = i.event) ORDER BY i.event LIMIT 1";
    Ask::new(sql, Vec::from(number_values(quote)))
}

/// A number alone.
pub(crate) fn number_of_row(mut row: Row) -> Result<Number, Fault> {
    row.parsed("the number")
}

/// The last invoice or credit note of a series in the year of that day, and whether the series has quotes and invoices
/// so far.
pub(crate) fn last_of_series(series: &Series, day: NaiveDate) -> Ask<'_> {
    let sql = "SELECT EXISTS (SELECT 1 FROM entries WHERE series = $1), \
         EXISTS (SELECT 1 FROM invoices WHERE series = $1), l.sequence, l.issued \
         FROM (SELECT 1) one LEFT JOIN (SELECT sequence, issued FROM invoices WHERE series = $1 AND year = $2 \
         ORDER BY sequence DESC LIMIT 1) l ON TRUE";
    Ask::new(sql, vec![series.as_str().into(), i64::from(day.year()).into()])
}

/// The answer to [`last_of_series`]: the last number, where one of that day may come next.
pub(crate) fn of_invoices(row: Option<Row>, series: &Series) -> Result<Option<(u32, NaiveDate)>, Fault> {
    let mut row = row.ok_or_else(|| corrupt("a series has no answer"))?;
    let has = (row.flag("the use of the series")?, row.flag("the use of the series")?);
    rules::in_series(series, Numbered::Invoices, has)?;
    let last = row.optional_int("the number")?;
    Ok(last.zip(row.optional_day("the day of issue")?))
}

pub(crate) fn insert_invoice(event: u64, invoice: &Invoice) -> Ask<'_> {
    let Billed { quote, revision, offer, preceding, partner, issued, due, currency, sale } = &invoice.billed;
    // The entry is the one that was accepted, and so no opposite one.
    let sql = "INSERT INTO invoices (event, series, year, sequence, preceding, entry, offer, partner, issued, due, \
         currency, net_minor, gross_minor) VALUES ($1, $2, $3, $4, \
         (SELECT event FROM invoices WHERE series = $5 AND year = $6 AND sequence = $7), \
         (SELECT event FROM entries WHERE series = $8 AND year = $9 AND sequence = $10 AND revision = $11 \
         AND NOT reversal), $12, $13, $14, $15, $16, $17, $18)";
    let mut values = vec![sequence_value(event)];
    values.extend(number_values(&invoice.number));
    match preceding {
        Some(preceding) => values.extend(number_values(preceding)),
        None => values.extend([Value::Text(None), Value::Int(None), Value::Int(None)]),
    }
    values.extend(number_values(quote));
    values.extend([
        (*revision).into(),
        offer.into(),
        Value::Text(partner.as_ref().map(|partner| partner.as_str().into())),
        (*issued).into(),
        Value::Day(*due),
        currency.code().into(),
        sale.net_minor.into(),
        sale.gross_minor.into(),
    ]);
    Ask::new(sql, values)
}
