//! The files that come out of a month end, each written as it is made: a year's journal is never in memory as text.
//!
//! Amounts are decimals with all digits of their currency, days are ISO 8601. Each table begins with the names
//! of its columns.

use std::io::Write;
use std::sync::Arc;

use evenfare_engine::money::{Currency, Overflow};
use evenfare_reconcile::columns;
use evenfare_reconcile::overview::Margin;

use super::done::Done;
#[cfg(any(feature = "pdf", feature = "workbook"))]
use super::form::Form;
use super::form::NotWritten;
use super::found::{differences, document, questions};
use super::own::{Names, bonuses, header, major, open, row, statement, told};
#[cfg(any(feature = "pdf", feature = "workbook"))]
use super::paper;

/// The columns of `changed.csv`, one row for each amount and each other thing that is another one.
pub const CHANGED: [(&str, &str); 12] = [
    ("how", "gone, different or late, of the paper; follows, where no paper of its own changed."),
    ("posted", "The day the correction counts for."),
    ("closed", "The closed month that it was posted in or belongs to."),
    ("day", "The day of the document."),
    ("what", "What happened, as in the journal; of what is not posted the paper."),
    ("document", "The document's number, as in the journal; of a quote with its revision."),
    (
        "party",
        "The partner, customer or courier; of what is not posted who sells, of work the quote; empty where there is none.",
    ),
    (
        "of",
        "The part of the account; of what is not posted net or gross; else what is another: day, buyer, reference, vat.",
    ),
    (
        "was",
        "What it was when the month was closed: of an account a debit above nothing. Empty where it was not said, or the \
         paper was not there.",
    ),
    ("is", "What it is now."),
    ("by", "By how much it changed, of an amount."),
    ("currency", "ISO 4217 code of the amounts; empty where it is none."),
];

/// The columns of `balances.csv`.
pub const BALANCES: [(&str, &str); 8] = [
    ("party", "A partner's code; of an end customer the VAT identifier or, without one, the name."),
    ("name", "His name."),
    ("currency", "ISO 4217 code of the amounts."),
    ("opening", "What he owes at the beginning; below zero, what he is owed."),
    ("invoiced", "Invoices less credit notes."),
    ("paid", "Payments, as a minus."),
    ("other", "Bonuses and what was written off."),
    ("closing", "What he owes at the end."),
];

/// The columns of `transit.csv`.
pub const TRANSIT: [(&str, &str); 8] = [
    ("day", "The day that the side which is known was booked."),
    ("account", "The account that it was booked on."),
    ("other", "The account at the other side."),
    ("amount", "What has left `account`; below zero, what has arrived on it; in `currency`."),
    ("currency", "ISO 4217 code of the amount."),
    ("base", "What it is worth in `base_currency`; all rows together are what the journal has in `transit`."),
    ("base_currency", "ISO 4217 code of the books."),
    ("document", "The payment, with the file and the line it was read at."),
];

/// The columns of `overview.csv`; amounts are in the books' currency.
pub const OVERVIEW: [(&str, &str); 10] = [
    ("by", "all, partner, family, route or month."),
    ("name", "Of which; a route as partners' codes from the workshop outward."),
    (
        "quotes",
        "How many were agreed, to be invoiced by the last day that is looked at, whether they were or not.",
    ),
    ("end_net", "Their end prices, net."),
    ("shares", "What partners keep of them; by partner, what that partner keeps."),
    ("workshop_net", "What the workshop keeps of them."),
    (
        "invoiced",
        "Of all and by month: what is posted as revenue, net; it is not `workshop_net` where invoices are missing, of \
         another month or not as agreed.",
    ),
    ("cost", "What it spends."),
    ("contribution", "What it keeps over its cost."),
    ("currency", "ISO 4217 code of the amounts."),
];

