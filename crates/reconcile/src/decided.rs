//! Do decisions fit what they are about?

use std::cell::OnceCell;
use std::collections::{HashMap, HashSet};

use evenfare_engine::money::{Currency, Net, Overflow};

use crate::Inputs;
use crate::error::Unreconciled;
use crate::firm::WORKSHOP;
use crate::input::{Invoice, Payment, Place, Slip, Statement, Status};
use crate::loaded::Loaded;
use crate::matching::{Last, Numbers};
use crate::reference::{Words, normal, number_of_creditor_reference};
use crate::terms::{Decision, Part, PaymentId};

/// Holds every decision against all that was loaded, also after the last day that is looked at: what a person
/// decided later is no mistake when one looks back.
pub(crate) fn check(inputs: &Inputs, loaded: &Loaded<'_>) -> Result<(), Unreconciled> {
    if inputs.decisions.is_empty() {
        return Ok(());
    }
    let known = Known::new(inputs, loaded);
    let mut slips = Slips::default();
    slips.of_one_mind(&inputs.decisions);
    slips.of_one_other(&inputs.decisions);
    for decision in &inputs.decisions {
        match decision {
            Decision::Payment { place, payment, towards } => {
                slips.payment(&known, place, payment, towards)?
            }
            Decision::Invoice { place, seller, number, quote } => {
                if !known.papers.contains(&(&**seller, &**number)) {
                    let expected = "an invoice or a charge that was loaded, by its seller and number";
                    slips.push(place, "unknown_invoice", format!("{number} of {seller}"), expected);
                }
                if let Some(quote) = quote.as_deref()
                    && let Some(expected) = known.quote_expected(seller, quote)
                {
                    slips.push(place, "unknown_quote", quote.to_owned(), expected);
                }
            }
        }
    }
    let Slips(mut slips) = slips;
    slips.sort();
    slips.dedup();
    if slips.is_empty() { Ok(()) } else { Err(Unreconciled::Undecidable(slips)) }
}

/// What decisions may be about.
struct Known<'l, 'a> {
    loaded: &'l Loaded<'a>,
    statements: HashMap<(&'a str, &'a str), &'a Statement>,
    /// By account and name as the names of payments begin.
    named: HashMap<String, &'a Statement>,
    /// Who wrote it, and its number.
    papers: HashSet<(&'a str, &'a str)>,
    /// Our invoices by what they go by, in its normal form; what two go by stands for neither.
    ours: HashMap<String, Option<&'a Invoice>>,
    /// Their numbers in their normal form.
    quotes: HashSet<String>,
    /// Of those that invoices were decided to be for, who sells.
    sellers: HashSet<(String, &'a str)>,
    /// What a payment can name, in its normal form, and that to be looked up by: it is where transfers are decided.
    names: OnceCell<(Vec<String>, Numbers)>,
}

impl<'l, 'a> Known<'l, 'a> {
    fn new(inputs: &'a Inputs, loaded: &'l Loaded<'a>) -> Self {
        let firms = &loaded.firms;
        let mut papers = HashSet::new();
        let mut ours: HashMap<String, Option<&'a Invoice>> = HashMap::new();
        for invoice in &inputs.invoices {
            let Some(seller) = firms.of_trader(&invoice.seller) else { continue };
            papers.insert((&**seller, &*invoice.number));
            if **seller == *WORKSHOP {
                let asked_for = invoice.payment_reference.as_deref();
                let reference =
                    asked_for.map(|text| number_of_creditor_reference(text).unwrap_or_else(|| normal(text)));
                for number in reference.into_iter().chain([normal(&invoice.number)]) {
                    let same = |known: &mut Option<&'a Invoice>| {
                        *known = known.filter(|known| known.number == invoice.number);
                    };
                    ours.entry(number).and_modify(same).or_insert(Some(invoice));
                }
            }
        }
        papers.extend(inputs.charges.iter().map(|charge| (charge.partner.as_str(), &*charge.invoice)));
        let of_invoices = inputs.decisions.iter().filter_map(|decision| match decision {
            Decision::Invoice { quote, .. } => quote.as_deref().map(normal),
            Decision::Payment { .. } => None,
        });
        let of_invoices: HashSet<String> = of_invoices.collect();
        let (mut quotes, mut sellers) = (HashSet::new(), HashSet::new());
        for deal in &inputs.agreed {
            let number = normal(&deal.number);
            if of_invoices.contains(&number) {
                sellers.extend(deal.sales.iter().map(|sale| (number.clone(), &*sale.seller.id)));
            }
            quotes.insert(number);
        }
        let statement = |one: &'a Statement| ((&*one.account, &*one.id), one);
        Self {
            loaded,
            statements: inputs.statements.iter().map(statement).collect(),
            named: inputs.statements.iter().map(|one| (format!("{}/{}", one.account, one.id), one)).collect(),
            papers,
            ours,
            quotes,
            sellers,
            names: OnceCell::new(),
        }
    }

