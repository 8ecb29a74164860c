//! Largest remainder, up to three parts, or as many as are asked for.
#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing)]

use evenfare_engine::money::Overflow;
use evenfare_engine::money::kernel::{Key, Number, split};
use evenfare_proof::{Term, apart, assume, begin, facts_can_hold, promises, prove, prove_by, refute};
use z3::ast::{Bool, Int};

/// Six take the solver a quarter of an hour or more; `EVENFARE_PARTS=6` asks for them.
fn most_parts() -> usize {
    std::env::var("EVENFARE_PARTS").ok().and_then(|parts| parts.parse().ok()).unwrap_or(3)
}

/// Signs of the weights' sum and of the total: all that the kernel tells apart.
const SIGNS: [(bool, bool); 4] = [(false, false), (false, true), (true, false), (true, true)];

type Splitting = fn(&Term, &[Term], &[Term]) -> Result<Vec<Term>, Overflow>;

fn int(number: i64) -> Int {
    Int::from_i64(number)
}

fn sum<'t>(terms: impl IntoIterator<Item = &'t Term>) -> Int {
    terms.into_iter().fold(int(0), |sum, term| sum + term.int())
}

/// A total and weights, of any size, whose sum and total have those signs.
struct Split {
    total: Term,
    weights: Vec<Term>,
    places: Vec<Term>,
    parts: Vec<Term>,
    /// The weights' sum, and the total, both turned above nothing.
    divisor: Int,
    magnitude: Int,
    turned: bool,
    mirrored: bool,
    /// What is known of each quota, and of the rank.
    promises: Vec<Bool>,
    is_positive: Bool,
}

fn any_split(parts: usize, (turned, mirrored): (bool, bool), with: Splitting) -> Split {
    begin();
    let total = Term::any("total");
    let weights: Vec<Term> = (0..parts).map(|index| Term::any(&format!("weight{index}"))).collect();
    let places: Vec<Term> = (0..parts as i64).map(Term::of).collect();
    let all = sum(&weights);
    assume(&if turned { all.lt(int(0)) } else { all.gt(int(0)) });
    assume(&if mirrored { total.int().lt(int(0)) } else { total.int().ge(int(0)) });
    let divisor = if turned { -&all } else { all };
    let magnitude = if mirrored { -total.int() } else { total.int().clone() };
    let parts = with(&total, &weights, &places).unwrap();
    let is_positive = divisor.gt(int(0));
    prove("  the divisor is above nothing", &is_positive);
    let promises = promises();
    Split { total, weights, places, parts, divisor, magnitude, turned, mirrored, promises, is_positive }
}

impl Split {
    /// Quotient and remainder of each weight's quota, as the kernel has them: asking again gives the same.
    fn quotas(&self) -> Vec<(Term, Term)> {
        let zero = Term::of(0);
        let all = evenfare_engine::money::kernel::sum(&self.weights).unwrap();
        let divisor = Term::choose(&all.less(&zero), all.negated().unwrap(), all.clone());
        let magnitude =
            Term::choose(&self.total.less(&zero), self.total.negated().unwrap(), self.total.clone());
        let quota = |weight: &Term| {
            let weight = Term::choose(&all.less(&zero), weight.negated().unwrap(), weight.clone());
            weight.times(&magnitude).unwrap().div_rem_floor(&divisor).unwrap()
        };
        self.weights.iter().map(quota).collect()
    }

    fn weight(&self, index: usize) -> Int {
        let weight = self.weights[index].int();
        if self.turned { -weight } else { weight.clone() }
    }

    /// `weight x total = quotient x divisor + remainder`, and the remainder is from nothing to below the divisor.
    fn prove_quotas(&self) -> Vec<(Bool, Bool)> {
        let each = self.quotas().into_iter().enumerate().map(|(index, (quota, remainder))| {
            let adds =
                (self.weight(index) * &self.magnitude).eq(quota.int() * &self.divisor + remainder.int());
            let within = remainder.int().ge(int(0)) & remainder.int().lt(&self.divisor);
            let promised = [&self.promises[index], &self.is_positive];
            prove_by("  a quota and its remainder", promised, &adds);
            prove_by("  bounds of a remainder", promised, &within);
            (adds, within)
        });
        each.collect()
    }