/// A file that comes out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Output {
    /// Its path in the folder that it is written to, such as `statements/P-OLOM-EUR.csv`.
    pub name: String,
    what: What,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum What {
    Journal,
    Differences,
    Changed,
    Questions,
    Balances,
    /// What is open, of all accounts.
    Open,
    Transit,
    Overview,
    Bonuses,
    Statement(Arc<str>, Currency),
    /// What is open on one account.
    OpenOf(Arc<str>, Currency),
    /// What a partner is told of differences.
    Told(Arc<str>),
    /// A partner's volume bonuses.
    Bonus(Arc<str>),
    #[cfg(any(feature = "pdf", feature = "workbook"))]
    StatementAs(Arc<str>, Currency, Form),
    #[cfg(any(feature = "pdf", feature = "workbook"))]
    OverviewAs(Form),
}

impl Output {
    /// Everything that comes out of it, in the order in which one would look at it.
    ///
    /// # Errors
    /// [`Overflow`] never in practice.
    pub fn all(done: &Done) -> Result<Vec<Self>, Overflow> {
        let named = |name: &str, what| Self { name: name.to_owned(), what };
        let mut all = vec![
            named("differences.csv", What::Differences),
            named("changed.csv", What::Changed),
            named("questions.csv", What::Questions),
            named("balances.csv", What::Balances),
            named("open.csv", What::Open),
            named("transit.csv", What::Transit),
            named("bonuses.csv", What::Bonuses),
            named("overview.csv", What::Overview),
            named("journal.csv", What::Journal),
        ];
        let mut names = Names::default();
        let statements = done.statements()?;
        for (party, currency) in &statements {
            let own = names.of(party, currency.code());
            #[cfg(any(feature = "pdf", feature = "workbook"))]
            let for_people = Form::ALL.iter().filter(|_| done.parties.workshop.is_some()).map(|form| {
                let what = What::StatementAs(Arc::clone(party), *currency, *form);
                named(&format!("statements/{own}.{}", form.ending()), what)
            });
            #[cfg(any(feature = "pdf", feature = "workbook"))]
            all.extend(for_people);
            all.push(named(&format!("statements/{own}.csv"), What::Statement(Arc::clone(party), *currency)));
            let own = names.of(party, &format!("{}-open", currency.code()));
            all.push(named(&format!("statements/{own}.csv"), What::OpenOf(Arc::clone(party), *currency)));
        }
        // What is of a party, and of none of his accounts alone.
        for (party, _) in statements.chunk_by(|a, b| a.0 == b.0).filter_map(<[_]>::first) {
            if !done.told(party).is_empty() {
                let own = names.of(party, "differences");
                all.push(named(&format!("statements/{own}.csv"), What::Told(Arc::clone(party))));
            }
            if done.bonuses_of(party).next().is_some() {
                let own = names.of(party, "bonus");
                all.push(named(&format!("statements/{own}.csv"), What::Bonus(Arc::clone(party))));
            }
        }
        #[cfg(any(feature = "pdf", feature = "workbook"))]
        for form in Form::ALL.iter().filter(|_| done.parties.workshop.is_some()) {
            all.push(named(&format!("overview.{}", form.ending()), What::OverviewAs(*form)));
        }
        Ok(all)
    }

    /// Writes it.
    ///
    /// # Errors
    /// [`NotWritten`] where it cannot be written, or a sum is too large.
    pub fn write(&self, done: &Done, to: &mut dyn Write) -> Result<(), NotWritten> {
        match &self.what {
            What::Journal => journal(done, to),
            What::Differences => differences(done, to),
            What::Changed => changed(done, to),
            What::Questions => questions(done, to),
            What::Balances => balances(done, to),
            What::Open => open(done, &done.open()?, to),
            What::OpenOf(party, currency) => open(done, &done.statement(party, *currency)?.open, to),
            What::Transit => transit(done, to),
            What::Overview => overview(done, to),
            What::Bonuses => bonuses(done, done.bonuses(), to),
            What::Bonus(party) => bonuses(done, done.bonuses_of(party), to),
            What::Told(party) => told(done, party, to),
            What::Statement(party, currency) => statement(done, party, *currency, to),
            #[cfg(any(feature = "pdf", feature = "workbook"))]
            What::StatementAs(party, currency, form) => {
                let Some(workshop) = &done.parties.workshop else { return Ok(()) };
                let bytes = paper::statement(done, workshop, (party, *currency), *form)?;
                Ok(to.write_all(&bytes)?)
            }
            #[cfg(any(feature = "pdf", feature = "workbook"))]
            What::OverviewAs(form) => {
                let Some(workshop) = &done.parties.workshop else { return Ok(()) };
                Ok(to.write_all(&paper::overview(done, workshop, *form)?)?)
            }
        }
    }
}

