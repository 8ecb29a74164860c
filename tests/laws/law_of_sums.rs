//! Lines add up, net and VAT are gross, a reversal is the mirror image.

use evenfare_engine::category::Category;
use evenfare_engine::quote::{Offer, Quote, Standing};
use evenfare_engine::supply::VatCategory;
use evenfare_engine::view::{OfferView, Reader, View, view};
use evenfare_engine::{figures, routes};
use num_bigint::BigInt;
use num_traits::Signed;
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;
use serde_json::Value;

use crate::big::{half_up, ratio, split, whole};
use crate::naive::{EndLine, end_lines, groups, way, ways};
use crate::run::{Tally, count, fail, law};
use crate::worlds::World;

#[test]
fn lines_add_up_to_total() {
    law("lines_add_up_to_total", "lines of sales", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        for offer in &quote.offers {
            let end = offer.end.net.minor();
            prop_assert_eq!(offer.lines.iter().map(|line| line.net.minor()).sum::<i64>(), end);
            let mut ids: Vec<&str> = offer.lines.iter().map(|line| line.id.as_str()).collect();
            ids.sort();
            ids.dedup();
            prop_assert_eq!(ids.len(), offer.lines.len(), "each line has a name of its own");
            let cost: i64 = offer
                .costs
                .iter()
                .filter(|cost| !cost.carried_by_partner)
                .map(|cost| cost.cost.minor())
                .sum();
            prop_assert_eq!(cost, offer.cost.minor());
            for sale in &offer.sales {
                let net = sale.net.minor();
                prop_assert_eq!(sale.lines.iter().map(|line| line.minor()).sum::<i64>(), net);
                prop_assert_eq!(sale.lines.len(), offer.lines.len());
                if end != 0 {
                    let weights: Vec<BigInt> =
                        offer.lines.iter().map(|line| line.net.minor().into()).collect();
                    let parts: Vec<BigInt> = sale.lines.iter().map(|line| line.minor().into()).collect();
                    prop_assert_eq!(
                        parts,
                        split(&net.into(), &weights, false),
                        "what {} pays by line",
                        sale.buyer
                    );
                }
                for (line, part) in offer.lines.iter().zip(&sale.lines).filter(|_| end != 0) {
                    let quota = ratio(i128::from(line.net.minor()) * i128::from(net), end);
                    let off = (whole(part.minor()) - quota).abs();
                    prop_assert!(off < whole(1), "{} of {}: {} beside its quota", line.id, sale.buyer, off);
                    count(&tally.also);
                }
            }
        }
        figures_are_those_of_the_quote(world, &quote)
    });
}

/// The quick way to the figures is the same computation.
fn figures_are_those_of_the_quote(world: &World, quote: &Quote) -> TestCaseResult {
    let job = if quote.route.is_empty() { world.by(&[]) } else { world.job.clone() };
    let figures = figures(&job, &world.edition).map_err(|refused| fail(format!("figures: {refused:?}")))?;
    prop_assert_eq!(figures.len(), quote.offers.len());
    for (figures, offer) in figures.iter().zip(&quote.offers) {
        prop_assert_eq!(figures.end_net, offer.end.net);
        prop_assert_eq!(&figures.lines, &offer.lines.iter().map(|line| line.net).collect::<Vec<_>>());
        prop_assert_eq!(figures.vat_due, offer.end.vat_due);
        prop_assert_eq!(figures.cost, offer.cost);
        prop_assert_eq!(figures.workshop_net, offer.workshop_net);
        prop_assert_eq!(&figures.flags, &offer.flags);
        let sales: Vec<_> =
            figures.sales.iter().map(|sale| (sale.net, &sale.lines, &sale.vat, sale.gross)).collect();
        let expect: Vec<_> =
            offer.sales.iter().map(|sale| (sale.net, &sale.lines, &sale.vat, sale.gross)).collect();
        prop_assert_eq!(sales, expect);
    }
    Ok(())
}

