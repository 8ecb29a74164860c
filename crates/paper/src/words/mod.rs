//! What documents say, in each language: texts by Fluent, carried in the crate.
//!
//! `crates/paper/words/` has a folder for each language and a file for each kind of document. Every
//! language has the messages of English with the same arguments (`crates/paper/tests/words.rs`); a message
//! that were missing all the same is said in English, and one that is nowhere by its name.

mod texts;
mod countries;
mod month_end;
mod working;

use std::sync::LazyLock;

use evenfare_engine::category::Category;
use evenfare_engine::flag::Flag;
use evenfare_engine::job::Task;
use evenfare_engine::language::Language;
use evenfare_engine::supply::VatCategory;
use evenfare_engine::view::{Reader, SaleView};
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use unic_langid::{LanguageIdentifier, langid};

use crate::figures::{self, NO_BREAK};

pub use month_end::{document_told, is_late};
pub use texts::{FILES, texts};

/// What a message is told: a text as it stands, or a number, which decides between singular and plural.
#[derive(Debug, Clone, Copy)]
pub enum Value<'a> {
    /// A text, or a figure that is already written.
    Text(&'a str),
    /// How many; written as the language writes numbers.
    Count(u64),
}

impl<'a> From<&'a str> for Value<'a> {
    fn from(text: &'a str) -> Self {
        Self::Text(text)
    }
}

impl<'a> From<&'a String> for Value<'a> {
    fn from(text: &'a String) -> Self {
        Self::Text(text)
    }
}

impl From<u64> for Value<'_> {
    fn from(count: u64) -> Self {
        Self::Count(count)
    }
}

impl From<u32> for Value<'_> {
    fn from(count: u32) -> Self {
        Self::Count(count.into())
    }
}

/// Who a document speaks to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Addressee {
    /// The workshop's own people, who see all parties.
    Office,
    /// A partner, of what he buys and sells.
    Partner,
    /// The end customer.
    Customer,
}

impl From<&Reader> for Addressee {
    fn from(reader: &Reader) -> Self {
        match reader {
            Reader::Office | Reader::Accountant => Self::Office,
            Reader::Partner(_) => Self::Partner,
            Reader::Customer => Self::Customer,
        }
    }
}

/// The texts of one language.
pub struct Words {
    language: Language,
    messages: FluentBundle<FluentResource>,
}

/// Writes a number that a message is told, in the language of that place in [`Language::ALL`].
fn written<const LANGUAGE: usize, M>(value: &FluentValue<'_>, _: &M) -> Option<String> {
    match value {
        FluentValue::Number(number) => {
            let language = *Language::ALL.get(LANGUAGE)?;
            Some(figures::decimal(language, &number.as_string()))
        }
        _ => None,
    }
}

impl Words {
    fn new<const LANGUAGE: usize>(identifier: LanguageIdentifier) -> Self {
        let language = Language::ALL.get(LANGUAGE).copied().unwrap_or(Language::English);
        let mut messages = FluentBundle::new_concurrent(vec![identifier]);
        // The marks around what is put in are for mixed directions of writing; here they would only be in the way.
        messages.set_use_isolating(false);
        messages.set_formatter(Some(written::<LANGUAGE, _>));
        for text in texts(language) {
            // What cannot be read is left out; a test finds it.
            let resource = match FluentResource::try_new((*text).to_owned()) {
                Ok(resource) => resource,
                Err((resource, _)) => resource,
            };
            let _ = messages.add_resource(resource);
        }
        Self { language, messages }
    }

