//! Why there is no document.

use super::kind::Kind;

/// Why there is no document.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotMade {
    /// Whoever asks may not have it.
    #[error("this quote has no `{}` document for who asks for it", kind.word())]
    NotHis {
        /// What was asked for.
        kind: Kind,
    },
    /// The route has several partners or none, and each has a sheet of his own.
    #[error("{}", which(partners))]
    WhichPartner {
        /// Those on the route.
        partners: Vec<String>,
    },
    /// No standard has a form for it.
    #[error("there is no XML of a `{}` document; expected pdf", kind.word())]
    NoXml {
        /// What was asked for.
        kind: Kind,
    },
    /// It is not of one offer alone.
    #[error(
        "a `{}` document is of all offers; expected an offer only for the bench, or for the XML of a quote",
        kind.word()
    )]
    OfAllOffers {
        /// What was asked for.
        kind: Kind,
    },
    /// There is no such offer.
    #[error("the quote has no offer `{found}`; expected one of {expected}")]
    Offer {
        /// What was asked for.
        found: String,
        /// The names there are.
        expected: String,
    },
    /// The number is that of the other document of the books.
    #[error("{number} is the number of a document of kind {}", kind.word())]
    OtherKind {
        /// What was asked for.
        number: String,
        /// What it is.
        kind: Kind,
    },
    /// A standard has no form for these figures, or the fonts no letter for these texts.
    #[error("{0}")]
    NotWritable(String),
    /// The program was built without PDF.
    #[error("this program was built without PDF; build it with `cargo build --features pdf`, or ask for xml")]
    NoPdf,
    /// A defect of the program.
    #[error("{0}")]
    Internal(String),
}

fn which(partners: &[String]) -> String {
    match partners {
        [] => String::from("the route of this quote has no partner, so there is no partner's sheet"),
        _ => format!("each partner has a sheet of his own; expected one of {}", partners.join(", ")),
    }
}
