//! Editions as if something had been otherwise: for asking what would have been, never for a quote that is issued.

use chrono::NaiveDate;

use super::edition::Edition;
use super::entries::{Agreement, Partner, Table};
use crate::period::Span;
use crate::text::Code;

impl Edition {
    /// This edition as if it had been in force in the place of another: it prices what that one priced.
    ///
    /// Before its own first day it goes by the agreements of its first day, after its last day by those of
    /// its last; on its own days by those of the day. Reference rates and VAT rates are facts of the day and
    /// nothing that an edition proposes, so they are those of the other.
    ///
    /// An edition in its own place prices as it does: `the_same_edition_changes_nothing`.
    #[must_use]
    pub fn in_the_place_of(&self, other: &Edition) -> Edition {
        let beyond = |partner: &Partner| Partner {
            agreements: beyond_their_days(&partner.agreements, self.span),
            ..partner.clone()
        };
        Edition {
            span: other.span,
            partners: Table::from_sorted(self.partners.iter().map(|partner| beyond(partner))),
            vat_rates: other.vat_rates.clone(),
            currency_rates: other.currency_rates.clone(),
            ..self.clone()
        }
    }

    /// This edition as if that agreement with a partner had been in force on every day, and no other with
    /// him; none where the edition does not know him. Agreements with other partners stay as they are.
    ///
    /// The amounts of the agreement are taken to be of this edition's currency.
    #[must_use]
    pub fn with_agreement(&self, partner: &Code, agreement: &Agreement) -> Option<Edition> {
        self.partners.find(partner.as_str())?;
        let always = Agreement { span: Span { from: NaiveDate::MIN, until: None }, ..agreement.clone() };
        let with = |one: &Partner| match one.party.code == *partner {
            true => Partner { agreements: vec![always.clone()], ..one.clone() },
            false => one.clone(),
        };
        let partners = Table::from_sorted(self.partners.iter().map(|one| with(one)));
        Some(Edition { partners, ..self.clone() })
    }
}

/// The agreements that hold on some day of a span, the first and the last of its days stretched to all days
/// before and after.
fn beyond_their_days(agreements: &[Agreement], span: Span) -> Vec<Agreement> {
    let within = agreements.iter().filter(|agreement| agreement.span.overlaps(&span));
    let beyond = |agreement: &Agreement| {
        let Span { from, until } = agreement.span;
        let holds_at_last = |last: NaiveDate| agreement.span.contains(last);
        let stretched = Span {
            from: if agreement.span.contains(span.from) { NaiveDate::MIN } else { from },
            until: until.filter(|_| !span.until.is_some_and(holds_at_last)),
        };
        Agreement { span: stretched, ..agreement.clone() }
    };
    within.map(beyond).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tariff::UnderFloor;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap_or_default()
    }

    fn span(from: &str, until: &str) -> Span {
        Span { from: day(from), until: (!until.is_empty()).then(|| day(until)) }
    }

    /// Which of agreements with these days holds on a day, seen from an edition of 2027.
    fn check(agreements: &[(&str, &str)], on: &str, expect: Option<usize>) {
        let code = |number: usize| format!("A-{number}").parse().ok();
        let agreement = |(number, (from, until)): (usize, &(&str, &str))| {
            let (discounts, credits) = (Vec::new(), Vec::new());
            let span = span(from, until);
            Some(Agreement { code: code(number)?, span, under_floor: UnderFloor::Scale, discounts, credits })
        };
        let agreements: Vec<Agreement> = agreements.iter().enumerate().filter_map(agreement).collect();
        let beyond = beyond_their_days(&agreements, span("2027-01-01", "2027-06-30"));
        let mut holding = beyond.iter().filter(|agreement| agreement.span.contains(day(on)));
        assert_eq!(holding.next().map(|agreement| &agreement.code), expect.and_then(code).as_ref());
        assert!(holding.next().is_none(), "two hold on {on}");
    }

    #[test]
    fn the_first_day_counts_for_all_before_and_the_last_for_all_after() {
        let year = [("2026-01-01", "2026-12-31"), ("2027-01-01", "2027-03-31"), ("2027-04-01", "")];
        check(&year, "2026-07-14", Some(1));
        check(&year, "2027-03-31", Some(1));
        check(&year, "2027-04-01", Some(2));
        check(&year, "2029-01-01", Some(2));
        let ends_with_it = [("2026-05-01", "2027-06-30"), ("2027-07-01", "")];
        check(&ends_with_it, "2026-01-01", Some(0));
        check(&ends_with_it, "2027-09-01", Some(0));
        // Where none holds on its first day, none holds before.
        check(&[("2027-02-01", "2027-05-31")], "2026-07-14", None);
        check(&[("2027-02-01", "2027-05-31")], "2027-02-01", Some(0));
        check(&[("2027-02-01", "2027-05-31")], "2027-07-01", None);
    }
}
