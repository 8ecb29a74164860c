//! Words of the engine and numbers of the wire.

use evenfare_engine::category::{Category, Work};
use evenfare_engine::flag::Flag;
use evenfare_engine::job::Task;
use evenfare_engine::problem::Severity;
use evenfare_engine::trail::Rounding;

use super::pb;

/// Gives each word of the engine its number; a word that is not listed does not compile.
macro_rules! to_wire {
    ($($name:ident { $($word:ident),* $(,)? })*) => { $(
        impl From<$name> for pb::$name {
            fn from(word: $name) -> Self {
                match word { $($name::$word => Self::$word,)* }
            }
        }
    )* };
}

to_wire! {
    Category { Part, Labour, Test, Courier, Flat, Exchange, Inspection, Surcharge, Minimum, Ending }
    Work { Removal, Refitting, Diagnosis, LegIn, LegOut }
    Task { Refresh, Exchange, Decline }
    Flag {
        Uneconomic, UnderFloor, SharesScaled, WearUnknown, UnderWarranty, VatNotKnown, GoodsInChain, SeveralInvoices,
    }
    Rounding { None, HalfUp, LargestRemainder, Ending }
    Severity { Error, Warning }
}

impl pb::Work {
    /// The engine's word for it; none where it is not said.
    pub(super) const fn said(self) -> Option<Work> {
        match self {
            Self::Unspecified => None,
            Self::Removal => Some(Work::Removal),
            Self::Refitting => Some(Work::Refitting),
            Self::Diagnosis => Some(Work::Diagnosis),
            Self::LegIn => Some(Work::LegIn),
            Self::LegOut => Some(Work::LegOut),
        }
    }
}

impl pb::Task {
    /// The engine's word for it; none where it is not said.
    pub(super) const fn said(self) -> Option<Task> {
        match self {
            Self::Unspecified => None,
            Self::Refresh => Some(Task::Refresh),
            Self::Exchange => Some(Task::Exchange),
            Self::Decline => Some(Task::Decline),
        }
    }
}

impl pb::VatCategory {
    /// From the code that EN 16931 has for it.
    pub(super) fn of(code: &str) -> Self {
        match code {
            "S" => Self::S,
            "AE" => Self::Ae,
            "K" => Self::K,
            "G" => Self::G,
            "O" => Self::O,
            _ => Self::Unspecified,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use evenfare_engine::supply::VatCategory;

    #[test]
    fn words_come_back_as_they_went() {
        for &work in Work::ALL {
            assert_eq!(pb::Work::from(work).said(), Some(work));
        }
        for task in [Task::Refresh, Task::Exchange, Task::Decline] {
            assert_eq!(pb::Task::from(task).said(), Some(task));
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
            let number = pb::VatCategory::of(category.code());
            assert_eq!(number.as_str_name(), format!("VAT_CATEGORY_{}", category.code()));
        }
    }
}
