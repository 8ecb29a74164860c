//! The transport as a whole, on sockets of the loopback.

mod oven;
mod client;
mod server;
mod calls;
mod connections;
mod tls;
mod web;
