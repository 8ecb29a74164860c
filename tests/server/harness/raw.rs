//! Calls of any method with any bytes.

use std::time::Duration;

use bytes::{Buf, BufMut};
use tonic::client::Grpc;
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};
use tonic::metadata::MetadataValue;
use tonic::transport::Channel;
use tonic::{Code, Request, Status};

#[derive(Clone, Default)]
struct Bytes;

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
        let bytes = from.chunk().to_vec();
        from.advance(bytes.len());
        Ok(Some(bytes))
    }
}

/// Calls a method, one message in; the code it ends with, or `Ok` at the first message that comes back.
pub async fn call(url: &str, path: &str, token: Option<&str>, message: Vec<u8>, within: Duration) -> Code {
    let channel = Channel::from_shared(url.to_owned()).unwrap().connect().await.unwrap();
    let mut grpc = Grpc::new(channel);
    grpc.ready().await.unwrap();
    let mut request = Request::new(tokio_stream::once(message));
    request.set_timeout(within);
    if let Some(token) = token {
        let value: MetadataValue<_> = token.parse().unwrap();
        request.metadata_mut().insert("authorization", value);
    }
    let outcome = async {
        let answer = grpc.streaming(request, path.parse().unwrap(), Bytes).await?;
        answer.into_inner().message().await
    };
    match outcome.await {
        Ok(_) => Code::Ok,
        Err(status) => status.code(),
    }
}
