//! A month end for people.

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Overflow};
use evenfare_files::{answered_in, answers};
use evenfare_reconcile::difference::{Document, Paper, Reason};
use evenfare_reconcile::input::Slip;
use evenfare_reconcile::matching::{Undecided, Why};
use evenfare_reconcile::month::Month;
use evenfare_reconcile::period::{Found, Settled};

use super::{bonuses, changes, margins, transit};
use crate::cli::text::money::{amount, with_currency};
use crate::cli::text::table::styled;
use crate::cli::text::words::count;
use crate::cli::text::wrap::cut;
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::month::{Done, document, over};

/// A name may be so long.
const LONGEST_NAME: usize = 24;

/// Differences, questions, balances and margins, in the order in which somebody has to act on them.
pub(super) fn page(done: &Done, today: NaiveDate) -> Result<String, Overflow> {
    let mut page = Page::default();
    let title = done.month.map_or_else(|| String::from("Month end"), |month| format!("Month end {month}"));
    page.title(&title, &format!("books in {}, looked at up to {}", done.currency, done.until));
    let (accepted, invoices) = done.known;
    let known = format!(
        "In the store: {}; invoices and credit notes: {invoices}.",
        count(accepted, "accepted offer")
    );
    page.paragraph(0, style::FAINT, &known);
    if let Some(month) = done.month.filter(|month| over(*month, today).is_err()) {
        let text = format!("{month} is not over: what is still to come of it is not in this.");
        page.paragraph(0, style::CARE, &text);
    }
    differences(&mut page, done);
    settled(&mut page, done);
    changes::table(&mut page, done)?;
    questions(&mut page, done);
    balances(&mut page, done)?;
    transit::table(&mut page, done);
    bonuses::table(&mut page, done);
    margins::tables(&mut page, done);
    page.blank();
    conclusion(&mut page, done);
    Ok(page.finish())
}

/// By reason, each with its papers and where they stand.
fn differences(page: &mut Page, done: &Done) {
    let mut found: Vec<&Found> = done.differences().collect();
    if found.is_empty() {
        return;
    }
    // Within a reason by party; days are in order already.
    found.sort_by_key(|found| (found.difference.reason, &found.difference.party));
    page.heading("Differences", "what was found less what was agreed");
    let mut table = Table::new(0, [Column::LEFT, Column::TEXT.least(12), Column::LEFT, Column::RIGHT]);
    for of_reason in found.chunk_by(|a, b| a.difference.reason == b.difference.reason) {
        let Some(reason) = of_reason.first().map(|first| first.difference.reason) else { continue };
        table.across(0, Cell::styled(format!("{reason}: {}", said(reason)), style::CARE));
        for found in of_reason {
            row(&mut table, done, found);
        }
    }
    page.table(&table);
}

fn row(table: &mut Table, done: &Done, found: &Found) {
    let one = &found.difference;
    table.row([
        one.day.to_string().into(),
        cut(done.called(&one.party), LONGEST_NAME).into(),
        one.quote.as_deref().unwrap_or_default().into(),
        with_currency(one.amount_minor, one.currency).into(),
    ]);
    if let Some(figures) = one.figures() {
        let [agreed, found] = figures.map(|minor| amount(minor, one.currency));
        table.across(2, Cell::styled(format!("agreed {agreed}, found {found}"), style::FAINT));
    }
    if found.posted != one.day {
        let posted = format!("found later: counts for {}", found.posted);
        table.across(2, Cell::styled(posted, style::FAINT));
    }
    // The quote itself has no place, and its number is said above.
    for paper in one.documents.iter().filter(|paper| paper.place.is_some()) {
        table.across(2, Cell::styled(document(paper), style::FAINT));
    }
    if let Some(settled) = done.settled_later(found) {
        let what = match settled.now_minor {
            None => String::from("settled later"),
            Some(now) => format!("{} later", with_currency(now, one.currency)),
        };
        let text = format!("{what}: counts for {}, {}", settled.posted, by(settled));
        table.across(2, Cell::styled(text, style::STRONG));
    }
}

/// What settled a difference.
fn by(settled: &Settled) -> String {
    if settled.by.is_empty() {
        return match settled.now_minor {
            None => String::from("by no paper of its own: by other rules or rates, or what it rested on"),
            Some(_) => {
                String::from("by no paper of its own: by an answer about another, or other rules or rates")
            }
        };
    }
    let told = |one: &Document| match (one.paper, &one.place) {
        (Paper::Quote, _) | (_, Some(_)) => document(one),
        (_, None) => format!("{}, which is there no more", document(one)),
    };
    format!("by {}", settled.by.iter().map(told).collect::<Vec<_>>().join(", "))
}

