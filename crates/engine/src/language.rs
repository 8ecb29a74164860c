//! Languages that documents are written in.

use crate::category::words;

words! {
    /// A language of documents, by its code of ISO 639-1. It never enters a price:
    /// `language_changes_no_figure`.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// assert_eq!("pl".parse(), Ok(Language::Polish));
    /// assert!("Polish".parse::<Language>().is_err());
    /// ```
    Language {
        /// English, as written in Europe.
        English = "en",
        /// German.
        German = "de",
        /// Polish.
        Polish = "pl",
        /// French.
        French = "fr",
        /// Czech.
        Czech = "cs",
    }
}
