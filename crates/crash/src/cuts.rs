//! Which states are tried of all that a power cut may leave.

use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::ops::{ControlFlow, Range};

use rand::rngs::SmallRng;
use rand::seq::index::sample;
use rand::{Rng as _, RngCore as _, SeedableRng as _};

use crate::op::{Fate, File, Image, Medium, Op, Reached, Rest, Tear, file_of};

/// How much of a story is tried.
#[derive(Debug, Clone, Copy)]
pub struct Plan {
    /// Of a thousand writes between two flushes, after this many the power goes; after anything else it always does.
    pub writes: u32,
    /// How many ways in which the last write is torn.
    pub torn: usize,
    /// How many ways of any fate for each thing not flushed.
    pub random: usize,
    /// Right before a flush, this many ways of one thing missing; each, where there are no more.
    pub missing: usize,
    /// Of a thousand states, at this many the power goes once more while the store comes back.
    pub twice: u32,
    /// Of a thousand places, at this many the process alone is killed, started again, and then the power goes.
    pub killed: u32,
    /// As if the store did not flush what it comes back to before it answers for it.
    pub careless: bool,
}

/// What is left when the power goes at one place.
pub struct Cut {
    /// After this many things were done.
    pub after: usize,
    /// What became of those that were not flushed, in a few words.
    pub fates: String,
    /// The files.
    pub left: Image,
    /// Up to this event somebody was told that it is kept.
    pub told: u64,
    /// Two states are the same where this is.
    pub digest: u64,
}

/// The ways in which things end, at one place.
struct Place<'a> {
    medium: &'a Medium,
    after: usize,
    told: u64,
}

/// Cuts the power at places of a story after the first things that were done, `told` having been told before.
pub fn cuts(
    ops: &[Op],
    places: Range<usize>,
    told: u64,
    plan: Plan,
    seed: u64,
    mut try_it: impl FnMut(Cut) -> ControlFlow<()>,
) -> ControlFlow<()> {
    let mut random = SmallRng::seed_from_u64(seed);
    let (mut medium, mut told) = (Medium::default(), told);
    for (after, op) in (1..).zip(ops).take(places.end) {
        medium.take(op);
        if let Op::Answered { sequence } = op {
            told = told.max(*sequence);
        }
        let flushes_next = matches!(ops.get(after), Some(Op::Flushed { .. } | Op::FolderFlushed));
        let is_write = matches!(op, Op::Wrote { .. }) && !flushes_next;
        if after < places.start || is_write && !random.random_ratio(plan.writes.min(1_000), 1_000) {
            continue;
        }
        let place = Place { medium: &medium, after, told };
        let open = medium.open().len();
        place.end("nothing of it", &vec![Fate::Lost; open], &mut try_it)?;
        place.end("all of it", &vec![Fate::Whole; open], &mut try_it)?;
        if let (Op::Wrote { bytes, .. }, true) = (op, open > 0) {
            for _ in 0..plan.torn {
                let mut fates = vec![Fate::Whole; open];
                let tear = any_tear(&mut random, bytes.len());
                fates.last_mut().into_iter().for_each(|last| *last = Fate::Torn(tear));
                place.end(&format!("all, the last {tear:?}"), &fates, &mut try_it)?;
            }
        }
        for _ in 0..if open > 1 { plan.random } else { 0 } {
            let fates = any_fates(&mut random, medium.open());
            place.end("any", &fates, &mut try_it)?;
        }
        if flushes_next {
            for missing in sample(&mut random, open, plan.missing.min(open)) {
                let fates: Vec<_> =
                    (0..open).map(|one| if one == missing { Fate::Lost } else { Fate::Whole }).collect();
                place.end(&format!("all but the {missing}th of {open}"), &fates, &mut try_it)?;
            }
        }
    }
    ControlFlow::Continue(())
}