/// Found in a month that was closed, and gone since: by which papers.
fn settled(page: &mut Page, done: &Done) {
    let mut settled = done.settled().peekable();
    if settled.peek().is_none() {
        return;
    }
    page.heading("Settled", "a month was closed with them, and they are none any more, or of another amount");
    let mut table = Table::new(0, [Column::LEFT, Column::LEFT, Column::TEXT.least(12), Column::RIGHT]);
    for settled in settled {
        let (posted, one) = (settled.found.posted, &settled.found.difference);
        table.row([
            one.day.to_string().into(),
            one.reason.code().into(),
            cut(done.called(&one.party), LONGEST_NAME).into(),
            with_currency(one.amount_minor, one.currency).into(),
        ]);
        let of = one.quote.as_deref().map(|quote| format!("quote {quote}, ")).unwrap_or_default();
        let of_month = format!("{of}{} was closed with it", Month::of(posted));
        let closed = match settled.now_minor {
            None => format!("{of_month}; counts as settled for {}", settled.posted),
            Some(now) => {
                let now = with_currency(now, one.currency);
                format!("{of_month}; it is {now} now, which counts for {}", settled.posted)
            }
        };
        table.across(2, Cell::styled(closed, style::FAINT));
        table.across(2, by(settled));
    }
    page.table(&table);
}

/// Each with the rows that answer it, to be copied.
fn questions(page: &mut Page, done: &Done) {
    for (number, question) in (1_usize..).zip(&done.books.undecided) {
        page.heading(&format!("Question {number}"), asked(question));
        let about = &question.subject;
        let of = with_currency(question.amount_minor, question.currency);
        let is_transfer = question.why == Why::OtherSide;
        let asks = match is_transfer {
            true => format!("Which is the other side of the {} of {of}?", about.paper.word()),
            false => format!("What is the {} of {of} for?", about.paper.word()),
        };
        page.paragraph(0, style::PLAIN, &asks);
        page.paragraph(2, style::FAINT, &document(about));
        if !question.candidates.is_empty() {
            page.paragraph(0, style::PLAIN, untold(question));
        }
        let (file, columns) = answered_in(question);
        let words =
            format!("Put the rows of one answer into {file} of the books folder, below its first row:");
        page.paragraph(0, style::PLAIN, &words);
        page.drawn(&styled(columns.trim_end(), style::FAINT));
        let (of, none) = match is_transfer {
            true => ("with", "with none of them"),
            false => ("for", "for nothing that was agreed"),
        };
        let candidates =
            question.candidates.iter().map(|together| format!("{of} {}", together.join(" and ")));
        for (answer, rows) in candidates.chain([none.to_owned()]).zip(answers(question)) {
            page.paragraph(0, style::FAINT, &answer);
            page.drawn(&rows);
        }
    }
}

/// Who owes what.
fn balances(page: &mut Page, done: &Done) -> Result<(), Overflow> {
    let balances = done.balances()?;
    if balances.is_empty() {
        return Ok(());
    }
    page.heading("Accounts", "what each owes; below zero, what he is owed");
    let right = Column::RIGHT;
    let mut table = Table::new(0, [Column::TEXT.least(10), right, right, right, right, right, Column::LEFT]);
    table.all(style::FAINT, ["", "opening", "invoiced", "paid", "other", "closing", ""]);
    for one in balances {
        let shown = |minor: i64, currency: Currency| Cell::from(amount(minor, currency));
        table.row([
            cut(done.called(&one.party), LONGEST_NAME).into(),
            shown(one.opening_minor, one.currency),
            shown(one.invoiced_minor, one.currency),
            shown(one.paid_minor, one.currency),
            shown(one.other_minor, one.currency),
            Cell::styled(amount(one.closing_minor, one.currency), style::STRONG),
            one.currency.code().into(),
        ]);
    }
    page.table(&table);
    Ok(())
}

