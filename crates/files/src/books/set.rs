//! A books folder as a whole: what month end takes in, but for what the store keeps.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use evenfare_engine::nearest::or_nearest;
use evenfare_reconcile::Inputs;
use evenfare_reconcile::chart::Chart;
use evenfare_reconcile::input::{Charge, CourierBill, Invoice, Statement, WorkDone};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::Closing;
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::terms::{BankAccount, BonusTier, Decision, Terms};

use crate::books::rows::once;
use crate::books::{accounts, bonuses, camt, chart, closing, decided, invoice, list, rows, rules};
use crate::decode::{BOOKS_LIMIT, decode};
use crate::folder::{self, CHART_FILE};
use crate::log::Log;
use crate::report::{Mistake, Report, Says};

/// The rules of the books.
const RULES: &str = "books.toml";
/// Folders in folders are read so deep.
const DEEPEST: usize = 8;

/// The file of a closing in a books folder: `closings/2026-07.csv`.
pub fn closing_file(month: Month) -> String {
    format!("closings/{month}.csv")
}

/// Reads a books folder up to a day, and the chart of accounts, which stands in a file beside the tariff.
/// The files are described on the front page of this crate.
///
/// # Errors
/// Every mistake in every file at once; whatever cannot be read.
///
/// # Examples
/// ```no_run
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let chart = std::path::Path::new("tariff/chart.csv");
/// let books = evenfare_files::read_books("books".as_ref(), Some(chart), "2026-10-31".parse()?)?;
/// println!("{} statements", books.statements.len());
/// # Ok(()) }
/// ```
pub fn read_books(dir: &Path, chart: Option<&Path>, until: NaiveDate) -> Result<Inputs, Report> {
    read_books_watched(dir, chart, until, |_, _| ())
}

/// As [`read_books`]; `watch` is told how many files are read, and of how many: none of them first.
///
/// # Errors
/// As [`read_books`].
pub fn read_books_watched(
    dir: &Path,
    chart: Option<&Path>,
    until: NaiveDate,
    watch: impl FnMut(usize, usize),
) -> Result<Inputs, Report> {
    let mut report = Report::default();
    let mut files = list_files(dir, "", 0, &mut report);
    if files.is_empty() && report.has_unreadable() {
        return Err(report);
    }
    files.extend(chart.map(|chart| File {
        path: CHART_FILE.to_owned(),
        shown: chart.display().to_string(),
        origin: Origin::Disk(chart.to_owned()),
    }));
    read(files, &dir.join(RULES).display().to_string(), Reading::new(until, report), watch)
}

/// Reads the files of a books folder up to a day, by their paths in it. The chart of accounts is among them as
/// `chart.csv`. What was agreed and invoiced by way of the store is to be added.
///
/// # Errors
/// Every mistake in every file at once.
///
/// # Examples
/// ```
/// use evenfare_files::parse_books;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let rules = "currency = \"EUR\"\nrounding_minor = 1\ncurrency_percent = \"1\"\npayment_days = 14\n";
/// let accounts = "account,firm\nDE02120300000000202051,P-BRZEG\n";
/// let file = |path: &str, text: &str| (path.to_owned(), text.as_bytes().to_vec());
/// let files = vec![file("books.toml", rules), file("bank_accounts.csv", accounts)];
/// let books = parse_books(files, "2026-10-31".parse()?)?;
/// assert_eq!(&*books.terms.accounts[0].firm, "P-BRZEG");
/// // What would not be looked at is a mistake.
/// let report = parse_books(vec![file("statement/10.xml", "")], "2026-10-31".parse()?).unwrap_err();
/// assert!(report.to_string().contains("statement/10.xml: error[unused_file]"));
/// # Ok(()) }
/// ```
pub fn parse_books(files: Vec<(String, Vec<u8>)>, until: NaiveDate) -> Result<Inputs, Report> {
    let files = files.into_iter();
    let files = files.map(|(path, bytes)| File { shown: path.clone(), path, origin: Origin::Memory(bytes) });
    read(files.collect(), RULES, Reading::new(until, Report::default()), |_, _| ())
}

/// A file of the folder, which is read when it is its turn.
struct File {
    /// Its path in the folder, parted by `/`. Places name it, so that they are the same wherever the folder
    /// lies.
    path: String,
    /// Its name in messages.
    shown: String,
    origin: Origin,
}

