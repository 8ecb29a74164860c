//! Sellers and buyers.

use evenfare_engine::country::Country;
use evenfare_engine::tariff::Party;

use super::element::{Element, all, text};

/// How far a party is named by its VAT identifier.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Named {
    /// As who charges VAT, or would.
    AsSeller,
    /// As who is charged it, or owes it himself.
    AsBuyer,
    /// Where nothing is subject to VAT, EN 16931 has no VAT identifiers (BR-O-02): what is known stands as
    /// an identifier of no scheme (BT-29, BT-46).
    WithoutVat,
}

/// The VAT identifier, where there is one that begins with its country as the standards want it (BR-CO-09).
pub(super) fn vat_id(party: &Party) -> Option<&str> {
    let id = identifier(party)?;
    let prefix = id.get(..2)?;
    let is_of = |country: Country| prefix == country.as_str();
    let is_other = matches!((prefix, party.country.as_str()), ("EL", "GR") | ("XI", "GB"));
    (is_of(party.country) || is_other).then_some(id)
}

/// What the party is known by to its tax office.
pub(super) fn identifier(party: &Party) -> Option<&str> {
    party.vat_id.as_deref().map(str::trim).filter(|id| !id.is_empty())
}

/// A party in its role. A seller whose identifier is that of another tax office than those of the standard
/// has it as his tax registration (BT-32).
pub(super) fn party(role: &'static str, party: &Party, named: Named) -> Element {
    let vat = vat_id(party).filter(|_| named != Named::WithoutVat);
    let other = identifier(party).filter(|_| vat.is_none());
    // A seller is identified in some way (BR-CO-26).
    let id = other.or(vat.is_none().then_some(party.code.as_str()));
    let name =
        Some(party.name.as_str().trim()).filter(|name| !name.is_empty()).unwrap_or(party.code.as_str());
    let scheme = |id: &str, scheme: &str| {
        all("cac:PartyTaxScheme", [text("cbc:CompanyID", id), all("cac:TaxScheme", [text("cbc:ID", scheme)])])
    };
    let body = all("cac:Party", [])
        .and(id.map(|id| all("cac:PartyIdentification", [text("cbc:ID", id)])))
        .and([all("cac:PartyName", [text("cbc:Name", name)]), address("cac:PostalAddress", party)])
        .and(vat.map(|id| scheme(id, "VAT")))
        .and(other.filter(|_| named == Named::AsSeller).map(|id| scheme(id, "FC")))
        .and([all("cac:PartyLegalEntity", [text("cbc:RegistrationName", name)])]);
    all(role, [body])
}

/// An address; the country stands there always (BR-09, BR-11, BR-57).
pub(super) fn address(name: &'static str, party: &Party) -> Element {
    let line =
        |name, line: &str| Some(line.trim()).filter(|line| !line.is_empty()).map(|line| text(name, line));
    all(name, [])
        .and(line("cbc:StreetName", party.street.as_str()))
        .and(line("cbc:CityName", party.city.as_str()))
        .and(line("cbc:PostalZone", party.postcode.as_str()))
        .and([all("cac:Country", [text("cbc:IdentificationCode", party.country)])])
}