fn conclusion(page: &mut Page, done: &Done) {
    let (changed, earlier) = (done.changes().len(), done.earlier());
    let (found, asked) = (done.differences().count(), done.books.undecided.len());
    let of_another = done.settled().filter(|settled| settled.now_minor.is_some()).count();
    let settled = done.settled().count().saturating_sub(of_another);
    let differences = match found {
        0 => String::from("No difference"),
        found => count(found, "difference"),
    };
    let told = [(settled, "settled"), (of_another, "of another amount")];
    let told = told.into_iter().filter(|(number, _)| *number > 0);
    let settled: String = told.map(|(number, what)| format!(", {number} {what}")).collect();
    let text = match asked {
        0 if done.is_empty() => {
            let what = match done.month {
                Some(month) => format!("for {month}"),
                None => format!("up to {}", done.until),
            };
            format!("There is nothing in the books or the store {what}.")
        }
        0 if found == 0 && settled.is_empty() && changed == 0 && earlier.is_empty() => {
            String::from("All is as it was agreed: no difference, no question.")
        }
        0 => format!("{differences}{settled}, no question."),
        asked => format!("{differences}{settled}; {} open.", count(asked, "question")),
    };
    page.paragraph(0, style::STRONG, &text);
    let later = done.differences().filter(|found| done.settled_later(found).is_some()).count();
    if later > 0 {
        let closed = if done.month.is_some() { "The month was" } else { "The months were" };
        let text = format!("{closed} closed with {}; {later} settled later.", count(found, "difference"));
        page.paragraph(0, style::STRONG, &text);
    }
    if changed > 0 {
        let text = format!("{} since months were closed.", count(changed, "change"));
        page.paragraph(0, style::STRONG, &text);
    }
    for (month, number) in earlier {
        let found = count(number, "difference");
        let text = format!("Still open of {month}: {found}; `--month {month}` shows what they are.");
        page.paragraph(0, style::STRONG, &text);
    }
    let (rates, names): (Vec<&Slip>, Vec<&Slip>) =
        done.books.warnings.iter().partition(|slip| slip.code == "old_rate");
    let (rates, unknown) = (rates.len(), names.len());
    if rates > 0 {
        let words = format!("{} older than a week.", count(rates, "reference rate"));
        page.paragraph(0, style::CARE, &words);
    }
    if unknown > 0 {
        let words = format!("{} that nobody knows in the books folder.", count(unknown, "name"));
        page.paragraph(0, style::CARE, &words);
    }
}

/// Why it is asked, in words.
const fn asked(question: &Undecided) -> &'static str {
    match question.why {
        Why::EquallyGood => "several answers are equally good",
        Why::TooMany => "too many invoices are open to try all their combinations",
        Why::PartOfSeveral => "a part of one of several invoices, or of one that is in question",
        Why::GivenBack => "it goes to who is owed money back, and is a part of that or in another currency",
        Why::SeveralCurrencies => "it names invoices of several currencies",
        Why::OtherPayer => {
            "it names an invoice or a quote of another party than the one that paid or is paid"
        }
        Why::OwnAccount => {
            "the other account is listed as ours, and it names an invoice or a quote or is of a party"
        }
        Why::OtherSide => "it goes between accounts of ours, and several are equally good as its other side",
    }
}

/// What is not told as a difference while it is asked.
const fn untold(question: &Undecided) -> &'static str {
    match question.subject.paper {
        _ if matches!(question.why, Why::OtherSide) => {
            "Until this is answered, neither it nor what may be its other side is reported as in transit."
        }
        Paper::Payment if question.amount_minor < 0 => {
            "Until this is answered, what it may be for is not reported as overpaid."
        }
        Paper::Invoice => "Until this is answered, no sale that it may be for is reported as not invoiced.",
        _ => "Until this is answered, what it could pay is not reported as unpaid.",
    }
}

/// A reason in words.
const fn said(reason: Reason) -> &'static str {
    match reason {
        Reason::ChargedMore => "the end customer was charged more than the fixed price",
        Reason::ChargedLess => "the end customer was charged less than the fixed price",
        Reason::ShareBeyond => "a partner was charged too little, so he keeps more than agreed",
        Reason::ShareBelow => "a partner was charged too much, so he keeps less than agreed",
        Reason::AgreementDate => "a share by an agreement that was not in force on the day",
        Reason::VatCategory => "VAT of another category than agreed",
        Reason::VatRate => "VAT of another rate than agreed",
        Reason::VatAmount => "VAT that is not its rate of its base",
        Reason::InvoiceMissing => "a sale without an invoice, though its day is past",
        Reason::InvoiceDouble => "a second invoice of one sale",
        Reason::InvoiceReversed => "an invoice of a sale that was taken back",
        Reason::InvoiceUnknown => "an invoice that belongs to no quote",
        Reason::InvoiceOtherParty => "an invoice to another party than the one who bought by the quote",
        Reason::CreditOtherParty => {
            "a credit note to another party than the one whose invoice or quote it names"
        }
        Reason::Unpaid => "due and not paid in full",
        Reason::Overpaid => "more was paid than was asked for",
        Reason::PaymentUnknown => "money came in that is for nothing known",
        Reason::PaidUnknown => "money went out to a party that is known, for nothing known",
        Reason::InTransit => "money went between accounts of ours, and the other side is not there",
        Reason::Courier => "a courier billed another amount than was quoted",
        Reason::CourierUnknown => "a courier billed for carriage that no quote knows",
        Reason::CreditForOurWork => "a partner was credited for work that the workshop did",
        Reason::Rounding => "off by no more than rounding may be",
        Reason::Currency => "another currency than agreed, or a rate too far off",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reason_has_words_of_its_own() {
        let mut words: Vec<&str> = Reason::ALL.iter().map(|reason| said(*reason)).collect();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), Reason::ALL.len());
    }
}
