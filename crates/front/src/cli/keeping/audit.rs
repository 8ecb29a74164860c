//! `evenfare audit`: is everything still as it was written down?

use evenfare_store::audit::{Anchor, AuditError, Audited, Broken, SetBack, audit};
use serde::Serialize;

use super::place::{failure, with_store_there};
use crate::cli::args::Format;
use crate::cli::args::keeping::AuditArgs;
use crate::cli::exit::Exit;
use crate::cli::outcome::{Answer, Failure, json};
use crate::cli::text::money::grouped;
use crate::cli::text::{Column, Page, Progress, Table, style};
use crate::serve::Checks;

/// Reads everything, checks every link of the chain and every sum of every quote.
pub(in crate::cli) fn run(args: &AuditArgs) -> Result<Answer, Failure> {
    let anchor = args.anchor.map(|(sequence, hash)| Anchor { sequence, hash });
    with_store_there(&args.place, async |store| {
        let progress = Progress::new(store.last().await.map_err(failure)?, "events");
        let mut checks = Checks::default();
        let outcome = audit(&*store, anchor, |record| {
            progress.at(record.event.sequence);
            checks.check(record)
        });
        let outcome = outcome.await;
        progress.end();
        match outcome {
            // An empty file, or one that has lost the files beside it, is no sound store.
            Ok(Audited { events: 0, .. }) => Err(Failure::File(format!(
                "the store {} is empty: nothing was ever written down in it, or all of it was lost",
                args.place.database
            ))),
            Ok(audited) => answer(args.printed.format, Exit::Fine, &Told::from(&audited), || whole(&audited)),
            Err(AuditError::Broken(broken)) => {
                answer(args.printed.format, Exit::Database, &Told::from(&broken), || page(&broken))
            }
            Err(AuditError::Store(error)) => Err(failure(error)),
        }
    })
}

fn answer<T: Serialize>(
    format: Format,
    exit: Exit,
    told: &T,
    page: impl FnOnce() -> String,
) -> Result<Answer, Failure> {
    let text = match format {
        Format::Json => json(told)?,
        Format::Text => page(),
    };
    Ok(Answer { exit, ..Answer::new(text) })
}

/// For programs.
#[derive(Default, Serialize)]
struct Told {
    whole: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    events: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    entries: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    invoices: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    editions: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    callers: Option<u64>,
    /// Where time goes back.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    set_back: Vec<ToldSetBack>,
    /// The last number of each series and year.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    last_numbers: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    anchor: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    broken_at: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    link: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    found: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    expected: Option<String>,
}

/// An event that is dated before the one before it.
#[derive(Serialize)]
struct ToldSetBack {
    event: u64,
    recorded: String,
    before: String,
}

impl From<&SetBack> for ToldSetBack {
    fn from(&SetBack { sequence, recorded, before }: &SetBack) -> Self {
        Self { event: sequence, recorded: recorded.to_rfc3339(), before: before.to_rfc3339() }
    }
}

impl From<&Audited> for Told {
    fn from(audited: &Audited) -> Self {
        Self {
            whole: true,
            events: Some(audited.events),
            entries: Some(audited.entries),
            invoices: Some(audited.invoices),
            editions: Some(audited.editions),
            callers: Some(audited.callers),
            set_back: audited.set_back.iter().map(ToldSetBack::from).collect(),
            last_numbers: audited.numbers.iter().map(ToString::to_string).collect(),
            anchor: audited.head.map(anchor),
            ..Self::default()
        }
    }
}

impl From<&Broken> for Told {
    fn from(broken: &Broken) -> Self {
        Self {
            broken_at: Some(broken.sequence),
            link: Some(broken.link.to_string()),
            found: Some(broken.found.clone()),
            expected: Some(broken.expected.clone()),
            ..Self::default()
        }
    }
}

/// An anchor as `--anchor` takes it.
pub(super) fn anchor(anchor: Anchor) -> String {
    format!("{}:{}", anchor.sequence, anchor.hash)
}

fn whole(audited: &Audited) -> String {
    let mut page = Page::default();
    page.title("Everything is as it was written down", "");
    let mut table = Table::new(0, [Column::TEXT.least(30), Column::RIGHT]);
    for (what, number) in [
        ("events", audited.events),
        ("quotes, revisions and opposite entries", audited.entries),
        ("invoices and credit notes", audited.invoices),
        ("tariff editions", audited.editions),
        ("callers", audited.callers),
    ] {
        table.row([what.into(), grouped(&number.to_string()).into()]);
    }
    page.table(&table);
    for number in &audited.numbers {
        let first = evenfare_store::number::Number { sequence: 1, ..number.clone() };
        page.paragraph(0, style::PLAIN, &format!("{first} to {number}, without a gap"));
    }
    clocks(&mut page, &audited.set_back);
    if let Some(head) = audited.head {
        page.blank();
        let words = "Note this down where nobody can change it. Given to the next audit, it also shows whether the \
                     end of the chain was cut off or all of it rewritten:";
        page.paragraph(0, style::PLAIN, words);
        page.drawn(&format!("--anchor {}", anchor(head)));
    }
    page.finish()
}

/// How many are told on a page; programs are told all.
const SHOWN: usize = 5;

/// Where time goes back. Nothing was changed there.
fn clocks(page: &mut Page, set_back: &[SetBack]) {
    if !set_back.is_empty() {
        page.blank();
    }
    for SetBack { sequence, recorded, before } in set_back.iter().take(SHOWN) {
        let words = format!(
            "event {sequence} is dated {recorded}, the one before it {before}: a clock was ahead until then, or is \
             behind since. Their order is that of their numbers"
        );
        page.labelled(style::CARE, "note", &words);
    }
    if let Some(more) = set_back.len().checked_sub(SHOWN).filter(|more| *more > 0) {
        page.labelled(style::CARE, "note", &format!("{more} more; `--format json` has them all"));
    }
}

fn page(broken: &Broken) -> String {
    let mut page = Page::default();
    page.title("Something was changed", "");
    let Broken { sequence, link, found, expected } = broken;
    page.labelled(
        style::BAD,
        &format!("event {sequence}"),
        &format!("{link}: found {found}, expected {expected}"),
    );
    page.paragraph(
        0,
        style::PLAIN,
        "Nothing after it can be relied on. Restore a backup, and find out who could write.",
    );
    page.finish()
}
