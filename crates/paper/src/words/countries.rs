//! Countries by the names that a language has for them.

use evenfare_engine::country::Country;

use super::Words;

/// Those that the engine has a name for.
const NAMED: [&str; 55] = [
    "country-ad",
    "country-al",
    "country-at",
    "country-au",
    "country-ba",
    "country-be",
    "country-bg",
    "country-br",
    "country-ca",
    "country-ch",
    "country-cn",
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
    "country-in",
    "country-is",
    "country-it",
    "country-jp",
    "country-kr",
    "country-kw",
    "country-li",
    "country-lt",
    "country-lu",
    "country-lv",
    "country-mc",
    "country-md",
    "country-me",
    "country-mk",
    "country-mt",
    "country-mx",
    "country-nl",
    "country-no",
    "country-nz",
    "country-pl",
    "country-pt",
    "country-ro",
    "country-rs",
    "country-se",
    "country-si",
    "country-sk",
    "country-sm",
    "country-tr",
    "country-ua",
    "country-us",
    "country-za",
];

impl Words {
    /// A country as an address names it; one that the engine has no name for, by its code.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::Words;
    /// # fn main() -> Result<(), evenfare_engine::country::InvalidCountry> {
    /// let words = Words::of(Language::Polish);
    /// assert_eq!(words.country("DE".parse()?), "Niemcy");
    /// assert_eq!(words.country("JP".parse()?), "Japonia");
    /// assert_eq!(words.country("WS".parse()?), "WS");
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
