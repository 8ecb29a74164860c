//! The server as a whole: the program started, called over sockets, killed, starved and asked again.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod harness;
mod books;

mod who_may_call_what;
mod office;
mod requests;
mod streams;
mod partner;
mod accountant;
mod month_end;
mod anchors;
mod invoices;
mod documents;
mod tariffs;
mod limits;
mod broad;
#[cfg(target_os = "linux")]
mod hostile;
mod certificates;
mod killed;
mod two_servers;
mod failing_disk;
mod clocks;
mod command_line;
