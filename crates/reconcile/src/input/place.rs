//! Where something was read.

/// The file something was read from, and where in it: what a person opens to look for himself.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file's name.
    pub file: Box<str>,
    /// The line, from 1.
    pub line: u32,
}
