//! A job held against an edition: every reference resolved, every mistake reported at once.

mod units;
mod shipment;
mod route;

use chrono::{Datelike, NaiveDate};

use crate::convert::Conversion;
use crate::job::{Job, Task};
use crate::money::{Currency, Percent, Quantity, UnitPrice};
use crate::nearest::{LOOKED_FOR, or_nearest};
use crate::period::last_day_of_days;
use crate::problem::{Place, Problem};
use crate::supply::{Taxable, VatCategory, category};
use crate::tariff::entries::{
    Agreement, CatalogueFinding, Coded, Extra, Family, FlatPrice, Partner, Table, Zone,
};
use crate::tariff::{Edition, Party};
use crate::text::Code;
use crate::vat::identifier::{VatIdentifier, are_read_of};

/// Bounds that keep a job's work in proportion; far beyond any real consignment.
pub(crate) const MOST_UNITS: usize = 200;
pub(crate) const MOST_FINDINGS: usize = 500;
pub(crate) const MOST_PARCELS: usize = 100;
pub(crate) const MOST_ALTERNATIVES: usize = 20;

/// The name of the way to do the job that is not an alternative.
pub const MAIN: &str = "main";

/// A job with everything it refers to.
pub(crate) struct Order<'a> {
    pub(crate) job: &'a Job,
    pub(crate) edition: &'a Edition,
    pub(crate) currency: Currency,
    pub(crate) conversion: Option<Conversion>,
    pub(crate) quoted: NaiveDate,
    pub(crate) dispatch: NaiveDate,
    pub(crate) tax_date: NaiveDate,
    pub(crate) customer_vat_id: Option<VatIdentifier>,
    /// The standard rate of the customer's country, where one is known.
    pub(crate) customer_vat_rate: Option<Percent>,
    pub(crate) shipment: Shipment<'a>,
    pub(crate) extras: Vec<&'a Extra>,
    pub(crate) stops: Vec<StopOrder<'a>>,
    pub(crate) offers: Vec<OfferOrder<'a>>,
}

/// The parcels of the job on the road, in the end customer's courier zone.
pub(crate) struct Shipment<'a> {
    pub(crate) zone: &'a Zone,
    /// Chargeable weight of all parcels, in grams.
    pub(crate) grams: i64,
    /// The same for each unit alone: what the cost is shared by.
    pub(crate) weights: Vec<i64>,
    /// The rate that applies.
    pub(crate) up_to: Quantity,
    pub(crate) leg_cost: UnitPrice,
}

/// A partner on the route and the agreement that holds.
pub(crate) struct StopOrder<'a> {
    pub(crate) partner: &'a Partner,
    pub(crate) agreement: &'a Agreement,
    /// The work he takes over, each credited to one partner of the route at most.
    pub(crate) takes_over: Vec<crate::category::Work>,
    /// His place in the job's route.
    pub(crate) index: usize,
}

/// One way to do the job.
pub(crate) struct OfferOrder<'a> {
    pub(crate) id: &'a str,
    pub(crate) text: &'a str,
    pub(crate) units: Vec<UnitOrder<'a>>,
}

/// A unit in one way to do the job.
pub(crate) struct UnitOrder<'a> {
    pub(crate) unit: &'a crate::job::Unit,
    /// Its place in the job.
    pub(crate) index: usize,
    pub(crate) family: &'a Family,
    pub(crate) task: Task,
    pub(crate) flat: Option<&'a FlatPrice>,
    /// In the order of catalogue and position, whatever the order they were written in.
    pub(crate) findings: Vec<Found<'a>>,
    pub(crate) hours: Option<u32>,
    /// The warranty it came back under, where that is still open.
    pub(crate) cover: Option<Cover>,
}

/// A finding of the catalogue at a place, this many times.
#[derive(Clone, Copy)]
pub(crate) struct Found<'a> {
    pub(crate) finding: &'a CatalogueFinding,
    pub(crate) position: Option<&'a Code>,
    pub(crate) times: u32,
}

/// A warranty that a returned unit is still under.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Cover {
    pub(crate) until: NaiveDate,
    pub(crate) cycles_left: Option<u64>,
}

impl UnitOrder<'_> {
    /// Is a refreshed unit under open warranty: covered findings are then free?
    pub(crate) fn under_warranty(&self) -> bool {
        self.cover.is_some() && self.task == Task::Refresh
    }
}

