//! A quote of either engine as names of figures and what stands there, so that two can be held
//! against each other line by line.

use std::collections::BTreeMap;
use std::fmt::Display;

use evenfare_engine::Refused as Declined;
use evenfare_engine::quote::{Offer as Offered, Quote as Sealed};
use num_rational::BigRational;

use crate::engine::{Offer, Quote, Refused};

/// Figures by their names.
#[derive(Default)]
pub struct Figures(BTreeMap<String, String>);

impl Figures {
    fn put(&mut self, name: impl Display, figure: impl Display) {
        self.0.insert(name.to_string(), figure.to_string());
    }

    /// Where they differ from others, in words.
    pub fn unlike(&self, others: &Self) -> Vec<String> {
        let names = self.0.keys().chain(others.0.keys().filter(|name| !self.0.contains_key(*name)));
        let differs = |name: &String| {
            let (ours, theirs) = (self.0.get(name), others.0.get(name));
            (ours != theirs).then(|| format!("{name}: engine {ours:?}, second {theirs:?}"))
        };
        names.filter_map(differs).collect()
    }
}

/// In ten-thousandths of a percent, as the engine keeps it.
fn scaled(rate: &BigRational) -> String {
    (rate * BigRational::from_integer(10_000.into())).to_string()
}

fn or_none<T: Display>(figure: Option<T>) -> String {
    figure.map_or("none".into(), |figure| figure.to_string())
}

/// What the engine says.
pub fn of_engine(quote: &Result<Sealed, Declined>) -> Figures {
    let mut figures = Figures::default();
    match quote {
        Ok(quote) => {
            let days = [quote.quoted, quote.valid_until, quote.dispatch, quote.tax_date];
            figures.put("days", format!("{days:?}"));
            quote.offers.iter().for_each(|offer| engine_offer(&mut figures, offer));
            for floor in &quote.refused {
                figures.put(
                    format!("{}/refused", floor.offer),
                    format!("{} {}", floor.shares.minor(), floor.available.minor()),
                );
            }
        }
        Err(Declined::Job(problems)) => {
            for problem in problems {
                figures.put(format!("mistake {}", problem.code), "told");
            }
        }
        Err(Declined::UnderTheFloor(floor)) => {
            figures.put("main/refused", format!("{} {}", floor.shares.minor(), floor.available.minor()));
        }
        Err(other) => figures.put("refused", other.code()),
    }
    figures
}

fn engine_offer(figures: &mut Figures, offer: &Offered) {
    let id = &offer.id;
    for (place, line) in offer.lines.iter().enumerate() {
        figures.put(format!("{id}/line {place}"), format!("{} {}", line.id, line.net.minor()));
    }
    figures.put(format!("{id}/end"), offer.end.net.minor());
    figures.put(format!("{id}/vat rate"), or_none(offer.end.vat_rate.map(|rate| rate.scaled())));
    figures.put(format!("{id}/vat due"), or_none(offer.end.vat_due.map(|vat| vat.minor())));
    for (place, sale) in offer.sales.iter().enumerate() {
        let lines: Vec<i64> = sale.lines.iter().map(|net| net.minor()).collect();
        figures.put(
            format!("{id}/sale {place}"),
            format!("{} {} {lines:?}", sale.net.minor(), sale.gross.minor()),
        );
        for group in &sale.vat {
            let name = format!(
                "{id}/sale {place} {} {}",
                group.category.code(),
                or_none(group.rate.map(|rate| rate.scaled()))
            );
            figures.put(name, format!("{} {}", group.base.minor(), group.tax.minor()));
        }
    }
    for (place, share) in offer.shares.iter().enumerate() {
        figures.put(format!("{id}/share {place}"), share.share.minor());
    }
    figures.put(format!("{id}/workshop"), offer.workshop_net.minor());
    for (place, cost) in offer.costs.iter().enumerate() {
        figures.put(
            format!("{id}/cost {place}"),
            format!("{} {} {}", cost.id, cost.cost.minor(), cost.carried_by_partner),
        );
    }
    figures.put(format!("{id}/cost"), offer.cost.minor());
    for flag in &offer.flags {
        figures.put(format!("{id}/flag {}", flag.code()), "raised");
    }
    for unit in &offer.units {
        let warranty =
            unit.warranty.as_ref().map(|it| format!("{} {} {}", it.from, it.until, or_none(it.cycles)));
        figures.put(format!("{id}/{} warranty", unit.id), or_none(warranty));
        for excluded in unit.warranty.iter().flat_map(|it| it.excludes.iter().enumerate()) {
            figures.put(format!("{id}/{} excludes {}", unit.id, excluded.0), excluded.1);
        }
        let cover = unit.open_cover.as_ref().map(|it| format!("{} {}", it.until, or_none(it.cycles_left)));
        figures.put(format!("{id}/{} cover", unit.id), or_none(cover));
    }
}

