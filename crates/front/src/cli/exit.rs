//! How the program ends.

use std::process::ExitCode;

/// An exit code; the numbers are those of `sysexits`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Exit {
    Fine = 0,
    Usage = 64,
    BadInput = 65,
    NoInput = 66,
    Refused = 69,
    Internal = 70,
    Database = 74,
}

impl Exit {
    /// All of them, in the order of their numbers.
    pub(super) const ALL: [Self; 7] = [
        Self::Fine,
        Self::Usage,
        Self::BadInput,
        Self::NoInput,
        Self::Refused,
        Self::Internal,
        Self::Database,
    ];

    /// What it means, as help and README.md tell it.
    pub(super) const fn means(self) -> &'static str {
        match self {
            Self::Fine => "done",
            Self::Usage => "the command line is wrong, or asks for what there is not",
            Self::BadInput => {
                "a job, a tariff or the books have mistakes; a closing is not the one noted down; or the store refuses \
                 what it is given"
            }
            Self::NoInput => {
                "a file is not there, or cannot be read or written; or an address cannot be listened on"
            }
            Self::Refused => {
                "an agreement refuses the quote, as too little would be left to the workshop; or a month cannot be \
                 closed: not yet, not before others, or not again"
            }
            Self::Internal => "a defect of this program, or its answer cannot be written",
            Self::Database => "a database does not answer, or something in it cannot be read or was changed",
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}
