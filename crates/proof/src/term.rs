//! Numbers that are unknown.

use evenfare_engine::money::Overflow;
use evenfare_engine::money::kernel::{Key, Number};
use z3::ast::{Ast, Bool, Int};

use crate::scene::{self, Division, Rank, assume};

/// A number that may stand for any.
#[derive(Debug, Clone)]
pub struct Term(Int);

impl Term {
    /// Any number at all.
    pub fn any(name: &str) -> Self {
        Self(Int::new_const(name))
    }

    /// Any number from one to another.
    pub fn between(name: &str, least: i128, most: i128) -> Self {
        let term = Self::any(name);
        assume(&(term.0.ge(Int::from_i128(least)) & term.0.le(Int::from_i128(most))));
        term
    }

    /// The solver's own form.
    pub fn int(&self) -> &Int {
        &self.0
    }

    /// The result of a step.
    fn result(int: Int) -> Self {
        Self(int.simplify())
    }
}

impl Number for Term {
    type Truth = Bool;

    fn of(number: i64) -> Self {
        Self(Int::from_i64(number))
    }

    fn plus(&self, other: &Self) -> Result<Self, Overflow> {
        Ok(Self::result(&self.0 + &other.0))
    }

    fn minus(&self, other: &Self) -> Result<Self, Overflow> {
        Ok(Self::result(&self.0 - &other.0))
    }

    fn times(&self, other: &Self) -> Result<Self, Overflow> {
        Ok(Self::result(&self.0 * &other.0))
    }

    fn negated(&self) -> Result<Self, Overflow> {
        Ok(Self::result(-&self.0))
    }

    fn div_rem_floor(&self, divisor: &Self) -> Result<(Self, Self), Overflow> {
        let (dividend, divisor) = (&self.0, &divisor.0);
        let same = |met: &Division| met.dividend == *dividend && met.divisor == *divisor;
        if let Some(met) = scene::divisions().into_iter().find(same) {
            return Ok((Self(met.quotient), Self(met.remainder)));
        }
        let (quotient, remainder) = (Int::fresh_const("quotient"), Int::fresh_const("remainder"));
        let none = Int::from_i64(0);
        let divides = dividend.eq(&quotient * divisor + &remainder);
        let promise = divisor.gt(&none).implies(divides & remainder.ge(&none) & remainder.lt(divisor));
        scene::meet_division(Division {
            dividend: dividend.clone(),
            divisor: divisor.clone(),
            quotient: quotient.clone(),
            remainder: remainder.clone(),
            promise,
        });
        Ok((Self(quotient), Self(remainder)))
    }

    fn less(&self, other: &Self) -> Bool {
        self.0.lt(&other.0)
    }

    fn both(one: Bool, other: Bool) -> Bool {
        one & other
    }

    fn not(truth: Bool) -> Bool {
        truth.not()
    }

    fn choose(if_so: &Bool, then: Self, otherwise: Self) -> Self {
        // What is certain already needs no choice, and shorter terms are easier to reason about.
        if scene::never(&if_so.not()) {
            then
        } else if scene::never(if_so) {
            otherwise
        } else {
            Self(if_so.ite(&then.0, &otherwise.0))
        }
    }

    fn at_rank(keys: &[Key<Self>], rank: &Self, before_all: Key<Self>) -> Result<Key<Self>, Overflow> {
        let (bare, before_all) = (keys.iter().map(bare).collect::<Vec<_>>(), bare(&before_all));
        let same = |met: &Rank| met.keys == bare && met.rank == rank.0 && met.before_all == before_all;
        if let Some(met) = scene::ranks().into_iter().find(same) {
            return Ok(dressed(met.found));
        }
        let found =
            Key { remainder: Int::fresh_const("ranked_remainder"), place: Int::fresh_const("ranked_place") };
        let is = |key: &Key<Int>| found.remainder.eq(&key.remainder) & found.place.eq(&key.place);
        let one_of_them = bare.iter().fold(Bool::from_bool(false), |any, key| any | is(key));
        let last = dressed(found.clone());
        let reached: Vec<Bool> = keys.iter().map(|key| key.not_after(&last)).collect();
        let (none, one) = (Int::from_i64(0), Int::from_i64(1));
        let counted = reached.iter().fold(none.clone(), |sum, reached| sum + reached.ite(&one, &none));
        let within = rank.0.gt(&none) & rank.0.le(Int::from_u64(keys.len() as u64));
        let promise =
            rank.0.eq(&none).implies(is(&before_all)) & within.implies(one_of_them & counted.eq(&rank.0));
        scene::meet_rank(Rank { keys: bare, rank: rank.0.clone(), before_all, found, reached, promise });
        Ok(last)
    }
}

/// A key in the solver's own form.
fn bare(key: &Key<Term>) -> Key<Int> {
    Key { remainder: key.remainder.0.clone(), place: key.place.0.clone() }
}

fn dressed(key: Key<Int>) -> Key<Term> {
    Key { remainder: Term(key.remainder), place: Term(key.place) }
}
