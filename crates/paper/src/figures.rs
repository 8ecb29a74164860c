//! Figures as each language writes them: the forms are those of the Unicode CLDR, by way of ICU.
//!
//! The figures themselves never differ by language (`digits_do_not_depend_on_the_language`), and none is
//! ever a binary fraction. What stands within a figure does not break over two lines: its spaces are
//! no-break spaces, its minus sign (U+2212) does not part from it.

use std::sync::LazyLock;

use chrono::{Datelike as _, NaiveDate};
use evenfare_engine::language::Language;
use evenfare_engine::money::{Currency, Decimals as _, Exact, Quantity};
use evenfare_engine::vat::identifier::VatIdentifier;
use evenfare_reconcile::month::Month;
use fixed_decimal::Decimal;
use icu_calendar::{Date, Gregorian};
use icu_datetime::FixedCalendarDateTimeFormatter;
use icu_datetime::fieldsets::{YM, YMD};
use icu_decimal::DecimalFormatter;
use icu_locale_core::{Locale, locale};

/// How one language writes figures.
struct Forms {
    decimals: Option<DecimalFormatter>,
    dates: Option<FixedCalendarDateTimeFormatter<Gregorian, YMD>>,
    months: Option<FixedCalendarDateTimeFormatter<Gregorian, YM>>,
    /// What stands between a number and its percent sign, and between an amount and its currency.
    percent_space: &'static str,
    currency_first: bool,
}

impl Forms {
    fn new(locale: &Locale, percent_space: &'static str, currency_first: bool) -> Self {
        Self {
            decimals: DecimalFormatter::try_new(locale.into(), Default::default()).ok(),
            dates: FixedCalendarDateTimeFormatter::try_new(locale.into(), YMD::long()).ok(),
            months: FixedCalendarDateTimeFormatter::try_new(locale.into(), YM::long()).ok(),
            percent_space,
            currency_first,
        }
    }

    fn of(language: Language) -> &'static Self {
        static ENGLISH: LazyLock<Forms> = LazyLock::new(|| Forms::new(&locale!("en-GB"), "", true));
        static GERMAN: LazyLock<Forms> = LazyLock::new(|| Forms::new(&locale!("de"), NO_BREAK, false));
        static POLISH: LazyLock<Forms> = LazyLock::new(|| Forms::new(&locale!("pl"), "", false));
        static FRENCH: LazyLock<Forms> = LazyLock::new(|| Forms::new(&locale!("fr"), NO_BREAK, false));
        static CZECH: LazyLock<Forms> = LazyLock::new(|| Forms::new(&locale!("cs"), NO_BREAK, false));
        match language {
            Language::English => &ENGLISH,
            Language::German => &GERMAN,
            Language::Polish => &POLISH,
            Language::French => &FRENCH,
            Language::Czech => &CZECH,
        }
    }

    fn written(&self, number: &Decimal) -> String {
        let written = match &self.decimals {
            Some(decimals) => decimals.format(number).to_string(),
            None => number.to_string(),
        };
        unbroken(&written)
    }
}

/// A space at which no line breaks.
pub(crate) const NO_BREAK: &str = "\u{a0}";

/// With spaces at which no line breaks, and with a minus sign that is as wide as a figure.
fn unbroken(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            ' ' => '\u{a0}',
            '-' => '\u{2212}',
            other => other,
        })
        .collect()
}

/// An amount without its currency, with all decimals of the currency: for a column headed by it.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_paper::figures;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// assert_eq!(figures::amount(Language::German, 123_450, "EUR".parse()?), "1.234,50");
/// assert_eq!(figures::amount(Language::English, -5, "EUR".parse()?), "\u{2212}0.05");
/// assert_eq!(figures::amount(Language::English, 123_450, "JPY".parse()?), "123,450");
/// # Ok(()) }
/// ```
pub fn amount(language: Language, minor: i64, currency: Currency) -> String {
    let exponent = i16::from(currency.exponent());
    let mut amount = Decimal::from(minor);
    amount.multiply_pow10(exponent.saturating_neg());
    amount.pad_end(exponent.saturating_neg());
    Forms::of(language).written(&amount)
}

/// An amount with its currency, by the code of ISO 4217: a sign is not the same everywhere.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_paper::figures;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// assert_eq!(figures::money(Language::English, 123_450, "EUR".parse()?), "EUR\u{a0}1,234.50");
/// assert_eq!(figures::money(Language::German, 123_450, "EUR".parse()?), "1.234,50\u{a0}EUR");
/// # Ok(()) }
/// ```
pub fn money(language: Language, minor: i64, currency: Currency) -> String {
    let amount = amount(language, minor, currency);
    if Forms::of(language).currency_first {
        // The sign stands before the code, as CLDR has it.
        match amount.strip_prefix('\u{2212}') {
            Some(magnitude) => format!("\u{2212}{currency}{NO_BREAK}{magnitude}"),
            None => format!("{currency}{NO_BREAK}{amount}"),
        }
    } else {
        format!("{amount}{NO_BREAK}{currency}")
    }
}

