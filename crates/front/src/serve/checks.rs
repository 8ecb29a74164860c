//! What an audit checks of what was kept, beside the chain: somebody who computes the hashes again has to get this
//! right as well.

use std::collections::HashMap;

use chrono::NaiveDate;
use evenfare_engine::job::Job;
use evenfare_engine::quote::Quote;
use evenfare_engine::view::{Reader, view};
use evenfare_store::caller::Role;
use evenfare_store::digest::Digest;
use evenfare_store::entry::{Content, Entry};
use evenfare_store::event::{Event, Kept, Kind, Record};
use evenfare_store::invoice::{Billed, Sale};

use crate::editions::read_kept;
use crate::kept::{content, own_sale, read};
use crate::wire::WrittenQuote;

/// By whom the command line writes: it needs no token, as whoever uses it has the database.
pub const COMMAND_LINE: &str = "command-line";

/// What is known so far, as records go by in their order.
#[derive(Default)]
pub struct Checks {
    /// Callers so far, also those withdrawn: a call that was under way then is finished.
    callers: HashMap<String, Role>,
    /// First and last day of each edition.
    editions: HashMap<String, (NaiveDate, Option<NaiveDate>)>,
    /// The opposite of the last quote of each number, by its digest.
    opposites: HashMap<String, Digest>,
    /// What the workshop's own sale of the accepted offer of each number comes to.
    sales: HashMap<String, Sale>,
}

impl Checks {
    /// Checks the next record.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn check(&mut self, record: &Record) -> Result<(), String> {
        self.caller(&record.event)?;
        match &record.kept {
            Kept::Entry(entry) => self.entry(record.event.kind, entry),
            Kept::Invoice(invoice) => self.invoice(&invoice.billed),
            Kept::Edition(kept) => {
                read_kept(kept).map_err(|error| error.to_string())?;
                self.editions.insert(kept.code.to_string(), (kept.from, kept.until));
                Ok(())
            }
            Kept::Caller(caller) => {
                self.callers.insert(caller.name.to_string(), caller.role.clone());
                Ok(())
            }
            Kept::Unread(why) => Err(why.clone()),
        }
    }

    /// Was he a caller then, of a role that may do this?
    fn caller(&self, event: &Event) -> Result<(), String> {
        let name = event.caller.as_str();
        let of_office = self.callers.get(name) == Some(&Role::Office);
        let may = match event.kind {
            Kind::CallerAdded | Kind::CallerWithdrawn => name == COMMAND_LINE,
            Kind::Published => name == COMMAND_LINE || of_office,
            _ => of_office,
        };
        if may { Ok(()) } else { Err(format!("a caller `{name}` who might not do this")) }
    }

    /// Can its document be read, does every sum in it hold, does the entry say what it says, and is it what its
    /// event says it is?
    fn entry(&mut self, kind: Kind, entry: &Entry) -> Result<(), String> {
        let kept = &entry.content;
        let (job, quote) = read(&kept.document).map_err(|error| error.to_string())?;
        let job = Job::try_from(job).map_err(|error| error.to_string())?;
        let (said, _) =
            content(&job, quote.clone()).map_err(|_| String::from("a quote that cannot be kept"))?;
        let said = Content { document: kept.document.clone(), ..said };
        if said != *kept && without_amounts(said) != *kept {
            return Err(String::from("an entry that says something else than its document"));
        }
        let days = self.editions.get(kept.edition.as_str());
        let prices = |(from, until): &(NaiveDate, Option<NaiveDate>)| {
            *from <= quote.received && until.is_none_or(|until| quote.received <= until)
        };
        if !days.is_some_and(prices) {
            return Err(format!(
                "an edition {} that did not price what arrived on {}",
                kept.edition, quote.received
            ));
        }
        let number = entry.number.to_string();
        match kind {
            Kind::Reversed if self.opposites.get(&number) != Some(&digest(&quote)) => {
                Err(String::from("an entry that is not the opposite of what it takes back"))
            }
            Kind::Issued | Kind::Revised => {
                let opposite = quote.reversed().map_err(|error| error.to_string())?;
                self.opposites.insert(number, digest(&opposite));
                Ok(())
            }
            Kind::Accepted => {
                let offer = entry.accepted.as_ref().map(|offer| offer.as_str()).unwrap_or_default();
                let sale = own_sale(&quote, offer).ok_or("an accepted offer that nobody sells")?;
                self.sales.insert(number, sale);
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// Does an invoice charge what the accepted offer comes to? That a credit note is the opposite of its invoice,
    /// the store sees to.
    fn invoice(&self, billed: &Billed) -> Result<(), String> {
        let as_accepted = self.sales.get(&billed.quote.to_string()) == Some(&billed.sale);
        if billed.preceding.is_some() || as_accepted {
            Ok(())
        } else {
            Err(String::from("an invoice of another amount than was accepted"))
        }
    }
}

/// As earlier builds have kept it: what its offers come to stood in the document alone.
fn without_amounts(mut content: Content) -> Content {
    content.offers.iter_mut().for_each(|offer| offer.net_minor = None);
    content
}

/// Of all that a quote says.
fn digest(quote: &Quote) -> Digest {
    let seen = view(quote, &Reader::Office).map(|seen| WrittenQuote::from(&seen));
    Digest::of(seen.unwrap_or_default().as_bytes())
}
