//! Invoices and credit notes: EN 16931 in the notation of UBL 2.1.

use std::sync::Arc;

use evenfare_engine::country::Country;
use evenfare_engine::money::{Currency, Percent};
use evenfare_engine::supply::VatCategory;
use evenfare_engine::vat::identifier::comparable;
use evenfare_reconcile::input::{AccountingVat, Invoice, InvoiceKind, InvoiceVat, Trader};

use crate::books::figure::{amount, begin, currency, date, need, need_line, place, plain, said, shown};
use crate::log::Log;
use crate::xml_tree::{Element, Root, parse_each, trimmed};

/// What is read.
const ROOTS: [Root<'static>; 2] = [
    ("Invoice", "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2"),
    ("CreditNote", "urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2"),
];

/// Where an invoice names what it is for, the likeliest first. EN 16931 has each once at most (UBL-SR-01), but notes and
/// invoices before it (BG-1, BG-3) as many as there are.
const QUOTE: [&[&str]; 4] = [
    &["ContractDocumentReference", "ID"],
    &["OrderReference", "ID"],
    &["OrderReference", "SalesOrderID"],
    &["ProjectReference", "ID"],
];

/// What an `Invoice` may call itself and is none (UNTDID 1001): a pro forma invoice asks for nothing, and in UBL a credit
/// note is a `CreditNote`.
const NO_INVOICES: [(&[&str], &str); 2] = [
    (&["325"], "an invoice; one that is pro forma (325) asks for nothing"),
    (
        &["81", "83", "261", "262", "296", "308", "381", "396", "420", "458", "502", "503", "532"],
        "the code of an invoice; a credit note (UNTDID 1001) is a CreditNote in UBL",
    ),
];

/// Reads one invoice or credit note; what is wrong is in the log.
pub(super) fn parse(text: &str, log: &mut Log) -> Option<Invoice> {
    let root = parse_each(text, &ROOTS, log, |_, element, _| Some(element))?;
    let is_invoice = root.name == "Invoice";
    check_type(&root, log);
    let number = need_line(&root, &["ID"], log);
    let issued = need(&root, &["IssueDate"], log).and_then(|day| date(day, log));
    let due = root.first("DueDate").or_else(|| root.at(&["PaymentMeans", "PaymentDueDate"]));
    let due = due.map(|day| date(day, log));
    let seller = trader(&root, "AccountingSupplierParty", log);
    let buyer = trader(&root, "AccountingCustomerParty", log);
    let code = need(&root, &["DocumentCurrencyCode"], log);
    let currency = code.and_then(|code| currency(&code.text, code.text_bytes.clone(), log))?;
    let sums = Sums { root: &root, currency };
    let totals = sums.totals(if is_invoice { "InvoiceLine" } else { "CreditNoteLine" }, log);
    let accounting_vat = sums.accounting_vat(log);
    // What is no more than looked at besides refuses no file.
    let (mut quote, mut references): (Option<Box<str>>, Vec<Box<str>>) = (None, Vec::new());
    for path in QUOTE {
        match quote {
            None => quote = said(&root, path, log),
            Some(_) => references.extend(root.at(path).and_then(plain)),
        }
    }
    let is_noted = quote.is_none();
    if is_noted {
        quote = said(&root, &["Note"], log);
    }
    references.extend(root.all("Note").skip(usize::from(is_noted)).filter_map(plain));
    let before = ["InvoiceDocumentReference", "ID"];
    let preceding = root.first("BillingReference").and_then(|first| said(first, &before, log));
    let others = root.all("BillingReference").skip(1);
    let mut others = others.filter_map(|other| other.at(&before).and_then(plain));
    let preceding = preceding.or_else(|| others.next());
    let Totals { net, vat, gross, rounding, payable } = totals?;
    Some(Invoice {
        place: place(root.bytes.start, log),
        kind: if is_invoice { InvoiceKind::Invoice } else { InvoiceKind::CreditNote },
        number: number?,
        issued: issued?,
        due: match due {
            Some(due) => Some(due?),
            None => None,
        },
        currency,
        is_noted: is_noted && quote.is_some(),
        quote,
        references: references.into(),
        preceding,
        other_preceding: others.collect(),
        payment_reference: said(&root, &["PaymentMeans", "PaymentID"], log),
        seller: seller?.into(),
        buyer: buyer?.into(),
        net_minor: net,
        vat,
        accounting_vat: accounting_vat?,
        gross_minor: gross,
        rounding_minor: rounding,
        payable_minor: payable,
    })
}

/// Reports what calls itself an invoice and is none.
fn check_type(root: &Element<'_>, log: &mut Log) {
    let Some(code) = root.first("InvoiceTypeCode") else { return };
    let told = NO_INVOICES.iter().find(|(codes, _)| codes.contains(&trimmed(&code.text)));
    if let Some((_, expected)) = told {
        log.error(code.text_bytes.clone(), "not_an_invoice", &code.text, *expected);
    }
}

