//! What a document says, as plain data: every text in the reader's language, every figure written.
//!
//! A sheet of a quote is put together from a [`View`](evenfare_engine::view::View), so it can hold no more than
//! its reader may see; one of the books from what is handed in for its reader. It is then set as it stands:
//! nothing in it is markup.

mod blocks;
mod pen;
mod scale;
mod head;
mod work;
mod price;
mod alternatives;
mod quote;
mod partner;
mod input;
mod working;
mod office;
mod bench;
mod invoice;
mod earned;
mod statement;
mod changed;
mod overview;

use evenfare_engine::money::UnknownCurrency;
use evenfare_engine::text::Code;
use evenfare_files::Logo;
use serde::Serialize;

pub use bench::bench;
pub use blocks::{Bar, Block, Column, Fact, Followed, Row, Rows, Tone, Upright, Width, Worked};
pub use invoice::{credit_note, invoice};
pub use office::office;
pub use overview::margin_overview;
pub use partner::partner;
pub use pen::Given;
pub use quote::quote;
pub use statement::account_statement;

/// Why a view makes no sheet of that kind.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoSheet {
    /// The view is that of a reader who does not see what the sheet says.
    #[error("a {sheet} says {what}, which this reader does not see")]
    NotHis {
        /// Which kind of sheet.
        sheet: &'static str,
        /// What it says.
        what: &'static str,
    },
    /// The quote has no such offer.
    #[error("the quote has no offer `{found}`")]
    Offer {
        /// What was asked for.
        found: Box<str>,
    },
    /// A sale names a party that is not on the route.
    #[error("`{found}` is not on the route of the quote")]
    Party {
        /// Who.
        found: Code,
    },
    /// The currency is none.
    #[error(transparent)]
    Currency(#[from] UnknownCurrency),
}

/// A document.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sheet {
    /// Its language, by ISO 639-1.
    pub language: String,
    /// Its title, as readers of files show it: `Quote Q-2026-000017`.
    pub title: String,
    /// What tells it from every other document; the same for the same document.
    pub identity: String,
    /// The day it is of, as `[year, month, day]`.
    pub day: (i32, u32, u32),
    /// What it is: `Quote`; of one without a number, all of it: `Account statement for June 2026`.
    pub heading: String,
    /// Its number; empty where it has none.
    pub number: String,
    /// `Page {} of {}`: the number of a page and of all pages stand where these marks are.
    pub page: String,
    /// It no longer stands, and why.
    pub mark: Option<String>,
    /// Who it is not for.
    pub confidential: Option<String>,
    /// Whose paper it is.
    pub head: Head,
    /// Who it is sent to, line by line.
    pub recipient: Vec<String>,
    /// Numbers and days, beside the recipient.
    pub facts: Vec<Fact>,
    /// What it says, from top to bottom.
    pub blocks: Vec<Block>,
}

/// Stands in [`Sheet::page`] for the number of the page.
pub const PAGE: &str = "\u{1}";
/// Stands in [`Sheet::page`] for how many pages there are.
pub const PAGES: &str = "\u{2}";

/// Whose paper a document is on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Head {
    /// The firm, in large letters.
    pub name: String,
    /// Lines beneath it: what it does, where it is.
    pub lines: Vec<String>,
    /// The firm and its address in one line, above the recipient's.
    pub sender: String,
    /// Columns at the foot of the first page: how it is reached, registered, paid.
    pub foot: Vec<Vec<String>>,
    /// The colour of rules and headings, as `#rrggbb`.
    pub accent: String,
    /// The colour of secondary text, as `#rrggbb`.
    pub muted: String,
    /// A picture.
    #[serde(skip)]
    pub logo: Option<Logo>,
}
