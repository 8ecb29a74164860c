//! All editions of a tariff folder.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

use chrono::NaiveDate;
use evenfare_engine::job::Job;
use evenfare_engine::period::Span;
use evenfare_engine::problem::{Place, Problem};
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;

use crate::decode::{TARIFF_FILE_LIMIT, decode};
use crate::folder::{CHART_FILE, EDITION_FILE, Folder, LETTERHEAD_FILE};
use crate::picture::is_picture;
use crate::report::{Mistake, Report, Says};
use crate::stationery::Stationery;
use crate::tariff::between::between;
use crate::tariff::edition;
use crate::tariff::letterhead;

/// The editions of a tariff, each for its own days.
#[derive(Debug)]
pub struct Tariffs {
    editions: Vec<Edition>,
    /// Editions that were published and cannot be read any more: their names and days.
    unreadable: Vec<(Code, Span)>,
    /// By the name of the edition; one of which nothing is said is not there.
    stationery: BTreeMap<Code, Stationery>,
    warnings: Report,
}

impl Tariffs {
    /// Editions that were published one after the other, each whole: one that is open ends where the next
    /// begins.
    pub fn published(editions: Vec<(Edition, Stationery)>) -> Self {
        Self::new(editions, Report::default())
    }

    /// Beside these, published editions that cannot be read any more, by their names and days: what is received on such a
    /// day has no price.
    #[must_use]
    pub fn beside_unreadable(self, unreadable: Vec<(Code, Span)>) -> Self {
        Self { unreadable, ..self }
    }

    fn new(mut editions: Vec<(Edition, Stationery)>, warnings: Report) -> Self {
        editions.sort_by_key(|(edition, _)| edition.span().from);
        let stationery = editions
            .iter_mut()
            .map(|(edition, stationery)| (edition.code().clone(), std::mem::take(stationery)))
            .collect();
        let editions = editions.into_iter().map(|(edition, _)| edition).collect();
        Self { editions, unreadable: Vec::new(), stationery, warnings }
    }

    /// The edition that prices what is received on that day: the last that has begun, unless it is over or cannot be
    /// read.
    pub fn on(&self, day: NaiveDate) -> Option<&Edition> {
        self.last_begun(day)?.ok()
    }

    /// The edition that would price what is received on that day, and cannot be read.
    pub fn unreadable_on(&self, day: NaiveDate) -> Option<&Code> {
        self.last_begun(day)?.err()
    }

    /// The last edition that has begun by that day, unless it is over; its name alone where it cannot be read.
    fn last_begun(&self, day: NaiveDate) -> Option<Result<&Edition, &Code>> {
        let read = self.editions.iter().map(|edition| (edition.span(), Ok(edition)));
        let unreadable = self.unreadable.iter().map(|(code, span)| (*span, Err(code)));
        let begun = read.chain(unreadable).filter(|(span, _)| span.from <= day);
        let (span, last) = begun.max_by_key(|(span, _)| span.from)?;
        span.contains(day).then_some(last)
    }

    /// The edition that prices a job, by the day that it arrived.
    ///
    /// # Errors
    /// The problem with that day, where no edition prices it.
    pub fn edition_for(&self, job: &Job) -> Result<&Edition, Problem> {
        self.on(job.received).ok_or_else(|| {
            let spans =
                self.editions.iter().map(|edition| format!("{} ({})", edition.code(), edition.span()));
            let unreadable =
                self.unreadable.iter().map(|(code, span)| format!("{code} ({span}, which cannot be read)"));
            let spans: Vec<String> = spans.chain(unreadable).collect();
            let expected = format!("a day that an edition of the tariff prices: {}", spans.join(", "));
            Problem::error(Place::field("received"), "no_edition", job.received, expected)
        })
    }

    /// The edition of that name.
    pub fn edition(&self, code: &str) -> Option<&Edition> {
        self.editions.iter().find(|edition| edition.code().as_str() == code)
    }

    /// All editions, the earliest first.
    pub fn editions(&self) -> &[Edition] {
        &self.editions
    }

    /// Published editions that are not among them, as they cannot be read.
    pub fn unreadable(&self) -> impl Iterator<Item = &Code> {
        self.unreadable.iter().map(|(code, _)| code)
    }

    /// What documents are written with, of quotes that the edition of that name has priced; plain
    /// stationery where there is no such edition.
    pub fn stationery(&self, edition: &str) -> &Stationery {
        static PLAIN: LazyLock<Stationery> = LazyLock::new(Stationery::default);
        self.stationery.get(edition).unwrap_or(&PLAIN)
    }

    /// What is worth a look, though it prices.
    pub fn warnings(&self) -> &Report {
        &self.warnings
    }

    /// Hands the editions over with what their documents are written with, the earliest first.
    pub fn into_editions(mut self) -> Vec<(Edition, Stationery)> {
        let with = |edition: Edition| {
            let stationery = self.stationery.remove(edition.code()).unwrap_or_default();
            (edition, stationery)
        };
        self.editions.into_iter().map(with).collect()
    }
}

/// Reads the tariff in a folder on disk.
///
/// The folder holds one folder for each edition, or is itself one where it has an `edition.toml`.
/// The files are described on the front page of this crate.
///
/// # Errors
/// Every mistake in every file at once, with warnings among them; whatever cannot be read.
///
/// # Examples
/// ```no_run
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let tariffs = evenfare_files::read_tariff("tariff".as_ref())?;
/// for warning in tariffs.warnings() {
///     eprintln!("{}", warning.located());
/// }
/// # Ok(())
/// # }
/// ```
pub fn read_tariff(dir: &Path) -> Result<Tariffs, Report> {
    parse_tariff(&Folder::from_disk(dir))
}

