//! The trade: zones, extras, partners and their agreements, VAT and currency rates.

use evenfare_engine::category::{Category, Work};
use evenfare_engine::country::Country;
use evenfare_engine::language::Language;
use evenfare_engine::money::ReferenceRate;
use evenfare_engine::period::Span;
use evenfare_engine::tariff::{
    AgreementRow, CourierRateRow, CreditRow, CurrencyRateRow, DiscountRow, ExtraRow, PartnerRow, UnderFloor,
    VatRateRow, ZoneRow,
};
use evenfare_engine::text::Text;

use super::figures::{Coins, named, numbered, percent, text};
use super::rules::CURRENCIES;
use super::{code, day, kind};
use crate::tape::Tape;

/// Countries with a courier zone; the last has no VAT rate.
pub const COUNTRIES: [&str; 8] = ["DE", "AT", "FR", "IT", "CH", "GB", "NO", "US"];

/// An identifier that nobody has, with check digits that hold. For Britain `other` is that of
/// Northern Ireland; for Switzerland it is none.
pub fn vat_id(country: Country, other: bool) -> Option<Text> {
    let found = match country.as_str() {
        "DE" => "DE999900008",
        "AT" => "ATU99990000",
        "FR" => "FR50999900004",
        "IT" => "IT99990000012",
        "CH" if !other => "CHE999900012",
        "GB" if other => "XI999900057",
        "GB" => "GB999900057",
        _ => return None,
    };
    Some(text(found))
}

pub fn zones(tape: &Tape, coins: Coins) -> (Vec<ZoneRow>, Vec<CourierRateRow>) {
    let mut draw = tape.draw(kind::ZONES, 0);
    let names = ["Near", "Far", "Beyond"];
    let zone = |name: &str, country: &str, prefix: &str| ZoneRow {
        zone: code(name),
        country: country.parse().unwrap(),
        postcode_prefix: text(prefix),
    };
    let mut zones: Vec<ZoneRow> =
        COUNTRIES.iter().map(|country| zone(*draw.pick(&names), country, "")).collect();
    for prefix in ["1", "10", "9"] {
        if draw.chance(40) {
            zones.push(zone(*draw.pick(&names), "DE", prefix));
        }
    }
    let mut rates = Vec::new();
    for (number, name) in names.iter().enumerate() {
        let mut draw = tape.draw(kind::ZONES, 1 + number);
        for grams in [500, 5_000, 31_500, 250_000, 1_000_000_000] {
            if grams == 1_000_000_000 || draw.chance(60) {
                let up_to_kg = evenfare_engine::money::Quantity::from_scaled(grams).unwrap();
                rates.push(CourierRateRow {
                    zone: code(name),
                    up_to_kg,
                    leg_cost: coins.unit_price(&mut draw),
                });
            }
        }
    }
    (zones, rates)
}

pub fn extras(tape: &Tape) -> Vec<ExtraRow> {
    let extra = |number: usize| {
        let mut draw = tape.draw(kind::EXTRAS, number);
        let mut categories = draw.some_of(&Category::ALL[..7], 50);
        if categories.is_empty() {
            categories.push(Category::Labour);
        }
        let code = named(&mut draw, "X", number);
        ExtraRow { code, text: numbered("Extra", number), percent: percent(&mut draw, 200), categories }
    };
    (0..tape.draw(kind::EXTRAS, 15).below(4) as usize).map(extra).collect()
}

/// As many as six, each buying from the workshop or from one before, four deep at the most.
pub fn partners(tape: &Tape) -> Vec<PartnerRow> {
    let mut partners: Vec<PartnerRow> = Vec::new();
    let mut depths: Vec<usize> = Vec::new();
    for number in 0..tape.draw(kind::PARTNERS, 15).below(7) as usize {
        let mut draw = tape.draw(kind::PARTNERS, number);
        let country = draw.pick(&COUNTRIES[..6]).parse().unwrap();
        let above = (number > 0 && draw.chance(65)).then(|| draw.below(number as u64) as usize);
        let above = above.filter(|&above| depths[above] < 4);
        depths.push(above.map_or(1, |above| depths[above] + 1));
        partners.push(PartnerRow {
            code: named(&mut draw, "PA", number),
            name: numbered("Partner", number),
            street: text("1 Weir Lane"),
            postcode: text("1010"),
            city: text("Eastbrook"),
            country,
            vat_id: vat_id(country, draw.chance(30)),
            buys_from: above.map(|above| partners[above].code.clone()),
            language: draw.chance(30).then(|| *draw.pick(Language::ALL)),
        });
    }
    partners
}

