//! `texts.csv`: the catalogue in other languages.

use std::collections::{BTreeMap, BTreeSet};

use evenfare_engine::language::Language;
use evenfare_engine::text::Text;

use crate::fields::Fields;
use crate::report::Says;
use crate::tariff::rows::Row;
use crate::tariff::table::Table;
use crate::translations::{Catalogue, Translations};

/// One row: what stands there instead of a text of the catalogue.
pub(super) struct TextRow {
    table: Catalogue,
    code: Text,
    language: Language,
    text: Text,
}

impl TextRow {
    /// The table whose text it is.
    pub(super) fn of(&self) -> Catalogue {
        self.table
    }
}

impl Row for TextRow {
    const COLUMNS: &'static [&'static [&'static str]] = &[&["table"], &["code"], &["language"], &["text"]];
    const OPTIONAL: &'static [&'static str] = &[];

    fn take(fields: &mut Fields) -> Option<Self> {
        let (table, code) = (fields.need("table"), fields.need("code"));
        let (language, text) = (fields.need("language"), fields.need("text"));
        Some(Self { table: table?, code: code?, language: language?, text: text? })
    }
}

/// The codes of each table that has texts; a table is not there where some of its rows could not be read.
pub(super) type Known = BTreeMap<Catalogue, BTreeSet<String>>;

/// Holds the rows against the catalogue: each names a text that is there, and none names one twice.
/// A language that has some of the texts, and not all, is worth a look.
pub(super) fn translations(rows: Vec<TextRow>, table: &mut Table, mut known: Known) -> Translations {
    // Alternatives are named by jobs: those are known that have a text in any language.
    let of_jobs = rows.iter().filter(|row| row.table == Catalogue::Alternatives);
    known.insert(Catalogue::Alternatives, of_jobs.map(|row| row.code.to_string()).collect());
    let mut translations = Translations::default();
    let mut languages: BTreeSet<Language> = BTreeSet::new();
    for (index, row) in rows.into_iter().enumerate() {
        let code = row.code.as_str();
        languages.insert(row.language);
        if let Some(codes) = known.get(&row.table)
            && !codes.contains(code)
        {
            let (place, expected) = (table.locate(index, "code"), row.table.of_its_rows());
            table.log.unknown(place, "unknown_code", code, &expected, codes.iter().map(String::as_str));
        } else if !translations.add(row.language, row.table, code, row.text.clone()) {
            let expected =
                format!("each text once in a language; {code} has one in `{}` already", row.language);
            table.log.error(table.locate(index, "code"), "duplicate_text", code, expected);
        }
    }
    // What is missing may stand in a row that could not be read.
    if table.log.errors() == 0 && Catalogue::ALL.iter().all(|table| known.contains_key(table)) {
        for language in languages {
            warn_of_gaps(language, &translations, table, &known);
        }
    }
    translations
}

fn warn_of_gaps(language: Language, translations: &Translations, table: &mut Table, known: &Known) {
    let texts = || known.iter().flat_map(|(of, codes)| codes.iter().map(|code| (*of, code.as_str())));
    let mut missing = texts().filter(|(of, code)| translations.text(language, *of, code).is_none());
    let Some((of, first)) = missing.next() else { return };
    let count = missing.count().saturating_add(1);
    let found = format!("{language}: {count} of {} texts missing", texts().count());
    let expected =
        format!("each text of the catalogue, or none of them; {of} {first} is the first without one");
    table.log.add(0..0, Says::warning("untranslated", &found, expected));
}