#[test]
fn net_plus_vat_is_gross() {
    law("net_plus_vat_is_gross", "sales of several groups", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        let ways = ways(&world.job);
        for offer in &quote.offers {
            let way = way(&ways, &offer.id);
            let goods: Vec<bool> =
                end_lines(&world.tariff, &world.job, way).iter().map(|line| line.goods).collect();
            prop_assert_eq!(goods.len(), offer.lines.len());
            taxed(world, &quote, offer, &goods, tally)?;
            let gross = offer.end.vat_due.map(|due| offer.end.net.minor() + due.minor());
            let shown = view(&quote, &Reader::Customer).unwrap();
            prop_assert_eq!(shown.offer(&offer.id).unwrap().end.gross_minor, gross);
        }
        Ok(())
    });
}

/// Each sale taxed by its own seller and buyer, once for a category.
fn taxed(world: &World, quote: &Quote, offer: &Offer, goods: &[bool], tally: &Tally) -> TestCaseResult {
    let chain: Vec<_> =
        std::iter::once(&quote.workshop).chain(&quote.route).chain([&quote.customer]).collect();
    prop_assert_eq!(offer.sales.len() + 1, chain.len());
    for (sale, parties) in offer.sales.iter().zip(chain.windows(2)) {
        prop_assert_eq!((&sale.seller, &sale.buyer), (&parties[0].code, &parties[1].code));
        let party = |index: usize| (parties[index].country, parties[index].vat_id.as_deref());
        let lines = sale.lines.iter().zip(goods).map(|(net, goods)| (BigInt::from(net.minor()), *goods));
        let home = quote.workshop.country;
        let at_home = (quote.customer.country == home).then_some(home);
        let expect = groups(&world.tariff, quote.tax_date, (party(0), party(1)), at_home, lines);
        let found: std::collections::BTreeMap<_, _> = sale
            .vat
            .iter()
            .map(|group| {
                let key = (group.category.code(), group.rate.map_or(0, |rate| rate.scaled()));
                (key, (BigInt::from(group.base.minor()), BigInt::from(group.tax.minor())))
            })
            .collect();
        prop_assert_eq!(&found, &expect, "{} to {}", &sale.seller, &sale.buyer);
        prop_assert_eq!(sale.vat.len(), found.len(), "one group for a category and rate");
        let tax: i64 = sale.vat.iter().map(|group| group.tax.minor()).sum();
        prop_assert_eq!(sale.gross.minor(), sale.net.minor() + tax);
        for group in &sale.vat {
            let code = group.category.code();
            // EN 16931: a rate above zero at S, zero at AE, K and G, none at O.
            let rate = group.rate.map(|rate| rate.scaled());
            match code {
                "S" => prop_assert!(rate.is_some_and(|rate| rate > 0), "S at {rate:?}"),
                "O" => prop_assert_eq!(rate, None),
                _ => prop_assert_eq!(rate, Some(0)),
            }
            let identified = !matches!(code, "AE" | "K") || parties[1].vat_id.is_some();
            prop_assert!(identified, "{code} to {} without a VAT identifier", sale.buyer);
        }
        if sale.vat.len() > 1 {
            count(&tally.also);
        }
    }
    Ok(())
}

#[test]
fn lines_add_up_to_their_vat_group() {
    law("lines_add_up_to_their_vat_group", "sales of several groups", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        let reversal = quote.reversed().map_err(|why| fail(format!("the reversal does not seal: {why}")))?;
        let readers = [Reader::Office, Reader::Customer];
        let partners = quote.route.iter().map(|partner| Reader::Partner(partner.code.clone()));
        for reader in readers.into_iter().chain(partners) {
            for quote in [&quote, &reversal] {
                let seen = view(quote, &reader).unwrap();
                for offer in seen.offers() {
                    of_groups(world, &seen, offer, tally)?;
                }
            }
        }
        Ok(())
    });
}