    /// The texts of a language, read once.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::Words;
    /// assert_eq!(Words::of(Language::English).say("quote"), "Quote");
    /// ```
    pub fn of(language: Language) -> &'static Self {
        static ENGLISH: LazyLock<Words> = LazyLock::new(|| Words::new::<0>(langid!("en-GB")));
        static GERMAN: LazyLock<Words> = LazyLock::new(|| Words::new::<1>(langid!("de")));
        static POLISH: LazyLock<Words> = LazyLock::new(|| Words::new::<2>(langid!("pl")));
        static FRENCH: LazyLock<Words> = LazyLock::new(|| Words::new::<3>(langid!("fr")));
        static CZECH: LazyLock<Words> = LazyLock::new(|| Words::new::<4>(langid!("cs")));
        match language {
            Language::English => &ENGLISH,
            Language::German => &GERMAN,
            Language::Polish => &POLISH,
            Language::French => &FRENCH,
            Language::Czech => &CZECH,
        }
    }

    /// Which language it is.
    pub const fn language(&self) -> Language {
        self.language
    }

    /// A message that is told nothing.
    pub fn say(&self, id: &str) -> String {
        self.said(id, &FluentArgs::new())
    }

    /// A message with what it is told.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::Words;
    /// let words = Words::of(Language::English);
    /// assert_eq!(words.say_with("days", &[("count", 1_u32.into())]), "1\u{a0}day");
    /// assert_eq!(words.say_with("days", &[("count", 14_u32.into())]), "14\u{a0}days");
    /// ```
    pub fn say_with(&self, id: &str, told: &[(&str, Value<'_>)]) -> String {
        let mut arguments = FluentArgs::with_capacity(told.len());
        for &(name, value) in told {
            match value {
                Value::Text(text) => arguments.set(name, text),
                Value::Count(count) => arguments.set(name, count),
            }
        }
        self.said(id, &arguments)
    }

    /// A text behind what it is, such as an amount behind `Amount due`.
    pub fn labelled(&self, label: &str, text: &str) -> String {
        self.say_with("labelled", &[("label", label.into()), ("text", text.into())])
    }

    /// Texts one after another, as parts of one.
    pub fn joined(&self, parts: impl IntoIterator<Item = String>) -> String {
        let both = |first: String, next: String| {
            self.say_with("both", &[("first", (&first).into()), ("next", (&next).into())])
        };
        parts.into_iter().reduce(both).unwrap_or_default()
    }

    fn said(&self, id: &str, arguments: &FluentArgs<'_>) -> String {
        match self.messages.get_message(id).and_then(|message| message.value()) {
            Some(pattern) => {
                self.messages.format_pattern(pattern, Some(arguments), &mut Vec::new()).into_owned()
            }
            None if self.language != Language::English => Self::of(Language::English).said(id, arguments),
            None => id.to_owned(),
        }
    }

    /// What is done with a unit.
    pub fn task(&self, task: Task) -> String {
        self.say(match task {
            Task::Refresh => "task-refresh",
            Task::Exchange => "task-exchange",
            Task::Decline => "task-decline",
        })
    }

    /// What a line is for.
    pub fn category(&self, category: Category) -> String {
        self.say(match category {
            Category::Part => "category-part",
            Category::Labour => "category-labour",
            Category::Test => "category-test",
            Category::Courier => "category-courier",
            Category::Flat => "category-flat",
            Category::Exchange => "category-exchange",
            Category::Inspection => "category-inspection",
            Category::Surcharge => "category-surcharge",
            Category::Minimum => "category-minimum",
            Category::Ending => "category-ending",
        })
    }

    /// What somebody should know about an offer, in words for who reads it. `sales` are those of the offer
    /// that he sees: of a partner his purchase, then his sale.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::flag::Flag;
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::{Addressee, Words};
    /// let words = Words::of(Language::English);
    /// let told = words.flag(Flag::SharesScaled, Addressee::Partner, &[]);
    /// assert_eq!(told, "Your share was scaled down to keep the workshop’s minimum.");
    /// ```
    pub fn flag(&self, flag: Flag, reader: Addressee, sales: &[SaleView]) -> String {
        use Addressee::{Customer, Partner};
        let several = |sale: &SaleView| sale.needs_two_invoices();
        self.say(match (flag, reader) {
            (Flag::Uneconomic, _) => "flag-uneconomic",
            (Flag::UnderFloor, _) => "flag-under-floor",
            (Flag::SharesScaled, Partner) => "flag-shares-scaled-partner",
            (Flag::SharesScaled, _) => "flag-shares-scaled",
            (Flag::WearUnknown, _) => "flag-wear-unknown",
            (Flag::UnderWarranty, _) => "flag-under-warranty",
            (Flag::VatNotKnown, Customer) => "flag-vat-not-known-customer",
            (Flag::VatNotKnown, _) => "flag-vat-not-known",
            (Flag::GoodsInChain, Partner) => "flag-goods-in-chain-partner",
            (Flag::GoodsInChain, Customer) => "flag-goods-in-chain-customer",
            (Flag::GoodsInChain, _) => "flag-goods-in-chain",
            (Flag::SeveralInvoices, Customer) => "flag-several-invoices-purchase",
            (Flag::SeveralInvoices, Partner) => match (sales.first().map(several), sales.last().map(several))
            {
                (Some(true), Some(false)) => "flag-several-invoices-purchase",
                (Some(false), Some(true)) => "flag-several-invoices-sale",
                _ => "flag-several-invoices-partner",
            },
            (Flag::SeveralInvoices, _) => "flag-several-invoices",
        })
    }

    /// Why no VAT is charged, as an invoice has to say; nothing at the standard rate. The words for the
    /// reverse charge are those of Directive 2006/112/EC Art. 226(11a) in each language.
    pub fn vat_reason(&self, category: VatCategory) -> Option<String> {
        let id = match category {
            VatCategory::S => return None,
            VatCategory::AE => "vat-reverse-charge",
            VatCategory::K => "vat-intra-community",
            VatCategory::G => "vat-export",
            VatCategory::O => "vat-not-subject",
        };
        Some(self.say(id))
    }

    /// A quantity with its unit, such as `104 min`, `25 ml`, `2 set`. What is none stays as it stands.
    ///
    /// # Examples
    /// ```
    /// use evenfare_engine::language::Language;
    /// use evenfare_paper::words::Words;
    /// assert_eq!(Words::of(Language::German).quantity("1.5 ml"), "1,5\u{a0}ml");
    /// ```
    pub fn quantity(&self, quantity: &str) -> String {
        let Some((number, unit)) = quantity.split_once(' ') else {
            return figures::decimal(self.language, quantity);
        };
        let id = match unit {
            "pc" => "unit-pc",
            "set" => "unit-set",
            "m" => "unit-m",
            "cm" => "unit-cm",
            "ml" => "unit-ml",
            "g" => "unit-g",
            "min" => "unit-min",
            "h" => "unit-h",
            _ => return quantity.to_owned(),
        };
        let mut told = FluentArgs::new();
        told.set("count", FluentValue::try_number(number));
        let unit = self.said(id, &told);
        format!("{}{NO_BREAK}{unit}", figures::decimal(self.language, number))
    }
}
