//! No step of the kernel leaves 128 bits, within the bounds of the engine's own types.
#![allow(missing_docs, clippy::unwrap_used)]

use evenfare_engine::money::Overflow;
use evenfare_engine::money::kernel::{millionths, multiple_below, round_half_up, share, split, walk_back};
use evenfare_engine::money::{Net, Percent};
use evenfare_proof::Interval;

/// More lines than a message of 128 KiB can hold.
const MOST_LINES: usize = 10_000;
const MOST_PARTNERS: usize = 6;

fn amount() -> Interval {
    let most = i128::from(Net::MAX_MINOR);
    Interval::new(-most, most)
}

/// Percentages are at most those that the engine reads, in millionths.
fn percent() -> Interval {
    let most = "1000".parse::<Percent>().unwrap().scaled();
    Interval::new(-i128::from(most), most.into())
}

#[test]
fn rounding_stays_within() {
    let (widest, denominator) = (10_i128.pow(37), Interval::new(1, 10_i128.pow(37)));
    let rounded = round_half_up(&Interval::new(-widest, widest), &denominator).unwrap();
    assert!(rounded.ends().1 <= widest + 1);
}

#[test]
fn splitting_stays_within() {
    let weights = vec![amount(); MOST_LINES];
    let places: Vec<Interval> =
        (0..MOST_LINES).map(|place| Interval::new(place as i128, place as i128)).collect();
    split(&amount(), &weights, &places).unwrap();
}

#[test]
fn shares_stay_within() {
    let exact = millionths((0..MOST_LINES).map(|_| (amount(), percent()))).unwrap();
    let discount = round_half_up(&exact, &Interval::new(1_000_000, 1_000_000)).unwrap();
    let kept = share(&discount, &amount()).unwrap();
    walk_back(&amount(), &[kept; MOST_PARTNERS]).unwrap();
}

#[test]
fn endings_stay_within() {
    let step = Interval::new(1, i128::from(Net::MAX_MINOR));
    multiple_below(&amount(), &amount(), &step).unwrap();
}

#[test]
fn wider_bounds_are_found_out() {
    let wide = Interval::new(-(10_i128.pow(20)), 10_i128.pow(20));
    let places = [Interval::new(0, 0), Interval::new(1, 1)];
    assert_eq!(split(&wide, &[wide, wide], &places), Err(Overflow));
    assert_eq!(round_half_up(&Interval::new(0, i128::MAX), &Interval::new(1, 1)), Err(Overflow));
}
