//! Documents of a quote, for the command line and the wire: the same bytes from both.
//!
//! Which document is whose is decided here and nowhere else; what may stand on it is decided by the view
//! that it is made of.

// Reading order: each module uses only those above it.
mod kind;
mod refused;
mod asked;
mod source;
mod xml;
#[cfg_attr(not(feature = "pdf"), path = "no_page.rs")]
mod page;
mod document;

pub use asked::Asked;
pub use document::{account, national, of_quote, of_sale};
pub use kind::{Format, Kind};
pub use refused::NotMade;
pub use source::{Document, Source};
