//! Random draws, one after the other. Nought is always the plainest choice, so a case shrinks towards
//! plain worlds, and draws that have run out are noughts.

pub struct Draws<'a>(std::slice::Iter<'a, u32>);

impl<'a> Draws<'a> {
    pub fn new(draws: &'a [u32]) -> Self {
        Self(draws.iter())
    }

    /// From 0 up to `end`, without it.
    pub fn below(&mut self, end: u32) -> u32 {
        self.0.next().copied().unwrap_or(0) % end
    }

    pub fn between(&mut self, first: u32, last: u32) -> u32 {
        first + self.below(last - first + 1)
    }

    /// True in this many of a hundred cases.
    pub fn chance(&mut self, percent: u32) -> bool {
        self.below(100) >= 100 - percent
    }

    pub fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len() as u32) as usize]
    }

    /// Something in this many of a hundred cases.
    pub fn maybe<T>(&mut self, percent: u32, make: impl FnOnce(&mut Self) -> T) -> Option<T> {
        self.chance(percent).then(|| make(self))
    }

    /// A decimal below `end`, with at most this many places.
    pub fn decimal(&mut self, end: u32, places: u32) -> String {
        let major = self.below(end);
        match self.below(places + 1) {
            0 => major.to_string(),
            places => format!("{major}.{:0width$}", self.below(10u32.pow(places)), width = places as usize),
        }
    }
}

/// One of a numbered kind: `P1`, `P2`, ...
pub fn nth(kind: &str, index: u32) -> String {
    format!("{kind}{}", index + 1)
}
