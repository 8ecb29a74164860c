//! Lists in rows and columns: what partners charged, what couriers bill.

use chrono::NaiveDate;
use evenfare_engine::money::Currency;
use evenfare_engine::text::{Code, Text};
use evenfare_reconcile::input::{Charge, CourierBill, Leg, Place};

use crate::books::figure::{figure, place};
use crate::csv::{Reader, Record};
use crate::log::Log;
use crate::node::{Kind, Node};
use crate::value::Value;

/// Something that is a row of a list.
pub(super) trait Row: Sized {
    /// Its columns.
    const COLUMNS: &'static [&'static str];

    /// Takes its cells; reports each that is wrong.
    fn take(cells: &Cells<'_>, log: &mut Log) -> Option<Self>;
}

/// The cells of one row by the names of their columns.
pub(super) struct Cells<'a> {
    place: Place,
    nodes: Vec<(&'static str, Node<'a>)>,
}

impl Cells<'_> {
    fn node(&self, name: &str) -> Option<&Node<'_>> {
        self.nodes.iter().find(|(own, _)| *own == name).map(|(_, node)| node)
    }

    /// The value of that column; reported where it is empty.
    fn need<T: Value>(&self, name: &str, log: &mut Log) -> Option<T> {
        // A column that is missing is told at the header.
        let node = self.node(name)?;
        if node.is_absent() {
            log.error(node.bytes.clone(), "empty_cell", "", format!("{name}: {}", T::expected()));
            return None;
        }
        T::read(node, log)
    }

    fn line(&self, name: &str, log: &mut Log) -> Option<Box<str>> {
        self.need::<Text>(name, log).map(|text| text.as_str().into())
    }

    fn amount(&self, name: &str, currency: Currency, log: &mut Log) -> Option<i64> {
        let node = self.node(name)?;
        figure(&node.in_words(), node.bytes.clone(), currency, log)
    }
}

impl Row for Charge {
    const COLUMNS: &'static [&'static str] =
        &["partner", "quote", "invoice", "issued", "currency", "net", "vat"];

    fn take(cells: &Cells<'_>, log: &mut Log) -> Option<Self> {
        let partner = cells.need::<Code>("partner", log);
        let quote = cells.line("quote", log);
        let invoice = cells.line("invoice", log);
        let issued = cells.need::<NaiveDate>("issued", log);
        let currency = cells.need::<Currency>("currency", log)?;
        let net = cells.amount("net", currency, log);
        let vat = cells.amount("vat", currency, log);
        Some(Self {
            place: cells.place.clone(),
            partner: partner?,
            quote: quote?,
            invoice: invoice?,
            issued: issued?,
            currency,
            net_minor: net?,
            vat_minor: vat?,
        })
    }
}

impl Row for CourierBill {
    const COLUMNS: &'static [&'static str] =
        &["courier", "bill", "consignment", "quote", "leg", "carried", "currency", "net"];

    fn take(cells: &Cells<'_>, log: &mut Log) -> Option<Self> {
        let courier = cells.line("courier", log);
        let bill = cells.line("bill", log);
        let consignment = cells.line("consignment", log);
        let quote = cells.line("quote", log);
        let leg = leg(cells, log);
        let carried = cells.need::<NaiveDate>("carried", log);
        let currency = cells.need::<Currency>("currency", log)?;
        let net = cells.amount("net", currency, log);
        Some(Self {
            place: cells.place.clone(),
            courier: courier?,
            bill: bill?,
            consignment: consignment?,
            quote: quote?,
            leg: leg?,
            carried: carried?,
            currency,
            net_minor: net?,
        })
    }
}

fn leg(cells: &Cells<'_>, log: &mut Log) -> Option<Leg> {
    let node = cells.node("leg")?;
    match &*node.in_words() {
        "in" => Some(Leg::In),
        "out" => Some(Leg::Out),
        other => {
            log.error(node.bytes.clone(), "unknown_word", other, "in or out");
            None
        }
    }
}

/// Reads all rows of a list, whose columns may stand in any order; what is wrong is in the log.
pub(super) fn parse<T: Row>(text: &str, log: &mut Log) -> Vec<T> {
    let mut reader = Reader::new(text, 0);
    let header = match reader.next(log) {
        Some(Ok(header)) => header,
        Some(Err(_)) => return Vec::new(),
        None => {
            let expected = format!("a header row with {}", T::COLUMNS.join(", "));
            log.error(0..0, "missing_header", "", expected);
            return Vec::new();
        }
    };
    // A spreadsheet of a country with a decimal comma writes semicolons.
    let (mut reader, header) = match header.cells.as_slice() {
        [only] if only.text.contains(';') => {
            let mut reader = Reader::separated_by(';', text, header.bytes.start);
            match reader.next(log) {
                Some(Ok(header)) => (reader, header),
                _ => return Vec::new(),
            }
        }
        _ => (reader, header),
    };
    let columns = columns::<T>(&header, log);
    let mut rows = Vec::new();
    while let Some(record) = reader.next(log) {
        let Ok(record) = record else { continue };
        if record.cells.iter().all(|cell| cell.text.is_empty()) {
            continue;
        }
        if record.cells.len() != columns.len() {
            let found = format!("{} cells", record.cells.len());
            let expected = format!("{} cells, as the header has", columns.len());
            log.error(record.bytes, "ragged_row", &found, expected);
            continue;
        }
        let place = place(record.bytes.start, log);
        let nodes = columns.iter().zip(record.cells);
        let nodes =
            nodes.filter_map(|(name, cell)| Some(((*name)?, Node::new(cell.bytes, Kind::Cell(cell.text)))));
        rows.extend(T::take(&Cells { place, nodes: nodes.collect() }, log));
    }
    rows
}

/// The column that each cell of the header names.
fn columns<T: Row>(header: &Record<'_>, log: &mut Log) -> Vec<Option<&'static str>> {
    let mut columns: Vec<Option<&'static str>> = Vec::new();
    for cell in &header.cells {
        let known = T::COLUMNS.iter().copied().find(|name| *name == cell.text);
        match known {
            Some(name) if columns.contains(&Some(name)) => {
                log.error(cell.bytes.clone(), "doubled_column", name, "each column once");
                columns.push(None);
            }
            Some(name) => columns.push(Some(name)),
            None => {
                let expected = format!("one of {}", T::COLUMNS.join(", "));
                log.error(cell.bytes.clone(), "unknown_column", &cell.text, expected);
                columns.push(None);
            }
        }
    }
    for name in T::COLUMNS.iter().filter(|name| !columns.contains(&Some(name))) {
        log.error(header.bytes.clone(), "missing_column", "", format!("a column {name}"));
    }
    columns
}
