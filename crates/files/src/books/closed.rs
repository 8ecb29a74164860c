//! A closing as the text of its file.
//!
//! A table whose rows are of several kinds, in the order of the closing: `closing`, each `account`, `papers`, each `paper`
//! with every `detail` of it below, `bonuses`, each `bonus` with the `step` after it below, each `transit`, then each
//! `transaction` with every `posting` of it, each `difference` with what was `agreed` and every `document` behind it, each
//! `settled` with the same and every document that settled it as `by`, and `digest`.

use evenfare_reconcile::difference::{Difference, Document};
use evenfare_reconcile::earned::Reached;
use evenfare_reconcile::journal::{Posting, Source};
use evenfare_reconcile::kept::{KeptPaper, Said};
use evenfare_reconcile::period::{Closing, Found, Settled};
use evenfare_reconcile::transit::InTransit;

use crate::csv::push_row;

/// What `papers` says where they are all of them.
pub(super) const WHOLE: &str = "whole";

/// The columns, always in this order.
pub(super) const COLUMNS: [&str; 12] = [
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
    let Closing {
        month, chart, papers, is_whole, bonuses, in_transit, journal, differences, settled, ..
    } = closing;
    let Closing { before, digest, .. } = closing;
    push_row(&mut text, &COLUMNS);
    row(["closing", "", "", &month.to_string(), &hex(before), "", "", "", "", "", "", ""], &mut text);
    if let Some(papers) = papers {
        for (role, account) in chart.accounts() {
            row(["account", "", "", role.word(), account, "", "", "", "", "", "", ""], &mut text);
        }
        let (whole, number) = (if *is_whole { WHOLE } else { "" }, papers.len().to_string());
        row(["papers", "", "", whole, &number, "", "", "", "", "", "", ""], &mut text);
        papers.iter().for_each(|kept| paper(kept, &mut text));
    }
    if let Some(bonuses) = bonuses {
        row(["bonuses", "", "", "", &bonuses.len().to_string(), "", "", "", "", "", "", ""], &mut text);
        bonuses.iter().for_each(|reached| bonus(reached, &mut text));
    }
    in_transit.iter().for_each(|one| transit(one, &mut text));
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
        found("difference", (&posted.to_string(), "", ""), difference, &mut text);
    }
    for Settled { posted, found: before, by, now_minor } in settled {
        let (posted, counted) = (posted.to_string(), before.posted.to_string());
        let now = now_minor.map(|minor| minor.to_string()).unwrap_or_default();
        found("settled", (&posted, &counted, &now), &before.difference, &mut text);
        by.iter().for_each(|one| document("by", one, &mut text));
    }
    row(["digest", "", "", "", &hex(digest), "", "", "", "", "", "", ""], &mut text);
    text
}

fn row(cells: [&str; COLUMNS.len()], text: &mut String) {
    push_row(text, &cells);
}

fn paper(kept: &KeptPaper, text: &mut String) {
    let KeptPaper { paper, seller, number, quote, day, said } = kept;
    let amounts = said.as_ref().map(|Said { currency, net_minor, gross_minor, .. }| {
        [currency.code().to_owned(), net_minor.to_string(), gross_minor.to_string()]
    });
    let [currency, net, gross] = amounts.unwrap_or_default();
    let (day, word, quote) = (day.to_string(), paper.word(), quote.as_deref().unwrap_or_default());
    row(["paper", "", &day, word, number, seller, quote, &currency, &net, &gross, "", ""], text);
    for (detail, said) in said.iter().flat_map(|said| &said.details) {
        row(["detail", "", "", detail.word(), said, "", "", "", "", "", "", ""], text);
    }
}

/// A step that was reached, and the one after it.
fn bonus(Reached { partner, year, percent, next }: &Reached, text: &mut String) {
    let (year, percent) = (year.to_string(), percent.to_string());
    row(["bonus", "", "", &year, &percent, partner, "", "", "", "", "", ""], text);
    if let Some((from_minor, percent)) = next {
        let (from, percent) = (from_minor.to_string(), percent.to_string());
        row(["step", "", "", "", &percent, "", "", "", &from, "", "", ""], text);
    }
}

/// A side of a transfer whose other side was not there.
fn transit(one: &InTransit, text: &mut String) {
    let InTransit { day, account, other, currency, minor, base_minor, document } = one;
    let (day, minor, base) = (day.to_string(), minor.to_string(), base_minor.to_string());
    let (file, line) = place(document);
    let (number, currency) = (&document.number, currency.code());
    row(["transit", "", &day, account, number, other, "", currency, &minor, &base, file, &line], text);
}

/// A difference, with what was agreed and the documents behind it: the day it counts for; of a settled one, the day it
/// counted for and what it comes to since then.
fn found(kind: &str, (posted, counted, now): (&str, &str, &str), difference: &Difference, text: &mut String) {
    let Difference { day, reason, quote, party, currency, amount_minor, agreed_minor, documents } =
        difference;
    let (day, minor) = (day.to_string(), amount_minor.to_string());
    let (quote, currency) = (quote.as_deref().unwrap_or_default(), currency.code());
    let cells = [kind, posted, &day, reason.code(), counted, party, quote, currency, &minor, now, "", ""];
    row(cells, text);
    if let Some(agreed) = agreed_minor {
        row(["agreed", "", "", "", "", "", "", "", &agreed.to_string(), "", "", ""], text);
    }
    documents.iter().for_each(|one| document("document", one, text));
}

fn document(kind: &str, document: &Document, text: &mut String) {
    let (file, line) = place(document);
    let (word, number) = (document.paper.word(), &document.number);
    row([kind, "", "", word, number, "", "", "", "", "", file, &line], text);
}

/// The file and line that a document was read at.
fn place(document: &Document) -> (&str, String) {
    let place = document.place.as_ref();
    (place.map_or("", |place| &place.file), place.map(|place| place.line.to_string()).unwrap_or_default())
}

pub(super) fn hex(digest: &[u8; 32]) -> String {
    use std::fmt::Write;
    digest.iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a text does not fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}
