//! A party's account statement.

use evenfare_reconcile::left_open::OpenItem;

use super::earned::earned;
use super::pen::Pen;
use super::{Block, Row, Rows, Sheet, Tone, Width};
use crate::accounts::AccountStatement;
use crate::figures::{self, NO_BREAK};
use crate::words::{document_told, is_late};

/// A party's account over a month: what he owed, what moved it, what he owes and what of it is open; his volume bonus; last
/// the differences that concern him.
///
/// Opening and lines come to the closing as the books have it, and so do the open items (`statement_ties_to_the_cent`).
pub fn account_statement(given: &AccountStatement<'_>) -> Sheet {
    let pen = Pen::of(*given, given.workshop, given.stationery, given.language, given.currency);
    let month = figures::month(given.language, given.month);
    let home = given.workshop.country;
    let recipient =
        given.address.map_or_else(|| vec![given.firm.name.to_string()], |at| pen.address(at, home));
    let head = pen.head_of(given.workshop, given.address.map_or(home, |at| at.country));
    let day = given.month.last_day();
    let mut sheet = pen.blank("account-statement", "", day, head, recipient);
    sheet.heading = pen.say_with("account-statement-of", &[("month", (&month).into())]);
    // Of a party, a currency and a month there is one.
    let told = [&*given.firm.id, given.currency.code(), &given.month.to_string(), given.language.word()];
    sheet.identity = ["account-statement", &told.join("/")].join("/");
    sheet.title = [&sheet.heading, " · ", &given.firm.name].concat();
    sheet.mark = (!given.is_closed).then(|| pen.say("provisional"));
    let period = [pen.date(given.month.first_day()), pen.date(day)].join(" – ");
    let vat_id = given.firm.vat_id.as_deref().filter(|id| *id != &*given.firm.id);
    sheet.facts = vec![pen.fact("account", &*given.firm.id)];
    sheet.facts.extend(vat_id.map(|id| pen.fact("vat-id", id)));
    sheet.facts.push(pen.fact("period", period));
    sheet.facts.push(pen.fact("currency", given.currency.code()));
    moved(&pen, &mut sheet.blocks);
    open(&pen, &mut sheet.blocks);
    sheet.blocks.extend(pen.paragraph(|texts| &texts.footer, Tone::Quiet));
    earned(&pen, &mut sheet.blocks);
    differs(&pen, &mut sheet.blocks);
    sheet
}

/// Opening, lines and closing, and in whose favour that is.
fn moved(pen: &Pen<'_, AccountStatement<'_>>, into: &mut Vec<Block>) {
    let account = pen.given.account;
    let side = |is_side: bool, minor: i64| if is_side { pen.amount(minor) } else { String::new() };
    let opening = Row::strong([
        pen.date(pen.given.month.first_day()),
        pen.say("opening-balance"),
        String::new(),
        String::new(),
        String::new(),
        pen.amount(account.opening_minor),
    ]);
    let lines = account.lines.iter().map(|line| {
        let (one, minor) = (line.transaction, line.minor);
        let day = pen.date(one.day);
        Row {
            note: is_late(one).then(|| pen.say_with("entered-late", &[("date", (&day).into())])),
            ..Row::of([
                pen.date(one.posted),
                pen.words.movement(line),
                document_told(one).to_owned(),
                side(minor > 0, minor),
                side(minor < 0, minor.saturating_neg()),
                pen.amount(line.balance_minor),
            ])
        }
    });
    into.push(Block::Table {
        columns: vec![
            pen.column("date", Width::Short),
            pen.column("movement", Width::Wide),
            pen.column("document", Width::Narrow),
            pen.amounts("charged"),
            pen.amounts("credited"),
            pen.amounts("balance"),
        ],
        groups: vec![Rows { head: None, rows: [opening].into_iter().chain(lines).collect() }],
        totals: vec![Row::strong([
            pen.date(pen.given.month.last_day()),
            pen.say("closing-balance"),
            String::new(),
            pen.amount(account.charged_minor),
            pen.amount(account.credited_minor.saturating_neg()),
            pen.amount(account.closing_minor),
        ])],
    });
    if account.lines.is_empty() {
        into.push(Block::Text { text: pen.say("nothing-moved"), tone: Tone::Plain });
    }
    let closing = account.closing_minor;
    let favour = |id: &str, minor: i64| pen.say_with(id, &[("amount", (&pen.money(minor)).into())]);
    let text = match closing {
        0 => pen.say("balance-none"),
        _ if closing > 0 => favour("balance-ours", closing),
        _ => favour("balance-yours", closing.saturating_neg()),
    };
    into.push(Block::Text { text, tone: Tone::Strong });
}

/// What is open, in the order in which it is due.
fn open(pen: &Pen<'_, AccountStatement<'_>>, into: &mut Vec<Block>) {
    let account = pen.given.account;
    if account.open.is_empty() {
        return;
    }
    let row = |one: &OpenItem| Row {
        note: one.is_later.then(|| pen.say("open-later")),
        ..Row::of([
            pen.date(one.day),
            pen.words.open_item(one),
            one.quote.as_deref().unwrap_or_default().to_owned(),
            one.due.map(|due| pen.date(due)).unwrap_or_default(),
            pen.amount(one.minor),
        ])
    };
    into.push(pen.heading("open-items"));
    into.push(Block::Table {
        columns: vec![
            pen.column("date", Width::Short),
            pen.column("document", Width::Wide),
            pen.column("quote", Width::Narrow),
            pen.column("due-date", Width::Short),
            pen.amounts("open-amount"),
        ],
        groups: vec![Rows { head: None, rows: account.open.iter().map(row).collect() }],
        totals: vec![Row::strong([
            pen.date(pen.given.month.last_day()),
            pen.say("closing-balance"),
            String::new(),
            String::new(),
            pen.amount(account.closing_minor),
        ])],
    });
}

/// What is not as agreed, each with the papers behind it.
fn differs(pen: &Pen<'_, AccountStatement<'_>>, into: &mut Vec<Block>) {
    let rows: Vec<Row> = pen
        .given
        .differences
        .iter()
        .map(|one| {
            let papers: Vec<String> =
                one.documents.iter().map(|document| pen.words.document(document)).collect();
            let amount = |minor| figures::amount(pen.language, minor, one.currency);
            let [agreed, found] = one.figures().map(|both| both.map(amount)).unwrap_or_default();
            Row {
                note: Some(papers.join(" · ")),
                ..Row::of([
                    pen.date(one.day),
                    pen.words.differs(one),
                    agreed,
                    found,
                    // It may be of another currency than the account.
                    [&amount(one.amount_minor), NO_BREAK, one.currency.code()].concat(),
                ])
            }
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    into.push(pen.heading("differences"));
    into.push(Block::Text { text: pen.say("differences-asked"), tone: Tone::Plain });
    into.push(Block::Text { text: pen.say("differences-note"), tone: Tone::Quiet });
    into.push(Block::Table {
        columns: vec![
            pen.column("date", Width::Short),
            pen.column("what-differs", Width::Wide),
            pen.column("was-agreed", Width::Amount),
            pen.column("was-found", Width::Amount),
            pen.column("difference", Width::Amount),
        ],
        groups: vec![Rows { head: None, rows }],
        totals: Vec::new(),
    });
}