fn trader(root: &Element<'_>, role: &str, log: &mut Log) -> Option<Trader> {
    let party = need(root, &[role, "Party"], log)?;
    let legal = said(party, &["PartyLegalEntity", "RegistrationName"], log);
    let name = legal.or_else(|| said(party, &["PartyName", "Name"], log)).or_else(|| {
        need(party, &["PartyLegalEntity", "RegistrationName"], log);
        None
    });
    let mut schemes = party.all("PartyTaxScheme");
    let vat = schemes.find(|scheme| scheme.at(&["TaxScheme", "ID"]).is_some_and(|id| id.text == "VAT"));
    let vat_id = vat.and_then(|scheme| said(scheme, &["CompanyID"], log));
    // As quotes have it: without `MWST` or `MVA`, which law has Swiss and Norwegian sellers write behind it.
    let vat_id = vat_id.and_then(|id| comparable(&id)).map(Arc::from);
    let country = match party.at(&["PostalAddress", "Country", "IdentificationCode"]) {
        Some(code) => Some(country(code, log)?),
        None => None,
    };
    Some(Trader { name: name?.into(), vat_id, country })
}

fn country(code: &Element<'_>, log: &mut Log) -> Option<Country> {
    let country = code.text.parse().ok();
    if country.is_none() {
        let expected = "a country by its two capital letters such as DE";
        log.error(code.text_bytes.clone(), "unknown_country", &code.text, expected);
    }
    country
}

/// What an invoice comes to.
struct Totals {
    net: i64,
    vat: Vec<InvoiceVat>,
    gross: i64,
    rounding: i64,
    payable: i64,
}

/// The figures of an invoice, each sum held against its parts.
struct Sums<'e, 'a> {
    root: &'e Element<'a>,
    currency: Currency,
}

impl Sums<'_, '_> {
    fn need(&self, element: &Element<'_>, name: &str, log: &mut Log) -> Option<i64> {
        amount(need(element, &[name], log)?, "currencyID", self.currency, log)
    }

    /// The amount of that name, nothing where it is not said.
    fn or_none(&self, element: &Element<'_>, name: &str, log: &mut Log) -> Option<i64> {
        element.first(name).map_or(Some(0), |found| amount(found, "currencyID", self.currency, log))
    }

    /// Reports a total that is not what its parts come to.
    fn hold(
        &self,
        (element, name): (&Element<'_>, &str),
        total: i64,
        parts: i128,
        says: &str,
        log: &mut Log,
    ) {
        if i128::from(total) != parts {
            let at = element.first(name).map_or_else(|| begin(element), |found| found.text_bytes.clone());
            let expected = format!("{}: {says}", shown(parts, self.currency));
            log.error(at, "sums_differ", &shown(i128::from(total), self.currency), expected);
        }
    }

    fn totals(&self, lines: &str, log: &mut Log) -> Option<Totals> {
        let before = log.errors();
        let total = need(self.root, &["LegalMonetaryTotal"], log);
        let vat = self.vat(log);
        let mut of_lines = Some(0_i128);
        for line in self.root.all(lines) {
            of_lines = plus(of_lines, self.need(line, "LineExtensionAmount", log));
        }
        let (mut charged, mut allowed) = (Some(0_i128), Some(0_i128));
        for row in self.root.all("AllowanceCharge") {
            let sum = match trimmed(&need(row, &["ChargeIndicator"], log)?.text) {
                "true" | "1" => &mut charged,
                _ => &mut allowed,
            };
            *sum = plus(*sum, self.need(row, "Amount", log));
        }
        let total = total?;
        let line_sum = self.need(total, "LineExtensionAmount", log);
        let allowance = self.or_none(total, "AllowanceTotalAmount", log);
        let charge = self.or_none(total, "ChargeTotalAmount", log);
        let net = self.need(total, "TaxExclusiveAmount", log);
        let gross = self.need(total, "TaxInclusiveAmount", log);
        let prepaid = self.or_none(total, "PrepaidAmount", log);
        let rounding = self.or_none(total, "PayableRoundingAmount", log);
        let payable = self.need(total, "PayableAmount", log);
        let (vat, tax, bases) = vat?;
        if log.errors() > before {
            // What a sum lacks is told already.
            return None;
        }
        let (line_sum, allowance, charge, net) = (line_sum?, allowance?, charge?, net?);
        let (gross, rounding, payable) = (gross?, rounding?, payable?);
        let wide = i128::from;
        let hold =
            |name, figure, parts, says, log: &mut Log| self.hold((total, name), figure, parts, says, log);
        hold("LineExtensionAmount", line_sum, of_lines?, "the sum of the lines (BR-CO-10)", log);
        hold("AllowanceTotalAmount", allowance, allowed?, "the sum of the allowances (BR-CO-11)", log);
        hold("ChargeTotalAmount", charge, charged?, "the sum of the charges (BR-CO-12)", log);
        let parts = wide(line_sum).saturating_sub(wide(allowance)).saturating_add(wide(charge));
        hold("TaxExclusiveAmount", net, parts, "lines, less allowances, and charges (BR-CO-13)", log);
        hold("TaxExclusiveAmount", net, bases, "what VAT is charged on, all groups together", log);
        let parts = wide(net).saturating_add(tax);
        hold("TaxInclusiveAmount", gross, parts, "without VAT, and the VAT (BR-CO-15)", log);
        let parts = wide(gross).saturating_sub(wide(prepaid?)).saturating_add(wide(rounding));
        hold("PayableAmount", payable, parts, "with VAT, less what was paid, and rounding (BR-CO-16)", log);
        (log.errors() == before).then_some(Totals { net, vat, gross, rounding, payable })
    }

    /// The groups, with the VAT and what it is charged on, of all together.
    fn vat(&self, log: &mut Log) -> Option<(Vec<InvoiceVat>, i128, i128)> {
        // A second total is the VAT in the currency of the seller's books, without groups.
        let is_own = |total: &&Element<'_>| {
            let code = total.first("TaxAmount").and_then(|tax| tax.attribute("currencyID"));
            code.is_none_or(|code| code == self.currency.code())
        };
        // Where none is in the invoice's currency, that is reported of the first.
        let total = match self.root.all("TaxTotal").find(is_own) {
            Some(total) => total,
            None => need(self.root, &["TaxTotal"], log)?,
        };
        let tax = self.need(total, "TaxAmount", log);
        let (mut groups, mut taxes, mut bases) = (Vec::new(), Some(0), Some(0));
        for group in total.all("TaxSubtotal") {
            let read = self.group(group, log);
            bases = plus(bases, read.as_ref().map(|read| read.base_minor));
            taxes = plus(taxes, read.as_ref().map(|read| read.tax_minor));
            groups.extend(read);
        }
        let (tax, taxes) = (tax?, taxes?);
        self.hold((total, "TaxAmount"), tax, taxes, "the VAT of all groups (BR-CO-14)", log);
        Some((groups, i128::from(tax), bases?))
    }

