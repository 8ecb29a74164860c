//! A quote as it was kept, and what is to be compared of it.

use chrono::NaiveDate;
use evenfare_engine::MAIN;
use evenfare_engine::job::Job;
use evenfare_engine::quote::Quote;

use crate::agreed::{Agreed, NotAgreed};
use crate::firm::Firms;

/// A quote as it was kept.
#[derive(Debug, Clone, Copy)]
pub struct Past<'q> {
    /// The number it was issued under.
    pub number: &'q str,
    /// The job it was for.
    pub job: &'q Job,
    /// What it says.
    pub quote: &'q Quote,
    /// The offer that was accepted, where one was.
    pub accepted: Option<&'q str>,
}

impl Past<'_> {
    /// The offer that is looked at: the one that was accepted, or the job itself.
    pub fn offer(&self) -> &str {
        self.accepted.unwrap_or(MAIN)
    }

    /// The job, in the currency it was quoted in. Where the job does not say one, that was the tariff's, and
    /// another tariff may have another.
    pub(super) fn job(&self) -> Job {
        Job { currency: Some(self.quote.currency), ..self.job.clone() }
    }

    /// A quote for its job as what was agreed. Days play no part in it.
    pub(super) fn agreed(&self, quote: &Quote, firms: &mut Firms) -> Result<Agreed, NotAgreed> {
        let accepted: NaiveDate = self.quote.quoted;
        Agreed::new(self.number, quote, self.offer(), accepted, firms)
    }
}