    /// The payment of a name.
    fn payment(&self, name: &str) -> Option<PaymentId> {
        let (statement, place) = name.rsplit_once('/')?;
        let (entry, payment) = place.split_once('.')?;
        let Statement { account, id, .. } = self.named.get(statement)?;
        let (account, statement) = (account.as_ref().into(), id.as_ref().into());
        let (entry, payment) = (entry.parse().ok()?, payment.parse().ok()?);
        Some(PaymentId { account, statement, entry, payment }).filter(|id| id.to_string() == name)
    }

    /// Is it the number of a quote, and of no invoice of ours?
    fn is_quote(&self, number: &str) -> bool {
        let number = normal(number);
        self.ours.get(&number).copied().flatten().is_none() && self.quotes.contains(&number)
    }

    /// What is to stand in the place of a quote that an invoice of that seller cannot be for.
    fn quote_expected(&self, seller: &str, quote: &str) -> Option<String> {
        let number = normal(quote);
        if !self.quotes.contains(&number) {
            return Some("the number of a quote that was accepted".to_owned());
        }
        let is_sold = self.sellers.contains(&(number, seller));
        (!is_sold).then(|| format!("the number of a quote by which {seller} sells"))
    }

    /// What was booked under that name; what is announced only has another when it is booked.
    fn booked(&self, id: &PaymentId) -> Option<Booked<'a>> {
        let statement = self.statements.get(&(&*id.account, &*id.statement))?;
        let place = |number: u32| usize::try_from(number).ok()?.checked_sub(1);
        let batch = statement.batches.get(place(id.entry)?).filter(|batch| batch.status == Status::Booked)?;
        Some(Booked { statement, payment: batch.payments.get(place(id.payment)?)? })
    }

    /// Whose a payment is, or what it is for, where it is no side of a transfer. What goes to or comes from an account of
    /// ours is one, whatever else it says.
    fn of_another(&self, Booked { statement, payment }: Booked<'a>) -> Option<String> {
        if self.loaded.is_transfer(statement, payment) {
            return None;
        }
        let of_firm = self.loaded.firms.of_payer(payment).map(|firm| format!("of {firm}"));
        of_firm.or_else(|| self.named(payment).map(|number| format!("for {number}")))
    }

    /// The first invoice of ours or quote that a payment names.
    fn named(&self, payment: &Payment) -> Option<&str> {
        let (names, numbers) = self.names.get_or_init(|| {
            let names: HashSet<&String> = self.quotes.iter().chain(self.ours.keys()).collect();
            let names: Vec<String> = names.into_iter().cloned().collect();
            let numbers = Numbers::new(names.iter().map(String::as_str).zip(0..));
            (names, numbers)
        });
        let structured = payment.structured.iter().map(AsRef::as_ref);
        let mut texts = structured.chain(payment.end_to_end.as_deref()).chain([&*payment.remittance]);
        let mut words = Words::default();
        let first = texts.find_map(|text| {
            if let Some(place) = number_of_creditor_reference(text).and_then(|number| numbers.get(&number)) {
                return Some(place);
            }
            let mut first = None;
            words.read(text);
            words.names(|run| numbers.of_run(run, &Last::default()), |place| first = first.or(Some(place)));
            first
        });
        names.get(usize::try_from(first?).ok()?).map(String::as_str)
    }
}

/// A payment, and the statement that it stands on.
#[derive(Clone, Copy)]
struct Booked<'a> {
    statement: &'a Statement,
    payment: &'a Payment,
}

impl Booked<'_> {
    /// What it clears, and in which currency.
    fn cleared(&self) -> (i64, Currency) {
        let Payment { minor, charges_minor, .. } = self.payment;
        (minor.saturating_add(*charges_minor), self.statement.currency)
    }
}

#[derive(Default)]
struct Slips(Vec<Slip>);

impl Slips {
    fn push(&mut self, place: &Place, code: &'static str, found: String, expected: impl Into<String>) {
        self.0.push(Slip { place: place.clone(), code, found, expected: expected.into() });
    }

    /// Which of two decisions came later is not known, so neither could be followed.
    fn of_one_mind(&mut self, decisions: &[Decision]) {
        let mut sorted: Vec<&Decision> = decisions.iter().collect();
        sorted.sort_by(|a, b| a.about().cmp(&b.about()).then_with(|| a.place().cmp(b.place())));
        for same in sorted.chunk_by(|a, b| a.about() == b.about()) {
            let Some((first, others)) = same.split_first() else { continue };
            for other in others.iter().filter(|other| !other.says_the_same(first)) {
                let found = match other {
                    Decision::Payment { payment, .. } => payment.to_string(),
                    Decision::Invoice { seller, number, .. } => format!("{number} of {seller}"),
                };
                let Place { file, line } = first.place();
                let expected = format!("what was decided of it at {file}:{line}");
                self.push(other.place(), "decided_twice", found, expected);
            }
        }
    }