/// What the second engine says; `units` are the names of the units.
pub fn of_second(quote: &Result<Quote, Refused>, units: &[String]) -> Figures {
    let mut figures = Figures::default();
    match quote {
        Ok(quote) => {
            figures.put("days", format!("{:?}", quote.days.map(|day| day.0)));
            quote.offers.iter().for_each(|offer| second_offer(&mut figures, offer, units));
            for (id, floor) in &quote.refused {
                figures.put(format!("{id}/refused"), format!("{} {}", floor.shares, floor.available));
            }
        }
        Err(Refused::Mistakes(mistakes)) => {
            mistakes.iter().for_each(|kind| figures.put(format!("mistake {kind}"), "told"))
        }
        Err(Refused::UnderTheFloor(floor)) => {
            figures.put("main/refused", format!("{} {}", floor.shares, floor.available))
        }
        Err(Refused::TooLarge) => figures.put("refused", "too_large"),
    }
    figures
}

fn second_offer(figures: &mut Figures, offer: &Offer, units: &[String]) {
    let id = &offer.id;
    for (place, (name, net)) in offer.lines.iter().enumerate() {
        figures.put(format!("{id}/line {place}"), format!("{name} {net}"));
    }
    figures.put(format!("{id}/end"), &offer.end_net);
    figures.put(format!("{id}/vat rate"), or_none(offer.vat_rate.as_ref().map(scaled)));
    figures.put(format!("{id}/vat due"), or_none(offer.vat_due.as_ref()));
    for (place, sale) in offer.sales.iter().enumerate() {
        let lines = sale.lines.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
        figures.put(format!("{id}/sale {place}"), format!("{} {} [{lines}]", sale.net, sale.gross));
        for ((category, rate), (base, tax)) in &sale.groups {
            let rate = (*category != "O").then(|| scaled(rate));
            figures.put(format!("{id}/sale {place} {category} {}", or_none(rate)), format!("{base} {tax}"));
        }
    }
    for (place, share) in offer.shares.iter().enumerate() {
        figures.put(format!("{id}/share {place}"), share);
    }
    figures.put(format!("{id}/workshop"), &offer.sales[0].net);
    for (place, (name, cost, carried)) in offer.costs.iter().enumerate() {
        figures.put(format!("{id}/cost {place}"), format!("{name} {cost} {carried}"));
    }
    figures.put(format!("{id}/cost"), &offer.cost);
    for flag in &offer.flags {
        figures.put(format!("{id}/flag {flag}"), "raised");
    }
    for (place, unit) in units.iter().enumerate() {
        let warranty = offer.warranties[place].map(|it| format!("{} {} {}", it.0.0, it.1.0, or_none(it.2)));
        for excluded in warranty.iter().flat_map(|_| offer.excludes[place].iter().enumerate()) {
            figures.put(format!("{id}/{unit} excludes {}", excluded.0), excluded.1);
        }
        figures.put(format!("{id}/{unit} warranty"), or_none(warranty));
        let cover = offer.covers[place].map(|it| format!("{} {}", it.0.0, or_none(it.1)));
        figures.put(format!("{id}/{unit} cover"), or_none(cover));
    }
}
