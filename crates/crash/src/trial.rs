//! Many states of one story, tried on all processors.

use std::collections::HashSet;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use crate::audit::{Back, come_back};
use crate::cuts::{Cut, Plan, careless, cuts};
use crate::op::{Image, Op, ops_of};
use crate::story::{Failed, Story, run};

/// How many states wait to be tried.
const WAITING: usize = 8;
/// One in this many is opened once more after it has been written to.
const THOROUGH: u64 = 8;

/// What has come out.
#[derive(Debug, Default)]
pub struct Outcome {
    /// States that were made.
    pub tried: u64,
    /// Those among them that no other was the same as; only these were opened.
    pub distinct: u64,
    /// Of these, left by a second power cut, while the store came back from the first.
    pub twice: u64,
    /// Of these, left by a power cut after the process had been killed and started again.
    pub killed: u64,
    /// How long it took.
    pub took: Duration,
    /// The first that does not hold.
    pub broken: Option<Broken>,
}

/// A state in which something is lost, or there by half.
#[derive(Debug, Clone)]
pub struct Broken {
    /// Where the power went, and what became of what was not flushed.
    pub at: String,
    /// What is wrong.
    pub said: String,
    /// The files as they were left.
    pub left: Image,
}

/// What is opened.
enum State {
    Cut(Cut),
    /// The process was killed after this many things were done, and that was told before.
    Killed(usize, u64),
}

struct Trial<'a> {
    story: &'a Story,
    plan: Plan,
    seed: u64,
    seen: Mutex<HashSet<u64>>,
    counts: [AtomicU64; 4],
    stop: AtomicBool,
    broken: Mutex<Option<Broken>>,
}

/// Tries them until one does not hold.
///
/// # Errors
/// Where threads cannot be had.
pub fn try_all(story: &Story, plan: Plan, seed: u64) -> Result<Outcome, Failed> {
    let begun = Instant::now();
    let trial = Trial {
        story,
        plan,
        seed,
        seen: Mutex::default(),
        counts: Default::default(),
        stop: AtomicBool::new(false),
        broken: Mutex::default(),
    };
    let workers = std::thread::available_parallelism()?.get();
    let (give, take) = sync_channel(WAITING);
    let take = Mutex::new(take);
    std::thread::scope(|scope| {
        let taking: Vec<_> = (0..workers).map(|_| scope.spawn(|| trial.work(&take))).collect();
        trial.make(&give);
        drop(give);
        taking.into_iter().try_for_each(|worker| worker.join().map_err(|_| "a worker has panicked".into()))
    })
    .map_err(|error: Failed| error)?;
    let [tried, distinct, twice, killed] = trial.counts.map(AtomicU64::into_inner);
    let broken = trial.broken.into_inner().unwrap_or_else(PoisonError::into_inner);
    Ok(Outcome { tried, distinct, twice, killed, took: begun.elapsed(), broken })
}

impl Trial<'_> {
    fn make(&self, give: &SyncSender<State>) {
        let ops = &self.story.ops;
        let give =
            |state| if give.send(state).is_ok() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) };
        // Kept apart from the cuts: a process is killed at any place, whatever is flushed.
        let mut told = 0;
        for (after, op) in (1..).zip(ops) {
            if let Op::Answered { sequence } = op {
                told = told.max(*sequence);
            }
            let chosen = mixed(self.seed, after) % 1_000 < u64::from(self.plan.killed);
            if chosen && (self.stopped() || give(State::Killed(after, told)).is_break()) {
                return;
            }
        }
        let _ = cuts(ops, 0..ops.len(), 0, self.plan, self.seed, |cut| match self.is_new(&cut) {
            _ if self.stopped() => ControlFlow::Break(()),
            true => give(State::Cut(cut)),
            false => ControlFlow::Continue(()),
        });
    }

    fn work(&self, take: &Mutex<Receiver<State>>) {
        loop {
            let state = take.lock().unwrap_or_else(PoisonError::into_inner).recv();
            match state {
                // What waits is taken out all the same, so that whoever makes it is not left waiting.
                Ok(_) if self.stopped() => {}
                Ok(State::Cut(cut)) => self.cut(&cut),
                Ok(State::Killed(after, told)) => self.kill(after, told),
                Err(_) => return,
            }
        }
    }

    fn cut(&self, cut: &Cut) {
        let lot = mixed(self.seed, cut.after) ^ cut.digest;
        let twice = lot % 1_000 < u64::from(self.plan.twice);
        let start = ops_of(&cut.left);
        let begun = start.len();
        let thorough = lot.is_multiple_of(THOROUGH);
        match run(come_back(start, twice, self.story, cut.told, thorough)) {
            Ok(back) if twice => self.once_more(&back, begun, back.found, lot, 2, cut),
            Ok(_) => {}
            Err(error) => self.report(cut, "", &error),
        }
    }

    fn kill(&self, after: usize, told: u64) {
        let start: Vec<_> = self.story.ops.iter().take(after).cloned().collect();
        let nothing = Cut { after, fates: "killed".to_owned(), left: Image::new(), told, digest: 0 };
        match run(come_back(start, true, self.story, told, false)) {
            Ok(back) => self.once_more(&back, after, told, mixed(self.seed, after), 3, &nothing),
            Err(error) => self.report(&nothing, "", &error),
        }
    }

    /// The power goes while the store comes back, is read and written to.
    fn once_more(&self, back: &Back, begun: usize, told: u64, lot: u64, count: usize, before: &Cut) {
        let left_out = self.plan.careless.then(|| careless(&back.story.ops, begun));
        let ops = left_out.as_ref().unwrap_or(&back.story.ops);
        let plan = Plan { writes: 20, torn: 1, random: 1, missing: 2, twice: 0, killed: 0, careless: false };
        let _ = cuts(ops, begun..ops.len(), told, plan, lot, |cut| {
            if self.stopped() {
                return ControlFlow::Break(());
            }
            if self.is_new(&cut) {
                self.count(count);
                let outcome = run(come_back(ops_of(&cut.left), false, &back.story, cut.told, false));
                if let Err(error) = outcome {
                    let first = format!("after {}, {}; then ", before.after, before.fates);
                    self.report(&cut, &first, &error);
                }
            }
            ControlFlow::Continue(())
        });
    }

    fn report(&self, cut: &Cut, before: &str, error: &Failed) {
        self.stop.store(true, Ordering::Relaxed);
        let mut broken = self.broken.lock().unwrap_or_else(PoisonError::into_inner);
        let at = format!("{}: {before}after {}, {}", self.story.name, cut.after, cut.fates);
        broken.get_or_insert(Broken { at, said: error.to_string(), left: cut.left.clone() });
    }

    fn is_new(&self, cut: &Cut) -> bool {
        self.count(0);
        let new = self.seen.lock().unwrap_or_else(PoisonError::into_inner).insert(cut.digest);
        if new {
            self.count(1);
        }
        new
    }

    fn count(&self, which: usize) {
        self.counts.get(which).map(|count| count.fetch_add(1, Ordering::Relaxed));
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// A number that follows from both, and from neither alone.
fn mixed(seed: u64, place: usize) -> u64 {
    use std::hash::{DefaultHasher, Hash as _, Hasher as _};
    let mut hasher = DefaultHasher::new();
    (seed, place).hash(&mut hasher);
    hasher.finish()
}
