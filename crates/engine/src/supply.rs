//! VAT: each sale on the route is a supply of its own, with its own seller and buyer.
//!
//! Repair for a business is taxed where the buyer is established (Directive 2006/112/EC Art. 44),
//! and across a border inside the Union the buyer owes it (Art. 196): EN 16931 category AE. An
//! exchange unit is a supply of goods: K inside the Union (Art. 138), G out of it (Art. 146).
//!
//! Seller and buyer decide here, sale by sale; but goods that stay in one country are taxed there,
//! whoever sells them (Art. 31 and 32). Where goods pass a border through a chain of sellers, which
//! one of the sales carries the transport is a question of its own (Art. 36a) that these rules do
//! not answer; such a quote says so. VAT is for a licensed adviser to confirm.

use crate::country::Country;
use crate::money::{Exact, Gross, Net, Overflow, Percent, Vat};
use crate::tariff::Party;

/// A VAT category code of EN 16931 (UNTDID 5305).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub enum VatCategory {
    /// Standard rate, charged by the seller.
    S,
    /// Reverse charge: the buyer owes it.
    AE,
    /// Intra-Community supply of goods.
    K,
    /// Export of goods.
    G,
    /// Not subject to VAT where the seller is.
    O,
}

impl VatCategory {
    /// The code.
    pub const fn code(self) -> &'static str {
        match self {
            Self::S => "S",
            Self::AE => "AE",
            Self::K => "K",
            Self::G => "G",
            Self::O => "O",
        }
    }

    /// Why no VAT is charged, as an invoice has to say; nothing at the standard rate.
    ///
    /// Kept quotes repeat it, so a wording that was once given stays.
    pub const fn reason(self) -> Option<&'static str> {
        match self {
            Self::S => None,
            Self::AE => Some("Reverse charge"),
            Self::K => Some("Intra-Community supply of goods"),
            Self::G => Some("Export of goods"),
            Self::O => Some("Not subject to VAT of the seller's country"),
        }
    }
}

/// One group of a sale's VAT: a category and a rate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VatGroup {
    /// The category.
    pub category: VatCategory,
    /// The rate: zero where the buyer owes the VAT or goods leave, none where there is no VAT.
    pub rate: Option<Percent>,
    /// What it is charged on.
    pub base: Net,
    /// The VAT, rounded once for the group.
    pub tax: Vat,
}

/// An end of a sale, as far as VAT goes.
#[derive(Clone, Copy)]
pub(crate) struct Taxable {
    pub(crate) country: Country,
    /// Only known for goods: an identifier of Northern Ireland.
    pub(crate) covers_goods_only: bool,
}

impl Taxable {
    pub(crate) fn party(party: &Party) -> Self {
        let identifier = party.vat_id.as_deref().unwrap_or("");
        // Elsewhere one that nobody reads may begin so, too.
        let covers_goods_only = party.country == Country::GB && identifier.starts_with("XI");
        Self { country: party.country, covers_goods_only }
    }
}

/// Where both ends stand, and whether goods are sold, decides.
pub(crate) fn category(seller: Taxable, buyer: Taxable, goods: bool, rate: Option<Percent>) -> VatCategory {
    let in_union = |party: Taxable| party.country.is_eu() || (goods && party.covers_goods_only);
    if seller.country == buyer.country {
        // A country without VAT has nothing to charge.
        return if rate.is_some_and(|rate| !rate.is_zero()) { VatCategory::S } else { VatCategory::O };
    }
    match (in_union(seller), in_union(buyer), goods) {
        (true, true, false) => VatCategory::AE,
        (true, true, true) => VatCategory::K,
        (true, false, true) => VatCategory::G,
        _ => VatCategory::O,
    }
}

/// `base x rate`, rounded once.
///
/// Once for each category and rate, never line by line: EN 16931 BR-CO-17. Half up on the
/// magnitude, so that a reversal mirrors its quote.
///
/// # Errors
/// [`Overflow`] beyond the bounds of an amount.
///
/// # Examples
/// ```
/// use evenfare_engine::money::{Net, Vat};
/// use evenfare_engine::supply::vat;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// // CEN/TC 434, example 2 of EN 16931 in UBL
/// assert_eq!(vat(Net::from_minor(146_050)?, "25".parse()?)?, Vat::from_minor(36_513)?);
/// # Ok(()) }
/// ```
pub fn vat(base: Net, rate: Percent) -> Result<Vat, Overflow> {
    Exact::from_minor(base.minor()).percent(rate)?.round()
}

/// Between whom something is supplied, and the standard rate where that is inside one country.
#[derive(Clone, Copy)]
pub(crate) struct Supply {
    pub(crate) seller: Taxable,
    pub(crate) buyer: Taxable,
    pub(crate) rate: Option<Percent>,
}

