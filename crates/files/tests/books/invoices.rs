//! EN 16931 invoices.

use evenfare_files::parse_invoice;
use evenfare_reconcile::input::InvoiceKind;

use crate::{of_the_demo, refused, standard};

#[test]
fn the_published_examples_and_the_demos_are_read() {
    use InvoiceKind::{CreditNote, Invoice};
    // Totals: CEN/TC 434, examples of EN 16931 in UBL; rate, base and tax of each group.
    type Groups = &'static [(&'static str, i64, i64)];
    type Expected = (&'static str, Option<Vec<u8>>, InvoiceKind, i64, Groups);
    let published = |name: &str| standard(&format!("en16931/examples/ubl-tc434-{name}.xml"));
    let demo = Some(of_the_demo("invoices/2026-10-zakwasek.xml"));
    let expect: [Expected; 5] = [
        ("example1", published("example1"), Invoice, 25_033, &[("6", 18_323, 1_099), ("21", 4_637, 974)]),
        ("example2", published("example2"), Invoice, 0, &[("25", 146_050, 36_513)]),
        ("example8", published("example8"), Invoice, 109_978, &[("21", 90_891, 19_087)]),
        ("creditnote1", published("creditnote1"), CreditNote, 10_011, &[("0", 10_011, 0)]),
        ("zakwasek", demo, Invoice, 185_839, &[("0", 185_839, 0)]),
    ];
    for (name, bytes, kind, gross, groups) in expect {
        let Some(bytes) = bytes else { continue };
        let read = parse_invoice(name, bytes).map_err(|report| report.to_string()).unwrap();
        assert_eq!(read.kind, kind);
        assert!(gross == 0 || read.gross_minor == gross, "{name}: {}", read.gross_minor);
        for (rate, base, tax) in groups {
            let is_it = |vat: &&evenfare_reconcile::input::InvoiceVat| vat.rate == rate.parse().ok();
            let group = read.vat.iter().find(is_it).unwrap();
            assert_eq!((group.base_minor, group.tax_minor), (*base, *tax), "{name}");
        }
        let tax: i64 = read.vat.iter().map(|vat| vat.tax_minor).sum();
        assert_eq!(read.net_minor + tax, read.gross_minor, "{name}");
    }
}

const INVOICE: &str = r#"<Invoice xmlns="urn:oasis:names:specification:ubl:schema:xsd:Invoice-2" xmlns:cac="a" xmlns:cbc="b">
<cbc:ID>R-17</cbc:ID><cbc:IssueDate>2026-07-20</cbc:IssueDate><cbc:DueDate>2026-08-03</cbc:DueDate>
<cbc:DocumentCurrencyCode>EUR</cbc:DocumentCurrencyCode>
<cac:ContractDocumentReference><cbc:ID>Q-2026-7</cbc:ID></cac:ContractDocumentReference>
<cac:AccountingSupplierParty><cac:Party><cac:PostalAddress><cac:Country><cbc:IdentificationCode>DE</cbc:IdentificationCode></cac:Country></cac:PostalAddress>
<cac:PartyTaxScheme><cbc:CompanyID>de 111111117</cbc:CompanyID><cac:TaxScheme><cbc:ID>VAT</cbc:ID></cac:TaxScheme></cac:PartyTaxScheme>
<cac:PartyLegalEntity><cbc:RegistrationName>Works</cbc:RegistrationName></cac:PartyLegalEntity></cac:Party></cac:AccountingSupplierParty>
<cac:AccountingCustomerParty><cac:Party><cac:PartyName><cbc:Name>Mill</cbc:Name></cac:PartyName></cac:Party></cac:AccountingCustomerParty>
<cac:PaymentMeans><cbc:PaymentID>RF18</cbc:PaymentID></cac:PaymentMeans>
<cac:AllowanceCharge><cbc:ChargeIndicator>false</cbc:ChargeIndicator><cbc:Amount currencyID="EUR">10</cbc:Amount></cac:AllowanceCharge>
<cac:TaxTotal><cbc:TaxAmount currencyID="EUR">17.10</cbc:TaxAmount>
<cac:TaxSubtotal><cbc:TaxableAmount currencyID="EUR">90.00</cbc:TaxableAmount><cbc:TaxAmount currencyID="EUR">17.10</cbc:TaxAmount>
<cac:TaxCategory><cbc:ID>S</cbc:ID><cbc:Percent>19.00</cbc:Percent></cac:TaxCategory></cac:TaxSubtotal></cac:TaxTotal>
<cac:LegalMonetaryTotal><cbc:LineExtensionAmount currencyID="EUR">100.00</cbc:LineExtensionAmount>
<cbc:TaxExclusiveAmount currencyID="EUR">90.00</cbc:TaxExclusiveAmount>
<cbc:TaxInclusiveAmount currencyID="EUR">107.10</cbc:TaxInclusiveAmount>
<cbc:AllowanceTotalAmount currencyID="EUR">10.00</cbc:AllowanceTotalAmount>
<cbc:PayableAmount currencyID="EUR">107.10</cbc:PayableAmount></cac:LegalMonetaryTotal>
<cac:InvoiceLine><cbc:LineExtensionAmount currencyID="EUR">60</cbc:LineExtensionAmount></cac:InvoiceLine>
<cac:InvoiceLine><cbc:LineExtensionAmount currencyID="EUR">40</cbc:LineExtensionAmount></cac:InvoiceLine>
</Invoice>"#;

