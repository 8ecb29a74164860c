//! Answers that are ready together leave together.

use std::cell::Cell;
use std::io::{self, IoSlice};
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll, ready};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};

/// How many bytes wait for others at most.
const ROOM: usize = 64 << 10;

thread_local! {
    /// Room that the last answers of this thread have left, for the next ones.
    static LEFT: Cell<Vec<u8>> = const { Cell::new(Vec::new()) };
}

/// A stream that keeps what is written until [`Gathering::send`].
///
/// HTTP/2 writes and flushes each data frame by itself, and a system call costs more than the copy. Whoever
/// drives the connection sends after each of its turns; so nothing waits that could go.
pub(super) struct Gathering<T>(Arc<Mutex<Gathered<T>>>);

struct Gathered<T> {
    inner: T,
    waiting: Vec<u8>,
    /// How much of what waits has gone.
    gone: usize,
}

impl<T> Clone for Gathering<T> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0))
    }
}

impl<T> Gathering<T> {
    pub(super) fn new(inner: T) -> Self {
        Self(Arc::new(Mutex::new(Gathered { inner, waiting: Vec::new(), gone: 0 })))
    }

    fn lock(&self) -> MutexGuard<'_, Gathered<T>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl<T: AsyncWrite + Unpin> Gathering<T> {
    /// Sends what waits.
    pub(super) fn send(&self, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.lock().send(cx)
    }
}

impl<T: AsyncWrite + Unpin> Gathered<T> {
    fn send(&mut self, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        if self.waiting.is_empty() {
            return Poll::Ready(Ok(()));
        }
        while let Some(rest) = self.waiting.get(self.gone..).filter(|rest| !rest.is_empty()) {
            let sent = ready!(Pin::new(&mut self.inner).poll_write(cx, rest))?;
            if sent == 0 {
                return Poll::Ready(Err(io::ErrorKind::WriteZero.into()));
            }
            self.gone = self.gone.saturating_add(sent);
        }
        // TLS keeps what it has taken until it is flushed: what is not flushed yet still waits.
        ready!(Pin::new(&mut self.inner).poll_flush(cx))?;
        self.waiting.clear();
        // A connection on which nothing waits keeps no room.
        LEFT.set(std::mem::take(&mut self.waiting));
        self.gone = 0;
        Poll::Ready(Ok(()))
    }

    /// Takes in as much as there is room for.
    fn take(&mut self, cx: &mut Context<'_>, pieces: &[IoSlice<'_>]) -> Poll<io::Result<usize>> {
        if self.waiting.len() >= ROOM {
            ready!(self.send(cx))?;
        }
        if self.waiting.is_empty() {
            self.waiting = LEFT.take();
            self.waiting.reserve_exact(ROOM);
        }
        let before = self.waiting.len();
        for piece in pieces {
            let room = ROOM.saturating_sub(self.waiting.len());
            self.waiting.extend_from_slice(piece.get(..room).unwrap_or(piece));
        }
        Poll::Ready(Ok(self.waiting.len().saturating_sub(before)))
    }
}

impl<T: AsyncRead + Unpin> AsyncRead for Gathering<T> {
    fn poll_read(self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.lock().inner).poll_read(cx, buf)
    }
}

impl<T: AsyncWrite + Unpin> AsyncWrite for Gathering<T> {
    fn poll_write(self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &[u8]) -> Poll<io::Result<usize>> {
        self.lock().take(cx, &[IoSlice::new(buf)])
    }

    /// What was written goes at the end of the turn.
    fn poll_flush(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        Poll::Ready(Ok(()))
    }

    fn poll_shutdown(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let mut gathered = self.lock();
        ready!(gathered.send(cx))?;
        Pin::new(&mut gathered.inner).poll_shutdown(cx)
    }

