//! Largest remainder, of up to ten parts, with any weights, signs and places.
//!
//! The kernel is run on unknowns, and the theorems are about its own terms: the parts, and what it met on its way to
//! them, divisions and a rank. Each step is linear, or a lemma of products.
#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing)]

mod steps;
mod wrong;

use evenfare_engine::money::kernel::{Number, split};
use evenfare_proof::{assume, conclude, facts_can_hold_where, prove_linear, ranks};
use z3::ast::Bool;

use steps::{all, all_are_opposite, any_split, int};

const MOST_PARTS: usize = 10;

/// Signs of the weights' sum and of the total: all that the kernel tells apart.
const SIGNS: [(bool, bool); 4] = [(false, false), (false, true), (true, false), (true, true)];

#[test]
fn parts_add_up_each_within_a_unit_by_largest_remainder() {
    for parts in 1..=MOST_PARTS {
        for (turned, mirrored) in SIGNS {
            let split = any_split(parts, (turned, mirrored), split);
            let one = |turned: bool| int(if turned { -1 } else { 1 });
            let plain = all(split.weights.iter().map(|weight| weight.int().eq(one(turned))));
            facts_can_hold_where(&(plain & split.total.int().eq(one(mirrored))));
            let sign = |turned: bool| if turned { "below nothing" } else { "above" };
            let told = format!(
                "largest remainder of {parts}, weights {}, total {}",
                sign(turned),
                if mirrored { "below nothing" } else { "not below" }
            );

            let ranks = ranks();
            assert_eq!(ranks.len(), 1);
            let rank = &ranks[0];
            let quotas = split.prove_quotas();
            let left = split.prove_left(&quotas, rank);
            let adds_up = split.adds_up();
            prove_linear("the parts add up", [&left.is_given], &adds_up);
            conclude(&format!("{told}: the parts add up"), [&adds_up]);

            let needs = split.prove_units_go_to_remainders(&quotas, rank, &left);
            let each = quotas.iter().zip(&needs).enumerate();
            let within: Vec<Bool> =
                each.map(|(index, (quota, needs))| split.prove_within_a_unit(index, quota, needs)).collect();
            assert_eq!(within.len(), parts);
            conclude(&format!("{told}: each is within a unit"), &within);

            let order = split.goes_by_remainders();
            order.iter().for_each(|claim| prove_linear("remainders in their order", [], claim));
            conclude(&format!("{told}: the largest remainders get the units"), &order);

            if !mirrored {
                let each = within.iter().enumerate();
                let nothing: Vec<Bool> =
                    each.map(|(index, within)| split.prove_nothing_of_nothing(index, within)).collect();
                conclude(&format!("{told}: of nothing, each gets nothing"), &nothing);
            }
        }
    }
}

#[test]
fn the_opposite_total_gives_the_opposite_parts() {
    for parts in 1..=MOST_PARTS {
        for turned in [false, true] {
            let one = any_split(parts, (turned, false), split);
            // Nothing, its own opposite, is among the theorems above.
            assume(&one.total.int().gt(int(0)));
            let opposite = split(&one.total.negated().unwrap(), &one.weights, &one.places).unwrap();
            let mirrored = all_are_opposite(&one.parts, &opposite);
            prove_linear("opposite parts", [], &mirrored);
            let told = format!("largest remainder of {parts}: the opposite total gives the opposite parts");
            conclude(&told, [&mirrored]);
        }
    }
}
