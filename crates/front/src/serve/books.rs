//! A books folder on its way in, piece by piece.

use std::collections::HashSet;
use std::pin::pin;
use std::time::Duration;

use evenfare_engine::problem::{Place, Problem};
use tokio::time::timeout;
use tokio_stream::{Stream, StreamExt};
use tonic::Status;

use super::refusal::Refusal;
use crate::wire::pb;

/// All files together are no larger.
const MOST_BYTES: usize = 128 << 20;
/// There are no more files.
const MOST_FILES: usize = 10_000;
/// How long the next message may take, either way.
pub(super) const PATIENCE: Duration = Duration::from_secs(30);
/// How long all of them may take: time for the largest folder at two megabits a second.
const IN_ALL: Duration = Duration::from_secs(10 * 60);

/// The files of a folder by their paths in it.
pub(super) type Files = Vec<(String, Vec<u8>)>;

/// A message that may say what is asked, and may bring a piece.
pub(super) trait Brings {
    /// What is asked.
    type Scope;

    fn apart(self) -> (Option<Self::Scope>, Option<pb::BooksPiece>);
}

impl Brings for pb::ReconcileRequest {
    type Scope = pb::ReconcileScope;

    fn apart(self) -> (Option<Self::Scope>, Option<pb::BooksPiece>) {
        (self.scope, self.piece)
    }
}

impl Brings for pb::CloseMonthRequest {
    type Scope = pb::CloseScope;

    fn apart(self) -> (Option<Self::Scope>, Option<pb::BooksPiece>) {
        (self.scope, self.piece)
    }
}

/// Takes all messages in: what is asked, which the first of them says, and the files. What is asked is read by
/// `scope` before the files are waited for.
pub(super) async fn received<M: Brings, T>(
    messages: impl Stream<Item = Result<M, Status>>,
    scope: impl FnOnce(M::Scope) -> Result<T, Refusal>,
) -> Result<(T, Files), Status> {
    let late = |_| Status::deadline_exceeded("the books were not there within 10 minutes");
    timeout(IN_ALL, one_by_one(messages, scope)).await.map_err(late)?
}

async fn one_by_one<M: Brings, T>(
    messages: impl Stream<Item = Result<M, Status>>,
    scope: impl FnOnce(M::Scope) -> Result<T, Refusal>,
) -> Result<(T, Files), Status> {
    let mut messages = pin!(messages);
    let first = next(&mut messages).await?.map(Brings::apart);
    let (asked, piece) = first.unwrap_or((None, None));
    let asked =
        asked.ok_or_else(|| mistake("scope", "missing_field", "", "what is asked, in the first message"))?;
    let asked = scope(asked)?;
    let mut folder = Folder::default();
    folder.take(piece)?;
    while let Some(message) = next(&mut messages).await? {
        let (again, piece) = message.apart();
        if again.is_some() {
            return Err(mistake("scope", "said_again", "", "what is asked, in the first message only").into());
        }
        folder.take(piece)?;
    }
    Ok((asked, folder.whole()?))
}

async fn next<M>(
    messages: &mut (impl Stream<Item = Result<M, Status>> + Unpin),
) -> Result<Option<M>, Status> {
    let late = |_| Status::deadline_exceeded("no message came for 30 seconds");
    timeout(PATIENCE, messages.next()).await.map_err(late)?.transpose()
}

fn mistake(field: &str, code: &'static str, found: &str, expected: &str) -> Refusal {
    Refusal::problem(Problem::error(Place::field(field), code, found, expected))
}

/// The files so far.
#[derive(Default)]
struct Folder {
    files: Files,
    bytes: usize,
}

