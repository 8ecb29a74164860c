//! `evenfare close`: a month as it stands, never to change.

use std::fs;

use chrono::Utc;
use evenfare_files::{closing_file, write_closing};
use serde::Serialize;

use super::done::{done, noted, unreconciled, warnings};
use crate::cli::args::Format;
use crate::cli::args::month::CloseArgs;
use crate::cli::mistakes;
use crate::cli::outcome::{Answer, Failure, json};
use crate::cli::output::{failed, write_new};
use crate::cli::text::words::{count, in_a_shell};
use crate::cli::text::{Page, style};
use crate::month::{Anchor, NotClosed, over};

/// A closed month for programs.
#[derive(Serialize)]
struct Told<'a> {
    month: String,
    file: String,
    digest: String,
    transactions: usize,
    differences: usize,
    open_questions: usize,
    warnings: Vec<mistakes::Told<'a>>,
}

/// Closes a month by what is known at its end, into a new file beside the others.
pub(in crate::cli) fn close(args: &CloseArgs) -> Result<Answer, Failure> {
    let (month, last) = (args.month, args.month.last_day());
    over(month, Utc::now().date_naive()).map_err(unreconciled)?;
    let (done, said) = done(&args.books, last, Some(month))?;
    let closing = done.closed(month, args.with_open_questions).map_err(|error| match error {
        NotClosed::Unreconciled(error) => unreconciled(error),
        NotClosed::QuestionsOpen(_) => {
            let (books, store) = (in_a_shell(&args.books.books.display()), args.books.place.option());
            let shown = format!("`evenfare reconcile {books} --month {month}{store}` shows how to answer");
            let over = "--with-open-questions closes all the same";
            Failure::NotYet(error.code(), format!("{error}. {shown}; {over}"))
        }
        error => Failure::NotYet(error.code(), error.to_string()),
    })?;
    let open = done.books.undecided.len();
    let warnings = warnings(&args.books, &done);
    let note = format!("{said}{}", noted(&warnings));
    let path = args.books.books.join(closing_file(month));
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|error| failed(folder, &error))?;
    }
    write_new(&path, write_closing(&closing).as_bytes())?;
    let noted_down = Anchor { month, digest: closing.digest.into() };
    let (transactions, differences) = (closing.journal.len(), closing.differences.len());
    if args.printed.format == Format::Json {
        let file = path.display().to_string();
        let month = month.to_string();
        let told = Told {
            month,
            file,
            digest: noted_down.digest.to_string(),
            transactions,
            differences,
            open_questions: open,
            warnings: warnings.iter().map(mistakes::Told::from).collect(),
        };
        return Ok(Answer::new(json(&told)?).with_note(note));
    }
    let mut page = Page::default();
    let with = format!("{} and {}", count(transactions, "transaction"), count(differences, "difference"));
    page.paragraph(0, style::PLAIN, &format!("Closed {month} with {with}: wrote {}.", path.display()));
    page.blank();
    let words = "Note this down where nobody can change it, and give it to `reconcile` and `close` as `--anchor`: they \
                 refuse to go on if this file or an earlier one was changed.";
    page.paragraph(0, style::PLAIN, words);
    page.drawn(&noted_down.to_string());
    Ok(Answer::new(page.finish()).with_note(note))
}