impl<'a> Order<'a> {
    /// Holds the job against the edition.
    pub(crate) fn new(job: &'a Job, edition: &'a Edition) -> Result<Self, Vec<Problem>> {
        let mut problems = Vec::new();
        let p = &mut problems;
        let dates = dates(job, edition, p);
        let customer_vat_id = customer(job, p);
        let currency = job.currency.unwrap_or(edition.currency);
        let conversion = Conversion::new(edition, currency, job.received, p);
        let shipment = shipment::shipment(job, edition, p);
        let extras = extras(job, edition, p);
        let stops = route::stops(job, edition, p);
        let offers = units::offers(job, edition, p);
        // Who sells to whom is known only where every partner is, with an agreement or without.
        if let (Some((_, _, tax_date)), Some(partners)) = (dates, route::partners(job, edition)) {
            vat_id_needed(job, edition, &partners, p);
            vat_rates_needed(job, edition, &partners, tax_date, p);
        }
        match (dates, shipment) {
            (Some((quoted, dispatch, tax_date)), Some(shipment)) if problems.is_empty() => Ok(Self {
                job,
                edition,
                currency,
                conversion,
                quoted,
                dispatch,
                tax_date,
                customer_vat_id,
                customer_vat_rate: edition.vat_rate(job.customer.country, tax_date),
                shipment,
                extras,
                stops,
                offers,
            }),
            _ => {
                problems.sort();
                Err(problems)
            }
        }
    }

    /// Before the name of a figure that stands in the tariff's currency, where the quote's is another.
    pub(crate) fn tariff_prefix(&self) -> &'static str {
        if self.conversion.is_some() { "tariff." } else { "" }
    }

    /// The customer as a party of the quote.
    pub(crate) fn customer(&self) -> Option<Party> {
        let customer = &self.job.customer;
        Some(Party {
            code: "customer".parse().ok()?,
            name: customer.name.clone(),
            street: customer.street.clone(),
            postcode: customer.postcode.clone(),
            city: customer.city.clone(),
            country: customer.country,
            vat_id: match &self.customer_vat_id {
                Some(identifier) => Some(identifier.as_str().into()),
                None => customer.vat_id.as_ref().map(|text| text.as_str().into()),
            },
            language: customer.language,
        })
    }
}

/// Days of a job lie in these years; what lies outside is a slip of the pen.
const YEARS: std::ops::RangeInclusive<i32> = 1950..=2200;
const IN_THESE_YEARS: &str = "a day between 1950 and 2200";

/// Quoted, dispatched and taxed on which days.
fn dates(
    job: &Job,
    edition: &Edition,
    problems: &mut Vec<Problem>,
) -> Option<(NaiveDate, NaiveDate, NaiveDate)> {
    let mut wrong = |field: &str, code, found: NaiveDate, expected: String| {
        problems.push(Problem::error(Place::field(field), code, found, expected));
    };
    if !edition.span.contains(job.received) {
        wrong(
            "received",
            "not_of_this_edition",
            job.received,
            format!("a day that edition {} prices: {}", edition.code, edition.span),
        );
    }
    for (field, day) in [
        ("received", Some(job.received)),
        ("quoted", job.quoted),
        ("dispatch", job.dispatch),
        ("tax_date", job.tax_date),
    ] {
        let Some(day) = day else { continue };
        if !YEARS.contains(&day.year()) {
            wrong(field, "far_away", day, IN_THESE_YEARS.to_owned());
        } else if day < job.received {
            wrong(field, "before_receipt", day, format!("a day not before the receipt on {}", job.received));
        }
    }
    let quoted = job.quoted.unwrap_or(job.received);
    if let Some(dispatch) = job.dispatch.filter(|dispatch| *dispatch < quoted) {
        wrong("dispatch", "before_the_quote", dispatch, format!("a day not before the quote of {quoted}"));
    }
    let usual = last_day_of_days(quoted.max(job.received), edition.terms.turnaround_days);
    let dispatch = job.dispatch.map_or(usual, Ok).ok()?;
    Some((quoted, dispatch, job.tax_date.unwrap_or(dispatch)))
}

fn customer(job: &Job, problems: &mut Vec<Problem>) -> Option<VatIdentifier> {
    let at = || Place::field("customer");
    let customer = &job.customer;
    if !customer.business {
        problems.push(Problem::error(
            at().at("business"),
            "private_customer",
            "false",
            "true: only businesses are served",
        ));
    }
    if customer.name.as_str().trim().is_empty() {
        problems.push(Problem::error(at().at("name"), "missing_name", "", "the firm's name"));
    }
    let given = customer.vat_id.as_ref()?;
    match VatIdentifier::parse(given.as_str()) {
        Ok(identifier) if identifier.country() == customer.country => Some(identifier),
        Ok(_) => {
            let expected = format!("an identifier of {}", customer.country);
            problems.push(Problem::error(at().at("vat_id"), "vat_id_of_another_country", given, expected));
            None
        }
        Err(_) if !are_read_of(customer.country) => None,
        Err(error) => {
            problems.push(Problem::error(at().at("vat_id"), "invalid_vat_id", given, error));
            None
        }
    }
}

