//! The header of a table, and rows by it.

use std::borrow::Cow;

use crate::csv::{Cell, Record};
use crate::log::Log;
use crate::node::{Entry, Kind, Node};

/// Which column of a table is which.
#[derive(Debug, Default)]
pub(crate) struct Header {
    /// The name at the head of each column; nothing for a column that does not count.
    columns: Vec<Option<&'static str>>,
}

impl Header {
    /// Holds the first row of a table against the columns it may have, of which some may be left out.
    pub(crate) fn read(
        header: &Record,
        names: &[&'static str],
        optional: &[&'static str],
        log: &mut Log,
    ) -> Self {
        let mut columns: Vec<Option<&'static str>> = Vec::with_capacity(header.cells.len());
        for cell in &header.cells {
            match names.iter().copied().find(|name| *name == cell.text) {
                Some(name) if columns.contains(&Some(name)) => {
                    log.error(cell.bytes.clone(), "doubled_column", name, "each column once");
                    columns.push(None);
                }
                Some(name) => columns.push(Some(name)),
                None => {
                    let expected = format!("one of {}", names.join(", "));
                    let known = names.iter().copied();
                    log.unknown(cell.bytes.clone(), "unknown_column", &cell.text, &expected, known);
                    columns.push(None);
                }
            }
        }
        for name in names {
            if !columns.contains(&Some(name)) && !optional.contains(name) {
                log.error(header.bytes.clone(), "missing_column", "", format!("a column {name}"));
                // So its cells are not told as missing once more in every row.
                log.partial = true;
            }
        }
        Self { columns }
    }

    /// Is there a column that counts?
    pub(crate) fn counts(&self) -> bool {
        self.columns.iter().any(Option::is_some)
    }

    /// The place of a column in each row.
    pub(crate) fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|own| *own == Some(name))
    }

    /// A row by the names of its columns; reported where it has another number of cells.
    pub(crate) fn row<'a>(&self, record: Record<'a>, log: &mut Log) -> Option<Node<'a>> {
        let (found, expected) = (record.cells.len(), self.columns.len());
        if found != expected {
            if log.partial {
                // The header lacks a column; it is told there, and not once more in every row.
                return None;
            }
            let comma = if found > expected {
                "; a text with a comma stands in double quotes, a number has a point"
            } else {
                ""
            };
            let expected = format!("{expected} cells, as the header has{comma}");
            log.error(record.bytes, "ragged_row", &format!("{found} cells"), expected);
            return None;
        }
        let cells = self.columns.iter().zip(record.cells);
        let entries = cells.filter_map(|(name, Cell { bytes, text })| {
            let value = Node::new(bytes.clone(), Kind::Cell(text));
            name.map(|name| Entry { key: Cow::Borrowed(name), key_bytes: bytes, value })
        });
        Some(Node::new(record.bytes, Kind::Table(entries.collect())))
    }
}
