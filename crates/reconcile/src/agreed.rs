//! What was agreed: an accepted offer of a sealed quote, as far as month end holds the world against it.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::NaiveDate;
use evenfare_engine::category::{Category, Work};
use evenfare_engine::money::{Cost, Currency, Gross, Net, Overflow, Share, Ties, split};
use evenfare_engine::quote::{Offer, Quote, Standing};
use evenfare_engine::supply::VatGroup;
use evenfare_engine::text::Code;
use evenfare_engine::trail::{From, Step};

use crate::firm::{Firm, Firms};
use crate::input::Leg;

/// An offer that was accepted: fixed prices, shares and credits.
///
/// Plain data, made from a sealed quote by [`Agreed::new`]. All amounts are of one currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Agreed {
    /// The number the quote was issued under.
    pub number: Box<str>,
    /// Which revision was accepted; of several of one number the highest counts.
    pub revision: u32,
    /// Which offer of it.
    pub offer: Arc<str>,
    /// The day by which partners' agreements go: that on which the units arrived.
    pub agreed_on: NaiveDate,
    /// The day it was accepted.
    pub accepted: NaiveDate,
    /// The day by which its sales are invoiced: that on which the units go back.
    pub invoice_by: NaiveDate,
    /// The day it was taken back by an opposite entry, where it was. Before that day it stands.
    pub reversed: Option<NaiveDate>,
    /// Of every amount.
    pub currency: Currency,
    /// Each sale from the workshop outward; the last is to the end customer, at the end price.
    pub sales: Vec<AgreedSale>,
    /// What each partner keeps, nearest to the workshop first: whom each sale but the last goes to.
    pub shares: Vec<AgreedShare>,
    /// What the workshop spends.
    pub cost: Cost,
    /// The courier's leg to the workshop.
    pub leg_in: AgreedLeg,
    /// The leg back.
    pub leg_out: AgreedLeg,
    /// What it comes to by family.
    pub families: Vec<FamilyPart>,
}

/// One sale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AgreedSale {
    /// Who sells.
    pub seller: Arc<Firm>,
    /// Who buys.
    pub buyer: Arc<Firm>,
    /// Before VAT.
    pub net: Net,
    /// By category and rate.
    pub vat: Vec<VatGroup>,
    /// With VAT.
    pub gross: Gross,
}

/// What a partner keeps of the end price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AgreedShare {
    /// His code.
    pub partner: Arc<str>,
    /// What he keeps.
    pub share: Share,
    /// The agreement it goes by, where the quote's working says so.
    pub agreement: Option<Arc<str>>,
    /// Of it, what he is credited for work that he takes over.
    pub credits: Vec<(Work, Share)>,
    /// What he would keep by others of his agreements, which were not in force on the day.
    pub by_others: Vec<(Arc<str>, Share)>,
}

/// A courier's leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AgreedLeg {
    /// What it costs the workshop.
    pub cost: Cost,
    /// A partner has it carried; it costs the workshop nothing.
    pub carried_by_partner: bool,
}

/// What an offer comes to for the units of one family.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FamilyPart {
    /// The family.
    pub family: Arc<str>,
    /// Of the end price.
    pub end_net: Net,
    /// Of what the workshop keeps.
    pub workshop_net: Net,
    /// Of what the workshop spends.
    pub cost: Cost,
}

/// Why nothing was agreed by a quote.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotAgreed {
    /// The quote has no such offer.
    #[error("the quote has no offer `{0}`")]
    NoSuchOffer(String),
    /// An opposite entry takes back what was agreed; it agrees nothing.
    #[error("an opposite entry is not accepted")]
    Reversal,
    /// The quote goes to nobody.
    #[error("the offer has no sale")]
    NoSale,
    /// A sum is too large.
    #[error(transparent)]
    Overflow(#[from] Overflow),
}

