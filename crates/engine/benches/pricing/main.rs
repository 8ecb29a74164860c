//! What it costs to price one job of 20 lines: figures alone, the quote with all its working, and
//! the same sums by hand.
//!
//! All three are held against each other before anything is timed.

mod by_hand;
mod plain;
mod translated;
mod world;

use std::error::Error;
use std::hint::black_box;

use criterion::Criterion;
use evenfare_engine::flag::Flag;
use evenfare_engine::money::{Gross, Net, Vat};
use evenfare_engine::quote::Offer;
use evenfare_engine::supply::VatGroup;
use evenfare_engine::tariff::Edition;
use evenfare_engine::{Figures, figures, quote};

fn main() -> Result<(), Box<dyn Error>> {
    let tariff = world::tariff()?;
    let job = world::job()?;
    let (plain_tariff, plain_job) = translated::translated(&tariff, &job)?;
    let edition = Edition::new(tariff).map_err(|problems| format!("{problems:?}"))?;

    let by_hand = by_hand::figures(&plain_tariff, &plain_job).ok_or("refused")?;
    let engine = figures(&job, &edition).map_err(|refused| refused.to_string())?;
    let quoted = quote(&job, &edition).map_err(|refused| refused.to_string())?;
    assert_eq!(of_figures(engine.first().ok_or("no offer")?), by_hand);
    assert_eq!(of_offer(quoted.main().ok_or("no offer")?), by_hand);
    assert_eq!(by_hand.lines.len(), 20);
    assert_eq!(by_hand.sales.iter().map(|sale| sale.category).collect::<Vec<_>>(), ["S", "AE", "S"]);

    let mut criterion = Criterion::default().configure_from_args();
    let mut group = criterion.benchmark_group("one job of 20 lines");
    group.bench_function("i128_by_hand", |b| {
        b.iter(|| by_hand::figures(black_box(&plain_tariff), black_box(&plain_job)));
    });
    group.bench_function("figures", |b| b.iter(|| figures(black_box(&job), black_box(&edition))));
    group.bench_function("quote", |b| b.iter(|| quote(black_box(&job), black_box(&edition))));
    group.finish();
    criterion.final_summary();
    Ok(())
}

/// The engine's figures in the shape of those by hand.
fn of_figures(figures: &Figures) -> by_hand::Figures {
    by_hand::Figures {
        end_net: figures.end_net.minor(),
        lines: minor(&figures.lines),
        vat_due: figures.vat_due.map(Vat::minor),
        cost: figures.cost.minor(),
        shares: figures.shares.iter().map(|share| share.minor()).collect(),
        workshop_net: figures.workshop_net.minor(),
        sales: figures
            .sales
            .iter()
            .map(|sale| of_sale(sale.net, &sale.lines, &sale.vat, sale.gross))
            .collect(),
        uneconomic: figures.flags.contains(&Flag::Uneconomic),
        under_floor: figures.flags.contains(&Flag::UnderFloor),
        scaled: figures.flags.contains(&Flag::SharesScaled),
    }
}

/// And those of a quoted offer.
fn of_offer(offer: &Offer) -> by_hand::Figures {
    by_hand::Figures {
        end_net: offer.end.net.minor(),
        lines: offer.lines.iter().map(|line| line.net.minor()).collect(),
        vat_due: offer.end.vat_due.map(Vat::minor),
        cost: offer.cost.minor(),
        shares: offer.shares.iter().map(|share| share.share.minor()).collect(),
        workshop_net: offer.workshop_net.minor(),
        sales: offer.sales.iter().map(|sale| of_sale(sale.net, &sale.lines, &sale.vat, sale.gross)).collect(),
        uneconomic: offer.flags.contains(&Flag::Uneconomic),
        under_floor: offer.flags.contains(&Flag::UnderFloor),
        scaled: offer.flags.contains(&Flag::SharesScaled),
    }
}

fn of_sale(net: Net, lines: &[Net], vat: &[VatGroup], gross: Gross) -> by_hand::Sale {
    by_hand::Sale {
        net: net.minor(),
        lines: minor(lines),
        category: match vat {
            [group] => group.category.code(),
            _ => "several",
        },
        tax: vat.iter().map(|group| group.tax.minor()).sum(),
        gross: gross.minor(),
    }
}

fn minor(amounts: &[Net]) -> Vec<i64> {
    amounts.iter().map(|amount| amount.minor()).collect()
}
