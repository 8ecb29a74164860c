//! Choices that a world is drawn from, and how they shrink.
//!
//! A tape is a seed and, of every choice, whether it has been silenced. A choice that is silenced
//! is zero, and zero is always the plainest choice: the smallest number, the first of a list, no.
//! Every choice has an address of its own (what is drawn, which one of these, which choice in it),
//! so silencing one leaves the others as they were. To shrink is to silence ever smaller stretches
//! and to keep what still fails.

use std::fmt;

use proptest::prelude::Rng;
use proptest::strategy::{NewTree, Strategy, ValueTree};
use proptest::test_runner::TestRunner;

const KINDS: usize = 32;
const ITEMS: usize = 16;
const CHOICES: usize = 32;
const ADDRESSES: usize = KINDS * ITEMS * CHOICES;

#[derive(Clone)]
pub struct Tape {
    seed: u64,
    /// Empty as long as nothing is silenced.
    silenced: Vec<bool>,
}

/// The choices of one thing, one after the other.
pub struct Draw<'t> {
    tape: &'t Tape,
    address: usize,
    left: usize,
}

impl Tape {
    /// The plain choice everywhere.
    pub fn plain() -> Self {
        Self { seed: 0, silenced: vec![true; ADDRESSES] }
    }

    pub fn draw(&self, kind: usize, item: usize) -> Draw<'_> {
        let address = ((kind % KINDS) * ITEMS + item % ITEMS) * CHOICES;
        Draw { tape: self, address, left: CHOICES }
    }

    fn choice(&self, address: usize) -> u64 {
        if self.silenced.get(address) == Some(&true) {
            return 0;
        }
        // The output function of SplitMix64 over seed and address.
        let mut z = self.seed.wrapping_add((address as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) >> 32
    }
}

impl Draw<'_> {
    fn next(&mut self) -> u64 {
        if self.left == 0 {
            return 0;
        }
        self.left -= 1;
        self.address += 1;
        self.tape.choice(self.address - 1)
    }

    /// 0 to `n` exclusive; zero where there is nothing to choose.
    pub fn below(&mut self, n: u64) -> u64 {
        let choice = u128::from(self.next());
        u64::try_from((choice * u128::from(n)) >> 32).unwrap()
    }

    /// `least` to `most`, both taken in.
    pub fn within(&mut self, least: i64, most: i64) -> i64 {
        least + i64::try_from(self.below(u64::try_from(most - least).unwrap() + 1)).unwrap()
    }

    /// Yes this many times in a hundred; no is the plain choice.
    pub fn chance(&mut self, percent: u64) -> bool {
        self.below(100) >= 100 - percent
    }

    pub fn pick<'l, T>(&mut self, list: &'l [T]) -> &'l T {
        let index = self.below(list.len() as u64);
        &list[usize::try_from(index).unwrap()]
    }

    /// Several of a list, in its order, each this many times in a hundred.
    pub fn some_of<T: Clone>(&mut self, list: &[T], percent: u64) -> Vec<T> {
        list.iter().filter(|_| self.chance(percent)).cloned().collect()
    }
}

/// Draws tapes, shown on failure by `show`.
pub struct Tapes<V> {
    pub of: fn(Tape) -> V,
}

impl<V> fmt::Debug for Tapes<V> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Tapes")
    }
}

impl<V: fmt::Debug> Strategy for Tapes<V> {
    type Tree = TapeTree<V>;
    type Value = V;

    fn new_tree(&self, runner: &mut TestRunner) -> NewTree<Self> {
        let tape = Tape { seed: runner.rng().next_u64(), silenced: Vec::new() };
        Ok(TapeTree { tape, of: self.of, width: ADDRESSES / 2, at: 0, undo: None })
    }
}

pub struct TapeTree<V> {
    tape: Tape,
    of: fn(Tape) -> V,
    /// How long the stretches are that are silenced in turn, and where the next begins.
    width: usize,
    at: usize,
    undo: Option<(usize, Vec<bool>)>,
}

impl<V: fmt::Debug> ValueTree for TapeTree<V> {
    type Value = V;

    fn current(&self) -> V {
        (self.of)(self.tape.clone())
    }

    fn simplify(&mut self) -> bool {
        self.tape.silenced.resize(ADDRESSES, false);
        while self.width > 0 {
            if self.at >= ADDRESSES {
                self.width /= 2;
                self.at = 0;
                continue;
            }
            let from = self.at;
            self.at += self.width;
            let stretch = &mut self.tape.silenced[from..from + self.width];
            if stretch.contains(&false) {
                self.undo = Some((from, stretch.to_vec()));
                stretch.fill(true);
                return true;
            }
        }
        false
    }

    fn complicate(&mut self) -> bool {
        if let Some((from, before)) = self.undo.take() {
            self.tape.silenced[from..from + before.len()].copy_from_slice(&before);
        }
        self.simplify()
    }
}
