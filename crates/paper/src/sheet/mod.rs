//! What a document says, as plain data: every text in the reader's language, every figure written.
//!
//! A sheet is put together from a [`View`](evenfare_engine::view::View), so it can hold no more than its
//! reader may see, and is then set as it stands: nothing in it is markup.

mod blocks;

pub use blocks::{Bar, Block, Column, Fact, Row, Rows, Tone, Width};

use serde::Serialize;

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
    /// What it is: `Quote`.
    pub heading: String,
    /// Its number.
    pub number: String,
    /// `Page {} of {}`: the number of a page and of all pages stand where these marks are.
    pub page: String,
    /// It no longer stands, and why.
    pub mark: Option<String>,
    /// Who it is not for.
    pub confidential: Option<String>,
    /// Whose paper it is.
    pub letterhead: Letterhead,
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
pub struct Letterhead {
    /// The firm, in large letters.
    pub name: String,
    /// Lines beneath it: what it does, where it is.
    pub lines: Vec<String>,
    /// The firm and its address in one line, above the recipient's.
    pub sender: String,
    /// Columns at the foot of the first page: how it is reached, registered, paid.
    pub foot: Vec<Vec<String>>,
    /// The colour of lines and headings, as `#rrggbb`.
    pub accent: String,
    /// The colour of the firm's name and of totals, as `#rrggbb`.
    pub ink: String,
    /// A picture.
    #[serde(skip)]
    pub logo: Option<Logo>,
}

/// A picture on the letterhead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logo {
    /// How it is encoded.
    pub format: LogoFormat,
    /// The file, byte for byte.
    pub bytes: Vec<u8>,
}

/// How a picture is encoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogoFormat {
    /// Scalable Vector Graphics.
    Svg,
    /// Portable Network Graphics.
    Png,
}
