//! Bank statements, by hand.

use evenfare_engine::money::Currency;
use evenfare_files::parse_statements;
use evenfare_reconcile::input::Status;

use crate::{of_the_demo, refused, standard};

/// A statement in euro that opens with 100.00 and closes with that, of those entries.
fn statement(closing: &str, entries: &str) -> String {
    format!(
        "<Document xmlns=\"urn:iso:std:iso:20022:tech:xsd:camt.053.001.02\"><BkToCstmrStmt>
<Stmt><Id>S-1</Id><Acct><Id><IBAN>DE02100100100006820101</IBAN></Id><Ccy>EUR</Ccy></Acct>
<Bal><Tp><CdOrPrtry><Cd>PRCD</Cd></CdOrPrtry></Tp><Amt Ccy=\"EUR\">100.00</Amt><CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>2026-07-01</Dt></Dt></Bal>
<Bal><Tp><CdOrPrtry><Cd>CLBD</Cd></CdOrPrtry></Tp><Amt Ccy=\"EUR\">{closing}</Amt><CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>2026-07-31</Dt></Dt></Bal>
{entries}</Stmt></BkToCstmrStmt></Document>"
    )
}

fn entry(amount: &str, way: &str, rest: &str) -> String {
    format!(
        "<Ntry><Amt Ccy=\"EUR\">{amount}</Amt><CdtDbtInd>{way}</CdtDbtInd><Sts>BOOK</Sts>\
         <BookgDt><Dt>2026-07-02</Dt></BookgDt>{rest}</Ntry>\n"
    )
}

#[test]
fn the_published_examples_and_the_demo_tie() {
    // Opening, closing, and how many entries.
    type Statements = &'static [(i64, i64, usize)];
    let published = |name: &str| standard(&format!("camt.053/example-camt053-{name}.xml"));
    let demo = |month: &str| Some(of_the_demo(&format!("statements/{month}.xml")));
    let expect: [(&str, Option<Vec<u8>>, Statements); 4] = [
        ("a", published("a"), &[(20_369, 66_169, 7), (185_913, 166_087, 4)]),
        ("b", published("b"), &[(-84_368_620, -84_361_073, 19)]),
        ("2026-09", demo("2026-09"), &[(1_842_055, 857_055, 1)]),
        ("2026-10", demo("2026-10"), &[(857_055, 696_673, 7)]),
    ];
    for (name, bytes, expect) in expect {
        let Some(bytes) = bytes else { continue };
        let read = parse_statements(name, bytes).map_err(|report| report.to_string()).unwrap();
        assert_eq!(read.len(), expect.len(), "{name}");
        for (statement, (opening, closing, entries)) in read.iter().zip(expect) {
            assert_eq!((statement.opening.minor, statement.closing.minor), (*opening, *closing), "{name}");
            let booked: i64 = statement.batches.iter().map(|batch| batch.minor).sum();
            assert_eq!(opening + booked, *closing, "{name}");
            assert_eq!(statement.batches.len(), *entries, "{name}");
        }
    }
}

