//! The end price, what each partner keeps of it, and what is left for the workshop.
#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing)]

use evenfare_engine::money::Overflow;
use evenfare_engine::money::kernel::{
    Number, millionths, multiple_below, round_half_up, share, sum, walk_back,
};
use evenfare_proof::{Term, assume, begin, facts_can_hold, prove, refute};
use z3::ast::{Bool, Int};

const MOST_PARTNERS: usize = 6;
const CATEGORIES: usize = 3;

fn int(number: i64) -> Int {
    Int::from_i64(number)
}

/// A partner's agreement: millionths of each category's net, and fixed credits.
struct Agreement {
    millionths: Vec<Term>,
    credits: Term,
}

fn any_agreement(name: &str) -> Agreement {
    let of = |category| Term::any(&format!("{name}_millionths{category}"));
    Agreement {
        millionths: (0..CATEGORIES).map(of).collect(),
        credits: Term::any(&format!("{name}_credits")),
    }
}

fn share_of(agreement: &Agreement, nets: &[Term]) -> Result<Term, Overflow> {
    let exact = millionths(nets.iter().cloned().zip(agreement.millionths.iter().cloned()))?;
    share(&round_half_up(&exact, &Term::of(1_000_000))?, &agreement.credits)
}

/// Costs that are marked up, each line rounded once, and the price ending.
struct Work {
    costs: Vec<Term>,
    markups: Vec<Term>,
    bias: Term,
    step: Term,
}

fn any_work(name: &str) -> Work {
    let each = |what: &str| (0..CATEGORIES).map(|n| Term::any(&format!("{name}_{what}{n}"))).collect();
    let work = Work {
        costs: each("cost"),
        markups: each("markup"),
        bias: Term::any(&format!("{name}_bias")),
        step: Term::any(&format!("{name}_step")),
    };
    assume(&work.step.int().gt(int(0)));
    work
}

struct Priced {
    end: Term,
    nets: Vec<Term>,
    shares: Vec<Term>,
    sales: Vec<Term>,
}

/// A job priced by a route. The end price is worked out before anybody looks at the route.
fn priced(work: &Work, route: &[Agreement]) -> Result<Priced, Overflow> {
    priced_with(work, route, |markup, _| Ok(markup.clone()))
}

fn priced_with(
    work: &Work,
    route: &[Agreement],
    markup: impl Fn(&Term, &[Agreement]) -> Result<Term, Overflow>,
) -> Result<Priced, Overflow> {
    let million = Term::of(1_000_000);
    let lines = work
        .costs
        .iter()
        .zip(&work.markups)
        .map(|(cost, rate)| round_half_up(&cost.times(&million.plus(&markup(rate, route)?)?)?, &million));
    let mut nets = lines.collect::<Result<Vec<_>, Overflow>>()?;
    let before = sum(&nets)?;
    nets.push(multiple_below(&before, &work.bias, &work.step)?.minus(&before)?);
    let end = sum(&nets)?;
    let shares = route.iter().map(|partner| share_of(partner, &nets)).collect::<Result<Vec<_>, _>>()?;
    let sales = walk_back(&end, &shares)?;
    Ok(Priced { end, nets, shares, sales })
}

#[test]
fn shares_and_what_the_workshop_keeps_add_up_to_the_end_price() {
    for partners in 0..=MOST_PARTNERS {
        begin();
        let route: Vec<Agreement> = (0..partners).map(|n| any_agreement(&format!("partner{n}"))).collect();
        let priced = priced(&any_work("job"), &route).unwrap();
        if partners == 0 {
            facts_can_hold();
        }
        assert_eq!(priced.sales.len(), partners + 1);
        let kept = priced.shares.iter().fold(priced.sales[0].int().clone(), |sum, share| sum + share.int());
        let told = format!("{partners} partners");
        prove(
            &format!("{told}: shares and the workshop's net are the end price"),
            &kept.eq(priced.end.int()),
        );
        let last = &priced.sales[partners];
        prove(&format!("{told}: the end customer pays the end price"), &last.int().eq(priced.end.int()));
        let lines = priced.nets.iter().fold(int(0), |sum, net| sum + net.int());
        prove(&format!("{told}: the lines add up to it"), &lines.eq(priced.end.int()));
        for (n, share) in priced.shares.iter().enumerate() {
            let (buys, sells) = (priced.sales[n].int(), priced.sales[n + 1].int());
            let keeps = (sells - buys).eq(share.int()) & buys.le(sells);
            prove(
                &format!("{told}: partner {n} keeps his share, and never sells below what he pays"),
                &keeps,
            );
        }
    }
}

fn is_as_agreed(kept: &Term, nets: &[Term], agreement: &Agreement) -> Bool {
    let products = nets.iter().zip(&agreement.millionths).map(|(net, rate)| net.int() * rate.int());
    let exact = products.fold(int(0), |sum, product| sum + product);
    // Twice what the share is too large by, in millionths, where it is more than nothing.
    let error = int(2_000_000) * (kept.int() - agreement.credits.int()) - int(2) * &exact;
    let half = error.le(int(1_000_000)) & error.ge(int(-1_000_000));
    let at_most_half = (int(2) * exact + int(2_000_000) * agreement.credits.int()).le(int(1_000_000));
    kept.int().ge(int(0)) & (half | (kept.int().eq(int(0)) & at_most_half))
}

