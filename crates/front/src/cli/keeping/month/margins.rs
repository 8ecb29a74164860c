//! Margins by partner, family, route and month, each with a bar.

use evenfare_engine::money::Currency;
use evenfare_reconcile::overview::Margin;

use crate::cli::text::bars::bar;
use crate::cli::text::money::{amount, grouped, with_currency};
use crate::cli::text::words::route;
use crate::cli::text::{Cell, Column, Page, Table, style};
use crate::month::Done;

/// How long the longest bar is.
const LONGEST: usize = 14;

/// The tables, one under the other.
pub(super) fn tables(page: &mut Page, done: &Done) {
    let overview = &done.books.overview;
    let of = format!("quotes agreed, to be invoiced by {}", done.until);
    let shares = format!("what he keeps of {of}");
    let contribution = format!("contribution of {of}");
    let mut show = |heading, beside: &str, bars, rows: Vec<(String, Margin)>| {
        table(page, (heading, beside), done.currency, bars, &rows);
    };
    let by_partner = overview.by_partner.iter().map(|(name, margin)| (name.to_string(), *margin));
    show("By partner", &shares, Bar::Share, by_partner.collect());
    let by_family = overview.by_family.iter().map(|(name, margin)| (name.to_string(), *margin));
    show("By family", &contribution, Bar::Contribution, by_family.collect());
    let by_route = overview.by_route.iter().map(|(codes, margin)| (route(codes), *margin));
    show("By route", &contribution, Bar::Contribution, by_route.collect());
    let by_month = overview.by_month.iter().map(|(month, margin)| (month.to_string(), *margin));
    show("By month", &contribution, Bar::Contribution, by_month.collect());
    for (month, agreed, invoiced) in overview.months() {
        if invoiced != agreed.workshop_net_minor {
            let [agreed, invoiced] =
                [agreed.workshop_net_minor, invoiced].map(|minor| with_currency(minor, done.currency));
            let words =
                format!("In {month} {invoiced} were invoiced, net; of what was agreed, {agreed} were to be.");
            page.paragraph(0, style::FAINT, &words);
        }
    }
}

/// Of what a bar is.
#[derive(Clone, Copy)]
enum Bar {
    Share,
    Contribution,
}

fn table(
    page: &mut Page,
    (heading, beside): (&str, &str),
    currency: Currency,
    bars: Bar,
    rows: &[(String, Margin)],
) {
    if rows.is_empty() {
        return;
    }
    let measured = |margin: &Margin| match bars {
        Bar::Share => margin.shares_minor,
        Bar::Contribution => margin.contribution_minor(),
    };
    let most = rows.iter().map(|(_, margin)| measured(margin)).max().unwrap_or(0);
    page.heading(heading, beside);
    let right = Column::RIGHT;
    let mut table = Table::new(0, [Column::TEXT.least(10), right, right, right, right, Column::LEFT]);
    table.all(style::FAINT, ["", "quotes", "end price", "shares", "contribution", ""]);
    for (name, margin) in rows {
        table.row([
            name.into(),
            grouped(&margin.quotes.to_string()).into(),
            amount(margin.end_net_minor, currency).into(),
            amount(margin.shares_minor, currency).into(),
            amount(margin.contribution_minor(), currency).into(),
            Cell::styled(bar(measured(margin), most, LONGEST), style::BAR),
        ]);
    }
    page.table(&table);
}
