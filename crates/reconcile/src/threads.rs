//! Work shared between threads. What comes of it is the same with any number of them.

use std::hash::{BuildHasherDefault, Hasher};
use std::io;
use std::num::NonZeroUsize;
use std::panic::resume_unwind;
use std::thread::{Builder, ScopedJoinHandle, available_parallelism, scope};

/// Below this many records a second thread takes longer to begin than its part of the work does.
const WORTH_SHARING: usize = 10_000;

/// How many threads work, the calling one among them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Threads(NonZeroUsize);

impl Threads {
    /// The calling one alone.
    pub const ONE: Self = Self(NonZeroUsize::MIN);

    /// So many.
    pub const fn new(threads: NonZeroUsize) -> Self {
        Self(threads)
    }

    /// As many as the machine runs at once; one where so few records are not worth more.
    pub fn worth(records: usize) -> Self {
        match available_parallelism() {
            Ok(threads) if records >= WORTH_SHARING => Self(threads),
            _ => Self::ONE,
        }
    }

    /// Does both, at once where there are two threads.
    pub(crate) fn both<A: Send, B>(self, first: impl Fn() -> A + Sync, second: impl FnOnce() -> B) -> (A, B) {
        if self == Self::ONE {
            return (first(), second());
        }
        scope(|scope| {
            let other = Builder::new().spawn_scoped(scope, &first);
            let second = second();
            (ended(other, &first), second)
        })
    }

    /// Deals rows out to the threads, as many to each, and returns what comes of the parts, in their order.
    pub(crate) fn parts<T: Sync, R: Send>(self, rows: &[T], of: impl Fn(&[T]) -> R + Sync) -> Vec<R> {
        let mut parts = rows.chunks(rows.len().div_ceil(self.0.get()).max(1));
        let Some(own) = parts.next() else { return Vec::new() };
        let of = &of;
        scope(|scope| {
            let begin = |part| (part, Builder::new().spawn_scoped(scope, move || of(part)));
            let others: Vec<_> = parts.map(begin).collect();
            let own = of(own);
            [own]
                .into_iter()
                .chain(others.into_iter().map(|(part, other)| ended(other, || of(part))))
                .collect()
        })
    }
}

/// What a thread came to; where it panicked, so does this one. Where the system had no thread to give, the work
/// is done here.
fn ended<R>(thread: io::Result<ScopedJoinHandle<'_, R>>, here: impl FnOnce() -> R) -> R {
    match thread {
        Ok(thread) => thread.join().unwrap_or_else(|panic| resume_unwind(panic)),
        Err(_) => here(),
    }
}

/// Hashes addresses, which nobody outside can choose, faster than a hash that has to withstand choice.
#[derive(Debug, Default)]
pub(crate) struct Address(u64);

/// For maps and sets by address.
pub(crate) type ByAddress = BuildHasherDefault<Address>;

impl Hasher for Address {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u64(&mut self, word: u64) {
        // By the golden ratio of 2^64: near addresses fall far apart. The high bits are the mixed ones.
        self.0 = (self.0 ^ word).wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(32);
    }

    fn write_usize(&mut self, word: usize) {
        self.write_u64(u64::try_from(word).unwrap_or(u64::MAX));
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;
    use std::thread::current;

    use super::*;

    #[test]
    fn without_a_thread_the_work_is_done_here() {
        assert_eq!(ended(Err(io::ErrorKind::WouldBlock.into()), || 7), 7);
        let threads = Threads::new(NonZeroUsize::MIN.saturating_add(2));
        let rows: Vec<u32> = (0..10).collect();
        assert_eq!(threads.parts(&rows, |part| part.iter().sum::<u32>()), [6, 22, 17]);
        assert_eq!(threads.both(|| rows.len(), || 3), (10, 3));
    }

    #[test]
    fn few_records_are_worked_on_by_one_thread_and_many_by_all() {
        let all = available_parallelism().map_or(Threads::ONE, Threads::new);
        let few = WORTH_SHARING.saturating_sub(1);
        assert_eq!([few, WORTH_SHARING].map(Threads::worth), [Threads::ONE, all]);
        let two = Threads::new(NonZeroUsize::MIN.saturating_add(1));
        for (threads, is_one) in [(Threads::ONE, true), (two, false)] {
            let (first, second) = threads.both(|| current().id(), || current().id());
            assert_eq!((first == second, second), (is_one, current().id()));
        }
    }

    /// Maps take the low bits of a hash for the place, and the seven highest to tell apart what shares one.
    #[test]
    fn near_addresses_fall_far_apart() {
        let hash = |write: &dyn Fn(&mut Address)| {
            let mut hash = Address::default();
            write(&mut hash);
            hash.finish()
        };
        let near: Vec<usize> = (0..1_024).map(|one| 0x7f3a_1234_0000 + 48 * one).collect();
        let one_word = near.iter().map(|at| hash(&|to| to.write_usize(*at)));
        let two_words = near.iter().map(|at| {
            hash(&|to| {
                to.write_u64(0x7f3a_1234_0000);
                to.write_usize(*at);
            })
        });
        let bytes = near.iter().map(|at| hash(&|to| to.write(&at.to_ne_bytes())));
        for hashes in [one_word.collect::<Vec<u64>>(), two_words.collect(), bytes.collect()] {
            let apart = |of: fn(&u64) -> u64| hashes.iter().map(of).collect::<HashSet<u64>>().len();
            assert_eq!(apart(|hash| *hash), 1_024);
            assert!(apart(|hash| *hash % 1_024) > 500, "{}", apart(|hash| *hash % 1_024));
            assert_eq!(apart(|hash| *hash >> 57), 128);
        }
    }
}
