//! A quote as it goes out: the bytes of its message.

use std::fmt;

use prost::DecodeError;
use prost::bytes::{Buf, BufMut};
use prost::encoding::{DecodeContext, WireType, skip_field};

/// The bytes of the message `Quote`, for the messages that carry one.
///
/// It is made of what its reader may see, is written once, and goes out as it is. Whoever receives it has a
/// [`pb::Quote`](super::pb::Quote).
#[derive(Clone, Default, PartialEq, Eq, Hash)]
pub struct WrittenQuote(pub(super) Vec<u8>);

impl WrittenQuote {
    /// The message.
    #[must_use]
    pub fn as_bytes(&self) -> &[u8] {
        &self.0
    }
}

impl fmt::Debug for WrittenQuote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "WrittenQuote({} bytes)", self.0.len())
    }
}

/// A message to those that carry it. It is for the way out alone: read, it stays empty.
impl prost::Message for WrittenQuote {
    fn encode_raw(&self, buf: &mut impl BufMut) {
        buf.put_slice(&self.0);
    }

    fn merge_field(
        &mut self,
        tag: u32,
        wire_type: WireType,
        buf: &mut impl Buf,
        ctx: DecodeContext,
    ) -> Result<(), DecodeError> {
        skip_field(wire_type, tag, buf, ctx)
    }

    fn encoded_len(&self) -> usize {
        self.0.len()
    }

    fn clear(&mut self) {
        self.0.clear();
    }
}
