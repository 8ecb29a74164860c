//! A trial, for people.

use std::path::Path;

use evenfare_engine::money::Currency;
use evenfare_reconcile::overview::Margin;
use evenfare_reconcile::what_if::{Change, Compared, Refusals, Step, Trial};

use crate::cli::text::bars::bar;
use crate::cli::text::money::{SPACE, amount, grouped, percent, with_currency};
use crate::cli::text::words::route;
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::trial::Period;

/// A figure, and what it is called.
type Figure = (&'static str, fn(&Margin) -> i64);

const END: Figure = ("end price, net", |margin| margin.end_net_minor);
const SHARES: Figure = ("partners keep", |margin| margin.shares_minor);
const SHARE: Figure = ("he keeps", |margin| margin.shares_minor);
const WORKSHOP: Figure = ("workshop keeps", |margin| margin.workshop_net_minor);
const COST: Figure = ("its cost", |margin| margin.cost_minor);
const CONTRIBUTION: Figure = ("contribution", Margin::contribution_minor);

/// All of it, what matters most first.
pub(super) fn page(trial: &Trial, period: &Period, lines: Option<&Path>) -> String {
    let mut page = Page::default();
    let days = format!("quotes of {} to {}, {}", period.from, period.until, trial.currency);
    page.title(&format!("If {} had been in force", trial.edition), &days);
    if trial.tried() == 0 {
        let which = if period.accepted_only { "accepted quotes" } else { "quotes" };
        page.paragraph(0, style::PLAIN, &format!("There are no {which} of these days."));
        return page.finish();
    }
    page.paragraph(0, style::PLAIN, &counts(trial));
    if trial.all.then.quotes > 0 {
        compared(&mut page, trial);
    }
    refused(&mut page, trial);
    if trial.converted > 0 {
        page.blank();
        let text = format!(
            "Quoted in another currency: {}, converted on both sides at the reference rates of the quote.",
            quotes(trial.converted)
        );
        page.paragraph(0, style::FAINT, &text);
    }
    if let Some(lines) = lines {
        page.blank();
        let text = format!("The figures of each quote, in its own currency, stand in {}.", lines.display());
        page.paragraph(0, style::PLAIN, &text);
    }
    page.finish()
}

fn counts(trial: &Trial) -> String {
    let number = |number: u64| grouped(&number.to_string());
    let refused = match trial.refusals() {
        0 => String::new(),
        some => format!("; {} refused", number(some)),
    };
    format!(
        "{} tried: {} dearer, {} the same, {} cheaper{refused}.",
        quotes(trial.tried()),
        number(trial.dearer()),
        number(trial.same()),
        number(trial.cheaper()),
    )
}

fn quotes(number: u64) -> String {
    let plural = if number == 1 { "" } else { "s" };
    format!("{}{SPACE}quote{plural}", grouped(&number.to_string()))
}

fn compared(page: &mut Page, trial: &Trial) {
    let currency = trial.currency;
    page.blank();
    let all = [END, SHARES, WORKSHOP, COST, CONTRIBUTION];
    let mut table = figures(0);
    table.all(style::FAINT, ["", "then", "now", "difference", "%"]);
    rows(&mut table, &all, &trial.all, currency);
    page.table(&table);

    page.heading("How end prices change", "");
    page.table(&steps(trial));

    let by_code = |(code, compared)| (format!("{code}"), compared);
    let partners = trial.by_partner.iter().map(by_code);
    groups(page, "By partner", &[END, SHARE, CONTRIBUTION], partners.collect(), currency);
    let families = trial.by_family.iter().map(by_code);
    groups(page, "By family", &[END, SHARES, CONTRIBUTION], families.collect(), currency);
    let routes = trial.by_route.iter().map(|(codes, compared)| (route(codes), compared));
    groups(page, "By route", &[END, SHARES, CONTRIBUTION], routes.collect(), currency);

    if !trial.largest.is_empty() {
        page.heading("Largest changes", "of end prices, net");
        let columns = [
            Column::LEFT,
            Column::TEXT,
            Column::TEXT,
            Column::RIGHT,
            Column::RIGHT,
            Column::RIGHT,
            Column::RIGHT,
        ];
        let mut table = Table::new(0, columns);
        table.all(style::FAINT, ["number", "offer", "route", "then", "now", "difference", "%"]);
        for Change { number, offer, route: codes, then_minor, now_minor } in &trial.largest {
            let [then, now, difference, percent] = sides(*then_minor, *now_minor, currency);
            let named = [number.as_ref().into(), offer.as_ref().into(), route(codes).into()];
            table.cells(named.into_iter().chain([then, now, difference, percent]).collect());
        }
        page.table(&table);
    }
}

/// A label, then and now, the difference in amount and percent.
fn figures(indent: usize) -> Table {
    let columns = [Column::LEFT.least(20), Column::RIGHT, Column::RIGHT, Column::RIGHT, Column::RIGHT];
    Table::new(indent, columns)
}

fn rows(table: &mut Table, figures: &[Figure], compared: &Compared, currency: Currency) {
    for (label, of) in figures {
        // Nobody keeps anything of what is sold directly.
        if (of(&compared.then), of(&compared.now)) == (0, 0) {
            continue;
        }
        let [then, now, difference, percent] = sides(of(&compared.then), of(&compared.now), currency);
        table.row([(*label).into(), then, now, difference, percent]);
    }
}

fn sides(then: i64, now: i64, currency: Currency) -> [Cell; 4] {
    let by = now.saturating_sub(then);
    let sign = if by > 0 { "+" } else { "" };
    let percent =
        percent(by, then.saturating_abs()).map_or_else(String::new, |percent| format!("{sign}{percent}"));
    [
        amount(then, currency).into(),
        amount(now, currency).into(),
        format!("{sign}{}", amount(by, currency)).into(),
        percent.into(),
    ]
}

fn groups(
    page: &mut Page,
    heading: &str,
    figures_of: &[Figure],
    groups: Vec<(String, &Compared)>,
    currency: Currency,
) {
    if groups.is_empty() {
        return;
    }
    page.heading(heading, "");
    let mut table = figures(0);
    table.all(style::FAINT, ["", "then", "now", "difference", "%"]);
    for (name, compared) in groups {
        let name = format!("{name}, {}", quotes(compared.then.quotes));
        table.across(0, Cell::styled(name, style::STRONG));
        rows(&mut table, figures_of, compared, currency);
    }
    page.table(&table);
}

fn steps(trial: &Trial) -> Table {
    const LONGEST: usize = 40;
    let steps: Vec<Step> = trial.steps().collect();
    let most = steps.iter().map(|step| step.quotes).max().unwrap_or(0);
    let minor = |number: u64| i64::try_from(number).unwrap_or(i64::MAX);
    let mut table = Table::new(0, [Column::LEFT.least(20), Column::RIGHT, Column::LEFT]);
    for step in steps {
        let drawn = bar(minor(step.quotes), minor(most), LONGEST);
        let number = grouped(&step.quotes.to_string());
        table.row([by_how_much(&step).into(), number.into(), Cell::styled(drawn, style::BAR)]);
    }
    table
}

fn by_how_much(step: &Step) -> String {
    let way = match step.now {
        std::cmp::Ordering::Less => "cheaper",
        std::cmp::Ordering::Equal => return String::from("the same"),
        std::cmp::Ordering::Greater => "dearer",
    };
    match (step.more_than_percent, step.at_most_percent) {
        (0, Some(most)) => format!("up to {most}{SPACE}% {way}"),
        (more, Some(most)) => format!("{more} to {most}{SPACE}% {way}"),
        (more, None) => format!("over {more}{SPACE}% {way}"),
    }
}

fn refused(page: &mut Page, trial: &Trial) {
    if trial.refused.is_empty() {
        return;
    }
    page.heading("Refused", "there would have been no quote; in none of the sums above");
    for (code, Refusals { quotes: number, end_net_minor, examples }) in &trial.refused {
        let end = with_currency(*end_net_minor, trial.currency);
        let text = format!("{}, then {end} net", quotes(*number));
        page.labelled(style::BAD, code, &text);
        for example in examples {
            page.hanging(2, &example.number, style::PLAIN, &example.text);
        }
    }
}
