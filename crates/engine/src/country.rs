//! ISO 3166-1 alpha-2 country codes.
//!
//! Tax is decided by country, so a code that nobody assigned must not get as far as a price:
//! parsing accepts the officially assigned codes only, in upper case as the standard writes them.

use std::fmt;
use std::str::FromStr;

/// An officially assigned ISO 3166-1 alpha-2 country code.
///
/// Two bytes, so it is cheap to copy, compare and use as a key. Codes that are merely reserved
/// (`UK`, `EU`) or belong to another list (`EL`, `XI`: VAT prefixes) are not countries here.
///
/// # Errors
///
/// Parsing fails with [`InvalidCountry`] unless the text is exactly one assigned code.
///
/// # Examples
///
/// ```
/// use evenfare_engine::country::Country;
///
/// let greece: Country = "GR".parse()?;
/// assert_eq!(greece, Country::GR);
/// assert!(greece.is_eu());
/// assert_eq!(greece.name(), "Greece");
/// assert!("gr".parse::<Country>().is_err());
/// # Ok::<(), evenfare_engine::country::InvalidCountry>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Country([u8; 2]);

/// Why a text is not a [`Country`].
///
/// # Examples
///
/// ```
/// use evenfare_engine::country::Country;
///
/// let message = "de".parse::<Country>().map_err(|error| error.to_string());
/// assert_eq!(message, Err("country `de` is not in upper case: expected `DE`".to_owned()));
/// ```
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum InvalidCountry {
    /// The text would be an assigned code if it were in upper case.
    #[error("country `{input}` is not in upper case: expected `{expected}`")]
    NotUpperCase {
        /// What was found.
        input: String,
        /// The code that was probably meant.
        expected: Country,
    },
    /// The text is a code of another list that stands for an assigned country.
    #[error("country `{input}` is not an ISO 3166-1 code: expected `{expected}`")]
    OtherList {
        /// What was found.
        input: String,
        /// The code that was probably meant.
        expected: Country,
    },
    /// The text is two upper-case letters, but no country has them.
    #[error("country `{input}` is not assigned: expected an ISO 3166-1 alpha-2 code such as `DE`")]
    Unassigned {
        /// What was found.
        input: String,
    },
    /// The text is not two upper-case letters.
    #[error("country `{input}` has the wrong shape: expected two upper-case letters such as `DE`")]
    Shape {
        /// What was found.
        input: String,
    },
}

impl Country {
    /// The two-letter code.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::country::Country;
    /// assert_eq!(Country::DE.as_str(), "DE");
    /// ```
    #[must_use]
    pub fn as_str(&self) -> &str {
        // Only ASCII letters are ever stored, so the fallback is not reached.
        std::str::from_utf8(&self.0).unwrap_or_default()
    }

    /// Whether the country is one of the 27 member states of the European Union.
    ///
    /// The United Kingdom is not, and neither are Switzerland and Norway. Territories with a code
    /// of their own (`GP`, `AX`) are not member states either.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::country::Country;
    /// assert!(Country::HR.is_eu());
    /// assert!(!Country::GB.is_eu());
    /// ```
    #[must_use]
    pub fn is_eu(&self) -> bool {
        EU.binary_search(&self.0).is_ok()
    }

    /// The English short name, or the code where this crate has no name for it.
    ///
    /// Names are for messages and invoices only; compare codes, never names.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::country::Country;
    /// assert_eq!(Country::NL.name(), "Netherlands");
    /// assert_eq!("TV".parse::<Country>()?.name(), "TV");
    /// # Ok::<(), evenfare_engine::country::InvalidCountry>(())
    /// ```
    #[must_use]
    pub fn name(&self) -> &str {
        NAMED.iter().find(|(country, _)| country == self).map_or_else(|| self.as_str(), |(_, name)| name)
    }

    /// Every assigned code, in alphabetical order.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::country::Country;
    /// assert_eq!(Country::all().count(), 249);
    /// ```
    pub fn all() -> impl Iterator<Item = Self> {
        ASSIGNED.iter().copied().map(Self)
    }
}

impl FromStr for Country {
    type Err = InvalidCountry;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        if let Some(country) = assigned(text) {
            return Ok(country);
        }
        let input = text.to_owned();
        if let Some(expected) = assigned(&text.to_ascii_uppercase()) {
            return Err(InvalidCountry::NotUpperCase { input, expected });
        }
        match text {
            "EL" => Err(InvalidCountry::OtherList { input, expected: Self::GR }),
            "UK" | "XI" => Err(InvalidCountry::OtherList { input, expected: Self::GB }),
            _ if text.len() == 2 && text.bytes().all(|byte| byte.is_ascii_uppercase()) => {
                Err(InvalidCountry::Unassigned { input })
            }
            _ => Err(InvalidCountry::Shape { input }),
        }
    }
}

