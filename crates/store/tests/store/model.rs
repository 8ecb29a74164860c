//! What a store has to answer, written down naively: lists that are searched from end to end, and no
//! hashes. An etag is the sequence of an event.

use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc};
use evenfare_engine::text::Code;
use evenfare_store::caller::Role;
use evenfare_store::command::Command;
use evenfare_store::digest::Digest;
use evenfare_store::entry::{Content, State};
use evenfare_store::invoice::Billed;
use evenfare_store::number::{Number, Series};
use evenfare_store::refused::Refused;
use evenfare_store::{Filter, Sight};

use crate::bills::{self, ToldInvoice};

/// An entry as it is told: etags by the sequence of their event.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldEntry {
    pub number: Number,
    pub content: Content,
    pub state: State,
    pub accepted: Option<Code>,
    pub settled: Option<NaiveDate>,
    pub etag: usize,
}

/// What a record says.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    Entry(usize, ToldEntry),
    Invoice(usize, ToldInvoice),
    Edition(usize, Code, NaiveDate, Option<NaiveDate>, Vec<u8>),
    Caller(usize, Code, Role, Digest, bool),
}

/// A command whose etags are sequences.
#[derive(Debug, Clone)]
pub struct Wish {
    pub id: Code,
    pub fingerprint: Digest,
    pub etag: usize,
    pub command: Command,
}

impl ToldEntry {
    /// What a list says that was accepted comes to.
    pub fn accepted_net_minor(&self) -> Option<i64> {
        let accepted = self.accepted.as_ref().filter(|_| self.state == State::Accepted)?;
        match accepted.as_str() {
            "main" => Some(self.content.end_net_minor),
            other => self.content.offers.iter().find(|offer| offer.id.as_str() == other).unwrap().net_minor,
        }
    }
}

fn seen(entry: &ToldEntry, sight: &Sight) -> bool {
    match sight {
        Sight::All => true,
        Sight::Partner(partner) => entry.content.partners.contains(partner),
    }
}

#[derive(Default)]
pub struct Model {
    /// What was answered, and to which request: the sequence is the place, from 1.
    pub log: Vec<(Code, Digest, Told)>,
    /// How late it is.
    pub now: DateTime<Utc>,
    /// When each of the log was written down.
    pub moments: Vec<DateTime<Utc>>,
}

impl Model {
    /// The records about a number, in order.
    fn about(&self, number: &Number) -> Vec<&ToldEntry> {
        self.log
            .iter()
            .filter_map(|(_, _, told)| match told {
                Told::Entry(_, entry) if entry.number == *number => Some(entry),
                _ => None,
            })
            .collect()
    }

    /// All entries of a number as they stand now, in order.
    fn entries(&self, number: &Number) -> Vec<ToldEntry> {
        let about = self.about(number);
        let mut entries: Vec<ToldEntry> = Vec::new();
        for told in &about {
            let same = |entry: &ToldEntry| {
                (entry.content.revision, entry.content.reversal)
                    == (told.content.revision, told.content.reversal)
            };
            match told.state {
                State::Accepted | State::Declined => {
                    let entry = entries.iter_mut().find(|entry| same(entry)).unwrap();
                    *entry = (*told).clone();
                }
                State::Reversed => {
                    for entry in &mut entries {
                        if entry.content.revision == told.content.revision {
                            entry.state = State::Reversed;
                            (entry.accepted, entry.settled) = (None, None);
                        }
                    }
                    entries.push((*told).clone());
                }
                _ => {
                    for entry in &mut entries {
                        entry.state = State::Superseded;
                        (entry.accepted, entry.settled) = (None, None);
                    }
                    entries.push((*told).clone());
                }
            }
        }
        let last = about.last().map_or(0, |told| told.etag);
        entries.iter_mut().for_each(|entry| entry.etag = last);
        entries
    }

    pub fn numbers(&self) -> Vec<Number> {
        let mut numbers: Vec<Number> = Vec::new();
        for (_, _, told) in &self.log {
            if let Told::Entry(_, entry) = told
                && !numbers.contains(&entry.number)
            {
                numbers.push(entry.number.clone());
            }
        }
        numbers
    }

    pub fn editions(&self) -> Vec<Told> {
        let mut editions: Vec<_> = self
            .log
            .iter()
            .map(|line| line.2.clone())
            .filter(|told| matches!(told, Told::Edition(..)))
            .collect();
        editions.sort_by_key(
            |told| if let Told::Edition(_, _, from, ..) = told { *from } else { unreachable!() },
        );
        editions
    }

    /// Name, role, credential, withdrawn.
    pub fn callers(&self) -> Vec<(Code, Role, Digest, bool)> {
        let mut callers: Vec<(Code, Role, Digest, bool)> = Vec::new();
        for (_, _, told) in &self.log {
            if let Told::Caller(_, name, role, credential, withdrawn) = told {
                match callers.iter_mut().find(|caller| caller.0 == *name) {
                    Some(caller) => caller.3 = *withdrawn,
                    None => callers.push((name.clone(), role.clone(), *credential, *withdrawn)),
                }
            }
        }
        callers
    }

