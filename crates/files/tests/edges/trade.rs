//! Partners, their agreements, and the rates of a tariff.

use evenfare_files::parse_tariff;

use crate::workshop::spoiled;
use crate::{check, check_edge};

const AGREEMENT: (&str, &str) = ("agreements.csv", "A-1,P-1,2026-01-01,,scale\n");

/// Agreements with one partner in the place of the sound one, the first of them with its terms.
fn check_agreements(rows: &str, told: &[&str]) {
    let (file, from) = AGREEMENT;
    check(
        &[
            (file, from, rows),
            ("credits.csv", "removal,40\n", "removal,40\nA-2,removal,40\nA-3,removal,40\n"),
        ],
        told,
    );
}

#[test]
fn agreements_follow_each_other_without_a_gap() {
    check_agreements(
        "A-1,P-1,2026-01-01,2026-08-31,scale\nA-2,P-1,2026-09-01,2026-10-31,scale\nA-3,P-1,2026-11-01,,scale\n",
        &[],
    );
    // in whatever order they are written
    check_agreements(
        "A-3,P-1,2026-11-01,,scale\nA-2,P-1,2026-09-01,2026-10-31,scale\nA-1,P-1,2026-01-01,2026-08-31,scale\n",
        &[],
    );
    check_agreements(
        "A-1,P-1,2026-01-01,2026-08-31,scale\nA-2,P-1,2026-08-31,2026-10-31,scale\nA-3,P-1,2026-11-02,,scale\n",
        &["agreements.csv:3:9: error[overlapping_dates]", "agreements.csv:4:9: warning[gap_in_dates]"],
    );
    // One that ends before it begins is told once, and is no measure for those beside it.
    let backwards = "agreements.csv:3:20: error[ends_before_it_begins]";
    for (until, third, told) in [
        ("2026-08-31", "2026-09-01", &[backwards][..]),
        ("2025-12-31", "2026-09-01", &[backwards]),
        ("2026-08-01", "2026-08-31", &[backwards, "agreements.csv:4:9: error[overlapping_dates]"]),
    ] {
        let rows = [
            "A-1,P-1,2026-01-01,2026-08-31",
            &format!("A-2,P-1,2026-09-01,{until}"),
            &format!("A-3,P-1,{third},"),
        ];
        check_agreements(&rows.map(|row| format!("{row},scale\n")).concat(), told);
    }
    // Two of one day: the second by its code begins in the first.
    check_agreements(
        "A-1,P-1,2026-01-01,2026-08-31,scale\nA-3,P-1,2026-09-01,,scale\nA-2,P-1,2026-09-01,,scale\n",
        &["agreements.csv:3:9: error[overlapping_dates]"],
    );
}

#[test]
fn agreements_hold_all_the_days_of_the_edition() {
    let edge = |within: &[&str], beyond: &[&str], told| {
        check_edge((AGREEMENT.0, "2026-01-01,,scale"), within, beyond, told);
    };
    edge(&["2026-07-01,,scale"], &["2026-07-02,,scale"], "agreements.csv:2:9: warning[gap_in_dates]");
    edge(
        &["2026-01-01,2026-12-31,scale", "2026-01-01,2027-01-01,scale"],
        &["2026-01-01,2026-12-30,scale"],
        "agreements.csv:2:20: warning[gap_in_dates]",
    );
    check(
        &[(AGREEMENT.0, "2026-01-01,,scale", "2026-07-01,2026-06-30,scale")],
        &["agreements.csv:2:20: error[ends_before_it_begins]"],
    );
    // An edition without an end outlasts every agreement that has one.
    let (file, from) = AGREEMENT;
    let open = ("edition.toml", "until = \"2026-12-31\"\n", "");
    check(&[open], &[]);
    check(
        &[open, (file, from, "A-1,P-1,2026-01-01,2099-12-31,scale\n")],
        &["agreements.csv:2:20: warning[gap_in_dates]"],
    );
}

#[test]
fn an_agreement_has_terms_and_a_partner_has_an_agreement() {
    let (file, from) = AGREEMENT;
    let more = |row: &str| format!("{from}{row}");
    check(
        &[
            (file, from, &more("A-2,P-2,2026-01-01,,scale\n")),
            ("credits.csv", "removal,40\n", "removal,40\nA-2,removal,40\n"),
        ],
        &["agreements.csv:3:5: error[unknown_partner]"],
    );
    let bare =
        [("credits.csv", "A-1,removal,40\n", ""), ("discounts.csv", "A-1,part,10\nA-1,labour,12.5\n", "")];
    check(&bare, &["agreements.csv:2:1: warning[agreement_without_terms]"]);
    check(&bare[..1], &[]);
    check(&bare[1..], &[]);
    check_edge(
        ("discounts.csv", "labour,12.5"),
        &["labour,100", "labour,0"],
        &["labour,100.0001"],
        "discounts.csv:3:12: error[too_many_percent]",
    );
    check_edge(
        ("discounts.csv", "labour,12.5"),
        &[],
        &["part,12.5"],
        "discounts.csv:3:5: error[given_twice]",
    );
    check_edge(
        ("credits.csv", "removal,40\n"),
        &["removal,40\nA-1,refitting,40\n"],
        &["removal,40\nA-1,removal,5\n"],
        "credits.csv:3:5: error[given_twice]",
    );
    check_edge(
        ("credits.csv", "removal,40\n"),
        &[],
        &["removal,40\nA-9,removal,5\n"],
        "credits.csv:3:1: error[unknown_agreement]",
    );
}

