//! UBL 2.1 RequestForQuotation: a job, asked for.

use evenfare_engine::job::{Alternative, Change, Customer, Finding, Job, Parcel, Stop, Task, Unit};
use evenfare_engine::money::Quantity;

use super::element::{Element, all, text};

/// A job as UBL 2.1 RequestForQuotation, for a portal that asks in the standard's words.
///
/// `crates/files/FORMAT.md` says which element has which key; a job file whose name ends in `.xml` is read
/// by it. Obeys `a_request_is_read_back_as_the_same_job`.
pub fn request(job: &Job) -> Vec<u8> {
    let despatch = job.dispatch.map(|day| all("cac:Despatch", [text("cbc:RequestedDespatchDate", day)]));
    let supplied = job.tax_date.map(|day| all("cac:RequestedDeliveryPeriod", [text("cbc:EndDate", day)]));
    let delivery = (despatch.is_some() || supplied.is_some())
        .then(|| all("cac:Delivery", []).and(supplied).and(despatch));
    let changes = job.alternatives.iter().flat_map(alternative);
    all(
        "RequestForQuotation",
        [
            text("cbc:UBLVersionID", "2.1"),
            text("cbc:ID", &job.reference),
            text("cbc:IssueDate", job.received),
            // The standard asks for a time, and a job has none.
            text("cbc:IssueTime", "00:00:00"),
        ],
    )
    .and(job.quoted.map(|day| text("cbc:SubmissionDueDate", day)))
    .and(job.currency.map(|currency| text("cbc:PricingCurrencyCode", currency)))
    .and([
        all("cac:SellerSupplierParty", [all("cac:Party", [named("cac:PartyName", "workshop")])]),
        customer(&job.customer, &job.route),
    ])
    .and(delivery)
    .and(job.extras.iter().map(|extra| all("cac:DeliveryTerms", [text("cbc:ID", extra)])))
    .and(job.units.iter().map(unit))
    .and(changes)
    .document()
}

fn named(name: &'static str, said: &str) -> Element {
    all(name, [text("cbc:Name", said)])
}

/// The customer, with the partners that serve him in the order of the route.
fn customer(customer: &Customer, route: &[Stop]) -> Element {
    let vat = customer.vat_id.as_ref().map(|id| {
        let scheme = all("cac:TaxScheme", [text("cbc:ID", "VAT")]);
        all("cac:PartyTaxScheme", [text("cbc:CompanyID", id), scheme])
    });
    let name = customer.name.as_str();
    let legal = match customer.business {
        true => all("cac:PartyLegalEntity", [text("cbc:RegistrationName", name)]),
        false => all("cac:Person", [text("cbc:FamilyName", name)]),
    };
    let language = customer.language.map(|language| all("cac:Language", [text("cbc:ID", language)]));
    let address = all(
        "cac:PostalAddress",
        [
            text("cbc:StreetName", &customer.street),
            text("cbc:CityName", &customer.city),
            text("cbc:PostalZone", &customer.postcode),
            all("cac:Country", [text("cbc:IdentificationCode", customer.country)]),
        ],
    );
    let party = all("cac:Party", [named("cac:PartyName", name)]).and(language).and([address]);
    all("cac:BuyerCustomerParty", [party.and(vat).and([legal]).and(route.iter().map(stop))])
}

fn stop(stop: &Stop) -> Element {
    let works = stop.takes_over.as_deref();
    let none = works.is_some_and(<[_]>::is_empty).then(|| text("cbc:ServiceTypeCode", "none"));
    let works = works.unwrap_or_default().iter().map(|work| text("cbc:ServiceType", work));
    let partner = all("cac:PartyIdentification", [text("cbc:ID", &stop.partner)]);
    all("cac:ServiceProviderParty", []).and(none).and(works).and([all("cac:Party", [partner])])
}

