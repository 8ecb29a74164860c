//! VAT identifiers: which shape they have in each country and whether their check digits hold.
//!
//! A customer's identifier decides who owes the tax, so a mistyped one must be found before the
//! invoice and not by the auditor. What is found here is a typing error, no more: only the tax
//! authority knows whether a well-formed identifier was given to anybody.
//!
//! The shapes are those the European Commission publishes for its VAT information exchange; each
//! scheme names the source of its check digit, or says that it is written from memory.

mod digits;
mod error;
mod letters;
mod mod10;
mod mod97;
mod persons;
mod weighted;
mod schemes;
mod spelling;

use crate::country::Country;
use crate::language::Language;
use digits::Fault;
use schemes::{SCHEMES, Scheme};
use std::fmt;
use std::str::FromStr;

pub use error::InvalidVatIdentifier;

/// The longest identifiers: a prefix of two letters and twelve characters.
const MAX: usize = 14;

/// A VAT identifier of the European Union, the United Kingdom, Switzerland or Norway.
///
/// Kept in one spelling, so that equal identifiers are equal values: upper case, without spaces,
/// dots and dashes; without the Swiss (`MWST`, `TVA`, `IVA`, `TPV`) or Norwegian (`MVA`) suffix; and
/// with the leading zero that Belgian and Greek numbers of the older length have been given.
///
/// # Examples
///
/// ```
/// use evenfare_engine::country::Country;
/// use evenfare_engine::vat::identifier::VatIdentifier;
///
/// let identifier = VatIdentifier::parse("che-107.787.577 mwst")?;
/// assert_eq!(identifier.as_str(), "CHE107787577");
/// assert_eq!(identifier.country(), Country::CH);
/// # Ok::<(), evenfare_engine::vat::identifier::InvalidVatIdentifier>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VatIdentifier {
    // Zeros fill the rest, so comparing the arrays compares the texts.
    text: [u8; MAX],
    prefix: &'static str,
    country: Country,
}

impl VatIdentifier {
    /// Reads an identifier with its prefix, in upper or lower case, with or without separators.
    ///
    /// # Errors
    ///
    /// [`InvalidVatIdentifier`] if the prefix is unknown, the shape is not the country's or the
    /// check digit is wrong.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::vat::identifier::{InvalidVatIdentifier, VatIdentifier};
    ///
    /// assert_eq!(VatIdentifier::parse("de 136 695 976")?.as_str(), "DE136695976");
    /// assert!(matches!(
    ///     VatIdentifier::parse("DE136695977"),
    ///     Err(InvalidVatIdentifier::CheckDigit { .. })
    /// ));
    /// # Ok::<(), InvalidVatIdentifier>(())
    /// ```
    pub fn parse(input: &str) -> Result<Self, InvalidVatIdentifier> {
        let compact = spelling::compact(input);
        let found = SCHEMES.iter().find_map(|scheme| Some((scheme, compact.strip_prefix(scheme.prefix)?)));
        let Some((scheme, number)) = found else {
            return Err(InvalidVatIdentifier::UnknownPrefix { input: input.to_owned() });
        };
        let Scheme { prefix, country, shape, rule, check } = *scheme;
        let number = spelling::canonical(prefix, number);
        check(number.as_bytes()).map_err(|fault| {
            let input = input.to_owned();
            match fault {
                Fault::Shape => InvalidVatIdentifier::Shape { input, prefix, expected: shape },
                Fault::Check => InvalidVatIdentifier::CheckDigit { input, prefix, expected: rule },
            }
        })?;
        let mut text = [0; MAX];
        for (slot, byte) in text.iter_mut().zip(prefix.bytes().chain(number.bytes())) {
            *slot = byte;
        }
        Ok(Self { text, prefix, country })
    }

    /// The identifier with its prefix, in its one spelling.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::vat::identifier::VatIdentifier;
    /// assert_eq!(VatIdentifier::parse("BE 428.759.497")?.as_str(), "BE0428759497");
    /// # Ok::<(), evenfare_engine::vat::identifier::InvalidVatIdentifier>(())
    /// ```
    #[must_use]
    pub fn as_str(&self) -> &str {
        // Only ASCII is ever stored, so the fallback is not reached.
        std::str::from_utf8(&self.text).unwrap_or_default().trim_end_matches('\0')
    }