const PARTNER: (&str, &str) =
    ("partners.csv", "P-1,Beispielpartner Nord,Musterkai 3,20457,Hamburg,DE,DE222222220,\n");

#[test]
fn partners_are_known_to_the_tax_office() {
    let of = |country: &str, vat_id: &str, told: &[&str]| {
        let row = format!("P-1,Nord,Musterkai 3,20457,Hamburg,{country},{vat_id},\n");
        check(
            &[
                (PARTNER.0, PARTNER.1, &row),
                ("vat_rates.csv", "AT,2016", "CH,2024-01-01,,8.1\nJP,2019-10-01,,10\nAT,2016"),
            ],
            told,
        );
    };
    of("DE", "DE222222220", &[]);
    of("AT", "ATU13585627", &[]);
    of("AT", "DE222222220", &["partners.csv:2:39: error[vat_id_of_another_country]"]);
    of("DE", "DE222222221", &["partners.csv:2:39: error[invalid_vat_id]"]);
    of("DE", "", &["partners.csv:2:39: error[missing_vat_id]"]);
    // outside the Union there need not be one; one that is given is checked where its form is known
    of("CH", "", &[]);
    of("CH", "DE222222220", &["partners.csv:2:39: error[vat_id_of_another_country]"]);
    of("JP", "T1234567890123", &[]);
    of("JP", "--", &["partners.csv:2:39: error[invalid_vat_id]"]);
    of("JP", "DE222222220", &["partners.csv:2:39: error[vat_id_of_another_country]"]);
    of("NO", "", &["partners.csv:2:36: error[no_vat_rate]"]);
}

/// As they are read from a paper of theirs (`comparable`): `AU 51 824 753 556` there is the same firm.
#[test]
fn identifiers_of_partners_are_kept_to_be_compared() {
    for (country, written, kept) in [
        ("AU", "AU 51 824 753 556", "AU51824753556"),
        ("CH", "CHE-083.016.613 MWST", "CHE083016613"),
        ("DE", "DE 222 222 220", "DE222222220"),
    ] {
        let row = format!("P-1,Nord,Musterkai 3,20457,Hamburg,{country},{written},\n");
        let rates = ("vat_rates.csv", "AT,2016", "AU,2000-07-01,,10\nCH,2024-01-01,,8.1\nAT,2016");
        let tariffs = parse_tariff(&spoiled(&[(PARTNER.0, PARTNER.1, row.as_str()), rates])).unwrap();
        let partner = tariffs.editions()[0].partners().iter().find(|one| one.party.code.as_str() == "P-1");
        assert_eq!(partner.unwrap().party.vat_id.as_deref(), Some(kept), "{written}");
    }
}

/// Partners of which each buys from another, every one with an agreement.
fn check_chain(links: &[(&str, &str)], told: &[&str]) {
    let mut files = [String::new(), String::new(), String::new()];
    for (number, (code, above)) in links.iter().enumerate() {
        files[0] += &format!("{code},Nord,Musterkai 3,20457,Hamburg,DE,DE222222220,{above}\n");
        files[1] += &format!("A-{},{code},2026-01-01,,scale\n", number + 1);
        files[2] += &format!("A-{},removal,40\n", number + 1);
    }
    let [partners, agreements, credits] = &files;
    check(
        &[
            (PARTNER.0, PARTNER.1, partners),
            (AGREEMENT.0, AGREEMENT.1, agreements),
            ("credits.csv", "A-1,removal,40\n", credits),
        ],
        told,
    );
}