#[test]
fn what_an_invoice_says_is_read() {
    let read = parse_invoice("r.xml", INVOICE).map_err(|report| report.to_string()).unwrap();
    assert_eq!((&*read.number, read.quote.as_deref()), ("R-17", Some("Q-2026-7")));
    assert_eq!((&*read.seller.name, read.seller.vat_id.as_deref()), ("Works", Some("DE111111117")));
    assert_eq!((&*read.buyer.name, read.payment_reference.as_deref()), ("Mill", Some("RF18")));
    assert_eq!((read.net_minor, read.gross_minor, read.payable_minor), (9_000, 10_710, 10_710));
    assert_eq!(read.due.unwrap().to_string(), "2026-08-03");
    assert_eq!(read.vat[0].rate, "19".parse().ok());
    assert_eq!((read.is_noted, read.rounding_minor), (false, 0));
    // A note is told from a reference, and what is rounded from what was paid before.
    let contract = "<cac:ContractDocumentReference><cbc:ID>Q-2026-7</cbc:ID></cac:ContractDocumentReference>";
    let total = "<cbc:PayableAmount currencyID=\"EUR\">107.10";
    let rounded = "<cbc:PrepaidAmount currencyID=\"EUR\">50</cbc:PrepaidAmount>\
        <cbc:PayableRoundingAmount currencyID=\"EUR\">-0.1</cbc:PayableRoundingAmount>\
        <cbc:PayableAmount currencyID=\"EUR\">57.00";
    for (text, quote, is_noted) in
        [("<cbc:Note>a bonus</cbc:Note>", Some("a bonus"), true), ("", None, false)]
    {
        let text = INVOICE.replacen(contract, text, 1).replacen(total, rounded, 1);
        let read = parse_invoice("r.xml", text).map_err(|report| report.to_string()).unwrap();
        assert_eq!((read.quote.as_deref(), read.is_noted), (quote, is_noted));
        assert_eq!((read.rounding_minor, read.payable_minor), (-10, 5_700));
    }
}

/// A quote has the identifier of a firm in one spelling, and the firm's own papers have another.
#[test]
fn an_identifier_is_read_in_the_spelling_that_quotes_have() {
    for (written, read) in [
        ("CHE-083.016.613 MWST", "CHE083016613"),
        ("CHE083016613TVA", "CHE083016613"),
        ("NO 995 525 828 MVA", "NO995525828"),
        ("BE 428.759.497", "BE0428759497"),
        ("XI123456782", "XI123456782"),
        // What is no identifier that is known stays, without what people put in between.
        ("de-111", "DE111"),
        ("US 12-3456789", "US123456789"),
    ] {
        let text = INVOICE.replacen("de 111111117", written, 1);
        let invoice = parse_invoice("r.xml", text).map_err(|report| report.to_string()).unwrap();
        assert_eq!(invoice.seller.vat_id.as_deref(), Some(read), "{written}");
    }
}