fn journal(done: &Done, to: &mut dyn Write) -> Result<(), NotWritten> {
    header(columns::COLUMNS, to)?;
    for line in columns::lines(&done.books.journal, &done.books.charts, done.currency) {
        let line = line?;
        let [_, posted, ..] = &line;
        if posted.parse().is_ok_and(|posted| done.shows(posted)) {
            row(to, line.each_ref().map(String::as_str))?;
        }
    }
    Ok(())
}

fn changed(done: &Done, to: &mut dyn Write) -> Result<(), NotWritten> {
    header(CHANGED, to)?;
    for one in done.changes() {
        let (posted, closed, day) = (one.posted.to_string(), one.closed.to_string(), one.day.to_string());
        let mut line = |[of, was, is, by, currency]: [&str; 5]| {
            let (how, party) = (one.how.word(), one.party.unwrap_or_default());
            row(
                to,
                [how, &posted, &closed, &day, one.what.word(), one.number, party, of, was, is, by, currency],
            )
        };
        for part in &one.parts {
            let [was, is, by] =
                [part.was_minor, part.is_minor, part.by_minor()?].map(|minor| major(minor, part.currency));
            line([part.of.word(), &was?, &is?, &by?, part.currency.code()])?;
        }
        for altered in &*one.altered {
            line([altered.what, &altered.was, &altered.is, "", ""])?;
        }
    }
    Ok(())
}

fn balances(done: &Done, to: &mut dyn Write) -> Result<(), NotWritten> {
    header(BALANCES, to)?;
    for one in done.balances()? {
        let amounts =
            [one.opening_minor, one.invoiced_minor, one.paid_minor, one.other_minor, one.closing_minor];
        let amounts = amounts.map(|minor| major(minor, one.currency));
        let [opening, invoiced, paid, other, closing] = amounts;
        let name = done.name(&one.party);
        row(to, [&*one.party, name, one.currency.code(), &opening?, &invoiced?, &paid?, &other?, &closing?])?;
    }
    Ok(())
}

fn transit(done: &Done, to: &mut dyn Write) -> Result<(), NotWritten> {
    header(TRANSIT, to)?;
    for one in &done.books.in_transit {
        row(
            to,
            [
                &one.day.to_string(),
                &one.account,
                &one.other,
                &major(one.minor, one.currency)?,
                one.currency.code(),
                &major(one.base_minor, done.currency)?,
                done.currency.code(),
                &document(&one.document),
            ],
        )?;
    }
    Ok(())
}

fn overview(done: &Done, to: &mut dyn Write) -> Result<(), NotWritten> {
    header(OVERVIEW, to)?;
    let mut line = |by: &str, name: &str, margin: &Margin, invoiced: Option<i64>| {
        let amounts = [
            margin.end_net_minor,
            margin.shares_minor,
            margin.workshop_net_minor,
            margin.cost_minor,
            margin.contribution_minor(),
        ];
        let [end, shares, workshop, cost, contribution] = amounts.map(|minor| major(minor, done.currency));
        let invoiced = invoiced.map(|minor| major(minor, done.currency)).transpose()?;
        row(
            to,
            [
                by,
                name,
                &margin.quotes.to_string(),
                &end?,
                &shares?,
                &workshop?,
                invoiced.as_deref().unwrap_or_default(),
                &cost?,
                &contribution?,
                done.currency.code(),
            ],
        )?;
        Ok::<_, NotWritten>(())
    };
    let overview = &done.books.overview;
    line("all", "", &overview.all, Some(overview.invoiced_minor()?))?;
    overview.by_partner.iter().try_for_each(|(partner, margin)| line("partner", partner, margin, None))?;
    overview.by_family.iter().try_for_each(|(family, margin)| line("family", family, margin, None))?;
    for (route, margin) in &overview.by_route {
        line("route", &route.join(" "), margin, None)?;
    }
    overview
        .months()
        .try_for_each(|(month, agreed, invoiced)| line("month", &month.to_string(), &agreed, Some(invoiced)))
}