#[test]
fn what_a_statement_says_is_read() {
    let batch = "<AcctSvcrRef>B-7</AcctSvcrRef><NtryDtls><Btch><NbOfTxs>2</NbOfTxs></Btch>
<TxDtls><Refs><EndToEndId>Q-2026-7</EndToEndId></Refs>
<AmtDtls><InstdAmt><Amt Ccy=\"CHF\">50.00</Amt></InstdAmt><TxAmt><Amt Ccy=\"EUR\">52.10</Amt></TxAmt></AmtDtls>
<Chrgs><Amt Ccy=\"EUR\">2.10</Amt></Chrgs>
<RltdPties><Dbtr><Nm>Mill &amp; Sons</Nm></Dbtr><DbtrAcct><Id><IBAN>CH1</IBAN></Id></DbtrAcct></RltdPties>
<RmtInf><Ustrd>invoice</Ustrd><Ustrd>17</Ustrd><Strd><CdtrRefInf><Ref>RF18539007547034</Ref></CdtrRefInf></Strd></RmtInf></TxDtls>
<TxDtls><Refs><EndToEndId>NOTPROVIDED</EndToEndId></Refs><AmtDtls><TxAmt><Amt Ccy=\"EUR\">10</Amt></TxAmt></AmtDtls></TxDtls>
</NtryDtls><AddtlNtryInf>collected</AddtlNtryInf>";
    let taken_back = "<NtryDtls><TxDtls><RltdPties><Dbtr><Nm>Mill</Nm></Dbtr><Cdtr><Nm>Us</Nm></Cdtr></RltdPties></TxDtls></NtryDtls>";
    let taken_back = entry("10", "DBIT", taken_back).replace("<Sts>", "<RvslInd>true</RvslInd><Sts>");
    let pending = entry("1.00", "CRDT", "").replace("BOOK", "PDNG");
    let text = statement("150", &(entry("60.00", "CRDT", batch) + &taken_back + &pending));
    let read = parse_statements("july.xml", text).map_err(|report| report.to_string()).unwrap();
    let [statement] = &read[..] else { panic!("one statement") };
    assert_eq!((&*statement.account, statement.closing.minor), ("DE02100100100006820101", 15_000));
    let [batch, reversal, pending] = &statement.batches[..] else { panic!("three entries") };
    assert_eq!((batch.minor, batch.reference.as_deref(), batch.place.line), (6_000, Some("B-7"), 5));
    let [payment, other] = &batch.payments[..] else { panic!("two payments") };
    let chf: Currency = "CHF".parse().unwrap();
    assert_eq!((payment.minor, payment.instructed, payment.charges_minor), (5_000, Some((5_000, chf)), 210));
    assert_eq!(
        (payment.party.as_deref(), payment.party_account.as_deref()),
        (Some("Mill & Sons"), Some("CH1"))
    );
    assert_eq!((&*payment.remittance, &*payment.structured[0]), ("invoice 17", "RF18539007547034"));
    assert_eq!((&payment.end_to_end.as_deref(), &other.end_to_end), (&Some("Q-2026-7"), &None));
    assert_eq!((other.minor, &*other.remittance), (1_000, "collected"));
    // Money that came in goes back: the other side is still who had paid.
    assert_eq!((reversal.minor, reversal.reversal), (-1_000, true));
    assert_eq!(reversal.payments[0].party.as_deref(), Some("Mill"));
    assert_eq!((pending.status, pending.payments.len()), (Status::Pending, 1));
}

#[test]
fn every_mistake_is_told_at_its_place() {
    let entries = entry("10.001", "CRDT", "")
        + &entry("1,5", "CRDT", "")
        + &entry("5", "IN", "")
        + &entry("5", "CRDT", "").replace("EUR", "USD")
        + &entry("5", "DBIT", "").replace("2026-07-02", "2026-07-32")
        + &entry("5", "DBIT", "").replace("BOOK", "DONE");
    let told = refused(parse_statements("july.xml", statement("100", &entries)));
    let amount = "expected an amount in EUR: digits, and at most 2 after a point (12.5, not 12,5)";
    let expect = [
        format!("july.xml:5:22: error[too_many_decimals]: found `10.001`, {amount}"),
        format!("july.xml:6:22: error[not_a_number]: found `1,5`, {amount}"),
        "july.xml:7:40: error[unknown_word]: found `IN`, expected CRDT or DBIT".to_owned(),
        "july.xml:8:7: error[other_currency]: found `USD`, expected EUR, as of the whole".to_owned(),
        "july.xml:9:84: error[not_a_date]: found `2026-07-32`, expected a day of the calendar such as 2026-07-01".to_owned(),
        "july.xml:10:61: error[unknown_word]: found `DONE`, expected BOOK, PDNG, INFO or FUTR".to_owned(),
    ];
    assert_eq!(told.lines().collect::<Vec<_>>(), expect);
}

