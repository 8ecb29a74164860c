//! What it costs to price one job of 20 lines: figures alone, the quote with all its working, and
//! the same sums by hand and by Python's `decimal`.
//!
//! All are held against each other. `cargo bench -p evenfare-engine --bench pricing`.

#![allow(clippy::indexing_slicing, clippy::float_arithmetic)]

mod by_decimal;
mod by_hand;
mod plain;
mod translated;
#[path = "../../../../benches/turns.rs"]
mod turns;
mod world;

use std::error::Error;
use std::hint::black_box;

use evenfare_engine::flag::Flag;
use evenfare_engine::money::{Gross, Net, Vat};
use evenfare_engine::quote::Offer;
use evenfare_engine::supply::VatGroup;
use evenfare_engine::tariff::Edition;
use evenfare_engine::{Figures, brief, figures, planned, quote};

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

    let [hand, engine, brief, planned, quoted] = turns::timed([
        &mut || drop(black_box(by_hand::figures(black_box(&plain_tariff), black_box(&plain_job)))),
        &mut || drop(black_box(figures(black_box(&job), black_box(&edition)))),
        &mut || drop(black_box(brief(black_box(&job), black_box(&edition)))),
        &mut || drop(black_box(planned(black_box(&job), black_box(&edition)))),
        &mut || drop(black_box(quote(black_box(&job), black_box(&edition)))),
    ]);
    let of =
        [("by hand", hand), ("figures", engine), ("brief", brief), ("planned", planned), ("quote", quoted)];
    for (name, seconds) in of {
        println!("{name:<8} {:>8.2} \u{b5}s {:>6.1} times by hand", seconds * 1e6, seconds / hand);
    }
    let shown = |seconds: f64| format!("{:.1} \u{b5}s", seconds * 1e6);
    println!("row|figures|{}|{}|{:.2}", shown(engine), shown(hand), hand / engine);
    match by_decimal::seconds(&plain_tariff, &plain_job, &by_hand)? {
        Some(decimal) => {
            println!("row|decimal|{}|{}|{:.0}", shown(engine), shown(decimal), decimal / engine);
        }
        None => println!("without|decimal|there is no python3"),
    }
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
