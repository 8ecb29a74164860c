//! Speed of durable writing.

fn main() {}