    /// What the quotas leave is a whole number of units, fewer than there are parts.
    fn prove_what_is_left(&self, quotas: &[(Bool, Bool)]) -> (Int, Bool, Bool) {
        let terms = self.quotas();
        let left = &self.magnitude - sum(terms.iter().map(|(quota, _)| quota));
        let remainders = sum(terms.iter().map(|(_, remainder)| remainder));
        let together = (&left * &self.divisor).eq(&remainders);
        prove_by(
            "  what is left, in parts of the divisor, is the remainders",
            quotas.iter().map(|(adds, _)| adds),
            &together,
        );
        let parts = self.weights.len();
        let all = int(parts as i64);
        let bounds = remainders.ge(int(0)) & remainders.lt(&all * &self.divisor);
        prove_by(
            "  bounds of the remainders",
            quotas.iter().map(|(_, within)| within).chain([&self.is_positive]),
            &bounds,
        );
        let lemma = bounds_of_a_product(&left, &self.divisor, parts);
        assume(&lemma);
        let fewer = left.ge(int(0)) & left.lt(&all);
        // The products as unknowns: all the rest is linear.
        let known = [&together, &bounds, &lemma, &self.is_positive];
        prove_by("  fewer units are left than there are parts", known, &fewer);
        (left, together, fewer)
    }

    fn adds_up(&self) -> Bool {
        sum(&self.parts).eq(self.total.int())
    }

    /// `-divisor < part x divisor - weight x total < divisor`, over the divisor turned above nothing.
    fn is_within_a_unit(&self, index: usize) -> Bool {
        let part = self.parts[index].int();
        let part = if self.mirrored { -part } else { part.clone() };
        let error = part * &self.divisor - self.weight(index) * &self.magnitude;
        error.lt(&self.divisor) & error.gt(-&self.divisor)
    }
}

/// Whoever is below nothing, or not below `parts`, is so by a whole divisor at least.
fn bounds_of_a_product(left: &Int, divisor: &Int, parts: usize) -> Bool {
    let parts = int(parts as i64);
    let product = left * divisor;
    let low = left.le(int(-1)).implies(product.le(-divisor));
    let high = left.ge(&parts).implies(product.ge(&parts * divisor));
    divisor.gt(int(0)).implies(low & high)
}

/// A product whose one factor is known is known.
fn where_units_are_left(left: &Int, divisor: &Int, remainders: &Int, units: i64) -> Bool {
    let known = left.eq(int(units)).implies(remainders.eq(int(units) * divisor));
    (left * divisor).eq(remainders).implies(known)
}

/// Where the remainders are together `units` divisors, and so many units are given to those that rank first,
/// nobody gets one who has no remainder.
fn units_go_to_remainders(keys: &[Key<Term>], last: &Key<Term>, divisor: &Int, units: i64) -> Bool {
    let each = keys.iter().map(|key| key.remainder.int());
    let within = each.clone().fold(Bool::from_bool(true), |all, r| all & r.ge(int(0)) & r.lt(divisor));
    let together = each.fold(int(0), |sum, r| sum + r).eq(int(units) * divisor);
    let given = keys.iter().map(|key| key.not_after(last).ite(&int(1), &int(0)));
    let given = given.fold(int(0), |sum, one| sum + one).eq(int(units));
    let none_without = keys.iter().fold(Bool::from_bool(true), |all, key| {
        all & key.not_after(last).implies(key.remainder.int().gt(int(0)))
    });
    (divisor.gt(int(0)) & within & together & given).implies(none_without)
}

fn keys_of(remainders: impl IntoIterator<Item = Term>) -> Vec<Key<Term>> {
    let places = (0..).map(Term::of);
    remainders.into_iter().zip(places).map(|(remainder, place)| Key { remainder, place }).collect()
}

fn prove_lemmas(parts: usize) {
    apart(|| {
        let [left, divisor] = ["left", "divisor"].map(Int::new_const);
        prove("  lemma: bounds of a product", &bounds_of_a_product(&left, &divisor, parts));
    });
    for units in 0..parts as i64 {
        apart(|| {
            let [left, divisor, remainders] = ["left", "divisor", "remainders"].map(Int::new_const);
            let substituted = where_units_are_left(&left, &divisor, &remainders, units);
            prove(&format!("  lemma: {units} left, put in"), &substituted);
        });
        apart(|| {
            let keys = keys_of((0..parts).map(|index| Term::any(&format!("remainder{index}"))));
            let last = Key { remainder: Term::any("last_remainder"), place: Term::any("last_place") };
            prove(
                &format!("  lemma: {units} of {parts} units go to those with a remainder"),
                &units_go_to_remainders(&keys, &last, &Int::new_const("divisor"), units),
            );
        });
    }
}

