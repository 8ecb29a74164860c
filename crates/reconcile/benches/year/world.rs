//! A year made up: quotes, papers and payments, some of them wrong.

use std::collections::HashMap;
use std::sync::Arc;

use chrono::{Days, NaiveDate};
use evenfare_engine::money::{Cost, Currency, Gross, Net, Percent, Share};
use evenfare_engine::supply::{VatCategory, VatGroup, vat};
use evenfare_reconcile::Inputs;
use evenfare_reconcile::agreed::{Agreed, AgreedLeg, AgreedSale, AgreedShare, FamilyPart};
use evenfare_reconcile::firm::Firm;
use evenfare_reconcile::input::{
    Balance, Batch, Invoice, InvoiceKind, InvoiceVat, Payment, Place, Statement, Status, Trader,
};
use evenfare_reconcile::rates::Rates;
use evenfare_reconcile::reference::creditor_reference;
use evenfare_reconcile::terms::{BonusTier, Terms};

/// Partners of the workshop.
const PARTNERS: usize = 200;
/// Quotes of an end customer in a year.
const QUOTES_A_CUSTOMER: usize = 8;
/// One invoice in this many is wrong by a euro, and one in this many is not paid.
pub const WRONG: usize = 1_000;

fn firm(id: String, name: String, vat_id: String) -> Arc<Firm> {
    Arc::new(Firm { id: id.into(), name: name.into(), vat_id: Some(vat_id.into()) })
}

struct World {
    eur: Currency,
    file: Arc<str>,
    workshop: Arc<Firm>,
    partners: Vec<Arc<Firm>>,
    customers: Vec<Arc<Firm>>,
    traders: HashMap<Arc<Firm>, Arc<Trader>>,
    families: [Arc<str>; 5],
    main: Arc<str>,
    agreement: Arc<str>,
    standard: (Arc<str>, Percent),
    seed: u64,
}

impl World {
    fn draw(&mut self, below: u64) -> u64 {
        self.seed = self.seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.seed >> 33) % below
    }

    fn place(&self, line: usize) -> Place {
        Place { file: self.file.clone(), line: u32::try_from(line).unwrap() }
    }

    fn sale(&self, seller: &Arc<Firm>, buyer: &Arc<Firm>, net: i64) -> AgreedSale {
        let (net, rate) = (Net::from_minor(net).unwrap(), "19".parse().unwrap());
        let tax = vat(net, rate).unwrap();
        AgreedSale {
            seller: seller.clone(),
            buyer: buyer.clone(),
            net,
            vat: vec![VatGroup { category: VatCategory::S, rate: Some(rate), base: net, tax }],
            gross: Gross::from_minor(net.minor() + tax.minor()).unwrap(),
        }
    }

    fn agreed(&mut self, number: usize) -> Agreed {
        let customer = self.customers[number / QUOTES_A_CUSTOMER].clone();
        let net = i64::try_from(self.draw(400_000)).unwrap() + 30_000;
        let quoted = day(u64::try_from(number * 330).unwrap()
            / u64::try_from(self.customers.len() * QUOTES_A_CUSTOMER).unwrap());
        let mut shares = Vec::new();
        let mut sales = Vec::with_capacity(if number.is_multiple_of(3) { 1 } else { 2 });
        let mut workshop_net = net;
        // Two in three come through a partner.
        if number.is_multiple_of(3) {
            sales.push(self.sale(&self.workshop, &customer, net));
        } else {
            let drawn = usize::try_from(self.draw(200)).unwrap();
            let partner = self.partners[drawn].clone();
            let share = net / 8;
            workshop_net = net - share;
            shares = vec![AgreedShare {
                partner: partner.id.clone(),
                share: Share::from_minor(share).unwrap(),
                agreement: Some(self.agreement.clone()),
                credits: Vec::new(),
                by_others: Vec::new(),
            }];
            sales.push(self.sale(&self.workshop, &partner, net - share));
            sales.push(self.sale(&partner, &customer, net));
        }
        let cost = Cost::from_minor(net / 2).unwrap();
        let leg = AgreedLeg { cost: Cost::from_minor(2_500).unwrap(), carried_by_partner: false };
        Agreed {
            number: format!("Q-2026-{number:07}").into(),
            revision: 1,
            offer: self.main.clone(),
            agreed_on: quoted,
            accepted: quoted,
            invoice_by: quoted + Days::new(5),
            reversed: None,
            currency: self.eur,
            sales,
            shares,
            cost,
            leg_in: leg,
            leg_out: leg,
            families: vec![FamilyPart {
                family: self.families[number % 5].clone(),
                end_net: Net::from_minor(net).unwrap(),
                workshop_net: Net::from_minor(workshop_net).unwrap(),
                cost,
            }],
        }
    }

    fn trader(&mut self, firm: &Arc<Firm>) -> Arc<Trader> {
        let trader = || Trader { name: firm.name.clone(), vat_id: firm.vat_id.clone(), country: None }.into();
        self.traders.entry(firm.clone()).or_insert_with(trader).clone()
    }

    fn invoice(&mut self, agreed: &Agreed, number: usize) -> Invoice {
        let sale = &agreed.sales[0];
        let rate = "19".parse().unwrap();
        // One in this many charges a euro too much.
        let net = sale.net.minor() + if number % WRONG == 7 % WRONG { 100 } else { 0 };
        let tax = vat(Net::from_minor(net).unwrap(), rate).unwrap().minor();
        Invoice {
            place: self.place(number + 1),
            kind: InvoiceKind::Invoice,
            number: format!("R-2026-{number:07}").into(),
            issued: agreed.invoice_by,
            due: agreed.invoice_by.checked_add_days(Days::new(14)),
            currency: agreed.currency,
            quote: Some(agreed.number.clone()),
            is_noted: false,
            references: Box::default(),
            preceding: None,
            other_preceding: Box::default(),
            payment_reference: None,
            seller: self.trader(&sale.seller),
            buyer: self.trader(&sale.buyer),
            net_minor: net,
            vat: vec![InvoiceVat {
                category: Some(VatCategory::S),
                code: self.standard.0.clone(),
                rate: Some(self.standard.1),
                base_minor: net,
                tax_minor: tax,
            }],
            accounting_vat: None,
            gross_minor: net + tax,
            rounding_minor: 0,
            payable_minor: net + tax,
        }
    }

    fn payments(&mut self, agreed: &Agreed, invoice: &Invoice, number: usize) -> Vec<Payment> {
        let mut words: Box<str> = "".into();
        let mut structured = Vec::new();
        match number % 20 {
            // By nothing but who pays how much; only where the customer is the buyer.
            3 if agreed.sales.len() == 1 => words = "repair".into(),
            0..6 => words = agreed.number.clone(),
            6..9 => structured = vec![creditor_reference(&invoice.number).unwrap().into()],
            _ => words = format!("Invoice {} with thanks", invoice.number.to_lowercase()).into(),
        }
        let named = words.len() > 6 || !structured.is_empty();
        let payment = |minor| Payment {
            place: self.place(number + 1),
            minor,
            instructed: None,
            charges_minor: 0,
            end_to_end: None,
            structured: structured.clone(),
            remittance: words.clone(),
            party: Some(agreed.sales[0].buyer.name.as_ref().into()),
            party_account: None,
        };
        let gross = invoice.gross_minor;
        match number % 5 {
            // A fifth is paid in two parts, and some make up for those not paid at all.
            1 if named => vec![payment(gross / 3), payment(gross - gross / 3)],
            _ => vec![payment(gross)],
        }
    }
}