/// How many decimals the price of one has, where that many say it exactly.
const PRICE_DECIMALS: u8 = 4;

/// The price of one in a column that its currency heads: an amount divided by a quantity, where that comes out
/// with four decimals at most. Nothing where it does not, for a price that was rounded, times the quantity, is
/// another amount.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_paper::figures;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let price = |minor, quantity: &str| {
///     Ok::<_, Box<dyn std::error::Error>>(figures::price_of_one(
///         Language::German,
///         minor,
///         quantity.parse()?,
///         "EUR".parse()?,
///     ))
/// };
/// assert_eq!(price(12_480, "104")?.as_deref(), Some("1,20"));
/// assert_eq!(price(1_002, "8")?.as_deref(), Some("1,2525"));
/// assert_eq!(price(1_000, "3")?, None);
/// # Ok(()) }
/// ```
pub fn price_of_one(
    language: Language,
    minor: i64,
    quantity: Quantity,
    currency: Currency,
) -> Option<String> {
    let exponent = currency.exponent();
    let more = u32::from(PRICE_DECIMALS.checked_sub(exponent)?);
    let scale = 10_i64.checked_pow(more.checked_add(Quantity::DECIMALS)?)?;
    if quantity.is_zero() {
        return None;
    }
    let price = Exact::from_minor(minor).times_ratio(scale, quantity.scaled()).ok()?;
    let (units, 1) = price.lowest_terms() else { return None };
    let mut price = Decimal::from(units);
    price.multiply_pow10(i16::from(PRICE_DECIMALS).saturating_neg());
    price.trim_end();
    price.pad_end(i16::from(exponent).saturating_neg());
    Some(Forms::of(language).written(&price))
}

/// A plain decimal number, with the decimals that it has. What is none stays as it stands.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_paper::figures;
/// assert_eq!(figures::decimal(Language::German, "12000.5"), "12.000,5");
/// ```
pub fn decimal(language: Language, plain: &str) -> String {
    match Decimal::try_from_str(plain) {
        Ok(number) => Forms::of(language).written(&number),
        Err(_) => plain.to_owned(),
    }
}

/// A percentage, from its plain decimal number: `8.1` is 8.1 %.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_paper::figures;
/// assert_eq!(figures::percent(Language::English, "8.1"), "8.1%");
/// assert_eq!(figures::percent(Language::Czech, "8.1"), "8,1\u{a0}%");
/// ```
pub fn percent(language: Language, plain: &str) -> String {
    format!("{}{}%", decimal(language, plain), Forms::of(language).percent_space)
}

/// What the tax office knows a seller by, as he writes it on invoices.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_paper::figures;
/// assert_eq!(figures::vat_id_of_seller(Language::English, "CHE107787577"), "CHE-107.787.577\u{a0}MWST");
/// assert_eq!(figures::vat_id_of_seller(Language::English, "DE136695976"), "DE136695976");
/// ```
pub fn vat_id_of_seller(language: Language, id: &str) -> String {
    let known = VatIdentifier::parse(id).map(|known| known.of_seller(language));
    known.unwrap_or_else(|_| id.to_owned()).replace(' ', NO_BREAK)
}

/// A day, with its month as a word: no reader takes the month for the day.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_paper::figures;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// assert_eq!(figures::date(Language::Polish, "2026-07-09".parse()?), "9\u{a0}lipca\u{a0}2026");
/// # Ok(()) }
/// ```
pub fn date(language: Language, day: NaiveDate) -> String {
    written_date(language, day).unwrap_or_else(|| day.to_string())
}

fn written_date(language: Language, day: NaiveDate) -> Option<String> {
    Some(unbroken(&Forms::of(language).dates.as_ref()?.format(&gregorian(day)?).to_string()))
}

/// A month, as a word with its year.
///
/// # Examples
/// ```
/// use evenfare_engine::language::Language;
/// use evenfare_paper::figures;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// assert_eq!(figures::month(Language::Polish, "2026-07".parse()?), "lipiec\u{a0}2026");
/// # Ok(()) }
/// ```
pub fn month(language: Language, month: Month) -> String {
    written_month(language, month).unwrap_or_else(|| month.to_string())
}

fn written_month(language: Language, month: Month) -> Option<String> {
    let first = gregorian(month.first_day())?;
    Some(unbroken(&Forms::of(language).months.as_ref()?.format(&first).to_string()))
}

fn gregorian(day: NaiveDate) -> Option<Date<Gregorian>> {
    let (month, of_month) = (u8::try_from(day.month()).ok()?, u8::try_from(day.day()).ok()?);
    Date::try_new_gregorian(day.year(), month, of_month).ok()
}