    fn poll_write_vectored(
        self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bufs: &[IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        self.lock().take(cx, bufs)
    }

    fn is_write_vectored(&self) -> bool {
        true
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use std::future::poll_fn;
    use std::task::Waker;

    use tokio::io::{AsyncReadExt, AsyncWriteExt};

    #[tokio::test]
    async fn what_is_written_waits_for_the_end_of_the_turn() {
        let (mut client, server) = tokio::io::duplex(1024);
        let mut stream = Gathering::new(server);
        for piece in ["two ", "loaves", " of rye"] {
            stream.write_all(piece.as_bytes()).await.unwrap();
            stream.flush().await.unwrap();
        }
        let mut read = [0; 64];
        let mut context = Context::from_waker(Waker::noop());
        let mut buffer = ReadBuf::new(&mut read);
        assert!(Pin::new(&mut client).poll_read(&mut context, &mut buffer).is_pending());

        poll_fn(|cx| stream.send(cx)).await.unwrap();
        let length = client.read(&mut read).await.unwrap();
        assert_eq!(&read[..length], b"two loaves of rye", "all of it at once");
    }

    #[tokio::test]
    async fn more_than_there_is_room_for_goes_on_as_it_is_read() {
        let long: Vec<u8> = (0..3 * ROOM).map(|at| (at % 251) as u8).collect();
        let (mut client, server) = tokio::io::duplex(1000);
        let mut stream = Gathering::new(server);
        let pieces = [IoSlice::new(&long[..ROOM - 1]), IoSlice::new(&long[ROOM - 1..])];
        let mut context = Context::from_waker(Waker::noop());
        let mut first = || Pin::new(&mut stream).poll_write_vectored(&mut context, &pieces);
        assert!(matches!(first(), Poll::Ready(Ok(ROOM))));
        assert!(first().is_pending(), "nobody reads");

        let rest = long.clone();
        let write = async move {
            stream.write_all(&rest[ROOM..]).await.unwrap();
            stream.shutdown().await.unwrap();
        };
        let mut read = Vec::new();
        let (_, all) = tokio::join!(write, client.read_to_end(&mut read));
        assert_eq!(all.unwrap(), long.len());
        assert!(read == long, "every byte, and in order");
    }

    /// Takes whatever is written at once, and hands it on when it is flushed, this many bytes at a time: as TLS does.
    struct Holding {
        taken: Vec<u8>,
        sent: Arc<Mutex<Vec<u8>>>,
    }

    impl AsyncWrite for Holding {
        fn poll_write(mut self: Pin<&mut Self>, _: &mut Context<'_>, buf: &[u8]) -> Poll<io::Result<usize>> {
            self.taken.extend_from_slice(buf);
            Poll::Ready(Ok(buf.len()))
        }

        fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
            let some = self.taken.len().min(1_000);
            let rest = self.taken.split_off(some);
            let some = std::mem::replace(&mut self.taken, rest);
            self.sent.lock().unwrap().extend(some);
            if self.taken.is_empty() {
                return Poll::Ready(Ok(()));
            }
            cx.waker().wake_by_ref();
            Poll::Pending
        }

        fn poll_shutdown(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
            self.poll_flush(cx)
        }
    }

    #[tokio::test]
    async fn what_is_not_flushed_at_once_still_waits() {
        let long: Vec<u8> = (0..ROOM / 2).map(|at| (at % 251) as u8).collect();
        let sent = Arc::default();
        let mut stream = Gathering::new(Holding { taken: Vec::new(), sent: Arc::clone(&sent) });
        let mut context = Context::from_waker(Waker::noop());
        let mut write = |bytes| Pin::new(&mut stream).poll_write(&mut context, bytes);
        assert!(matches!(write(&long), Poll::Ready(Ok(_))));

        let mut turns = 0;
        poll_fn(|cx| {
            turns += 1;
            stream.send(cx)
        })
        .await
        .unwrap();
        assert!(turns > 30, "{turns}");
        assert!(*sent.lock().unwrap() == long, "every byte, and once");
        assert_eq!(stream.lock().waiting.capacity(), 0);
    }

    #[tokio::test]
    async fn a_peer_that_has_gone_is_an_error() {
        let (client, server) = tokio::io::duplex(16);
        let mut stream = Gathering::new(server);
        drop(client);
        stream.write_all(b"rye").await.unwrap();
        let sent = poll_fn(|cx| stream.send(cx)).await;
        assert_eq!(sent.unwrap_err().kind(), io::ErrorKind::BrokenPipe);
    }
}