#[test]
fn every_chain_of_partners_ends_at_the_workshop() {
    check_chain(&[("P-1", ""), ("P-2", "P-1"), ("P-3", "P-1")], &[]);
    check_chain(&[("P-1", ""), ("P-2", "P-9")], &["partners.csv:3:51: error[unknown_partner]"]);
    check_chain(&[("P-1", "P-1")], &["partners.csv:2:51: error[partners_in_a_circle]"]);
    check_chain(
        &[("P-1", "P-2"), ("P-2", "P-1")],
        &["partners.csv:2:51: error[partners_in_a_circle]", "partners.csv:3:51: error[partners_in_a_circle]"],
    );
    check_chain(&[("P-1", ""), ("customer", "")], &["partners.csv:3:1: error[reserved_code]"]);
    check_chain(&[("workshop", "")], &["partners.csv:2:1: error[reserved_code]"]);
    check(
        &[(
            PARTNER.0,
            PARTNER.1,
            &format!("{}P-2,Nord,Musterkai 3,20457,Hamburg,DE,DE222222220,\n", PARTNER.1),
        )],
        &["partners.csv:3:1: warning[partner_without_agreement]"],
    );
    // sixteen sell to each other, and not one more
    let codes: Vec<String> = (10..27).map(|number| format!("P-{number}")).collect();
    let links: Vec<(&str, &str)> = codes
        .iter()
        .enumerate()
        .map(|(at, code)| (code.as_str(), at.checked_sub(1).map_or("", |above| codes[above].as_str())))
        .collect();
    check_chain(&links[..16], &[]);
    check_chain(&links, &["partners.csv:18:52: error[chain_too_long]"]);
}

#[test]
fn vat_rates_follow_each_other() {
    let rates = |rows: &str, told: &[&str]| {
        check(&[("vat_rates.csv", "DE,2021-01-01,,19\n", rows)], told);
    };
    rates("DE,2020-07-01,2020-12-31,16\nDE,2021-01-01,,19\n", &[]);
    rates("DE,2021-01-01,,19\nDE,2020-07-01,2020-12-31,16\n", &[]);
    rates(
        "DE,2020-07-01,2021-01-01,16\nDE,2021-01-01,,19\n",
        &["vat_rates.csv:3:4: error[overlapping_dates]"],
    );
    rates("DE,2020-07-01,2020-12-30,16\nDE,2021-01-01,,19\n", &["vat_rates.csv:3:4: warning[gap_in_dates]"]);
    rates("DE,2021-01-01,2020-12-31,19\n", &["vat_rates.csv:2:15: error[ends_before_it_begins]"]);
    rates(
        "DE,2021-01-01,2020-12-30,19\nDE,2021-01-01,,19\n",
        &["vat_rates.csv:2:15: error[ends_before_it_begins]"],
    );
    // the last day before the edition is of no account, its first day is
    rates("DE,2021-01-01,2026-06-30,16\nDE,2026-07-01,,19\n", &[]);
    rates(
        "DE,2021-01-01,2026-07-01,16\nDE,2026-07-02,,19\n",
        &["vat_rates.csv:2:26: warning[not_the_published_rate]"],
    );
    check_edge(
        ("vat_rates.csv", "AT,2016-01-01,,20"),
        &[],
        &["AT,2016-01-01,,20.5"],
        "vat_rates.csv:3:16: warning[not_the_published_rate]",
    );
    // nobody knows the rate of everywhere
    rates("DE,2021-01-01,,19\nJP,2019-10-01,,100\n", &[]);
    rates("DE,2021-01-01,,19\nJP,2019-10-01,,100.0001\n", &["vat_rates.csv:3:16: error[too_many_percent]"]);
}

#[test]
fn reference_rates_are_those_of_a_day() {
    let rates = |rows: &str, told: &[&str]| {
        check(&[("currency_rates.csv", "2026-07-01,CHF,0.9321\n", rows)], told);
    };
    rates("", &[]);
    rates("2026-07-01,CHF,0.9321\n2026-07-02,CHF,0.9321\n2026-07-01,SEK,11.1\n2026-07-02,SEK,11.1\n", &[]);
    rates("2026-07-01,CHF,0.9321\n2026-07-01,CHF,0.9322\n", &["currency_rates.csv:3:1: error[given_twice]"]);
    rates("2026-07-01,CHF,0\n", &["currency_rates.csv:2:16: error[no_rate]"]);
    rates("2026-07-01,EUR,1\n", &["currency_rates.csv:2:12: error[euro_against_euro]"]);
    // The ECB's reference rates have no lev from 2 January 2026: ISO 4217 withdrew it the day before.
    rates("2025-12-31,BGN,1.9558\n", &[]);
    rates("2026-01-02,BGN,1.9558\n", &["currency_rates.csv:2:12: warning[withdrawn_currency]"]);
    // Currencies are crossed by the euro: a tariff in another needs a rate of its own to cross any.
    let francs = ("edition.toml", "currency = \"EUR\"", "currency = \"CHF\"");
    check(&[francs], &[]);
    check(&[francs, ("currency_rates.csv", "2026-07-01,CHF,0.9321\n", "")], &[]);
    check(
        &[francs, ("currency_rates.csv", "CHF,0.9321", "SEK,11.1")],
        &["edition.toml:5:12: error[no_rate]"],
    );
}
