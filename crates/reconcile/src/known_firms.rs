//! Who is known, by VAT identifier, name and account.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use crate::agreed::Agreed;
use crate::firm::{Firm, WORKSHOP};
use crate::input::{Invoice, Payment, Trader};
use crate::reference::normal;
use crate::terms::BankAccount;
use crate::threads::ByAddress;

/// Firms by VAT identifier, by name and by account.
#[derive(Default)]
pub(crate) struct KnownFirms<'a> {
    by_id: HashMap<&'a str, &'a Arc<str>>,
    by_vat_id: HashMap<&'a str, Option<&'a Arc<str>>>,
    by_name: HashMap<String, Option<&'a Arc<str>>>,
    by_account: HashMap<String, Option<&'a Arc<str>>>,
    /// Accounts of the workshop.
    own: HashSet<String>,
    /// Firms that an end customer may be, by where those stand that quotes know as customers.
    partners: HashMap<usize, &'a Arc<Firm>, ByAddress>,
    /// Invoices share what they call a firm, so that nobody is looked up a million times.
    traders: Traders<'a>,
}

/// Whom invoices name, by where that stands.
pub(crate) type Traders<'a> = HashMap<usize, Option<&'a Arc<str>>, ByAddress>;

impl<'a> KnownFirms<'a> {
    /// Of all that was ever agreed: who is who does not depend on the last day that is looked at, as what was posted up
    /// to a day stays so when later days are known.
    pub(crate) fn new(agreed: &'a [Agreed], accounts: &'a [BankAccount]) -> Self {
        let mut firms = Self::default();
        let mut met: HashSet<*const Firm, ByAddress> = HashSet::default();
        let all = agreed.iter().flat_map(|agreed| &agreed.sales);
        let all = all.flat_map(|sale| [&sale.seller, &sale.buyer]);
        // Firms are shared, so most were met by their address already.
        let all: Vec<&'a Arc<Firm>> = all.filter(|firm| met.insert(Arc::as_ptr(firm))).collect();
        let partners = partners(&all);
        // A map that grows hashes all that it has anew.
        firms.by_id.reserve(all.len());
        let mut ids: Vec<&'a Arc<str>> = Vec::with_capacity(all.len());
        for firm in &all {
            let partner = partners.get(&*firm.id).copied();
            firms.partners.extend(partner.map(|partner| (Arc::as_ptr(firm).addr(), partner)));
            let partner = partner.map(|partner| &partner.id);
            let id = partner.map_or(&firm.id, |partner| *firms.by_id.entry(partner).or_insert(partner));
            ids.push(*firms.by_id.entry(&firm.id).or_insert(id));
        }
        firms.by_vat_id.reserve(firms.by_id.len());
        firms.by_name.reserve(firms.by_id.len());
        for (firm, id) in all.into_iter().zip(ids) {
            if let Some(vat_id) = &firm.vat_id {
                name_one(&mut firms.by_vat_id, &**vat_id, id);
            }
            name_one(&mut firms.by_name, name_key(&firm.name), id);
        }
        for BankAccount { account, firm, .. } in accounts {
            let id = firms.by_id.get(&**firm).copied().unwrap_or(firm);
            name_one(&mut firms.by_account, normal(account), id);
            if **id == *WORKSHOP {
                firms.own.insert(normal(account));
            }
        }
        firms
    }

