//! Words of the engine and numbers of the wire.

use evenfare_engine::category::{Category, Work};
use evenfare_engine::flag::Flag;
use evenfare_engine::job::Task;
use evenfare_engine::problem::Severity;
use evenfare_engine::supply::VatCategory;
use evenfare_engine::trail::Rounding;

use super::pb;

/// Gives each word of the engine its number, and back; a word that is not listed does not compile.
macro_rules! words {
    ($($name:ident { $($word:ident),* $(,)? })*) => { $(
        impl From<$name> for pb::$name {
            fn from(word: $name) -> Self {
                match word { $($name::$word => Self::$word,)* }
            }
        }

        impl pb::$name {
            /// The engine's word for it; none where it is not said.
            pub(super) const fn said(self) -> Option<$name> {
                match self {
                    Self::Unspecified => None,
                    $(Self::$word => Some($name::$word),)*
                }
            }
        }
    )* };
}

words! {
    Category { Part, Labour, Test, Courier, Flat, Exchange, Inspection, Surcharge, Minimum, Ending }
    Work { Removal, Refitting, Diagnosis, LegIn, LegOut }
    Task { Refresh, Exchange, Decline }
    Flag {
        Uneconomic, UnderFloor, SharesScaled, WearUnknown, UnderWarranty, VatNotKnown, GoodsInChain, SeveralInvoices,
    }
    Rounding { None, HalfUp, LargestRemainder, Ending }
}

impl From<VatCategory> for pb::VatCategory {
    fn from(category: VatCategory) -> Self {
        match category {
            VatCategory::S => Self::S,
            VatCategory::AE => Self::Ae,
            VatCategory::K => Self::K,
            VatCategory::G => Self::G,
            VatCategory::O => Self::O,
        }
    }
}

impl pb::VatCategory {
    /// The engine's word for it; none where it is not said.
    pub(super) const fn said(self) -> Option<VatCategory> {
        match self {
            Self::Unspecified => None,
            Self::S => Some(VatCategory::S),
            Self::Ae => Some(VatCategory::AE),
            Self::K => Some(VatCategory::K),
            Self::G => Some(VatCategory::G),
            Self::O => Some(VatCategory::O),
        }
    }
}

impl From<Severity> for pb::Severity {
    fn from(severity: Severity) -> Self {
        match severity {
            Severity::Error => Self::Error,
            Severity::Warning => Self::Warning,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_come_back_as_they_went() {
        for &work in Work::ALL {
            assert_eq!(pb::Work::from(work).said(), Some(work));
        }
        for &task in Task::ALL {
            assert_eq!(pb::Task::from(task).said(), Some(task));
        }
        for &category in Category::ALL {
            assert_eq!(pb::Category::from(category).said(), Some(category));
        }
        for &flag in Flag::ALL {
            assert_eq!(pb::Flag::from(flag).said(), Some(flag));
        }
    }

    #[test]
    fn words_have_the_names_they_have_in_files() {
        for &category in Category::ALL {
            let name = format!("CATEGORY_{}", category.word().to_uppercase());
            assert_eq!(pb::Category::from(category).as_str_name(), name);
        }
        for &work in Work::ALL {
            assert_eq!(pb::Work::from(work).as_str_name(), format!("WORK_{}", work.word().to_uppercase()));
        }
        for &flag in Flag::ALL {
            assert_eq!(pb::Flag::from(flag).as_str_name(), format!("FLAG_{}", flag.code().to_uppercase()));
        }
    }

    #[test]
    fn every_vat_category_has_its_number() {
        const ALL: [VatCategory; 5] =
            [VatCategory::S, VatCategory::AE, VatCategory::K, VatCategory::G, VatCategory::O];
        for category in ALL {
            let number = pb::VatCategory::from(category);
            assert_eq!(number.said(), Some(category));
            assert_eq!(number.as_str_name(), format!("VAT_CATEGORY_{}", category.code()));
        }
    }
}