impl Folder {
    fn take(&mut self, piece: Option<pb::BooksPiece>) -> Result<(), Refusal> {
        let Some(pb::BooksPiece { name, content }) = piece else { return Ok(()) };
        self.bytes = self.bytes.saturating_add(content.len());
        if self.bytes > MOST_BYTES || self.files.len() > MOST_FILES {
            let expected = "at most 128 MiB in at most 10 000 files";
            return Err(mistake("piece", "too_large", "", expected));
        }
        if !name.is_empty() {
            let expected = "a path in the folder, such as statements/2026-10.xml, each once";
            if !is_path(&name) {
                let found: String = name.chars().filter(|c| !c.is_control()).take(40).collect();
                return Err(mistake("piece.name", "not_a_file_name", &found, expected));
            }
            self.files.push((name, content));
            return Ok(());
        }
        match self.files.last_mut() {
            Some((_, file)) => file.extend(content),
            None => {
                return Err(mistake("piece.name", "missing_field", "", "the file's path in its first piece"));
            }
        }
        Ok(())
    }

    /// All files, each name once.
    fn whole(self) -> Result<Files, Refusal> {
        let mut names = HashSet::new();
        match self.files.iter().find(|(name, _)| !names.insert(name)) {
            Some((twice, _)) => Err(mistake("piece.name", "duplicate_file", twice, "each file once")),
            None => Ok(self.files),
        }
    }
}

/// A file of the folder, or of one below it.
fn is_path(name: &str) -> bool {
    let plain = |part: &str| !part.is_empty() && !part.starts_with('.');
    name.len() <= 200
        && !name.contains(char::is_control)
        && !name.contains('\\')
        && name.split('/').all(plain)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use tokio::time::Instant;

    use super::*;

    fn piece(name: &str, content: &[u8]) -> Option<pb::BooksPiece> {
        Some(pb::BooksPiece { name: name.into(), content: content.into() })
    }

    #[test]
    fn pieces_become_files() {
        let mut folder = Folder::default();
        for one in [piece("books.toml", b"a"), piece("", b"b"), None, piece("statements/1.xml", b"")] {
            folder.take(one).unwrap();
        }
        let files = [("books.toml".to_owned(), b"ab".to_vec()), ("statements/1.xml".to_owned(), Vec::new())];
        assert_eq!(folder.whole().unwrap(), files);
    }

    #[test]
    fn what_belongs_to_no_file_of_the_folder_is_refused() {
        assert!(Folder::default().take(piece("", b"x")).is_err());
        for name in ["/etc/x", "../x", "a/../x", "a//x", "a/", ".git/x", "a\\x", "a\nx", &"x".repeat(201)] {
            assert!(Folder::default().take(piece(name, b"x")).is_err(), "{name:?}");
        }
        let mut folder = Folder::default();
        for name in ["a", "b", "a"] {
            folder.take(piece(name, b"x")).unwrap();
        }
        assert!(folder.whole().is_err());
    }

    /// Who takes a place and brings nothing has it no longer than the largest folder takes.
    #[tokio::test(start_paused = true)]
    async fn messages_that_bring_nothing_have_an_end() {
        let messages = async_stream::stream! {
            let scope = Some(pb::ReconcileScope::default());
            yield Ok(pb::ReconcileRequest { scope, piece: piece("books.toml", b"") });
            loop {
                tokio::time::sleep(PATIENCE / 2).await;
                yield Ok(pb::ReconcileRequest { scope: None, piece: piece("", b"") });
            }
        };
        let begin = Instant::now();
        let ended = received(messages, |_| Ok(())).await.unwrap_err();
        assert_eq!(ended.code(), tonic::Code::DeadlineExceeded, "{ended:?}");
        assert_eq!(begin.elapsed().as_secs(), IN_ALL.as_secs());
    }

    #[test]
    fn there_is_an_end_to_it() {
        let mut folder = Folder { bytes: MOST_BYTES - 1, ..Folder::default() };
        folder.take(piece("a", b"1")).unwrap();
        assert!(folder.take(piece("", b"2")).is_err());
        let mut folder = Folder { files: vec![Default::default(); MOST_FILES], bytes: 0 };
        folder.take(piece("a", b"")).unwrap();
        assert!(folder.take(piece("b", b"")).is_err());
    }
}