impl Supply {
    /// The category and rate of what is supplied.
    pub(crate) fn group(self, goods: bool) -> (VatCategory, Option<Percent>) {
        let category = category(self.seller, self.buyer, goods, self.rate);
        let rate = match category {
            VatCategory::S => self.rate,
            VatCategory::O => None,
            VatCategory::AE | VatCategory::K | VatCategory::G => Some(Percent::ZERO),
        };
        (category, rate)
    }
}

/// The groups of a sale from its lines: services and goods, each with its category.
pub(crate) fn groups(
    services: Supply,
    goods: Supply,
    lines: impl Iterator<Item = (Net, bool)>,
) -> Result<Vec<VatGroup>, Overflow> {
    let (of_services, of_goods) = (services.group(false), goods.group(true));
    let mut groups: Vec<VatGroup> = Vec::with_capacity(1);
    for (net, is_goods) in lines {
        let (category, rate) = if is_goods { of_goods } else { of_services };
        match groups.iter_mut().find(|group| group.category == category && group.rate == rate) {
            Some(group) => group.base = group.base.plus(net)?,
            None => groups.push(VatGroup { category, rate, base: net, tax: Vat::ZERO }),
        }
    }
    for group in &mut groups {
        if let Some(rate) = group.rate {
            group.tax = vat(group.base, rate)?;
        }
    }
    groups.sort_by_key(|group| (group.category, group.rate));
    Ok(groups)
}

/// Does a sale of groups of those categories need two invoices? O never stands on one with another
/// (EN 16931 BR-O-11).
pub(crate) fn needs_two_invoices(mut groups: impl Iterator<Item = VatCategory> + Clone) -> bool {
    groups.clone().any(|category| category == VatCategory::O)
        && groups.any(|category| category != VatCategory::O)
}

/// Net and the VAT of all groups.
pub(crate) fn gross(net: Net, groups: &[VatGroup]) -> Result<Gross, Overflow> {
    net.with_vat(Vat::sum(groups.iter().map(|group| group.tax))?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(seller: &str, buyer: &str, goods: bool, expect: VatCategory) {
        let party = |text: &str| Taxable {
            country: text.trim_end_matches("-NI").parse().unwrap_or(Country::DE),
            covers_goods_only: text.ends_with("-NI"),
        };
        let rate = "20".parse().ok();
        assert_eq!(category(party(seller), party(buyer), goods, rate), expect, "{seller} to {buyer}");
    }

    #[test]
    fn an_invoice_without_vat_says_why() {
        use VatCategory::{AE, G, K, O, S};
        assert_eq!(S.reason(), None);
        // the words of Directive 2006/112/EC Art. 226 (11a); a reason stands beside all but S (EN 16931 BT-120)
        assert_eq!(AE.reason(), Some("Reverse charge"));
        let mut reasons: Vec<&str> = [AE, K, G, O].into_iter().filter_map(VatCategory::reason).collect();
        reasons.sort_unstable();
        reasons.dedup();
        assert_eq!(reasons.len(), 4, "{reasons:?}");
    }

    #[test]
    fn services_are_taxed_where_the_buyer_is() {
        // Directive 2006/112/EC Art. 44 and 196
        check("DE", "DE", false, VatCategory::S);
        check("DE", "FR", false, VatCategory::AE);
        check("DE", "CH", false, VatCategory::O);
        check("CH", "CH", false, VatCategory::S);
        check("GB", "DE", false, VatCategory::O);
        // an identifier of Northern Ireland covers goods only
        check("DE", "GB-NI", false, VatCategory::O);
    }

    #[test]
    fn goods_are_taxed_where_they_go() {
        check("DE", "DE", true, VatCategory::S);
        check("DE", "FR", true, VatCategory::K);
        check("DE", "CH", true, VatCategory::G);
        check("DE", "GB", true, VatCategory::G);
        check("DE", "GB-NI", true, VatCategory::K);
        check("GB", "DE", true, VatCategory::O);
    }

    #[test]
    fn northern_ireland_is_in_the_united_kingdom() -> Result<(), Box<dyn std::error::Error>> {
        let covers_goods_only = |country: &str, vat_id: &str| {
            let party = Party {
                code: "P-1".parse()?,
                name: "Mill".parse()?,
                street: Default::default(),
                postcode: Default::default(),
                city: Default::default(),
                country: country.parse()?,
                vat_id: Some(vat_id.into()),
                language: None,
            };
            Ok::<_, Box<dyn std::error::Error>>(Taxable::party(&party).covers_goods_only)
        };
        assert!(covers_goods_only("GB", "XI123456782")?);
        assert!(!covers_goods_only("GB", "GB123456782")?);
        assert!(!covers_goods_only("JP", "XI123")?);
        Ok(())
    }
}
