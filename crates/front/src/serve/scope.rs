//! What is asked of a books folder, read from its message.

use std::str::FromStr;

use chrono::NaiveDate;
use evenfare_reconcile::month::Month;
use evenfare_store::digest::{Digest, InvalidDigest};

use super::ask::read;
use super::refusal::Refusal;
use crate::month::{Anchor, over};
use crate::wire::field::Field;
use crate::wire::message::Message;
use crate::wire::mistakes::Objection;
use crate::wire::pb;

/// Where it stands in the first message.
const SCOPE: &str = "scope";

/// What is looked at.
pub(super) struct Scope {
    pub(super) month: Option<Month>,
    pub(super) until: NaiveDate,
    pub(super) with_files: bool,
    pub(super) anchors: Vec<Anchor>,
}

/// Which month is closed.
pub(super) struct Close {
    pub(super) month: Month,
    pub(super) with_open_questions: bool,
    pub(super) anchors: Vec<Anchor>,
}

pub(super) fn reconcile(wire: &pb::ReconcileScope, today: NaiveDate) -> Result<Scope, Refusal> {
    read(|at| {
        let mut at = at.at(SCOPE);
        let month = at.if_said::<Month>("month", Some(&wire.month));
        let until = at.day_if_said("until", wire.until.as_ref());
        if !wire.month.is_empty() && wire.until.is_some() {
            let expected = "nothing: a month is looked at up to its last day";
            at.at("until").refuse::<()>(Objection::new("month_and_day", "", expected));
        }
        let anchors = anchors(&mut at, &wire.anchors);
        let (month, until) = (month?, until?);
        let until = until.or(month.map(Month::last_day)).unwrap_or(today);
        Some(Scope { month, until, with_files: wire.with_files, anchors: anchors? })
    })
}

/// A month that is not over is refused before its folder is waited for.
pub(super) fn close(wire: &pb::CloseScope, today: NaiveDate) -> Result<Close, Refusal> {
    let asked = read(|at| {
        let mut at = at.at(SCOPE);
        let month = at.needed("month", &wire.month);
        let anchors = anchors(&mut at, &wire.anchors);
        let with_open_questions = wire.with_open_questions;
        Some(Close { month: month?, with_open_questions, anchors: anchors? })
    })?;
    over(asked.month, today).map_err(Refusal::Unreconciled)?;
    Ok(asked)
}

fn anchors(at: &mut Message<'_>, wires: &[pb::ClosingAnchor]) -> Option<Vec<Anchor>> {
    at.list("anchors", wires, |mut at, wire| {
        let month = at.needed("month", &wire.month);
        let digest = at.needed("digest", &wire.digest);
        let (month, Noted(digest)) = (month?, digest?);
        Some(Anchor { month, digest })
    })
}

/// The digest of a closing, as somebody noted it down.
struct Noted(Digest);

impl FromStr for Noted {
    type Err = InvalidDigest;

    fn from_str(text: &str) -> Result<Self, InvalidDigest> {
        text.parse().map(Self)
    }
}

impl Field for Noted {
    const EXPECTED: &'static str = "the digest that closing the month answered with: 64 hexadecimal digits";
    const STAND_IN: &'static str = "0000000000000000000000000000000000000000000000000000000000000000";

    fn wrong(_: InvalidDigest) -> (&'static str, Option<String>) {
        ("not_a_digest", None)
    }
}
