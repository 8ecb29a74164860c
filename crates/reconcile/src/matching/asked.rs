//! Questions about payments, and what each answer takes of one.

use super::payments::{Asked, Matching, State, payment_document};
use super::question::{Undecided, Why};
use crate::error::Unreconciled;
use crate::terms::Part;

impl Matching<'_, '_> {
    /// Asks a person. What is asked about is not told as a difference as well, until it is decided.
    pub(crate) fn ask(
        &mut self,
        payment: u32,
        why: Why,
        candidates: &[Vec<u32>],
    ) -> Result<(), Unreconciled> {
        let Some(received) = self.payment(payment) else { return Ok(()) };
        let goes_out = received.cleared() < 0;
        let mut named = Vec::with_capacity(candidates.len());
        let mut taken = Vec::with_capacity(candidates.len());
        for candidate in candidates {
            taken.push(self.taken(payment, why, candidate)?);
            let mut numbers: Vec<Box<str>> = Vec::with_capacity(candidate.len());
            for &place in candidate {
                if let Some(open) = self.open.get_mut(place) {
                    open.put_in_question(goes_out);
                    numbers.push(open.invoice.number.clone());
                }
            }
            named.push(numbers);
        }
        self.asked.push(Asked { question: self.undecided.len(), payment, candidates: candidates.to_vec() });
        self.question(payment, why, named, taken);
        Ok(())
    }

    /// What an answer takes of a payment by now.
    fn taken(&self, payment: u32, why: Why, candidate: &[u32]) -> Result<Vec<Part>, Unreconciled> {
        let parts = match self.currency_of(candidate) {
            Some(currency) if why != Why::TooMany => self.parts(payment, candidate, currency)?,
            _ => candidate.iter().map(|place| (*place, self.rest(*place))).collect(),
        };
        let part = |(place, minor)| {
            let open = self.open.get(place)?;
            Some(Part { invoice: open.invoice.number.clone(), currency: open.currency(), minor })
        };
        Ok(parts.into_iter().filter_map(part).collect())
    }

    /// What was asked before all was matched is answered by what is left now, or by what was paid where money goes out; an
    /// answer of which nothing is left stays.
    pub(super) fn answer_by_what_is_left(&mut self) -> Result<(), Unreconciled> {
        for Asked { question, payment, candidates } in std::mem::take(&mut self.asked) {
            let Some(why) = self.undecided.get(question).map(|asked| asked.why) else { continue };
            let comes_in = self.payment(payment).is_some_and(|one| one.cleared() > 0);
            for (answer, candidate) in candidates.iter().enumerate() {
                if comes_in && candidate.iter().all(|place| self.rest(*place) == 0) {
                    continue;
                }
                let taken = self.taken(payment, why, candidate)?;
                if taken.iter().all(|part| part.minor == 0) {
                    continue;
                }
                if let Some(asked) = self.undecided.get_mut(question)
                    && let Some(parts) = asked.parts.get_mut(answer)
                {
                    *parts = taken;
                }
            }
        }
        Ok(())
    }

    /// Asks which of these parts of invoices and quotes a payment is for.
    pub(super) fn ask_parts(&mut self, payment: u32, why: Why, answers: Vec<Vec<Part>>) {
        let numbers = |parts: &Vec<Part>| parts.iter().map(|part| part.invoice.clone()).collect();
        self.question(payment, why, answers.iter().map(numbers).collect(), answers);
    }

    fn question(&mut self, payment: u32, why: Why, candidates: Vec<Vec<Box<str>>>, parts: Vec<Vec<Part>>) {
        let Some(received) = self.payment(payment) else { return };
        self.set(payment, State::Asked);
        self.undecided.push(Undecided {
            subject: payment_document(received),
            payment: Some(received.id()),
            seller: None,
            why,
            currency: received.currency(),
            amount_minor: received.cleared(),
            candidates,
            parts,
        });
    }
}
