//! The kernel run on bounds: whatever it computes of numbers within them stays in 128 bits.

use evenfare_engine::money::Overflow;
use evenfare_engine::money::kernel::{Key, Number};

/// All numbers from one to another.
///
/// A step on intervals gives one that holds every result of that step on their numbers. Where its ends
/// fit 128 bits, so does each of those; a step whose ends do not is refused, like the engine's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interval {
    least: i128,
    most: i128,
}

/// Whether something holds of numbers of which only bounds are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Perhaps {
    /// For all of them.
    Always,
    /// For none.
    Never,
    /// For some.
    Perhaps,
}

impl Interval {
    /// All numbers from one to another.
    pub fn new(least: i128, most: i128) -> Self {
        assert!(least <= most, "an interval from {least} to {most}");
        Self { least, most }
    }

    /// Its ends.
    pub fn ends(self) -> (i128, i128) {
        (self.least, self.most)
    }

    fn around(corners: [Result<i128, Overflow>; 4]) -> Result<Self, Overflow> {
        let corners = corners.into_iter().collect::<Result<Vec<_>, _>>()?;
        let ends = corners.iter().min().zip(corners.iter().max());
        let (least, most) = ends.ok_or(Overflow)?;
        Ok(Self { least: *least, most: *most })
    }

    fn hull(self, other: Self) -> Self {
        Self { least: self.least.min(other.least), most: self.most.max(other.most) }
    }
}

impl Number for Interval {
    type Truth = Perhaps;

    fn of(number: i64) -> Self {
        Self { least: number.into(), most: number.into() }
    }

    fn plus(&self, other: &Self) -> Result<Self, Overflow> {
        Ok(Self { least: self.least.plus(&other.least)?, most: self.most.plus(&other.most)? })
    }

    fn minus(&self, other: &Self) -> Result<Self, Overflow> {
        Ok(Self { least: self.least.minus(&other.most)?, most: self.most.minus(&other.least)? })
    }

    fn times(&self, other: &Self) -> Result<Self, Overflow> {
        let corner = |a: i128, b: i128| a.times(&b);
        Self::around([
            corner(self.least, other.least),
            corner(self.least, other.most),
            corner(self.most, other.least),
            corner(self.most, other.most),
        ])
    }

    fn negated(&self) -> Result<Self, Overflow> {
        Ok(Self { least: self.most.negated()?, most: self.least.negated()? })
    }

    /// Of the positive divisors among them: that the others never come is proved by the solver.
    fn div_rem_floor(&self, divisor: &Self) -> Result<(Self, Self), Overflow> {
        let (least, most) = (divisor.least.max(1), divisor.most);
        let corner = |n: i128, d: i128| n.div_rem_floor(&d).map(|(quotient, _)| quotient);
        let quotient = Self::around([
            corner(self.least, least),
            corner(self.least, most),
            corner(self.most, least),
            corner(self.most, most),
        ])?;
        Ok((quotient, Self { least: 0, most: most.minus(&1)? }))
    }

    fn less(&self, other: &Self) -> Perhaps {
        if self.most < other.least {
            Perhaps::Always
        } else if self.least >= other.most {
            Perhaps::Never
        } else {
            Perhaps::Perhaps
        }
    }

    fn both(one: Perhaps, other: Perhaps) -> Perhaps {
        match (one, other) {
            (Perhaps::Always, Perhaps::Always) => Perhaps::Always,
            (Perhaps::Never, _) | (_, Perhaps::Never) => Perhaps::Never,
            _ => Perhaps::Perhaps,
        }
    }

    fn not(truth: Perhaps) -> Perhaps {
        match truth {
            Perhaps::Always => Perhaps::Never,
            Perhaps::Never => Perhaps::Always,
            Perhaps::Perhaps => Perhaps::Perhaps,
        }
    }

    fn choose(if_so: &Perhaps, then: Self, otherwise: Self) -> Self {
        match if_so {
            Perhaps::Always => then,
            Perhaps::Never => otherwise,
            Perhaps::Perhaps => then.hull(otherwise),
        }
    }

    fn at_rank(keys: &[Key<Self>], _: &Self, before_all: Key<Self>) -> Result<Key<Self>, Overflow> {
        // One of them, whichever.
        Ok(keys.iter().fold(before_all, |hull, key| Key {
            remainder: hull.remainder.hull(key.remainder),
            place: hull.place.hull(key.place),
        }))
    }
}
