//! A split of unknowns, and the steps from what the kernel met on its way to what is claimed of it.

use evenfare_engine::money::Overflow;
use evenfare_proof::{
    Division, Rank, Term, assume, begin, divisions, lemma, lemma_of, products, prove_by, prove_linear,
};
use z3::ast::{Ast, Bool, Int};

pub type Splitting = fn(&Term, &[Term], &[Term]) -> Result<Vec<Term>, Overflow>;

pub fn int(number: i64) -> Int {
    Int::from_i64(number)
}

fn sum<'t>(terms: impl IntoIterator<Item = &'t Int>) -> Int {
    terms.into_iter().fold(int(0), |sum, term| sum + term)
}

pub fn all(of: impl IntoIterator<Item = Bool>) -> Bool {
    of.into_iter().fold(Bool::from_bool(true), |all, each| all & each)
}

/// A total and weights, of any size, whose total and sum have those signs.
pub struct Split {
    pub total: Term,
    pub weights: Vec<Term>,
    pub places: Vec<Term>,
    pub parts: Vec<Term>,
    turned: bool,
    mirrored: bool,
    /// One for each weight.
    divisions: Vec<Division>,
    /// What the kernel divides by.
    divisor: Int,
    /// It is the weights' sum, turned above nothing.
    is_sum: Bool,
    is_positive: Bool,
    /// The total, turned above nothing.
    magnitude: Int,
}

pub fn any_split(parts: usize, (turned, mirrored): (bool, bool), with: Splitting) -> Split {
    begin();
    let each =
        |what: &str| -> Vec<Term> { (0..parts).map(|index| Term::any(&format!("{what}{index}"))).collect() };
    let (total, weights, places) = (Term::any("total"), each("weight"), each("place"));
    let together = sum(weights.iter().map(Term::int));
    let sign = if turned { together.lt(int(0)) } else { together.gt(int(0)) };
    assume(&sign);
    assume(&if mirrored { total.int().lt(int(0)) } else { total.int().ge(int(0)) });
    if parts > 1 {
        assume(&Int::distinct(&places.iter().map(Term::int).collect::<Vec<_>>()));
    }
    let magnitude = if mirrored { -total.int() } else { total.int().clone() };
    let shared_out = with(&total, &weights, &places).unwrap();
    let divisions = divisions();
    assert_eq!((divisions.len(), shared_out.len()), (parts, parts));
    let divisor = divisions[0].divisor.clone();
    assert!(divisions.iter().all(|division| division.divisor == divisor));
    let is_sum = divisor.eq(if turned { -together } else { together });
    prove_linear("the divisor is the weights' sum", [], &is_sum);
    let is_positive = divisor.gt(int(0));
    prove_linear("the divisor is above nothing", [&is_sum, &sign], &is_positive);
    Split {
        total,
        weights,
        places,
        parts: shared_out,
        turned,
        mirrored,
        divisions,
        divisor,
        is_sum,
        is_positive,
        magnitude,
    }
}

/// What is known of a quota and its remainder.
pub struct Quota {
    /// `weight x total = quotient x divisor + remainder`.
    adds: Bool,
    /// The remainder is from nothing to below the divisor.
    within: Bool,
}

/// What is known of the units that the quotas leave.
pub struct Left {
    /// What they are, in parts of the divisor, is the remainders.
    is_remainders: Bool,
    /// They are fewer than the parts.
    is_fewer: Bool,
    /// They are all given away.
    pub is_given: Bool,
}

impl Split {
    /// A weight, turned as their sum is.
    fn weight(&self, index: usize) -> Int {
        let weight = self.weights[index].int();
        if self.turned { -weight } else { weight.clone() }
    }

    /// A part, turned as the total is.
    fn part(&self, index: usize) -> Int {
        let part = self.parts[index].int();
        if self.mirrored { -part } else { part.clone() }
    }

    fn remainder(&self, index: usize) -> &Int {
        &self.divisions[index].remainder
    }

    fn remainders(&self) -> Int {
        sum(self.divisions.iter().map(|division| &division.remainder))
    }

    pub fn adds_up(&self) -> Bool {
        sum(self.parts.iter().map(Term::int)).eq(self.total.int())
    }

    /// `-divisor < part x divisor - weight x total < divisor`, of part, weight and total as they are turned.
    pub fn is_within_a_unit(&self, index: usize) -> Bool {
        let error = self.part(index) * &self.divisor - self.weight(index) * &self.magnitude;
        error.lt(&self.divisor) & error.gt(-&self.divisor)
    }

