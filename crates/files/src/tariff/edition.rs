//! One edition: `edition.toml` and the tables beside it.

use std::collections::{BTreeMap, BTreeSet};

use evenfare_engine::nearest::or_nearest;
use evenfare_engine::period::Span;
use evenfare_engine::problem::{Problem, Severity};
use evenfare_engine::tariff::{
    Edition, ExtraRow, FamilyRow, FindingRow, FlatPriceRow, GradeRow, OperationRow, PartRow, Tariff, TestRow,
};
use evenfare_engine::text::Code;

use crate::decode::{Decoded, TARIFF_FILE_LIMIT, decode};
use crate::folder::{CHART_FILE, EDITION_FILE, Folder, LETTERHEAD_FILE, is_csv, is_toml};
use crate::letterhead::Letterhead;
use crate::report::{Mistake, Report, Says};
use crate::source::Bytes;
use crate::stationery::Stationery;
use crate::tariff::letterhead;
use crate::tariff::rows::Row;
use crate::tariff::sections::{self, Main, Opening, Sections};
use crate::tariff::table::{RowsLeft, Table};
use crate::tariff::texts::{self, Known, TextRow};
use crate::translations::{Catalogue, Translations};

/// Problems that may only follow from that table: it is not there, or a row of it could not be read.
const MAY_FOLLOW: &[(&str, &str)] = &[
    ("unknown_part", "parts"),
    ("unknown_grade", "grades"),
    ("unknown_operation", "operations"),
    ("unknown_test", "tests"),
    ("unknown_finding", "findings"),
    ("unknown_family", "families"),
    ("unknown_partner", "partners"),
    ("unknown_agreement", "agreements"),
    ("unknown_refresh_list", "refresh"),
    ("unknown_wear", "wear"),
    ("no_standard_price", "flat_prices"),
    ("no_vat_rate", "vat_rates"),
    ("no_rate", "currency_rates"),
    ("zone_without_rates", "courier_rates"),
    ("partners_in_a_circle", "partners"),
    ("dearer_in_bulk", "parts"),
    ("dearer_in_bulk", "price_breaks"),
];

/// An edition as far as it could be read.
pub(super) struct Outcome {
    /// Its name and dates, for the checks between editions.
    pub(super) head: Option<Head>,
    /// The edition, where nothing is wrong with it.
    pub(super) edition: Option<Edition>,
    /// What its documents are written with.
    pub(super) stationery: Stationery,
    /// What is wrong, or worth a look.
    pub(super) report: Report,
    /// How many mistakes were kept back, as they may only follow from those.
    pub(super) held_back: usize,
}

/// What tells editions apart.
pub(super) struct Head {
    pub(super) code: Code,
    pub(super) span: Span,
    pub(super) main: Main,
}

/// Reads the edition in that folder of the folder; `` is the folder itself. Mistakes of those codes are warnings.
pub(super) fn read(folder: &Folder, below: &str, softened: &[&str]) -> Outcome {
    let mut reading = Reading::new(folder, below);
    let (sections, mut main) = reading.open(EDITION_FILE).map(sections::read).unzip();
    let opening = sections.as_ref().and_then(|sections| sections.opening.clone());
    let tariff = reading.tables(sections);
    let operations =
        tariff.iter().flat_map(|tariff| &tariff.operations).map(|row| row.code.clone()).collect();
    let stationery =
        Stationery { letterhead: reading.letterhead(), translations: reading.translations(), operations };
    reading.unused_files();
    reading.report = std::mem::take(&mut reading.report).softened(softened);
    let edition = tariff.zip(main.as_mut()).and_then(|(tariff, main)| reading.check(tariff, main));
    let logs = reading.tables.values_mut().map(|table| &mut table.log);
    for log in logs.chain(main.as_mut().map(|main| &mut main.log)) {
        log.move_into(&mut reading.report);
    }
    let head = opening.zip(main).map(|(Opening { id, span, .. }, main)| Head { code: id, span, main });
    Outcome { head, edition, stationery, report: reading.report, held_back: reading.held_back }
}