#[test]
fn what_does_not_add_up_is_refused() {
    let told = refused(parse_statements("s", statement("160.01", &entry("60", "CRDT", ""))));
    let expect = "s:4:66: error[does_not_tie]: found `160.01 EUR`, expected 160.00 EUR, the opening balance and every booked entry";
    assert_eq!(told.trim_end(), expect);
    let of = |first: &str, second: &str, charge: &str| {
        let of = |amount: &str| {
            format!("<TxDtls><AmtDtls><TxAmt><Amt Ccy=\"EUR\">{amount}</Amt></TxAmt></AmtDtls></TxDtls>")
        };
        let charge = format!("<Chrgs><Amt Ccy=\"EUR\">{charge}</Amt></Chrgs>");
        let details = format!("{charge}<NtryDtls>{}{}</NtryDtls>", of(first), of(second));
        parse_statements("s", statement("160", &entry("60", "CRDT", &details)))
    };
    assert!(of("30", "30", "1").is_ok());
    assert!(of("30", "31", "1").is_ok(), "the bank kept 1.00 back");
    let told = refused(of("30", "32", "1"));
    assert!(
        told.starts_with(
            "s:5:1: error[sums_differ]: found `62.00 EUR`, expected payments that come to 60.00"
        )
    );
}

/// They were counted twice where the amount of a payment has them in it: who had paid 100.00 was told to have paid 105.00.
#[test]
fn charges_are_kept_back_once() {
    let charge = |amount: &str| match amount {
        "" => String::new(),
        _ => format!("<Chrgs><Amt Ccy=\"EUR\">{amount}</Amt></Chrgs>"),
    };
    let told = |amount: &str, own: &str| {
        let amount = match amount {
            "" => String::new(),
            _ => format!("<AmtDtls><TxAmt><Amt Ccy=\"EUR\">{amount}</Amt></TxAmt></AmtDtls>"),
        };
        format!("<TxDtls>{amount}{}</TxDtls>", charge(own))
    };
    let read = |(booked, way, closing): (&str, &str, &str), of_entry: &str, details: &str| {
        let rest = format!("{}<NtryDtls>{details}</NtryDtls>", charge(of_entry));
        let read = parse_statements("s", statement(closing, &entry(booked, way, &rest)));
        let batch = read.map_err(|report| report.to_string()).unwrap()[0].batches[0].clone();
        let payments: Vec<_> = batch.payments.iter().map(|one| (one.minor, one.charges_minor)).collect();
        (payments, batch.minor)
    };
    let (came, went) = (("95", "CRDT", "195"), ("55", "DBIT", "45"));
    // Before and after them; of the payment, of its entry, of both, and with no amount or no payment told.
    for (of_entry, details) in [
        ("", told("100", "5")),
        ("", told("95", "5")),
        ("5", told("100", "")),
        ("5", told("95", "")),
        ("5", told("", "")),
        ("5", told("100", "5")),
        ("5", told("95", "5")),
        ("2", told("100", "3")),
        ("5", String::new()),
    ] {
        assert_eq!(read(came, of_entry, &details), (vec![(9_500, 500)], 9_500), "{of_entry} {details}");
    }
    assert_eq!(read(("90", "CRDT", "190"), "5", &told("100", "5")), (vec![(9_000, 1_000)], 9_000));
    // What goes out comes with them: 50.00 arrive of 55.00.
    for (of_entry, details) in [("", told("50", "5")), ("5", told("55", "")), ("5", String::new())] {
        assert_eq!(read(went, of_entry, &details), (vec![(-5_500, 500)], -5_500), "{of_entry} {details}");
    }
    // Of several payments each has its own, and what is kept back of the whole entry is between them and that.
    let two = told("60", "2") + &told("40", "3");
    assert_eq!(read(came, "", &two), (vec![(5_800, 200), (3_700, 300)], 9_500));
    let two = told("60", "") + &told("40", "");
    assert_eq!(read(came, "5", &two), (vec![(6_000, 0), (4_000, 0)], 9_500));
}

