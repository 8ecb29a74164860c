//! What documents there are, and how they are written.

use clap::ValueEnum;

/// What a document is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// What the end customer is offered.
    Quote,
    /// What a partner pays, keeps, and charges.
    Partner,
    /// Everything that the office knows.
    Office,
    /// The work, without a price.
    Bench,
    /// What the workshop's buyer pays.
    Invoice,
    /// What takes an invoice back.
    CreditNote,
}

impl Kind {
    /// Its stable name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Quote => "quote",
            Self::Partner => "partner",
            Self::Office => "office",
            Self::Bench => "bench",
            Self::Invoice => "invoice",
            Self::CreditNote => "credit-note",
        }
    }

    /// Has it a number of its own, given out when an accepted offer is charged or taken back?
    pub const fn is_of_books(self) -> bool {
        matches!(self, Self::Invoice | Self::CreditNote)
    }

    /// Is there a form of a standard for it?
    pub const fn has_xml(self) -> bool {
        !matches!(self, Self::Office | Self::Bench)
    }
}

/// How a document is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// PDF/A-3, its XML attached.
    Pdf,
    /// UBL 2.1; invoices and credit notes by EN 16931.
    Xml,
}

impl Format {
    /// The end of a file's name.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Pdf => "pdf",
            Self::Xml => "xml",
        }
    }

    /// As programs are told it.
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Pdf => "application/pdf",
            Self::Xml => "application/xml",
        }
    }
}