impl fmt::Display for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl fmt::Debug for Country {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Country({self})")
    }
}

fn assigned(text: &str) -> Option<Country> {
    let code: [u8; 2] = text.as_bytes().try_into().ok()?;
    ASSIGNED.binary_search(&code).ok().map(|_| Country(code))
}

const fn letters(code: &str) -> [u8; 2] {
    match code.as_bytes() {
        [first, second] => [*first, *second],
        // Refused by the test that every named country is assigned.
        _ => [0, 0],
    }
}

macro_rules! named {
    ($($code:ident $name:literal)*) => {
        impl Country {
            $(#[doc = concat!($name, ".")]
            pub const $code: Self = Self(letters(stringify!($code)));)*
        }
        const NAMED: &[(Country, &str)] = &[$((Country::$code, $name)),*];
    };
}

named! {
    AT "Austria" BE "Belgium" BG "Bulgaria" CY "Cyprus" CZ "Czechia" DE "Germany" DK "Denmark"
    EE "Estonia" ES "Spain" FI "Finland" FR "France" GR "Greece" HR "Croatia" HU "Hungary"
    IE "Ireland" IT "Italy" LT "Lithuania" LU "Luxembourg" LV "Latvia" MT "Malta"
    NL "Netherlands" PL "Poland" PT "Portugal" RO "Romania" SE "Sweden" SI "Slovenia"
    SK "Slovakia"
    GB "United Kingdom" CH "Switzerland" NO "Norway"
    AD "Andorra" AL "Albania" AU "Australia" BA "Bosnia and Herzegovina" BR "Brazil" CA "Canada"
    CN "China" IN "India" IS "Iceland" JP "Japan" KR "South Korea" KW "Kuwait" LI "Liechtenstein"
    MC "Monaco" MD "Moldova" ME "Montenegro" MK "North Macedonia" MX "Mexico" NZ "New Zealand"
    RS "Serbia" SM "San Marino" TR "Türkiye" UA "Ukraine" US "United States" ZA "South Africa"
}

/// The member states, sorted for the binary search.
#[rustfmt::skip]
const EU: [[u8; 2]; 27] = [
    *b"AT", *b"BE", *b"BG", *b"CY", *b"CZ", *b"DE", *b"DK", *b"EE", *b"ES", *b"FI", *b"FR", *b"GR",
    *b"HR", *b"HU", *b"IE", *b"IT", *b"LT", *b"LU", *b"LV", *b"MT", *b"NL", *b"PL", *b"PT", *b"RO",
    *b"SE", *b"SI", *b"SK",
];