/// Across a border inside the European Union the buyer owes the VAT, and the sale needs his
/// identifier (Directive 2006/112/EC Art. 138 and 196; EN 16931 BR-AE-02 and BR-IC-02).
fn vat_id_needed(job: &Job, edition: &Edition, partners: &[&Party], problems: &mut Vec<Problem>) {
    let customer = &job.customer;
    if customer.vat_id.is_some() {
        return;
    }
    let buyer = Taxable { country: customer.country, covers_goods_only: false };
    let seller = Taxable::party(partners.last().copied().unwrap_or(&edition.workshop));
    let is_owed = |goods| matches!(category(seller, buyer, goods, None), VatCategory::AE | VatCategory::K);
    let stays = edition.workshop.country == customer.country;
    let needed = (sells_services(job) && is_owed(false)) || (sells_goods(job) && !stays && is_owed(true));
    if needed {
        problems.push(Problem::error(
            Place::field("customer").at("vat_id"),
            "missing_vat_id",
            "",
            format_args!(
                "a VAT identifier of {}: the customer owes the VAT on a sale across the border",
                customer.country
            ),
        ));
    }
}

/// The tasks of the job and of its alternatives.
fn tasks(job: &Job) -> impl Iterator<Item = Task> {
    let changes = job.alternatives.iter().flat_map(|alternative| &alternative.changes);
    job.units.iter().map(|unit| unit.task).chain(changes.filter_map(|change| change.task))
}

/// Is an exchange unit among the ways to do the job?
fn sells_goods(job: &Job) -> bool {
    tasks(job).any(|task| task == Task::Exchange)
}

/// Is anything else among them?
fn sells_services(job: &Job) -> bool {
    tasks(job).any(|task| task != Task::Exchange)
}

/// A sale inside one country is charged that country's VAT, so its rate has to be known. Goods that
/// stay in the workshop's country are taxed there by whatever route, and nowhere else.
fn vat_rates_needed(
    job: &Job,
    edition: &Edition,
    partners: &[&Party],
    tax_date: NaiveDate,
    problems: &mut Vec<Problem>,
) {
    let mut seller = edition.workshop.country;
    let stays = seller == job.customer.country;
    let by_sale = sells_services(job) || !stays;
    let goods_stay = sells_goods(job) && stays;
    let partners = partners.iter().enumerate().map(|(index, partner)| (Some(index), partner.country));
    for (stop, buyer) in partners.chain([(None, job.customer.country)]) {
        let is_taxed = (by_sale && seller == buyer) || (goods_stay && stop.is_none());
        if is_taxed && edition.vat_rate(buyer, tax_date).is_none() {
            let expected = format!("a country with a VAT rate in vat_rates.csv on {tax_date}");
            let customer = || Place::field("customer").at("country");
            let place = stop.map_or_else(customer, |index| Place::field("route").nth(index));
            problems.push(Problem::error(place, "no_vat_rate", buyer, expected));
        }
        seller = buyer;
    }
}

/// A code that the edition does not have, with the nearest of those that it has.
fn unknown<T: Coded>(
    at: Place,
    problem: &'static str,
    code: &Code,
    known: &Table<T>,
    file: &str,
    problems: &mut Vec<Problem>,
) {
    let mut expected = format!("a code of {file}");
    if problems.len() < LOOKED_FOR {
        expected = or_nearest(&expected, code.as_str(), known.iter().map(|entry| entry.code().as_str()));
    }
    problems.push(Problem::error(at, problem, code, expected));
}

/// Whether there are more of something than there may be; that is reported.
fn too_many(at: impl FnOnce() -> Place, found: usize, most: usize, problems: &mut Vec<Problem>) -> bool {
    let beyond = found > most;
    if beyond {
        problems.push(Problem::error(at(), "too_many", found, format_args!("at most {most}")));
    }
    beyond
}

fn extras<'a>(job: &'a Job, edition: &'a Edition, problems: &mut Vec<Problem>) -> Vec<&'a Extra> {
    let mut extras: Vec<&Extra> = Vec::new();
    for (index, code) in job.extras.iter().enumerate() {
        let at = || Place::field("extras").nth(index);
        match edition.extras.find(code.as_str()) {
            None => unknown(at(), "unknown_extra", code, &edition.extras, "extras.csv", problems),
            Some(extra) if extras.iter().any(|e| e.rank == extra.rank) => {
                problems.push(Problem::error(at(), "given_twice", code, "each extra once"));
            }
            Some(extra) => extras.push(extra),
        }
    }
    extras.sort_by_key(|extra| extra.rank);
    extras
}
