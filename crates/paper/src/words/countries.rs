//! Countries by the names that a language has for them.

use evenfare_engine::country::Country;

use super::Words;

/// Where partners and customers are: the Union and its neighbours.
const NAMED: [&str; 31] = [
    "country-at",
    "country-be",
    "country-bg",
    "country-ch",
    "country-cy",
    "country-cz",
    "country-de",
    "country-dk",
    "country-ee",
    "country-es",
    "country-fi",
    "country-fr",
    "country-gb",
    "country-gr",
    "country-hr",
    "country-hu",
    "country-ie",
    "country-it",
    "country-li",
    "country-lt",
    "country-lu",
    "country-lv",
    "country-mt",
    "country-nl",
    "country-no",
    "country-pl",
    "country-pt",
    "country-ro",
    "country-se",
    "country-si",
    "country-sk",
];

impl Words {
    /// A country as an address names it: one that no partner is likely to be in, by its English name.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::Words;
    /// # fn main() -> Result<(), evenfare_engine::country::InvalidCountry> {
    /// let words = Words::of(Language::Polish);
    /// assert_eq!(words.country("DE".parse()?), "Niemcy");
    /// assert_eq!(words.country("JP".parse()?), "Japan");
    /// # Ok(()) }
    /// ```
    pub fn country(&self, country: Country) -> String {
        let is_of = |id: &&&str| {
            let code = id.strip_prefix("country-");
            code.is_some_and(|code| code.eq_ignore_ascii_case(country.as_str()))
        };
        NAMED.iter().find(is_of).map_or_else(|| country.name().to_owned(), |id| self.say(id))
    }
}
