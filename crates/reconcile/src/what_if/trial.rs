//! What all quotes of a period would have come to, together and by partner, family and route.

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::sync::Arc;

use evenfare_engine::money::{Currency, Overflow};
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;

use super::proposal::{Objection, Tried};
use crate::margin::{Margin, Parts};

/// So many of the largest changes are kept.
pub const MOST_CHANGES: usize = 5;
/// So many examples of a reason are kept.
pub const MOST_EXAMPLES: usize = 5;
/// Changes of end prices are counted by these steps: up to 2 %, up to 5 %, up to 10 %, more.
pub const STEPS_PERCENT: [i64; 3] = [2, 5, 10];

/// Where those are counted that stay the same; cheaper ones stand before it, dearer ones after.
const SAME: usize = STEPS_PERCENT.len() + 1;
/// More, less, and the same.
const STEPS: usize = SAME * 2 + 1;

/// What quotes came to, and what they would have come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Compared {
    /// As they were issued.
    pub then: Margin,
    /// By the proposed edition.
    pub now: Margin,
}

/// End prices that change by about as much, in the quotes' own currencies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// What they would have been, held against what they were.
    pub now: Ordering,
    /// By more than that many percent, either way.
    pub more_than_percent: i64,
    /// By that many percent at most; none where there is no bound.
    pub at_most_percent: Option<i64>,
    /// How many.
    pub quotes: u64,
}

/// A quote whose end price would have been another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its number.
    pub number: Box<str>,
    /// Which offer.
    pub offer: Box<str>,
    /// The partners, nearest to the workshop first.
    pub route: Vec<Arc<str>>,
    /// What it came to, in minor units of the trial's currency.
    pub then_minor: i64,
    /// What it would have come to.
    pub now_minor: i64,
}

/// Quotes that there would not have been for one reason.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Refusals {
    /// How many.
    pub quotes: u64,
    /// The end prices that they had, net, as far as there is a rate to convert them by.
    pub end_net_minor: i64,
    /// Some of them, each with another text; the first that came.
    pub examples: Vec<Example>,
}

/// A quote that there would not have been.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example {
    /// Its number.
    pub number: Box<str>,
    /// Why.
    pub text: String,
}

/// A proposed edition, tried on the quotes of a period. All amounts are of its own currency.
///
/// What was refused counts among the refusals and nowhere else, so that both sides of a comparison are of
/// the same quotes. Obeys `totals_are_sums_of_parts` and `the_same_edition_changes_nothing`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trial {
    /// The proposed edition.
    pub edition: Code,
    /// Of every amount.
    pub currency: Currency,
    /// All that can be compared.
    pub all: Compared,
    /// By partner on the route: what he keeps, and what the quotes with him come to. A quote of two partners
    /// counts for both.
    pub by_partner: BTreeMap<Arc<str>, Compared>,
    /// By family. A quote of two families counts for both, with its part.
    pub by_family: BTreeMap<Arc<str>, Compared>,
    /// By route; none is direct.
    pub by_route: BTreeMap<Vec<Arc<str>>, Compared>,
    /// How many of those that can be compared were quoted in another currency, and converted.
    pub converted: u64,
    /// From much cheaper by the same to much dearer.
    by_step: [u64; STEPS],
    /// The largest changes of end prices, the largest first.
    pub largest: Vec<Change>,
    /// What there would have been no quote for, by reason.
    pub refused: BTreeMap<&'static str, Refusals>,
}

impl Trial {
    /// Nothing tried so far.
    pub fn new(proposed: &Edition) -> Self {
        Self::of(proposed.code().clone(), proposed.currency())
    }

    fn of(edition: Code, currency: Currency) -> Self {
        Self {
            edition,
            currency,
            all: Compared::default(),
            by_partner: BTreeMap::new(),
            by_family: BTreeMap::new(),
            by_route: BTreeMap::new(),
            converted: 0,
            by_step: [0; STEPS],
            largest: Vec::new(),
            refused: BTreeMap::new(),
        }
    }

    /// How many quotes were tried so far.
    pub fn tried(&self) -> u64 {
        self.all.then.quotes.saturating_add(self.refusals())
    }

    /// How many of them there would not have been.
    pub fn refusals(&self) -> u64 {
        self.refused.values().fold(0, |sum, refusals| sum.saturating_add(refusals.quotes))
    }

