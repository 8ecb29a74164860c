//! Why a job is not priced at all: every reason, each once.

use std::collections::BTreeSet;

use chrono::Datelike;

use super::cost::{leg_rate, zone};
use super::days::{Day, holds};
use super::numbers::{Dec, whole};
use super::price::exchange_rate;
use super::tables::{Finding, Job, Parcel, Tariff, Unit};
use super::vat::{ends, treatment};
use super::{dispatch, quoted, tax_date, ways};

/// Identifiers with sound check digits, each with its country; no other is sound.
pub const SOUND_VAT_IDS: [(&str, &str); 13] = [
    ("AT", "ATU13585627"),
    ("BE", "BE0428759497"),
    ("CH", "CHE-083.016.613 MWST"),
    ("CZ", "CZ22007431"),
    ("DE", "DE136695976"),
    ("DE", "DE215148546"),
    ("FR", "FR31241157882"),
    ("GB", "XI123456782"),
    ("GR", "EL123456783"),
    ("IT", "IT00743110157"),
    ("NL", "NL004495445B01"),
    ("PL", "PL8567346215"),
    ("SE", "SE123456789701"),
];

pub type Mistakes = BTreeSet<&'static str>;

pub fn mistakes(tariff: &Tariff, job: &Job) -> Mistakes {
    let mut found = Mistakes::new();
    let mut when = |wrong: bool, kind| {
        if wrong {
            found.insert(kind);
        }
    };
    when(!job.customer.business, "private_customer");
    when(job.customer.name.is_empty(), "missing_name");
    let rules = &tariff.rules;
    when(!holds(rules.edition.from, rules.edition.until, job.received), "not_of_this_edition");
    days(job, tariff, &mut when);
    when(twice(job.units.iter().map(|unit| &unit.id)), "given_twice");
    let known = |extra: &&String| tariff.extras.contains_key(*extra);
    when(twice(job.extras.iter().filter(known)), "given_twice");
    when(twice(job.alternatives.iter().map(|alternative| &alternative.id)), "given_twice");
    when(!job.extras.iter().all(|extra| known(&extra)), "unknown_extra");
    for unit in &job.units {
        let reserved = ["surcharge", "minimum", "ending"].contains(&unit.id.as_str());
        when(reserved || unit.id.contains('/'), "reserved_id");
        counts(unit, &mut when);
    }
    when(job.units.iter().all(|unit| unit.parcels.is_empty()), "no_parcel");
    when(zone(tariff, job).is_none(), "no_courier_zone");
    let sound_parcels = job.units.iter().flat_map(|unit| &unit.parcels).all(is_sound);
    when(zone(tariff, job).is_some() && sound_parcels && leg_rate(tariff, job).is_none(), "too_heavy");
    for alternative in &job.alternatives {
        let known = |id: &String| job.units.iter().any(|unit| unit.id == *id);
        when(!alternative.changes.iter().all(|change| known(&change.unit)), "unknown_unit");
    }
    for (_, way) in ways(job) {
        for unit in &way.units {
            task(tariff, unit, &mut when);
        }
    }
    let chain = route(tariff, job, &mut when);
    let currency = job.currency.as_ref().unwrap_or(&rules.edition.currency);
    when(
        exchange_rate(tariff, &rules.edition.currency, currency, job.received).is_none(),
        "no_currency_rate",
    );
    if let Some(id) = &job.customer.vat_id {
        let country = SOUND_VAT_IDS.iter().find(|sound| sound.1 == id).map(|sound| sound.0);
        // Elsewhere identifiers have forms that nobody checks.
        let judged = !["JP", "KW"].contains(&job.customer.country.as_str());
        when(judged && country.is_none(), "invalid_vat_id");
        when(country.is_some_and(|country| country != job.customer.country), "vat_id_of_another_country");
    }
    if chain {
        supplies(tariff, job, &mut when);
    }
    found
}

fn twice<'a>(mut names: impl Iterator<Item = &'a String>) -> bool {
    let mut seen = BTreeSet::new();
    names.any(|name| !seen.insert(name))
}

