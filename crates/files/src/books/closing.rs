//! Closings, written and read back.
//!
//! A table whose rows are of several kinds, in the order of the closing: `closing`, each `account`, `papers` and each
//! `paper`, then each `transaction` with every `posting` of it below, each `difference` with every `document` behind
//! it, and `digest`.

use std::str::FromStr;
use std::sync::Arc;

use evenfare_reconcile::chart::{Chart, Role};
use evenfare_reconcile::difference::{Difference, Document, Paper, Reason};
use evenfare_reconcile::input::Place;
use evenfare_reconcile::journal::{Event, Journal, Posting, Source};
use evenfare_reconcile::kept::{KeptPaper, Said};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::{Closing, Found};

use crate::csv::{Cell, Reader, Record, push_row};
use crate::log::Log;
use crate::scalar::day;

/// The columns, always in this order.
const COLUMNS: [&str; 12] = [
    "row",
    "posted",
    "day",
    "word",
    "number",
    "party",
    "quote",
    "currency",
    "minor",
    "base_minor",
    "file",
    "line",
];

/// A closing as the text of its file; it is read back as it is.
///
/// # Examples
/// ```
/// use evenfare_files::{closing_file, write_closing};
/// use evenfare_reconcile::input::{CourierBill, Leg, Place};
/// use evenfare_reconcile::{Inputs, reconcile, terms::Terms};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let mut inputs = Inputs::new(Terms {
///     currency: "EUR".parse()?,
///     until: "2026-10-31".parse()?,
///     rounding_minor: 1,
///     currency_percent: "1".parse()?,
///     payment_days: 30,
///     reporting: Default::default(),
///     accounts: Vec::new(),
///     bonuses: Vec::new(),
/// });
/// inputs.courier_bills.push(CourierBill {
///     place: Place { file: "couriers/2026-10.csv".into(), line: 2 },
///     courier: "Swift Cart".into(),
///     bill: "C-77".into(),
///     consignment: "0815".into(),
///     quote: "Q-2026-00042".into(),
///     leg: Leg::In,
///     carried: "2026-10-12".parse()?,
///     currency: "EUR".parse()?,
///     net_minor: 1_860,
/// });
/// let closing = reconcile(&inputs)?.close("2026-10".parse()?)?;
/// assert_eq!(closing_file(closing.month), "closings/2026-10.csv");
/// assert_eq!(write_closing(&closing).lines().nth(1).map(|row| &row[..20]), Some("closing,,,2026-10,00"));
/// # Ok(()) }
/// ```
pub fn write_closing(closing: &Closing) -> String {
    let mut text = String::new();
    let Closing { month, chart, papers, journal, differences, before, digest } = closing;
    push_row(&mut text, &COLUMNS);
    let row = |cells: [&str; COLUMNS.len()], text: &mut String| push_row(text, &cells);
    row(["closing", "", "", &month.to_string(), &hex(before), "", "", "", "", "", "", ""], &mut text);
    if let Some(papers) = papers {
        for (role, account) in chart.accounts() {
            row(["account", "", "", role.word(), account, "", "", "", "", "", "", ""], &mut text);
        }
        row(["papers", "", "", "", &papers.len().to_string(), "", "", "", "", "", "", ""], &mut text);
        for KeptPaper { paper, seller, number, quote, day, said } in papers {
            let amounts = said.map(|Said { currency, net_minor, gross_minor }| {
                [currency.code().to_owned(), net_minor.to_string(), gross_minor.to_string()]
            });
            let [currency, net, gross] = amounts.unwrap_or_default();
            let (day, word, quote) = (day.to_string(), paper.word(), quote.as_deref().unwrap_or_default());
            row(["paper", "", &day, word, number, seller, quote, &currency, &net, &gross, "", ""], &mut text);
        }
    }
    for (one, postings) in journal.transactions() {
        let Source { event, document, party } = &one.source;
        let (posted, day) = (one.posted.to_string(), one.day.to_string());
        let party = party.as_deref().unwrap_or_default();
        let word = event.word();
        row(["transaction", &posted, &day, word, document, party, "", "", "", "", "", ""], &mut text);
        for Posting { role, currency, minor, base_minor } in postings {
            let (minor, base) = (minor.to_string(), base_minor.to_string());
            let (word, currency) = (role.word(), currency.code());
            row(["posting", "", "", word, "", "", "", currency, &minor, &base, "", ""], &mut text);
        }
    }
    for Found { posted, difference } in differences {
        let Difference { day, reason, quote, party, currency, amount_minor, documents } = difference;
        let (posted, day, minor) = (posted.to_string(), day.to_string(), amount_minor.to_string());
        let (quote, currency) = (quote.as_deref().unwrap_or_default(), currency.code());
        let cells =
            ["difference", &posted, &day, reason.code(), "", party, quote, currency, &minor, "", "", ""];
        row(cells, &mut text);
        for Document { paper, number, place } in documents {
            let file = place.as_ref().map_or("", |place| &place.file);
            let line = place.as_ref().map(|place| place.line.to_string()).unwrap_or_default();
            let cells = ["document", "", "", paper.word(), number, "", "", "", "", "", file, &line];
            row(cells, &mut text);
        }
    }
    row(["digest", "", "", "", &hex(digest), "", "", "", "", "", "", ""], &mut text);
    text
}

