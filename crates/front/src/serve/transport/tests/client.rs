//! A client that says what it is told to, and shows what comes back.

use std::net::SocketAddr;
use std::time::Duration;

use bytes::Bytes;
use http::{HeaderMap, Request, Response};
use http_body_util::{BodyExt, Full};
use hyper::body::Incoming;
use hyper::client::conn::http2::{SendRequest, handshake};
use hyper_util::rt::{TokioExecutor, TokioIo};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tonic::{Code, Status};

use super::oven::framed;

/// A call that hangs is a test that fails.
const PATIENCE: Duration = Duration::from_secs(10);

#[derive(Clone)]
pub(super) struct Client(SendRequest<Full<Bytes>>);

/// All of a response.
#[derive(Debug)]
pub(super) struct Answer {
    pub(super) headers: HeaderMap,
    pub(super) body: Bytes,
    pub(super) trailers: Option<HeaderMap>,
}

impl Answer {
    pub(super) async fn read(response: Response<Incoming>) -> hyper::Result<Self> {
        let (head, body) = response.into_parts();
        let body = body.collect().await?;
        let trailers = body.trailers().cloned();
        Ok(Self { headers: head.headers, body: body.to_bytes(), trailers })
    }

    /// The status, from the trailers or, where there is nothing else, from the headers.
    pub(super) fn status(&self) -> Status {
        let trailers = self.trailers.as_ref().unwrap_or(&self.headers);
        Status::from_header_map(trailers).unwrap_or_else(|| panic!("no status in {self:?}"))
    }

    pub(super) fn code(&self) -> Code {
        self.status().code()
    }

    /// The only message of a good answer.
    pub(super) fn message(&self) -> &[u8] {
        assert_eq!(self.code(), Code::Ok, "{self:?}");
        &self.body[5..]
    }
}

impl Client {
    pub(super) async fn plain(address: SocketAddr) -> Self {
        Self::over(TcpStream::connect(address).await.unwrap()).await.unwrap()
    }

    pub(super) async fn over(
        stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static,
    ) -> hyper::Result<Self> {
        let (client, connection) = handshake(TokioExecutor::new(), TokioIo::new(stream)).await?;
        tokio::spawn(connection);
        Ok(Self(client))
    }

    /// Whether the connection takes no more calls.
    pub(super) fn is_closed(&self) -> bool {
        self.0.is_closed()
    }

    /// The response as soon as its headers are there.
    pub(super) async fn begin(
        &self,
        method: &str,
        headers: &[(&'static str, &str)],
        message: &[u8],
    ) -> hyper::Result<Response<Incoming>> {
        let headers = [&[("content-type", "application/grpc"), ("te", "trailers")], headers].concat();
        self.post(method, &headers, message).await
    }

    /// The same with these headers alone.
    pub(super) async fn post(
        &self,
        method: &str,
        headers: &[(&'static str, &str)],
        message: &[u8],
    ) -> hyper::Result<Response<Incoming>> {
        let path = if method.starts_with('/') { method.to_owned() } else { format!("/test.Oven/{method}") };
        let mut request = Request::post(format!("http://test{path}"));
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let mut client = self.0.clone();
        client.ready().await?;
        client.send_request(request.body(Full::new(framed(message))).unwrap()).await
    }

    pub(super) async fn call(
        &self,
        method: &str,
        headers: &[(&'static str, &str)],
        message: &[u8],
    ) -> hyper::Result<Answer> {
        let answer = async { Answer::read(self.begin(method, headers, message).await?).await };
        tokio::time::timeout(PATIENCE, answer).await.unwrap_or_else(|_| panic!("no answer of {method}"))
    }

    /// Calls without headers or message.
    pub(super) async fn ask(&self, method: &str) -> hyper::Result<Answer> {
        self.call(method, &[], b"").await
    }
}
