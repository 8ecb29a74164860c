//! The wire: messages of `proto/evenfare/v1` and their conversions.

pub mod pb;
