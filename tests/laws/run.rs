//! Runs a law: this many worlds, none of them lost without being counted.

use std::cell::Cell;
use std::io::Write;

use evenfare_engine::job::Job;
use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::Edition;
use evenfare_engine::{Refused, quote};
use proptest::test_runner::{Config, TestCaseError, TestCaseResult, TestError, TestRunner};

use crate::tape::Tapes;
use crate::worlds::{Recipe, World};

/// What became of the cases of one law.
#[derive(Default)]
pub struct Tally {
    cases: Cell<u64>,
    pub quotes: Cell<u64>,
    /// What a law wants to tell besides, by its own name.
    pub also: Cell<u64>,
    tariffs_refused: Cell<u64>,
    jobs_refused: Cell<u64>,
}

impl Tally {
    /// A case that a law cannot use.
    pub fn refuse(&self, refused: &Refused) {
        count(&self.jobs_refused);
        if std::env::var_os("LAWS_EXPLAIN").is_some() {
            say(&format!("job refused: {refused:?}"));
        }
    }
}

pub fn count(counter: &Cell<u64>) {
    counter.set(counter.get() + 1);
}

/// How many cases the newcomer runs, or whoever set `PROPTEST_CASES`.
pub fn config() -> Config {
    let given = Config::default();
    Config { failure_persistence: None, max_shrink_iters: given.max_shrink_iters.min(20_000), ..given }
}

fn say(line: &str) {
    // The test harness captures `eprintln!` and not this.
    let _ = writeln!(std::io::stderr().lock(), "{line}");
}

/// One line for each law, whatever it ran on.
pub fn told(law: &str, what: &str) {
    say(&format!("law {law}: {what}"));
}

/// Holds a law on a world for each case. `also` names what the law counts besides.
pub fn law(name: &str, also: &str, check: impl Fn(&World, &Tally) -> TestCaseResult) {
    let tally = Tally::default();
    let config = config();
    let wanted = u64::from(config.cases);
    let result = TestRunner::new(config).run(&Tapes { of: Recipe }, |recipe| {
        count(&tally.cases);
        match World::new(&recipe.0) {
            Ok(world) => check(&world, &tally),
            Err(problems) => {
                count(&tally.tariffs_refused);
                if std::env::var_os("LAWS_EXPLAIN").is_some() {
                    say(&format!("tariff refused: {problems:?}"));
                }
                Ok(())
            }
        }
    });
    match result {
        Ok(()) => {}
        Err(TestError::Fail(reason, recipe)) => panic!("law {name} does not hold: {reason}\n{recipe:?}"),
        Err(TestError::Abort(reason)) => panic!("law {name} was not checked: {reason}"),
    }
    let (tariffs, jobs) = (tally.tariffs_refused.get(), tally.jobs_refused.get());
    let besides = if also.is_empty() { String::new() } else { format!(", {} {also}", tally.also.get()) };
    told(
        name,
        &format!(
            "{} cases, {} quotes priced{besides}; {tariffs} tariffs and {jobs} jobs refused",
            tally.cases.get() - tariffs - jobs,
            tally.quotes.get()
        ),
    );
    if wanted >= 100 {
        let met = tally.also.get();
        assert!(also.is_empty() || met * 10 >= wanted, "{name} says little: {met} {also} in {wanted} cases");
        assert!(tariffs * 20 < wanted, "{tariffs} of {wanted} tariffs were refused");
        assert!(jobs * 10 < wanted, "{jobs} of {wanted} jobs were refused");
    }
}

pub fn fail(why: impl Into<String>) -> TestCaseError {
    TestCaseError::fail(why.into())
}

impl World {
    /// The quote by the job's route; where an agreement refuses that, the direct one. Nothing where
    /// the job itself is refused, which is counted.
    pub fn quote(&self, tally: &Tally) -> Result<Option<Quote>, TestCaseError> {
        self.quote_of(&self.job, tally)
    }

    pub fn quote_of(&self, job: &Job, tally: &Tally) -> Result<Option<Quote>, TestCaseError> {
        let priced = match self.quoted(job, tally) {
            Err(Refused::UnderTheFloor(_)) => self.quoted(&Job { route: Vec::new(), ..job.clone() }, tally),
            priced => priced,
        };
        match priced {
            Ok(quote) => Ok(Some(quote)),
            Err(Refused::Unsealed(why)) => Err(fail(format!("not sealed: {why}"))),
            Err(refused) => {
                tally.refuse(&refused);
                Ok(None)
            }
        }
    }

    /// Counts what is priced.
    pub fn quoted(&self, job: &Job, tally: &Tally) -> Result<Quote, Refused> {
        self.priced_by(job, &self.edition, tally)
    }

    pub fn priced_by(&self, job: &Job, edition: &Edition, tally: &Tally) -> Result<Quote, Refused> {
        let quote = quote(job, edition)?;
        count(&tally.quotes);
        Ok(quote)
    }
}