    pub fn settings(&self) -> usize {
        let is_setting = |told: &Told| matches!(told, Told::Edition(..) | Told::Caller(..));
        self.log.iter().rposition(|line| is_setting(&line.2)).map_or(0, |place| place + 1)
    }

    /// All invoices and credit notes as they stand now, in order.
    pub fn invoices(&self) -> Vec<ToldInvoice> {
        let told = self.log.iter().filter_map(|(_, _, told)| match told {
            Told::Invoice(_, invoice) => Some(invoice.clone()),
            _ => None,
        });
        bills::as_they_stand(told.collect())
    }

    /// The next number of a series of invoices, where it may be given on that day.
    fn invoice_number(&self, series: &Series, issued: NaiveDate) -> Result<Number, Refused> {
        if *series == Series::usual() || self.numbers().iter().any(|number| number.series == *series) {
            return Err(Refused::SeriesInUse { series: series.clone(), of: "quotes" });
        }
        bills::next_number(&self.invoices(), series, issued)
    }

    pub fn answered(&self, id: &Code) -> Option<Told> {
        self.log.iter().find(|line| line.0 == *id).map(|line| line.2.clone())
    }

    pub fn entry(&self, number: &Number, which: Option<(u32, bool)>, sight: &Sight) -> Option<ToldEntry> {
        let wanted = |entry: &ToldEntry| {
            which.is_none_or(|which| which == (entry.content.revision, entry.content.reversal))
                && seen(entry, sight)
        };
        self.entries(number).into_iter().rfind(wanted)
    }

    /// The whole list, the newest number first.
    pub fn list(&self, sight: &Sight, filter: &Filter) -> Vec<ToldEntry> {
        let mut list: Vec<_> =
            self.numbers().iter().filter_map(|number| self.entry(number, None, sight)).collect();
        list.retain(|entry| {
            filter.series.as_ref().is_none_or(|series| *series == entry.number.series)
                && filter.reference.as_ref().is_none_or(|reference| *reference == entry.content.reference)
                && (filter.states.is_empty() || filter.states.contains(&entry.state))
                && filter.quoted_from.is_none_or(|day| day <= entry.content.quoted)
                && filter.quoted_until.is_none_or(|day| entry.content.quoted <= day)
        });
        list.reverse();
        list
    }

    pub fn write(&mut self, wish: &Wish) -> Result<Told, Refused> {
        if let Some(line) = self.log.iter().find(|line| line.0 == wish.id) {
            return if line.1 == wish.fingerprint {
                Ok(line.2.clone())
            } else {
                Err(Refused::RequestIdReused { id: wish.id.clone() })
            };
        }
        let told = self.decide(wish)?;
        self.log.push((wish.id.clone(), wish.fingerprint, told.clone()));
        // A clock that is a little behind is not believed, nor one that was far ahead.
        let last = self.moments.last().copied().unwrap_or(self.now);
        let is_far = last - self.now > TimeDelta::seconds(300);
        self.moments.push(if is_far { self.now } else { last.max(self.now) });
        Ok(told)
    }

