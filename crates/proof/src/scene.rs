//! What is known, and what follows from it.

use std::array;
use std::cell::RefCell;
use std::mem;
use std::time::Instant;

use evenfare_engine::money::kernel::Key;
use z3::ast::{Ast, Bool, Int};
use z3::{Params, SatResult, Solver};

use crate::linear::products_as_unknowns;

/// How much work one question may make, in the solver's own steps: the same on a machine that is busy.
const PATIENCE: u32 = 400_000_000;
/// The same, of a question whose answer only makes terms shorter.
const GLANCE: u32 = 300_000;

/// A division that was met.
#[derive(Debug, Clone)]
pub struct Division {
    /// What is divided.
    pub dividend: Int,
    /// What it is divided by.
    pub divisor: Int,
    /// Whole divisors.
    pub quotient: Int,
    /// What is left of the dividend.
    pub remainder: Int,
    /// What is known of them.
    pub promise: Bool,
}

/// A rank that was asked for.
#[derive(Debug, Clone)]
pub struct Rank {
    /// Of which keys.
    pub keys: Vec<Key<Int>>,
    /// Which rank.
    pub rank: Int,
    /// What is found at rank 0.
    pub before_all: Key<Int>,
    /// The key at that rank.
    pub found: Key<Int>,
    /// Of each key, whether it stands at that rank or before it.
    pub reached: Vec<Bool>,
    /// What is known of it.
    pub promise: Bool,
}

/// What is known so far, in this thread.
struct Scene {
    /// Since when the next conclusion is worked on.
    begun: Instant,
    facts: Solver,
    /// The same, one by one.
    known: Vec<Bool>,
    /// The same, without what is promised of divisions and ranks.
    assumed: Solver,
    divisions: Vec<Division>,
    ranks: Vec<Rank>,
}

impl Scene {
    fn new() -> Self {
        Self {
            begun: Instant::now(),
            facts: Solver::new(),
            known: Vec::new(),
            assumed: Solver::new(),
            divisions: Vec::new(),
            ranks: Vec::new(),
        }
    }

    fn learn(&mut self, fact: &Bool) {
        self.facts.assert(fact);
        self.known.push(fact.clone());
    }

    fn knows(&self, facts: &[&Bool]) -> Result<(), String> {
        match facts.iter().find(|fact| !self.known.contains(fact)) {
            Some(fact) => Err(format!("this is no fact: {fact}")),
            None => Ok(()),
        }
    }
}

thread_local! {
    static SCENE: RefCell<Scene> = RefCell::new(Scene::new());
    /// Lemmas that need no second proof.
    static LEMMAS: RefCell<Vec<Bool>> = const { RefCell::new(Vec::new()) };
}

fn with<T>(act: impl FnOnce(&mut Scene) -> T) -> T {
    SCENE.with_borrow_mut(act)
}

fn ask(solver: &Solver, question: &Bool, patience: u32) -> SatResult {
    let mut params = Params::new();
    params.set_u32("rlimit", patience);
    solver.set_params(&params);
    solver.push();
    solver.assert(question);
    let answer = solver.check();
    solver.pop(1);
    answer
}

/// Does nothing contradict the claim? Otherwise what does, or that the solver cannot tell.
fn check(solver: &Solver, follows: &Bool) -> Result<(), String> {
    match ask(solver, &follows.not(), PATIENCE) {
        SatResult::Unsat => Ok(()),
        SatResult::Sat => {
            Err(format!("there is a counterexample\n{}", counterexample(solver, &follows.not())))
        }
        SatResult::Unknown => Err("the solver cannot tell".to_owned()),
    }
}

#[track_caller]
fn must(claim: &str, hold: Result<(), String>) {
    if let Err(why) = hold {
        panic!("{claim}: {why}");
    }
}

fn counterexample(solver: &Solver, question: &Bool) -> String {
    solver.push();
    solver.assert(question);
    let found = solver.check();
    let model = solver.get_model().filter(|_| found == SatResult::Sat);
    solver.pop(1);
    model.map(|model| model.to_string()).unwrap_or_default()
}

fn say(begun: Instant, claim: &str) {
    println!("{:>8.3} s  {claim}", begun.elapsed().as_secs_f64());
}

/// Forgets all that was known.
pub fn begin() {
    with(|scene| *scene = Scene::new());
}

/// Takes that for a fact from here on.
pub fn assume(fact: &Bool) {
    with(|scene| {
        scene.assumed.assert(fact);
        scene.learn(fact);
    });
}

/// The divisions met so far, in their order.
pub fn divisions() -> Vec<Division> {
    with(|scene| scene.divisions.clone())
}

/// The ranks asked for so far, in their order.
pub fn ranks() -> Vec<Rank> {
    with(|scene| scene.ranks.clone())
}

pub(crate) fn meet_division(division: Division) {
    with(|scene| {
        scene.learn(&division.promise);
        scene.divisions.push(division);
    });
}

pub(crate) fn meet_rank(rank: Rank) {
    with(|scene| {
        scene.learn(&rank.promise);
        scene.ranks.push(rank);
    });
}

