//! The head: who, when, by which route, and the end price at a glance.

use super::sheet::Sheet;
use crate::cli::text::words::{address, flag, vat_due};
use crate::cli::text::{Cell, Column, Page, Table, style};

pub(super) fn write(page: &mut Page, sheet: Sheet<'_>) {
    let Sheet { view, offer, .. } = sheet;
    let kind = match (view.reversal, view.revision) {
        (true, number) => format!("Reversal of revision {number} of quote {}", view.reference),
        (false, 0 | 1) => format!("Quote {}", view.reference),
        (false, number) => format!("Quote {}, revision {number}", view.reference),
    };
    page.title(&kind, &format!("of {}, tariff {}", view.quoted, view.edition));

    let mut head = Table::new(0, [Column::LEFT, Column::TEXT]);
    let mut row = |label: &str, text: &str| head.row([Cell::styled(label, style::FAINT), text.into()]);
    if let Some(kept) = sheet.kept {
        row("Number", kept);
    }
    row("Customer", view.customer.name.as_str());
    row("", &address(&view.customer));
    row("Workshop", view.workshop.name.as_str());
    row("", &address(&view.workshop));
    if let Some(sale) = sheet.bought() {
        match view.route.iter().find(|party| party.code == sale.seller) {
            Some(seller) => {
                row("Seller", &format!("{} ({})", seller.name, seller.code));
                row("", &address(seller));
            }
            None if sale.seller == view.workshop.code => row("Seller", "the workshop"),
            None => {}
        }
    }
    if sheet.reader.sees_all() {
        row(
            "Route",
            &format!(
                "workshop → {}customer",
                view.route.iter().map(|party| format!("{} → ", party.code)).collect::<String>()
            ),
        );
        for party in &view.route {
            row("", &format!("{}: {}, {}, {}", party.code, party.name, party.city, party.country.name()));
        }
    }
    row(
        "Dates",
        &format!("received {}, dispatch {}, tax date {}", view.received, view.dispatch, view.tax_date),
    );
    row("", &format!("valid until {}", view.valid_until));
    if !view.alternatives.is_empty() || !view.refused.is_empty() {
        let shown = match &*offer.text {
            "" => format!("{}: the job as it is", offer.offer),
            text => format!("{}: {text}", offer.offer),
        };
        row("Offer", &shown);
    }
    page.table(&head);
    page.blank();

    let mut glance = Table::new(0, [Column::LEFT, Column::RIGHT, Column::RIGHT, Column::RIGHT]);
    let rate = offer.end.vat_rate.as_ref().map_or_else(String::new, |rate| format!(", {rate} %"));
    let due = vat_due(view.customer.country);
    glance.all(style::FAINT, [view.currency.as_str(), "net", &format!("{due}{rate}"), "gross"]);
    glance.all(
        style::STRONG,
        [
            "End price",
            &sheet.amount(offer.end.net_minor),
            &sheet.known(offer.end.vat_due_minor),
            &sheet.known(offer.end.gross_minor),
        ],
    );
    page.table(&glance);
    for raised in &offer.flags {
        page.labelled(style::CARE, "Note", &flag(*raised, offer, sheet.reader));
    }
}
