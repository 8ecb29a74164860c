//! Transfers between own accounts on the demo world.

use std::fs;
use std::path::Path;

use crate::month::{STORE, demo};
use crate::transcript::{run_in, words};
use crate::world::spoil;

/// Where the money of entry 4 came from, told late.
const LATE: &str = r#"<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.08">
  <BkToCstmrStmt>
    <GrpHdr><MsgId>PL-20261103-01</MsgId><CreDtTm>2026-11-03T06:00:00</CreDtTm></GrpHdr>
    <Stmt>
      <Id>PL-2026-10</Id>
      <CreDtTm>2026-11-03T06:00:00</CreDtTm>
      <Acct><Id><IBAN>PL31000000000000202600000017</IBAN></Id><Ccy>EUR</Ccy></Acct>
      <Bal><Tp><CdOrPrtry><Cd>OPBD</Cd></CdOrPrtry></Tp><Amt Ccy="EUR">5000.00</Amt><CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>2026-10-01</Dt></Dt></Bal>
      <Bal><Tp><CdOrPrtry><Cd>CLBD</Cd></CdOrPrtry></Tp><Amt Ccy="EUR">3444.90</Amt><CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>2026-10-31</Dt></Dt></Bal>
      <Ntry>
        <Amt Ccy="EUR">1555.10</Amt><CdtDbtInd>DBIT</CdtDbtInd><Sts><Cd>BOOK</Cd></Sts>
        <BookgDt><Dt>2026-10-26</Dt></BookgDt>
        <BkTxCd><Prtry><Cd>TRANSFER</Cd></Prtry></BkTxCd>
        <NtryDtls><TxDtls>
          <Amt Ccy="EUR">1555.10</Amt><CdtDbtInd>DBIT</CdtDbtInd>
          <RltdPties><CdtrAcct><Id><IBAN>DE79000000001234567890</IBAN></Id></CdtrAcct></RltdPties>
        </TxDtls></NtryDtls>
      </Ntry>
    </Stmt>
  </BkToCstmrStmt>
</Document>
"#;

/// The rows of a table; no cell of these has a comma or a quote in it.
fn table(folder: &Path, name: &str) -> Vec<Vec<String>> {
    let text = fs::read_to_string(folder.join(name)).unwrap();
    text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

/// What the journal has in transit, by the chart's number of the account, and the last day that it is posted on.
fn posted(folder: &Path) -> (i64, String) {
    let journal = table(folder, "journal.csv");
    let of_transit = journal.iter().filter(|row| row[6] == "1460");
    let sum = of_transit.map(|row| row[10].replace('.', "").parse::<i64>().unwrap()).sum();
    (sum, journal.iter().map(|row| row[1].clone()).max().unwrap())
}

/// What has arrived on one own account and left no other is told, and is what the journal has in transit.
#[test]
fn what_is_in_transit_is_told() {
    let dir = demo("month-transit");
    let page = |more: &str| {
        let said = run_in(&dir, &words(&format!("reconcile books {STORE} --month 2026-10{more}")));
        assert_eq!((said.code, said.err.as_str()), (0, ""));
        said.out
    };
    assert!(!page("").contains("TRANSIT"));
    spoil(&dir, "books/bank_accounts.csv", ",P-BRZEG", ",workshop");
    assert!(!page("").contains("TRANSIT"), "it names an invoice: that it is a transfer has to be decided");
    let decided = dir.join("books/decided_payments.csv");
    let rows = fs::read_to_string(&decided).unwrap();
    fs::write(&decided, format!("{rows}DE79000000001234567890,MB-2026-10,4,1,,,\n")).unwrap();
    let told = page(" -o out/transit");
    let section = told.split("IN TRANSIT").nth(1).unwrap();
    let section = section.split("BONUSES").next().unwrap();
    for says in [
        "2026-10-27  DE79000000001234567890",
        "555.10 EUR\n",
        "  arrived from PL31000000000000202600000017, where it is not seen\n",
        "(statements/2026-10.xml:",
    ] {
        assert!(section.contains(says), "{section}");
    }
    let table = |name: &str| -> Vec<Vec<String>> {
        let text = fs::read_to_string(dir.join("out/transit").join(name)).unwrap();
        text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect()).collect()
    };
    let transit = table("transit.csv");
    assert_eq!((transit.len(), &*transit[0][3], &*transit[0][5]), (1, "-1555.10", "-1555.10"));
    // The chart's number of the account.
    let posted: Vec<Vec<String>> = table("journal.csv").into_iter().filter(|row| row[6] == "1460").collect();
    assert_eq!(posted.len(), 1);
    assert_eq!(posted[0][10], transit[0][5], "{posted:?}");
}

/// A side that comes when its month is closed is a change: the month is shown with what it was closed with, and nothing
/// that is posted later stands in its files.
#[test]
fn a_closed_month_keeps_what_was_in_transit() {
    let dir = demo("month-transit-closed");
    let run = |line: &str| {
        let said = run_in(&dir, &words(line));
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{line}: {}", said.out);
    };
    spoil(&dir, "books/bank_accounts.csv", ",P-BRZEG", ",workshop");
    let decided = dir.join("books/decided_payments.csv");
    let rows = fs::read_to_string(&decided).unwrap();
    fs::write(&decided, format!("{rows}DE79000000001234567890,MB-2026-10,4,1,,,\n")).unwrap();
    for month in ["2026-09", "2026-10"] {
        run(&format!("close books {month} {STORE} --with-open-questions"));
    }
    let closing = fs::read_to_string(dir.join("books/closings/2026-10.csv")).unwrap();
    assert!(closing.contains("\ntransit,,2026-10-27,DE79000000001234567890,"), "{closing}");
    fs::write(dir.join("books/statements/late.xml"), LATE).unwrap();
    for (number, (asked, rows, cents, last)) in [
        ("--month 2026-10", 1, -155_510, "2026-10-31"),
        ("--until 2026-10-31", 1, -155_510, "2026-10-31"),
        ("--until 2026-11-30", 0, 0, "2026-11-01"),
    ]
    .into_iter()
    .enumerate()
    {
        run(&format!("reconcile books {STORE} {asked} -o out/{number}"));
        let folder = dir.join(format!("out/{number}"));
        let transit = table(&folder, "transit.csv");
        assert_eq!(transit.len(), rows, "{asked}");
        assert!(transit.iter().all(|row| row[5] == "-1555.10"), "{transit:?}");
        let (sum, day) = posted(&folder);
        assert_eq!((sum, day.as_str() <= last), (cents, true), "{asked}: {day}");
        // It is told that it came, whichever way one looks back.
        let changed = table(&folder, "changed.csv");
        assert!(changed.iter().any(|row| row[0] == "late" && row[5].contains("PL-2026-10")), "{asked}");
    }
}
