//! The same year by DuckDB: what it is given, and what it has to come to.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

use evenfare_reconcile::{Inputs, Reconciled};

/// Writes the year as tables, has DuckDB join and sum them, and holds what it finds against ours. Its time and its
/// memory at the peak.
///
/// `python` has DuckDB's own package.
pub fn by_duckdb(python: &str, inputs: &Inputs, reconciled: &Reconciled) -> (String, String) {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), inputs);
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/year/beside.py");
    let said = Command::new(python).arg(script).arg(folder.path()).output().unwrap();
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let said = String::from_utf8(said.stdout).unwrap();
    let mut said = said.split_whitespace();
    let (time, peak) = (said.next().unwrap().to_owned(), said.next().unwrap().to_owned());
    let found: Vec<i64> = said.map(|one| one.parse().unwrap()).collect();
    assert_eq!(found, sums(reconciled), "DuckDB's sums, and ours");
    (time, peak)
}

/// What both have to find: margins, differences by kind, what parties owe at the end, bonuses.
fn sums(reconciled: &Reconciled) -> Vec<i64> {
    let all = reconciled.overview.all;
    let told = |code: &str| {
        let of_code = reconciled.differences.iter().filter(|one| one.difference.reason.code() == code);
        i64::try_from(of_code.count()).unwrap()
    };
    let months = reconciled.accounts.months();
    let last = months.chunk_by(|a, b| a.party == b.party).filter_map(<[_]>::last);
    let owed: i64 = last.map(|month| month.closing_minor).sum();
    let bonus: i64 = reconciled.bonuses.iter().map(|bonus| bonus.movement_minor).sum();
    vec![
        all.end_net_minor,
        all.workshop_net_minor,
        all.cost_minor,
        i64::try_from(reconciled.overview.by_route.len()).unwrap(),
        told("charged_more") + told("share_below"),
        told("unpaid"),
        owed,
        bonus,
    ]
}

fn write(folder: &Path, inputs: &Inputs) {
    let mut deals = String::from("number,partner,customer,family,invoice_by,net,end_net,cost\n");
    for one in &inputs.agreed {
        let partner = one.shares.first().map_or("", |share| &share.partner);
        let (customer, family) = (&one.sales.last().unwrap().buyer.name, &one.families[0].family);
        let (net, end, cost) = (one.workshop_net().minor(), one.end_net().minor(), one.cost.minor());
        writeln!(deals, "{},{partner},{customer},{family},{},{net},{end},{cost}", one.number, one.invoice_by)
            .unwrap();
    }
    let mut invoices = String::from("number,quote,issued,due,buyer,net,tax,gross\n");
    for one in &inputs.invoices {
        let (quote, due) = (one.quote.as_deref().unwrap_or_default(), one.due.unwrap());
        let (buyer, tax) = (&one.buyer.name, one.gross_minor - one.net_minor);
        writeln!(
            invoices,
            "{},{quote},{},{due},{buyer},{},{tax},{}",
            one.number, one.issued, one.net_minor, one.gross_minor
        )
        .unwrap();
    }
    let mut payments = String::from("booked,party,minor,reference,words\n");
    for batch in inputs.statements.iter().flat_map(|one| &one.batches) {
        for one in &batch.payments {
            let party = one.party.as_deref().unwrap_or_default();
            let reference = one.structured.first().map_or("", |reference| reference);
            writeln!(payments, "{},{party},{},{reference},{}", batch.booked, one.minor, one.remittance)
                .unwrap();
        }
    }
    let mut tiers = String::from("partner,from_minor,percent\n");
    for tier in &inputs.terms.bonuses {
        writeln!(tiers, "{},{},{}", tier.partner, tier.from_minor, tier.percent).unwrap();
    }
    let tables = [("deals", deals), ("invoices", invoices), ("payments", payments), ("tiers", tiers)];
    for (name, table) in tables {
        fs::write(folder.join(name).with_extension("csv"), table).unwrap();
    }
    fs::write(folder.join("until"), inputs.terms.until.to_string()).unwrap();
}