    /// All VAT in the currency that it is accounted for in: the inner `None` where that is the invoice's own, the outer
    /// `None` where what is said cannot be read.
    fn accounting_vat(&self, log: &mut Log) -> Option<Option<AccountingVat>> {
        let Some(code) = self.root.first("TaxCurrencyCode") else { return Some(None) };
        let accounting = currency(&code.text, code.text_bytes.clone(), log)?;
        if accounting == self.currency {
            return Some(None);
        }
        let totals = self.root.all("TaxTotal").filter_map(|total| total.first("TaxAmount"));
        let in_it = |tax: &&Element<'_>| tax.attribute("currencyID") == Some(accounting.code());
        let Some(tax) = totals.into_iter().find(in_it) else {
            let expected = format!("VAT in {accounting} besides: a TaxTotal with a TaxAmount (BR-53)");
            log.error(begin(self.root), "missing_key", "", expected);
            return None;
        };
        let minor = amount(tax, "currencyID", accounting, log)?;
        Some(Some(AccountingVat { currency: accounting, minor }))
    }

    fn group(&self, group: &Element<'_>, log: &mut Log) -> Option<InvoiceVat> {
        let base_minor = self.need(group, "TaxableAmount", log);
        let tax_minor = self.need(group, "TaxAmount", log);
        let code = need_line(group, &["TaxCategory", "ID"], log);
        let rate = match group.at(&["TaxCategory", "Percent"]) {
            Some(rate) => Some(percent(rate, log)?),
            None => None,
        };
        let code = code?;
        Some(InvoiceVat {
            category: category(&code),
            code: code.into(),
            rate,
            base_minor: base_minor?,
            tax_minor: tax_minor?,
        })
    }
}

fn plus(sum: Option<i128>, part: Option<i64>) -> Option<i128> {
    sum?.checked_add(i128::from(part?))
}

fn percent(element: &Element<'_>, log: &mut Log) -> Option<Percent> {
    let rate = trimmed(&element.text).trim_end_matches('.').parse().ok();
    if rate.is_none() {
        let expected = "a percentage from 0 to 1000 with at most 4 decimals";
        log.error(element.text_bytes.clone(), "not_a_number", &element.text, expected);
    }
    rate
}

fn category(code: &str) -> Option<VatCategory> {
    let all = [VatCategory::S, VatCategory::AE, VatCategory::K, VatCategory::G, VatCategory::O];
    all.into_iter().find(|category| category.code() == code)
}
