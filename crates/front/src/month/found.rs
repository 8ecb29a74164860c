//! What was found and what is asked, as tables.

use std::io::Write;

use evenfare_files::answers;
use evenfare_reconcile::columns;
use evenfare_reconcile::difference::Document;
use evenfare_reconcile::input::Place;

use super::done::Done;
use super::form::NotWritten;
use super::own::{header, major, row};

/// The columns of `differences.csv`.
pub const DIFFERENCES: [(&str, &str); 13] = [
    ("posted", "The day it counts for: its own, or the first that was open when it was found."),
    ("day", "The day it is of."),
    ("reason", "Why, by its stable code."),
    ("party", "Whom it concerns: `workshop`, a partner's code, a customer's VAT identifier; else a name."),
    ("quote", "The quote, where one is known."),
    ("agreed", columns::AGREED),
    ("found", columns::FOUND),
    ("amount", "What was found less what was agreed, in `currency`."),
    ("currency", "ISO 4217 code of the amount."),
    (
        "settled",
        "The day it counts for as settled, of a difference that a month was closed with and that is none any more, or of \
         another amount. In a closed month it may be a later day: the month was closed with it.",
    ),
    ("documents", "The papers behind it, each with the file and the line it was read at."),
    ("by", "The papers that settled it, as far as they are known; of a decision where it stands."),
    (
        "now",
        "What it comes to since that day, where it is a difference still: it has a row of its own with that amount. Empty \
         where it is none any more.",
    ),
];

/// The columns of `questions.csv`, one row for each possible answer.
pub const QUESTIONS: [(&str, &str); 7] = [
    ("question", "Number of the question; its answers have the same."),
    ("why", "Why it is asked, by its stable code."),
    ("about", "The payment or the invoice, with the file and the line it was read at."),
    (
        "amount",
        "What came in and what banks kept back of it on the way, or what is charged with VAT, in `currency`.",
    ),
    ("currency", "ISO 4217 code of the amount."),
    ("may_be", "What it may be for: invoices that together are one match, or a quote."),
    ("answer", "The rows of the decisions that answer so."),
];

/// Where something stands, as a person looks it up.
fn place(place: &Place) -> String {
    format!("{}:{}", place.file, place.line)
}

/// A document behind a difference or a question: `invoice R-2026-00001 (store:12)`.
pub fn document(document: &Document) -> String {
    let named = format!("{} {}", document.paper.word(), document.number);
    match &document.place {
        Some(at) => format!("{named} ({})", place(at)),
        None => named,
    }
}

pub(super) fn differences(done: &Done, to: &mut dyn Write) -> Result<(), NotWritten> {
    header(DIFFERENCES, to)?;
    let found = done.differences().map(|found| (found, done.settled_later(found)));
    for (found, settled) in found.chain(done.settled().map(|settled| (&settled.found, Some(settled)))) {
        let one = &found.difference;
        let now = settled.and_then(|settled| settled.now_minor);
        let [agreed, found_in_its_place] = columns::figures(one)?;
        row(
            to,
            [
                &found.posted.to_string(),
                &one.day.to_string(),
                one.reason.code(),
                &one.party,
                one.quote.as_deref().unwrap_or_default(),
                &agreed,
                &found_in_its_place,
                &major(one.amount_minor, one.currency)?,
                one.currency.code(),
                &settled.map(|settled| settled.posted.to_string()).unwrap_or_default(),
                &documents(&one.documents),
                &settled.map(|settled| documents(&settled.by)).unwrap_or_default(),
                &now.map(|minor| major(minor, one.currency)).transpose()?.unwrap_or_default(),
            ],
        )?;
    }
    Ok(())
}

fn documents(all: &[Document]) -> String {
    all.iter().map(document).collect::<Vec<_>>().join("; ")
}

pub(super) fn questions(done: &Done, to: &mut dyn Write) -> Result<(), NotWritten> {
    header(QUESTIONS, to)?;
    for (number, question) in (1_usize..).zip(&done.books.undecided) {
        let may_be = question.candidates.iter().map(|together| together.join(" + "));
        for (may_be, answer) in may_be.chain([String::new()]).zip(answers(question)) {
            row(
                to,
                [
                    &number.to_string(),
                    question.why.code(),
                    &document(&question.subject),
                    &major(question.amount_minor, question.currency)?,
                    question.currency.code(),
                    &may_be,
                    answer.trim_end(),
                ],
            )?;
        }
    }
    Ok(())
}
