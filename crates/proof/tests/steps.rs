//! A step proves no more than follows.
#![allow(missing_docs)]

use evenfare_proof::{assume, begin, conclude, lemma, products, prove_by, prove_linear};
use z3::ast::Int;

fn int(number: i64) -> Int {
    Int::from_i64(number)
}

fn unknowns() -> [Int; 2] {
    begin();
    ["x", "y"].map(Int::new_const)
}

#[test]
fn a_lemma_is_a_fact_of_the_numbers_given() {
    let [x, y] = unknowns();
    let doubled = lemma("2 times a factor", products::of_known(2), [&x, &y]);
    let is_two = x.eq(int(2));
    assume(&is_two);
    let follows = (&x * &y).eq(&y + &y);
    prove_linear("twice the other", [&doubled, &is_two], &follows);
    conclude("twice the other", [&follows]);
}

#[test]
#[should_panic(expected = "a wrong lemma: there is a counterexample")]
fn a_wrong_lemma_is_refused() {
    let [x, y] = unknowns();
    lemma("a wrong lemma", |[a, factor]: [&Int; 2]| (a * factor).ge(a), [&x, &y]);
}

#[test]
#[should_panic(expected = "this is no fact")]
fn what_was_never_shown_is_no_fact() {
    let [x, _] = unknowns();
    let never_shown = x.eq(int(2));
    prove_by("a step from nothing", [&never_shown], &x.gt(int(1)));
}

#[test]
#[should_panic(expected = "this is no fact")]
fn what_is_not_proved_is_not_concluded() {
    let [x, _] = unknowns();
    conclude("whatever", [&x.eq(int(2))]);
}

/// It holds of squares, not of any unknown: a linear step must not see it, and so takes no product for what it is not.
#[test]
#[should_panic(expected = "there is a counterexample")]
fn a_product_is_any_number_to_a_linear_step() {
    let [x, _] = unknowns();
    prove_linear("squares are not below nothing", [], &(&x * &x).ge(int(0)));
}
