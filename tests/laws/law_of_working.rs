//! The working works out: every figure of a quote has one, what goes into it is what stands elsewhere,
//! and whoever computes it again by its rule gets the figure.

use std::collections::BTreeMap;

use evenfare_engine::quote::{Offer, Quote};
use evenfare_engine::role::Role;
use evenfare_engine::trail::{From, Input, Rounding, Rule, Step};
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;

use crate::big::{Q, half_up, read, whole};
use crate::run::{count, fail, law};

/// The number at the head of a shown figure: `12.34 EUR`, `2.333… (7/3) EUR`, `12.5 %`.
fn number(shown: &str) -> Q {
    match shown.split_once(") ") {
        Some((number, _)) => read(number),
        None => read(shown.split(' ').next().unwrap()),
    }
}

/// What goes into a step, by what it is to it.
struct Inputs<'s>(&'s Step);

impl Inputs<'_> {
    fn of(&self, role: Role) -> impl Iterator<Item = &Input> {
        self.0.inputs.iter().filter(move |input| input.name == role.word())
    }

    fn has(&self, role: Role) -> bool {
        self.of(role).next().is_some()
    }

    fn sum(&self, role: Role) -> Q {
        self.of(role).map(|input| number(&input.shown)).sum()
    }

    fn percent(&self, role: Role) -> Q {
        self.sum(role) / whole(100)
    }

    /// What one unit of the tariff's currency is in the quote's: `0.9321 CHF for 1 EUR` stands once for
    /// each of the two that is not the euro.
    fn exchange(&self, to: &str) -> Q {
        self.of(Role::Rate).fold(whole(1), |rate, input| {
            let (units, currency) = input.shown.split_once(' ').unwrap();
            match currency.strip_suffix(" for 1 EUR") {
                Some(currency) if currency == to => rate * read(units),
                _ => rate / read(units),
            }
        })
    }
}

/// The pieces at named positions, each position once, or the largest number asked for without one: as many
/// as are planned of a part, from the number and the position of each who asks.
fn pieces<'p>(asked: impl Iterator<Item = (Q, Option<&'p str>)>) -> Q {
    let mut most: BTreeMap<Option<&str>, Q> = BTreeMap::new();
    for (pieces, position) in asked {
        let most = most.entry(position).or_insert_with(|| whole(0));
        *most = pieces.max(most.clone());
    }
    let anywhere = most.remove(&None).unwrap_or_else(|| whole(0));
    most.into_values().sum::<Q>().max(anywhere)
}

/// Who asks for a part says `2 pc at K1` or `2 pc`, and when.
fn asked_pieces(step: &Step) -> Q {
    pieces(step.inputs.iter().map(|input| {
        let asked = input.shown.split(", ").next().unwrap();
        (number(asked), asked.split_once(" at ").map(|(_, position)| position))
    }))
}

/// Who asks for an operation says `CLEAN 2 x 20 min` or `CLEAN 2 x 20 min, once for the unit`, and when;
/// the fitting of a part `2 x 6 min`.
fn asked_minutes(step: &Step) -> Q {
    let mut once: BTreeMap<&str, Q> = BTreeMap::new();
    let mut minutes = whole(0);
    for input in &step.inputs {
        let (times, each) = input.shown.split_once(" x ").unwrap();
        let each = number(each);
        match times.split_once(' ') {
            Some((code, _)) if input.shown.contains(", once for the unit") => drop(once.insert(code, each)),
            Some((_, times)) => minutes += read(times) * each,
            None => minutes += read(times) * each,
        }
    }
    minutes + once.into_values().sum::<Q>()
}

/// What is said to be done to a unit, step by step, is what its figures are of.
fn plans_hang_together(offer: &Offer) -> TestCaseResult {
    for unit in &offer.units {
        let prefix = format!("plan.{}/", unit.id);
        for step in offer.working.iter().filter(|step| step.figure.starts_with(&prefix)) {
            let (kind, code) = step.figure[prefix.len()..].split_once('/').unwrap();
            let planned = unit.plan.iter().filter(|planned| {
                planned.category.word() == kind && planned.code.as_str() == code && kind != "labour"
            });
            let planned =
                pieces(planned.map(|planned| (number(&planned.quantity), planned.position.as_deref())));
            if kind != "labour" {
                prop_assert_eq!(number(&step.result), planned, "{:?} of {:?}", step, &unit.plan);
            }
        }
    }
    Ok(())
}

