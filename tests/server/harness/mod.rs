//! A server of one's own for a test, and clients of it.

mod process;
mod world;
mod client;
mod codec;
mod raw;
mod peer;
mod desk;
mod issuing;
mod promises;
/// The store's own: a PostgreSQL that comes and goes with a test.
#[path = "../../../crates/store/tests/store/postgres.rs"]
#[allow(dead_code, reason = "the store's tests need more of it")]
mod postgres;

pub use client::{Client, channel, connect, job, reason};
pub use desk::{Office, accept, issue, issued, office, opened};
pub use issuing::{Addresses, Answers, Issuing};
pub use peer::{Peer, Said, announced, end, half, refusal, whole};
pub use postgres::Cluster;
pub use process::{Server, command, evenfare};
pub use promises::hold;
pub use raw::call;
pub use world::{World, audit, token};

/// How many times, unless the environment says otherwise.
pub fn times(variable: &str, usual: usize) -> usize {
    match std::env::var(variable) {
        Ok(number) => number.parse().unwrap_or_else(|_| panic!("{variable} is no number: {number}")),
        Err(_) => usual,
    }
}

/// Waits until it is so.
pub async fn until(mut is: impl AsyncFnMut() -> bool) {
    let begin = std::time::Instant::now();
    while !is().await {
        assert!(begin.elapsed() < std::time::Duration::from_secs(30), "it is never so");
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
}
