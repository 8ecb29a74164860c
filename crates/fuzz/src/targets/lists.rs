//! Lists of month end, by the first byte.

use evenfare_engine::money::Currency;
use evenfare_files::{parse_charges, parse_courier_bills};
use evenfare_reconcile::input::{Charge, CourierBill, Leg};

use crate::refused::is_refused_clearly;

pub fn seeds() -> Vec<Vec<u8>> {
    let charges = "partner,quote,invoice,issued,currency,net,vat\n\
                   P-1,Q-2026-00001,R 7,2026-07-03,EUR,120.50,22.90\nP-2,Q-2026-00002,8,2026-07-04,KWD,-1.005,0\n";
    let bills = "courier;bill;consignment;quote;leg;carried;currency;net\n\
                 Bote;B-1;4711;Q-2026-00001;in;2026-07-01;EUR;14.00\nBote;B-1;4712;\"Q;1\";out;2026-07-02;JPY;900\n";
    [(0, charges), (1, bills)].map(|(kind, text)| [&[kind], text.as_bytes()].concat()).to_vec()
}

pub fn run(bytes: &[u8]) {
    let Some((kind, text)) = bytes.split_first() else { return };
    let files = [("list.csv", text)];
    if kind % 2 == 0 {
        match parse_charges("list.csv", text) {
            Err(report) => is_refused_clearly(&report, files),
            Ok(rows) => {
                let again = parse_charges("list.csv", charges(&rows)).expect("what was read can be written");
                assert_eq!(
                    again.iter().map(charge).collect::<Vec<_>>(),
                    rows.iter().map(charge).collect::<Vec<_>>()
                );
            }
        }
    } else {
        match parse_courier_bills("list.csv", text) {
            Err(report) => is_refused_clearly(&report, files),
            Ok(rows) => {
                let again =
                    parse_courier_bills("list.csv", bills(&rows)).expect("what was read can be written");
                assert_eq!(
                    again.iter().map(bill).collect::<Vec<_>>(),
                    rows.iter().map(bill).collect::<Vec<_>>()
                );
            }
        }
    }
}

fn table(header: &str, rows: impl Iterator<Item = Vec<String>>) -> String {
    let quoted = |cell: &String| format!("\"{}\"", cell.replace('"', "\"\""));
    let line = |row: Vec<String>| format!("{}\n", row.iter().map(quoted).collect::<Vec<_>>().join(","));
    format!("{header}\n{}", rows.map(line).collect::<String>())
}

fn charges(rows: &[Charge]) -> String {
    table("partner,quote,invoice,issued,currency,net,vat", rows.iter().map(charge))
}

/// All that a row says, but for its place.
fn charge(row: &Charge) -> Vec<String> {
    let amount = |minor| major(minor, row.currency);
    let (net, vat) = (amount(row.net_minor), amount(row.vat_minor));
    let texts = [row.partner.as_str(), &row.quote, &row.invoice].map(str::to_owned);
    [&texts[..], &[row.issued.to_string(), row.currency.to_string(), net, vat]].concat()
}

fn bills(rows: &[CourierBill]) -> String {
    table("courier,bill,consignment,quote,leg,carried,currency,net", rows.iter().map(bill))
}

fn bill(row: &CourierBill) -> Vec<String> {
    let leg = if row.leg == Leg::In { "in" } else { "out" };
    let texts = [&*row.courier, &row.bill, &row.consignment, &row.quote, leg].map(str::to_owned);
    [&texts[..], &[row.carried.to_string(), row.currency.to_string(), major(row.net_minor, row.currency)]]
        .concat()
}

fn major(minor: i64, currency: Currency) -> String {
    let (sign, magnitude) = (if minor < 0 { "-" } else { "" }, minor.unsigned_abs());
    let unit = currency.minor_per_major().unsigned_abs();
    match usize::from(currency.exponent()) {
        0 => format!("{sign}{magnitude}"),
        width => format!("{sign}{}.{:0width$}", magnitude / unit, magnitude % unit),
    }
}
