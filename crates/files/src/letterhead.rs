//! How a workshop's documents look and what they say beside the figures.

use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use evenfare_engine::language::Language;
use evenfare_engine::text::Text;

use crate::bank::{Bic, Iban};

/// A workshop's letterhead: `letterhead.toml` in the folder of an edition. What it does not say is
/// left out of documents; the workshop's name, address and VAT identifier are those of the quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letterhead {
    /// The language of documents where neither the call nor the reader has asked for one.
    pub language: Language,
    /// The firm as its register has it, line by line; the workshop's name where there is none.
    pub legal_name: Vec<Text>,
    /// Telephone.
    pub phone: Option<Text>,
    /// Where to write to.
    pub email: Option<Text>,
    /// Where to read more.
    pub web: Option<Text>,
    /// Register and number: `Amtsgericht ..., HRB ...`.
    pub register: Option<Text>,
    /// Who may sign for the firm.
    pub managing_directors: Vec<Text>,
    /// Where it is paid.
    pub bank: Option<Bank>,
    /// An invoice for which no day is said is due this many days after its date, at most 3650; 0 is at once.
    pub payment_days: u32,
    /// Headings, rules and bars.
    pub accent: Colour,
    /// Secondary text.
    pub muted: Colour,
    /// The mark at the head of a document.
    pub logo: Option<Logo>,
    /// Texts of its own, by language.
    pub texts: BTreeMap<Language, LetterheadTexts>,
}

/// Of a workshop that says nothing: in English, soberly coloured, paid at once.
impl Default for Letterhead {
    fn default() -> Self {
        Self {
            language: Language::English,
            legal_name: Vec::new(),
            phone: None,
            email: None,
            web: None,
            register: None,
            managing_directors: Vec::new(),
            bank: None,
            payment_days: 0,
            accent: Colour([0x1f, 0x2f, 0x46]),
            muted: Colour([0x5b, 0x64, 0x70]),
            logo: None,
            texts: BTreeMap::new(),
        }
    }
}

impl Letterhead {
    /// The workshop's own texts in that language; nothing where it has none.
    pub fn texts(&self, language: Language) -> Option<&LetterheadTexts> {
        self.texts.get(&language)
    }
}

/// A workshop's own texts in one language.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LetterheadTexts {
    /// Before the lines of a quote.
    pub greeting: Option<Paragraph>,
    /// After its cautions, before it is signed.
    pub closing: Option<Paragraph>,
    /// The last words of a quote, an invoice or a credit note.
    pub footer: Option<Paragraph>,
    /// What goes with the units when they are sent back.
    pub delivery_note: Option<Paragraph>,
    /// Cautions beside those that every document has.
    pub cautions: Vec<Paragraph>,
}

/// An account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bank {
    /// The bank's name.
    pub name: Text,
    /// The account.
    pub iban: Iban,
    /// The bank.
    pub bic: Option<Bic>,
}

/// A picture that stands at the head of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logo {
    /// The name of its file in the folder.
    pub file: String,
    /// What it is.
    pub kind: LogoKind,
    /// The file.
    pub bytes: Arc<[u8]>,
}

/// What a logo may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogoKind {
    /// Scalable Vector Graphics.
    Svg,
    /// Portable Network Graphics.
    Png,
}

/// A colour: red, green and blue.
///
/// # Examples
/// ```
/// use evenfare_files::Colour;
/// assert_eq!("#1a2B3c".parse::<Colour>().map(|colour| colour.to_string()).as_deref(), Ok("#1a2b3c"));
/// assert!("red".parse::<Colour>().is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour(pub [u8; 3]);

impl Colour {
    /// The lightest that is still read on white.
    const LIGHTEST: u32 = 128;

    /// Is it dark enough for words on white paper? Its light is 0.299 red + 0.587 green + 0.114 blue (the luma
    /// of ITU-R BT.601), and at most 128 of 255.
    ///
    /// # Examples
    /// ```
    /// use evenfare_files::Colour;
    /// let is_legible = |text: &str| text.parse::<Colour>().map(Colour::is_legible);
    /// assert_eq!((is_legible("#808080"), is_legible("#818181")), (Ok(true), Ok(false)));
    /// assert_eq!((is_legible("#0000ff"), is_legible("#ffff00")), (Ok(true), Ok(false)));
    /// ```
    pub fn is_legible(self) -> bool {
        let [red, green, blue] = self.0.map(u32::from);
        let [red, green, blue] =
            [red.saturating_mul(299), green.saturating_mul(587), blue.saturating_mul(114)];
        red.saturating_add(green).saturating_add(blue) <= Self::LIGHTEST.saturating_mul(1_000)
    }
}

/// The text is no colour.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("not a colour; expected #rrggbb, two hexadecimal digits each")]
pub struct InvalidColour;

impl FromStr for Colour {
    type Err = InvalidColour;

    fn from_str(text: &str) -> Result<Self, InvalidColour> {
        let digits = text.strip_prefix('#').ok_or(InvalidColour)?;
        if digits.len() != 6 || !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            return Err(InvalidColour);
        }
        let colour = u32::from_str_radix(digits, 16).map_err(|_| InvalidColour)?;
        let [_, red, green, blue] = colour.to_be_bytes();
        Ok(Self([red, green, blue]))
    }
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [red, green, blue] = self.0;
        write!(f, "#{red:02x}{green:02x}{blue:02x}")
    }
}

/// A paragraph of at most a thousand characters, none of them a control character.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Paragraph(Box<str>);

/// The text is no paragraph.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("not a paragraph; expected at most 1000 characters, none of them a control character")]
pub struct InvalidParagraph;

impl Paragraph {
    /// The text itself.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Paragraph {
    type Err = InvalidParagraph;

    fn from_str(text: &str) -> Result<Self, InvalidParagraph> {
        let fits =
            text.len() <= 4_000 && text.chars().count() <= 1_000 && !text.chars().any(char::is_control);
        if fits { Ok(Self(text.into())) } else { Err(InvalidParagraph) }
    }
}

impl fmt::Display for Paragraph {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}
