//! Who sells to whom, who keeps what, and where the end price goes.

use evenfare_engine::category::Category;
use evenfare_engine::view::CostView;

use super::sheet::Sheet;
use crate::cli::text::bars::bar;
use crate::cli::text::money::percent;
use crate::cli::text::words::{category, vat};
use crate::cli::text::{Cell, Column, Page, Table, style};

/// How long the longest bar is.
const BAR: usize = 32;

pub(super) fn write(page: &mut Page, sheet: Sheet<'_>) {
    sales(page, sheet);
    shares(page, sheet);
    where_it_goes(page, sheet);
}

fn sales(page: &mut Page, sheet: Sheet<'_>) {
    if sheet.offer.sales.is_empty() {
        return;
    }
    page.heading("Sales", &format!("{}, from the workshop outward", sheet.view.currency));
    let mut table = Table::new(0, [Column::TEXT, Column::RIGHT, Column::TEXT, Column::RIGHT, Column::RIGHT]);
    table.all(style::FAINT, ["", "net", "VAT", "charged", "gross"]);
    for sale in &sheet.offer.sales {
        let parties = format!("{} → {}", sale.seller, sale.buyer);
        let alone = sale.vat.len() == 1;
        for (number, group) in (1..).zip(&sale.vat) {
            let gross = if alone { sheet.amount(sale.gross_minor) } else { String::new() };
            table.row([
                if number == 1 { parties.as_str() } else { "" }.into(),
                sheet.amount(group.base_minor).into(),
                vat(group).into(),
                sheet.amount(group.tax_minor).into(),
                gross.into(),
            ]);
        }
        if !alone {
            let together = if sale.vat.is_empty() { parties.as_str() } else { "  together" };
            let [net, gross] = [sale.net_minor, sale.gross_minor].map(|minor| sheet.amount(minor));
            table.row([together.into(), net.into(), "".into(), "".into(), gross.into()]);
        }
    }
    page.table(&table);
}

fn shares(page: &mut Page, sheet: Sheet<'_>) {
    if sheet.offer.shares.is_empty() {
        return;
    }
    page.heading("Shares", &format!("{}, before VAT", sheet.view.currency));
    let mut table = Table::new(0, [Column::LEFT, Column::RIGHT, Column::RIGHT, Column::RIGHT, Column::RIGHT]);
    table.all(style::FAINT, ["", "buys at", "sells at", "keeps", "of the end price"]);
    let end = sheet.offer.end.net_minor;
    let part = |minor: i64| percent(minor, end).map_or_else(String::new, |percent| format!("{percent} %"));
    let shown = |minor: Option<i64>| minor.map_or_else(String::new, |minor| sheet.amount(minor));
    let sales = &sheet.offer.sales;
    let buys_at =
        |code: &str| sales.iter().find(|sale| sale.buyer.as_str() == code).map(|sale| sale.net_minor);
    let sells_at =
        |code: &str| sales.iter().find(|sale| sale.seller.as_str() == code).map(|sale| sale.net_minor);
    if let Some(net) = sheet.offer.workshop_net_minor {
        table.row([
            "workshop".into(),
            "".into(),
            shown(sells_at("workshop")).into(),
            sheet.amount(net).into(),
            part(net).into(),
        ]);
    }
    for share in &sheet.offer.shares {
        let code = share.partner.as_str();
        table.row([
            code.into(),
            shown(buys_at(code)).into(),
            shown(sells_at(code)).into(),
            sheet.amount(share.share_minor).into(),
            part(share.share_minor).into(),
        ]);
    }
    page.table(&table);
}

/// The end price by what becomes of it: what the workshop spends, the shares, what it is left with.
fn where_it_goes(page: &mut Page, sheet: Sheet<'_>) {
    let offer = sheet.offer;
    let (Some(costs), Some(cost), Some(contribution)) =
        (&offer.costs, offer.cost_minor, offer.contribution_minor)
    else {
        return;
    };
    page.heading("Where the end price goes", &sheet.view.currency);
    let mut table = Table::new(0, [Column::LEFT, Column::RIGHT, Column::RIGHT, Column::LEFT]);
    let end = offer.end.net_minor;
    let mut rows: Vec<(String, i64, anstyle::Style)> = Vec::new();
    for &of in Category::ALL {
        let spent = |cost: &&CostView| cost.category == of && !cost.carried_by_partner;
        let own: Vec<&CostView> = costs.iter().filter(spent).collect();
        let sum = own.iter().try_fold(0_i64, |sum, cost| sum.checked_add(cost.cost_minor));
        if let Some(sum) = sum.filter(|_| !own.is_empty()) {
            rows.push((format!("cost of {}", category(of)), sum, style::PLAIN));
        }
    }
    for share in &offer.shares {
        rows.push((format!("share of {}", share.partner), share.share_minor, style::PLAIN));
    }
    let kind = if contribution < 0 { style::BAD } else { style::STRONG };
    rows.push((String::from("contribution"), contribution, kind));
    let most = rows.iter().map(|(_, minor, _)| minor.saturating_abs()).max().unwrap_or(0);
    let share = |minor: i64| percent(minor, end).map_or_else(String::new, |percent| format!("{percent} %"));
    for (what, minor, style) in &rows {
        let bar = Cell::styled(bar(*minor, most, BAR), style::BAR);
        table.row([
            Cell::styled(what, *style),
            Cell::styled(sheet.amount(*minor), *style),
            Cell::styled(share(*minor), *style),
            bar,
        ]);
    }
    table.rule();
    table.all(style::STRONG, ["end price, net", &sheet.amount(end), &share(end), ""]);
    page.table(&table);
    let mut after = format!("The workshop keeps {} and spends {}.", shown_net(sheet), sheet.amount(cost));
    let mut carried: Vec<&str> = Vec::new();
    for cost in costs.iter().filter(|cost| cost.carried_by_partner) {
        // A leg has a line for each unit that travels on it.
        if !carried.contains(&&*cost.text) {
            carried.push(&cost.text);
        }
    }
    if !carried.is_empty() {
        after.push_str(&format!(" A partner carries: {}.", carried.join(", ")));
    }
    page.paragraph(0, style::PLAIN, &after);
}

fn shown_net(sheet: Sheet<'_>) -> String {
    sheet.offer.workshop_net_minor.map_or_else(String::new, |net| sheet.amount(net))
}