fn unit(unit: &Unit) -> Element {
    let returned = unit.returned.as_ref();
    let before = returned.map(|earlier| all("cac:DocumentReference", [text("cbc:ID", &earlier.quote)]));
    let warranty = returned.map(|earlier| {
        let months = text("cbc:DurationMeasure", earlier.warranty_months).with("unitCode", "MON");
        all("cac:WarrantyValidityPeriod", [text("cbc:StartDate", earlier.dispatched), months])
    });
    let parcels = unit.parcels.iter().map(parcel);
    let delivery = (!unit.parcels.is_empty()).then(|| {
        let shipment = all("cac:Shipment", [text("cbc:ID", &unit.id)]).and(parcels);
        all("cac:Delivery", [shipment])
    });
    let task = (unit.task != Task::default()).then_some(unit.task);
    let built = unit.built.map(|day| text("cbc:ManufactureDate", day));
    let serial = text("cbc:SerialID", &unit.serial);
    let item = all(
        "cac:Item",
        [
            text("cbc:Name", &unit.family),
            all("cac:SellersItemIdentification", [text("cbc:ID", &unit.family)]),
            property("declared_value", unit.declared_value),
        ],
    )
    .and(unit.cycles.map(|cycles| property("cycles", cycles)))
    .and(unit.hours.map(|hours| property("hours", hours)))
    .and(task.map(|task| property("task", task)))
    .and(unit.class.as_ref().map(|class| property("class", class)))
    .and(unit.findings.iter().map(finding))
    .and(returned.and_then(|r| r.warranty_cycles).map(|cycles| property("warranty_cycles", cycles)))
    .and(returned.and_then(|r| r.cycles_at_dispatch).map(|cycles| property("cycles_at_dispatch", cycles)))
    .and([all("cac:ItemInstance", []).and(built).and([serial])]);
    let line =
        all("cac:LineItem", [text("cbc:ID", &unit.id), text("cbc:Quantity", 1).with("unitCode", "H87")]);
    let line = line.and(delivery).and([item]).and(warranty);
    all("cac:RequestForQuotationLine", []).and(before).and([line])
}

fn parcel(parcel: &Parcel) -> Element {
    let dimension = |attribute: &str, measure: Quantity, unit| {
        let measure = text("cbc:Measure", measure).with("unitCode", unit);
        all("cac:MeasurementDimension", [text("cbc:AttributeID", attribute), measure])
    };
    // UNTDID 6313: length, width, height, gross weight.
    all(
        "cac:TransportHandlingUnit",
        [
            dimension("LN", parcel.length_cm, "CMT"),
            dimension("WD", parcel.width_cm, "CMT"),
            dimension("HT", parcel.height_cm, "CMT"),
            dimension("G", parcel.weight_kg, "KGM"),
        ],
    )
}

fn property(name: &str, value: impl ToString) -> Element {
    all("cac:AdditionalItemProperty", [text("cbc:Name", name), text("cbc:Value", value)])
}

fn finding(finding: &Finding) -> Element {
    let times = finding.quantity.map(|times| text("cbc:ValueQuantity", times).with("unitCode", "C62"));
    let position = finding.position.as_ref().map(|position| text("cbc:ValueQualifier", position));
    property("finding", &finding.code).and(times).and(position)
}

/// An optional line for each unit that it changes; one without a unit where it changes none.
fn alternative(alternative: &Alternative) -> Vec<Element> {
    let line = |item: Element| {
        all(
            "cac:RequestForQuotationLine",
            [
                text("cbc:ID", &alternative.id),
                text("cbc:Note", &alternative.text),
                text("cbc:OptionalLineItemIndicator", true),
                item,
            ],
        )
    };
    let name = alternative.id.as_str();
    let none = || all("cac:LineItem", [text("cbc:ID", name), named("cac:Item", name)]);
    match alternative.changes.as_slice() {
        [] => vec![line(none())],
        changes => changes.iter().map(|change| line(changed(change))).collect(),
    }
}

fn changed(change: &Change) -> Element {
    let item = named("cac:Item", change.unit.as_str())
        .and(change.task.map(|task| property("task", task)))
        .and(change.class.as_ref().map(|class| property("class", class)))
        .and(change.findings.iter().map(finding));
    let reference = all("cac:LineReference", [text("cbc:LineID", &change.unit)]);
    all("cac:LineItem", [text("cbc:ID", &change.unit), item, reference])
}
