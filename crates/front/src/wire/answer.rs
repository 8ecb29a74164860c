//! The services, and the messages of `proto/` that carry a quote, as the server sends them: the quote in them is
//! written already. Every other message is that of [`pb`](super::pb).

#[allow(
    missing_docs,
    dead_code,
    clippy::all,
    clippy::float_arithmetic,
    clippy::indexing_slicing,
    reason = "compiled code is judged by its source, which is linted on its own"
)]
mod compiled {
    include!(concat!(env!("OUT_DIR"), "/answer/wire.rs"));
}

pub(crate) use compiled::evenfare::v1::*;
