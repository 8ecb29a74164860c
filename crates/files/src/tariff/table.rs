//! One table of an edition: a header, and rows in any order.

use crate::csv::{Broken, Reader, Record};
use crate::decode::Decoded;
use crate::fields::Fields;
use crate::header::Header;
use crate::log::Log;
use crate::source::Bytes;
use crate::tariff::rows::Row;

/// An edition has no more rows than this, in all its tables.
const MOST_ROWS: usize = 200_000;

/// How many rows an edition may still have.
pub(super) struct RowsLeft {
    left: usize,
    is_told: bool,
}

impl RowsLeft {
    pub(super) fn new() -> Self {
        Self { left: MOST_ROWS, is_told: false }
    }

    /// Takes one row; answers whether it may be read, and reports the first that may not.
    fn take(&mut self, record: &Record, log: &mut Log) -> bool {
        if self.left == 0 && !self.is_told {
            let expected = format!("at most {MOST_ROWS} rows in all tables of an edition");
            log.error(record.bytes.clone(), "too_many_rows", "one row more", expected);
            self.is_told = true;
        }
        let may_be_read = self.left > 0;
        self.left = self.left.saturating_sub(1);
        log.incomplete |= !may_be_read;
        may_be_read
    }
}

/// A table after it was read: where its rows are.
pub(super) struct Table {
    pub(super) log: Log,
    header: Header,
    rows: Vec<RowPlace>,
}

/// Where a row begins, and whether something in it was refused.
struct RowPlace {
    start: usize,
    is_doubtful: bool,
}

impl Table {
    /// Reads all rows of a table. What is wrong is in the log; rows without it are answered.
    pub(super) fn read<T: Row>(decoded: Decoded, rows_left: &mut RowsLeft) -> (Self, Vec<T>) {
        let Decoded { text, log } = decoded;
        let mut table = Self { log, header: Header::default(), rows: Vec::new() };
        let mut rows = Vec::new();
        let mut reader = Reader::new(&text, 0);
        match reader.next(&mut table.log) {
            Some(Ok(header)) if table.take_header::<T>(&header) => {}
            Some(_) => {
                table.log.incomplete = true;
                return (table, rows);
            }
            None => {
                let expected = format!("a header row with {}", names::<T>().join(", "));
                table.log.error(0..0, "missing_header", "", expected);
                table.log.incomplete = true;
                return (table, rows);
            }
        }
        while let Some(record) = reader.next(&mut table.log) {
            let Ok(record) = record else {
                table.log.incomplete = true;
                continue;
            };
            if record.cells.iter().all(|cell| cell.text.is_empty()) {
                continue;
            }
            if !rows_left.take(&record, &mut table.log) {
                break;
            }
            let start = record.bytes.start;
            let errors = table.log.errors();
            if let Some(row) = table.take_row(record) {
                table.rows.push(RowPlace { start, is_doubtful: table.log.errors() > errors });
                rows.push(row);
            } else {
                table.log.incomplete = true;
            }
        }
        (table, rows)
    }

    /// Holds the header against the fields; answers whether rows can be read by it.
    fn take_header<T: Row>(&mut self, header: &Record) -> bool {
        let names = names::<T>();
        let log = &mut self.log;
        if let [only] = header.cells.as_slice()
            && let Some(separator) = only.text.chars().find(|c| matches!(c, ';' | '\t' | '|'))
        {
            log.error(
                only.bytes.clone(),
                "wrong_separator",
                &separator.to_string(),
                "commas between the columns",
            );
            return false;
        }
        self.header = Header::read(header, &names, T::OPTIONAL, log);
        self.header.counts()
    }

    fn take_row<T: Row>(&mut self, record: Record) -> Option<T> {
        let node = self.header.row(record, &mut self.log)?;
        T::take(&mut Fields::of(&node, &mut self.log)?)
    }

    /// Where that field of that row stands; the row itself where there is no such field.
    pub(super) fn locate(&self, row: usize, field: &str) -> Bytes {
        let Some(place) = self.rows.get(row) else { return 0..0 };
        let source = self.log.source();
        // Nothing goes wrong in a row that was read before, so what this log says is not looked at.
        match Reader::new(source.text(), place.start).next(&mut Log::new(source)) {
            Some(Ok(record)) => {
                // Two columns make one field.
                let field = if field == "span" { "from" } else { field };
                let cell = self.header.column(field).and_then(|column| record.cells.get(column));
                cell.map_or(record.bytes, |cell| cell.bytes.clone())
            }
            Some(Err(Broken)) | None => place.start..place.start,
        }
    }

    /// Was something in that row refused already?
    pub(super) fn is_doubtful(&self, row: usize) -> bool {
        self.rows.get(row).is_some_and(|place| place.is_doubtful)
    }
}

/// The names of all columns.
fn names<T: Row>() -> Vec<&'static str> {
    T::COLUMNS.concat()
}
