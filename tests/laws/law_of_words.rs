//! Words are no figures: the language that somebody reads in changes no amount, and what a quote says
//! of its reasons can be read back.

use evenfare_engine::figures;
use evenfare_engine::job::{Customer, Job};
use evenfare_engine::language::Language;
use evenfare_engine::view::{Reader, View, view};
use evenfare_engine::why::Why;
use proptest::prelude::*;

use crate::run::{count, fail, law};
use crate::worlds::World;

/// The view without the languages of its parties.
fn without_languages(mut view: View) -> View {
    let route = view.route.iter_mut();
    route.chain([&mut view.workshop, &mut view.customer]).for_each(|party| party.language = None);
    view
}

#[test]
fn language_changes_no_figure() {
    law("language_changes_no_figure", "other languages", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        let seen = view(&quote, &Reader::Office).map(without_languages);
        let job = if quote.route.is_empty() { world.by(&[]) } else { world.job.clone() };
        let expected = figures(&job, &world.edition);
        let mut draw = world.choices(0);
        let languages: Vec<Option<Language>> =
            [None].into_iter().chain(Language::ALL.iter().copied().map(Some)).collect();
        for &language in &languages {
            let customer = Customer { language, ..job.customer.clone() };
            let job = Job { customer, ..job.clone() };
            let mut tariff = world.tariff.clone();
            tariff.partners.iter_mut().for_each(|partner| partner.language = *draw.pick(&languages));
            let other =
                World::with(world, tariff, job).map_err(|problems| fail(format!("refused: {problems:?}")))?;
            prop_assert_eq!(&figures(&other.job, &other.edition), &expected);
            let quote = other.quoted(&other.job, tally).map_err(|refused| fail(format!("{refused:?}")))?;
            prop_assert_eq!(quote.customer.language, language);
            prop_assert_eq!(&view(&quote, &Reader::Office).map(without_languages), &seen);
            count(&tally.also);
        }
        Ok(())
    });
}

#[test]
fn every_why_is_read_back() {
    law("every_why_is_read_back", "reasons", |world, tally| {
        let Some(quote) = world.quote(tally)? else { return Ok(()) };
        for step in quote.offers.iter().flat_map(|offer| &offer.units).flat_map(|unit| &unit.plan) {
            let text = step.why.to_string();
            let read: Result<Why, _> = text.parse();
            prop_assert_eq!(read.as_ref(), Ok(&step.why), "{}", text);
            prop_assert!(!step.why.reasons().is_empty(), "{} is there without a reason", step.code);
            step.why.reasons().iter().for_each(|_| count(&tally.also));
        }
        Ok(())
    });
}