/// May the file of a table be absent?
#[derive(Clone, Copy, PartialEq, Eq)]
enum Presence {
    Needed,
    Optional,
}

/// An edition while its files are read.
struct Reading<'f> {
    folder: &'f Folder,
    below: &'f str,
    tables: BTreeMap<&'static str, Table>,
    /// The tables there are, read or not.
    known: Vec<&'static str>,
    /// Those of them that could not be read, or are not there although they are needed.
    unread: Vec<&'static str>,
    /// Those that are not there and need not be, unless another table refers to them.
    absent: Vec<&'static str>,
    /// The codes of the tables whose texts can be translated.
    catalogue: Known,
    rows_left: RowsLeft,
    report: Report,
    held_back: usize,
}

impl<'f> Reading<'f> {
    fn new(folder: &'f Folder, below: &'f str) -> Self {
        let (tables, report) = (BTreeMap::new(), Report::default());
        Self {
            folder,
            below,
            tables,
            known: Vec::new(),
            unread: Vec::new(),
            absent: Vec::new(),
            catalogue: Known::new(),
            rows_left: RowsLeft::new(),
            report,
            held_back: 0,
        }
    }

    /// The path of a file below the folder.
    fn path(&self, name: &str) -> String {
        if self.below.is_empty() { name.to_owned() } else { format!("{}/{name}", self.below) }
    }

