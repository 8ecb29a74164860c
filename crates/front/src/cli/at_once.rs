//! The same work on many things, of which every processor has a share.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{self, Builder};

use super::outcome::Failure;
use super::text::Progress;

/// Works on each of these, as many at once as there are processors, and says how many came of all together. Who looks on
/// sees how many `things` are done. What fails ends it; what is begun then is still done.
pub(super) fn at_once<T: Sync>(
    all: &[T],
    things: &'static str,
    work: impl Fn(&T) -> Result<usize, Failure> + Sync,
) -> Result<usize, Failure> {
    let progress = Progress::new(all.len().try_into().unwrap_or(u64::MAX), things);
    let begun = AtomicUsize::new(0);
    let share = || -> Result<usize, Failure> {
        let mut made = 0_usize;
        while let Some(one) = all.get(begun.fetch_add(1, Ordering::Relaxed)) {
            let more = work(one).inspect_err(|_| begun.store(all.len(), Ordering::Relaxed))?;
            made = made.saturating_add(more);
            progress.one_more();
        }
        Ok(made)
    };
    let processors = thread::available_parallelism().map_or(1, NonZero::get).min(all.len());
    let made = thread::scope(|scope| {
        // A thread that the system does not give leaves its share to the others.
        let begin = |_| Builder::new().spawn_scoped(scope, share).ok();
        let others: Vec<_> = (1..processors).filter_map(begin).collect();
        let own = share();
        let ended = others.into_iter().map(|other| other.join().unwrap_or_else(|panic| resume_unwind(panic)));
        ended.fold(own, |sum, more| Ok(sum?.saturating_add(more?)))
    });
    progress.end();
    made
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;

    use super::*;

    #[test]
    fn each_is_worked_on_once_and_what_fails_ends_it() {
        let all: Vec<usize> = (0..100).collect();
        let done = Mutex::new(Vec::new());
        let made = at_once(&all, "things", |one| {
            done.lock().map(|mut done| done.push(*one)).map_err(|error| Failure::File(error.to_string()))?;
            Ok(2)
        });
        let mut done = done.into_inner().unwrap_or_default();
        done.sort_unstable();
        assert_eq!((made.ok(), done), (Some(200), all.clone()));
        let begun = AtomicUsize::new(0);
        let failed = at_once(&all, "things", |_| {
            begun.fetch_add(1, Ordering::Relaxed);
            Err(Failure::File(String::from("no room")))
        });
        assert!(matches!(failed, Err(Failure::File(why)) if why == "no room"));
        let processors = thread::available_parallelism().map_or(1, NonZero::get);
        assert!(begun.into_inner() <= processors, "nothing is begun after it");
        assert_eq!(at_once(&[] as &[usize], "things", |_| Ok(1)).ok(), Some(0));
    }
}
