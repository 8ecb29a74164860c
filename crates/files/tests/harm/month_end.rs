//! Statements, invoices and lists, of 64 MiB at most; less than that here, as what is held against them grows with their length.

use evenfare_files::{parse_charges, parse_courier_bills, parse_invoice, parse_statements};

use crate::{MIB, alone, refused, within};

const STATEMENTS: &str =
    "<Document xmlns=\"urn:iso:std:iso:20022:tech:xsd:camt.053.001.02\"><BkToCstmrStmt><Stmt>";
const INVOICE: &str = "<Invoice xmlns=\"urn:oasis:names:specification:ubl:schema:xsd:Invoice-2\">";

/// A few copies, and what may be made of 200,000 elements that belong together.
const MOST: usize = 128;

fn statements(what: &str, text: impl AsRef<[u8]>, code: &str) {
    refused(&within(MOST, what, || parse_statements("s.xml", &text)), code);
}

fn invoice(what: &str, text: impl AsRef<[u8]>, code: &str) {
    refused(&within(MOST, what, || parse_invoice("i.xml", &text)), code);
}

#[test]
fn xml() {
    let _alone = alone();
    let attributes: String = (0..201_000).map(|number| format!(" a{number}=''")).collect();
    for (root, check) in [(STATEMENTS, statements as fn(&str, String, &str)), (INVOICE, invoice)] {
        check("elements", format!("{root}{}", "<a/>".repeat(201_000)), "too_many_elements");
        check("attributes", format!("{root}<a{attributes}/>"), "too_many_elements");
        check(
            "attributes of many",
            format!("{root}{}", "<a b='' c=''/>".repeat(70_000)),
            "too_many_elements",
        );
        check(
            "space before elements",
            format!("{root}{}{}", " ".repeat(2 * MIB), "<a/>".repeat(50_000)),
            "xml_syntax",
        );
        check("depth", format!("{root}{}", "<a>".repeat(100)), "xml_syntax");
        check("a text", format!("{root}<Id>{}</Id>", "x".repeat(2 * MIB)), "xml_syntax");
        check("a comment", format!("{root}<!--{}", "x".repeat(2 * MIB)), "xml_syntax");
        check("an open tag", format!("{root}<{}", "x".repeat(2 * MIB)), "xml_syntax");
        check("characters by number", format!("{root}<Id>{}", "&#65;".repeat(200_000)), "xml_syntax");
        check(
            "a declaration",
            format!("<!DOCTYPE a [{}]>{root}", "<!ENTITY b 'c'>".repeat(10_000)),
            "xml_doctype",
        );
        check("an entity", format!("{root}<Id>&b;</Id>"), "xml_entity");
        check(
            "another encoding",
            format!("<?xml version=\"1.0\" encoding=\"UTF-16\"?>{root}"),
            "xml_encoding",
        );
    }
    statements("no UTF-8", vec![0xFF; 2 * MIB], "invalid_utf8");
    invoice("no UTF-8", vec![0xFF; 2 * MIB], "invalid_utf8");
    statements("zeros", vec![0; 2 * MIB], "not_text");
}

/// A booking of one sum with many payments, a line for each: the space between them is not looked at again
/// before every payment.
#[test]
fn many_payments_in_one_booking() {
    let _alone = alone();
    let payments = 20_000;
    let one = format!(
        "{}<TxDtls><Refs><EndToEndId>Q</EndToEndId></Refs><AmtDtls><TxAmt><Amt Ccy=\"EUR\">1</Amt></TxAmt></AmtDtls></TxDtls>\n",
        " ".repeat(60)
    );
    let balance = |kind: &str, amount: usize| {
        format!(
            "<Bal><Tp><CdOrPrtry><Cd>{kind}</Cd></CdOrPrtry></Tp><Amt Ccy=\"EUR\">{amount}</Amt>\
             <CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>2026-07-01</Dt></Dt></Bal>"
        )
    };
    let text = format!(
        "{STATEMENTS}<Id>1</Id><Acct><Id><IBAN>DE0</IBAN></Id><Ccy>EUR</Ccy></Acct>{}{}\
         <Ntry><Amt Ccy=\"EUR\">{payments}</Amt><CdtDbtInd>CRDT</CdtDbtInd><Sts>BOOK</Sts>\
         <BookgDt><Dt>2026-07-01</Dt></BookgDt><NtryDtls>{}</NtryDtls></Ntry></Stmt></BkToCstmrStmt></Document>",
        balance("OPBD", 0),
        balance("CLBD", payments),
        one.repeat(payments)
    );
    let told = within(MOST, "payments", || {
        let read = parse_statements("s.xml", &text)?;
        assert_eq!(read[0].batches[0].payments.len(), payments);
        Ok(())
    });
    assert_eq!(told, "");
}

#[test]
fn lists() {
    let _alone = alone();
    let charges = "partner,quote,invoice,issued,currency,net,vat\n";
    let check = |what: &str, text: String, code: &str| {
        refused(&within(MOST, what, || parse_charges("c.csv", &text)), code);
        let text = text.replacen(charges, "courier,bill,consignment,quote,leg,carried,currency,net\n", 1);
        refused(&within(MOST, what, || parse_courier_bills("c.csv", &text)), code);
    };
    check("commas", format!("{charges}{}", "a,".repeat(MIB)), "ragged_row");
    check("a header", ",".repeat(2 * MIB), "unknown_column");
    check("a header of semicolons", ";".repeat(2 * MIB), "unknown_column");
    check("rows", format!("{charges}{}", "a\n".repeat(50_000)), "ragged_row");
    check("quotes", format!("{charges}{}", "\"\n".repeat(50_000)), "ragged_row");
    let digits = "9".repeat(10_000);
    let told = within(8, "digits", || {
        parse_charges("c.csv", format!("{charges}P-1,Q,R,2026-07-01,EUR,{digits},0.{digits}\n"))
    });
    refused(&told, "out_of_range");
    refused(&told, "too_many_decimals");
}
