//! Wrong kernels, which must be found out.

use evenfare_engine::money::Overflow;
use evenfare_engine::money::kernel::{self, Key, Number};
use evenfare_proof::{Term, assume, refute};

use crate::steps::{Split, Splitting, all, all_are_opposite, any_split, int};

/// Quotas rounded down, and nobody gets what is left.
fn nothing_more(total: &Term, weights: &[Term], _: &[Term]) -> Result<Vec<Term>, Overflow> {
    let all = kernel::sum(weights)?;
    weights.iter().map(|weight| Ok(weight.times(total)?.div_rem_floor(&all)?.0)).collect()
}

/// What is left goes to the last one.
fn all_to_the_last(total: &Term, weights: &[Term], places: &[Term]) -> Result<Vec<Term>, Overflow> {
    let mut parts = nothing_more(total, weights, places)?;
    let left = total.minus(&kernel::sum(&parts)?)?;
    let last = parts.pop().ok_or(Overflow)?;
    parts.push(last.plus(&left)?);
    Ok(parts)
}

/// Each quota rounded by itself.
fn each_by_itself(total: &Term, weights: &[Term], _: &[Term]) -> Result<Vec<Term>, Overflow> {
    let all = kernel::sum(weights)?;
    weights.iter().map(|weight| kernel::round_half_up(&weight.times(total)?, &all)).collect()
}

/// What is left goes to those who stand first by some other key.
fn by_key(
    total: &Term,
    weights: &[Term],
    places: &[Term],
    key: fn(Key<Term>) -> Result<Key<Term>, Overflow>,
) -> Result<Vec<Term>, Overflow> {
    let all = kernel::sum(weights)?;
    let quotas: Vec<(Term, Term)> = weights
        .iter()
        .map(|weight| weight.times(total)?.div_rem_floor(&all))
        .collect::<Result<_, Overflow>>()?;
    let whole: Vec<Term> = quotas.iter().map(|(whole, _)| whole.clone()).collect();
    let left = total.minus(&kernel::sum(&whole)?)?;
    let keys: Vec<Key<Term>> = quotas
        .iter()
        .zip(places)
        .map(|((_, remainder), place)| key(Key { remainder: remainder.clone(), place: place.clone() }))
        .collect::<Result<_, Overflow>>()?;
    let last = Term::at_rank(&keys, &left, Key { remainder: all, place: Term::of(0) })?;
    let each = whole.iter().zip(&keys).map(|(whole, key)| {
        Ok(Term::choose(&key.not_after(&last), whole.plus(&Term::of(1))?, whole.clone()))
    });
    each.collect()
}

fn smallest_first(total: &Term, weights: &[Term], places: &[Term]) -> Result<Vec<Term>, Overflow> {
    by_key(total, weights, places, |key| Ok(Key { remainder: key.remainder.negated()?, ..key }))
}

fn highest_place_first(total: &Term, weights: &[Term], places: &[Term]) -> Result<Vec<Term>, Overflow> {
    by_key(total, weights, places, |key| Ok(Key { place: key.place.negated()?, ..key }))
}

/// Totals below nothing are rounded down like any other.
fn never_mirrored(total: &Term, weights: &[Term], places: &[Term]) -> Result<Vec<Term>, Overflow> {
    by_key(total, weights, places, Ok)
}

fn small(with: Splitting) -> Split {
    let split = any_split(3, (false, false), with);
    let bounded = |term: &Term| term.int().ge(int(0)) & term.int().le(int(12));
    split.weights.iter().chain([&split.total]).for_each(|term| assume(&bounded(term)));
    split
}

#[test]
fn units_that_nobody_gets_are_found_out() {
    refute("quotas rounded down: the parts add up", &small(nothing_more).adds_up());
}

#[test]
fn quotas_rounded_by_themselves_are_found_out() {
    refute("each quota rounded: the parts add up", &small(each_by_itself).adds_up());
}

#[test]
fn all_units_for_one_are_found_out() {
    let split = small(all_to_the_last);
    refute("all that is left for the last: he is within a unit", &split.is_within_a_unit(2));
}

#[test]
fn units_for_small_remainders_are_found_out() {
    let split = small(smallest_first);
    refute("the smallest remainder first: the first is within a unit", &split.is_within_a_unit(0));
}

#[test]
fn ties_for_the_higher_place_are_found_out() {
    let split = small(highest_place_first);
    let by_remainders = all(split.goes_by_remainders());
    refute(
        "the highest place first: the largest remainders, and lower places, get the units",
        &by_remainders,
    );
}

#[test]
fn a_total_that_is_not_mirrored_is_found_out() {
    let split = small(never_mirrored);
    let opposite = never_mirrored(&split.total.negated().unwrap(), &split.weights, &split.places).unwrap();
    let opposite = all_are_opposite(&split.parts, &opposite);
    refute("nothing is mirrored: the opposite total gives the opposite parts", &opposite);
}
