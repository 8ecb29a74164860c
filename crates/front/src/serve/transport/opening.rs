//! A connection that says nothing is not kept waiting for.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::{Instant, Sleep, sleep_until};

/// What an HTTP/2 client says first.
const PREFACE: &[u8] = b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n";

/// A stream whose first bytes have to come in time: those that tell HTTP/2 from HTTP/1, which nothing else
/// watches over. From there on each protocol has time limits of its own.
pub(super) struct Opening<T> {
    inner: T,
    /// Gone when the protocol is known.
    limit: Option<Pin<Box<Sleep>>>,
    /// Bytes of the preface that were read.
    matched: usize,
}

impl<T> Opening<T> {
    pub(super) fn new(inner: T, until: Instant) -> Self {
        Self { inner, limit: Some(Box::pin(sleep_until(until))), matched: 0 }
    }

    fn read(&mut self, new: &[u8]) {
        let expected = PREFACE.get(self.matched..).unwrap_or_default();
        self.matched = self.matched.saturating_add(new.len());
        if !expected.starts_with(new) || self.matched >= PREFACE.len() {
            self.limit = None;
        }
    }
}

impl<T: AsyncRead + Unpin> AsyncRead for Opening<T> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = buf.filled().len();
        let polled = Pin::new(&mut self.inner).poll_read(cx, buf);
        let Some(limit) = &mut self.limit else { return polled };
        if polled.is_pending() {
            ready!(limit.as_mut().poll(cx));
            return Poll::Ready(Err(io::Error::new(io::ErrorKind::TimedOut, "nothing was said in time")));
        }
        self.read(buf.filled().get(before..).unwrap_or_default());
        polled
    }
}

impl<T: AsyncWrite + Unpin> AsyncWrite for Opening<T> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &[u8]) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.inner).poll_write(cx, buf)
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_shutdown(cx)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bufs: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.inner).poll_write_vectored(cx, bufs)
    }

    fn is_write_vectored(&self) -> bool {
        self.inner.is_write_vectored()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use std::time::Duration;
    use tokio::io::{AsyncReadExt, AsyncWriteExt};

    /// Sends the bytes, and then nothing for ten seconds; the limit is one second.
    async fn check(sent: &[u8], expect: Result<(), io::ErrorKind>) {
        let (mut client, server) = tokio::io::duplex(64);
        let mut server = Opening::new(server, Instant::now() + Duration::from_secs(1));
        let read = async {
            let mut taken = vec![0; sent.len()];
            server.read_exact(&mut taken).await.map_err(|error| error.kind())?;
            assert_eq!(taken, sent);
            match tokio::time::timeout(Duration::from_secs(10), server.read_u8()).await {
                Ok(read) => Err(read.unwrap_err().kind()),
                Err(_) => Ok(()),
            }
        };
        let write = async { client.write_all(sent).await.unwrap() };
        assert_eq!(tokio::join!(read, write).0, expect, "{sent:?}");
    }

    #[tokio::test(start_paused = true)]
    async fn silence_has_its_limit_and_a_known_protocol_has_none() {
        check(b"", Err(io::ErrorKind::TimedOut)).await;
        check(b"PRI * HTTP", Err(io::ErrorKind::TimedOut)).await;
        check(PREFACE, Ok(())).await;
        check(b"POST /", Ok(())).await;
        check(b"PR\0", Ok(())).await;
    }
}
