//! Lists in rows and columns, each row by a function of its own.

use evenfare_reconcile::input::Place;

use crate::books::figure::place;
use crate::csv::Reader;
use crate::fields::Fields;
use crate::header::Header;
use crate::log::Log;

/// The columns of a list; they may stand in any order.
pub(super) struct Columns {
    /// All of them.
    pub(super) names: &'static [&'static str],
    /// Those of them that a list need not have.
    pub(super) optional: &'static [&'static str],
}

/// Reads all rows of a list; what is wrong is in the log.
pub(super) fn parse<T>(
    text: &str,
    columns: &Columns,
    log: &mut Log,
    mut take: impl FnMut(Place, &mut Fields) -> Option<T>,
) -> Vec<T> {
    let mut reader = Reader::separated_by(separator(text), text, 0);
    let header = match reader.next(log) {
        Some(Ok(header)) => header,
        Some(Err(_)) => return Vec::new(),
        None => {
            let expected = format!("a header row with {}", columns.names.join(", "));
            log.error(0..0, "missing_header", "", expected);
            return Vec::new();
        }
    };
    let header = Header::read(&header, columns.names, columns.optional, log);
    let mut rows = Vec::new();
    while let Some(record) = reader.next(log) {
        let Ok(record) = record else { continue };
        if record.cells.iter().all(|cell| cell.text.is_empty()) {
            continue;
        }
        let place = place(record.bytes.start, log);
        let Some(row) = header.row(record, log) else { continue };
        if let Some(mut fields) = Fields::of(&row, log) {
            rows.extend(take(place, &mut fields));
        }
    }
    rows
}

/// What stands between the columns, by the header: a spreadsheet of a country with a decimal comma writes semicolons. No
/// name of a column has either in it.
fn separator(text: &str) -> char {
    let is_row = |line: &&str| !line.is_empty() && !line.starts_with('#');
    let header = text.lines().map(str::trim).find(is_row).unwrap_or_default();
    if header.contains(';') && !header.contains(',') { ';' } else { ',' }
}
