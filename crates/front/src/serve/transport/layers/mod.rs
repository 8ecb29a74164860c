//! The layers around every call.

mod answer;
mod body;
mod timeout;
mod deadline;
mod admission;
mod call;
mod meters;
mod observe;
mod web;
mod stack;

pub use answer::busy;
pub use body::with_room;
pub use call::Call;
pub use deadline::Deadline;
pub use stack::{Layering, layered};