    /// How many would have been cheaper.
    pub fn cheaper(&self) -> u64 {
        self.by_step.iter().take(SAME).sum()
    }

    /// How many would have been the same.
    pub fn same(&self) -> u64 {
        self.by_step.iter().skip(SAME).take(1).sum()
    }

    /// How many would have been dearer.
    pub fn dearer(&self) -> u64 {
        self.by_step.iter().skip(SAME).skip(1).sum()
    }

    /// How many end prices change by how much, from much cheaper by the same to much dearer.
    pub fn steps(&self) -> impl Iterator<Item = Step> {
        let bounds = [0].into_iter().chain(STEPS_PERCENT);
        let ends = STEPS_PERCENT.into_iter().map(Some).chain([None]);
        let up = bounds.zip(ends).map(|(more_than_percent, at_most_percent)| Step {
            now: Ordering::Greater,
            more_than_percent,
            at_most_percent,
            quotes: 0,
        });
        let up: Vec<Step> = up.collect();
        let down = up.clone().into_iter().rev().map(|step| Step { now: Ordering::Less, ..step });
        let same = Step { now: Ordering::Equal, more_than_percent: 0, at_most_percent: Some(0), quotes: 0 };
        let steps = down.chain([same]).chain(up);
        steps.zip(self.by_step).map(|(step, quotes)| Step { quotes, ..step })
    }

    /// Adds one more.
    ///
    /// # Errors
    /// [`Overflow`] where a sum is too large.
    pub fn add(&mut self, tried: &Tried) -> Result<(), Overflow> {
        match (&tried.now, &tried.common) {
            (Ok(now), Some((then_parts, Some(now_parts)))) => {
                if let Some(count) = self.by_step.get_mut(step(&tried.then, now)) {
                    *count = count.saturating_add(1);
                }
                self.compare(tried, then_parts, now_parts)
            }
            (Err(objection), common) => {
                let end = common.as_ref().map_or(0, |(then, _)| then.whole.end_net_minor);
                self.refuse(&tried.number, end, objection)
            }
            // What was priced was converted as well.
            (Ok(_), _) => Err(Overflow),
        }
    }

    fn compare(&mut self, tried: &Tried, then: &Parts, now: &Parts) -> Result<(), Overflow> {
        self.all.plus(then.whole, now.whole)?;
        self.converted = self.converted.saturating_add(u64::from(tried.currency != self.currency));
        match self.by_route.get_mut(&tried.route) {
            Some(known) => known.plus(then.whole, now.whole)?,
            None => self.by_route.entry(tried.route.clone()).or_default().plus(then.whole, now.whole)?,
        }
        for (partner, (before, after)) in tried.route.iter().zip(then.partners.iter().zip(&now.partners)) {
            let his = |whole, shares_minor| Margin { shares_minor, ..whole };
            entry(&mut self.by_partner, partner).plus(his(then.whole, *before), his(now.whole, *after))?;
        }
        for (family, (before, after)) in tried.families.iter().zip(then.families.iter().zip(&now.families)) {
            entry(&mut self.by_family, family).plus(*before, *after)?;
        }
        self.rank(Change {
            number: tried.number.clone(),
            offer: tried.offer.clone(),
            route: tried.route.clone(),
            then_minor: then.whole.end_net_minor,
            now_minor: now.whole.end_net_minor,
        });
        Ok(())
    }

    /// Keeps a change where it is one of the largest; of two as large, that of the lower number stands first.
    fn rank(&mut self, change: Change) {
        let size = |change: &Change| change.now_minor.abs_diff(change.then_minor);
        let order =
            |other: &Change| size(&change).cmp(&size(other)).then_with(|| other.number.cmp(&change.number));
        let place = self.largest.partition_point(|other| order(other).is_lt());
        if size(&change) > 0 {
            self.largest.insert(place, change);
            self.largest.truncate(MOST_CHANGES);
        }
    }

    fn refuse(&mut self, number: &str, end: i64, objection: &Objection) -> Result<(), Overflow> {
        let refusals = self.refused.entry(objection.code).or_default();
        refusals.quotes = refusals.quotes.saturating_add(1);
        refusals.end_net_minor = refusals.end_net_minor.checked_add(end).ok_or(Overflow)?;
        let is_new = !refusals.examples.iter().any(|example| example.text == objection.text);
        if is_new && refusals.examples.len() < MOST_EXAMPLES {
            refusals.examples.push(Example { number: number.into(), text: objection.text.clone() });
        }
        Ok(())
    }
}

