//! The store of the demo: its jobs quoted, and what became of some of them.

use std::path::Path;
use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::MAIN;
use evenfare_engine::text::Code;
use evenfare_store::Store;
use evenfare_store::caller::Role;
use evenfare_store::command::{Command, Request};
use evenfare_store::digest::Digest;
use evenfare_store::entry::Entry;
use evenfare_store::event::Kept;
use evenfare_store::number::Series;

use crate::cli::args::keeping::{AddArgs, PublishArgs, Where};
use crate::cli::args::{Format, Printed};
use crate::cli::input;
use crate::cli::keeping::place::{failure, with_store};
use crate::cli::keeping::{caller, publish};
use crate::cli::outcome::{Answer, Failure};
use crate::cli::text::words::count;
use crate::cli::text::{Page, style};
use crate::kept::{NotKept, content, own_sale};
use crate::serve::database::Database;

/// The store's file in the folder of the demo.
pub(super) const STORE: &str = "evenfare.db";
/// By whom its quotes are written down. A name that a workshop has for nobody: names are given once, and whoever
/// has come by the demo adds his own desk.
const OFFICE: &str = "demo";
/// Invoices of the demo are due so many days after their issue.
const DUE: u64 = 14;

/// Jobs whose quotes were accepted: the day of that, and of the invoice. `examples/bakery/books/` goes by them.
const ACCEPTED: [(&str, &str, &str); 4] = [
    ("01-direct-oven.toml", "2026-09-15", "2026-09-21"),
    ("12-consignment.toml", "2026-09-28", "2026-10-09"),
    ("02-two-partners.toml", "2026-10-06", "2026-10-19"),
    ("11-warranty-return.toml", "2026-10-13", "2026-10-26"),
];

impl From<NotKept> for Failure {
    fn from(error: NotKept) -> Self {
        Self::Internal(error.to_string())
    }
}

/// Writes the store, where there is none, and says so. The days in it are those of the demo; only when it was
/// written down is when it was.
pub(super) fn written<'a>(dir: &Path, jobs: impl Iterator<Item = &'a Path>) -> Result<String, Failure> {
    let path = dir.join(STORE);
    let mut page = Page::default();
    if path.exists() {
        let there = format!("{} was there already, and stays as it is.", path.display());
        page.paragraph(0, style::PLAIN, &there);
        page.blank();
        return Ok(page.finish());
    }
    let place = || Where { database: Database::Sqlite(path.clone()) };
    let code = |text: &str| text.parse::<Code>().map_err(|error| Failure::Internal(error.to_string()));
    publish::run(&PublishArgs { dir: dir.join("tariff"), place: place() })?;
    let office = AddArgs {
        name: code(OFFICE)?,
        role: Role::Office,
        certificate: None,
        place: place(),
        printed: Printed { format: Format::Text },
    };
    caller::add(&office)?;
    let answer = with_store(&place(), async |store| {
        let desk = Desk { store, office: code(OFFICE)? };
        let said = desk.fill(dir, jobs).await?;
        Ok(Answer::new(said))
    })?;
    page.paragraph(0, style::PLAIN, &format!("Wrote {} to `{}`.", answer.text, path.display()));
    page.blank();
    Ok(page.finish())
}

/// Who writes it down.
struct Desk {
    store: Arc<dyn Store>,
    office: Code,
}

impl Desk {
    /// Quotes every job in the order of its file, then accepts and invoices some in the order of days.
    async fn fill<'a>(&self, dir: &Path, jobs: impl Iterator<Item = &'a Path>) -> Result<String, Failure> {
        let editions = self.store.editions().await.map_err(failure)?.len();
        let mut quotes = Vec::new();
        for file in jobs {
            let input = input::read(&dir.join(file), &dir.join("tariff"))?;
            let Ok(quote) = input.by_own_route()? else { continue };
            let sale = own_sale(&quote, MAIN);
            let (content, _) = content(&input.job, quote)?;
            let command = Command::Issue { series: Series::usual(), content: Box::new(content), editions };
            let entry = self.entry(file, "issue", command).await?;
            quotes.push((file, entry, sale));
        }
        let issued = quotes.len();
        for (job, accepted, invoiced) in ACCEPTED {
            let of_job = quotes.iter_mut().find(|(file, ..)| file.ends_with(job));
            let Some((file, entry, Some(sale))) = of_job else {
                return Err(Failure::Internal(format!("{job} has no quote to be accepted")));
            };
            let offer =
                MAIN.parse().map_err(|_| Failure::Internal(String::from("an offer without a name")))?;
            let (number, etag, day) = (entry.number.clone(), entry.etag, day(accepted)?);
            let accept = Command::Accept { number: number.clone(), etag, offer, day };
            let etag = self.entry(file, "accept", accept).await?.etag;
            let issued = self::day(invoiced)?;
            let due = issued.checked_add_days(Days::new(DUE)).unwrap_or(issued);
            let (series, sale) = (Series::of_invoices(), *sale);
            self.write(file, "invoice", Command::Invoice { series, number, etag, issued, due, sale }).await?;
        }
        let quotes = count(issued, "quote");
        Ok(format!("{quotes}, of which {} are accepted and invoiced,", ACCEPTED.len()))
    }

    async fn entry(&self, file: &Path, what: &str, command: Command) -> Result<Entry, Failure> {
        match self.write(file, what, command).await? {
            Kept::Entry(entry) => Ok(*entry),
            _ => Err(Failure::Internal(format!("{}: {what} wrote no quote down", file.display()))),
        }
    }

    /// Writes one thing down, by a request that is the same in every demo.
    async fn write(&self, file: &Path, what: &str, command: Command) -> Result<Kept, Failure> {
        let job = file.file_stem().unwrap_or_default().to_string_lossy();
        let id = format!("demo-{what}-{job}");
        let fingerprint = Digest::of(id.as_bytes());
        let id = id.parse().map_err(|_| Failure::Internal(format!("{id} is no id of a request")))?;
        let request = Request { id, fingerprint, caller: self.office.clone(), command };
        Ok(self.store.write(request).await.map_err(failure)?.kept)
    }
}

fn day(text: &str) -> Result<NaiveDate, Failure> {
    text.parse().map_err(|_| Failure::Internal(format!("{text} is no day")))
}
