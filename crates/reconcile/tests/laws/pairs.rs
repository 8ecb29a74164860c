//! Faults by two.

use proptest::prelude::*;
use proptest::strategy::ValueTree;

use crate::check;
use crate::kinds::FAULTS;
use crate::world;

/// Not left to chance: every fault alone, and every two of them, on one quote and on two.
#[test]
fn every_pair_of_faults_is_found() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut pairs = 0;
    for (place, &one) in FAULTS.iter().enumerate() {
        for &other in &FAULTS[place..] {
            for _ in 0..3 {
                let strategy = prop::collection::vec(world::plan(), 2..5);
                let plans = strategy.new_tree(&mut runner).unwrap().current();
                check(&plans, &[(0, one)]);
                check(&plans, &[(0, one), (1, other)]);
                if one.goes_with(other) {
                    check(&plans, &[(1, one), (1, other)]);
                    pairs += 1;
                }
            }
        }
    }
    assert!(pairs > 500, "{pairs} pairs on one quote");
}