#[test]
fn a_share_is_as_agreed() {
    begin();
    let agreement = any_agreement("partner");
    let nets: Vec<Term> = (0..CATEGORIES).map(|n| Term::any(&format!("net{n}"))).collect();
    let kept = share_of(&agreement, &nets).unwrap();
    facts_can_hold();
    prove(
        "a share: half a unit at most from discounts and credits, or nothing where they come to half a unit at most",
        &is_as_agreed(&kept, &nets, &agreement),
    );
}

/// The same job by two routes of their own lengths and agreements.
fn by_two_routes(
    one: usize,
    other: usize,
    leak: impl Fn(&Term, &[Agreement]) -> Result<Term, Overflow>,
) -> Bool {
    let work = any_work("job");
    let route = |name: &str, partners| -> Vec<Agreement> {
        (0..partners).map(|n| any_agreement(&format!("{name}{n}"))).collect()
    };
    let one = priced_with(&work, &route("one", one), &leak).unwrap();
    let other = priced_with(&work, &route("other", other), &leak).unwrap();
    one.end.int().eq(other.end.int())
}

#[test]
fn the_end_price_is_the_same_by_any_route() {
    for one in 0..=MOST_PARTNERS {
        for other in one..=MOST_PARTNERS {
            begin();
            let same = by_two_routes(one, other, |markup, _| Ok(markup.clone()));
            prove(&format!("the end price is the same by routes of {one} and {other} partners"), &same);
        }
    }
}

#[test]
fn an_ending_takes_the_price_to_a_multiple() {
    begin();
    let [sum, step] = ["sum", "step"].map(Term::any);
    assume(&step.int().gt(int(0)));
    let below = multiple_below(&sum, &Term::of(0), &step).unwrap();
    let lower = below.int().le(sum.int()) & below.int().gt(sum.int() - step.int());
    prove("an ending below: not above the sum, and less than a step away", &lower);
    let above = multiple_below(&sum, &step.minus(&Term::of(1)).unwrap(), &step).unwrap();
    let higher = above.int().ge(sum.int()) & above.int().lt(sum.int() + step.int());
    prove("an ending above: not below the sum, and less than a step away", &higher);
    let (whole, _) = sum.div_rem_floor(&step).unwrap();
    prove("an ending is a whole multiple", &below.int().eq(whole.int() * step.int()));
}

/// Wrong computations, which must be found out.
mod wrong {
    use super::*;

    #[test]
    fn a_markup_that_reads_the_route_is_found_out() {
        let leak = |markup: &Term, route: &[Agreement]| match route.first() {
            Some(partner) => markup.plus(&partner.millionths[0]),
            None => Ok(markup.clone()),
        };
        for (one, other) in [(0, 1), (1, 1)] {
            begin();
            a_plain_job();
            refute(
                "a markup that reads the route: the end price is the same",
                &by_two_routes(one, other, leak),
            );
        }
    }

    /// A plain job is enough, and its contradiction is quickly found.
    fn a_plain_job() {
        let plain = any_work("job");
        plain.costs.iter().for_each(|cost| assume(&cost.int().eq(int(1_000))));
        plain.markups.iter().for_each(|markup| assume(&markup.int().eq(int(0))));
        assume(&(plain.bias.int().eq(int(0)) & plain.step.int().eq(int(1))));
        for millionths in ["one0", "other0"].into_iter().flat_map(|name| any_agreement(name).millionths) {
            assume(&(millionths.int().ge(int(0)) & millionths.int().le(int(500_000))));
        }
    }

    #[test]
    fn a_net_of_the_workshop_rounded_by_itself_is_found_out() {
        begin();
        let (end, rate) = (Term::any("end"), Term::any("rate"));
        assume(&(end.int().ge(int(0)) & end.int().le(int(1_000))));
        assume(&(rate.int().ge(int(0)) & rate.int().le(int(1_000_000))));
        let million = Term::of(1_000_000);
        let kept = round_half_up(&end.times(&rate).unwrap(), &million).unwrap();
        let left = round_half_up(&end.times(&million.minus(&rate).unwrap()).unwrap(), &million).unwrap();
        let whole = (kept.int() + left.int()).eq(end.int());
        refute("the workshop's net rounded by itself: shares and net are the end price", &whole);
    }

    #[test]
    fn credits_on_the_wrong_side_are_found_out() {
        begin();
        let agreement = any_agreement("partner");
        let rates = agreement.millionths.iter().chain([&agreement.credits]);
        rates.for_each(|rate| assume(&(rate.int().ge(int(1)) & rate.int().le(int(1_000_000)))));
        let nets: Vec<Term> = (0..CATEGORIES).map(|_| Term::of(1_000)).collect();
        let opposite = Agreement {
            millionths: agreement.millionths.clone(),
            credits: agreement.credits.negated().unwrap(),
        };
        let kept = share_of(&opposite, &nets).unwrap();
        refute("credits on the wrong side: a share is as agreed", &is_as_agreed(&kept, &nets, &agreement));
    }

    #[test]
    fn a_share_below_nothing_is_found_out() {
        begin();
        let end = Term::any("end");
        let share = Term::any("discount").plus(&Term::any("credits")).unwrap();
        let sales = walk_back(&end, &[share]).unwrap();
        refute(
            "shares without a lower bound: nobody sells below what he pays",
            &sales[0].int().le(sales[1].int()),
        );
    }
}
