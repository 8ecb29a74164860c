//! Months in which all is as agreed: quotes by every kind of route, and papers and payments of every kind.

#[path = "bank.rs"]
pub mod bank;

use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::category::Work;
use evenfare_engine::money::{Cost, Currency, Gross, Net, Percent, Share, Vat};
use evenfare_engine::supply::{VatCategory, VatGroup, vat};
use evenfare_reconcile::Inputs;
use evenfare_reconcile::agreed::{Agreed, AgreedLeg, AgreedSale, AgreedShare, FamilyPart};
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{
    AccountingVat, Charge, Invoice, InvoiceKind, InvoiceVat, Payment, Place, Trader,
};
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::terms::{BonusTier, Terms};
use proptest::prelude::*;

/// What is drawn for a quote; all else follows from it. What is not said is a direct sale, with VAT at home, that is paid
/// by its invoice's number.
#[derive(Debug, Clone, Default)]
pub struct Plan {
    /// Partners on the route.
    pub partners: usize,
    pub net: i64,
    pub percents: [i64; 2],
    /// The VAT of each sale.
    pub vat: [u8; 3],
    pub style: Style,
    /// Days after the first of June.
    pub day: u64,
    pub has_credits: bool,
    pub is_billed: bool,
    pub in_dollars: bool,
    /// Partners send invoices of their own, not lists.
    pub sends_invoices: bool,
    /// What partners send an invoice of stands in their lists too.
    pub is_listed_too: bool,
    /// Was our invoice wrong at first?
    pub corrected: Corrected,
}

/// How a wrong invoice of ours was taken back before the right one was written. Credit notes name the invoice alone.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Corrected {
    #[default]
    No,
    /// It named its quote.
    OfQuote,
    /// It named nothing.
    OfNothing,
    /// By two credit notes, where it is in the currency of the books.
    InParts,
}

/// How our invoice is paid.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Style {
    #[default]
    ByInvoice,
    ByQuote,
    ByReference,
    ByAmount,
    InParts,
    InPartsByAmount,
    LessCharges,
    InABatch,
    WithOthers,
    TwinsByAmount,
    TwinsByInvoice,
}

const STYLES: [Style; 11] = [
    Style::ByInvoice,
    Style::ByQuote,
    Style::ByReference,
    Style::ByAmount,
    Style::InParts,
    Style::InPartsByAmount,
    Style::LessCharges,
    Style::InABatch,
    Style::WithOthers,
    Style::TwinsByAmount,
    Style::TwinsByInvoice,
];

/// Most are right at once.
const CORRECTED: [Corrected; 8] = [
    Corrected::No,
    Corrected::No,
    Corrected::No,
    Corrected::No,
    Corrected::No,
    Corrected::OfQuote,
    Corrected::OfNothing,
    Corrected::InParts,
];

impl Style {
    /// Does the payment name nothing?
    pub fn is_by_amount(self) -> bool {
        matches!(self, Self::ByAmount | Self::InPartsByAmount | Self::TwinsByAmount)
    }
}

pub fn plan() -> impl Strategy<Value = Plan> {
    let money = (0_usize..3, 20_000_i64..500_000, [1_i64..15, 1..15], [0_u8..5, 0..5, 0..5]);
    let rest = (
        prop::sample::select(STYLES.to_vec()),
        0_u64..50,
        any::<bool>(),
        any::<bool>(),
        prop::bool::weighted(0.2),
        any::<bool>(),
        any::<bool>(),
        prop::sample::select(CORRECTED.to_vec()),
    );
    (money, rest).prop_map(|((partners, net, percents, vat), rest)| {
        let (mut style, day, has_credits, is_billed, in_dollars, sends_invoices, is_listed_too, corrected) =
            rest;
        // Partners have many invoices and dollars come as euros, so those payments name what they are for.
        let is_of_others = style.is_by_amount() || style == Style::TwinsByInvoice;
        if is_of_others && (partners > 0 || in_dollars) || style == Style::WithOthers && in_dollars {
            style = Style::ByInvoice;
        }
        Plan {
            partners,
            net,
            percents,
            vat,
            style,
            day,
            has_credits,
            is_billed,
            in_dollars,
            sends_invoices,
            is_listed_too,
            corrected,
        }
    })
}

pub fn plans() -> impl Strategy<Value = Vec<Plan>> {
    prop::collection::vec(plan(), 1..9)
}

pub fn currency(code: &str) -> Currency {
    code.parse().unwrap()
}

pub fn day(days: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 6, 1).unwrap().checked_add_days(Days::new(days)).unwrap()
}

pub fn place(file: &str, line: usize) -> Place {
    Place { file: file.into(), line: u32::try_from(line).unwrap() }
}

fn firm(id: &str, name: String, vat_id: Option<String>) -> Arc<Firm> {
    Arc::new(Firm { id: id.into(), name: name.into(), vat_id: vat_id.map(Into::into) })
}

