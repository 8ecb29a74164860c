//! Calls of any method with any bytes.

use std::time::Duration;

use tonic::client::Grpc;
use tonic::metadata::MetadataValue;
use tonic::transport::Channel;
use tonic::{Code, Request};

use super::codec::Bytes;

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
