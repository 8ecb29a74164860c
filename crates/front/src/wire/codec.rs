//! How the server takes messages off the wire and puts them onto it.

use std::marker::PhantomData;

use prost::Message;
use prost::bytes::Buf;
use tonic::Status;
use tonic::codec::{BufferSettings, Codec, DecodeBuf, Decoder};
use tonic_prost::{ProstDecoder, ProstEncoder};

/// Most requests are shorter; for a longer one room is made when its length is there.
const ROOM: usize = 1 << 10;

/// Requests and answers as prost has them.
pub(crate) struct Wire<Answer, Request>(PhantomData<(Answer, Request)>);

impl<Answer, Request> Default for Wire<Answer, Request> {
    fn default() -> Self {
        Self(PhantomData)
    }
}

impl<Answer, Request> Codec for Wire<Answer, Request>
where
    Answer: Message + Send + 'static,
    Request: Message + Default + Send + 'static,
{
    type Encode = Answer;
    type Decode = Request;
    type Encoder = ProstEncoder<Answer>;
    type Decoder = InPlace<Request>;

    fn encoder(&mut self) -> Self::Encoder {
        ProstEncoder::default()
    }

    fn decoder(&mut self) -> Self::Decoder {
        InPlace(ProstDecoder::new(BufferSettings::new(ROOM, ROOM)))
    }
}

/// Reads a message where it lies.
///
/// Byte by byte out of the buffer that tonic hands over, each step would have to keep that buffer's books.
pub(crate) struct InPlace<M>(ProstDecoder<M>);

impl<M: Message + Default> Decoder for InPlace<M> {
    type Item = M;
    type Error = Status;

    fn decode(&mut self, from: &mut DecodeBuf<'_>) -> Result<Option<M>, Status> {
        let whole = from.chunk();
        if whole.len() < from.remaining() {
            // In pieces it has never been seen.
            return self.0.decode(from);
        }
        let (read, length) = (M::decode(whole), whole.len());
        from.advance(length);
        read.map(Some).map_err(|error| Status::internal(error.to_string()))
    }

    fn buffer_settings(&self) -> BufferSettings {
        self.0.buffer_settings()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::wire::pb;
    use bytes::{BufMut, Bytes};
    use http_body::Frame;
    use http_body_util::StreamBody;
    use std::convert::Infallible;
    use tonic::codec::Streaming;

    /// Messages as they stand in a request.
    fn framed(messages: &[Vec<u8>]) -> Vec<u8> {
        let mut framed = Vec::new();
        for message in messages {
            framed.put_u8(0);
            framed.put_u32(message.len().try_into().unwrap());
            framed.extend_from_slice(message);
        }
        framed
    }

    /// What a decoder makes of bytes that come so many at a time.
    async fn read(
        decoder: impl Decoder<Item = pb::Party, Error = Status> + Send + 'static,
        bytes: &[u8],
        at_a_time: usize,
    ) -> Vec<Result<pb::Party, String>> {
        let frames: Vec<_> = bytes
            .chunks(at_a_time)
            .map(|piece| Ok::<_, Infallible>(Frame::data(Bytes::copy_from_slice(piece))))
            .collect();
        let body = StreamBody::new(tokio_stream::iter(frames));
        let mut messages = Streaming::new_request(decoder, body, None, None);
        let mut read = Vec::new();
        loop {
            match messages.message().await {
                Ok(Some(message)) => read.push(Ok(message)),
                Ok(None) => return read,
                Err(status) => {
                    read.push(Err(format!("{:?} {}", status.code(), status.message())));
                    return read;
                }
            }
        }
    }

    #[tokio::test]
    async fn a_message_reads_as_prost_reads_it() {
        let party =
            |name: &str| pb::Party { name: name.into(), country_code: "CZ".into(), ..pb::Party::default() };
        let long = "é".repeat(5 * ROOM);
        let good = ["mill", "", long.as_str(), "bakery"].map(|name| party(name).encode_to_vec());
        let wrong = [good[0].clone(), vec![0x0a, 0x7f, b'm'], good[1].clone()];
        let no_text = [vec![0x0a, 0x02, 0xff, 0xfe]];
        for (bytes, expect) in
            [(framed(&good), 4), (framed(&wrong), 2), (framed(&no_text), 1), (framed(&[]), 0)]
        {
            for at_a_time in [1, 3, 1_000, usize::MAX] {
                let decoder = Wire::<pb::Party, pb::Party>::default().decoder();
                let own = read(decoder, &bytes, at_a_time).await;
                assert_eq!(own.len(), expect, "{own:?}");
                assert_eq!(own, read(ProstDecoder::default(), &bytes, at_a_time).await);
            }
        }
    }
}