    /// Each part is its quota, or one unit more, and where one has a unit and another has none, the one has the
    /// larger remainder, or the same and the lower place.
    pub fn goes_by_remainders(&self) -> Vec<Bool> {
        let parts = 0..self.parts.len();
        let has =
            |index: usize, units: i64| self.part(index).eq(&self.divisions[index].quotient + int(units));
        let stands_before = |one: usize, other: usize| {
            let (remainder, behind) = (self.remainder(one), self.remainder(other));
            let lower = self.places[one].int().lt(self.places[other].int());
            remainder.gt(behind) | (remainder.eq(behind) & lower)
        };
        let units = parts.clone().map(|index| has(index, 0) | has(index, 1));
        let pairs = parts.clone().flat_map(|one| parts.clone().map(move |other| (one, other)));
        let pairs = pairs.filter(|(one, other)| one != other);
        let order =
            pairs.map(|(one, other)| (has(one, 1) & has(other, 0)).implies(stands_before(one, other)));
        units.chain(order).collect()
    }

    pub fn prove_quotas(&self) -> Vec<Quota> {
        let each = self.divisions.iter().enumerate().map(|(index, division)| {
            let Division { quotient, remainder, promise, .. } = division;
            let adds = (self.weight(index) * &self.magnitude).eq(quotient * &self.divisor + remainder);
            let within = remainder.ge(int(0)) & remainder.lt(&self.divisor);
            prove_by("a quota and its remainder", [promise, &self.is_positive], &adds);
            prove_linear("bounds of a remainder", [promise, &self.is_positive], &within);
            Quota { adds, within }
        });
        each.collect()
    }

    pub fn prove_left(&self, quotas: &[Quota], rank: &Rank) -> Left {
        let left = &rank.rank;
        let weights: Vec<Int> = (0..self.weights.len()).map(|index| self.weight(index)).collect();
        let of_weights = prove_product_of_sum(&weights, &self.divisor, &self.is_sum, &self.magnitude);
        let quotients = self.divisions.iter().map(|division| &division.quotient);
        let terms: Vec<Int> = [left].into_iter().chain(quotients).cloned().collect();
        let is_total = self.magnitude.eq(sum(&terms));
        prove_linear("the quotas and what they leave are the total", [], &is_total);
        let of_quotas = prove_product_of_sum(&terms, &self.magnitude, &is_total, &self.divisor);
        let commute = lemma("factors may change places", products::commute, [&self.divisor, &self.magnitude]);
        let is_remainders = (left * &self.divisor).eq(self.remainders());
        let known = quotas.iter().map(|quota| &quota.adds).chain([&of_weights, &of_quotas, &commute]);
        prove_linear("what is left, in parts of the divisor, is the remainders", known, &is_remainders);

        let within = || quotas.iter().map(|quota| &quota.within).chain([&self.is_positive]);
        let parts = self.weights.len() as i64;
        let bounds = lemma("bounds of a product", products::of_bounded(parts), [left, &self.divisor]);
        let is_fewer = left.ge(int(0)) & left.lt(int(parts));
        let known = within().chain([&is_remainders, &bounds]);
        prove_linear("fewer units are left than there are parts", known, &is_fewer);

        let is_given = sum(&given(rank)).eq(left);
        let known = within().chain([&rank.promise, &is_fewer]);
        prove_linear("as many units are given as are left", known, &is_given);
        Left { is_remainders, is_fewer, is_given }
    }

    /// Nobody gets a unit who has no remainder.
    pub fn prove_units_go_to_remainders(&self, quotas: &[Quota], rank: &Rank, left: &Left) -> Vec<Bool> {
        let parts = self.weights.len();
        let of_units: Vec<Bool> =
            (0..parts as i64).map(|units| self.prove_so_many(units, rank, left)).collect();
        let given = given(rank);
        let each = (0..parts).map(|one| {
            let others: Vec<usize> = (0..parts).filter(|index| *index != one).collect();
            let (has_it, has_none) = (&rank.reached[one], self.remainder(one).le(int(0)));
            let before: Vec<Bool> = others
                .iter()
                .map(|other| {
                    let needs_it = self.remainder(*other).gt(int(0));
                    let before = (has_it & &has_none & needs_it).implies(given[*other].eq(int(1)));
                    prove_linear("who has a remainder stands before one who has none", [], &before);
                    before
                })
                .collect();
            let remainders = others.iter().map(|other| self.remainder(*other));
            let numbers: Vec<&Int> = [&self.divisor]
                .into_iter()
                .chain(remainders)
                .chain(others.iter().map(|other| &given[*other]))
                .collect();
            let needed: Vec<Bool> = (0..parts as i64)
                .map(|units| {
                    let told = format!("{units} units for {parts}: one for nothing leaves too few");
                    let too_few = lemma_of(&told, |any| others_get_too_few(any, units), &numbers);
                    let needed = (rank.rank.eq(int(units)) & has_it).implies(has_none.not());
                    let known = quotas.iter().map(|quota| &quota.within).chain(&before);
                    let known =
                        known.chain([&too_few, &of_units[units as usize], &left.is_given, &self.is_positive]);
                    prove_linear("a unit only for a remainder, where so many are left", known, &needed);
                    needed
                })
                .collect();
            let needs = has_it.implies(has_none.not());
            prove_linear("a unit only for a remainder", needed.iter().chain([&left.is_fewer]), &needs);
            needs
        });
        each.collect()
    }

