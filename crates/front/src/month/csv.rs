//! Rows of comma-separated text, as spreadsheets and accounting programs read them.

use std::io::{self, Write};

/// Writes one row; quotes stand only where a cell needs them.
pub(super) fn row<T: AsRef<str>>(to: &mut dyn Write, cells: impl IntoIterator<Item = T>) -> io::Result<()> {
    for (place, cell) in cells.into_iter().enumerate() {
        if place > 0 {
            to.write_all(b",")?;
        }
        let cell = cell.as_ref();
        if cell.contains([',', '"', '\n', '\r']) || cell.trim() != cell || place == 0 && cell.starts_with('#')
        {
            write!(to, "\"{}\"", cell.replace('"', "\"\""))?;
        } else {
            to.write_all(cell.as_bytes())?;
        }
    }
    to.write_all(b"\n")
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn quotes_stand_where_they_are_needed() {
        let check = |cells: &[&str], expected: &str| {
            let mut text = Vec::new();
            row(&mut text, cells).unwrap();
            assert_eq!(String::from_utf8(text).unwrap(), expected);
        };
        check(&["a", "", "1.50"], "a,,1.50\n");
        check(&["a,b", "say \"so\"", " c"], "\"a,b\",\"say \"\"so\"\"\",\" c\"\n");
        check(&["#1", "#1"], "\"#1\",#1\n");
    }
}
