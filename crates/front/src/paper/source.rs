//! What a document is written from, and what comes of it.

use evenfare_engine::language::Language;
use evenfare_engine::quote::Quote;
use evenfare_engine::text::Code;
use evenfare_engine::view::View;
use evenfare_files::Stationery;
use evenfare_paper::State;

/// A document, whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// A name for its file: `Q-2026-00017-1-quote-de.pdf`.
    pub name: String,
    /// What it is: `application/pdf`.
    pub media_type: &'static str,
    /// Byte for byte.
    pub bytes: Vec<u8>,
    /// Why a PDF has no XML attached that others of its kind have.
    pub without_xml: Option<String>,
}

/// What a document is written from.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// The quote.
    pub quote: &'a Quote,
    /// Its number; none where it was not issued.
    pub number: Option<&'a Code>,
    /// What became of it.
    pub state: State,
    /// The stationery of the edition that has priced it.
    pub stationery: &'a Stationery,
}

/// A quote as it goes to paper: whose sight, in which language, with which files attached.
#[cfg_attr(not(feature = "pdf"), expect(dead_code, reason = "only PDF is set"))]
pub(super) struct Setting<'a> {
    pub(super) source: &'a Source<'a>,
    pub(super) view: &'a View,
    pub(super) language: Language,
    /// By name.
    pub(super) attached: Vec<(String, Vec<u8>)>,
}
