//! The table of prefixes: to whom each belongs and what is checked.

use super::digits::Checked;
use super::{letters, mod10, mod97, persons, weighted};
use crate::country::Country;

/// The rules of one prefix.
pub(super) struct Scheme {
    pub(super) prefix: &'static str,
    pub(super) country: Country,
    /// What follows the prefix.
    pub(super) shape: &'static str,
    /// What the check digit follows.
    pub(super) rule: &'static str,
    pub(super) check: fn(&[u8]) -> Checked,
}

const fn scheme(
    prefix: &'static str,
    country: Country,
    check: fn(&[u8]) -> Checked,
    shape: &'static str,
    rule: &'static str,
) -> Scheme {
    Scheme { prefix, country, shape, rule, check }
}

const MOD_11: &str = "a weighted sum modulo 11";
const MOD_11_10: &str = "ISO/IEC 7064 MOD 11,10";
const BRITISH: &str = "9 or 12 digits, `GD` and 000 to 499, or `HA` and 500 to 999";
const MOD_97: &str = "a weighted sum modulo 97, or that with 55 subtracted";

#[rustfmt::skip]
pub(super) static SCHEMES: [Scheme; 31] = [
    scheme("AT", Country::AT, mod10::austria, "`U` and 8 digits", "the Luhn rule plus 4"),
    scheme("BE", Country::BE, mod97::belgium, "10 digits, the first 0 or 1", "97 less the remainder modulo 97"),
    scheme("BG", Country::BG, persons::bulgaria, "9 or 10 digits", MOD_11),
    scheme("CHE", Country::CH, weighted::switzerland, "9 digits and optionally `MWST`, `TVA` or `IVA`", MOD_11),
    scheme("CY", Country::CY, letters::cyprus, "8 digits, not beginning with 12, and a letter", "a letter modulo 26"),
    scheme("CZ", Country::CZ, persons::czechia, "8 digits not beginning with 9, or the 9 or 10 digits of a person", MOD_11),
    scheme("DE", Country::DE, mod10::germany, "9 digits, the first not 0", MOD_11_10),
    scheme("DK", Country::DK, weighted::denmark, "8 digits, the first not 0", MOD_11),
    scheme("EE", Country::EE, weighted::estonia, "9 digits", "a weighted sum modulo 10"),
    scheme("EL", Country::GR, weighted::greece, "9 digits", MOD_11),
    scheme("ES", Country::ES, letters::spain, "9 characters: 7 digits between letters or digits", "a letter modulo 23 or the Luhn rule"),
    scheme("FI", Country::FI, weighted::finland, "8 digits", MOD_11),
    scheme("FR", Country::FR, mod10::france, "a key of 2 characters without I and O, and 9 digits", "the key of the SIREN and its Luhn digit"),
    scheme("GB", Country::GB, mod97::united_kingdom, BRITISH, MOD_97),
    scheme("HR", Country::HR, mod10::croatia, "11 digits", MOD_11_10),
    scheme("HU", Country::HU, weighted::hungary, "8 digits", "a weighted sum modulo 10"),
    scheme("IE", Country::IE, letters::ireland, "7 digits and 1 or 2 letters; of 8 characters the second may be a letter, `+` or `*`", "a letter modulo 23"),
    scheme("IT", Country::IT, mod10::italy, "11 digits, the eighth to tenth those of an office", "the Luhn rule"),
    scheme("LT", Country::LT, persons::lithuania, "9 or 12 digits, the last but one 1", MOD_11),
    scheme("LU", Country::LU, mod97::luxembourg, "8 digits", "the remainder modulo 89"),
    scheme("LV", Country::LV, persons::latvia, "11 digits, above 3 at first or a personal code", MOD_11),
    scheme("MT", Country::MT, mod97::malta, "8 digits, the first not 0", "a weighted sum modulo 37"),
    scheme("NL", Country::NL, weighted::netherlands, "9 digits, `B` and 01 to 99", "the eleven-test or ISO/IEC 7064 MOD 97-10"),
    scheme("NO", Country::NO, weighted::norway, "9 digits and optionally `MVA`", MOD_11),
    scheme("PL", Country::PL, weighted::poland, "10 digits", MOD_11),
    scheme("PT", Country::PT, weighted::portugal, "9 digits, the first not 0", MOD_11),
    scheme("RO", Country::RO, weighted::romania, "2 to 10 digits, the first not 0", MOD_11),
    scheme("SE", Country::SE, mod10::sweden, "10 digits and 01", "the Luhn rule"),
    scheme("SI", Country::SI, weighted::slovenia, "8 digits, the first not 0", MOD_11),
    scheme("SK", Country::SK, persons::slovakia, "10 digits, the first not 0 and the third 2, 3, 4, 7, 8 or 9, or those of a person", "a multiple of 11"),
    scheme("XI", Country::GB, mod97::united_kingdom, BRITISH, MOD_97),
];
