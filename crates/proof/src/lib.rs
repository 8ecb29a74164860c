//! The engine's money kernel, run on the terms of a solver instead of integers.
//!
//! [`evenfare_engine::money::kernel`] is written over any [`Number`]. Here a number is a [`Term`]: running the kernel
//! on unknowns writes down what it computes, for all values at once, and a solver is asked whether
//! anything can contradict what is claimed of it. `tests/` has the theorems, and wrong kernels beside
//! them that must be refuted.
//!
//! Two steps of the kernel have no formula, and are known by what the standard library promises of them:
//! division (`dividend = quotient x divisor + remainder`, the remainder from nothing to below a positive
//! divisor) and the element at a rank (one of the keys, and so many are not after it).

mod interval;

use std::cell::RefCell;
use std::time::Instant;

use evenfare_engine::money::Overflow;
use evenfare_engine::money::kernel::{Key, Number};
use z3::ast::{Ast, Bool, Int};
use z3::{Params, SatResult, Solver};

pub use interval::{Interval, Perhaps};

/// How much work one question may make, in the solver's own steps: the same on a machine that is busy.
const PATIENCE: u32 = 400_000_000;
/// The same, of a question whose answer only makes terms shorter.
const GLANCE: u32 = 300_000;

/// What is known so far, in this thread.
struct Scene {
    facts: Solver,
    /// The same, one by one.
    known: Vec<Bool>,
    /// What is known of divisions and ranks, in the order in which they were met.
    promised: Vec<Bool>,
    /// Divisions met so far: dividend, divisor, quotient, remainder.
    divisions: Vec<(Int, Int, Int, Int)>,
    /// Ranks asked for so far: keys, rank, and the key found.
    ranks: Vec<(Vec<Key<Term>>, Int, Key<Term>)>,
}

impl Scene {
    fn new() -> Self {
        Self {
            facts: Solver::new(),
            known: Vec::new(),
            promised: Vec::new(),
            divisions: Vec::new(),
            ranks: Vec::new(),
        }
    }

    fn learn(&mut self, fact: &Bool) {
        self.facts.assert(fact);
        self.known.push(fact.clone());
    }

    fn promise(&mut self, fact: &Bool) {
        self.learn(fact);
        self.promised.push(fact.clone());
    }

    fn ask(&self, question: &Bool, patience: u32) -> SatResult {
        let mut params = Params::new();
        params.set_u32("rlimit", patience);
        self.facts.set_params(&params);
        self.facts.push();
        self.facts.assert(question);
        let answer = self.facts.check();
        self.facts.pop(1);
        answer
    }
}

thread_local! {
    static SCENE: RefCell<Scene> = RefCell::new(Scene::new());
}

fn with<T>(act: impl FnOnce(&mut Scene) -> T) -> T {
    SCENE.with_borrow_mut(act)
}

/// Forgets all that was known.
pub fn begin() {
    with(|scene| *scene = Scene::new());
}

/// Does something where nothing is known, and goes on as before: for lemmas about unknowns of their own.
pub fn apart<T>(act: impl FnOnce() -> T) -> T {
    let before = with(|scene| std::mem::replace(scene, Scene::new()));
    let done = act();
    with(|scene| *scene = before);
    done
}

/// Takes that for a fact from here on.
pub fn assume(fact: &Bool) {
    with(|scene| scene.learn(fact));
}

/// What is known of the divisions and ranks met so far, in their order.
pub fn promises() -> Vec<Bool> {
    with(|scene| scene.promised.clone())
}

/// Proves that it follows from the facts, and takes it for one.
///
/// # Panics
/// Where something contradicts it, which is then printed, or the solver cannot tell.
#[track_caller]
pub fn prove(claim: &str, follows: &Bool) {
    let begun = Instant::now();
    let answer = with(|scene| scene.ask(&follows.not(), PATIENCE));
    match answer {
        SatResult::Unsat => println!("{:>8.3} s  {claim}", begun.elapsed().as_secs_f64()),
        SatResult::Sat => panic!("{claim}: there is a counterexample\n{}", counterexample(&follows.not())),
        SatResult::Unknown => panic!("{claim}: the solver cannot tell"),
    }
    assume(follows);
}

/// Proves that it follows from some of the facts, without a look at the others: a solver that is told
/// less has less to try.
///
/// # Panics
/// As [`prove`] does, and where one of them is no fact.
#[track_caller]
pub fn prove_by<'f>(claim: &str, facts: impl IntoIterator<Item = &'f Bool>, follows: &Bool) {
    let facts: Vec<&Bool> = facts.into_iter().collect();
    for fact in &facts {
        let known = with(|scene| scene.known.iter().any(|known| known.ast_eq(*fact)));
        assert!(known, "{claim}: this is no fact: {fact}");
    }
    apart(|| {
        facts.into_iter().for_each(assume);
        prove(claim, follows);
    });
    assume(follows);
}