/// Reads the tariff in a folder, on disk or in memory.
///
/// # Errors
/// As [`read_tariff`].
///
/// # Examples
/// ```
/// use evenfare_files::{Folder, parse_tariff};
/// let folder = Folder::from_files("tariff", [("2026-07/edition.toml", "[edition]\nid = 2026\n")]);
/// let report = parse_tariff(&folder).unwrap_err();
/// assert!(report.to_string().contains("tariff/2026-07/edition.toml:2:6: error[wrong_kind]: found `2026`"));
/// ```
pub fn parse_tariff(folder: &Folder) -> Result<Tariffs, Report> {
    parsed(folder, &[])
}

/// Rules of letterheads that came after editions were published. What they refuse in a folder to be
/// published is worth a look in what is kept.
const OF_LETTERHEADS: &[&str] = &[letterhead::TOO_LIGHT, letterhead::TOO_LONG];

/// Reads editions that were published before: what has become a rule of letterheads since then is a
/// warning, for what is kept has to be read for ever.
///
/// # Errors
/// As [`read_tariff`], but for such rules.
pub fn parse_published(folder: &Folder) -> Result<Tariffs, Report> {
    parsed(folder, OF_LETTERHEADS)
}

/// Reads a tariff; mistakes of those codes are warnings.
fn parsed(folder: &Folder, softened: &[&str]) -> Result<Tariffs, Report> {
    let mut report = folder.mistakes().clone();
    let mut editions = Vec::new();
    let mut heads = Vec::new();
    let mut held_back: usize = 0;
    let folders = folders_of(folder, &mut report);
    report.set_editions(folders.len());
    for below in folders {
        let outcome = edition::read(folder, below, softened);
        report.extend(outcome.report);
        editions.extend(outcome.edition.map(|edition| (edition, outcome.stationery)));
        heads.extend(outcome.head);
        held_back = held_back.saturating_add(outcome.held_back);
    }
    report.extend(between(&heads));
    report.hold_back(folder.name(), held_back);
    if report.has_errors() {
        return Err(report);
    }
    Ok(Tariffs::new(editions, report))
}

/// The files of each edition in a folder, by name: what there is to publish. Of pictures, the logo alone;
/// not the chart of accounts, which is of no edition.
pub fn edition_files(folder: &Folder) -> Vec<Vec<(&str, &[u8])>> {
    let files = |below: &str| {
        let path =
            move |name: &str| if below.is_empty() { name.to_owned() } else { format!("{below}/{name}") };
        let content = move |name| Some((name, folder.file(&path(name))??));
        let logo = content(LETTERHEAD_FILE).and_then(|(name, bytes)| {
            decode(name, bytes, TARIFF_FILE_LIMIT, &mut Report::default()).and_then(letterhead::logo_name)
        });
        let is_its =
            |name: &&str| *name != CHART_FILE && (!is_picture(name) || logo.as_deref() == Some(*name));
        folder.files_in(below).filter(is_its).filter_map(content).collect()
    };
    folders_of(folder, &mut Report::default()).into_iter().map(files).collect()
}

/// The folders that are editions; `` is the folder itself.
fn folders_of<'f>(folder: &'f Folder, report: &mut Report) -> Vec<&'f str> {
    let is_edition = |below: &str| folder.file(&format!("{below}/{EDITION_FILE}")).is_some();
    let mut warn = |below: &str, code, expected: &str| {
        let says = Says::warning(code, below, expected);
        report.push(Mistake::in_folder(folder.path_of(below), says));
    };
    if folder.file(EDITION_FILE).is_some() {
        for below in folder.folders().filter(|below| is_edition(below)) {
            warn(below, "unused_folder", "no edition inside an edition");
        }
        return vec![""];
    }
    let (editions, others): (Vec<_>, Vec<_>) = folder.folders().partition(|below| is_edition(below));
    for below in others.into_iter().filter(|below| !below.starts_with('.')) {
        warn(below, "unused_folder", "a folder with an edition.toml");
    }
    if editions.is_empty() && !report.has_errors() {
        let expected = "an edition.toml, in the folder or in a folder below it";
        report.push(Mistake::in_folder(folder.name().to_owned(), Says::error("no_edition", "", expected)));
    }
    editions
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn what_an_edition_that_cannot_be_read_would_price_has_no_price() {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery/tariff");
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let unreadable = [("A-WEEK", "2025-10-06", Some("2025-10-12")), ("2027-01", "2027-01-01", None)];
        let unreadable = unreadable.map(|(code, from, until)| {
            (code.parse::<Code>().unwrap(), Span { from: day(from), until: until.map(day) })
        });
        let read = read_tariff(&demo).unwrap().into_editions();
        let tariffs = Tariffs::published(read).beside_unreadable(unreadable.to_vec());
        for (on, prices, would_price) in [
            ("2025-06-30", None, None),
            ("2025-10-05", Some("2025-07"), None),
            ("2025-10-06", None, Some("A-WEEK")),
            // The agreement of a week has ended the one before it.
            ("2025-10-13", None, None),
            ("2026-01-01", Some("2026-01"), None),
            ("2026-12-31", Some("2026-07"), None),
            ("2027-03-01", None, Some("2027-01")),
        ] {
            assert_eq!(tariffs.on(day(on)).map(|edition| edition.code().as_str()), prices, "{on}");
            assert_eq!(tariffs.unreadable_on(day(on)).map(Code::as_str), would_price, "{on}");
        }
    }
}
