//! Closings, written and read back.

use evenfare_reconcile::period::Closing;

/// A closing as the text of its file.
pub fn write_closing(closing: &Closing) -> String {
    closing.month.to_string()
}
