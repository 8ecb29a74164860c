//! Closings, held against what somebody noted down of them.

use std::fmt;
use std::str::FromStr;

use evenfare_files::closing_file;
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::Closing;
use evenfare_store::digest::Digest;

/// What was noted down when a month was closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Anchor {
    /// The month.
    pub month: Month,
    /// Of its closing.
    pub digest: Digest,
}

/// As it is read: `2026-09:` and the digest.
impl fmt::Display for Anchor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.month, self.digest)
    }
}

/// The text is no anchor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("expected MONTH:DIGEST, as it was printed when the month was closed")]
pub struct NotAnAnchor;

impl FromStr for Anchor {
    type Err = NotAnAnchor;

    fn from_str(text: &str) -> Result<Self, NotAnAnchor> {
        let (month, digest) = text.split_once(':').ok_or(NotAnAnchor)?;
        Ok(Self {
            month: month.parse().map_err(|_| NotAnAnchor)?,
            digest: digest.parse().map_err(|_| NotAnAnchor)?,
        })
    }
}

/// A month is not closed as it was noted down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotAsNoted {
    /// By another closing.
    #[error(
        "{} has the digest {found}; noted down was {}. Put back the file that was there when it was noted down",
        closing_file(.noted.month),
        .noted.digest
    )]
    Changed {
        /// What was noted down.
        noted: Anchor,
        /// The digest of the closing that is there.
        found: Digest,
    },
    /// Its closing is not there.
    #[error("{} is not in the books folder; noted down was {}. Put it back", closing_file(.0.month), .0.digest)]
    Missing(Anchor),
}

impl NotAsNoted {
    /// A stable code.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Changed { .. } => "closing_changed",
            Self::Missing(_) => "closing_missing",
        }
    }
}

/// Are the months closed as they were noted down?
///
/// # Errors
/// [`NotAsNoted`] of the first that is not.
pub fn as_noted(closings: &[Closing], anchors: &[Anchor]) -> Result<(), NotAsNoted> {
    anchors.iter().try_for_each(|noted| {
        let closing = closings.iter().find(|closing| closing.month == noted.month);
        match closing.map(|closing| Digest::from(closing.digest)) {
            Some(found) if found == noted.digest => Ok(()),
            Some(found) => Err(NotAsNoted::Changed { noted: *noted, found }),
            None => Err(NotAsNoted::Missing(*noted)),
        }
    })
}
