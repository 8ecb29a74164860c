//! Papers that are told in two ways, each counted once: a partner's invoice is a row of his list as well.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use evenfare_engine::money::{Currency, Net, Overflow};

use crate::error::Unreconciled;
use crate::input::{Charge, Invoice, Place, Slip};
use crate::loaded::{Loaded, Retold, Tellings};
use crate::matching::{Decided, Numbers, Reader, Written, decided};
use crate::reference::normal;
use crate::terms::Decision;

/// Leaves of each paper that is told in two ways one telling, and notes the other. They are of one paper where seller
/// and number are the same, and then say the same: the day, what is charged, and for which quote.
///
/// The invoice counts, for it says more; where a list has it in rows of several quotes, the rows do. Two invoices
/// that write their seller in two ways, with his VAT identifier and without, are of one paper too.
///
/// # Errors
/// [`Unreconciled::SaidTwice`] with every paper of which two invoices, or an invoice and a list, say different things.
pub(crate) fn told_once(
    loaded: &mut Loaded<'_>,
    numbers: &Numbers,
    decisions: &[Decision],
) -> Result<(), Unreconciled> {
    let (decided, reader) = (decided(decisions), Reader::default());
    let mut tellers = Tellers { numbers, decided, reader, slips: Vec::new() };
    let mut retold = Vec::new();
    for (firm, tellings) in of_firms(loaded) {
        for paper in papers(&tellings) {
            retold.extend(tellers.once(firm, paper)?);
        }
    }
    if !tellers.slips.is_empty() {
        tellers.slips.sort();
        return Err(Unreconciled::SaidTwice(tellers.slips));
    }
    loaded.count_once(retold);
    Ok(())
}

/// What firms tell in more than one way, each in the order of its numbers.
fn of_firms<'l, 'a>(loaded: &'l Loaded<'a>) -> BTreeMap<&'a str, Vec<Told<'l, 'a>>> {
    let mut firms: BTreeMap<&'a str, Vec<Told<'l, 'a>>> = BTreeMap::new();
    for rows in loaded.charges.chunk_by(|a, b| a.partner == b.partner) {
        if let Some(first) = rows.first() {
            firms.entry(first.partner.as_str()).or_default().push(Told::Rows(rows));
        }
    }
    // They stand in the order of who wrote them, so that nobody is looked up for each.
    for invoices in loaded.invoices.chunk_by(|a, b| a.seller == b.seller) {
        if let Some(seller) = invoices.first().and_then(|first| loaded.firms.of_trader(&first.seller)) {
            firms.entry(seller).or_default().push(Told::Invoices(invoices));
        }
    }
    firms.retain(|_, ways| ways.len() > 1);
    firms
}

/// What a firm tells in one way.
enum Told<'l, 'a> {
    Invoices(&'l [&'a Invoice]),
    Rows(&'l [&'a Charge]),
}

/// One paper of a firm.
struct Paper<'a> {
    tellings: Tellings<'a>,
    /// Its number is spelled in two ways, so that it may be two papers.
    is_spelled_in_two_ways: bool,
}

/// The papers of a firm that are told more than once.
fn papers<'a>(ways: &[Told<'_, 'a>]) -> Vec<Paper<'a>> {
    let mut by_spelling: BTreeMap<String, BTreeMap<&'a str, Tellings<'a>>> = BTreeMap::new();
    let mut note = |number: &'a str, invoice: Option<&'a Invoice>, row: Option<&'a Charge>| {
        let of_number = by_spelling.entry(normal(number)).or_default().entry(number).or_default();
        of_number.invoices.extend(invoice);
        of_number.rows.extend(row);
    };
    for way in ways {
        match way {
            Told::Invoices(all) => all.iter().for_each(|one| note(&one.number, Some(one), None)),
            Told::Rows(all) => all.iter().for_each(|one| note(&one.invoice, None, Some(one))),
        }
    }
    let mut papers = Vec::new();
    for of_one in by_spelling.into_values() {
        let mut alone: Tellings<'a> = Tellings::default();
        let mut spellings = 0_usize;
        for tellings in of_one.into_values() {
            match (tellings.invoices.as_slice(), tellings.rows.as_slice()) {
                ([_], []) | ([], _) => {
                    spellings = spellings.saturating_add(1);
                    alone.invoices.extend(tellings.invoices);
                    alone.rows.extend(tellings.rows);
                }
                _ => papers.push(Paper { tellings, is_spelled_in_two_ways: false }),
            }
        }
        if spellings == 2 && alone.invoices.len() == 1 {
            papers.push(Paper { tellings: alone, is_spelled_in_two_ways: true });
        }
    }
    papers
}

struct Tellers<'n> {
    numbers: &'n Numbers,
    /// What a person decided of papers.
    decided: Decided<'n>,
    reader: Reader,
    slips: Vec<Slip>,
}