    /// As a seller writes his own on invoices. Swiss and Norwegian ones have the suffix of the tax there, in French
    /// `TVA` for `MWST`: without it they are the number of any firm, whether it charges VAT or not (MWSTG, SR 641.20,
    /// Art. 26(2)(a); bokføringsforskriften, FOR-2004-12-01-1558, § 5-1-2; both from memory). Of a buyer nobody knows.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_engine::vat::identifier::VatIdentifier;
    /// let of = |text: &str, language| VatIdentifier::parse(text).map(|known| known.of_seller(language));
    /// assert_eq!(of("CHE107787577", Language::German).as_deref(), Ok("CHE-107.787.577 MWST"));
    /// assert_eq!(of("CHE107787577", Language::French).as_deref(), Ok("CHE-107.787.577 TVA"));
    /// assert_eq!(of("NO995525828", Language::French).as_deref(), Ok("NO 995 525 828 MVA"));
    /// assert_eq!(of("de 136 695 976", Language::German).as_deref(), Ok("DE136695976"));
    /// ```
    #[must_use]
    pub fn of_seller(&self, language: Language) -> String {
        let text = self.as_str();
        let number = text.strip_prefix(self.prefix).unwrap_or(text);
        let threes = |between: &str| {
            let threes: Vec<&str> =
                [0..3, 3..6, 6..9].into_iter().filter_map(|three| number.get(three)).collect();
            threes.join(between)
        };
        match self.prefix {
            "CHE" if language == Language::French => format!("CHE-{} TVA", threes(".")),
            "CHE" => format!("CHE-{} MWST", threes(".")),
            "NO" => format!("NO {} MVA", threes(" ")),
            _ => text.to_owned(),
        }
    }

    /// The prefix: the country's code but for `EL` (Greece), `XI` (Northern Ireland) and `CHE`.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::vat::identifier::VatIdentifier;
    /// assert_eq!(VatIdentifier::parse("EL094259216")?.prefix(), "EL");
    /// # Ok::<(), evenfare_engine::vat::identifier::InvalidVatIdentifier>(())
    /// ```
    #[must_use]
    pub fn prefix(&self) -> &'static str {
        self.prefix
    }

    /// The country whose tax authority gave the identifier out.
    ///
    /// That of Northern Ireland is the United Kingdom, which is not a member state; ask
    /// [`covers_goods_only`](Self::covers_goods_only) before treating a supply of goods so.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::country::Country;
    /// use evenfare_engine::vat::identifier::VatIdentifier;
    /// assert_eq!(VatIdentifier::parse("EL094259216")?.country(), Country::GR);
    /// # Ok::<(), evenfare_engine::vat::identifier::InvalidVatIdentifier>(())
    /// ```
    #[must_use]
    pub fn country(&self) -> Country {
        self.country
    }

    /// Whether the identifier counts for goods but not for services, as `XI` does.
    ///
    /// Under the Windsor Framework, Northern Ireland is treated as a member state for goods only.
    ///
    /// # Examples
    ///
    /// ```
    /// use evenfare_engine::vat::identifier::VatIdentifier;
    /// assert!(VatIdentifier::parse("XI980780684")?.covers_goods_only());
    /// assert!(!VatIdentifier::parse("GB980780684")?.covers_goods_only());
    /// # Ok::<(), evenfare_engine::vat::identifier::InvalidVatIdentifier>(())
    /// ```
    #[must_use]
    pub fn covers_goods_only(&self) -> bool {
        self.prefix == "XI"
    }
}

/// How an identifier is kept to be held against others: in its one spelling; one whose form is not known by its letters
/// and digits, in upper case. `None` where there are none.
///
/// # Examples
///
/// ```
/// use evenfare_engine::vat::identifier::comparable;
/// assert_eq!(comparable("CHE-107.787.577 MWST").as_deref(), Some("CHE107787577"));
/// assert_eq!(comparable("AU 51 824 753 556").as_deref(), Some("AU51824753556"));
/// assert_eq!(comparable("-"), None);
/// ```
#[must_use]
pub fn comparable(input: &str) -> Option<String> {
    let text = match VatIdentifier::parse(input) {
        Ok(known) => known.as_str().to_owned(),
        Err(_) => input.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase).collect(),
    };
    (!text.is_empty()).then_some(text)
}

/// Are identifiers of that country read here? Elsewhere in the world they follow rules that are not checked.
pub(crate) fn are_read_of(country: Country) -> bool {
    SCHEMES.iter().any(|scheme| scheme.country == country)
}

impl FromStr for VatIdentifier {
    type Err = InvalidVatIdentifier;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::parse(text)
    }
}

impl fmt::Display for VatIdentifier {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl fmt::Debug for VatIdentifier {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "VatIdentifier({self})")
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// `expected` is the one spelling, or how the error names the fault.
    fn check(input: &str, expected: Result<&str, &str>) {
        match (VatIdentifier::parse(input), expected) {
            (Ok(found), Ok(spelling)) => assert_eq!(found.as_str(), spelling, "{input}"),
            (Err(error), Err(part)) => {
                let error = error.to_string();
                assert!(error.contains(part), "{input}: {error}");
                assert!(error.contains(&format!("`{input}`")), "{error}");
            }
            (found, _) => assert_eq!(format!("{found:?}"), format!("{expected:?}"), "{input}"),
        }
    }

    const SHAPE: Result<&str, &str> = Err("has the wrong shape: expected `");
    const DIGIT: Result<&str, &str> = Err("has a wrong check digit: expected that of `");
    const PREFIX: Result<&str, &str> = Err("has no known prefix");