enum Origin {
    Disk(PathBuf),
    Memory(Vec<u8>),
}

/// What a file is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Rules,
    Chart,
    BankAccounts,
    Bonuses,
    Rates,
    DecidedPayments,
    DecidedInvoices,
    WorkDone,
    Statement,
    Invoice,
    Charges,
    CourierBills,
    Closing,
    /// Read by nobody, though it looks as if it should be.
    Unused,
}

/// The files of which there is one.
const SINGLE: &[(&str, Kind)] = &[
    (RULES, Kind::Rules),
    (CHART_FILE, Kind::Chart),
    ("bank_accounts.csv", Kind::BankAccounts),
    ("bonuses.csv", Kind::Bonuses),
    ("rates.csv", Kind::Rates),
    (decided::PAYMENTS, Kind::DecidedPayments),
    (decided::INVOICES, Kind::DecidedInvoices),
    ("work_done.csv", Kind::WorkDone),
];

/// The folders of which any number of files are read, and what their names end in.
const FOLDERS: &[(&str, &str, Kind)] = &[
    ("statements", ".xml", Kind::Statement),
    ("invoices", ".xml", Kind::Invoice),
    ("charges", ".csv", Kind::Charges),
    ("couriers", ".csv", Kind::CourierBills),
    ("closings", ".csv", Kind::Closing),
];

/// What the file at that path is; nothing for one that is left alone.
fn kind_of(path: &str) -> Option<Kind> {
    let name = path.to_ascii_lowercase();
    if path.split('/').any(|part| part.starts_with('.')) || name.ends_with(".md") {
        return None;
    }
    if let Some((_, kind)) = SINGLE.iter().find(|(single, _)| *single == path) {
        return Some(*kind);
    }
    let of_folder =
        |(folder, _, _): &&(&str, &str, Kind)| path.split_once('/').is_some_and(|p| p.0 == *folder);
    match FOLDERS.iter().find(of_folder) {
        Some((_, end, kind)) if name.ends_with(end) => Some(*kind),
        Some(_) => Some(Kind::Unused),
        None => [".csv", ".xml", ".toml"].iter().any(|end| name.ends_with(end)).then_some(Kind::Unused),
    }
}

/// What a file that nobody reads may have been meant for.
fn meant(path: &str) -> String {
    let first = path.split('/').next().unwrap_or(path);
    match FOLDERS.iter().find(|(folder, ..)| *folder == first) {
        Some((_, end, _)) => format!("files whose names end in {end}"),
        None => {
            let folders = FOLDERS.iter().map(|(folder, ..)| *folder);
            let names = SINGLE.iter().map(|(single, _)| *single).chain(folders);
            or_nearest("only files and folders that a books folder has", first, names)
        }
    }
}

/// Lists the files of a folder and of those in it.
fn list_files(dir: &Path, below: &str, depth: usize, report: &mut Report) -> Vec<File> {
    let mut files = Vec::new();
    let paths = folder::paths_in(dir, "a books folder").unwrap_or_else(|says| {
        report.push(Mistake::in_folder(dir.display().to_string(), says));
        Vec::new()
    });
    for (name, on_disk) in paths {
        let path = if below.is_empty() { name } else { format!("{below}/{name}") };
        if !on_disk.is_dir() {
            files.push(File { path, shown: on_disk.display().to_string(), origin: Origin::Disk(on_disk) });
        } else if depth < DEEPEST {
            files.append(&mut list_files(&on_disk, &path, depth.saturating_add(1), report));
        }
    }
    files
}

fn read(
    files: Vec<File>,
    rules: &str,
    mut reading: Reading,
    mut watch: impl FnMut(usize, usize),
) -> Result<Inputs, Report> {
    let mut files: Vec<(Kind, File)> =
        files.into_iter().filter_map(|file| Some((kind_of(&file.path)?, file))).collect();
    // Some tables are in the currency of the books.
    files.sort_by(|(a, one), (b, other)| (a, &one.path, &one.shown).cmp(&(b, &other.path, &other.shown)));
    if !files.iter().any(|(kind, _)| *kind == Kind::Rules) {
        let says = Says::error("missing_file", "", "the rules of the books");
        reading.report.push(Mistake::in_folder(rules.to_owned(), says));
    }
    let all = files.len();
    watch(0, all);
    let mut last = String::new();
    for (done, (kind, file)) in (1_usize..).zip(files) {
        if file.path == last {
            let says = Says::error("doubled_file", &file.path, "each file once");
            reading.report.push(Mistake::in_folder(file.shown, says));
        } else {
            last.clone_from(&file.path);
            reading.file(kind, file);
        }
        watch(done, all);
    }
    reading.books()
}