/// A charge that is not included in the amount is announced, and booked when it is taken (ISO 20022, ChrgInclInd).
#[test]
fn charges_that_are_only_announced_are_not_kept_back() {
    for (included, charges) in [("true", 500), ("false", 0)] {
        let record = format!("<Rcrd><Amt Ccy=\"EUR\">5</Amt><ChrgInclInd>{included}</ChrgInclInd></Rcrd>");
        let rest = format!("<Chrgs>{record}</Chrgs>");
        let text = statement("195", &entry("95", "CRDT", &rest)).replace("053.001.02", "053.001.08");
        let read = parse_statements("s", text).map_err(|report| report.to_string()).unwrap();
        let payment = &read[0].batches[0].payments[0];
        assert_eq!((payment.minor, payment.charges_minor), (9_500, charges), "{included}");
    }
}

#[test]
fn charges_that_no_account_has_are_refused() {
    let charge = "<Chrgs><Amt Ccy=\"EUR\">9999999999999.99</Amt></Chrgs>";
    let of =
        |times: usize| parse_statements("s", statement("160", &entry("60", "CRDT", &charge.repeat(times))));
    assert!(of(1).is_ok());
    let expect = "s:5:1: error[out_of_range]: found `99999999999999900.00 EUR`, expected less than 10000000000000.00 EUR";
    assert_eq!(refused(of(10_000)).trim_end(), expect);
}

#[test]
fn what_is_booked_on_another_day_is_refused() {
    let on = |day: &str| entry("1", "CRDT", "").replace("2026-07-02", day);
    // The days of both balances are days of the statement, and what only waits may be for any day.
    let waits = on("2026-08-04").replace("BOOK", "PDNG");
    assert!(
        parse_statements("s", statement("102", &(on("2026-07-01") + &on("2026-07-31") + &waits))).is_ok()
    );
    let by_value = on("2026-08-02").replace("BookgDt", "ValDt");
    let told = refused(parse_statements(
        "s",
        statement("104", &(on("2026-06-30") + &on("2026-07-02") + &on("2026-08-01") + &by_value)),
    ));
    let expected = "expected a day from 2026-07-01 to 2026-07-31, the days of the statement's balances";
    let expect = [
        format!("s:5:84: error[out_of_range]: found `2026-06-30`, {expected}"),
        format!("s:7:84: error[out_of_range]: found `2026-08-01`, {expected}"),
        format!("s:8:82: error[out_of_range]: found `2026-08-02`, {expected}"),
    ];
    assert_eq!(told.lines().collect::<Vec<_>>(), expect);
    let turned = statement("100", "").replace("2026-07-31", "2026-06-30");
    let expect = "s:4:110: error[out_of_range]: found `2026-06-30`, expected 2026-07-01 or later, for that is the day of the opening balance";
    assert_eq!(refused(parse_statements("s", turned)).trim_end(), expect);
}

#[test]
fn only_statements_without_doubtful_xml_are_read() {
    let check = |text: &str, expect: &str| {
        let told = refused(parse_statements("s", text));
        assert!(told.contains(expect), "{told}");
    };
    let sound = statement("100", "");
    assert!(parse_statements("s", &sound).is_ok());
    check("", "xml_syntax");
    check(&sound.replace("001.02", "001.03"), "unknown_document");
    check(&format!("<!DOCTYPE D [<!ENTITY a \"b\">]>{sound}"), "xml_doctype");
    check(&sound.replace("S-1", "&a;"), "xml_entity");
    check(&format!("<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?>{sound}"), "xml_encoding");
    check(&sound.replace("<Id>S-1</Id>", &"<a>".repeat(100)), "xml_syntax");
    check(&sound.replace("<Id>S-1</Id>", &"<a/>".repeat(250_000)), "too_many_elements");
    check(
        &sound.replace("<Id>S-1</Id>", ""),
        "s:2:1: error[missing_key]: found nothing, expected Id in Stmt",
    );
    check(
        &sound.replace("CLBD", "CLAV"),
        "s:2:1: error[missing_key]: found nothing, expected a balance CLBD",
    );
}