    #[test]
    fn agrees_with_the_reference_vectors() {
        // Decided by the Python package python-stdnum 2.2.
        let vectors = include_str!("identifier_vectors.csv");
        let mut seen = 0;
        for line in vectors.lines().skip(1) {
            let (input, valid) = line.split_once(',').unwrap();
            let found = VatIdentifier::parse(input);
            assert_eq!(found.is_ok(), valid.parse::<bool>().unwrap(), "{input}");
            if let Ok(found) = found {
                assert_eq!(found.as_str().parse(), Ok(found));
            }
            seen += 1;
        }
        assert_eq!(seen, 1559);
    }

    #[test]
    fn checks_digits_and_letters() {
        for valid in "ATU13585627 BE0428759497 BE1000591226 DE136695976 IT00743110157 \
            NL004495445B01 PL8567346215 SE123456789701"
            .split_whitespace()
        {
            check(valid, Ok(valid));
        }
        check("DE136695977", DIGIT);
        check("ATU13585626", DIGIT);
        check("NL004495445B02", Ok("NL004495445B02"));
        check("NL004495446B01", DIGIT);
    }

    #[test]
    fn writes_one_spelling() {
        check(" de 136.695-976 ", Ok("DE136695976"));
        check("DE\u{a0}136\u{2011}695\u{2013}976", Ok("DE136695976"));
        check("BE 428.759.497", Ok("BE0428759497"));
        check("EL94259216", Ok("EL094259216"));
        check("CHE-107.787.577 IVA", Ok("CHE107787577"));
        check("NO 995 525 828 MVA", Ok("NO995525828"));
        let (new, old) = (VatIdentifier::parse("BE0428759497"), VatIdentifier::parse("BE428759497"));
        assert_eq!(new, old);
        let shown = new.map(|new| format!("{new:>13} {new:?}"));
        assert_eq!(shown.as_deref(), Ok(" BE0428759497 VatIdentifier(BE0428759497)"));
    }

    #[test]
    fn refuses_other_prefixes() {
        check("", PREFIX);
        for input in "- D É GR094259216 US123456789 CH107787577 995525828MVA".split_whitespace() {
            check(input, PREFIX);
        }
    }

    #[test]
    fn refuses_wrong_shapes() {
        for input in "DE DE13669597 DE1366959760 DE036695976 DE13669597X DE13669597٦ \
            AT13585627 BE2000591226 NL004495445B00 NL04495445B01 SE123456789702 \
            IT00743112157 RO1 RO018547290 GBGD500 GBHA499 CHE107787577XYZ \
            NO995525828M LT1213179 ES123456789 ESI12345674 FRI0303265045 CZ991331000 \
            IE8D79739IA DE136,695,976 CY12000000F CZ90000005"
            .split_whitespace()
        {
            check(input, SHAPE);
        }
    }

    #[test]
    fn takes_every_kind_of_number() {
        for input in "ES54362315K ESX2482300W ESJ99216582 ESB58378431 ESK0867756N \
            FR40303265045 FR83404833048 FRK7399859412 IE6433435F IE6433435OA \
            IE8D79739I IE8+79739I GBGD001 GBHA500 XIGD499 GB100000034 NL000099998B57 \
            SK2022749619 CZ25123891 CZ10000003 CZ00000060 LT200000017 LT540000010 \
            ESZ0000000M ESA0000000J"
            .split_whitespace()
        {
            check(input, Ok(input));
        }
    }

    #[test]
    fn differs_from_the_reference_on_purpose() {
        // Remainder 55 belongs to neither British series, and no Belgian check number exceeds 97.
        check("GB830925684", DIGIT);
        check("BE0490005198", DIGIT);
        check("MT10000071", DIGIT);
        check("CZ154224512", SHAPE);
        check("LV19036345239", SHAPE);
        check("NL38895754B60", SHAPE);
        check("IE0J03951QG", SHAPE);
    }

    #[test]
    fn tells_prefix_country_and_scope() {
        let of = |input: &str| {
            let found = VatIdentifier::parse(input).unwrap();
            (found.prefix(), found.country(), found.covers_goods_only())
        };
        assert_eq!(of("EL094259216"), ("EL", Country::GR, false));
        assert_eq!(of("XI980780684"), ("XI", Country::GB, true));
        assert_eq!(of("GB980780684"), ("GB", Country::GB, false));
        assert_eq!(of("CHE107787577MWST"), ("CHE", Country::CH, false));
        assert_eq!(of("NO995525828"), ("NO", Country::NO, false));
        let others = [Country::CH, Country::GB, Country::NO];
        assert!(Country::all().all(|one| are_read_of(one) == (one.is_eu() || others.contains(&one))));
    }

    #[test]
    fn names_what_was_found_and_expected() {
        check(
            "DE136695977",
            Err(
                "identifier `DE136695977` has a wrong check digit: expected that of `DE`, ISO/IEC 7064 MOD 11,10",
            ),
        );
        check(
            "dk 1",
            Err("identifier `dk 1` has the wrong shape: expected `DK` followed by 8 digits, the first not 0"),
        );
    }
}