fn day(days: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 1, 1).unwrap() + Days::new(days)
}

/// All of a year of this many quotes.
pub fn inputs(quotes: usize) -> Inputs {
    let eur: Currency = "EUR".parse().unwrap();
    let customers = quotes.div_ceil(QUOTES_A_CUSTOMER);
    let mut world = World {
        eur,
        file: "2026".into(),
        workshop: firm("workshop".into(), "The Workshop".into(), "DE136695976".into()),
        partners: (0..PARTNERS)
            .map(|n| firm(format!("P-{n:03}"), format!("Partner {n:03}"), format!("ATU{n:08}")))
            .collect(),
        customers: (0..customers)
            .map(|n| firm(format!("FR{n:011}"), format!("Bakery {n:06}"), format!("FR{n:011}")))
            .collect(),
        traders: HashMap::new(),
        families: ["OVEN", "MIXER", "PROOFER", "SLICER", "DIVIDER"].map(Into::into),
        main: "main".into(),
        agreement: "A-26".into(),
        standard: ("S".into(), "19".parse().unwrap()),
        seed: 2026,
    };
    let mut agreed = Vec::with_capacity(quotes);
    let mut invoices = Vec::with_capacity(quotes);
    // A statement a day.
    let payments_a_day = quotes.div_ceil(250);
    let mut days: Vec<Vec<Batch>> = (0..366).map(|_| Vec::with_capacity(payments_a_day)).collect();
    for number in 0..quotes {
        let deal = world.agreed(number);
        let invoice = world.invoice(&deal, number);
        if number % WRONG != 11 % WRONG {
            let paid = deal.invoice_by + Days::new(world.draw(14));
            let place = usize::try_from((paid - day(0)).num_days()).unwrap();
            for payment in world.payments(&deal, &invoice, number) {
                days[place].push(Batch {
                    place: payment.place.clone(),
                    reference: None,
                    minor: payment.minor,
                    reversal: false,
                    status: Status::Booked,
                    booked: paid,
                    value: None,
                    payments: vec![payment],
                });
            }
        }
        agreed.push(deal);
        invoices.push(invoice);
    }
    let mut held = 0;
    let statements = days.into_iter().enumerate().map(|(number, mut batches)| {
        batches.shrink_to_fit();
        let opening = Balance { day: day(u64::try_from(number).unwrap()), minor: held };
        held += batches.iter().map(|batch| batch.minor).sum::<i64>();
        Statement {
            place: world.place(number + 1),
            id: format!("2026-{number:03}").into(),
            account: "DE02120300000000202051".into(),
            currency: eur,
            opening,
            closing: Balance { minor: held, ..opening },
            batches,
        }
    });
    let statements = statements.collect();
    let tier = |n: usize, from_minor, percent: &str| BonusTier {
        place: world.place(n),
        partner: world.partners[n].id.clone(),
        year: 2026,
        from_minor,
        percent: percent.parse().unwrap(),
    };
    Inputs {
        terms: Terms {
            currency: eur,
            until: day(365),
            rounding_minor: 2,
            currency_percent: "1".parse().unwrap(),
            payment_days: 30,
            reporting: std::collections::BTreeMap::new(),
            accounts: Vec::new(),
            bonuses: (0..PARTNERS)
                .flat_map(|n| [tier(n, 1_000_000, "1"), tier(n, 20_000_000, "1.5")])
                .collect(),
        },
        rates: Rates::default(),
        partners: std::collections::BTreeSet::new(),
        agreed,
        invoices,
        charges: Vec::new(),
        statements,
        courier_bills: Vec::new(),
        work_done: Vec::new(),
        decisions: Vec::new(),
        closings: Vec::new(),
        chart: evenfare_reconcile::chart::Chart::default(),
    }
}