    /// Where so many units are left, the remainders are so many divisors.
    fn prove_so_many(&self, units: i64, rank: &Rank, left: &Left) -> Bool {
        let told = format!("{units} times a factor");
        let product = lemma(&told, products::of_known(units), [&rank.rank, &self.divisor]);
        let so_many = rank.rank.eq(int(units)).implies(self.remainders().eq(int(units) * &self.divisor));
        prove_linear("so many units, so many divisors", [&left.is_remainders, &product], &so_many);
        so_many
    }

    pub fn prove_within_a_unit(&self, index: usize, quota: &Quota, needs: &Bool) -> Bool {
        let (part, quotient) = (self.part(index), &self.divisions[index].quotient);
        let numbers = [&part, quotient, &self.divisor];
        let none = lemma("equals times a factor", products::of_equals, numbers);
        let one = lemma("one more times a factor", products::of_one_more, numbers);
        let within = self.is_within_a_unit(index);
        let known = [&quota.adds, &quota.within, needs, &none, &one, &self.is_positive];
        prove_linear("a part is within a unit", known, &within);
        within
    }

    /// Of nothing, everybody gets nothing: the one total that is its own opposite.
    pub fn prove_nothing_of_nothing(&self, index: usize, within: &Bool) -> Bool {
        let part = self.part(index);
        let product =
            lemma("0 times a factor", products::of_known(0), [&self.magnitude, &self.weight(index)]);
        let commute =
            lemma("factors may change places", products::commute, [&self.magnitude, &self.weight(index)]);
        let bounds = lemma("bounds of a product", products::of_bounded(1), [&part, &self.divisor]);
        let nothing = self.total.int().eq(int(0)).implies(self.parts[index].int().eq(int(0)));
        let known = [within, &product, &commute, &bounds, &self.is_positive];
        prove_linear("nothing of nothing", known, &nothing);
        nothing
    }
}

/// A sum times a factor is its terms times that factor.
fn prove_product_of_sum(terms: &[Int], sum: &Int, is_sum: &Bool, factor: &Int) -> Bool {
    let mut so_far = terms[0].clone();
    let mut known = vec![is_sum.clone()];
    for term in &terms[1..] {
        known.push(lemma("a sum times a factor", products::of_a_sum, [&so_far, term, factor]));
        so_far += term;
    }
    known.push(lemma("equals times a factor", products::of_equals, [&so_far, sum, factor]));
    let each = terms.iter().fold(int(0), |all, term| all + term * factor);
    let follows = (sum * factor).eq(each);
    prove_linear("a sum times a factor", &known, &follows);
    follows
}

/// The units that each part gets besides its quota.
fn given(rank: &Rank) -> Vec<Int> {
    rank.reached.iter().map(|reached| reached.ite(&int(1), &int(0))).collect()
}

/// Of a divisor, some remainders, and the units that each of them gets: where one of so many units went to
/// somebody else, and everybody gets one who has a remainder, the remainders are not so many divisors.
fn others_get_too_few(numbers: &[Int], units: i64) -> Bool {
    let (divisor, rest) = (&numbers[0], &numbers[1..]);
    let (remainders, given) = rest.split_at(rest.len() / 2);
    let each = all(remainders.iter().zip(given).map(|(remainder, given)| {
        let within = remainder.ge(int(0)) & remainder.lt(divisor);
        let at_most_one = given.ge(int(0)) & given.le(int(1));
        within & at_most_one & remainder.gt(int(0)).implies(given.eq(int(1)))
    }));
    let one_is_gone = sum(given).eq(int(units - 1));
    (divisor.gt(int(0)) & each & one_is_gone).implies(sum(remainders).eq(int(units) * divisor).not())
}

pub fn all_are_opposite(parts: &[Term], others: &[Term]) -> Bool {
    assert_eq!(parts.len(), others.len());
    all(parts.iter().zip(others).map(|(part, other)| other.int().eq(-part.int())))
}