/// A folder while its files are read.
struct Reading {
    until: NaiveDate,
    terms: Option<Terms>,
    accounts: Vec<BankAccount>,
    bonuses: Vec<BonusTier>,
    rates: Rates,
    invoices: Vec<Invoice>,
    charges: Vec<Charge>,
    statements: Vec<Statement>,
    courier_bills: Vec<CourierBill>,
    work_done: Vec<WorkDone>,
    decisions: Vec<Decision>,
    closings: Vec<Closing>,
    chart: Chart,
    report: Report,
}

impl Reading {
    fn new(until: NaiveDate, report: Report) -> Self {
        Self {
            until,
            terms: None,
            accounts: Vec::new(),
            bonuses: Vec::new(),
            rates: Rates::default(),
            invoices: Vec::new(),
            charges: Vec::new(),
            statements: Vec::new(),
            courier_bills: Vec::new(),
            work_done: Vec::new(),
            decisions: Vec::new(),
            closings: Vec::new(),
            chart: Chart::default(),
            report,
        }
    }

    /// Reads one file and forgets its text.
    fn file(&mut self, kind: Kind, file: File) {
        let File { path, shown, origin } = file;
        if kind == Kind::Unused {
            let says = Says::error("unused_file", &path, meant(&path));
            return self.report.push(Mistake::in_folder(shown, says));
        }
        let bytes = match origin {
            Origin::Memory(bytes) => Ok(bytes),
            Origin::Disk(path) => folder::read(&path, BOOKS_LIMIT),
        };
        let bytes = match bytes {
            Ok(bytes) => bytes,
            Err(says) => return self.report.push(Mistake::in_folder(shown, says)),
        };
        let Some(mut decoded) = decode(&shown, &bytes, BOOKS_LIMIT, &mut self.report) else { return };
        decoded.log.read_as(&path);
        self.take(kind, &decoded.text, &mut decoded.log);
        decoded.log.move_into(&mut self.report);
    }

    fn take(&mut self, kind: Kind, text: &str, log: &mut Log) {
        match kind {
            Kind::Rules => self.terms = rules::parse(text, self.until, log),
            Kind::Chart => self.chart = chart::parse(text, log),
            Kind::BankAccounts => self.accounts = accounts::parse(text, log),
            Kind::Bonuses => {
                let books = self.terms.as_ref().map(|terms| terms.currency);
                self.bonuses = bonuses::parse(text, books, log);
            }
            Kind::Rates => {
                let rates = once(list::parse(text, &rows::RATES, log, rows::rate), log).into_iter();
                self.rates = Rates::new(rates.map(|(_, (day, currency), rate)| (day, currency, rate)));
            }
            Kind::DecidedPayments => self.decisions.extend(decided::payments(text, log)),
            Kind::DecidedInvoices => self.decisions.extend(decided::invoices(text, log)),
            Kind::WorkDone => self.work_done = list::parse(text, &rows::WORK_DONE, log, rows::work_done),
            Kind::Statement => self.statements.extend(camt::parse(text, log)),
            Kind::Invoice => self.invoices.extend(invoice::parse(text, log)),
            Kind::Charges => self.charges.extend(list::parse(text, &rows::CHARGES, log, rows::charge)),
            Kind::CourierBills => {
                let bills = list::parse(text, &rows::COURIER_BILLS, log, rows::courier_bill);
                self.courier_bills.extend(bills);
            }
            Kind::Closing => self.closings.extend(closing::parse(text, log)),
            Kind::Unused => {}
        }
    }

    fn books(self) -> Result<Inputs, Report> {
        let Self { report, accounts, bonuses, .. } = self;
        let Some(terms) = self.terms.filter(|_| report.is_empty()) else { return Err(report) };
        Ok(Inputs {
            terms: Terms { accounts, bonuses, ..terms },
            rates: self.rates,
            partners: BTreeSet::new(),
            agreed: Vec::new(),
            invoices: self.invoices,
            charges: self.charges,
            statements: self.statements,
            courier_bills: self.courier_bills,
            work_done: self.work_done,
            decisions: self.decisions,
            closings: self.closings,
            chart: self.chart,
        })
    }
}
