//! What the reading of a long statement takes.

use std::fs::File;
use std::io::{BufWriter, Write};

use evenfare_files::read_statements;

/// The most memory that the process ever had, in MiB, where the system tells.
fn most_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix(" kB")?.trim().parse::<u64>().ok().map(|kib| kib / 1_024)
}

/// A statement of 50 MiB, each entry with what banks usually say. It has a process of its own when it is asked for
/// by its name: `cargo test --release --test books -- --ignored --nocapture a_statement_of_50_mib`.
#[test]
#[ignore = "measures, and says more of an optimized build"]
fn a_statement_of_50_mib_is_read_within_bounds() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("s.xml");
    let mut file = BufWriter::new(File::create(&path).unwrap());
    let balance = |kind: &str, day: &str, amount: u32| {
        format!(
            "<Bal><Tp><CdOrPrtry><Cd>{kind}</Cd></CdOrPrtry></Tp><Amt Ccy=\"EUR\">{amount}.00</Amt>\
             <CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>{day}</Dt></Dt></Bal>\n"
        )
    };
    let entry = |number: u32| {
        format!(
            "<Ntry><NtryRef>{number}</NtryRef><Amt Ccy=\"EUR\">1.00</Amt><CdtDbtInd>CRDT</CdtDbtInd>\
             <Sts><Cd>BOOK</Cd></Sts><BookgDt><Dt>2026-10-02</Dt></BookgDt><ValDt><Dt>2026-10-02</Dt></ValDt>\
             <AcctSvcrRef>2026100200{number:08}</AcctSvcrRef>\n<NtryDtls><TxDtls>\
             <Refs><EndToEndId>R-2026-{number:08}</EndToEndId></Refs><Amt Ccy=\"EUR\">1.00</Amt>\
             <CdtDbtInd>CRDT</CdtDbtInd><RltdPties><Dbtr><Pty><Nm>Bakery number {number}</Nm></Pty></Dbtr>\
             <DbtrAcct><Id><IBAN>DE790000000012{number:08}</IBAN></Id></DbtrAcct></RltdPties>\
             <RmtInf><Ustrd>Invoice R-2026-{number:08} of October</Ustrd></RmtInf></TxDtls></NtryDtls></Ntry>\n"
        )
    };
    let entries = 50 * 1_024 * 1_024 / u32::try_from(entry(1).len()).unwrap();
    write!(
        file,
        "<Document xmlns=\"urn:iso:std:iso:20022:tech:xsd:camt.053.001.08\"><BkToCstmrStmt>\
         <GrpHdr><MsgId>M</MsgId><CreDtTm>2026-11-01T06:00:00Z</CreDtTm></GrpHdr><Stmt><Id>S</Id>\
         <Acct><Id><IBAN>DE79000000001234567890</IBAN></Id><Ccy>EUR</Ccy></Acct>\n{}{}",
        balance("OPBD", "2026-10-01", 0),
        balance("CLBD", "2026-10-31", entries)
    )
    .unwrap();
    (0..entries).for_each(|number| file.write_all(entry(number).as_bytes()).unwrap());
    file.write_all(b"</Stmt></BkToCstmrStmt></Document>\n").unwrap();
    drop(file);
    let size = std::fs::metadata(&path).unwrap().len() / (1_024 * 1_024);
    let before = most_memory();
    let begun = std::time::Instant::now();
    let read = read_statements(&path).map_err(|report| report.to_string()).unwrap();
    let took = begun.elapsed();
    let after = most_memory();
    assert_eq!(read[0].batches.len(), usize::try_from(entries).unwrap());
    println!("{size} MiB, {entries} entries: {took:.1?}, peak memory {after:?} MiB, {before:?} before");
    assert!(
        after.is_none_or(|after| after < 5 * size),
        "the file itself, its text for messages, and what it says"
    );
}
