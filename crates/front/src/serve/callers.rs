//! Who holds which credential, looked up in memory; the store is asked again when something has changed.

use std::collections::HashMap;
use std::sync::{Arc, PoisonError, RwLock};

use evenfare_engine::text::Code;
use evenfare_engine::view::Reader;
use evenfare_store::caller::{Caller, CredentialKind, Role};
use evenfare_store::digest::Digest;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use super::refusal::Refusal;

/// How many calls of one partner are under way at once; one portal cannot keep the others out.
const CALLS_OF_A_PARTNER: usize = 64;
/// How many of his large jobs wait or are worked on.
pub(super) const LARGE_JOBS_OF_A_PARTNER: usize = 8;
/// How many of his documents wait or are made.
pub(super) const DOCUMENTS_OF_A_PARTNER: usize = 16;
/// How many of his lists wait or are read.
pub(super) const LISTS_OF_A_PARTNER: usize = 16;

/// Room of one partner, whatever credentials he calls with.
#[derive(Debug, Clone)]
pub(super) struct Room {
    /// For calls.
    pub(super) calls: Arc<Semaphore>,
    /// For jobs that ask for much.
    pub(super) large_jobs: Arc<Semaphore>,
    /// For documents.
    pub(super) documents: Arc<Semaphore>,
    /// For lists.
    pub(super) lists: Arc<Semaphore>,
    /// For the one of them that is read.
    pub(super) one_list: Arc<Semaphore>,
}

impl Room {
    pub(super) fn new() -> Self {
        let of = |places| Arc::new(Semaphore::new(places));
        Self {
            calls: of(CALLS_OF_A_PARTNER),
            large_jobs: of(LARGE_JOBS_OF_A_PARTNER),
            documents: of(DOCUMENTS_OF_A_PARTNER),
            lists: of(LISTS_OF_A_PARTNER),
            one_list: of(1),
        }
    }
}

/// A caller who has proved himself.
#[derive(Debug)]
pub struct Identity {
    /// His name.
    pub name: Code,
    /// What he is to the workshop.
    pub role: Role,
    /// Room for what he asks, where that is bounded.
    pub(super) room: Option<Room>,
}

impl Identity {
    /// How he reads a quote.
    pub fn reader(&self) -> Reader {
        match &self.role {
            Role::Office => Reader::Office,
            Role::Accountant => Reader::Accountant,
            Role::Partner(code) => Reader::Partner(code.clone()),
        }
    }

    /// Room for one more call of his, where they are bounded.
    pub(super) fn one_more_call(&self) -> Result<Option<OwnedSemaphorePermit>, Refusal> {
        let own = self.room.as_ref().map(|room| Arc::clone(&room.calls).try_acquire_owned()).transpose();
        own.map_err(|_| Refusal::TooMany("calls of this partner"))
    }
}

/// All callers that were not withdrawn.
#[derive(Debug, Default)]
pub struct Callers {
    by_credential: RwLock<HashMap<(CredentialKind, Digest), Arc<Identity>>>,
}

impl Callers {
    /// Takes what the store has now. Who is still there keeps his count of calls under way.
    pub fn replace(&self, callers: Vec<Caller>) {
        let mut known = self.by_credential.write().unwrap_or_else(PoisonError::into_inner);
        // Whatever credentials a partner has, his calls count together.
        let of_partners = known.values().filter_map(|identity| match (&identity.role, &identity.room) {
            (Role::Partner(code), Some(room)) => Some((code.clone(), room.clone())),
            _ => None,
        });
        let mut of_partners: HashMap<Code, Room> = of_partners.collect();
        let mut next = HashMap::with_capacity(callers.len());
        for caller in callers.into_iter().filter(|caller| caller.withdrawn.is_none()) {
            let key = (caller.kind, caller.credential);
            let identity = known.remove(&key).unwrap_or_else(|| {
                let room = match &caller.role {
                    Role::Partner(code) => {
                        Some(of_partners.entry(code.clone()).or_insert_with(Room::new).clone())
                    }
                    Role::Office | Role::Accountant => None,
                };
                Arc::new(Identity { name: caller.name, role: caller.role, room })
            });
            next.insert(key, identity);
        }
        *known = next;
    }

    /// Who holds that credential. What is compared is a digest, so how long it takes says nothing of
    /// the credential.
    pub fn holder(&self, kind: CredentialKind, credential: Digest) -> Option<Arc<Identity>> {
        let known = self.by_credential.read().unwrap_or_else(PoisonError::into_inner);
        known.get(&(kind, credential)).cloned()
    }

    /// Is he still a caller?
    pub fn knows(&self, identity: &Arc<Identity>) -> bool {
        let known = self.by_credential.read().unwrap_or_else(PoisonError::into_inner);
        known.values().any(|other| Arc::ptr_eq(other, identity))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use chrono::DateTime;

    fn caller(name: &str, withdrawn: bool) -> Caller {
        Caller {
            name: name.parse().unwrap(),
            role: Role::Partner("P-1".parse().unwrap()),
            kind: CredentialKind::Token,
            credential: Digest::of(name.as_bytes()),
            added: DateTime::UNIX_EPOCH,
            withdrawn: withdrawn.then_some(DateTime::UNIX_EPOCH),
        }
    }

    #[test]
    fn who_is_withdrawn_is_nobody() {
        let callers = Callers::default();
        let holder = |name: &str| callers.holder(CredentialKind::Token, Digest::of(name.as_bytes()));
        callers.replace(vec![caller("a", false), caller("b", true)]);
        let a = holder("a").unwrap();
        assert!(holder("b").is_none());
        assert!(callers.holder(CredentialKind::Certificate, Digest::of(b"a")).is_none());

        callers.replace(vec![caller("a", false), caller("c", false)]);
        assert!(Arc::ptr_eq(&a, &holder("a").unwrap()), "he keeps his count of calls");
        let room = |name: &str| holder(name).unwrap().room.clone().unwrap();
        assert!(Arc::ptr_eq(&room("a").calls, &room("c").calls), "a partner's calls count together");
        assert!(Arc::ptr_eq(&room("a").large_jobs, &room("c").large_jobs), "and so do his large jobs");
        assert!(callers.knows(&a));
        callers.replace(vec![caller("a", true), caller("c", false)]);
        assert!(holder("a").is_none());
        assert!(!callers.knows(&a));
        assert!(holder("c").is_some());
    }
}
