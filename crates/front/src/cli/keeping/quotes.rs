//! `evenfare quotes`: the quotes that are kept, page by page.

use chrono::{DateTime, NaiveDate, Utc};
use evenfare_engine::MAIN;
use evenfare_engine::money::Currency;
use evenfare_engine::text::Code;
use evenfare_store::entry::{State, Summary};
use evenfare_store::number::Number;
use evenfare_store::refused::StoreError;
use evenfare_store::{Filter, Listing, Sight, Store};
use serde::{Serialize, Serializer};

use super::caller::unknown_partner;
use super::place::{failure, passed_over, with_store_there};
use crate::cli::args::Format;
use crate::cli::args::keeping::QuotesArgs;
use crate::cli::outcome::{Answer, Failure, json};
use crate::cli::text::money::with_currency;
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::kept::{NotRead, accepted_in_document, net_minor};

/// A quote in the list.
#[derive(Serialize)]
struct Line {
    #[serde(serialize_with = "as_text")]
    number: Number,
    revision: u32,
    #[serde(serialize_with = "as_text")]
    state: State,
    reference: Code,
    customer: String,
    quoted: NaiveDate,
    valid_until: NaiveDate,
    currency: String,
    end_net_minor: i64,
    accepted_offer: Option<Code>,
    /// Of an accepted offer whose document cannot be read, none.
    accepted_net_minor: Option<i64>,
    recorded: DateTime<Utc>,
}

/// A page of the list for programs.
#[derive(Serialize)]
struct Told<'a> {
    quotes: &'a [Line],
    /// What of them cannot be read, in words: a quote that is not among them, or what was accepted of one that is.
    unreadable: &'a [String],
    /// What `--before` is to name for the next page.
    before: Option<String>,
}

/// Lists them, the newest first.
pub(in crate::cli) fn run(args: &QuotesArgs) -> Result<Answer, Failure> {
    if let (Some(from), Some(until)) = (args.from, args.until)
        && until < from
    {
        return Err(Failure::Usage(format!("--until {until} is before --from {from}")));
    }
    let listing = Listing {
        sight: args.partner.clone().map_or(Sight::All, Sight::Partner),
        filter: Filter {
            series: args.series.clone(),
            reference: args.reference.clone(),
            states: args.state.clone(),
            quoted_from: args.from,
            quoted_until: args.until,
        },
        before: args.before.clone(),
        limit: args.most,
    };
    with_store_there(&args.place, async |store| {
        if let Some(number) = &listing.before
            && !is_there(&*store, number, &listing.sight).await.map_err(failure)?
        {
            let of = args.partner.as_ref().map_or_else(String::new, |code| format!(" of {code}"));
            let missing = format!("--before: there is no quote {number}{of} in {}", args.place.database);
            return Err(Failure::Usage(missing));
        }
        let page = store.list(&listing).await.map_err(failure)?;
        let none = page.summaries.is_empty();
        let (mut lines, mut unreadable) = (Vec::with_capacity(page.summaries.len()), Vec::new());
        for summary in page.summaries {
            let summary = match summary {
                Ok(summary) => summary,
                Err(error) => {
                    unreadable.push(error.to_string());
                    continue;
                }
            };
            let accepted = accepted_net_minor(&*store, &summary, &listing.sight).await;
            let accepted = accepted.or_else(|error| match error {
                // One that is damaged hides no other.
                NotRead::Damaged(why) => {
                    unreadable.push(why);
                    Ok(None)
                }
                NotRead::Store(error) => Err(failure(error)),
            })?;
            lines.push(line(summary, accepted));
        }
        let (mut note, exit) = passed_over(&unreadable);
        if let Some(partner) = args.partner.as_ref().filter(|_| none) {
            note.push_str(&unknown_partner(&*store, partner).await?);
        }
        let before = page.next.map(|number| number.to_string());
        let text = match args.printed.format {
            Format::Json => json(&Told { quotes: &lines, unreadable: &unreadable, before })?,
            Format::Text if none => nothing(args),
            Format::Text => text(&lines, before.as_deref(), args),
        };
        Ok(Answer { exit, ..Answer::new(text).with_note(note) })
    })
}