#[test]
fn parts_add_up_and_each_is_within_a_unit() {
    for parts in 1..=most_parts() {
        prove_lemmas(parts);
        for signs in SIGNS {
            let split = any_split(parts, signs, split);
            let told = format!("largest remainder of {parts}, signs {signs:?}");
            if parts <= 2 {
                facts_can_hold();
            }
            let quotas = split.prove_quotas();
            let (left, together, fewer) = split.prove_what_is_left(&quotas);
            let within = || quotas.iter().map(|(_, within)| within);
            let rank = &split.promises[parts];
            let known = within().chain([rank, &fewer, &split.is_positive]);
            prove_by(&format!("{told}: the parts add up"), known, &split.adds_up());
            let keys = keys_of(split.quotas().into_iter().map(|(_, remainder)| remainder));
            let last = split.last(&keys);
            let mut lemmas = Vec::new();
            for units in 0..parts as i64 {
                let remainders = sum(keys.iter().map(|key| &key.remainder));
                let case = left.eq(int(units)).implies(remainders.eq(int(units) * &split.divisor));
                let substituted = where_units_are_left(&left, &split.divisor, &remainders, units);
                assume(&substituted);
                prove_by(&format!("  where {units} are left"), [&together, &substituted], &case);
                let lemma = units_go_to_remainders(&keys, &last, &split.divisor, units);
                assume(&lemma);
                lemmas.extend([case, lemma]);
            }
            for (index, key) in keys.iter().enumerate() {
                let given = key.not_after(&last).implies(key.remainder.int().gt(int(0)));
                let known = within().chain([rank, &fewer, &split.is_positive]).chain(&lemmas);
                prove_by(&format!("  part {index} gets a unit only where it has a remainder"), known, &given);
                let (adds, within) = &quotas[index];
                prove_by(
                    &format!("{told}: part {index} is within a unit"),
                    [adds, within, &given, &split.is_positive],
                    &split.is_within_a_unit(index),
                );
            }
        }
    }
}

impl Split {
    /// The key that gets the last unit, as the kernel found it.
    fn last(&self, keys: &[Key<Term>]) -> Key<Term> {
        let zero = Term::of(0);
        let magnitude =
            Term::choose(&self.total.less(&zero), self.total.negated().unwrap(), self.total.clone());
        let left = self.quotas().iter().fold(magnitude, |left, (quota, _)| left.minus(quota).unwrap());
        Term::at_rank(keys, &left, Key { remainder: zero.clone(), place: zero }).unwrap()
    }
}

#[test]
fn the_opposite_total_gives_the_opposite_parts() {
    for parts in 1..=most_parts() {
        for turned in [false, true] {
            let one = any_split(parts, (turned, false), split);
            assume(&one.total.int().gt(int(0)));
            let opposite = split(&one.total.negated().unwrap(), &one.weights, &one.places).unwrap();
            let mirrored = one.parts.iter().zip(&opposite);
            let mirrored = mirrored
                .fold(Bool::from_bool(true), |all, (part, opposite)| all & opposite.int().eq(-part.int()));
            let told = format!("largest remainder of {parts}: the opposite total gives the opposite parts");
            prove_by(&told, [], &mirrored);
        }
    }
}

/// Wrong kernels, which must be found out.
mod wrong {
    use super::*;

    /// Quotas rounded down, and nobody gets what is left.
    fn nothing_more(total: &Term, weights: &[Term], _: &[Term]) -> Result<Vec<Term>, Overflow> {
        let all = evenfare_engine::money::kernel::sum(weights)?;
        weights.iter().map(|weight| Ok(weight.times(total)?.div_rem_floor(&all)?.0)).collect()
    }

    /// What is left goes to the last one.
    fn all_to_the_last(total: &Term, weights: &[Term], places: &[Term]) -> Result<Vec<Term>, Overflow> {
        let mut parts = nothing_more(total, weights, places)?;
        let left = total.minus(&evenfare_engine::money::kernel::sum(&parts)?)?;
        let last = parts.pop().ok_or(Overflow)?;
        parts.push(last.plus(&left)?);
        Ok(parts)
    }

    /// Each quota rounded by itself.
    fn each_by_itself(total: &Term, weights: &[Term], _: &[Term]) -> Result<Vec<Term>, Overflow> {
        let all = evenfare_engine::money::kernel::sum(weights)?;
        let each = weights
            .iter()
            .map(|weight| evenfare_engine::money::kernel::round_half_up(&weight.times(total)?, &all));
        each.collect()
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
}
