//! What if: what was quoted, priced again as if something had been otherwise.
//!
//! A proposed edition is tried on the quotes of a past period before it is published ([`Proposal`],
//! [`Trial`]); and a quote is priced by others of a partner's agreements, so that an invoice that goes by
//! one of them is known for what it is ([`OtherAgreements`]). Nothing of it is ever a quote: it is compared
//! and thrown away.

mod past;
mod agreements;
mod proposal;
mod trial;
pub mod lines;

pub use agreements::OtherAgreements;
pub use past::Past;
pub use proposal::{NotTried, Objection, Proposal, Tried};
pub use trial::{
    Change, Compared, Example, MOST_CHANGES, MOST_EXAMPLES, Refusals, STEPS_PERCENT, Step, Trial,
};
