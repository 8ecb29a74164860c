//! Contestants timed in turns, so that whatever else the machine does falls on all of them alike.

use std::time::{Duration, Instant};

/// How many turns each has; the median counts.
const TURNS: usize = 15;
/// How long a turn lasts, about.
const TURN: Duration = Duration::from_millis(80);

/// Seconds that a call of each takes. Without `--bench` each is called once: it is enough then that all of it works.
pub fn timed<const N: usize>(mut contestants: [&mut dyn FnMut(); N]) -> [f64; N] {
    if !std::env::args().any(|arg| arg == "--bench") {
        return contestants.map(|call| of_calls(1, call));
    }
    let calls: Vec<u64> = contestants.iter_mut().map(|call| calls_of_a_turn(*call)).collect();
    let mut turns = [const { Vec::new() }; N];
    for _ in 0..TURNS {
        for ((call, calls), turns) in contestants.iter_mut().zip(&calls).zip(&mut turns) {
            turns.push(of_calls(*calls, *call));
        }
    }
    turns.map(median)
}

fn of_calls(calls: u64, call: &mut dyn FnMut()) -> f64 {
    let begun = Instant::now();
    for _ in 0..calls {
        call();
    }
    begun.elapsed().as_secs_f64() / calls as f64
}

/// Warms up, too.
fn calls_of_a_turn(call: &mut dyn FnMut()) -> u64 {
    let mut calls = 1_u64;
    loop {
        let seconds = of_calls(calls, call) * calls as f64;
        if seconds * 4.0 > TURN.as_secs_f64() {
            return ((calls as f64 * TURN.as_secs_f64() / seconds) as u64).max(1);
        }
        calls = calls.saturating_mul(2);
    }
}

fn median(mut turns: Vec<f64>) -> f64 {
    turns.sort_by(f64::total_cmp);
    turns[turns.len() / 2]
}