    fn decide(&self, wish: &Wish) -> Result<Told, Refused> {
        let sequence = self.log.len() + 1;
        let entry = |number: &Number, content: &Content, state| {
            let (number, content) = (number.clone(), content.clone());
            Told::Entry(
                sequence,
                ToldEntry { number, content, state, accepted: None, settled: None, etag: sequence },
            )
        };
        let tariff = |editions: usize| {
            if editions == self.editions().len() { Ok(()) } else { Err(Refused::TariffChanged) }
        };
        let last = |number: &Number| {
            let last = self.entries(number).pop().ok_or(Refused::NoSuchQuote { number: number.clone() })?;
            if last.etag == wish.etag {
                Ok(last)
            } else {
                Err(Refused::EtagMismatch { number: number.clone() })
            }
        };
        let open = |number: &Number| {
            let last = last(number)?;
            match last.state {
                State::Open => Ok(last),
                state => Err(Refused::NotOpen { number: number.clone(), state }),
            }
        };
        let unreversed = |number: &Number| {
            let last = last(number)?;
            match last.state {
                State::Reversed => Err(Refused::AlreadyReversed { number: number.clone() }),
                _ => Ok(last),
            }
        };
        match &wish.command {
            Command::Issue { series, content, editions } => {
                let invoiced = self.invoices().iter().any(|invoice| invoice.number.series == *series);
                if invoiced || *series == Series::of_invoices() {
                    return Err(Refused::SeriesInUse { series: series.clone(), of: "invoices" });
                }
                tariff(*editions)?;
                let year = u16::try_from(content.quoted.year()).unwrap();
                let alike = |number: &&Number| number.series == *series && number.year == year;
                let taken = self.numbers().iter().filter(alike).count();
                let number =
                    Number { series: series.clone(), year, sequence: u32::try_from(taken).unwrap() + 1 };
                if content.revision != 1 || content.reversal {
                    return Err(Refused::WrongRevision { number, expected: 1 });
                }
                Ok(entry(&number, content, State::Open))
            }
            Command::Revise { number, content, editions, .. } => {
                let expected = unreversed(number)?.content.revision + 1;
                if content.revision != expected || content.reversal {
                    return Err(Refused::WrongRevision { number: number.clone(), expected });
                }
                tariff(*editions)?;
                Ok(entry(number, content, State::Open))
            }
            Command::Reverse { number, content, .. } => {
                let expected = unreversed(number)?.content.revision;
                if content.revision != expected || !content.reversal {
                    return Err(Refused::WrongRevision { number: number.clone(), expected });
                }
                Ok(entry(number, content, State::Reversed))
            }
            Command::Accept { number, offer, day, .. } => {
                let last = open(number)?;
                let Content { offers, quoted, valid_until, .. } = last.content.clone();
                let (of, offer) = (number.clone(), offer.clone());
                let offers: Vec<Code> = offers.into_iter().map(|offer| offer.id).collect();
                if !offers.contains(&offer) {
                    return Err(Refused::NoSuchOffer { number: of, offer, offers });
                }
                if *day < quoted {
                    return Err(Refused::BeforeQuote { number: of, quoted });
                }
                if *day > valid_until {
                    return Err(Refused::Expired { number: of, valid_until });
                }
                let (state, settled) = (State::Accepted, Some(*day));
                let told = ToldEntry { state, settled, accepted: Some(offer), etag: sequence, ..last };
                Ok(Told::Entry(sequence, told))
            }
            Command::Decline { number, day, .. } => {
                let last = open(number)?;
                let quoted = last.content.quoted;
                if *day < quoted {
                    return Err(Refused::BeforeQuote { number: number.clone(), quoted });
                }
                let (state, settled) = (State::Declined, Some(*day));
                Ok(Told::Entry(
                    sequence,
                    ToldEntry { state, settled, accepted: None, etag: sequence, ..last },
                ))
            }
            Command::Invoice { series, number, issued, due, sale, .. } => {
                let last = last(number)?;
                let accepted =
                    last.settled.filter(|_| last.state == State::Accepted).zip(last.accepted.clone());
                let accepted =
                    accepted.ok_or(Refused::NotAccepted { number: number.clone(), state: last.state });
                let billed = bills::invoice(&self.invoices(), number, accepted, (*issued, *due))?;
                let content = last.content;
                let (revision, partner) = (content.revision, content.partners.first().cloned());
                let billed = Billed { revision, partner, currency: content.currency, sale: *sale, ..billed };
                let (number, reference) = (self.invoice_number(series, *issued)?, content.reference);
                Ok(Told::Invoice(sequence, ToldInvoice { number, billed, reference, credited: None }))
            }
            Command::Credit { series, invoice, issued, .. } => {
                let (billed, reference) = bills::credit(&self.invoices(), invoice, *issued)?;
                let number = self.invoice_number(series, *issued)?;
                Ok(Told::Invoice(sequence, ToldInvoice { number, billed, reference, credited: None }))
            }
            Command::Publish { code, from, until, archive, .. } => {
                let editions = self.editions();
                if editions.iter().any(|told| matches!(told, Told::Edition(_, name, ..) if name == code)) {
                    return Err(Refused::EditionExists { code: code.clone() });
                }
                if let Some(Told::Edition(_, last, begins, ends, _)) = editions.last() {
                    let after = ends.unwrap_or(*begins);
                    if *from <= after {
                        return Err(Refused::EditionTooEarly { code: last.clone(), after });
                    }
                }
                Ok(Told::Edition(sequence, code.clone(), *from, *until, archive.clone()))
            }
            Command::AddCaller { name, role, credential, .. } => {
                let callers = self.callers();
                if callers.iter().any(|caller| caller.0 == *name) {
                    return Err(Refused::CallerExists { name: name.clone() });
                }
                if callers.iter().any(|caller| caller.2 == *credential) {
                    return Err(Refused::CredentialInUse);
                }
                Ok(Told::Caller(sequence, name.clone(), role.clone(), *credential, false))
            }
            Command::WithdrawCaller { name } => {
                match self.callers().into_iter().find(|caller| caller.0 == *name && !caller.3) {
                    Some((name, role, credential, _)) => {
                        Ok(Told::Caller(sequence, name, role, credential, true))
                    }
                    None => Err(Refused::NoSuchCaller { name: name.clone() }),
                }
            }
        }
    }
}