/// Shows that the facts allow something else, and prints it.
///
/// # Panics
/// Where it follows from the facts, or the solver cannot tell.
#[track_caller]
pub fn refute(claim: &str, follows: &Bool) {
    let answer = with(|scene| scene.ask(&follows.not(), PATIENCE));
    assert_eq!(answer, SatResult::Sat, "{claim}: there is no counterexample");
    let told = counterexample(&follows.not());
    let told: Vec<&str> = told.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    println!(" refuted    {claim}: {}", told.join(", "));
}

/// Can all the facts hold at once? What follows from a contradiction proves nothing.
///
/// # Panics
/// Where they cannot, or the solver cannot tell.
#[track_caller]
pub fn facts_can_hold() {
    let answer = with(|scene| scene.ask(&Bool::from_bool(true), PATIENCE));
    assert_eq!(answer, SatResult::Sat, "nothing satisfies all the facts");
}

fn counterexample(question: &Bool) -> String {
    with(|scene| {
        scene.facts.push();
        scene.facts.assert(question);
        let found = scene.facts.check();
        let model = scene.facts.get_model().filter(|_| found == SatResult::Sat);
        scene.facts.pop(1);
        model.map(|model| model.to_string()).unwrap_or_default()
    })
}

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
        with(|scene| {
            let positive = divisor.0.gt(Int::from_i64(0));
            let met = scene.divisions.iter().find(|(n, d, ..)| same(n, &self.0) && same(d, &divisor.0));
            if let Some((_, _, quotient, remainder)) = met {
                return Ok((Self(quotient.clone()), Self(remainder.clone())));
            }
            let (quotient, remainder) = (Int::fresh_const("quotient"), Int::fresh_const("remainder"));
            let divides = self.0.eq(&(&quotient * &divisor.0 + &remainder))
                & remainder.ge(Int::from_i64(0))
                & remainder.lt(&divisor.0);
            scene.promise(&positive.implies(&divides));
            scene.divisions.push((self.0.clone(), divisor.0.clone(), quotient.clone(), remainder.clone()));
            Ok((Self(quotient), Self(remainder)))
        })
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
        let never = |question: &Bool| with(|scene| scene.ask(question, GLANCE)) == SatResult::Unsat;
        if never(&if_so.not()) {
            then
        } else if never(if_so) {
            otherwise
        } else {
            Self(if_so.ite(&then.0, &otherwise.0))
        }
    }

    fn at_rank(keys: &[Key<Self>], rank: &Self, before_all: Key<Self>) -> Result<Key<Self>, Overflow> {
        let met = with(|scene| {
            let met = scene.ranks.iter().find(|(among, of, _)| same(of, &rank.0) && same_keys(among, keys));
            met.map(|(_, _, found)| found.clone())
        });
        if let Some(found) = met {
            return Ok(found);
        }
        let found = Key {
            remainder: Self(Int::fresh_const("ranked_remainder")),
            place: Self(Int::fresh_const("ranked_place")),
        };
        let is = |key: &Key<Self>| found.remainder.0.eq(&key.remainder.0) & found.place.0.eq(&key.place.0);
        let none = Int::from_i64(0);
        let one = Int::from_i64(1);
        let counted = keys.iter().map(|key| key.not_after(&found).ite(&one, &none));
        let counted = counted.fold(none.clone(), |sum, each| sum + each);
        let one_of_them = keys.iter().map(is).fold(Bool::from_bool(false), |any, each| any | each);
        let all = Int::from_u64(keys.len() as u64);
        let first = rank.0.eq(&none);
        let within = rank.0.gt(&none) & rank.0.le(&all);
        let promise = first.implies(is(&before_all)) & within.implies(&(one_of_them & counted.eq(&rank.0)));
        with(|scene| {
            scene.promise(&promise);
            scene.ranks.push((keys.to_vec(), rank.0.clone(), found.clone()));
        });
        Ok(found)
    }
}

fn same_keys(one: &[Key<Term>], other: &[Key<Term>]) -> bool {
    let same = |(a, b): (&Key<Term>, &Key<Term>)| {
        same(&a.remainder.0, &b.remainder.0) && same(&a.place.0, &b.place.0)
    };
    one.len() == other.len() && one.iter().zip(other).all(same)
}

fn same(one: &Int, other: &Int) -> bool {
    one.ast_eq(other)
}