/// The figure by its rule, from what is said to go into it; nothing where the rule is no sum or product
/// of those, or is held by a law of its own.
fn again(step: &Step, currency: &str) -> Option<Q> {
    let inputs = Inputs(step);
    let none = whole(0);
    Some(match step.rule {
        Rule::PlannedQuantity => asked_pieces(step),
        Rule::PlannedMinutes => asked_minutes(step),
        Rule::PlannedHours => step.inputs.iter().map(|input| number(&input.shown)).max()?,
        Rule::EndNet | Rule::CategoryNet | Rule::WorkshopCost | Rule::ChargedSum => inputs.sum(Role::Line),
        Rule::EndGross => inputs.sum(Role::Net) + inputs.sum(Role::VatDue),
        Rule::SaleGross => inputs.sum(Role::Net) + inputs.sum(Role::Vat),
        Rule::WorkshopNet => inputs.sum(Role::NetEndPrice) - inputs.sum(Role::Share),
        Rule::Contribution if step.result.is_empty() => return None,
        Rule::Contribution => inputs.sum(Role::Kept) - inputs.sum(Role::Cost),
        Rule::Available => {
            let left = inputs.sum(Role::NetEndPrice) - inputs.sum(Role::CostToBeCarried);
            (left - inputs.sum(Role::MinimumContribution)).max(none)
        }
        Rule::SaleNet if inputs.has(Role::TheEndPrice) => inputs.sum(Role::TheEndPrice),
        Rule::SaleNet => inputs.sum(Role::WhatHeSellsAt) - inputs.sum(Role::HisShare),
        Rule::ShareAsAgreed => (inputs.sum(Role::Discount) + inputs.sum(Role::Credit)).max(none),
        Rule::MinimumCharge => inputs.sum(Role::MinimumCharge) - inputs.sum(Role::LineBefore),
        Rule::UnderWarranty => none,
        Rule::MarkedUp => inputs.sum(Role::Cost) * (whole(1) + inputs.percent(Role::Markup)),
        Rule::Surcharge => inputs.sum(Role::MarkedLine) * inputs.percent(Role::Percentage),
        Rule::VatDue => inputs.sum(Role::NetEndPrice) * inputs.percent(Role::Rate),
        Rule::SaleVat => inputs.sum(Role::Base) * inputs.percent(Role::Rate),
        Rule::Threshold => {
            inputs.sum(Role::ReplacementValue) * inputs.percent(Role::Percentage) * inputs.exchange(currency)
        }
        Rule::Discount => {
            let mut pairs =
                step.inputs.chunks(2).map(|pair| (number(&pair[0].shown), number(&pair[1].shown)));
            pairs.try_fold(none, |sum, (percent, net)| Some(sum + percent * net / whole(100)))?
        }
        Rule::MinimumContribution => {
            let percentage = inputs.sum(Role::NetEndPrice) * inputs.percent(Role::Percentage);
            match step.rounding {
                Rounding::None => inputs.sum(Role::Amount) * inputs.exchange(currency),
                _ => percentage,
            }
        }
        Rule::Credit => {
            let credit = inputs.sum(Role::Credit) * inputs.exchange(currency);
            match step.rounding {
                Rounding::None => inputs.sum(Role::Line),
                _ if inputs.has(Role::UnitsChargedFor) => credit * inputs.sum(Role::UnitsChargedFor),
                _ => credit,
            }
        }
        Rule::Converted => match step.rounding {
            Rounding::Ending => -inputs.sum(Role::AtMostTheLineBefore),
            _ => inputs.sum(Role::Amount) * inputs.exchange(currency),
        },
        _ => return None,
    })
}

/// A step by itself: what it comes to by its rule, and how that was rounded.
fn works_out(step: &Step, quote: &Quote) -> TestCaseResult {
    let cents = whole(quote.currency.minor_per_major());
    let again = again(step, quote.currency.code());
    if let Some(exact) = &step.exact {
        let exact = number(exact);
        prop_assert_eq!(step.rounding, Rounding::HalfUp, "{:?}", step);
        if let Some(again) = &again {
            prop_assert_eq!(&exact, again, "{:?}", step);
        }
        if !["plan", "shipment"].iter().any(|of| step.figure.starts_with(of)) {
            // An amount of the tariff may have other cents than the quote.
            let own = step.result.split(' ').nth(1).unwrap();
            let cents = if own == quote.currency.code() {
                cents
            } else {
                let decimals =
                    step.result.split(' ').next().unwrap().split_once('.').map_or(0, |(_, d)| d.len());
                whole(10_i64.pow(decimals as u32))
            };
            prop_assert_eq!(whole(half_up(&(exact * &cents))), number(&step.result) * cents, "{:?}", step);
        }
    } else {
        prop_assert!(step.rounding != Rounding::HalfUp, "{:?}", step);
        if let Some(again) = &again {
            // An amount that holds in another currency is rounded where it is converted.
            let again = match step.rule {
                Rule::MinimumContribution => whole(half_up(&(again * &cents))) / cents,
                _ => again.clone(),
            };
            prop_assert_eq!(number(&step.result), again, "{:?}", step);
        }
    }
    if step.rule == Rule::PriceEnding {
        let inputs = Inputs(step);
        let sum = number(&step.result) + inputs.sum(Role::LineBefore);
        prop_assert!((sum / inputs.sum(Role::Ending)).is_integer(), "{:?}", step);
    }
    Ok(())
}

