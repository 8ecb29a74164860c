//! Sharing out and exactness.

use std::cell::Cell;

use evenfare_engine::money::{Currency, Exact, Percent, Quantity, SplitError, Ties, UnitPrice, kind, split};
use num_bigint::BigInt;
use num_traits::{Signed, Zero};
use proptest::prelude::*;
use proptest::test_runner::{TestCaseResult, TestRunner};

use crate::big::{Q, half_up, ratio, read, sum, whole};
use crate::naive::{carried_by_partners, costs, currency_of, lines_of, tariff_to_job, way, ways};
use crate::run::{config, count, law, told};

fn weight() -> impl Strategy<Value = i64> {
    const MOST: i64 = 100_000_000_000_000;
    prop_oneof![3 => 0..1_000_i64, 2 => 0..4_i64, 2 => 0..=MOST, 1 => -1_000..1_000_i64, 1 => -MOST..=MOST, 1 => Just(0)]
}

#[test]
fn split_of_minus_is_minus_split() {
    let (ran, refused) = (Cell::new(0), Cell::new(0));
    let total =
        prop_oneof![-100..100_i64, weight(), any::<i64>().prop_filter("has an opposite", |t| *t != i64::MIN)];
    let weights = proptest::collection::vec(weight(), 0..12);
    let result = TestRunner::new(config()).run(&(total, weights, any::<bool>()), |(total, weights, last)| {
        count(&ran);
        let ties = if last { Ties::Last } else { Ties::First };
        let parts = split(total, &weights, ties);
        if parts.is_err() {
            count(&refused);
        }
        let negated = |list: &[i64]| list.iter().map(|n| -n).collect::<Vec<_>>();
        let minus = |parts: &Result<Vec<i64>, SplitError>| parts.clone().map(|parts| negated(&parts));
        let sum_of_weights: i128 = weights.iter().map(|&w| i128::from(w)).sum();
        // A sale at nothing of lines that cancel out is those lines, and has no mirror image but
        // that of its lines.
        if sum_of_weights != 0 {
            prop_assert_eq!(split(-total, &weights, ties), minus(&parts));
        }
        prop_assert_eq!(split(-total, &negated(&weights), ties), minus(&parts), "a reversal's lines");
        shared_out(total, &weights, last, parts)
    });
    result.unwrap();
    told(
        "split_of_minus_is_minus_split",
        &format!("{} splits, {} of them refused", ran.get(), refused.get()),
    );
}

/// By quotas over rationals: the parts add up, none is a unit from its quota, ties go where they should.
fn shared_out(
    total: i64,
    weights: &[i64],
    last: bool,
    parts: Result<Vec<i64>, SplitError>,
) -> TestCaseResult {
    let sum_of_weights: i128 = weights.iter().map(|&w| i128::from(w)).sum();
    let parts = match parts {
        Ok(parts) => parts,
        Err(SplitError::NoWeight) => {
            prop_assert!(sum_of_weights == 0 && total != 0);
            return Ok(());
        }
        Err(SplitError::Overflow(_)) => {
            let past =
                |w: &i64| (i128::from(*w) * i128::from(total) / sum_of_weights).abs() >= i128::from(i64::MAX);
            prop_assert!(weights.iter().any(past), "refused though every part fits");
            return Ok(());
        }
    };
    prop_assert_eq!(parts.iter().map(|&p| i128::from(p)).sum::<i128>(), i128::from(total));
    if sum_of_weights == 0 {
        prop_assert!(parts.as_slice() == weights || parts.iter().all(Zero::is_zero));
        return Ok(());
    }
    // Of the mirrored amounts, so that quotas are of a total and a sum above zero.
    let sign = if total < 0 { -1 } else { 1 };
    let turned = if sum_of_weights < 0 { -1 } else { 1 };
    let weights: Vec<BigInt> = weights.iter().map(|&w| BigInt::from(w) * turned).collect();
    let expect = crate::big::split(&BigInt::from(total).abs(), &weights, last);
    let found: Vec<BigInt> = parts.iter().map(|&part| BigInt::from(part) * sign).collect();
    prop_assert_eq!(found, expect);
    Ok(())
}

/// One step of a computation.
#[derive(Debug, Clone)]
enum Step {
    Ratio(i64, i64),
    Quantity(i64),
    Percent(i64),
    PlusPercent(i64),
    Plus(i128, i128),
    Price(i64, usize),
    Negated,
    Max(i128, i128),
}

const CURRENCIES: [&str; 4] = ["EUR", "JPY", "KWD", "CLF"];

fn step() -> impl Strategy<Value = Step> {
    let fraction = || {
        prop_oneof![
            9 => (-1_000_000_i128..1_000_000, 1_i128..100_000),
            1 => (any::<i64>().prop_map(i128::from), any::<u32>().prop_map(|d| i128::from(d) + 1)),
            1 => (any::<i128>(), 1..i128::MAX),
        ]
    };
    prop_oneof![
        3 => (-100_000_i64..100_000, 1_i64..100_000).prop_map(|(n, d)| Step::Ratio(n, d)),
        1 => (any::<i64>(), any::<i64>()).prop_map(|(n, d)| Step::Ratio(n, d)),
        2 => (0..=1_000_000_000_i64).prop_map(Step::Quantity),
        2 => (0..=10_000_000_i64).prop_map(Step::Percent),
        1 => (0..=10_000_000_i64).prop_map(Step::PlusPercent),
        3 => fraction().prop_map(|(n, d)| Step::Plus(n, d)),
        2 => (0..=10_000_000_000_000_i64, 0..4_usize).prop_map(|(price, currency)| Step::Price(price, currency)),
        1 => Just(Step::Negated),
        1 => fraction().prop_map(|(n, d)| Step::Max(n, d)),
    ]
}

