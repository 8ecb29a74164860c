//! The one rounding.
#![allow(missing_docs, clippy::unwrap_used)]

use evenfare_engine::money::Overflow;
use evenfare_engine::money::kernel::{Number, round_half_up};
use evenfare_proof::{Term, assume, begin, facts_can_hold, lemma, products, prove, refute};
use z3::ast::{Bool, Int};

type Rounding = fn(&Term, &Term) -> Result<Term, Overflow>;

fn int(number: i64) -> Int {
    Int::from_i64(number)
}

/// A value of either sign, and a positive denominator.
fn value(name: &str, negative: bool, denominator: &Term) -> Term {
    let numerator = Term::any(name);
    assume(&denominator.int().gt(int(0)));
    assume(&if negative { numerator.int().lt(int(0)) } else { numerator.int().ge(int(0)) });
    numerator
}

/// Twice what is lost by rounding, in parts of the denominator: above nothing where it was rounded up.
fn twice_the_error(rounded: &Term, numerator: &Term, denominator: &Term) -> Int {
    int(2) * rounded.int() * denominator.int() - int(2) * numerator.int()
}

fn error_is_half_at_most(rounded: &Term, numerator: &Term, denominator: &Term) -> Bool {
    let error = twice_the_error(rounded, numerator, denominator);
    error.le(denominator.int()) & error.ge(&-denominator.int())
}

fn half_goes_away_from_zero(rounded: &Term, numerator: &Term, denominator: &Term, negative: bool) -> Bool {
    let error = twice_the_error(rounded, numerator, denominator);
    if negative { error.lt(denominator.int()) } else { error.gt(&-denominator.int()) }
}

#[test]
fn error_is_at_most_half_a_unit_and_halves_go_away_from_zero() {
    for negative in [false, true] {
        begin();
        let denominator = Term::any("d");
        let numerator = value("n", negative, &denominator);
        let rounded = round_half_up(&numerator, &denominator).unwrap();
        facts_can_hold();
        let sign = if negative { "below" } else { "from" };
        prove(
            &format!("rounding, {sign} nothing: the error is at most half a unit"),
            &error_is_half_at_most(&rounded, &numerator, &denominator),
        );
        prove(
            &format!("rounding, {sign} nothing: a half goes away from zero"),
            &half_goes_away_from_zero(&rounded, &numerator, &denominator, negative),
        );
    }
}

#[test]
fn rounding_is_odd() {
    begin();
    let denominator = Term::any("d");
    let numerator = value("n", false, &denominator);
    assume(&numerator.int().gt(int(0)));
    let rounded = round_half_up(&numerator, &denominator).unwrap();
    let mirrored = round_half_up(&numerator.negated().unwrap(), &denominator).unwrap();
    facts_can_hold();
    prove("rounding: the opposite rounds to the opposite", &mirrored.int().eq(&-rounded.int()));
    begin();
    let denominator = Term::any("d");
    assume(&denominator.int().gt(int(0)));
    let nothing = round_half_up(&Term::of(0), &denominator).unwrap();
    prove("rounding: nothing rounds to nothing", &nothing.int().eq(int(0)));
}

/// Products keep the order of their factors: the solver is told where it has to multiply unknowns.
fn keep_order(smaller: &Int, larger: &Int, denominator: &Term) {
    lemma(
        "products keep the order of their factors",
        products::are_monotone,
        [smaller, larger, denominator.int()],
    );
}

#[test]
fn rounding_is_monotone() {
    for (first, second) in [(false, false), (true, false), (true, true)] {
        begin();
        let denominator = Term::any("d");
        let smaller = value("smaller", first, &denominator);
        let larger = value("larger", second, &denominator);
        assume(&smaller.int().le(larger.int()));
        let low = round_half_up(&smaller, &denominator).unwrap();
        let high = round_half_up(&larger, &denominator).unwrap();
        facts_can_hold();
        prove("  of the smaller", &error_is_half_at_most(&low, &smaller, &denominator));
        prove("  of the larger", &error_is_half_at_most(&high, &larger, &denominator));
        prove("  of the smaller, halves", &half_goes_away_from_zero(&low, &smaller, &denominator, first));
        prove("  of the larger, halves", &half_goes_away_from_zero(&high, &larger, &denominator, second));
        keep_order(high.int(), low.int(), &denominator);
        prove("rounding: a larger value never rounds to a smaller one", &low.int().le(high.int()));
    }
}

#[test]
fn whole_values_stay() {
    for negative in [false, true] {
        begin();
        let (denominator, whole) = (Term::any("d"), Term::any("whole"));
        assume(&denominator.int().gt(int(0)));
        assume(&if negative { whole.int().lt(int(0)) } else { whole.int().ge(int(0)) });
        let numerator = value("n", negative, &denominator);
        assume(&numerator.int().eq(&(whole.int() * denominator.int())));
        let rounded = round_half_up(&numerator, &denominator).unwrap();
        prove("  as any value", &error_is_half_at_most(&rounded, &numerator, &denominator));
        keep_order(rounded.int(), whole.int(), &denominator);
        keep_order(whole.int(), rounded.int(), &denominator);
        prove("rounding: whole values stay", &rounded.int().eq(whole.int()));
    }
}

/// Wrong kernels, which must be found out.
mod wrong {
    use super::*;

    fn truncated(numerator: &Term, denominator: &Term) -> Result<Term, Overflow> {
        let below = numerator.less(&Term::of(0));
        let magnitude = Term::choose(&below, numerator.negated()?, numerator.clone());
        let (whole, _) = magnitude.div_rem_floor(denominator)?;
        Ok(Term::choose(&below, whole.negated()?, whole))
    }

    /// A half down: on the other side of every statute that says how to round.
    fn half_down(numerator: &Term, denominator: &Term) -> Result<Term, Overflow> {
        let (whole, remainder) = numerator.div_rem_floor(denominator)?;
        let up = denominator.minus(&remainder)?.less(&remainder);
        Ok(Term::choose(&up, whole.plus(&Term::of(1))?, whole))
    }

    /// Half up towards plus infinity: a credit is not the mirror of its charge.
    fn half_towards_plus(numerator: &Term, denominator: &Term) -> Result<Term, Overflow> {
        let (whole, remainder) = numerator.div_rem_floor(denominator)?;
        let down = remainder.less(&denominator.minus(&remainder)?);
        Ok(Term::choose(&down, whole.clone(), whole.plus(&Term::of(1))?))
    }

    fn small(round: Rounding) -> (Term, Term, Term) {
        begin();
        let denominator = Term::between("d", 1, 100);
        let numerator = Term::between("n", 1, 1_000);
        let rounded = round(&numerator, &denominator).unwrap();
        (numerator, denominator, rounded)
    }

    #[test]
    fn truncation_is_refuted() {
        let (n, d, rounded) = small(truncated);
        refute("truncation: the error is at most half a unit", &error_is_half_at_most(&rounded, &n, &d));
    }

    #[test]
    fn half_down_is_refuted() {
        let (n, d, rounded) = small(half_down);
        refute("half down: a half goes away from zero", &half_goes_away_from_zero(&rounded, &n, &d, false));
    }

    #[test]
    fn half_towards_plus_is_refuted() {
        let (n, d, rounded) = small(half_towards_plus);
        let mirrored = half_towards_plus(&n.negated().unwrap(), &d).unwrap();
        refute("half towards plus: the opposite rounds to the opposite", &mirrored.int().eq(&-rounded.int()));
    }
}
