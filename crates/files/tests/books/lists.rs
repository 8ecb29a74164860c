//! What partners charged, and what couriers bill.

use evenfare_files::{parse_charges, parse_courier_bills};
use evenfare_reconcile::input::Leg;

use crate::refused;

const CHARGES: &str = "partner,quote,invoice,issued,currency,net,vat
P-1,Q-1,\"R 1, part\",2026-07-14,EUR,100.50,19.10
P-1,Q-1,R-2,2026-07-15,JPY,-300,0
";

#[test]
fn charges_are_read_with_either_separator() {
    let read = parse_charges("c.csv", CHARGES).unwrap();
    assert_eq!((&*read[0].invoice, read[0].net_minor, read[0].vat_minor), ("R 1, part", 10_050, 1_910));
    assert_eq!((read[1].net_minor, read[1].place.line), (-300, 3));
    let other = CHARGES.replace(", part", "; part").replace(',', ";");
    let other = parse_charges("c.csv", other).unwrap();
    assert_eq!(&*other[0].invoice, "R 1; part");
    assert_eq!((&other[1], other[0].net_minor), (&read[1], 10_050));
    // Some programs write quotes around everything.
    let quoted = |line: &str| line.split(';').map(|cell| format!("\"{cell}\"")).collect::<Vec<_>>().join(";");
    let plain = CHARGES.replace('"', "").replace(", part", " part").replace(',', ";");
    let all = plain.lines().map(quoted).collect::<Vec<_>>().join("\r\n");
    let all = parse_charges("c.csv", format!("\u{feff}# notes, many; of them\r\n{all}"));
    let all = all.map_err(|report| report.to_string()).unwrap();
    assert_eq!((&*all[0].invoice, all[0].net_minor, all[1].net_minor), ("R 1 part", 10_050, -300));
}

#[test]
fn courier_bills_are_read() {
    let text =
        "leg;courier;bill;consignment;quote;carried;currency;net\nout;Van;B-1;C-1;Q-1;2026-07-14;EUR;12.5\n";
    let read = parse_courier_bills("b.csv", text).unwrap();
    assert_eq!((read[0].leg, read[0].net_minor, &*read[0].consignment), (Leg::Out, 1_250, "C-1"));
    let told = refused(parse_courier_bills("b.csv", text.replace("out", "back")));
    assert_eq!(told.trim_end(), "b.csv:2:1: error[unknown_word]: found `back`, expected in or out");
}

/// Where a comma stands before decimals, a point stands between thousands.
#[test]
fn a_thousand_with_a_point_is_no_amount_with_decimals() {
    let with = |currency: &str, net: &str| {
        parse_charges("c.csv", CHARGES.replace("EUR,100.50", &format!("{currency},{net}")))
    };
    for (currency, net) in [("EUR", "1.250"), ("EUR", "-12.000"), ("JPY", "1.000")] {
        let told = refused(with(currency, net));
        let expect = format!("c.csv:2:36: error[too_many_decimals]: found `{net}`, ");
        assert!(told.starts_with(&expect) && told.contains(", as this may be 1"), "{told}");
    }
    for (currency, net, minor) in [
        ("EUR", "1.25", 125),
        ("EUR", "1.2500", 125),
        ("EUR", "1250.", 125_000),
        ("EUR", "0.500", 50),
        ("EUR", ".250", 25),
        ("EUR", "1250.500", 125_050),
        ("KWD", "1.250", 1_250),
    ] {
        let read = with(currency, net).map_err(|report| report.to_string()).unwrap();
        assert_eq!(read[0].net_minor, minor, "{net} {currency}");
    }
}

#[test]
fn every_mistake_of_a_list_is_told() {
    let text = CHARGES
        .replace("2026-07-14", "14.7.2026")
        .replace("-300", "-300.5")
        .replace("P-1,Q-1,R-2", ",Q-1,R-2");
    let told = refused(parse_charges("c.csv", text));
    let codes: Vec<&str> = told.lines().map(|line| line.split(": found").next().unwrap()).collect();
    let expect = [
        "c.csv:2:21: error[not_a_date]",
        "c.csv:3:1: error[empty_cell]",
        "c.csv:3:25: error[too_many_decimals]",
    ];
    assert_eq!(codes, expect);
    let told = refused(parse_charges("c.csv", CHARGES.replace(",vat", ",tax")));
    assert_eq!(told.lines().count(), 2, "{told}");
    assert!(refused(parse_charges("c.csv", "")).contains("missing_header"));
    assert!(
        refused(parse_charges("c.csv", format!("{CHARGES}a,b\n"))).contains("c.csv:4:1: error[ragged_row]")
    );
}
