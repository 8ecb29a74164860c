//! A party's account statement as a book.

use evenfare_reconcile::earned::Earned;

use super::NoBook;
use super::page::{Cell, Looks, Page, book};
use crate::accounts::{AccountStatement, BonusPart};
use crate::figures;
use crate::words::{Words, document_told, is_late};

/// A party's account over a month as a book: opening, lines and closing; on sheets of their own what is open, his volume
/// bonus and the differences that concern him.
///
/// # Errors
/// [`NoBook`] where an amount is beyond what an amount may be, or there is more than a sheet can hold.
pub fn account_statement(given: &AccountStatement<'_>) -> Result<Vec<u8>, NoBook> {
    let words = Words::of(given.language);
    let looks = Looks::new();
    let month = figures::month(given.language, given.month);
    let heading = words.say_with("account-statement-of", &[("month", (&month).into())]);
    let mut made = book(&[&heading, " · ", &given.firm.name].concat(), given.month.last_day())?;
    moved(given, words, Page::new(&mut made, &looks, &words.say("account-statement"), &heading)?)?;
    if !given.account.open.is_empty() {
        let name = words.say("open-items");
        open(given, words, Page::new(&mut made, &looks, &name, &name)?)?;
    }
    for &one in given.bonuses {
        earned(
            given,
            one,
            Page::new(&mut made, &looks, &given.bonus_heading(one), &given.bonus_heading(one))?,
        )?;
    }
    if !given.differences.is_empty() {
        let name = words.say("differences");
        differs(given, words, Page::new(&mut made, &looks, &name, &name)?)?;
    }
    Ok(made.save_to_buffer()?)
}

fn moved(given: &AccountStatement<'_>, words: &Words, mut page: Page<'_>) -> Result<(), NoBook> {
    let (account, currency) = (given.account, given.currency);
    let (first, last) = (given.month.first_day(), given.month.last_day());
    page.fact(&words.say("workshop"), &Cell::Text(given.workshop.name.as_str()))?;
    let (id, name) = (&given.firm.id, &given.firm.name);
    let account_of = if id == name { id.to_string() } else { [id, " · ", name].concat() };
    page.fact(&words.say("account"), &Cell::Text(&account_of))?;
    page.fact(&words.say("currency"), &Cell::Text(currency.code()))?;
    if !given.is_closed {
        page.mark(&words.say("provisional"))?;
    }
    let heads =
        ["date", "movement", "document", "charged", "credited", "balance", "remarks"].map(|id| words.say(id));
    let widths = [14, 28, 30, 18, 18, 18, 40];
    let heads: Vec<(&str, u16)> = heads.iter().map(String::as_str).zip(widths).collect();
    page.heads(&heads, 3..6)?;
    let side = |is_side: bool, minor: i64| if is_side { Cell::Minor(minor, currency) } else { Cell::Nothing };
    let opening = words.say("opening-balance");
    let balance = Cell::Minor(account.opening_minor, currency);
    let nothing = || Cell::Nothing;
    page.row(&[Cell::Day(first), Cell::Text(&opening), nothing(), nothing(), nothing(), balance], true)?;
    for line in &account.lines {
        let (one, minor) = (line.transaction, line.minor);
        let day = figures::date(given.language, one.day);
        let late = is_late(one).then(|| words.say_with("entered-late", &[("date", (&day).into())]));
        let movement = words.movement(line);
        let cells = [
            Cell::Day(one.posted),
            Cell::Text(&movement),
            Cell::Text(document_told(one)),
            side(minor > 0, minor),
            side(minor < 0, minor.saturating_neg()),
            Cell::Minor(line.balance_minor, currency),
            late.as_deref().map_or(Cell::Nothing, Cell::Text),
        ];
        page.row(&cells, false)?;
    }
    let closing = words.say("closing-balance");
    let cells = [
        Cell::Day(last),
        Cell::Text(&closing),
        nothing(),
        Cell::Minor(account.charged_minor, currency),
        Cell::Minor(account.credited_minor.saturating_neg(), currency),
        Cell::Minor(account.closing_minor, currency),
    ];
    page.row(&cells, true)
}

/// What is open, in the order in which it is due.
fn open(given: &AccountStatement<'_>, words: &Words, mut page: Page<'_>) -> Result<(), NoBook> {
    page.fact(&words.say("currency"), &Cell::Text(given.currency.code()))?;
    let heads = ["date", "document", "quote", "due-date", "open-amount", "remarks"].map(|id| words.say(id));
    let heads: Vec<(&str, u16)> = heads.iter().map(String::as_str).zip([14, 40, 20, 14, 18, 60]).collect();
    page.heads(&heads, 4..5)?;
    let later = words.say("open-later");
    for one in &given.account.open {
        let document = words.open_item(one);
        let cells = [
            Cell::Day(one.day),
            Cell::Text(&document),
            one.quote.as_deref().map_or(Cell::Nothing, Cell::Text),
            one.due.map_or(Cell::Nothing, Cell::Day),
            Cell::Minor(one.minor, given.currency),
            if one.is_later { Cell::Text(&later) } else { Cell::Nothing },
        ];
        page.row(&cells, false)?;
    }
    let (last, closing) = (Cell::Day(given.month.last_day()), words.say("closing-balance"));
    let closing_minor = Cell::Minor(given.account.closing_minor, given.currency);
    page.row(&[last, Cell::Text(&closing), Cell::Nothing, Cell::Nothing, closing_minor], true)
}

fn earned(given: &AccountStatement<'_>, one: &Earned, mut page: Page<'_>) -> Result<(), NoBook> {
    page.sheet.set_column_width(0, 48)?.set_column_width(1, 18)?;
    page.fact(&Words::of(given.language).say("currency"), &Cell::Text(given.currency.code()))?;
    for (name, part) in given.bonus(one) {
        match part {
            BonusPart::Minor(minor) => page.fact(&name, &Cell::Minor(minor, given.currency))?,
            BonusPart::Percent(percent) => {
                let percent = figures::percent(given.language, &percent.to_string());
                page.fact(&name, &Cell::Text(&percent))?;
            }
        }
    }
    Ok(())
}

fn differs(given: &AccountStatement<'_>, words: &Words, mut page: Page<'_>) -> Result<(), NoBook> {
    page.mark(&words.say("differences-asked"))?;
    page.mark(&words.say("differences-note"))?;
    let heads = ["date", "what-differs", "document", "was-agreed", "was-found", "difference", "currency"];
    let heads = heads.map(|id| words.say(id));
    let widths = [14, 60, 60, 18, 18, 18, 10];
    let heads: Vec<(&str, u16)> = heads.iter().map(String::as_str).zip(widths).collect();
    page.heads(&heads, 3..6)?;
    for one in given.differences.iter() {
        let papers: Vec<String> = one.documents.iter().map(|document| words.document(document)).collect();
        let (reason, papers) = (words.differs(one), papers.join(" · "));
        let amount = |minor| Cell::Minor(minor, one.currency);
        let [agreed, found] =
            one.figures().map_or([Cell::Nothing, Cell::Nothing], |figures| figures.map(amount));
        let cells = [
            Cell::Day(one.day),
            Cell::Text(&reason),
            Cell::Text(&papers),
            agreed,
            found,
            amount(one.amount_minor),
            Cell::Text(one.currency.code()),
        ];
        page.row(&cells, false)?;
    }
    Ok(())
}
