//! A picture as a sheet: its bytes in hexadecimal, for a book has cells and nothing else that comes back.

use crate::book::grid::Line;
use crate::book::raw::{Found, Raw};
use crate::cell::Cell;
use crate::picture::MOST_BYTES;
use crate::says::Says;

/// How many bytes stand in a cell.
const IN_A_CELL: usize = 48;

/// The bytes as lines, below a comment.
pub(super) fn lines_of(file: &str, bytes: &[u8]) -> Vec<Line> {
    let note = Line::Note(format!("# {file} in hexadecimal, for the way back; it is not to be changed here"));
    let rows = bytes.chunks(IN_A_CELL).map(|row| {
        Line::Cells(vec![row.iter().flat_map(|byte| [byte >> 4, byte & 15]).filter_map(digit).collect()])
    });
    [note].into_iter().chain(rows).collect()
}

fn digit(value: u8) -> Option<char> {
    char::from_digit(value.into(), 16)
}

/// The bytes of such a sheet, and what in it is none.
pub(super) fn bytes_of(cells: &[Raw], mistakes: &mut Vec<(Cell, Says)>) -> Vec<u8> {
    let mut bytes = Vec::new();
    for raw in cells.iter().filter(|raw| !raw.is_comment()) {
        let read = match &raw.found {
            Found::Text(text) => read(text.trim()),
            _ => None,
        };
        match read {
            Some(read) if bytes.len() <= MOST_BYTES => bytes.extend(read),
            Some(_) => {}
            None => {
                let expected = "bytes in hexadecimal, two digits each, as the export wrote them";
                mistakes.push((raw.cell, Says::error("not_hexadecimal", "another cell", expected)));
            }
        }
    }
    bytes
}

fn read(text: &str) -> Option<Vec<u8>> {
    let digits = text.chars().map(|c| c.to_digit(16)).collect::<Option<Vec<u32>>>()?;
    let pairs = digits.chunks(2).map(|pair| match pair {
        [high, low] => u8::try_from(high.checked_mul(16)?.checked_add(*low)?).ok(),
        _ => None,
    });
    pairs.collect()
}
