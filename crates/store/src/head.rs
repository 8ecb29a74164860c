//! What waits to be written down, and where the chain ends.

use chrono::{DateTime, NaiveDate, Utc};
use evenfare_engine::text::{Code, Text};

use crate::chain;
use crate::clock::moment_after;
use crate::command::{Command, Request};
use crate::digest::Digest;
use crate::event::{Event, Kept, Kind};
use crate::tables::{Ask, Fault, Row};

/// A request with what can be computed of it before its turn comes.
#[derive(Debug)]
pub(crate) struct Asked {
    pub(crate) request: Request,
    /// The digest of what is to be kept along with the event.
    content: Option<Digest>,
}

/// Where the chain ends.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Head {
    pub(crate) sequence: u64,
    hash: Digest,
    recorded: DateTime<Utc>,
}

/// What an event says beside who asked for it, when, and what was before.
pub(crate) struct Happening {
    pub(crate) kind: Kind,
    pub(crate) subject: String,
    pub(crate) revision: Option<u32>,
    pub(crate) offer: Option<Code>,
    pub(crate) settled: Option<NaiveDate>,
    pub(crate) reason: Text,
}

impl Asked {
    pub(crate) fn new(request: Request) -> Self {
        let content = match &request.command {
            Command::Issue { content, .. }
            | Command::Revise { content, .. }
            | Command::Reverse { content, .. } => Some(chain::digest_of_entry(content)),
            Command::Publish { code, from, until, currency, archive } => {
                Some(chain::digest_of_edition(code, *from, *until, currency.code(), archive))
            }
            Command::AddCaller { name, role, kind, credential } => {
                Some(chain::digest_of_caller(name, role, *kind, credential))
            }
            // What an invoice says is known when its turn comes.
            Command::Invoice { .. } | Command::Credit { .. } => None,
            Command::Accept { .. } | Command::Decline { .. } | Command::WithdrawCaller { .. } => None,
        };
        Self { request, content }
    }

    /// About how much it will take in the database, in bytes.
    pub(crate) fn weight(&self) -> usize {
        let large = match &self.request.command {
            Command::Issue { content, .. }
            | Command::Revise { content, .. }
            | Command::Reverse { content, .. } => content.document.len(),
            Command::Publish { archive, .. } => archive.len(),
            _ => 0,
        };
        large.saturating_add(1024)
    }
}

impl Head {
    /// Asks for it.
    pub(crate) fn ask() -> Ask<'static> {
        Ask::new("SELECT sequence, hash, recorded FROM events ORDER BY sequence DESC LIMIT 1", Vec::new())
    }

    /// The answer to [`ask`](Self::ask).
    pub(crate) fn of_rows(rows: Vec<Row>) -> Result<Self, Fault> {
        let Some(mut row) = rows.into_iter().next() else {
            return Ok(Self { sequence: 0, hash: Digest::ZERO, recorded: DateTime::<Utc>::MIN_UTC });
        };
        Ok(Self {
            sequence: row.int("the sequence")?,
            hash: row.digest("the hash")?,
            recorded: row.moment("the time")?,
        })
    }

    /// After that event.
    pub(crate) fn after(event: &Event) -> Self {
        Self { sequence: event.sequence, hash: event.hash, recorded: event.recorded }
    }

    /// The event that comes next; `kept` is what is kept along with it.
    pub(crate) fn next(&self, asked: &Asked, now: DateTime<Utc>, happening: Happening, kept: &Kept) -> Event {
        let Request { id, fingerprint, caller, .. } = &asked.request;
        let Happening { kind, subject, revision, offer, settled, reason } = happening;
        let mut event = Event {
            sequence: self.sequence.saturating_add(1),
            kind,
            recorded: moment_after(self.recorded, now),
            caller: caller.clone(),
            request_id: id.clone(),
            fingerprint: *fingerprint,
            subject,
            revision,
            offer,
            settled,
            reason,
            content: match kept {
                Kept::Invoice(invoice) => Some(chain::digest_of_invoice(&invoice.billed)),
                _ => asked.content,
            },
            previous: self.hash,
            hash: Digest::ZERO,
        };
        event.hash = chain::hash_of(&event);
        event
    }
}

impl Happening {
    pub(crate) fn to(kind: Kind, subject: impl ToString) -> Self {
        let (subject, reason) = (subject.to_string(), Text::default());
        Self { kind, subject, revision: None, offer: None, settled: None, reason }
    }
}