impl Tellers<'_> {
    /// Which telling of a paper counts; nothing where it is told once, or not at all as one.
    fn once<'a>(&mut self, firm: &str, paper: Paper<'a>) -> Result<Option<Retold<'a>>, Overflow> {
        let Tellings { mut invoices, rows } = paper.tellings;
        // Who writes his VAT identifier says more.
        invoices.sort_by_key(|one| (one.seller.vat_id.is_none(), &one.place));
        let Some((invoice, others)) = invoices.split_first() else { return Ok(None) };
        let same = |other: &&Invoice| {
            Invoice { seller: other.seller.clone(), ..Invoice::clone(invoice) }.is_copy_of(other)
        };
        if let Some(other) = others.iter().find(|&other| !same(other)) {
            let Place { file, line } = &other.place;
            let expected = format!("the same as at {file}:{line}, which has the same number and seller");
            let (place, found) = (invoice.place.clone(), format!("invoice {}", invoice.number));
            self.slips.push(Slip { place, code: "said_twice", found, expected });
            return Ok(None);
        }
        let mut counts = Tellings { invoices: vec![*invoice], rows: Vec::new() };
        let mut again = Tellings { invoices: others.to_vec(), rows: Vec::new() };
        let quotes = self.quotes(&rows);
        let own = self.quote_of(invoice).filter(|_| !self.decided.contains_key(&(firm, &*invoice.number)));
        let agrees = says_of(&rows)? == Some(says(invoice))
            && own.is_none_or(|own| quotes.iter().any(|quote| quote.is_none_or(|quote| quote == own)));
        if !rows.is_empty() && !agrees {
            if !paper.is_spelled_in_two_ways {
                self.slips.push(contradiction(invoice, &rows)?);
            }
            return Ok(None);
        }
        if quotes.iter().flatten().collect::<BTreeSet<_>>().len() > 1 {
            again.invoices.append(&mut counts.invoices);
            counts.rows = rows;
        } else {
            again.rows = rows;
        }
        Ok(Some(Retold { counts, again }))
    }

    /// The quote of each row, where one is known.
    fn quotes(&mut self, rows: &[&Charge]) -> Vec<Option<u32>> {
        rows.iter().map(|row| self.numbers.named(&row.quote, &mut self.reader)).collect()
    }

    fn quote_of(&mut self, invoice: &Invoice) -> Option<u32> {
        let texts = [invoice.quote.as_deref(), invoice.payment_reference.as_deref()];
        texts.into_iter().flatten().find_map(|text| self.numbers.named(text, &mut self.reader))
    }
}

/// What a paper charges and when: the day, the currency, before VAT and with it.
type Says = (NaiveDate, Currency, i64, i64);

fn says(invoice: &Invoice) -> Says {
    let paper = Written::Invoice(invoice);
    (paper.issued(), paper.currency(), paper.net(), paper.gross())
}

/// What rows say together; nothing where they are of several days or currencies.
fn says_of(rows: &[&Charge]) -> Result<Option<Says>, Overflow> {
    let Some((first, others)) = rows.split_first() else { return Ok(None) };
    let of_row =
        |row: &Charge| Ok((row.net_minor, row.net_minor.checked_add(row.vat_minor).ok_or(Overflow)?));
    let (mut net, mut gross) = of_row(first)?;
    for row in others {
        if (row.issued, row.currency) != (first.issued, first.currency) {
            return Ok(None);
        }
        let (of_net, of_gross) = of_row(row)?;
        (net, gross) =
            (net.checked_add(of_net).ok_or(Overflow)?, gross.checked_add(of_gross).ok_or(Overflow)?);
    }
    Ok(Some((first.issued, first.currency, net, gross)))
}

/// That a list says something else of an invoice, and where.
fn contradiction(invoice: &Invoice, rows: &[&Charge]) -> Result<Slip, Overflow> {
    let (issued, currency, net, gross) = says(invoice);
    let mut told =
        vec![format!("here {}", written(issued, currency, [net, gross], invoice.quote.as_deref())?)];
    for row in rows {
        let Charge { place: Place { file, line }, quote, issued, currency, net_minor, vat_minor, .. } = row;
        let gross = net_minor.checked_add(*vat_minor).ok_or(Overflow)?;
        let row = written(*issued, *currency, [*net_minor, gross], Some(quote))?;
        told.push(format!("at {file}:{line} {row}"));
    }
    Ok(Slip {
        place: invoice.place.clone(),
        code: "said_twice",
        found: format!("invoice {}", invoice.number),
        expected: format!("the same in both tellings of it: {}", told.join("; ")),
    })
}

fn written(
    issued: NaiveDate,
    currency: Currency,
    [net, gross]: [i64; 2],
    quote: Option<&str>,
) -> Result<String, Overflow> {
    let [net, gross] =
        [Net::from_minor(net)?, Net::from_minor(gross)?].map(|one| one.in_major_units(currency));
    let quote = quote.map(|quote| format!(", for {quote}")).unwrap_or_default();
    Ok(format!("{issued}, {net} {currency} before VAT, {gross} {currency} with it{quote}"))
}