/// What goes into a figure from another one is what that one comes to.
fn hangs_together(offer: &Offer) -> TestCaseResult {
    let results: BTreeMap<&str, &str> =
        offer.working.iter().map(|step| (step.figure.as_str(), step.result.as_str())).collect();
    prop_assert_eq!(results.len(), offer.working.len(), "each figure of {} is worked out once", offer.id);
    for step in &offer.working {
        for input in &step.inputs {
            let From::Figure(of) = &input.from else { continue };
            let result = results.get(of.as_str());
            let result =
                *result.ok_or_else(|| fail(format!("{of} of {} is worked out nowhere", step.figure)))?;
            // Fitting takes this many of a part, each some minutes.
            let shown = if input.name == Role::Fitting.word() { result } else { input.shown.as_str() };
            prop_assert_eq!(shown, result, "{} of {}", of, &step.figure);
        }
    }
    Ok(())
}

/// Every amount of the offer, by the name of its figure.
fn amounts(offer: &Offer) -> Vec<(String, i64)> {
    let mut amounts = vec![
        ("end.net".to_owned(), offer.end.net.minor()),
        ("workshop.net".to_owned(), offer.workshop_net.minor()),
        ("cost".to_owned(), offer.cost.minor()),
        ("contribution".to_owned(), offer.workshop_net.minor() - offer.cost.minor()),
    ];
    if let Some(due) = offer.end.vat_due {
        amounts.push(("end.vat_due".to_owned(), due.minor()));
        amounts.push(("end.gross".to_owned(), offer.end.net.minor() + due.minor()));
    }
    amounts.extend(offer.lines.iter().map(|line| (format!("net.{}", line.id), line.net.minor())));
    amounts.extend(offer.costs.iter().map(|cost| (format!("cost.{}", cost.id), cost.cost.minor())));
    amounts
        .extend(offer.shares.iter().map(|share| (format!("share.{}", share.partner), share.share.minor())));
    for (number, sale) in (1..).zip(&offer.sales) {
        amounts.push((format!("sale.{number}.net"), sale.net.minor()));
        amounts.push((format!("sale.{number}.gross"), sale.gross.minor()));
        let lines = offer.lines.iter().zip(&sale.lines);
        amounts.extend(lines.map(|(line, net)| (format!("sale.{number}.line.{}", line.id), net.minor())));
        for group in &sale.vat {
            let code = group.category.code();
            // Two groups of one category are told apart by their rates.
            let alone = sale.vat.iter().filter(|other| other.category == group.category).count() == 1;
            let name = match group.rate {
                Some(rate) if !alone => format!("sale.{number}.vat.{code}-{rate}"),
                _ => format!("sale.{number}.vat.{code}"),
            };
            amounts.push((name, group.tax.minor()));
        }
    }
    amounts
}

#[test]
fn every_figure_is_worked_out() {
    law("every_figure_is_worked_out", "steps computed again", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        let cents = whole(quote.currency.minor_per_major());
        for offer in &quote.offers {
            hangs_together(offer)?;
            plans_hang_together(offer)?;
            for step in &offer.working {
                works_out(step, &quote)?;
                count(&tally.also);
            }
            for (name, minor) in amounts(offer) {
                let step = offer.working.iter().find(|step| step.figure == name);
                let step =
                    step.ok_or_else(|| fail(format!("{name} of {} is worked out nowhere", offer.id)))?;
                if step.result.is_empty() {
                    continue;
                }
                prop_assert_eq!(number(&step.result) * &cents, whole(minor), "{:?}", step);
                prop_assert!(step.result.ends_with(quote.currency.code()), "{:?}", step);
            }
            for line in &offer.lines {
                let cost = offer.costs.iter().find(|cost| cost.id == line.id);
                prop_assert_eq!(
                    &line.quantity,
                    cost.map_or("", |cost| cost.quantity.as_str()),
                    "{}",
                    line.id
                );
            }
            let wholesale = offer.working.iter().filter(|step| step.rule == Rule::SaleLine);
            for step in wholesale {
                let inputs = Inputs(step);
                let is_last = inputs.sum(Role::WhatTheBuyerPaysInAll) == inputs.sum(Role::NetEndPrice);
                let rounding = if is_last { Rounding::None } else { Rounding::LargestRemainder };
                prop_assert_eq!(step.rounding, rounding, "{:?}", step);
            }
        }
        Ok(())
    });
}
