//! Closings, read back as they were written, or not at all.

use std::str::FromStr;
use std::sync::Arc;

use evenfare_reconcile::chart::{Chart, Role};
use evenfare_reconcile::difference::{Difference, Document, Paper, Reason};
use evenfare_reconcile::earned::Reached;
use evenfare_reconcile::input::Place;
use evenfare_reconcile::journal::{Event, Journal, Posting, Source};
use evenfare_reconcile::kept::{Detail, KeptPaper, Said};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::{Closing, Found, Settled};
use evenfare_reconcile::transit::InTransit;

use super::closed::{COLUMNS, WHOLE, hex, write_closing};
use crate::csv::{Cell, Reader, Record};
use crate::log::Log;
use crate::scalar::day;
use crate::source::Bytes;

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
            log.error(bytes, "not_a_closing", &found, format!("{expected}, as it was written"));
        }
    }
    let closing = reading.closing();
    if log.errors() > errors {
        return None;
    }
    let Some(closing) = closing else {
        let expected = format!("rows from `closing` to `digest`. {PUT_BACK}");
        log.error(text.len()..text.len(), "not_a_closing", "", expected);
        return None;
    };
    if let Some((row, as_written)) = other_row(text, &write_closing(&closing)) {
        let found = text.get(row.clone()).unwrap_or_default();
        let expected = match as_written {
            "" => format!("no such row. {PUT_BACK}"),
            written => format!("`{written}`, as that row was written. {PUT_BACK}"),
        };
        log.error(row, "closing_changed", found, expected);
        return None;
    }
    if !closing.is_unchanged() {
        // Each row by itself is written as it should be, so nobody can see which of them was changed.
        let row = text.rfind("digest").unwrap_or_default()..text.trim_end().len();
        let (found, now) = (hex(&closing.digest), hex(&closing.digest_now()));
        let expected = format!(
            "{now}, which the rows above come to: one of them or this one is not as it was when {} was closed. {PUT_BACK}",
            closing.month
        );
        log.error(row, "closing_changed", &found, expected);
        return None;
    }
    Some(closing)
}

/// What to do about it.
const PUT_BACK: &str =
    "Put back the file that closing the month wrote; what is found out later counts for an open month";

/// The first row that is not as it is written, and how it is. Line ends may have been turned into those of another system;
/// nothing else.
fn other_row<'w>(text: &str, written: &'w str) -> Option<(Bytes, &'w str)> {
    if text == written {
        return None;
    }
    let (mut at, mut rows) = (0_usize, written.split_inclusive('\n'));
    for row in text.split_inclusive('\n') {
        let as_written = rows.next().unwrap_or_default();
        if row.replace("\r\n", "\n") != as_written.replace("\r\n", "\n") {
            return Some((at..at.saturating_add(row.trim_end().len()), as_written.trim_end()));
        }
        at = at.saturating_add(row.len());
    }
    rows.next().map(|missing| (at..at, missing.trim_end()))
}

struct Refused {
    bytes: Bytes,
    found: String,
    expected: String,
}

/// A closing while its rows are read.
#[derive(Default)]
struct Reading {
    opening: Option<(Month, [u8; 32])>,
    chart: Vec<(Role, Arc<str>)>,
    papers: Option<Vec<KeptPaper>>,
    is_whole: bool,
    /// Of the last paper.
    details: Vec<(Detail, Box<str>)>,
    bonuses: Option<Vec<Reached>>,
    in_transit: Vec<InTransit>,
    journal: Journal,
    transaction: Option<Transaction>,
    differences: Vec<Found>,
    settled: Vec<Settled>,
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
                details: Box::default(),
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

    fn difference(&self) -> Result<Difference, Refused> {
        Ok(Difference {
            day: self.day("day")?,
            reason: self.word(Reason::ALL, Reason::code)?,
            quote: self.maybe("quote"),
            party: self.text("party").into(),
            currency: self.parsed("currency", "a currency")?,
            amount_minor: self.parsed("minor", "minor units")?,
            agreed_minor: None,
            documents: Vec::new(),
        })
    }

    fn document(&self) -> Result<Document, Refused> {
        self.document_of(self.word(Paper::ALL, Paper::word)?)
    }

    fn document_of(&self, paper: Paper) -> Result<Document, Refused> {
        let place = match self.text("line") {
            "" => None,
            _ => Some(Place { file: self.text("file").into(), line: self.parsed("line", "a line")? }),
        };
        Ok(Document { paper, number: self.text("number").into(), place })
    }