/// Is there that quote? One that cannot be read is.
async fn is_there(store: &dyn Store, number: &Number, sight: &Sight) -> Result<bool, StoreError> {
    match store.entry(number, None, sight).await {
        Err(StoreError::Corrupt(_)) => Ok(true),
        found => Ok(found?.is_some()),
    }
}

/// What the accepted offer comes to.
async fn accepted_net_minor(
    store: &dyn Store,
    summary: &Summary,
    sight: &Sight,
) -> Result<Option<i64>, NotRead> {
    match accepted_in_document(store, summary, sight).await? {
        Some((entry, offer)) => net_minor(&entry, offer),
        None => Ok(summary.accepted_net_minor),
    }
}

fn line(summary: Summary, accepted_net_minor: Option<i64>) -> Line {
    Line {
        number: summary.number,
        revision: summary.revision,
        state: summary.state,
        reference: summary.reference,
        customer: summary.customer.to_string(),
        quoted: summary.quoted,
        valid_until: summary.valid_until,
        currency: summary.currency,
        end_net_minor: summary.end_net_minor,
        accepted_offer: summary.accepted,
        accepted_net_minor,
        recorded: summary.recorded,
    }
}

fn as_text<S: Serializer>(value: &impl std::fmt::Display, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(value)
}

fn nothing(args: &QuotesArgs) -> String {
    let mut page = Page::default();
    page.paragraph(0, style::PLAIN, &format!("There is no such quote in {}.", args.place.database));
    page.finish()
}

fn text(lines: &[Line], before: Option<&str>, args: &QuotesArgs) -> String {
    let mut page = Page::default();
    let title =
        args.partner.as_ref().map_or_else(|| String::from("Quotes"), |code| format!("Quotes of {code}"));
    page.title(&title, "end prices before VAT");
    let (state, customer) = (Column::LEFT.most(11), Column::TEXT);
    let mut table = Table::new(0, [Column::LEFT, Column::LEFT, customer, Column::LEFT, state, Column::RIGHT]);
    table.all(style::FAINT, ["number", "job", "customer", "quoted", "state", "end price"]);
    for line in lines {
        table.row([
            line.number.to_string().into(),
            line.reference.as_str().into(),
            line.customer.as_str().into(),
            line.quoted.to_string().into(),
            Cell::from(line.became()),
            line.end_price().into(),
        ]);
    }
    page.table(&table);
    if let Some(number) = before {
        page.blank();
        page.paragraph(0, style::PLAIN, &format!("There are more; `--before {number}` goes on."));
    }
    page.finish()
}

impl Line {
    /// What was accepted instead of the job itself.
    fn alternative(&self) -> Option<&Code> {
        self.accepted_offer.as_ref().filter(|offer| offer.as_str() != MAIN)
    }

    fn end_price(&self) -> String {
        // What the job itself comes to is not what was accepted instead of it.
        let end = match self.alternative() {
            Some(_) => self.accepted_net_minor,
            None => Some(self.end_net_minor),
        };
        match (end, self.currency.parse::<Currency>()) {
            (Some(end), Ok(currency)) => with_currency(end, currency),
            // A later version knows what its minor units are.
            (Some(_), Err(_)) => format!("in {}", self.currency),
            (None, _) => String::from("not known"),
        }
    }

    fn became(&self) -> String {
        let mut text = match self.state {
            State::Open => format!("open until {}", self.valid_until),
            state => state.to_string(),
        };
        if let Some(offer) = self.alternative() {
            text.push_str(&format!(": {offer}"));
        }
        if self.revision > 1 {
            text.push_str(&format!(", revision {}", self.revision));
        }
        text
    }
}
