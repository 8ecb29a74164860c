//! Books as lines of text: what stands in each column, and the lines of journal, account and what else a party is told.
//!
//! Amounts are plain decimals with a point and all decimals of their currency, so nothing is lost on the way.

use std::cmp::Ordering;

use evenfare_engine::money::{Currency, Net, Overflow};

use crate::account::PartyStatement;
use crate::chart::{Chart, Charts};
use crate::difference::Difference;
use crate::earned::Earned;
use crate::journal::{Journal, Posting, Transaction};
use crate::left_open::OpenItem;
use crate::month::Month;
use crate::told::{Told, number_told};

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

/// The journal line by line, in the order of [`COLUMNS`]; amounts with all decimals of their currency. What counts for
/// a closed month has the accounts that the month was closed with.
///
/// # Errors
/// Each line [`Overflow`] where its amount is beyond what an amount may be.
pub fn lines<'j>(
    journal: &'j Journal,
    charts: &'j Charts,
    books: Currency,
) -> impl Iterator<Item = Result<[String; COLUMNS.len()], Overflow>> + 'j {
    let numbered = (1_u64..).zip(journal.transactions());
    numbered.flat_map(move |(number, (one, postings))| {
        let chart = charts.of(Month::of(one.posted));
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
    let [debit, credit] = sides(posting.minor, posting.currency)?;
    Ok([
        number.to_string(),
        one.posted.to_string(),
        one.day.to_string(),
        one.source.event.word().to_owned(),
        one.source.document.to_string(),
        one.source.party.as_deref().unwrap_or_default().to_owned(),
        chart.account(posting.role).to_owned(),
        debit,
        credit,
        posting.currency.to_string(),
        amount(posting.base_minor, books)?,
        books.to_string(),
    ])
}

/// The columns of a line of a party's account statement, and what stands in each.
pub const STATEMENT: [(&str, &str); 10] = [
    ("party", "The partner's code; of a customer the VAT identifier or, without one, the name."),
    ("month", "The month of the statement, as 2026-10."),
    ("currency", "ISO 4217 code of the account."),
    ("event", "opening, then what happened as in the journal, at last closing."),
    ("posted", "The day it counts for; of opening and closing the first and the last of the month."),
    ("day", "The day of the document; empty for opening and closing."),
    ("document", "The document's number, as in the journal; empty for opening and closing."),
    ("charged", "What the party owes more; in the line of closing, all of it."),
    ("credited", "What it owes less, paid or credited; in the line of closing, all of it."),
    ("balance", "What it owes then; below zero, what it is owed."),
];

/// A party's account line by line, in the order of [`STATEMENT`]: the opening, what moved it, the closing.
///
/// Opening and lines come to the closing, which is the opening of the next month
/// (`statement_ties_to_the_cent`).
///
/// # Errors
/// [`Overflow`] where an amount is beyond what an amount may be.
///
/// # Examples
/// A month in which nothing moved has an opening and a closing all the same:
/// ```
/// use evenfare_reconcile::account::PartyStatement;
/// use evenfare_reconcile::columns;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let account = PartyStatement { opening_minor: 1_050, closing_minor: 1_050, ..PartyStatement::default() };
/// let lines = columns::statement("P-BRZEG", "EUR".parse()?, "2026-10".parse()?, &account)?;
/// assert_eq!(lines[0].join(","), "P-BRZEG,2026-10,EUR,opening,2026-10-01,,,,,10.50");
/// assert_eq!(lines[1].join(","), "P-BRZEG,2026-10,EUR,closing,2026-10-31,,,0.00,0.00,10.50");
/// # Ok(()) }
/// ```
pub fn statement(
    party: &str,
    currency: Currency,
    month: Month,
    account: &PartyStatement<'_>,
) -> Result<Vec<[String; STATEMENT.len()]>, Overflow> {
    let line = |[event, posted, day, document]: [&str; 4], sides: [String; 2], balance: i64| {
        let [charged, credited] = sides;
        let own = [party, &month.to_string(), currency.code(), event, posted, day, document];
        let [party, month, code, event, posted, day, document] = own.map(str::to_owned);
        let balance = amount(balance, currency)?;
        Ok::<_, Overflow>([party, month, code, event, posted, day, document, charged, credited, balance])
    };
    let first = month.first_day().to_string();
    let mut lines = Vec::with_capacity(account.lines.len().saturating_add(2));
    lines.push(line(["opening", &first, "", ""], Default::default(), account.opening_minor)?);
    for one in &account.lines {
        let (source, minor) = (&one.transaction.source, one.minor);
        let (posted, day) = (one.transaction.posted.to_string(), one.transaction.day.to_string());
        let told = [source.event.word(), &posted, &day, &source.document];
        lines.push(line(told, sides(minor, currency)?, one.balance_minor)?);
    }
    let charged = amount(account.charged_minor, currency)?;
    let credited = amount(account.credited_minor.saturating_abs(), currency)?;
    let closing = ["closing", &month.last_day().to_string(), "", ""];
    lines.push(line(closing, [charged, credited], account.closing_minor)?);
    Ok(lines)
}

/// The columns of a line of what is open on a party's account, and what stands in each.
pub const OPEN: [(&str, &str); 10] = [
    ("party", "The partner's code; of a customer the VAT identifier or, without one, the name."),
    ("month", "The month at whose end it is open, as 2026-10."),
    (
        "what",
        "invoice, credit_note, advance (paid for a quote before there is an invoice), payment (for nothing known, or in \
         question), bonus or rounding.",
    ),
    ("document", "The document's number, as in the journal; of a bonus that of the last."),
    ("quote", "The quote, where one is known."),
    ("day", "The day of the document."),
    ("due", "The day by which it is to be paid; empty of what the party does not have to pay."),
    (
        "open",
        "What is open of it, in `currency`: what the party owes; below zero, what it is owed. All of an account comes to \
         its closing.",
    ),
    ("currency", "ISO 4217 code of the account."),
    (
        "later",
        "`yes`, where an entry that counts for a later month settles or corrects it: it stands here as it was without that.",
    ),
];

/// What is open on an account at the end of a month, line by line in the order of [`OPEN`].
///
/// # Errors
/// [`Overflow`] where an amount is beyond what an amount may be.
pub fn open(month: Month, open: &[OpenItem]) -> Result<Vec<[String; OPEN.len()]>, Overflow> {
    let line = |one: &OpenItem| {
        Ok([
            one.party.to_string(),
            month.to_string(),
            one.what.word().to_owned(),
            one.document.to_string(),
            one.quote.as_deref().unwrap_or_default().to_owned(),
            one.day.to_string(),
            one.due.map(|due| due.to_string()).unwrap_or_default(),
            amount(one.minor, one.currency)?,
            one.currency.to_string(),
            String::from(if one.is_later { "yes" } else { "" }),
        ])
    };
    open.iter().map(line).collect()
}

/// The columns of a line of what a party is told of differences, and what stands in each.
pub const TOLD: [(&str, &str); 9] = [
    ("party", "The partner's code."),
    ("day", "The day it is of."),
    ("reason", "Why, by its stable code."),
    ("quote", "The quote, where one is known."),
    ("agreed", AGREED),
    ("found", FOUND),
    ("amount", "What was found less what was agreed, in `currency`; of a share, the share."),
    ("currency", "ISO 4217 code of the amount."),
    (
        "documents",
        "The papers behind it: what each is, and its number; of a payment the bank's statement and the place in it.",
    ),
];

/// What a party is told of differences, line by line in the order of [`TOLD`].
///
/// # Errors
/// [`Overflow`] where an amount is beyond what an amount may be.
pub fn told(party: &str, told: &Told<'_>) -> Result<Vec<[String; TOLD.len()]>, Overflow> {
    let line = |one: &Difference| {
        let papers = one.documents.iter();
        let papers: Vec<String> =
            papers.map(|document| format!("{} {}", document.paper.word(), number_told(document))).collect();
        let [agreed, found] = figures(one)?;
        Ok([
            party.to_owned(),
            one.day.to_string(),
            one.reason.code().to_owned(),
            one.quote.as_deref().unwrap_or_default().to_owned(),
            agreed,
            found,
            amount(one.amount_minor, one.currency)?,
            one.currency.to_string(),
            papers.join("; "),
        ])
    };
    told.iter().map(line).collect()
}

/// The columns of a line of a volume bonus, and what stands in each.
pub const BONUS: [(&str, &str); 12] = [
    ("partner", "The partner's code."),
    ("year", "The year of the turnover."),
    (
        "month",
        "The month at whose end it is, as 2026-10; of a later year if something of the year was credited then.",
    ),
    ("turnover", "What was invoiced to him in the year so far, net, less what was credited of that."),
    (
        "percent",
        "The percentage of the step that is reached; it counts for all of the turnover. 0 where none is.",
    ),
    ("due", "The bonus so far."),
    ("movement", "Of it, what this month adds or takes away."),
    ("trued_up", "Of the movement, what is for the turnover of months before."),
    ("next_from", "The turnover from which the next step counts; empty where there is none."),
    ("next_percent", "Its percentage; empty where there is none."),
    ("missing", "How much more turnover reaches it; empty where there is none."),
    ("currency", "ISO 4217 code of the books, of every amount."),
];

/// A volume bonus at the end of a month, in the order of [`BONUS`].
///
/// # Errors
/// [`Overflow`] where an amount is beyond what an amount may be.
pub fn bonus(one: &Earned, books: Currency) -> Result<[String; BONUS.len()], Overflow> {
    let of_next = |minor: Option<i64>| minor.map_or(Ok(String::new()), |minor| amount(minor, books));
    Ok([
        one.partner.to_string(),
        one.year.to_string(),
        one.month.to_string(),
        amount(one.turnover_minor, books)?,
        one.percent.to_string(),
        amount(one.due_minor, books)?,
        amount(one.movement_minor, books)?,
        amount(one.true_up_minor, books)?,
        of_next(one.next.map(|next| next.from_minor))?,
        one.next.map(|next| next.percent.to_string()).unwrap_or_default(),
        of_next(one.next.map(|next| next.missing_minor))?,
        books.to_string(),
    ])
}

/// What stands in the columns of the two figures that a difference is the difference of.
pub const AGREED: &str =
    "What was agreed or asked for, in `currency`. Empty where nothing was: the amount is all that was found.";
/// See [`AGREED`].
pub const FOUND: &str =
    "What was found in its place, in `currency`: `agreed` and `amount` together. Empty where `agreed` is.";

/// The two figures that a difference is the difference of, agreed and found; empty where nothing was agreed.
///
/// # Errors
/// [`Overflow`] where an amount is beyond what an amount may be.
pub fn figures(one: &Difference) -> Result<[String; 2], Overflow> {
    let Some([agreed, found]) = one.figures() else { return Ok(Default::default()) };
    Ok([amount(agreed, one.currency)?, amount(found, one.currency)?])
}

/// A debit, or what is charged, then a credit; nothing stands on neither side.
fn sides(minor: i64, currency: Currency) -> Result<[String; 2], Overflow> {
    let own = amount(minor.saturating_abs(), currency)?;
    Ok(match minor.cmp(&0) {
        Ordering::Greater => [own, String::new()],
        Ordering::Less => [String::new(), own],
        Ordering::Equal => Default::default(),
    })
}

fn amount(minor: i64, currency: Currency) -> Result<String, Overflow> {
    Ok(Net::from_minor(minor)?.in_major_units(currency))
}