    fn in_transit(&self) -> Result<InTransit, Refused> {
        Ok(InTransit {
            day: self.day("day")?,
            account: self.text("word").into(),
            other: self.text("party").into(),
            currency: self.parsed("currency", "a currency")?,
            minor: self.parsed("minor", "minor units")?,
            base_minor: self.parsed("base_minor", "minor units")?,
            document: self.document_of(Paper::Payment)?,
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
            "papers" => {
                self.is_whole = cells.text("word") == WHOLE;
                self.papers = Some(Vec::new());
            }
            "detail" => {
                let text = Box::from(cells.text("number"));
                self.details.push((cells.word(Detail::ALL, Detail::word)?, text));
            }
            "paper" => {
                self.says();
                let paper = cells.paper()?;
                let papers = self.papers.as_mut();
                papers.ok_or_else(|| cells.refused("row", "`papers` above"))?.push(paper);
            }
            "bonuses" => self.bonuses = Some(Vec::new()),
            "bonus" => {
                let reached = Reached {
                    partner: cells.text("party").into(),
                    year: cells.parsed("word", "a year")?,
                    percent: cells.parsed("number", "a percentage")?,
                    next: None,
                };
                let bonuses = self.bonuses.as_mut();
                bonuses.ok_or_else(|| cells.refused("row", "`bonuses` above"))?.push(reached);
            }
            "step" => {
                let next = (cells.parsed("minor", "minor units")?, cells.parsed("number", "a percentage")?);
                let last = self.bonuses.as_mut().and_then(|bonuses| bonuses.last_mut());
                last.ok_or_else(|| cells.refused("row", "`bonus` above"))?.next = Some(next);
            }
            "transit" => self.in_transit.push(cells.in_transit()?),
            "transaction" => {
                self.says();
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
                self.differences
                    .push(Found { posted: cells.day("posted")?, difference: cells.difference()? });
            }
            "settled" => {
                self.post();
                let counted = cells.read("number", "a day such as 2026-07-01", day)?;
                let found = Found { posted: counted, difference: cells.difference()? };
                let now_minor = match cells.text("base_minor") {
                    "" => None,
                    _ => Some(cells.parsed("base_minor", "minor units")?),
                };
                let posted = cells.day("posted")?;
                self.settled.push(Settled { posted, found, by: Vec::new(), now_minor });
            }
            "agreed" => {
                let agreed = cells.parsed("minor", "minor units")?;
                self.difference(&cells)?.agreed_minor = Some(agreed);
            }
            "document" => {
                let document = cells.document()?;
                self.difference(&cells)?.documents.push(document);
            }
            "by" => {
                let document = cells.document()?;
                let settled = self.settled.last_mut();
                settled.ok_or_else(|| cells.refused("row", "`settled` above"))?.by.push(document);
            }
            "digest" => {
                self.says();
                self.post();
                self.digest = Some(cells.read("number", "a digest", from_hex)?);
            }
            _ => {
                let expected = "closing, account, papers, paper, detail, bonuses, bonus, step, transit, transaction, \
                     posting, difference, agreed, document, settled, by or digest";
                return Err(cells.refused("row", expected));
            }
        }
        Ok(())
    }

    /// The difference that was read last.
    fn difference(&mut self, cells: &Cells<'_, '_>) -> Result<&mut Difference, Refused> {
        let settled = self.settled.last_mut().map(|settled| &mut settled.found);
        let found = settled.or(self.differences.last_mut()).map(|found| &mut found.difference);
        found.ok_or_else(|| cells.refused("row", "a difference above"))
    }

    /// Puts the details that are read to the paper they are of. Details of none are missing from what is written
    /// again, and are found by that.
    fn says(&mut self) {
        let details = std::mem::take(&mut self.details);
        let last = self.papers.as_mut().and_then(|papers| papers.last_mut()?.said.as_mut());
        if let Some(said) = last.filter(|_| !details.is_empty()) {
            said.details = details.into();
        }
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
        let Self { papers, is_whole, bonuses, in_transit, journal, differences, settled, .. } = self;
        let (chart, digest) = (Chart::new(self.chart), self.digest?);
        Some(Closing {
            month,
            chart,
            papers,
            is_whole,
            bonuses,
            in_transit,
            journal,
            differences,
            settled,
            before,
            digest,
        })
    }
}