/// Is it seen at a glance that this cannot hold?
pub(crate) fn never(question: &Bool) -> bool {
    with(|scene| ask(&scene.assumed, question, GLANCE)) == SatResult::Unsat
}

/// Proves that it follows from the facts, and takes it for one.
///
/// # Panics
/// Where something contradicts it, which is then printed, or the solver cannot tell.
#[track_caller]
pub fn prove(claim: &str, follows: &Bool) {
    let begun = Instant::now();
    must(claim, with(|scene| check(&scene.facts, follows)));
    say(begun, claim);
    assume(follows);
}

/// Proves, as a step on the way, that it follows from some of the facts, without a look at the others: a
/// solver that is told less has less to try.
///
/// # Panics
/// As [`prove`] does, and where one of them is no fact.
#[track_caller]
pub fn prove_by<'f>(claim: &str, facts: impl IntoIterator<Item = &'f Bool>, follows: &Bool) {
    let facts: Vec<&Bool> = facts.into_iter().collect();
    must(claim, with(|scene| scene.knows(&facts)));
    let solver = Solver::new();
    facts.into_iter().for_each(|fact| solver.assert(fact));
    must(claim, check(&solver, follows));
    assume(follows);
}

/// Proves, as a step on the way, that it follows from some of the facts whatever the products in them
/// are: each is an unknown of its own, so that all is linear.
///
/// # Panics
/// As [`prove_by`] does.
#[track_caller]
pub fn prove_linear<'f>(claim: &str, facts: impl IntoIterator<Item = &'f Bool>, follows: &Bool) {
    let mut formulas: Vec<&Bool> = facts.into_iter().collect();
    must(claim, with(|scene| scene.knows(&formulas)));
    formulas.push(follows);
    let mut linear = products_as_unknowns(&formulas);
    let solver = Solver::new();
    if let Some(last) = linear.pop() {
        linear.iter().for_each(|fact| solver.assert(fact));
        must(claim, check(&solver, &last));
    }
    assume(follows);
}

/// Says that a theorem is proved: all of it is known by now, and that took so long.
///
/// # Panics
/// Where any of it is no fact.
#[track_caller]
pub fn conclude<'f>(claim: &str, theorem: impl IntoIterator<Item = &'f Bool>) {
    let theorem: Vec<&Bool> = theorem.into_iter().collect();
    assert!(!theorem.is_empty(), "{claim}: nothing is claimed");
    must(claim, with(|scene| scene.knows(&theorem)));
    say(with(|scene| mem::replace(&mut scene.begun, Instant::now())), claim);
}

/// Proves that something holds of any numbers, whatever else is known, and takes it for a fact of those
/// given. A lemma is proved but once.
///
/// # Panics
/// As [`prove`] does.
#[track_caller]
pub fn lemma<const N: usize>(claim: &str, holds: impl Fn([&Int; N]) -> Bool, of: [&Int; N]) -> Bool {
    lemma_of(claim, |any| holds(array::from_fn(|n| &any[n])), &of)
}

/// The same, of as many numbers as are given.
///
/// # Panics
/// As [`prove`] does.
#[track_caller]
pub fn lemma_of(claim: &str, holds: impl Fn(&[Int]) -> Bool, of: &[&Int]) -> Bool {
    let any: Vec<Int> = (0..of.len()).map(|n| Int::new_const(format!("any{n}"))).collect();
    let general = holds(&any);
    if !LEMMAS.with_borrow(|lemmas| lemmas.contains(&general)) {
        let begun = Instant::now();
        must(claim, check(&Solver::new(), &general));
        say(begun, &format!("  lemma: {claim}"));
        LEMMAS.with_borrow_mut(|lemmas| lemmas.push(general.clone()));
    }
    let each: Vec<(&Int, &Int)> = any.iter().zip(of.iter().copied()).collect();
    let instance = general.substitute(&each);
    assume(&instance);
    instance
}

/// Shows that the facts allow something else, and prints it.
///
/// # Panics
/// Where it follows from the facts, or the solver cannot tell.
#[track_caller]
pub fn refute(claim: &str, follows: &Bool) {
    let answer = with(|scene| ask(&scene.facts, &follows.not(), PATIENCE));
    assert_eq!(answer, SatResult::Sat, "{claim}: there is no counterexample");
    let told = with(|scene| counterexample(&scene.facts, &follows.not()));
    let told: Vec<&str> = told.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    println!(" refuted    {claim}: {}", told.join(", "));
}

/// Can all the facts hold at once? What follows from a contradiction proves nothing.
///
/// # Panics
/// Where they cannot, or the solver cannot tell.
#[track_caller]
pub fn facts_can_hold() {
    facts_can_hold_where(&Bool::from_bool(true));
}

/// Can all the facts hold at once, in this example?
///
/// # Panics
/// As [`facts_can_hold`] does.
#[track_caller]
pub fn facts_can_hold_where(example: &Bool) {
    let answer = with(|scene| ask(&scene.facts, example, PATIENCE));
    assert_eq!(answer, SatResult::Sat, "nothing satisfies all the facts");
}