impl Place<'_> {
    fn end(
        &self,
        said: &str,
        fates: &[Fate],
        try_it: &mut impl FnMut(Cut) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        let (left, fates) = (self.medium.left(fates), said.to_owned());
        let mut hasher = DefaultHasher::new();
        (&left, self.told).hash(&mut hasher);
        try_it(Cut { after: self.after, fates, left, told: self.told, digest: hasher.finish() })
    }
}

/// Every file fares in a way of its own, and so do the names.
fn any_fates(random: &mut SmallRng, open: &[Op]) -> Vec<Fate> {
    let mut ways: Vec<(Option<File>, u32)> = Vec::new();
    let mut fate = |op: &Op| {
        let file = file_of(op);
        let way = ways.iter().find(|(of, _)| *of == file).map(|(_, way)| *way).unwrap_or_else(|| {
            let way = [0, 1, 4, 7, 8].get(random.random_range(0..5)).copied().unwrap_or(4);
            ways.push((file, way));
            way
        });
        match op {
            _ if random.random_ratio(way, 8) => Fate::Whole,
            Op::Wrote { bytes, .. } if random.random_ratio(1, 3) => Fate::Torn(any_tear(random, bytes.len())),
            _ => Fate::Lost,
        }
    };
    open.iter().map(&mut fate).collect()
}

fn any_tear(random: &mut SmallRng, bytes: usize) -> Tear {
    let sector = if random.random() { 512 } else { 4_096 };
    // A write that is not aligned lies in one sector more.
    let most = bytes.div_ceil(sector).saturating_add(1);
    let reached = match random.random_range(0..4) {
        0 => Reached::AllBut(random.random_range(0..=most)),
        1 => Reached::Bits(random.next_u64()),
        _ => Reached::First(random.random_range(0..=most)),
    };
    let rest = match random.random_range(0..3) {
        0 => Rest::Old,
        1 => Rest::Zeros,
        _ => Rest::Garbage,
    };
    Tear { sector, reached, rest }
}

/// Without the flushes from that place to the next answer.
pub fn careless(ops: &[Op], from: usize) -> Vec<Op> {
    let answer = ops.iter().skip(from).position(|op| matches!(op, Op::Answered { .. }));
    let back = from..from.saturating_add(answer.unwrap_or(0));
    let is_left_out =
        |place, op: &Op| back.contains(&place) && matches!(op, Op::Flushed { .. } | Op::FolderFlushed);
    ops.iter().enumerate().filter(|(place, op)| !is_left_out(*place, op)).map(|(_, op)| op.clone()).collect()
}

/// A disk or a store that does not keep its word, once something was answered: what they do is the same, what is certain
/// is less.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lie {
    /// Nothing is flushed, as with `synchronous=OFF`.
    NoFlushes,
    /// Files whose name ends so are not flushed.
    NoFlushesOf(&'static str),
    /// Names are not flushed.
    NoNames,
    /// It is answered before the flush that the answer should have waited for.
    AnswersEarly,
}

impl Lie {
    /// What would have been written down.
    pub fn told(self, ops: &[Op]) -> Vec<Op> {
        let mut files: Vec<File> = Vec::new();
        let mut told: Vec<Op> = Vec::new();
        let mut lies = false;
        for op in ops {
            lies |= matches!(op, Op::Answered { .. });
            let is_lost = match (self, op) {
                (Self::NoFlushes, Op::Flushed { .. } | Op::FolderFlushed)
                | (Self::NoNames, Op::FolderFlushed) => lies,
                (Self::NoFlushesOf(_), Op::Flushed { file }) => lies && files.contains(file),
                (Self::NoFlushesOf(ending), Op::Created { name, file }) if name.ends_with(ending) => {
                    files.push(*file);
                    false
                }
                (Self::AnswersEarly, Op::Answered { .. }) => {
                    let flush = told.iter().rposition(|op| matches!(op, Op::Flushed { .. })).unwrap_or(0);
                    told.insert(flush, op.clone());
                    true
                }
                _ => false,
            };
            if !is_lost {
                told.push(op.clone());
            }
        }
        told
    }
}
