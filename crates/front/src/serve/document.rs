//! What is kept of a quote, as the services have it: what cannot be kept is a defect of the server.

use super::refusal::Refusal;
use crate::kept::NotKept;
pub(super) use crate::kept::{content, own_sale, read};

impl From<NotKept> for Refusal {
    fn from(error: NotKept) -> Self {
        Self::Internal(error.to_string())
    }
}