fn days(job: &Job, tariff: &Tariff, when: &mut impl FnMut(bool, &'static str)) {
    let (received, quoted) = (job.received, quoted(job));
    let earlier = |unit: &Unit| unit.returned.as_ref().map(|earlier| earlier.dispatched);
    let of_units = job.units.iter().flat_map(|unit| [unit.built, earlier(unit)]);
    let mut said =
        [Some(received), job.quoted, job.dispatch, job.tax_date].into_iter().chain(of_units).flatten();
    when(said.any(|day| !(1950..=2200).contains(&day.year())), "far_away");
    when(quoted < received, "before_receipt");
    when(dispatch(tariff, job) < received.max_of(quoted), "dispatch");
    when(tax_date(tariff, job) < received, "before_receipt");
    for unit in &job.units {
        when(unit.built.is_some_and(|built| built > received), "built_after_receipt");
        when(
            unit.returned.as_ref().is_some_and(|earlier| earlier.dispatched > received),
            "dispatched_after_receipt",
        );
    }
}

impl Day {
    fn max_of(self, other: Self) -> Self {
        if self < other { other } else { self }
    }
}

fn counts(unit: &Unit, when: &mut impl FnMut(bool, &'static str)) {
    when(unit.hours.is_some_and(|hours| hours > 2_000_000), "too_long");
    when(unit.cycles.is_some_and(|cycles| cycles > 1_000_000_000_000), "cycles");
    when(!unit.parcels.iter().all(is_sound), "no_such_parcel");
    if let Some(returned) = &unit.returned {
        when(returned.warranty_months > 600, "too_long");
        if returned.warranty_cycles.is_some() {
            let counts = unit.cycles.zip(returned.cycles_at_dispatch);
            when(counts.is_none(), "cycles_not_known");
            when(counts.is_some_and(|(now, then)| now < then), "cycles_run_backwards");
        }
    }
}

/// Up to 10 m and 10 t, and not nothing.
fn is_sound(parcel: &Parcel) -> bool {
    let within = |quantity: &Dec, most: u32| **quantity > whole(0) && **quantity <= whole(most);
    let sides = [&parcel.length_cm, &parcel.width_cm, &parcel.height_cm];
    sides.into_iter().all(|side| within(side, 1000)) && within(&parcel.weight_kg, 10_000)
}

/// What is to be done on a unit, by the job itself or an alternative.
fn task(tariff: &Tariff, unit: &Unit, when: &mut impl FnMut(bool, &'static str)) {
    let known = |finding: &Finding| tariff.findings.contains_key(&finding.code);
    when(!unit.findings.iter().all(known), "unknown_finding");
    let times = |finding: &Finding| (1..=1000).contains(&finding.quantity.unwrap_or(1));
    when(!unit.findings.iter().all(times), "no_such_quantity");
    let Some(family) = tariff.families.get(&unit.family) else {
        return when(true, "unknown_family");
    };
    let mut prices = tariff.flat_prices.iter();
    let mut kept = |class: &String| prices.any(|row| row.family == unit.family && row.class == *class);
    let unkept = unit.class.as_ref().is_some_and(|class| !kept(class));
    when(unkept, if family.method == "flat" { "unknown_class" } else { "class_of_built_up_family" });
    when(unit.task == "exchange" && family.exchange_cost.is_none(), "no_exchange_unit");
}

/// The chain of partners; is every one of them known, with an agreement?
fn route(tariff: &Tariff, job: &Job, when: &mut impl FnMut(bool, &'static str)) -> bool {
    when(twice(job.route.iter().map(|stop| &stop.partner)), "given_twice");
    when(twice(job.route.iter().flat_map(|stop| stop.takes_over.iter().flatten())), "taken_over_twice");
    let mut before: Option<&String> = None;
    let mut chain = true;
    for stop in &job.route {
        let Some(partner) = tariff.partners.get(&stop.partner) else {
            when(true, "unknown_partner");
            chain = false;
            before = Some(&stop.partner);
            continue;
        };
        when(partner.buys_from.as_ref() != before, "not_his_supplier");
        before = Some(&stop.partner);
        let agreement = tariff.agreement(&stop.partner, job.received);
        when(agreement.is_none(), "no_agreement");
        for work in stop.takes_over.iter().flatten() {
            let credited = agreement.is_none_or(|agreement| tariff.credit(agreement, work).is_some());
            when(!credited, "work_without_credit");
        }
    }
    chain
}

fn supplies(tariff: &Tariff, job: &Job, when: &mut impl FnMut(bool, &'static str)) {
    let ends = ends(tariff, job);
    let on = tax_date(tariff, job);
    let ways = ways(job);
    let units = || ways.iter().flat_map(|way| &way.1.units);
    for goods in [false, true] {
        if !units().any(|unit| (unit.task == "exchange") == goods) {
            continue;
        }
        for sale in 0..ends.len() - 1 {
            let treatment = treatment(tariff, &ends, sale, goods, on);
            when(treatment.is_err(), "no_vat_rate");
            let needed = treatment.is_ok_and(|treatment| ["AE", "K"].contains(&treatment.0));
            let last = sale + 2 == ends.len();
            when(last && needed && job.customer.vat_id.is_none(), "missing_vat_id");
        }
    }
}
