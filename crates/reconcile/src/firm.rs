//! Who sells and who buys, named once and shared.

use std::collections::HashMap;
use std::sync::Arc;

use evenfare_engine::tariff::Party;

/// The name by which the workshop goes among firms.
pub const WORKSHOP: &str = "workshop";
/// The name that every end customer has on a quote, where he is told apart by what else he is.
const CUSTOMER: &str = "customer";

/// A firm: the workshop, a partner or an end customer.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Firm {
    /// What accounts and differences know it by: `workshop`, the partner's code, and for an end customer
    /// the VAT identifier or, without one, the name.
    pub id: Arc<str>,
    /// Its name.
    pub name: Arc<str>,
    /// VAT identifier, in its normal form.
    pub vat_id: Option<Arc<str>>,
}

/// The firms met so far, so that a million quotes of a thousand firms hold a thousand firms.
#[derive(Debug, Default)]
pub struct Firms {
    known: HashMap<Firm, Arc<Firm>>,
}

impl Firms {
    /// The firm that a party of a quote is.
    pub fn of(&mut self, party: &Party) -> Arc<Firm> {
        let name: Arc<str> = party.name.as_str().into();
        let vat_id: Option<Arc<str>> = party.vat_id.as_deref().map(Into::into);
        let id = match (party.code.as_str(), &vat_id) {
            (CUSTOMER, Some(vat_id)) => Arc::clone(vat_id),
            (CUSTOMER, None) => Arc::clone(&name),
            (code, _) => code.into(),
        };
        let firm = Firm { id, name, vat_id };
        if let Some(known) = self.known.get(&firm) {
            return Arc::clone(known);
        }
        let shared = Arc::new(firm.clone());
        self.known.insert(firm, Arc::clone(&shared));
        shared
    }
}