fn hex(digest: &[u8; 32]) -> String {
    use std::fmt::Write;
    digest.iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a text does not fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

fn from_hex(text: &str) -> Option<[u8; 32]> {
    let mut digest = [0; 32];
    let is_hex = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
    if text.len() != 64 || !text.bytes().all(is_hex) {
        return None;
    }
    for (place, byte) in digest.iter_mut().enumerate() {
        let at = place.saturating_mul(2);
        *byte = u8::from_str_radix(text.get(at..at.saturating_add(2))?, 16).ok()?;
    }
    Some(digest)
}

/// Reads a closing; one that is not to the letter what was written when the month was closed is reported.
pub(super) fn parse(text: &str, log: &mut Log) -> Option<Closing> {
    let mut reading = Reading::default();
    let mut reader = Reader::new(text, 0);
    let errors = log.errors();
    let mut is_first = true;
    while let Some(record) = reader.next(log) {
        let Ok(record) = record else { continue };
        if std::mem::take(&mut is_first) {
            if !record.cells.iter().map(|cell| &*cell.text).eq(COLUMNS) {
                log.error(record.bytes, "not_a_closing", "", format!("a header row {}", COLUMNS.join(",")));
                return None;
            }
        } else if let Err(Refused { bytes, found, expected }) = reading.take(record) {
            log.error(bytes, "not_a_closing", &found, expected);
        }
    }
    let closing = reading.closing();
    if log.errors() > errors {
        return None;
    }
    let Some(closing) = closing else {
        log.error(text.len()..text.len(), "not_a_closing", "", "rows from `closing` to `digest`");
        return None;
    };
    let written = write_closing(&closing);
    if !closing.is_unchanged() || !same_lines(text, &written) {
        let differs = first_difference(text, &written);
        let expected = "a closing as it was written; what is found out later counts for an open month";
        log.error(
            differs..differs.saturating_add(1),
            "closing_changed",
            &closing.month.to_string(),
            expected,
        );
        return None;
    }
    Some(closing)
}

/// Line ends may have been turned into those of another system; nothing else.
fn same_lines(text: &str, written: &str) -> bool {
    text == written || text.contains('\r') && text.replace("\r\n", "\n") == written.replace("\r\n", "\n")
}

fn first_difference(text: &str, written: &str) -> usize {
    let same = text.bytes().zip(written.bytes()).take_while(|(a, b)| a == b).count();
    // Where every letter is as it reads, the digest alone has changed: it stands at the end.
    if same == text.len() { text.rfind("digest").unwrap_or(0) } else { same }
}

struct Refused {
    bytes: crate::source::Bytes,
    found: String,
    expected: String,
}

/// A closing while its rows are read.
#[derive(Default)]
struct Reading {
    opening: Option<(Month, [u8; 32])>,
    chart: Vec<(Role, Arc<str>)>,
    papers: Option<Vec<KeptPaper>>,
    journal: Journal,
    transaction: Option<Transaction>,
    differences: Vec<Found>,
    digest: Option<[u8; 32]>,
}

struct Transaction {
    source: Source,
    day: chrono::NaiveDate,
    posted: chrono::NaiveDate,
    postings: Vec<Posting>,
}

/// The cells of a row.
struct Cells<'r, 'a> {
    record: &'r Record<'a>,
}

impl<'r, 'a> Cells<'r, 'a> {
    fn text(&self, column: &str) -> &'r str {
        self.cell(column).map_or("", |cell| &cell.text)
    }

    fn cell(&self, column: &str) -> Option<&'r Cell<'a>> {
        let place = COLUMNS.iter().position(|name| *name == column)?;
        self.record.cells.get(place)
    }

    fn refused(&self, column: &str, expected: &str) -> Refused {
        let bytes = self.cell(column).map_or(self.record.bytes.clone(), |cell| cell.bytes.clone());
        Refused { bytes, found: self.text(column).to_owned(), expected: expected.to_owned() }
    }

    fn read<T>(
        &self,
        column: &str,
        expected: &str,
        read: impl FnOnce(&str) -> Option<T>,
    ) -> Result<T, Refused> {
        read(self.text(column)).ok_or_else(|| self.refused(column, expected))
    }

    fn parsed<T: FromStr>(&self, column: &str, expected: &str) -> Result<T, Refused> {
        self.read(column, expected, |text| text.parse().ok())
    }

    fn day(&self, column: &str) -> Result<chrono::NaiveDate, Refused> {
        self.read(column, "a day such as 2026-07-01", day)
    }

    /// The one of these that the column has the word of.
    fn word<T: Copy>(&self, all: &[T], word: impl Fn(T) -> &'static str) -> Result<T, Refused> {
        let found = |text: &str| all.iter().copied().find(|one| word(*one) == text);
        self.read("word", "a word that closings have there", found)
    }

    fn paper(&self) -> Result<KeptPaper, Refused> {
        let said = match self.text("currency") {
            "" => None,
            _ => Some(Said {
                currency: self.parsed("currency", "a currency")?,
                net_minor: self.parsed("minor", "minor units")?,
                gross_minor: self.parsed("base_minor", "minor units")?,
            }),
        };
        Ok(KeptPaper {
            paper: self.word(Paper::ALL, Paper::word)?,
            seller: self.text("party").into(),
            number: self.text("number").into(),
            quote: self.maybe("quote"),
            day: self.day("day")?,
            said,
        })
    }

    /// The text of a column that may be empty.
    fn maybe<T: From<&'r str>>(&self, column: &str) -> Option<T> {
        Some(self.text(column)).filter(|text| !text.is_empty()).map(T::from)
    }
}