impl Agreed {
    /// What was agreed when an offer of a quote was accepted.
    ///
    /// Credits, and the agreements that shares go by, are read off the working, so a quote without its
    /// working has none of them. Firms are shared with those that were met before.
    ///
    /// # Errors
    /// [`NotAgreed`] where the quote has no such offer or is an opposite entry.
    pub fn new(
        number: &str,
        quote: &Quote,
        offer: &str,
        accepted: NaiveDate,
        firms: &mut Firms,
    ) -> Result<Self, NotAgreed> {
        let Standing::Revision(revision) = quote.standing else { return Err(NotAgreed::Reversal) };
        let offer = quote
            .offers
            .iter()
            .find(|one| &*one.id == offer)
            .ok_or_else(|| NotAgreed::NoSuchOffer(offer.chars().take(40).collect()))?;
        let parties = [&quote.workshop].into_iter().chain(&quote.route).chain([&quote.customer]);
        let parties: Vec<Arc<Firm>> = parties.map(|party| firms.of(party)).collect();
        let between = parties.iter().zip(parties.iter().skip(1));
        let sales = between.zip(&offer.sales).map(|((seller, buyer), sale)| AgreedSale {
            seller: Arc::clone(seller),
            buyer: Arc::clone(buyer),
            net: sale.net,
            vat: sale.vat.clone(),
            gross: sale.gross,
        });
        let sales: Vec<AgreedSale> = sales.collect();
        if sales.is_empty() {
            return Err(NotAgreed::NoSale);
        }
        let shares = offer.shares.iter().zip(parties.iter().skip(1)).map(|(share, firm)| AgreedShare {
            partner: Arc::clone(&firm.id),
            share: share.share,
            agreement: agreement(&offer.working, &share.partner),
            credits: credits(&offer.working, &share.partner, quote.currency),
            by_others: Vec::new(),
        });
        Ok(Self {
            number: number.into(),
            revision,
            offer: offer.id.as_ref().into(),
            agreed_on: quote.received,
            accepted,
            invoice_by: quote.dispatch,
            reversed: None,
            currency: quote.currency,
            shares: shares.collect(),
            sales,
            cost: offer.cost,
            leg_in: leg(offer, Leg::In)?,
            leg_out: leg(offer, Leg::Out)?,
            families: families(offer)?,
        })
    }

    /// Notes what each partner would keep by another of his agreements: by the same job, priced as if
    /// that one had been in force. An invoice that goes by it is then known for what it is.
    pub fn had_it_been(&mut self, other: &Agreed) {
        for (own, its) in self.shares.iter_mut().zip(&other.shares) {
            let Some(agreement) = &its.agreement else { continue };
            let noted = own.agreement.as_ref() == Some(agreement)
                || own.by_others.iter().any(|(known, _)| known == agreement);
            if own.partner == its.partner && !noted {
                own.by_others.push((Arc::clone(agreement), its.share));
            }
        }
    }

    /// What the workshop keeps: the first sale.
    pub fn workshop_net(&self) -> Net {
        self.sales.first().map_or(Net::ZERO, |sale| sale.net)
    }

    /// The end price: the last sale.
    pub fn end_net(&self) -> Net {
        self.sales.last().map_or(Net::ZERO, |sale| sale.net)
    }

    /// A courier's leg.
    pub const fn leg(&self, leg: Leg) -> AgreedLeg {
        match leg {
            Leg::In => self.leg_in,
            Leg::Out => self.leg_out,
        }
    }

    /// The partner who is credited for a piece of work, and how much; it is one at most.
    pub fn credited(&self, work: Work) -> Option<(&Arc<str>, Share)> {
        let of = |share: &AgreedShare| share.credits.iter().find(|(done, _)| *done == work).map(|(_, c)| *c);
        self.shares.iter().find_map(|share| Some((&share.partner, of(share)?)))
    }
}