fn engine(value: Exact, step: &Step) -> Option<Exact> {
    match *step {
        Step::Ratio(n, d) => value.times_ratio(n, d).ok(),
        Step::Quantity(scaled) => value.times_quantity(Quantity::from_scaled(scaled).unwrap()).ok(),
        Step::Percent(scaled) => value.percent(Percent::from_scaled(scaled).unwrap()).ok(),
        Step::PlusPercent(scaled) => value.plus_percent(Percent::from_scaled(scaled).unwrap()).ok(),
        Step::Plus(n, d) => value.plus(Exact::ratio(n, d).ok()?).ok(),
        Step::Price(scaled, currency) => {
            let currency: Currency = CURRENCIES[currency].parse().unwrap();
            value.plus(Exact::from_unit_price(UnitPrice::from_scaled(scaled).unwrap(), currency)).ok()
        }
        Step::Negated => value.negated().ok(),
        Step::Max(n, d) => value.max(Exact::ratio(n, d).ok()?).ok(),
    }
}

fn big(value: &Q, step: &Step) -> Q {
    match *step {
        Step::Ratio(n, d) => value * ratio(n, d),
        Step::Quantity(scaled) => value * ratio(scaled, 1_000),
        Step::Percent(scaled) => value * ratio(scaled, 1_000_000),
        Step::PlusPercent(scaled) => value * (whole(1) + ratio(scaled, 1_000_000)),
        Step::Plus(n, d) => value + ratio(n, d),
        Step::Price(scaled, currency) => {
            value + ratio(i128::from(scaled) * [100, 1, 1_000, 10_000][currency], 10_000)
        }
        Step::Negated => -value.clone(),
        Step::Max(n, d) => value.clone().max(ratio(n, d)),
    }
}

fn exact_or_refused(start: i64, steps: &[Step], kept: &Cell<u64>) -> TestCaseResult {
    let mut exact = Exact::from_minor(start);
    let mut expect = whole(start);
    for step in steps {
        // A step that would not fit is an error, and is left out.
        let Some(next) = engine(exact, step) else { continue };
        (exact, expect) = (next, big(&expect, step));
        count(kept);
        let (numerator, denominator) = exact.lowest_terms();
        prop_assert_eq!(&ratio(numerator, denominator), &expect, "after {:?}", step);
        prop_assert_eq!(
            (BigInt::from(numerator), BigInt::from(denominator)),
            (expect.numer().clone(), expect.denom().clone())
        );
        prop_assert_eq!(&read(&exact.to_string()), &expect);
        let bound = BigInt::from(100_000_000_000_000_i64);
        match exact.round::<kind::Net>() {
            Ok(amount) => prop_assert_eq!(BigInt::from(amount.minor()), half_up(&expect)),
            Err(_) => prop_assert!(half_up(&expect).abs() > bound, "{} not rounded", expect),
        }
    }
    Ok(())
}

#[test]
fn no_digit_is_lost() {
    let kept = Cell::new(0);
    let steps = proptest::collection::vec(step(), 1..14);
    let start = prop_oneof![-1_000..1_000_i64, any::<i64>()];
    let result = TestRunner::new(config())
        .run(&(start, steps), |(start, steps)| exact_or_refused(start, &steps, &kept));
    result.unwrap();
    let also = format!("lines computed again, {} exact steps equal to rationals", kept.get());

    law("no_digit_is_lost", &also, |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        let job = if quote.route.is_empty() { world.by(&[]) } else { world.job.clone() };
        let tariff = &world.tariff;
        let ways = ways(&job);
        for offer in &quote.offers {
            let way = way(&ways, &offer.id);
            let costs = costs(tariff, &job, way);
            let name = |unit: usize, name: &str| format!("{}/{name}", job.units[unit].id);
            let carried = carried_by_partners(tariff, &job, &costs);
            let mut expect: Vec<_> = costs
                .iter()
                .zip(carried)
                .map(|(line, carried)| {
                    (name(line.unit, &line.name), half_up(&tariff_to_job(tariff, &job, &line.cost)), carried)
                })
                .collect();
            let found = offer.costs.iter();
            let mut found: Vec<_> = found
                .map(|line| (line.id.to_string(), BigInt::from(line.cost.minor()), line.carried_by_partner))
                .collect();
            expect.sort();
            found.sort();
            prop_assert_eq!(found, expect, "cost lines of {}", way.id);

            let lines = lines_of(tariff, &job, way, &costs);
            let mut expect: Vec<_> =
                lines.iter().map(|line| (line.id.clone(), line.category, line.net.clone())).collect();
            let found = offer.lines.iter();
            let mut found: Vec<_> = found
                .map(|line| (line.id.to_string(), line.category, BigInt::from(line.net.minor())))
                .collect();
            expect.sort();
            found.sort();
            found.iter().for_each(|_| count(&tally.also));
            prop_assert_eq!(found, expect, "lines of {}", way.id);
            prop_assert_eq!(BigInt::from(offer.end.net.minor()), sum(lines.iter().map(|line| &line.net)));
        }
        prop_assert_eq!(quote.currency, currency_of(tariff, &job));
        Ok(())
    });
}