fn of_the_whole_job(line: &EndLine) -> bool {
    matches!(line.category, Category::Surcharge | Category::Minimum | Category::Ending)
}

/// Each line stands in the group that it was charged in, and a group has no other lines.
fn of_groups(world: &World, seen: &View, offer: &OfferView, tally: &Tally) -> TestCaseResult {
    let lines = end_lines(&world.tariff, &world.job, way(&ways(&world.job), &offer.offer));
    for sale in &offer.sales {
        let groups =
            seen.groups_of_lines(offer, sale).ok_or_else(|| fail("a sale of the view has groups"))?;
        prop_assert_eq!(groups.len(), sale.lines.len());
        for group in &sale.vat {
            let own = sale.lines.iter().zip(&groups).filter(|(_, of)| **of == group);
            prop_assert_eq!(own.map(|(line, _)| line.net_minor).sum::<i64>(), group.base_minor);
        }
        if let [_, _] = sale.vat.as_slice() {
            count(&tally.also);
            let of = |goods: bool| {
                let line = lines.iter().position(|line| line.goods == goods && !of_the_whole_job(line));
                groups[line.unwrap()]
            };
            // Lines of the whole job may be in either, where they come to nothing together.
            for (line, group) in lines.iter().zip(&groups).filter(|(line, _)| !of_the_whole_job(line)) {
                prop_assert_eq!(*group, of(line.goods), "{}", line.id);
            }
            prop_assert!(of(true).category != VatCategory::AE && of(false).category != VatCategory::K);
            prop_assert!(of(false).category != VatCategory::G);
        }
    }
    Ok(())
}

#[test]
fn reversal_mirrors_quote() {
    law("reversal_mirrors_quote", "amounts turned round", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        mirrored(&quote, tally)?;
        // And those that name an alternative which the route cannot carry.
        for (_, quote) in routes(&world.job, &world.edition) {
            if let Some(quote) = quote.ok().filter(|quote| !quote.refused.is_empty()) {
                count(&tally.quotes);
                mirrored(&quote, tally)?;
            }
        }
        Ok(())
    });
}

fn mirrored(quote: &Quote, tally: &Tally) -> TestCaseResult {
    let reversal = quote.reversed().map_err(|why| fail(format!("the reversal does not seal: {why}")))?;
    prop_assert_eq!(quote.standing, Standing::Revision(1));
    prop_assert_eq!(reversal.standing, Standing::Reversal(1));
    let json = |quote: &Quote| serde_json::to_value(view(quote, &Reader::Office)).unwrap();
    let mut mirrored = json(quote);
    turn_round(&mut mirrored, &mut || count(&tally.also));
    mirrored["reversal"] = Value::Bool(true);
    prop_assert_eq!(mirrored, json(&reversal));
    for sale in reversal.offers.iter().flat_map(|offer| &offer.sales) {
        for group in &sale.vat {
            let rate = group.rate.map_or(0, |rate| rate.scaled());
            let tax = half_up(&(whole(group.base.minor()) * ratio(rate, 1_000_000)));
            prop_assert_eq!(BigInt::from(group.tax.minor()), tax);
        }
    }
    let again = reversal.reversed().map_err(|why| fail(format!("twice reversed does not seal: {why}")))?;
    prop_assert_eq!(&again, quote);
    Ok(())
}

/// Every amount with the other sign: in the office's view their names end in `_minor`.
fn turn_round(value: &mut Value, turned: &mut impl FnMut()) {
    match value {
        Value::Object(fields) => {
            for (name, field) in fields {
                match field.as_i64() {
                    Some(minor) if name.ends_with("_minor") => {
                        *field = Value::from(-minor);
                        turned();
                    }
                    _ => turn_round(field, turned),
                }
            }
        }
        Value::Array(entries) => entries.iter_mut().for_each(|entry| turn_round(entry, turned)),
        _ => {}
    }
}
