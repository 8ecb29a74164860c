//! What others refuse, as a refusal of a call.

use evenfare_engine::money::Overflow;
use evenfare_store::refused::StoreError;

use super::Refusal;
use crate::kept::{NotKept, NotRead};
use crate::trial::TrialError;

impl From<StoreError> for Refusal {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

impl From<Overflow> for Refusal {
    fn from(error: Overflow) -> Self {
        Self::OutOfRange("TOO_LARGE", error.to_string())
    }
}

impl From<NotKept> for Refusal {
    fn from(error: NotKept) -> Self {
        Self::Internal(error.to_string())
    }
}

impl From<NotRead> for Refusal {
    fn from(error: NotRead) -> Self {
        match error {
            NotRead::Store(error) => error.into(),
            NotRead::Damaged(why) => Self::Internal(why),
        }
    }
}

impl From<TrialError> for Refusal {
    fn from(error: TrialError) -> Self {
        match error {
            TrialError::Kept(error) => error.into(),
            TrialError::Edition(_) => Self::UnreadableEdition,
            TrialError::Internal(why) => Self::Internal(why),
        }
    }
}