impl Compared {
    fn plus(&mut self, then: Margin, now: Margin) -> Result<(), Overflow> {
        self.then.plus(then)?;
        self.now.plus(now)
    }
}

fn entry<'m>(sums: &'m mut BTreeMap<Arc<str>, Compared>, name: &Arc<str>) -> &'m mut Compared {
    sums.entry(Arc::clone(name)).or_default()
}

/// Where a change is counted: by how many of the steps it is past, on either side of no change.
fn step(then: &Margin, now: &Margin) -> usize {
    let (then, now) = (i128::from(then.end_net_minor), i128::from(now.end_net_minor));
    let change = now.abs_diff(then).saturating_mul(100);
    let past = |percent: &&i64| change > then.unsigned_abs().saturating_mul(percent.unsigned_abs().into());
    let steps = STEPS_PERCENT.iter().filter(past).count().saturating_add(1);
    match now.cmp(&then) {
        Ordering::Less => SAME.saturating_sub(steps),
        Ordering::Equal => SAME,
        Ordering::Greater => SAME.saturating_add(steps),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    /// Half of it is cost.
    fn margin(end_net_minor: i64, shares_minor: i64) -> Margin {
        let workshop_net_minor = end_net_minor - shares_minor;
        Margin { quotes: 1, end_net_minor, shares_minor, workshop_net_minor, cost_minor: end_net_minor / 2 }
    }

    /// Two partners keep a tenth and a twentieth; of two families one is a quarter of it.
    fn parts(end: i64) -> Parts {
        let family = |quarters: i64| margin(end * quarters / 4, end * quarters * 3 / 80);
        let (partners, families) = (vec![end / 10, end / 20], vec![family(1), family(3)]);
        Parts { whole: margin(end, end * 3 / 20), partners, families }
    }

    /// A quote in that currency, with what it came to and would come to in both currencies alike.
    fn tried(number: &str, currency: &str, then: i64, now: Result<i64, Objection>) -> Tried {
        Tried {
            number: number.into(),
            revision: 1,
            reference: "J-1".parse().unwrap(),
            quoted: NaiveDate::default(),
            edition: "2026-07".parse().unwrap(),
            offer: "main".into(),
            route: vec!["P-1".into(), "P-2".into()],
            currency: currency.parse().unwrap(),
            then: parts(then).whole,
            common: Some((parts(then), now.as_ref().ok().map(|now| parts(*now)))),
            now: now.map(|now| parts(now).whole),
            families: vec!["MIXER".into(), "OVEN".into()],
        }
    }

    fn trial(all: &[Tried]) -> Trial {
        let mut trial = Trial::of("2027-01".parse().unwrap(), "EUR".parse().unwrap());
        all.iter().for_each(|one| trial.add(one).unwrap());
        trial
    }

    #[test]
    fn what_quotes_come_to_is_added_up_as_a_whole_and_in_parts() {
        let trial = trial(&[
            tried("Q-1", "EUR", 40_000, Ok(44_000)),
            tried("Q-2", "USD", 80_000, Ok(80_000)),
            tried("Q-3", "EUR", 4_000, Ok(3_600)),
        ]);
        let of = |both: &Compared| {
            [both.then, both.now].map(|sum| (sum.quotes, sum.end_net_minor, sum.shares_minor, sum.cost_minor))
        };
        let all = [(3, 124_000, 18_600, 62_000), (3, 127_600, 19_140, 63_800)];
        assert_eq!((of(&trial.all), trial.by_route.values().map(of).collect::<Vec<_>>()), (all, vec![all]));
        assert_eq!(
            of(&trial.by_partner["P-1"]),
            [(3, 124_000, 12_400, 62_000), (3, 127_600, 12_760, 63_800)]
        );
        assert_eq!(of(&trial.by_partner["P-2"]), [(3, 124_000, 6_200, 62_000), (3, 127_600, 6_380, 63_800)]);
        assert_eq!(of(&trial.by_family["MIXER"]), [(3, 31_000, 4_650, 15_500), (3, 31_900, 4_785, 15_950)]);
        assert_eq!(of(&trial.by_family["OVEN"]), [(3, 93_000, 13_950, 46_500), (3, 95_700, 14_355, 47_850)]);
        assert_eq!((trial.converted, trial.tried(), trial.refusals()), (1, 3, 0));
        // A tenth more, the same, and a tenth less.
        assert_eq!((trial.cheaper(), trial.same(), trial.dearer()), (1, 1, 1));
        let (less, more) = (Ordering::Less, Ordering::Greater);
        let steps = trial.steps().filter(|step| step.quotes > 0);
        let steps: Vec<_> = steps.map(|one| (one.now, one.more_than_percent, one.at_most_percent)).collect();
        assert_eq!(steps, [(less, 5, Some(10)), (Ordering::Equal, 0, Some(0)), (more, 5, Some(10))]);
        let largest = trial.largest.iter().map(|one| (&*one.number, one.then_minor, one.now_minor));
        assert_eq!(largest.collect::<Vec<_>>(), [("Q-1", 40_000, 44_000), ("Q-3", 4_000, 3_600)]);
    }

    /// Each reason with the first few that say something else.
    #[test]
    fn what_is_refused_is_counted_by_reason() {
        let refused = |number: usize, code, text: &str| {
            let objection = Objection { code, text: text.to_owned() };
            tried(&format!("Q-{number}"), "EUR", 1_000, Err(objection))
        };
        let texts = ["a", "b", "b", "c", "d", "e", "f"];
        let mut all: Vec<Tried> =
            texts.iter().enumerate().map(|(number, text)| refused(number, "unknown_part", text)).collect();
        all.push(refused(7, "unknown_extra", "g"));
        // What it was worth is not known.
        all.push(Tried { common: None, ..refused(8, "unknown_extra", "h") });
        let trial = trial(&all);
        let of = |code: &str| {
            let Refusals { quotes, end_net_minor, examples } = &trial.refused[code];
            let examples: Vec<&str> = examples.iter().map(|one| &*one.number).collect();
            (*quotes, *end_net_minor, examples.join(" "))
        };
        assert_eq!(of("unknown_part"), (7, 7_000, "Q-0 Q-1 Q-3 Q-4 Q-5".to_owned()));
        assert_eq!(of("unknown_extra"), (2, 1_000, "Q-7 Q-8".to_owned()));
        assert_eq!((trial.tried(), trial.refusals(), trial.all.then.quotes), (9, 9, 0));
        assert_eq!((trial.cheaper(), trial.same(), trial.dearer()), (0, 0, 0));
    }

    fn check(then: i64, now: i64, expect: usize) {
        let margin = |end_net_minor| Margin { end_net_minor, ..Margin::default() };
        assert_eq!(step(&margin(then), &margin(now)), expect, "{then} to {now}");
    }

    #[test]
    fn changes_are_counted_by_exact_steps() {
        check(10_000, 10_000, 4);
        check(10_000, 10_001, 5);
        check(10_000, 10_200, 5);
        check(10_000, 10_201, 6);
        check(10_000, 10_501, 7);
        check(10_000, 11_001, 8);
        check(10_000, 9_800, 3);
        check(10_000, 8_999, 0);
        check(0, 1, 8);
        check(0, 0, 4);
    }

    #[test]
    fn the_largest_changes_are_kept_whatever_their_order() {
        let eur = "EUR".parse().ok();
        let change = |number: i64| Change {
            number: format!("Q-{number}").into(),
            offer: "main".into(),
            route: Vec::new(),
            then_minor: 100,
            now_minor: 100 + number % 4,
        };
        let ranked = |numbers: &mut dyn Iterator<Item = i64>| {
            let mut trial = Trial::of("E".parse().ok()?, eur?);
            numbers.for_each(|number| trial.rank(change(number)));
            Some(trial.largest.iter().map(|change| change.number.to_string()).collect::<Vec<_>>())
        };
        let expected = ["Q-3", "Q-7", "Q-2", "Q-6", "Q-1"].map(str::to_owned).to_vec();
        assert_eq!(ranked(&mut (0..9)), Some(expected.clone()));
        assert_eq!(ranked(&mut (0..9).rev()), Some(expected));
    }
}