type Agreed = (Vec<AgreementRow>, Vec<DiscountRow>, Vec<CreditRow>);

/// One agreement with each partner, or two that follow one another; hardly ever none.
pub fn agreements(tape: &Tape, coins: Coins, partners: &[PartnerRow]) -> Agreed {
    let mut rows = Vec::new();
    for (number, partner) in partners.iter().enumerate() {
        let mut draw = tape.draw(kind::AGREEMENTS, number);
        let (from, change) = (day(2025, 6, 1), day(2026, 6, 30));
        let spans = match draw.below(20) {
            0..14 => vec![Span { from, until: None }],
            14..19 => vec![Span { from, until: Some(change) }, Span { from: day(2026, 7, 1), until: None }],
            _ => vec![],
        };
        let refuses = draw.chance(35);
        for (nth, span) in spans.into_iter().enumerate() {
            let under_floor = if refuses { UnderFloor::Refuse } else { UnderFloor::Scale };
            let code = named(&mut draw, "AG", number * 2 + nth);
            rows.push(AgreementRow { code, partner: partner.code.clone(), span, under_floor });
        }
    }
    let mut discounts = Vec::new();
    let mut credits = Vec::new();
    for (number, row) in rows.iter().enumerate() {
        let mut draw = tape.draw(kind::DISCOUNTS, number);
        if draw.chance(25)
            && let Some(before) = number.checked_sub(1).map(|before| rows[before].code.clone())
        {
            // The same terms as the agreement before, so that shares are equal to the last unit.
            let same = discounts.iter().filter(|discount: &&DiscountRow| discount.agreement == before);
            let same = same.map(|discount| DiscountRow { agreement: row.code.clone(), ..discount.clone() });
            discounts.extend(same.collect::<Vec<_>>());
            continue;
        }
        let most = *draw.pick(&[25, 10, 40, 100]);
        for category in Category::ALL {
            if draw.chance(65) {
                let percent = percent(&mut draw, most);
                discounts.push(DiscountRow { agreement: row.code.clone(), category: *category, percent });
            }
        }
        let mut draw = tape.draw(kind::CREDITS, number);
        for work in Work::ALL {
            if draw.chance(45) {
                let amount = coins.whole_minor(&mut draw);
                credits.push(CreditRow { agreement: row.code.clone(), work: *work, amount });
            }
        }
    }
    (rows, discounts, credits)
}

/// A rate for every country but the last, some of them zero, some changing on a day, few ending on one.
pub fn vat_rates(tape: &Tape) -> Vec<VatRateRow> {
    let mut rates = Vec::new();
    for (number, country) in COUNTRIES.iter().enumerate().take(7) {
        let mut draw = tape.draw(kind::VAT, number);
        let country: Country = country.parse().unwrap();
        let changes =
            draw.chance(30).then(|| day(2026, draw.within(1, 12) as u32, draw.within(1, 28) as u32));
        let mut row = |from, until| {
            let percent = if draw.chance(90) { percent(&mut draw, 27) } else { percent(&mut draw, 100) };
            rates.push(VatRateRow { country, span: Span { from, until }, percent });
        };
        row(day(2020, 1, 1), changes);
        let ends = draw_ends(tape, number);
        if let Some(last) = changes.filter(|_| !ends) {
            row(last.succ_opt().unwrap(), None);
        }
    }
    rates
}

fn draw_ends(tape: &Tape, number: usize) -> bool {
    tape.draw(kind::VAT, 8 + number).chance(2)
}

/// Rates of every currency before the edition begins, and some in its course.
pub fn currency_rates(tape: &Tape) -> Vec<CurrencyRateRow> {
    let mut rates = Vec::new();
    for (number, currency) in CURRENCIES.iter().enumerate().skip(1) {
        let mut draw = tape.draw(kind::CURRENCIES, number);
        let usual = [1_000_000, 950_000, 170_000_000, 340_000, 860_000, 30_000][number];
        for date in [day(2025, 12, 30), day(2026, 4, 1), day(2026, 9, 30)] {
            let scaled = if draw.chance(3) {
                *draw.pick(&[1, 7, 1_000_000_000_000])
            } else {
                draw.within(usual / 2, usual * 2)
            };
            if date == day(2025, 12, 30) || draw.chance(60) {
                let units_per_eur = ReferenceRate::from_scaled(scaled).unwrap();
                rates.push(CurrencyRateRow { date, currency: currency.parse().unwrap(), units_per_eur });
            }
        }
    }
    rates
}