    /// The partner that an end customer of a quote is, where he is one.
    pub(crate) fn partner(&self, customer: &Arc<Firm>) -> Option<&'a Arc<Firm>> {
        self.partners.get(&Arc::as_ptr(customer).addr()).copied()
    }

    /// Whom these invoices name, to be found by where it stands.
    pub(crate) fn traders(&self, invoices: &[Invoice]) -> Traders<'a> {
        let mut traders = Traders::default();
        for trader in invoices.iter().flat_map(|invoice| [&invoice.seller, &invoice.buyer]) {
            traders.entry(Arc::as_ptr(trader).addr()).or_insert_with(|| self.looked_up(trader));
        }
        traders
    }

    /// Takes in whom invoices name. They have to stand where they are for as long as this does.
    pub(crate) fn meet(&mut self, traders: Traders<'a>) {
        self.traders = traders;
    }

    /// Who an invoice names: by VAT identifier, else by a name that only one firm has.
    pub(crate) fn of_trader(&self, trader: &Trader) -> Option<&'a Arc<str>> {
        let met = self.traders.get(&std::ptr::from_ref(trader).addr());
        met.copied().unwrap_or_else(|| self.looked_up(trader))
    }

    fn looked_up(&self, trader: &Trader) -> Option<&'a Arc<str>> {
        let by_vat_id = trader.vat_id.as_deref().and_then(|vat_id| self.by_vat_id.get(vat_id).copied()?);
        by_vat_id.or_else(|| self.by_name.get(&name_key(&trader.name)).copied().flatten())
    }

    /// Whose account an invoice to a buyer is on: the firm's, else that of what the invoice says.
    pub(crate) fn party<'t>(&self, buyer: &'t Trader) -> &'t Arc<str>
    where
        'a: 't,
    {
        self.of_trader(buyer).unwrap_or_else(|| buyer.key())
    }

    /// Whose account it is, else whose name; never the workshop, which owes itself nothing.
    pub(crate) fn of_payer(&self, payment: &Payment) -> Option<&'a Arc<str>> {
        let account = payment.party_account.as_deref();
        let by_account = account.and_then(|account| self.by_account.get(&normal(account)).copied()?);
        let is_other = |id: &&Arc<str>| ***id != *WORKSHOP;
        by_account.filter(is_other).or_else(|| self.named(payment).filter(is_other))
    }

    /// Does the other side have the workshop's name?
    pub(crate) fn is_workshop(&self, payment: &Payment) -> bool {
        self.named(payment).is_some_and(|id| **id == *WORKSHOP)
    }

    fn named(&self, payment: &Payment) -> Option<&'a Arc<str>> {
        self.by_name.get(&name_key(payment.party.as_deref()?)).copied()?
    }

    /// The accounts that are listed as the workshop's, in their normal form.
    pub(crate) fn own_accounts(&self) -> &HashSet<String> {
        &self.own
    }

    /// The firm of a code.
    pub(crate) fn by_id(&self, id: &str) -> Option<&'a Arc<str>> {
        self.by_id.get(id).copied()
    }
}

/// Firms by their VAT identifiers, where one alone has it besides its code: an end customer goes by his, and is that one.
fn partners<'a>(all: &[&'a Arc<Firm>]) -> HashMap<&'a str, &'a Arc<Firm>> {
    let mut coded: HashMap<&'a str, Option<&'a Arc<Firm>>> = HashMap::new();
    let others = all.iter().copied().filter(|firm| *firm.id != *WORKSHOP);
    let named = others.filter_map(|firm| Some((firm, firm.vat_id.as_deref()?)));
    for (firm, vat_id) in named.filter(|(firm, vat_id)| *firm.id != **vat_id) {
        let known = coded.entry(vat_id).or_insert(Some(firm));
        *known = known.filter(|known| known.id == firm.id);
    }
    coded.into_iter().filter_map(|(vat_id, firm)| Some((vat_id, firm?))).collect()
}

/// Notes whom a name stands for; one that two firms have stands for neither.
fn name_one<'a, K: std::hash::Hash + Eq>(
    names: &mut HashMap<K, Option<&'a Arc<str>>>,
    name: K,
    id: &'a Arc<str>,
) {
    names.entry(name).and_modify(|known| *known = known.filter(|known| *known == id)).or_insert(Some(id));
}

/// A name as far as people write it alike.
pub(crate) fn name_key(name: &str) -> String {
    if !name.is_ascii() {
        return name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
    }
    let mut key = name.to_ascii_lowercase();
    key.retain(|c| c.is_ascii_alphanumeric());
    key
}
