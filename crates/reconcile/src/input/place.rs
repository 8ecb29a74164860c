//! Where something was read.

use std::sync::Arc;

/// The file something was read from, and where in it: what a person opens to look for himself.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file's name, shared by all that was read from it.
    pub file: Arc<str>,
    /// The line, from 1.
    pub line: u32,
}
