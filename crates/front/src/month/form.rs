//! How what comes out is written, and why it is not.

use std::io;

use evenfare_engine::money::Overflow;

/// How papers are written that are for people.
#[cfg(any(feature = "pdf", feature = "workbook"))]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// A book of a spreadsheet.
    #[cfg(feature = "workbook")]
    Xlsx,
    /// Pages.
    #[cfg(feature = "pdf")]
    Pdf,
}

#[cfg(any(feature = "pdf", feature = "workbook"))]
impl Form {
    /// All that this program was built with.
    pub(super) const ALL: &[Self] = &[
        #[cfg(feature = "workbook")]
        Self::Xlsx,
        #[cfg(feature = "pdf")]
        Self::Pdf,
    ];

    /// How the name of such a file ends.
    pub(super) const fn ending(self) -> &'static str {
        match self {
            #[cfg(feature = "workbook")]
            Self::Xlsx => "xlsx",
            #[cfg(feature = "pdf")]
            Self::Pdf => "pdf",
        }
    }
}

/// Why a file could not be written.
#[derive(Debug, thiserror::Error)]
pub enum NotWritten {
    /// A sum is too large.
    #[error(transparent)]
    Overflow(#[from] Overflow),
    /// It could not be written where it was to go.
    #[error(transparent)]
    Io(#[from] io::Error),
    /// It could not be set: the fonts lack a letter of it.
    #[error("{0}")]
    NotSet(String),
}
