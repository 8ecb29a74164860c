//! The layers around every call.

mod answer;
mod body;
mod heard;
mod reasons;
mod timeout;
mod deadline;
mod admission;
mod call;
mod meters;
mod observe;
mod web;
mod media;
mod stack;

pub use body::keeping;
pub use call::Call;
pub use heard::HeardLayer;
#[cfg(test)]
pub(in crate::serve) use reasons::REASONS;
pub use stack::{Layering, layered};