/// EN 16931 has one contract, order and project at most, and as many notes (BG-1) and invoices before it (BG-3) as there are.
#[test]
fn all_that_an_invoice_refers_to_is_read() {
    let before = |number: &str| {
        let id = format!("<cbc:ID>{number}</cbc:ID>");
        format!(
            "<cac:BillingReference><cac:InvoiceDocumentReference>{id}</cac:InvoiceDocumentReference></cac:BillingReference>"
        )
    };
    let order = "<cac:OrderReference><cbc:ID>PO-1</cbc:ID><cbc:SalesOrderID>S-1</cbc:SalesOrderID></cac:OrderReference>";
    let notes = "<cbc:Note>first</cbc:Note><cbc:Note> </cbc:Note><cbc:Note>second  one</cbc:Note>";
    let contract = "<cac:ContractDocumentReference>";
    let all = [notes, order, &before("R-1"), &before("R-2"), contract].concat();
    let read = |text: &str| {
        let text = INVOICE.replacen(contract, text, 1);
        parse_invoice("r.xml", text).map_err(|report| report.to_string()).unwrap()
    };
    let texts = |all: &[Box<str>]| all.join(", ");
    let one = read(&all);
    assert_eq!((one.quote.as_deref(), one.is_noted), (Some("Q-2026-7"), false));
    assert_eq!(texts(&one.references), "PO-1, S-1, first, second one");
    assert_eq!((one.preceding.as_deref(), &*texts(&one.other_preceding)), (Some("R-1"), "R-2"));
    // One that is no line refuses no file, as it is not needed.
    let spoiled = ["<cbc:Note>\u{92}</cbc:Note>", &before("R-1"), &before("\u{92}"), contract].concat();
    let one = read(&spoiled);
    assert_eq!((one.quote.as_deref(), one.references.len()), (Some("Q-2026-7"), 0));
    assert_eq!((one.preceding.as_deref(), one.other_preceding.len()), (Some("R-1"), 0));
    let one = read(contract);
    assert_eq!((one.preceding, one.references.len(), one.other_preceding.len()), (None, 0, 0));
}

/// Both lists of codes: BR-CL-01 of EN 16931, which has 81 in both; it is a credit note (UNTDID 1001).
#[test]
fn what_only_looks_like_an_invoice_is_none() {
    let of_type = |code: &str| {
        let line = format!("<cbc:InvoiceTypeCode>{code}</cbc:InvoiceTypeCode>\n<cbc:DocumentCurrencyCode>");
        parse_invoice("r", INVOICE.replacen("<cbc:DocumentCurrencyCode>", &line, 1))
    };
    for code in ["380", " 380 ", "326", "383", "384", "386", "389"] {
        assert!(of_type(code).is_ok(), "{code}");
    }
    let told = refused(of_type("325"));
    assert_eq!(
        told.trim_end(),
        "r:3:22: error[not_an_invoice]: found `325`, expected an invoice; one that is pro forma (325) asks for nothing"
    );
    for code in ["81", "381", " 381 ", "396", "532"] {
        assert!(refused(of_type(code)).contains("a credit note (UNTDID 1001)"), "{code}");
    }
}

/// XML Schema part 2: spaces around days, decimals and truth values are no part of them.
#[test]
fn spaces_around_figures_do_not_count() {
    let spaced =
        [">2026-07-20<", ">2026-08-03<", ">false<", ">10<", ">60<", ">107.10<", ">19.00<", ">17.10<"];
    let text = spaced.iter().fold(INVOICE.to_owned(), |text, value| {
        assert!(text.contains(value), "{value}");
        text.replace(value, &value.replace('>', ">\n  ").replace('<', "\t<"))
    });
    let read = |text: &str| parse_invoice("r.xml", text).map_err(|report| report.to_string()).unwrap();
    let (spaced, plain) = (read(&text), read(INVOICE));
    assert_eq!((spaced.issued, spaced.due), (plain.issued, plain.due));
    assert_eq!((spaced.vat, spaced.payable_minor), (plain.vat, plain.payable_minor));
    let told = refused(parse_invoice("r", INVOICE.replacen(">19.00<", "> . <", 1)));
    assert!(told.contains("error[not_a_number]: found ` . `, expected a percentage"), "{told}");
}