/// The workshop, the partners of the route, and an end customer of the quote's own.
fn chain(number: usize, partners: usize) -> Vec<Arc<Firm>> {
    let mut chain = vec![firm("workshop", "The Workshop".into(), Some("DE136695976".into()))];
    for place in 0..partners {
        // Half the partners have no VAT identifier and are known by their names.
        let id = format!("P-{}{}", place + 1, number % 2);
        let vat_id = number.is_multiple_of(2).then(|| format!("ATU1358562{place}"));
        chain.push(firm(&id, format!("Partner {id}"), vat_id));
    }
    chain.push(firm(&format!("FR{number:09}"), format!("Bakery {number}"), Some(format!("FR{number:09}"))));
    chain
}

fn percent(text: &str) -> Percent {
    text.parse().unwrap()
}

pub fn groups(kind: u8, net: i64) -> Vec<VatGroup> {
    let group = |category, rate: Option<&str>, base: i64| {
        let (rate, base) = (rate.map(percent), Net::from_minor(base).unwrap());
        VatGroup { category, rate, base, tax: rate.map_or(Vat::ZERO, |rate| vat(base, rate).unwrap()) }
    };
    match kind {
        0 => vec![group(VatCategory::S, Some("19"), net)],
        1 => vec![group(VatCategory::AE, Some("0"), net)],
        2 => vec![group(VatCategory::O, None, net)],
        3 => vec![
            group(VatCategory::AE, Some("0"), net - net * 2 / 5),
            group(VatCategory::K, Some("0"), net * 2 / 5),
        ],
        _ => vec![group(VatCategory::S, Some("8.1"), net)],
    }
}

fn tax(groups: &[VatGroup]) -> i64 {
    groups.iter().map(|group| group.tax.minor()).sum()
}

/// What a quote of this number agreed.
pub fn agreed(plan: &Plan, number: usize) -> Agreed {
    let firms = chain(number, plan.partners);
    let removal = Share::from_minor(1_250).unwrap();
    let leg = Share::from_minor(890).unwrap();
    let mut shares = Vec::new();
    for place in 0..plan.partners {
        let first = plan.has_credits && place == 0;
        let credits = if first { vec![(Work::Removal, removal), (Work::LegIn, leg)] } else { vec![] };
        let share = plan.net * plan.percents[place] / 100 + if first { 1_250 + 890 } else { 0 };
        shares.push(AgreedShare {
            partner: firms[place + 1].id.clone(),
            share: Share::from_minor(share).unwrap(),
            agreement: Some("A-26".into()),
            credits,
            by_others: vec![("A-25".into(), Share::from_minor(share + 555).unwrap())],
        });
    }
    let mut sales = Vec::new();
    for (place, pair) in firms.windows(2).enumerate() {
        let kept: i64 = shares[place..].iter().map(|share| share.share.minor()).sum();
        let net = plan.net - kept;
        let vat = groups(plan.vat[place], net);
        let gross = Gross::from_minor(net + tax(&vat)).unwrap();
        let (seller, buyer) = (pair[0].clone(), pair[1].clone());
        sales.push(AgreedSale { seller, buyer, net: Net::from_minor(net).unwrap(), vat, gross });
    }
    let carried = plan.has_credits && plan.partners > 0;
    let leg_cost = Cost::from_minor(3_900).unwrap();
    let invoice_by = day(plan.day);
    Agreed {
        number: format!("Q-2026-{number:04}").into(),
        revision: 1,
        offer: "main".into(),
        agreed_on: invoice_by.pred_opt().unwrap(),
        accepted: invoice_by.pred_opt().unwrap(),
        invoice_by,
        reversed: None,
        currency: currency(if plan.in_dollars { "USD" } else { "EUR" }),
        shares,
        cost: Cost::from_minor(plan.net / 3).unwrap(),
        leg_in: AgreedLeg { cost: if carried { Cost::ZERO } else { leg_cost }, carried_by_partner: carried },
        leg_out: AgreedLeg { cost: leg_cost, carried_by_partner: false },
        families: families(
            number,
            sales.last().unwrap().net,
            sales[0].net,
            Cost::from_minor(plan.net / 3).unwrap(),
        ),
        sales,
    }
}

fn trader(firm: &Firm) -> Trader {
    Trader { name: firm.name.clone(), vat_id: firm.vat_id.clone(), country: None }
}

/// Of one family, or a third of one and the rest of another.
fn families(number: usize, end_net: Net, workshop_net: Net, cost: Cost) -> Vec<FamilyPart> {
    if !number.is_multiple_of(3) {
        return vec![FamilyPart { family: "MIXER".into(), end_net, workshop_net, cost }];
    }
    let part = |family: &str, of: fn(i64) -> i64| FamilyPart {
        family: family.into(),
        end_net: Net::from_minor(of(end_net.minor())).unwrap(),
        workshop_net: Net::from_minor(of(workshop_net.minor())).unwrap(),
        cost: Cost::from_minor(of(cost.minor())).unwrap(),
    };
    vec![part("MIXER", |minor| minor - minor / 3), part("OVEN", |minor| minor / 3)]
}

