//! The messages of `proto/`, as compiled from there; each one's page is its comment there.

#[allow(
    missing_docs,
    clippy::all,
    clippy::float_arithmetic,
    clippy::indexing_slicing,
    reason = "compiled code is judged by its source, which is linted on its own"
)]
mod compiled {
    include!(concat!(env!("OUT_DIR"), "/wire.rs"));
}

pub use compiled::evenfare::v1::*;
pub use compiled::google::r#type::Date;

/// Everything in `proto/`, compiled, for clients that ask a server what it understands.
pub const FILE_DESCRIPTOR_SET: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/evenfare.binpb"));
