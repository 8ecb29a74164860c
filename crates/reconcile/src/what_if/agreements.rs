//! The same job by others of a partner's agreements.

use std::collections::BTreeMap;
use std::sync::Arc;

use evenfare_engine::brief;
use evenfare_engine::tariff::Edition;
use evenfare_engine::text::Code;

use super::past::Past;
use crate::agreed::Agreed;
use crate::firm::Firms;

/// An edition as if one agreement had been in force.
struct AsIf {
    agreement: Arc<str>,
    edition: Edition,
}

/// Editions as if another of a partner's agreements had been in force: made once, used for every quote.
///
/// All agreements of a partner count, also those that only another edition has; where several editions have
/// one of a code, that of the edition itself counts, else that of the earliest. Credits are amounts, so an
/// agreement of an edition in another currency does not count.
///
/// Obeys `an_invoice_by_another_agreement_is_found`.
pub struct OtherAgreements {
    by_edition: BTreeMap<Code, BTreeMap<Code, Vec<AsIf>>>,
}

impl OtherAgreements {
    /// From all editions that quotes were priced by, the earliest first.
    pub fn new(published: &[Edition]) -> Self {
        let of_edition = |edition: &Edition| {
            let partners = edition.partners().iter().filter_map(|partner| {
                let code = &partner.party.code;
                let as_if = as_if(edition, code, published);
                // With one agreement alone there is no other.
                (as_if.len() > 1).then(|| (code.clone(), as_if))
            });
            (edition.code().clone(), partners.collect())
        };
        Self { by_edition: published.iter().map(of_edition).collect() }
    }

    /// Notes what each partner would have kept of an accepted offer by each of his other agreements. One
    /// that would have refused the job, or its work, is left out: nobody invoices by it.
    pub fn note(&self, agreed: &mut Agreed, past: &Past<'_>, firms: &mut Firms) {
        let Some(partners) = self.by_edition.get(&past.quote.edition) else { return };
        let job = past.job();
        for place in 0..agreed.shares.len() {
            let Some(share) = agreed.shares.get(place) else { continue };
            let (partner, own) = (Arc::clone(&share.partner), share.agreement.clone());
            let others = partners.get(&*partner).into_iter().flatten();
            for AsIf { agreement, edition } in others.filter(|other| own.as_ref() != Some(&other.agreement)) {
                let Ok(quote) = brief(&job, edition) else { continue };
                let Ok(mut other) = past.agreed(&quote, firms) else { continue };
                // Of a quote without its working it is known here alone whose agreement was another.
                if let Some(share) = other.shares.get_mut(place) {
                    share.agreement = Some(Arc::clone(agreement));
                }
                agreed.had_it_been(&other);
            }
        }
    }
}

/// The edition as if each of a partner's agreements had been in force, each code once.
fn as_if(edition: &Edition, partner: &Code, published: &[Edition]) -> Vec<AsIf> {
    let others = published.iter().filter(|other| other.code() != edition.code());
    let same_currency = others.filter(|other| other.currency() == edition.currency());
    let partners = [edition].into_iter().chain(same_currency).filter_map(|one| {
        let found = one.partners().find(partner.as_str())?;
        Some(found.agreements.iter())
    });
    let mut made: Vec<AsIf> = Vec::new();
    for agreement in partners.flatten() {
        if made.iter().any(|one| *one.agreement == *agreement.code.as_str()) {
            continue;
        }
        let as_if = edition.with_agreement(partner, agreement);
        made.extend(as_if.map(|edition| AsIf { agreement: agreement.code.as_str().into(), edition }));
    }
    made
}
