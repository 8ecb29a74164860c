//! The server: gRPC and gRPC-Web, around the store and the engine.

pub mod transport;
