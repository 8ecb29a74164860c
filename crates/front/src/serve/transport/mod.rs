//! stub
use std::net::SocketAddr;
/// stub
#[derive(Debug, Clone)]
pub struct Peer { pub address: SocketAddr, pub certificate: Option<[u8; 32]>, pub encrypted: bool }
/// stub
#[derive(Debug, Clone)]
pub struct CallerName(pub evenfare_engine::text::Code);
