//! What comes of it does not depend on how many threads work.

use std::num::NonZeroUsize;

use evenfare_reconcile::phase::Phase;
use evenfare_reconcile::threads::Threads;
use evenfare_reconcile::{reconcile_on, reconcile_watched};
use proptest::prelude::*;

use crate::config;
use crate::faults::{month, some_faults};
use crate::world;

proptest! {
    #![proptest_config(config())]

    #[test]
    fn threads_change_nothing((plans, faults) in some_faults(), threads in 2..6_usize, refused: bool) {
        let mut inputs = month(&plans, &faults).inputs;
        if refused && let Some(mut other) = inputs.invoices.first().cloned() {
            // One number for two papers.
            other.place = world::place("again.xml", 1);
            other.net_minor += 1;
            inputs.invoices.push(other);
        }
        let threads = Threads::new(NonZeroUsize::new(threads).unwrap());
        let alone = reconcile_on(&inputs, Threads::ONE);
        prop_assert_eq!(alone.is_err(), refused && !inputs.invoices.is_empty());
        prop_assert_eq!(reconcile_on(&inputs, threads), alone.clone());
        // Nor does who looks on: he is told every phase once, in order.
        let mut phases = Vec::new();
        prop_assert_eq!(reconcile_watched(&inputs, |phase| phases.push(phase)), alone.clone());
        if alone.is_ok() {
            prop_assert_eq!(&phases, &Phase::ALL);
        }
        prop_assert!(phases.iter().map(|phase| phase.before()).eq(0..phases.len()));
    }
}