/// The 249 officially assigned codes, sorted for the binary search.
///
/// Written down from memory, then found equal to the country list of the time zone database.
#[rustfmt::skip]
const ASSIGNED: [[u8; 2]; 249] = [
    *b"AD", *b"AE", *b"AF", *b"AG", *b"AI", *b"AL", *b"AM", *b"AO", *b"AQ", *b"AR", *b"AS", *b"AT",
    *b"AU", *b"AW", *b"AX", *b"AZ", *b"BA", *b"BB", *b"BD", *b"BE", *b"BF", *b"BG", *b"BH", *b"BI",
    *b"BJ", *b"BL", *b"BM", *b"BN", *b"BO", *b"BQ", *b"BR", *b"BS", *b"BT", *b"BV", *b"BW", *b"BY",
    *b"BZ", *b"CA", *b"CC", *b"CD", *b"CF", *b"CG", *b"CH", *b"CI", *b"CK", *b"CL", *b"CM", *b"CN",
    *b"CO", *b"CR", *b"CU", *b"CV", *b"CW", *b"CX", *b"CY", *b"CZ", *b"DE", *b"DJ", *b"DK", *b"DM",
    *b"DO", *b"DZ", *b"EC", *b"EE", *b"EG", *b"EH", *b"ER", *b"ES", *b"ET", *b"FI", *b"FJ", *b"FK",
    *b"FM", *b"FO", *b"FR", *b"GA", *b"GB", *b"GD", *b"GE", *b"GF", *b"GG", *b"GH", *b"GI", *b"GL",
    *b"GM", *b"GN", *b"GP", *b"GQ", *b"GR", *b"GS", *b"GT", *b"GU", *b"GW", *b"GY", *b"HK", *b"HM",
    *b"HN", *b"HR", *b"HT", *b"HU", *b"ID", *b"IE", *b"IL", *b"IM", *b"IN", *b"IO", *b"IQ", *b"IR",
    *b"IS", *b"IT", *b"JE", *b"JM", *b"JO", *b"JP", *b"KE", *b"KG", *b"KH", *b"KI", *b"KM", *b"KN",
    *b"KP", *b"KR", *b"KW", *b"KY", *b"KZ", *b"LA", *b"LB", *b"LC", *b"LI", *b"LK", *b"LR", *b"LS",
    *b"LT", *b"LU", *b"LV", *b"LY", *b"MA", *b"MC", *b"MD", *b"ME", *b"MF", *b"MG", *b"MH", *b"MK",
    *b"ML", *b"MM", *b"MN", *b"MO", *b"MP", *b"MQ", *b"MR", *b"MS", *b"MT", *b"MU", *b"MV", *b"MW",
    *b"MX", *b"MY", *b"MZ", *b"NA", *b"NC", *b"NE", *b"NF", *b"NG", *b"NI", *b"NL", *b"NO", *b"NP",
    *b"NR", *b"NU", *b"NZ", *b"OM", *b"PA", *b"PE", *b"PF", *b"PG", *b"PH", *b"PK", *b"PL", *b"PM",
    *b"PN", *b"PR", *b"PS", *b"PT", *b"PW", *b"PY", *b"QA", *b"RE", *b"RO", *b"RS", *b"RU", *b"RW",
    *b"SA", *b"SB", *b"SC", *b"SD", *b"SE", *b"SG", *b"SH", *b"SI", *b"SJ", *b"SK", *b"SL", *b"SM",
    *b"SN", *b"SO", *b"SR", *b"SS", *b"ST", *b"SV", *b"SX", *b"SY", *b"SZ", *b"TC", *b"TD", *b"TF",
    *b"TG", *b"TH", *b"TJ", *b"TK", *b"TL", *b"TM", *b"TN", *b"TO", *b"TR", *b"TT", *b"TV", *b"TW",
    *b"TZ", *b"UA", *b"UG", *b"UM", *b"US", *b"UY", *b"UZ", *b"VA", *b"VC", *b"VE", *b"VG", *b"VI",
    *b"VN", *b"VU", *b"WF", *b"WS", *b"YE", *b"YT", *b"ZA", *b"ZM", *b"ZW",
];

crate::text::serde_as_text!(Country);

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn check(text: &str, expected: Result<&str, &str>) {
        let found = text.parse::<Country>();
        let found = found.map(|country| country.to_string()).map_err(|error| error.to_string());
        assert_eq!(found, expected.map(str::to_owned).map_err(str::to_owned), "{text}");
    }

    #[test]
    fn parses_assigned_codes_only() {
        check("DE", Ok("DE"));
        check("GR", Ok("GR"));
        check("ZW", Ok("ZW"));
        check("de", Err("country `de` is not in upper case: expected `DE`"));
        check("Gb", Err("country `Gb` is not in upper case: expected `GB`"));
        check("EL", Err("country `EL` is not an ISO 3166-1 code: expected `GR`"));
        check("UK", Err("country `UK` is not an ISO 3166-1 code: expected `GB`"));
        check("XI", Err("country `XI` is not an ISO 3166-1 code: expected `GB`"));
        let unassigned = "is not assigned: expected an ISO 3166-1 alpha-2 code such as `DE`";
        for text in ["EU", "XK", "ZZ", "AN"] {
            check(text, Err(&format!("country `{text}` {unassigned}")));
        }
        let shape = "has the wrong shape: expected two upper-case letters such as `DE`";
        for text in ["", "D", "DEU", " DE", "D1", "É", "xx"] {
            check(text, Err(&format!("country `{text}` {shape}")));
        }
    }

    #[test]
    fn tables_are_sorted_and_consistent() {
        assert!(ASSIGNED.is_sorted_by(|a, b| a < b));
        assert!(EU.is_sorted_by(|a, b| a < b));
        assert_eq!(Country::all().filter(Country::is_eu).count(), 27);
        assert_eq!(NAMED.len(), 27 + 3 + 25);
        for (country, name) in NAMED {
            assert_eq!(country.as_str().parse(), Ok(*country));
            assert_eq!(country.name(), *name);
        }
        assert!(Country::all().filter(Country::is_eu).all(|state| state.name() != state.as_str()));
    }

    #[test]
    fn neighbours_are_not_member_states() {
        for code in ["GB", "CH", "NO", "IS", "LI", "MC", "IM", "AX", "GP", "TR", "UA"] {
            assert!(!code.parse::<Country>().unwrap().is_eu(), "{code}");
        }
    }

    #[test]
    fn displays_with_padding() {
        assert_eq!(format!("[{:4}]", Country::FR), "[FR  ]");
        assert_eq!(format!("{:?}", Country::FR), "Country(FR)");
    }
}
