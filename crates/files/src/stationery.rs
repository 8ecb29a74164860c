//! What the documents of an edition's quotes are written with.

use evenfare_engine::text::Code;

use crate::letterhead::Letterhead;
use crate::translations::Translations;

/// What the documents of an edition's quotes are written with: it enters no price.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Stationery {
    /// How they look, and what they say beside the figures.
    pub letterhead: Letterhead,
    /// The catalogue in other languages.
    pub translations: Translations,
    /// The bench's operations in the order of a day's work: that of the rows of `operations.csv`.
    pub operations: Vec<Code>,
}
