//! What the proofs need to know of products: a [`lemma`](crate::lemma) each.

use z3::ast::{Bool, Int};

fn int(number: i64) -> Int {
    Int::from_i64(number)
}

/// Factors may change places.
pub fn commute([a, b]: [&Int; 2]) -> Bool {
    (a * b).eq(b * a)
}

/// The product of a sum is the products of its terms.
pub fn of_a_sum([a, b, factor]: [&Int; 3]) -> Bool {
    ((a + b) * factor).eq(a * factor + b * factor)
}

/// Equals have equal products.
pub fn of_equals([a, b, factor]: [&Int; 3]) -> Bool {
    a.eq(b).implies((a * factor).eq(b * factor))
}

/// One more has a product that is larger by the factor.
pub fn of_one_more([more, a, factor]: [&Int; 3]) -> Bool {
    more.eq(a + int(1)).implies((more * factor).eq(a * factor + factor))
}

/// Where one factor is known, the product is that many times the other.
pub fn of_known(known: i64) -> impl Fn([&Int; 2]) -> Bool {
    move |[a, factor]| a.eq(int(known)).implies((a * factor).eq(int(known) * factor))
}

/// Whoever is below nothing, or not below `bound`, is so by a whole factor at least.
pub fn of_bounded(bound: i64) -> impl Fn([&Int; 2]) -> Bool {
    move |[a, factor]| {
        let low = a.le(int(-1)).implies((a * factor).le(-factor));
        let high = a.ge(int(bound)).implies((a * factor).ge(int(bound) * factor));
        factor.gt(int(0)).implies(low & high)
    }
}

/// Products keep the order of their factors, and are a whole factor apart at least.
pub fn are_monotone([smaller, larger, factor]: [&Int; 3]) -> Bool {
    // larger = smaller + 1 + k, and k times the factor is not below nothing.
    (larger.ge(smaller + int(1)) & factor.gt(int(0))).implies((larger * factor).ge(smaller * factor + factor))
}