/// What the courier's leg costs the workshop, for all units.
fn leg(offer: &Offer, leg: Leg) -> Result<AgreedLeg, Overflow> {
    let name = match leg {
        Leg::In => "/courier/leg_in",
        Leg::Out => "/courier/leg_out",
    };
    let mut agreed = AgreedLeg::default();
    let lines = offer.costs.iter().filter(|cost| cost.category == Category::Courier);
    for line in lines.filter(|line| line.id.ends_with(name)) {
        if line.carried_by_partner {
            agreed.carried_by_partner = true;
        } else {
            agreed.cost = agreed.cost.plus(line.cost)?;
        }
    }
    Ok(agreed)
}

/// What each piece of work is credited with, by the working: `credit.P-BRZEG.removal` is `12.00 EUR`.
fn credits(working: &[Step], partner: &Code, currency: Currency) -> Vec<(Work, Share)> {
    let credit = |step: &Step| {
        // Codes may hold dots; the words for works hold none.
        let (of, work) = step.figure.strip_prefix("credit.")?.rsplit_once('.')?;
        let work: Work = work.parse().ok()?;
        let amount = step.result.strip_suffix(currency.code())?.trim_end();
        let minor: i64 = amount.replace('.', "").parse().ok()?;
        let share = Share::from_minor(minor).ok()?;
        (of == partner.as_str() && share != Share::ZERO).then_some((work, share))
    };
    working.iter().filter_map(credit).collect()
}

/// The agreement that a partner's share goes by: discounts and credits name it beside their table.
fn agreement(working: &[Step], partner: &Code) -> Option<Arc<str>> {
    let of_partner = |step: &&Step| {
        let figure = step.figure.as_str();
        let credited = figure.strip_prefix("credit.").and_then(|rest| rest.rsplit_once('.'));
        figure.strip_prefix("discount.") == Some(partner.as_str())
            || credited.is_some_and(|(of, _)| of == partner.as_str())
    };
    let inputs = working.iter().filter(of_partner).flat_map(|step| &step.inputs);
    inputs.into_iter().find_map(|input| match &input.from {
        From::Tariff(place) => place.split(' ').nth(1).map(Into::into),
        _ => None,
    })
}

/// The offer by family. What belongs to no unit is shared out by what the families come to.
fn families(offer: &Offer) -> Result<Vec<FamilyPart>, Overflow> {
    let family_of = |id: &str| {
        let unit = id.split('/').next().unwrap_or_default();
        offer.units.iter().find(|one| one.id.as_str() == unit).map(|one| one.family.as_str())
    };
    let mut parts: BTreeMap<&str, [i64; 2]> = BTreeMap::new();
    for unit in &offer.units {
        parts.entry(unit.family.as_str()).or_default();
    }
    let mut add = |id: &str, place: usize, minor: i64| {
        let part = family_of(id).and_then(|family| parts.get_mut(family)?.get_mut(place));
        if let Some(part) = part {
            *part = part.checked_add(minor).ok_or(Overflow)?;
        }
        Ok::<_, Overflow>(())
    };
    let without_unit = [Category::Surcharge, Category::Minimum, Category::Ending];
    for line in offer.lines.iter().filter(|line| !without_unit.contains(&line.category)) {
        add(&line.id, 0, line.net.minor())?;
    }
    for line in offer.costs.iter().filter(|line| !line.carried_by_partner) {
        add(&line.id, 1, line.cost.minor())?;
    }
    let weights: Vec<i64> = parts.values().map(|[net, _]| *net).collect();
    // Free and declined units have no net: then all families count alike.
    let equal = vec![1; weights.len()];
    let shared = |minor: i64| {
        split(minor, &weights, Ties::First)
            .or_else(|_| split(minor, &equal, Ties::First))
            .map_err(|_| Overflow)
    };
    let ends = shared(offer.end.net.minor())?;
    let workshops = shared(offer.workshop_net.minor())?;
    let families = parts.iter().zip(ends.into_iter().zip(workshops));
    families
        .map(|((family, [_, cost]), (end, workshop))| {
            Ok(FamilyPart {
                family: (*family).into(),
                end_net: Net::from_minor(end)?,
                workshop_net: Net::from_minor(workshop)?,
                cost: Cost::from_minor(*cost)?,
            })
        })
        .collect()
}