impl Reading {
    fn take(&mut self, record: Record<'_>) -> Result<(), Refused> {
        let cells = Cells { record: &record };
        if record.cells.len() != COLUMNS.len() {
            let expected = format!("{} cells", COLUMNS.len());
            let found = format!("{} cells", record.cells.len());
            return Err(Refused { bytes: record.bytes.clone(), found, expected });
        }
        let kind = cells.text("row");
        if self.digest.is_some() || self.opening.is_some() == (kind == "closing") {
            return Err(cells.refused("row", "rows from one `closing` to one `digest`"));
        }
        match kind {
            "closing" => {
                let month = cells.parsed("word", "a month such as 2026-07")?;
                self.opening = Some((month, cells.read("number", "a digest", from_hex)?));
            }
            "account" => {
                let account = Arc::from(cells.text("number"));
                self.chart.push((cells.word(Role::ALL, Role::word)?, account));
            }
            "papers" => self.papers = Some(Vec::new()),
            "paper" => {
                let paper = cells.paper()?;
                let papers = self.papers.as_mut();
                papers.ok_or_else(|| cells.refused("row", "`papers` above"))?.push(paper);
            }
            "transaction" => {
                self.post();
                let source = Source {
                    event: cells.word(Event::ALL, Event::word)?,
                    document: cells.text("number").into(),
                    party: cells.maybe("party"),
                };
                let (day, posted) = (cells.day("day")?, cells.day("posted")?);
                self.transaction = Some(Transaction { source, day, posted, postings: Vec::new() });
            }
            "posting" => {
                let posting = Posting {
                    role: cells.word(Role::ALL, Role::word)?,
                    currency: cells.parsed("currency", "a currency")?,
                    minor: cells.parsed("minor", "minor units")?,
                    base_minor: cells.parsed("base_minor", "minor units")?,
                };
                let transaction = self.transaction.as_mut();
                transaction
                    .ok_or_else(|| cells.refused("row", "a transaction above"))?
                    .postings
                    .push(posting);
            }
            "difference" => {
                self.post();
                let difference = Difference {
                    day: cells.day("day")?,
                    reason: cells.word(Reason::ALL, Reason::code)?,
                    quote: cells.maybe("quote"),
                    party: cells.text("party").into(),
                    currency: cells.parsed("currency", "a currency")?,
                    amount_minor: cells.parsed("minor", "minor units")?,
                    documents: Vec::new(),
                };
                self.differences.push(Found { posted: cells.day("posted")?, difference });
            }
            "document" => {
                let place = match cells.text("line") {
                    "" => None,
                    _ => {
                        Some(Place { file: cells.text("file").into(), line: cells.parsed("line", "a line")? })
                    }
                };
                let document = Document {
                    paper: cells.word(Paper::ALL, Paper::word)?,
                    number: cells.text("number").into(),
                    place,
                };
                let found = self.differences.last_mut();
                let found = found.ok_or_else(|| cells.refused("row", "a difference above"))?;
                found.difference.documents.push(document);
            }
            "digest" => {
                self.post();
                self.digest = Some(cells.read("number", "a digest", from_hex)?);
            }
            _ => {
                let expected =
                    "closing, account, papers, paper, transaction, posting, difference, document or digest";
                return Err(cells.refused("row", expected));
            }
        }
        Ok(())
    }

    /// Posts the transaction whose postings are read.
    fn post(&mut self) {
        if let Some(Transaction { source, day, posted, postings }) = self.transaction.take() {
            // One that does not fit is missing from what is written again, and is found by that.
            let _ = self.journal.post(source, day, posted, postings);
        }
    }

    fn closing(self) -> Option<Closing> {
        let (month, before) = self.opening?;
        let Self { chart, papers, journal, differences, .. } = self;
        let chart = Chart::new(chart);
        Some(Closing { month, chart, papers, journal, differences, before, digest: self.digest? })
    }
}