    fn payment(
        &mut self,
        known: &Known<'_, '_>,
        place: &Place,
        id: &PaymentId,
        towards: &[Part],
    ) -> Result<(), Overflow> {
        let Some(booked) = known.booked(id) else {
            let expected = "a payment that was booked: account, statement, entry and payment";
            self.push(place, "unknown_payment", id.to_string(), expected);
            return Ok(());
        };
        let (cleared, currency) = booked.cleared();
        if let Some((part, name)) = towards.iter().find_map(|part| Some((part, part.other_side()?))) {
            self.whole(place, (id, cleared, currency), part, towards)?;
            return self.other_side(known, place, (id, booked), name);
        }
        // At what rate a payment in another currency was taken is not known.
        let mut adds_up = !towards.is_empty();
        let mut sum = 0_i64;
        for part in towards {
            sum = sum.saturating_add(part.minor);
            adds_up &= part.currency == currency;
            match known.ours.get(&normal(&part.invoice)).copied().flatten() {
                Some(invoice) if invoice.currency != part.currency => {
                    adds_up = false;
                    let found = format!("{} for {}", written(part.minor, part.currency)?, part.invoice);
                    let expected = format!("an amount in {}, as the invoice is", invoice.currency);
                    self.push(place, "other_currency", found, expected);
                }
                Some(_) => {}
                None if known.is_quote(&part.invoice) => {
                    if part.minor.signum() != cleared.signum() {
                        adds_up = false;
                        let expected = format!(
                            "an amount {} nothing, as {id} {}",
                            if cleared < 0 { "below" } else { "above" },
                            if cleared < 0 { "leaves the account" } else { "comes in" }
                        );
                        self.push(place, "does_not_add_up", written(part.minor, part.currency)?, expected);
                    }
                }
                None => {
                    adds_up = false;
                    let expected =
                        "the number of one of our invoices that was loaded, or of a quote that was accepted";
                    self.push(place, "unknown_invoice", part.invoice.to_string(), expected);
                }
            }
        }
        if adds_up && sum != cleared {
            let expected = format!("{} in all, as {id} clears", written(cleared, currency)?);
            self.push(place, "does_not_add_up", written(sum, currency)?, expected);
        }
        Ok(())
    }

    /// A row that says what all of a payment is stands alone.
    fn whole(
        &mut self,
        place: &Place,
        (id, cleared, currency): (&PaymentId, i64, Currency),
        part: &Part,
        towards: &[Part],
    ) -> Result<(), Overflow> {
        let is_whole = towards.len() == 1 && (part.minor, part.currency) == (cleared, currency);
        if !is_whole {
            let expected = format!("{} and no other row, as {id} clears", written(cleared, currency)?);
            self.push(place, "does_not_add_up", written(part.minor, part.currency)?, expected);
        }
        Ok(())
    }

    /// Of two sides one leaves an account, and in one currency no more than that arrives. Neither is another's.
    fn other_side<'a>(
        &mut self,
        known: &Known<'_, 'a>,
        place: &Place,
        (id, own): (&PaymentId, Booked<'a>),
        name: &str,
    ) -> Result<(), Overflow> {
        let other = known.payment(name).filter(|other| other != id).and_then(|other| known.booked(&other));
        let Some(other) = other else {
            let expected = "`payment` and the name of another payment that was booked";
            self.push(place, "unknown_payment", name.to_owned(), expected);
            return Ok(());
        };
        for (name, of) in [(id.to_string(), own), (name.to_owned(), other)] {
            if let Some(whose) = known.of_another(of) {
                let expected =
                    "a payment between own accounts, neither of a firm nor for an invoice or a quote";
                self.push(place, "not_a_transfer", format!("{name} {whose}"), expected);
            }
        }
        let ((cleared, currency), (other, of)) = (own.cleared(), other.cleared());
        let (leaves, arrives) = (cleared.min(other), cleared.max(other));
        let is_more = currency == of && arrives > leaves.saturating_neg();
        if leaves >= 0 || arrives <= 0 || is_more {
            let found = format!("{} and {}", written(cleared, currency)?, written(other, of)?);
            let expected = "two sides of a transfer: one leaves an account, and no more arrives";
            self.push(place, "does_not_add_up", found, expected);
        }
        Ok(())
    }

    /// A payment that is a side of a transfer has one other side, and is for no invoice.
    fn of_one_other(&mut self, decisions: &[Decision]) {
        let mut sorted: Vec<&Decision> = decisions.iter().collect();
        sorted.sort_by(|a, b| a.place().cmp(b.place()));
        let mut known: HashMap<String, (String, &Place)> = HashMap::new();
        for decision in sorted {
            let Decision::Payment { place, payment, towards } = decision else { continue };
            let (own, other) = (payment.to_string(), towards.iter().find_map(Part::other_side));
            let said = match other {
                Some(other) => vec![(other.to_owned(), own.clone()), (own, other.to_owned())],
                None if towards.is_empty() => continue,
                None => vec![(own, String::new())],
            };
            for (of, is) in said {
                let (first, at) = known.entry(of.clone()).or_insert_with(|| (is.clone(), place));
                if *first != is {
                    let Place { file, line } = *at;
                    let expected = format!("what was decided of it at {file}:{line}");
                    self.push(place, "decided_twice", of, expected);
                }
            }
        }
    }
}

fn written(minor: i64, currency: Currency) -> Result<String, Overflow> {
    Ok(format!("{} {currency}", Net::from_minor(minor)?.in_major_units(currency)))
}