#[test]
fn every_sum_is_held_against_its_parts() {
    let check = |from: &str, to: &str, expect: &[&str]| {
        assert!(INVOICE.contains(from), "{from}");
        let told = refused(parse_invoice("r", INVOICE.replacen(from, to, 1)));
        let rules: Vec<&str> = expect.iter().copied().filter(|rule| told.contains(rule)).collect();
        assert_eq!(rules, expect, "{told}");
        assert_eq!(told.lines().count(), expect.len(), "{told}");
    };
    check(">60<", ">61<", &["BR-CO-10"]);
    check(">10<", ">11<", &["BR-CO-11"]);
    check(
        "<cbc:AllowanceTotalAmount",
        "<cbc:ChargeTotalAmount currencyID=\"EUR\">1</cbc:ChargeTotalAmount><cbc:AllowanceTotalAmount",
        &["BR-CO-12", "BR-CO-13"],
    );
    check(">17.10<", ">17.11<", &["BR-CO-14"]);
    check(
        "TaxInclusiveAmount currencyID=\"EUR\">107.10",
        "TaxInclusiveAmount currencyID=\"EUR\">107.11",
        &["BR-CO-15", "BR-CO-16"],
    );
    check("PayableAmount currencyID=\"EUR\">107.10", "PayableAmount currencyID=\"EUR\">107", &["BR-CO-16"]);
    let total = "<cac:TaxTotal><cbc:TaxAmount currencyID=\"EUR\"";
    check(total, &total.replace("EUR", "CZK"), &["expected EUR"]);
    check(">40<", ">40.005<", &["too_many_decimals"]);
    check("<cbc:ID>R-17</cbc:ID>", "", &["expected ID in Invoice"]);
    check(">DE<", ">EL<", &["unknown_country"]);
}

#[test]
fn vat_in_the_currency_that_it_is_accounted_for_in_is_read() {
    let read = |code: &str, total: &str| {
        let text = INVOICE.replacen(
            "<cac:AccountingSupplierParty>",
            &format!("{code}<cac:AccountingSupplierParty>"),
            1,
        );
        parse_invoice(
            "r",
            text.replacen("<cac:LegalMonetaryTotal>", &format!("{total}<cac:LegalMonetaryTotal>"), 1),
        )
    };
    let said = |code: &str, total: &str| {
        let read = read(code, total).map_err(|report| report.to_string()).unwrap();
        assert_eq!((read.vat.len(), read.vat[0].tax_minor, read.gross_minor), (1, 1_710, 10_710));
        read.accounting_vat.map(|vat| (vat.currency.to_string(), vat.minor))
    };
    let code = |code: &str| format!("<cbc:TaxCurrencyCode>{code}</cbc:TaxCurrencyCode>");
    let total = r#"<cac:TaxTotal><cbc:TaxAmount currencyID="CZK">415.53</cbc:TaxAmount></cac:TaxTotal>"#;
    assert_eq!(said(&code("CZK"), total), Some(("CZK".to_owned(), 41_553)));
    // The invoice's own is said already, and an amount without its currency says nothing.
    assert_eq!(said(&code("EUR"), ""), None);
    assert_eq!(said("", total), None);
    let check = |code: &str, total: &str, expect: &str| {
        let told = refused(read(code, total));
        assert!(told.contains(expect) && told.lines().count() == 1, "{told}");
    };
    check(&code("PLN"), total, "BR-53");
    check(&code("CZK"), "", "BR-53");
    check(&code("XX"), total, "unknown_currency");
    check(&code("CZK"), &total.replace("415.53", "415,53"), "not_a_number");
}
