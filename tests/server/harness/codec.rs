//! Messages as the bytes they are.

use bytes::{Buf, BufMut};
use tonic::Status;
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};

/// Puts bytes on the wire and takes them off it.
#[derive(Clone, Default)]
pub struct Bytes;

impl Codec for Bytes {
    type Encode = Vec<u8>;
    type Decode = Vec<u8>;
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        Self
    }

    fn decoder(&mut self) -> Self {
        Self
    }
}

impl Encoder for Bytes {
    type Item = Vec<u8>;
    type Error = Status;

    fn encode(&mut self, item: Vec<u8>, into: &mut EncodeBuf<'_>) -> Result<(), Status> {
        into.put_slice(&item);
        Ok(())
    }
}

impl Decoder for Bytes {
    type Item = Vec<u8>;
    type Error = Status;

    fn decode(&mut self, from: &mut DecodeBuf<'_>) -> Result<Option<Vec<u8>>, Status> {
        let mut bytes = vec![0; from.remaining()];
        from.copy_to_slice(&mut bytes);
        Ok(Some(bytes))
    }
}
