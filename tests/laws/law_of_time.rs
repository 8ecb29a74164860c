//! The same job under the same edition gives the same bytes, whatever order its rows are in.

use evenfare_engine::quote::Quote;
use evenfare_engine::tariff::{Edition, Tariff};
use evenfare_engine::view::{Reader, view};
use evenfare_engine::{quote, revised};
use proptest::prelude::*;

use crate::run::{count, fail, law};
use crate::tape::Draw;
use crate::worlds::shuffle;

fn bytes(quote: &Quote) -> Vec<u8> {
    serde_json::to_vec(&view(quote, &Reader::Office)).unwrap()
}

/// The same rows in another order, in every table and in every list in a row.
fn shuffled(draw: &mut Draw<'_>, tariff: &Tariff) -> Tariff {
    let mut tariff = tariff.clone();
    macro_rules! shuffled {
        ($($table:ident)*) => { $(shuffle(draw, &mut tariff.$table);)* };
    }
    shuffled!(markups grades parts price_breaks operations tests findings finding_steps families
        flat_prices refresh wear zones courier_rates extras partners agreements discounts credits
        vat_rates currency_rates);
    shuffle(draw, &mut tariff.price.flat_covers);
    tariff.extras.iter_mut().for_each(|extra| shuffle(draw, &mut extra.categories));
    tariff
}

#[test]
fn same_edition_same_bytes() {
    law("same_edition_same_bytes", "editions read in another order", |world, tally| {
        let Some(first) = world.quote(tally)? else { return Ok(()) };
        let mut job = world.job.clone();
        if first.route.is_empty() {
            job.route.clear();
        }
        let written = bytes(&first);
        let again = quote(&job, &world.edition).map_err(|refused| fail(format!("again: {refused:?}")))?;
        prop_assert!(written == bytes(&again), "priced twice, two results");

        let tariff = shuffled(&mut world.choices(2), &world.tariff);
        let edition = Edition::new(tariff).map_err(|problems| fail(format!("shuffled: {problems:?}")))?;
        count(&tally.also);
        // Extras and works taken over are sets as well.
        shuffle(&mut world.choices(3), &mut job.extras);
        for stop in &mut job.route {
            stop.takes_over.iter_mut().for_each(|works| shuffle(&mut world.choices(4), works));
        }
        let shuffled = world
            .priced_by(&job, &edition, tally)
            .map_err(|refused| fail(format!("shuffled: {refused:?}")))?;
        prop_assert_eq!(String::from_utf8(written), String::from_utf8(bytes(&shuffled)));

        // Through JSON and back the job and the tariff are what they were.
        let job_again = serde_json::from_str(&serde_json::to_string(&job).unwrap()).unwrap();
        prop_assert_eq!(&job, &job_again);
        let tariff_again: Tariff =
            serde_json::from_str(&serde_json::to_string(&world.tariff).unwrap()).unwrap();
        prop_assert_eq!(&world.tariff, &tariff_again);
        let revision =
            revised(&first, &job, &edition).map_err(|refused| fail(format!("revised: {refused:?}")))?;
        prop_assert_eq!(&revision.offers, &shuffled.offers);
        Ok(())
    });
}
