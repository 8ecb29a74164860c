//! Who paid, where the bank does not say whose the account is.

use std::cell::OnceCell;
use std::collections::HashMap;
use std::sync::Arc;

use super::payments::Matching;
use crate::loaded::Loaded;
use crate::reference::normal;

/// Accounts that invoices of one party only were paid from, as far as payments are matched when the first of them is
/// looked up: it takes a look at all of them, and most payers are known.
#[derive(Default)]
pub(super) struct Payers(OnceCell<HashMap<String, Option<Arc<str>>>>);

impl Payers {
    fn learnt(matching: &Matching<'_, '_>) -> HashMap<String, Option<Arc<str>>> {
        let mut learnt: HashMap<String, Option<Arc<str>>> = HashMap::new();
        for part in &matching.allocations {
            let (Some(one), Some(open)) = (matching.payment(part.payment), matching.open.get(part.open))
            else {
                continue;
            };
            if let Some(account) = &one.payment.party_account {
                learnt
                    .entry(normal(account))
                    .and_modify(|known| {
                        if known.as_ref() != Some(open.party) {
                            *known = None;
                        }
                    })
                    .or_insert_with(|| Some(Arc::clone(open.party)));
            }
        }
        learnt
    }

    /// Who paid, where that is known; else the only party whose invoices were paid from the account.
    pub(super) fn of<'a>(
        &self,
        matching: &Matching<'_, 'a>,
        loaded: &Loaded<'a>,
        payment: u32,
    ) -> Option<Arc<str>> {
        let by_account = || {
            let account = matching.payment(payment)?.payment.party_account.as_deref()?;
            self.0.get_or_init(|| Self::learnt(matching)).get(&normal(account)).cloned().flatten()
        };
        matching.payer(loaded, payment).or_else(by_account)
    }
}
