//! Somebody who speaks HTTP/2 and keeps to nothing above it.

use std::convert::Infallible;
use std::time::Duration;

use bytes::{BufMut, Bytes, BytesMut};
use http_body_util::combinators::UnsyncBoxBody;
use http_body_util::{BodyExt, Full, StreamBody};
use hyper::body::{Frame, Incoming};
use hyper::client::conn::http2::{Builder, SendRequest};
use hyper::{Request, Response, StatusCode};
use hyper_util::rt::{TokioExecutor, TokioIo};
use tokio::net::TcpStream;
use tokio_stream::StreamExt;
use tonic::{Code, Status};

/// What a call says.
pub type Said = UnsyncBoxBody<Bytes, Infallible>;

/// One connection.
#[derive(Clone)]
pub struct Peer(SendRequest<Said>);

impl Peer {
    /// Connects, and takes this many bytes of an answer before it has read them.
    pub async fn connect(url: &str, window: u32) -> Self {
        let stream = TcpStream::connect(url.strip_prefix("http://").unwrap()).await.unwrap();
        let mut builder = Builder::new(TokioExecutor::new());
        builder.initial_stream_window_size(window).adaptive_window(false);
        let (client, connection) = builder.handshake(TokioIo::new(stream)).await.unwrap();
        // That a connection was closed shows at its calls.
        tokio::spawn(async move { drop(connection.await) });
        Self(client)
    }

    /// The head of the answer; an error where the server has closed the connection.
    pub async fn call(
        &self,
        path: &str,
        token: Option<&str>,
        said: Said,
    ) -> hyper::Result<Response<Incoming>> {
        let request = Request::post(format!("http://test{path}"));
        let mut request = request.header("content-type", "application/grpc").header("te", "trailers");
        if let Some(token) = token {
            request = request.header("authorization", format!("Bearer {token}"));
        }
        let mut client = self.0.clone();
        client.ready().await?;
        client.send_request(request.body(said).unwrap()).await
    }

    /// Sends what does not say that it is gRPC; how that is answered.
    pub async fn send_text(&self, path: &str) -> StatusCode {
        let request = Request::post(format!("http://test{path}")).header("content-type", "text/plain");
        let mut client = self.0.clone();
        client.ready().await.unwrap();
        client.send_request(request.body(whole(b"rye")).unwrap()).await.unwrap().status()
    }

    /// Calls, and waits for the answer no longer than that: the call is reset then.
    pub async fn call_and_reset(
        &self,
        path: &str,
        token: &str,
        said: Said,
        after: Duration,
    ) -> hyper::Result<()> {
        match tokio::time::timeout(after, self.call(path, Some(token), said)).await {
            Ok(Err(error)) if error.is_closed() || self.0.is_closed() => Err(error),
            _ => Ok(()),
        }
    }

    /// Is there nobody at the other end any more?
    pub fn is_closed(&self) -> bool {
        self.0.is_closed()
    }
}

fn framed(message: &[u8]) -> Bytes {
    let mut bytes = BytesMut::new();
    bytes.put_u8(0);
    bytes.put_u32(u32::try_from(message.len()).unwrap());
    bytes.put_slice(message);
    bytes.freeze()
}

/// A message.
pub fn whole(message: &[u8]) -> Said {
    Full::new(framed(message)).boxed_unsync()
}

/// The first half of a message, and then nothing, for ever.
pub fn half(message: &[u8]) -> Said {
    let mut bytes = framed(message);
    bytes.truncate(bytes.len() / 2);
    let first = tokio_stream::once(Ok(Frame::data(bytes)));
    StreamBody::new(first.chain(tokio_stream::pending())).boxed_unsync()
}

/// The head of a message of that length, and then nothing, for ever.
pub fn announced(length: usize) -> Said {
    let mut bytes = BytesMut::new();
    bytes.put_u8(0);
    bytes.put_u32(u32::try_from(length).unwrap());
    let first = tokio_stream::once(Ok(Frame::data(bytes.freeze())));
    StreamBody::new(first.chain(tokio_stream::pending())).boxed_unsync()
}

/// How a call ends: in the head of the answer, or behind its messages.
pub async fn end(answer: Response<Incoming>) -> Status {
    let (head, body) = answer.into_parts();
    if let Some(status) = Status::from_header_map(&head.headers) {
        return status;
    }
    let body = body.collect().await.unwrap();
    body.trailers().and_then(Status::from_header_map).expect("a call ends with a status")
}

/// The code of an answer without messages; nothing where messages may follow.
pub fn refusal(answer: &Response<Incoming>) -> Option<Code> {
    Status::from_header_map(answer.headers()).map(|status| status.code())
}