    fn open(&mut self, name: &str) -> Option<Decoded<'f>> {
        let path = self.path(name);
        let bytes = self.folder.file(&path)??;
        decode(&self.folder.path_of(&path), bytes, TARIFF_FILE_LIMIT, &mut self.report)
    }

    /// The rows of a table.
    fn table<T: Row>(&mut self, name: &'static str, presence: Presence) -> Vec<T> {
        let file = format!("{name}.csv");
        let path = self.path(&file);
        self.known.push(name);
        if let Some(decoded) = self.open(&file) {
            let (table, rows) = Table::read(decoded, &mut self.rows_left);
            self.tables.insert(name, table);
            return rows;
        }
        match (presence, self.folder.file(&path).is_some()) {
            (_, true) => self.unread.push(name),
            (Presence::Needed, false) => self.missing(name, ""),
            (Presence::Optional, false) => self.absent.push(name),
        }
        Vec::new()
    }

    /// Reports that a table is not there.
    fn missing(&mut self, name: &'static str, why: &str) {
        let file = format!("{name}.csv");
        let says = Says::error("missing_file", "", format!("the table {file}{why}"));
        self.report.push(Mistake::in_folder(self.folder.path_of(&self.path(&file)), says));
        self.unread.push(name);
    }

    /// Reads all tables; the tariff, where no section is missing.
    fn tables(&mut self, sections: Option<Sections>) -> Option<Tariff> {
        use Presence::{Needed, Optional};
        let grades = self.table("grades", Needed);
        let parts = self.table("parts", Needed);
        let price_breaks = self.table("price_breaks", Optional);
        let operations = self.table("operations", Needed);
        let tests = self.table("tests", Needed);
        let findings = self.table("findings", Needed);
        let finding_steps = self.table("finding_steps", Needed);
        let families = self.table("families", Needed);
        let flat_prices = self.table("flat_prices", Optional);
        let refresh = self.table("refresh", Optional);
        let wear = self.table("wear", Optional);
        let zones = self.table("zones", Needed);
        let courier_rates = self.table("courier_rates", Needed);
        let extras = self.table("extras", Optional);
        let partners = self.table("partners", Optional);
        let agreements = self.table("agreements", Optional);
        let discounts = self.table("discounts", Optional);
        let credits = self.table("credits", Optional);
        let vat_rates = self.table("vat_rates", Needed);
        let currency_rates = self.table("currency_rates", Optional);
        self.know(Catalogue::Grades, &grades, |row: &GradeRow| row.code.to_string());
        self.know(Catalogue::Parts, &parts, |row: &PartRow| row.code.to_string());
        self.know(Catalogue::Operations, &operations, |row: &OperationRow| row.code.to_string());
        self.know(Catalogue::Tests, &tests, |row: &TestRow| row.code.to_string());
        self.know(Catalogue::Findings, &findings, |row: &FindingRow| row.code.to_string());
        self.know(Catalogue::Families, &families, |row: &FamilyRow| row.code.to_string());
        self.know(Catalogue::FlatPrices, &flat_prices, |row: &FlatPriceRow| {
            format!("{}/{}", row.family, row.class)
        });
        self.know(Catalogue::Extras, &extras, |row: &ExtraRow| row.code.to_string());
        let Sections { opening, workshop, price, courier, inspection, terms, markups } = sections?;
        let Opening { id, span, currency } = opening?;
        Some(Tariff {
            edition: id,
            span,
            currency,
            workshop: workshop?,
            price: price?,
            courier: courier?,
            inspection: inspection?,
            terms: terms?,
            markups: markups?,
            grades,
            parts,
            price_breaks,
            operations,
            tests,
            findings,
            finding_steps,
            families,
            flat_prices,
            refresh,
            wear,
            zones,
            courier_rates,
            extras,
            partners,
            agreements,
            discounts,
            credits,
            vat_rates,
            currency_rates,
        })
    }

    /// Notes what the texts of a table go by, where all of its rows could be read.
    fn know<T>(&mut self, table: Catalogue, rows: &[T], code: impl Fn(&T) -> String) {
        let is_whole = match self.tables.get(table.word()) {
            Some(read) => !read.log.incomplete,
            None => !self.unread.contains(&table.word()),
        };
        if is_whole {
            self.catalogue.insert(table, rows.iter().map(code).collect());
        }
    }

    /// The letterhead; that of a workshop that says nothing where there is none.
    fn letterhead(&mut self) -> Letterhead {
        let Some(decoded) = self.open(LETTERHEAD_FILE) else { return Letterhead::default() };
        let (letterhead, mut log) = letterhead::read(decoded, |name| self.folder.file(&self.path(name)));
        log.move_into(&mut self.report);
        letterhead.unwrap_or_default()
    }

    /// The texts of the catalogue in other languages.
    fn translations(&mut self) -> Translations {
        let rows: Vec<TextRow> = self.table("texts", Presence::Optional);
        for table in Catalogue::ALL.iter().filter(|table| rows.iter().any(|row| row.of() == **table)) {
            if let Some(place) = self.absent.iter().position(|name| *name == table.word()) {
                let name = self.absent.swap_remove(place);
                self.missing(name, ", to which other tables refer");
                self.catalogue.remove(table);
            }
        }
        match self.tables.get_mut("texts") {
            Some(table) => texts::translations(rows, table, std::mem::take(&mut self.catalogue)),
            None => Translations::default(),
        }
    }

    /// Warns of tables and files of keys that nothing reads. The chart of accounts is for the books.
    fn unused_files(&mut self) {
        const OF_KEYS: [&str; 2] = [EDITION_FILE, LETTERHEAD_FILE];
        let is_table = |name: &str| name.strip_suffix(".csv").is_some_and(|stem| self.known.contains(&stem));
        let is_unused = |name: &&str| match is_csv(name) {
            true => *name != CHART_FILE && !is_table(name),
            false => is_toml(name) && !OF_KEYS.contains(name),
        };
        let warning = |name: &str| {
            let expected = if is_csv(name) {
                let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
                or_nearest("only tables that a tariff has", stem, self.known.iter().copied())
            } else {
                or_nearest("only files of keys that a tariff has", name, OF_KEYS)
            };
            let path = self.folder.path_of(&self.path(name));
            Mistake::in_folder(path, Says::warning("unused_file", name, expected))
        };
        let unused = self.folder.files_in(self.below).filter(is_unused);
        let warnings: Vec<Mistake> = unused.map(warning).collect();
        self.report.extend(warnings);
    }

    /// Holds the tariff together. Beside what is wrong in the files already, only that is reported
    /// which cannot follow from it.
    fn check(&mut self, tariff: Tariff, main: &mut Main) -> Option<Edition> {
        let given = Given::of(&tariff);
        let (edition, problems) = match Edition::new(tariff) {
            Ok(edition) => (Some(edition), Vec::new()),
            Err(invalid) => (None, invalid.0),
        };
        self.absent_after_all(&problems);
        let logs = || self.tables.values().map(|table| &table.log).chain([&main.log]);
        let has_errors = self.report.has_errors() || logs().any(|log| log.errors() > 0);
        let problems = problems.iter().chain(edition.as_ref().map(Edition::warnings).unwrap_or_default());
        let (told, held_back): (Vec<_>, Vec<_>) =
            problems.map(|problem| (problem, self.locate(problem, main))).partition(|(problem, place)| {
                let is_warning = problem.severity == Severity::Warning;
                let follows = is_warning || place.is_doubtful || self.may_follow(problem.code);
                !(has_errors && follows || given.has(problem))
            });
        for (problem, Located { table, bytes, .. }) in told {
            let log = match table.and_then(|table| self.tables.get_mut(table)) {
                Some(table) => &mut table.log,
                None => &mut main.log,
            };
            log.add(bytes, Says::from(problem.clone()));
        }
        self.held_back = held_back.len();
        edition.filter(|_| !has_errors)
    }

    /// Reports each table that is not there although another refers to it, once instead of at every
    /// row that does.
    fn absent_after_all(&mut self, problems: &[Problem]) {
        for name in std::mem::take(&mut self.absent) {
            let is_missed =
                |code| MAY_FOLLOW.iter().any(|&(problem, table)| problem == code && table == name);
            if problems.iter().any(|problem| is_missed(problem.code)) {
                self.missing(name, ", to which other tables refer");
            }
        }
    }

    /// May it only follow from a table that is not there or a row that was refused?
    fn may_follow(&self, code: &str) -> bool {
        MAY_FOLLOW.iter().filter(|(problem, _)| *problem == code).any(|(_, name)| {
            match self.tables.get(name) {
                Some(table) if code == "dearer_in_bulk" => table.log.errors() > 0,
                Some(table) => table.log.incomplete,
                None => self.unread.contains(name),
            }
        })
    }

    /// Where the engine's problem stands in the files.
    fn locate(&self, problem: &Problem, main: &Main) -> Located {
        let place = problem.place.as_str();
        let name = place.split('[').next().unwrap_or(place);
        let Some((name, table)) = self.tables.get_key_value(name) else {
            let bytes = main.place(place);
            return Located { table: None, is_doubtful: main.log.has_error_at(bytes.start), bytes };
        };
        let (row, field) =
            place.split_once('[').and_then(|(_, rest)| rest.split_once(']')).unwrap_or_default();
        let field = field.strip_prefix('.').unwrap_or(field);
        let field = field.split(['.', '[']).next().unwrap_or(field);
        match row.parse() {
            Ok(row) => Located {
                table: Some(name),
                bytes: table.locate(row, field),
                is_doubtful: table.is_doubtful(row),
            },
            // The table as a whole.
            Err(_) => Located { table: Some(name), bytes: 0..0, is_doubtful: false },
        }
    }
}

/// Codes of rows that were read, in tables whose rows the engine sets aside where something is wrong
/// with them: a test whose grade is unknown is no test of its catalogue.
struct Given {
    codes: BTreeSet<(&'static str, String)>,
}

impl Given {
    fn of(tariff: &Tariff) -> Self {
        let operations = tariff.operations.iter().map(|row| ("unknown_operation", &row.code));
        let tests = tariff.tests.iter().map(|row| ("unknown_test", &row.code));
        let lists = tariff.refresh.iter().map(|row| ("unknown_refresh_list", &row.list));
        let codes = operations.chain(tests).chain(lists);
        Self { codes: codes.map(|(problem, code)| (problem, code.to_string())).collect() }
    }

    /// Is a row missed that was read? Then what is wrong with that row is told, or held back itself.
    fn has(&self, problem: &Problem) -> bool {
        self.codes.contains(&(problem.code, problem.found.clone()))
    }
}

/// A place in a file.
struct Located {
    /// The table; `edition.toml` where there is none.
    table: Option<&'static str>,
    bytes: Bytes,
    /// Something there was refused already.
    is_doubtful: bool,
}