/// Our number for the invoice of a quote.
pub fn invoice_number(number: usize) -> String {
    format!("R-2026-{number:05}")
}

/// The invoice of a sale, with this net and VAT.
pub fn invoice(agreed: &Agreed, number: usize, sale: usize, groups: &[VatGroup], net: i64) -> Invoice {
    let of = &agreed.sales[sale];
    let ours = sale == 0;
    let own = invoice_number(number);
    let gross_minor = net + tax(groups);
    // In dollars, half of them say their VAT in euros too, by another day's rate than that of the books.
    let says_vat = agreed.currency != currency("EUR") && number.is_multiple_of(2);
    let accounting_vat =
        says_vat.then(|| AccountingVat { currency: currency("EUR"), minor: tax(groups) * 10_000 / 11_215 });
    let vat = groups.iter().map(|group| InvoiceVat {
        category: Some(group.category),
        code: group.category.code().into(),
        rate: group.rate,
        base_minor: group.base.minor(),
        tax_minor: group.tax.minor(),
    });
    Invoice {
        place: place(if ours { "ours.xml" } else { "theirs.xml" }, number + 1),
        kind: InvoiceKind::Invoice,
        number: if ours { own.into() } else { format!("{}/{own}", of.seller.id).into() },
        issued: agreed.invoice_by,
        due: agreed.invoice_by.checked_add_days(Days::new(14)),
        currency: agreed.currency,
        quote: Some(agreed.number.to_lowercase().into()),
        is_noted: false,
        references: Box::default(),
        preceding: None,
        other_preceding: Box::default(),
        payment_reference: None,
        seller: trader(&of.seller).into(),
        buyer: trader(&of.buyer).into(),
        net_minor: net,
        vat: vat.collect(),
        accounting_vat,
        gross_minor,
        rounding_minor: 0,
        payable_minor: gross_minor,
    }
}

/// The line of a partner's list for a sale.
pub fn charge(agreed: &Agreed, number: usize, sale: usize, groups: &[VatGroup], net: i64) -> Charge {
    let partner = &agreed.sales[sale].seller.id;
    Charge {
        place: place("charges.csv", number + 1),
        partner: partner.parse().unwrap(),
        quote: agreed.number.replace('-', " ").into(),
        invoice: format!("{}", 7_000 + number).into(),
        issued: agreed.invoice_by,
        currency: agreed.currency,
        net_minor: net,
        vat_minor: tax(groups),
    }
}

/// A payment that came in, from whom and with what words.
pub fn payment(minor: i64, from: &Firm, words: &str) -> Payment {
    Payment {
        place: place("camt.xml", 1),
        minor,
        instructed: None,
        charges_minor: 0,
        end_to_end: None,
        structured: Vec::new(),
        remittance: words.into(),
        party: Some(from.name.as_ref().into()),
        party_account: None,
    }
}

/// The workshop's rules, and nothing else.
pub fn empty() -> Inputs {
    let tier = |from_minor, percent: &str| BonusTier {
        place: Place { file: "bonuses.csv".into(), line: 2 },
        partner: "P-10".into(),
        year: 2026,
        from_minor,
        percent: percent.parse().unwrap(),
    };
    let mut inputs = Inputs::new(Terms {
        currency: currency("EUR"),
        until: NaiveDate::from_ymd_opt(2026, 8, 31).unwrap(),
        rounding_minor: 2,
        currency_percent: percent("1"),
        payment_days: 30,
        reporting: ["P-10", "P-11", "P-20", "P-21"]
            .into_iter()
            .map(|code| (code.into(), Place { file: "books.toml".into(), line: 5 }))
            .collect(),
        accounts: Vec::new(),
        bonuses: vec![tier(100_000, "1.5"), tier(500_000, "2.25")],
    });
    inputs.partners = inputs.terms.reporting.keys().cloned().collect();
    // European Central Bank, euro foreign exchange reference rates of 30 October 2026, dated back; but for the yen's. They are
    // renewed every week and stay as they are.
    let rates = [("USD", "1.1172"), ("GBP", "0.8338"), ("CHF", "0.9194"), ("JPY", "181.35")];
    let weeks = || NaiveDate::from_ymd_opt(2026, 5, 2).unwrap().iter_weeks().take(52);
    inputs.rates = Rates::new(
        rates
            .into_iter()
            .flat_map(|(code, rate)| weeks().map(move |on| (on, currency(code), rate.parse().unwrap()))),
    );
    inputs
}
