//! The files of `crates/paper/words/`, as they stand.

use evenfare_engine::language::Language;

macro_rules! texts {
    ($($file:literal)*) => {
        /// The files that each language has.
        pub const FILES: &[&str] = &[$($file,)*];

        /// What they say in one language, file by file.
        pub const fn texts(language: Language) -> &'static [&'static str] {
            match language {
                Language::English => &[$(include_str!(concat!("../../words/en/", $file)),)*],
                Language::German => &[$(include_str!(concat!("../../words/de/", $file)),)*],
                Language::Polish => &[$(include_str!(concat!("../../words/pl/", $file)),)*],
                Language::French => &[$(include_str!(concat!("../../words/fr/", $file)),)*],
                Language::Czech => &[$(include_str!(concat!("../../words/cs/", $file)),)*],
            }
        }
    };
}

texts! {
    "shared.ftl"
    "catalogue.ftl"
    "quote.ftl"
    "partner.ftl"
    "office.ftl"
    "working.ftl"
    "bench.ftl"
    "invoice.ftl"
    "accounts.ftl"
    "cautions.ftl"
    "countries.ftl"
}
