//! Names that nobody knows, in what people write by hand: whoever misspells one would hear nothing of it.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use evenfare_engine::nearest::{LOOKED_FOR, or_nearest};

use crate::Inputs;
use crate::agreed::Agreed;
use crate::firm::WORKSHOP;
use crate::input::{Charge, Place, Slip};
use crate::loaded::Loaded;
use crate::matching::{Numbers, Reader};
use crate::reference::normal;
use crate::terms::Decision;
use crate::threads::ByAddress;

/// What a name is to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    Partner,
    Firm,
    Quote,
}

/// All names that nobody knows, in the order of their places. Who is known on any day is known, as decisions are
/// held against everything too.
pub(crate) fn names(inputs: &Inputs, loaded: &Loaded<'_>, numbers: &Numbers) -> Vec<Slip> {
    let mut names = Names(BTreeMap::new());
    names.firms(inputs, loaded);
    names.quotes(inputs, loaded, numbers);
    if names.0.is_empty() { Vec::new() } else { slips(inputs, names) }
}

/// Names by file, kind and text, each with the first line it stands at.
struct Names<'a>(BTreeMap<(&'a Arc<str>, What, &'a str), u32>);

impl<'a> Names<'a> {
    fn note(&mut self, place: &'a Place, what: What, name: &'a str) {
        let line = self.0.entry((&place.file, what, name)).or_insert(place.line);
        *line = place.line.min(*line);
    }

    /// Firms that no deal up to the last day has.
    fn firms(&mut self, inputs: &'a Inputs, loaded: &Loaded<'a>) {
        let terms = &inputs.terms;
        let reporting = terms.reporting.iter().map(|(partner, place)| (place, What::Partner, &**partner));
        let bonuses = terms.bonuses.iter().map(|tier| (&tier.place, What::Partner, &*tier.partner));
        let charges = listed(loaded).map(|charge| (&charge.place, What::Partner, charge.partner.as_str()));
        let accounts = terms.accounts.iter().map(|account| (&account.place, What::Firm, &*account.firm));
        let mut partners = Partners { inputs, loaded, known: HashMap::new(), of_deals: OnceCell::new() };
        for (place, what, name) in reporting.chain(bonuses).chain(charges).chain(accounts) {
            let is_known = match what {
                What::Partner => partners.knows(name),
                _ => name == WORKSHOP || loaded.firms.by_id(name).is_some() || inputs.partners.contains(name),
            };
            if !is_known {
                self.note(place, what, name);
            }
        }
    }

    /// Quotes that were not accepted up to the last day. Of a charge that a person decided about, his word counts.
    fn quotes(&mut self, inputs: &'a Inputs, loaded: &Loaded<'a>, numbers: &Numbers) {
        let decided = inputs.decisions.iter().filter_map(|decision| match decision {
            Decision::Invoice { seller, number, .. } => Some((&**seller, &**number)),
            Decision::Payment { .. } => None,
        });
        let decided: HashSet<(&str, &str)> = decided.collect();
        let charges =
            listed(loaded).filter(|charge| !decided.contains(&(charge.partner.as_str(), &*charge.invoice)));
        let charges = charges.map(|charge| (&charge.place, &*charge.quote));
        let bills = loaded.courier_bills.iter().map(|bill| (&bill.place, &*bill.quote));
        let works = loaded.work_done.iter().map(|work| (&work.place, &*work.quote));
        let mut reader = Reader::default();
        for (place, quote) in charges.chain(bills).chain(works) {
            if numbers.named(quote, &mut reader).is_none() {
                self.note(place, What::Quote, quote);
            }
        }
    }
}

/// Partners: who is a firm of a quote may be its end customer, or the workshop.
struct Partners<'a, 'l> {
    inputs: &'a Inputs,
    loaded: &'l Loaded<'a>,
    known: HashMap<&'a str, bool>,
    of_deals: OnceCell<HashSet<&'a str>>,
}

impl<'a> Partners<'a, '_> {
    fn knows(&mut self, name: &'a str) -> bool {
        let Self { inputs, loaded, known, of_deals } = self;
        *known.entry(name).or_insert_with(|| {
            inputs.partners.contains(name) || of_deals.get_or_init(|| of_shares(&loaded.deals)).contains(name)
        })
    }
}

/// Whoever a share is of.
fn of_shares<'a>(deals: &[&'a Agreed]) -> HashSet<&'a str> {
    let partners = deals.iter().flat_map(|deal| &deal.shares).map(|share| &share.partner);
    // Codes are shared, so most were met by their address already.
    let mut met: HashSet<*const u8, ByAddress> = HashSet::default();
    partners.filter(|partner| met.insert(partner.as_ptr())).map(|partner| &**partner).collect()
}

/// All rows of lists, also those that tell of an invoice again.
fn listed<'l, 'a>(loaded: &'l Loaded<'a>) -> impl Iterator<Item = &'a Charge> + use<'l, 'a> {
    let again = loaded.retold.iter().flat_map(|paper| &paper.again.rows);
    loaded.charges.iter().chain(again).copied()
}

/// What is unknown on every day, with what is near to it.
fn slips(inputs: &Inputs, Names(unknown): Names<'_>) -> Vec<Slip> {
    let mut quotes = HashSet::new();
    let mut partners: BTreeSet<&str> = inputs.partners.iter().map(AsRef::as_ref).collect();
    let mut firms = partners.clone();
    for agreed in &inputs.agreed {
        partners.extend(agreed.shares.iter().map(|share| &*share.partner));
        firms.extend(agreed.sales.iter().flat_map(|sale| [&*sale.seller.id, &*sale.buyer.id]));
        if agreed.accepted > inputs.terms.until {
            quotes.insert(normal(&agreed.number));
        }
    }
    let is_known = |what: What, name: &str| match what {
        What::Quote => quotes.contains(&normal(name)),
        What::Partner => partners.contains(name),
        What::Firm => firms.contains(name),
    };
    let mut looked_for: BTreeMap<(What, &str), String> = BTreeMap::new();
    let mut slips: Vec<Slip> = Vec::new();
    for ((file, what, name), line) in unknown {
        if is_known(what, name) {
            continue;
        }
        let (code, expected) = match what {
            What::Partner => ("unknown_partner", "a partner of the tariff or of a quote that was accepted"),
            What::Firm => ("unknown_firm", "a partner or a customer of a quote that was accepted"),
            What::Quote => ("unknown_quote", "the number of a quote that was accepted"),
        };
        let names = match what {
            What::Partner => Some(&partners),
            What::Firm => Some(&firms),
            // Numbers are given one after the other, so each is near to many.
            What::Quote => None,
        };
        let room = looked_for.len() < LOOKED_FOR;
        let expected = match names {
            None => expected.to_owned(),
            Some(names) => {
                let told = looked_for.entry((what, name)).or_insert_with(|| match room {
                    true => or_nearest(expected, name, names.iter().copied()),
                    false => expected.to_owned(),
                });
                told.clone()
            }
        };
        let place = Place { file: Arc::clone(file), line };
        slips.push(Slip { place, code, found: name.to_owned(), expected });
    }
    slips.sort();
    slips
}
