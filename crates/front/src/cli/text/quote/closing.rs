//! What closes a quote: warranty, the other ways to do it, and what to take care of.

use evenfare_engine::terms::Warranty;
use evenfare_engine::view::OfferView;

use super::sheet::Sheet;
use crate::cli::text::money::grouped;
use crate::cli::text::words::{flag, vat_due};
use crate::cli::text::{Cell, Column, Page, Table, style};

const CAUTION: [&str; 3] = [
    "The unit works on mains voltage, and its capacitors stay charged after the plug is out: only \
     licensed electricians open, fit and test it, under the code of their country.",
    "A machine may start by itself when its controller comes back to life: secure it before power \
     returns. After refitting, the safety functions of the whole machine have to be validated and \
     recorded by those responsible for it; the test at the bench does not replace that.",
    "The VAT treatment is to be confirmed by a licensed tax adviser before anything is invoiced.",
];

pub(super) fn write(page: &mut Page, sheet: Sheet<'_>) {
    warranty(page, sheet);
    alternatives(page, sheet);
    page.heading("Caution", "");
    for text in CAUTION {
        page.paragraph(0, style::PLAIN, text);
    }
}

fn warranty(page: &mut Page, sheet: Sheet<'_>) {
    page.heading("Warranty and validity", "");
    let units = &sheet.offer.units;
    for unit in units {
        let text = match &unit.warranty {
            Some(warranty) => covered(warranty),
            None => String::from("no warranty, it goes back as it came"),
        };
        page.labelled(style::PLAIN, &format!("Unit {}", unit.id), &text);
    }
    page.labelled(
        style::PLAIN,
        "Quote",
        &format!("can be accepted up to and including {}", sheet.view.valid_until),
    );
}

fn covered(warranty: &Warranty) -> String {
    let mut text = format!("from {} up to and including {}", warranty.from, warranty.until);
    if let Some(cycles) = warranty.cycles {
        text.push_str(&format!(", or {} cycles if they are done sooner", grouped(&cycles.to_string())));
    }
    if !warranty.excludes.is_empty() {
        let excluded: Vec<&str> = warranty.excludes.iter().map(|text| text.as_str()).collect();
        text.push_str(&format!("; not covered: {}", excluded.join(", ")));
    }
    text
}

fn alternatives(page: &mut Page, sheet: Sheet<'_>) {
    if sheet.view.alternatives.is_empty() && sheet.view.refused.is_empty() {
        return;
    }
    page.heading(
        "Ways to do it",
        &format!("{}, one of them is accepted; `--offer ID` shows it in full", sheet.view.currency),
    );
    let mut table = Table::new(0, [Column::LEFT, Column::TEXT, Column::RIGHT, Column::RIGHT, Column::RIGHT]);
    table.all(style::FAINT, ["ID", "", "net", vat_due(sheet.view.customer.country), "gross"]);
    for offer in sheet.view.offers() {
        let is_shown = offer.offer == sheet.offer.offer;
        let kind = if is_shown { style::STRONG } else { style::PLAIN };
        let end = &offer.end;
        let amounts =
            [sheet.amount(end.net_minor), sheet.known(end.vat_due_minor), sheet.known(end.gross_minor)];
        let [net, due, gross] = amounts.map(|amount| Cell::styled(amount, kind));
        table.row([
            Cell::styled(&offer.offer, kind),
            Cell::styled(described(offer, is_shown), kind),
            net,
            due,
            gross,
        ]);
        for raised in &offer.flags {
            table.row([
                "".into(),
                Cell::styled(flag(*raised, offer, sheet.reader), style::CARE),
                "".into(),
                "".into(),
                "".into(),
            ]);
        }
    }
    for refused in &sheet.view.refused {
        let by = match &refused.refused_by {
            Some(partner) => format!("refused by the agreement with {partner}"),
            None => String::from("refused by this route"),
        };
        let text = match (refused.shares_minor, refused.available_minor) {
            (Some(shares), Some(left)) => format!(
                "{by}: the shares of this route come to {}, the workshop's floor leaves {} for them",
                sheet.amount(shares),
                sheet.amount(left)
            ),
            _ => by,
        };
        let end = Cell::styled(sheet.amount(refused.end_net_minor), style::BAD);
        table.row([
            Cell::styled(&refused.offer, style::BAD),
            Cell::styled(text, style::BAD),
            end,
            "".into(),
            "".into(),
        ]);
    }
    page.table(&table);
}

fn described(offer: &OfferView, is_shown: bool) -> String {
    let text = match &*offer.text {
        "" => "the job as it is",
        text => text,
    };
    if is_shown { format!("{text} (shown above)") } else { text.to_owned() }
}
