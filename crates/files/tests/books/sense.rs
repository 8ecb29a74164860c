//! Rows that can be read one by one and make no sense together: each is refused where it stands.

use evenfare_files::parse_books;
use evenfare_reconcile::chart::Role;

use proptest::prelude::*;

use crate::{day_of, file, refused, rules};

/// What is refused of one file: line and column, code, and what was found and expected.
fn check(path: &str, text: &str, expect: &[&str]) {
    let read = parse_books(vec![rules(), file(path, text)], day_of("2026-07-31"));
    let told = if expect.is_empty() { read.map(|_| String::new()).unwrap() } else { refused(read) };
    let told: Vec<String> = told.lines().map(|line| line.replace(&format!("{path}:"), "")).collect();
    assert_eq!(told, expect, "{text}");
}

#[test]
fn a_bonus_has_a_year_a_turnover_and_a_percentage_that_can_be() {
    let bonuses = |rows: &str, expect: &[&str]| {
        check("bonuses.csv", &format!("partner,year,from_turnover,percent\n{rows}"), expect);
    };
    bonuses("P-1,2026,0,100\nP-1,2027,0.01,0\n", &[]);
    bonuses(
        "P-1,2026,-0.01,100.01\nP-2,20260,0,150\nP-3,26,x,3\n",
        &[
            "2:10: error[out_of_range]: found `-0.01`, expected a turnover of nothing or more",
            "2:16: error[out_of_range]: found `100.01`, expected a percentage from 0 to 100",
            "3:5: error[out_of_range]: found `20260`, expected a year of four digits such as 2026",
            "3:13: error[out_of_range]: found `150`, expected a percentage from 0 to 100",
            "4:5: error[out_of_range]: found `26`, expected a year of four digits such as 2026",
            "4:8: error[not_a_number]: found `x`, expected an amount in EUR: digits, and at most 2 after a point (12.5, not 12,5)",
        ],
    );
}

#[test]
fn a_higher_step_of_a_bonus_gives_more() {
    let bonuses = |rows: &str, expect: &[&str]| {
        check("bonuses.csv", &format!("partner,year,from_turnover,percent\n{rows}"), expect);
    };
    bonuses("P-1,2026,1000,3\nP-1,2026,0,0\nP-2,2026,0,3\nP-2,2027,1000,1\n", &[]);
    bonuses(
        "P-1,2026,1000,1\nP-1,2026,2000,2\nP-1,2026,0,3\nP-2,2026,0,1\nP-2,2026,5,1\n",
        &[
            "2:15: error[not_rising]: found `1`, expected more than the 3 percent of line 4, which is the step below",
            "6:12: error[not_rising]: found `1`, expected more than the 1 percent of line 5, which is the step below",
        ],
    );
    bonuses("P-1,2026,1000.0,1\nP-1,2026,1000,1\n", &[]);
    bonuses(
        "P-1,2026,1000.0,1\nP-1,2026,1000,3\n",
        &["3:1: error[said_twice]: found `P-1`, expected the same as in line 2, which is about the same"],
    );
    // Nothing follows from what could not be read.
    bonuses(
        "P-1,2026,0,150\nP-1,2026,1000,3\nP-1,2027,0,3\n",
        &["2:12: error[out_of_range]: found `150`, expected a percentage from 0 to 100"],
    );
}

#[test]
fn a_year_between_two_of_a_bonus_is_not_left_out() {
    let bonuses = |rows: &str, expect: &[&str]| {
        check("bonuses.csv", &format!("partner,year,from_turnover,percent\n{rows}"), expect);
    };
    bonuses("P-1,2024,0,1\nP-1,2026,0,1\nP-1,2025,0,0\nP-2,2026,0,1\n", &[]);
    bonuses(
        "P-1,2026,500,2\nP-1,2026,0,1\nP-1,2024,0,1\nP-1,2029,0,1\n",
        &[
            "2:5: error[year_missing]: found `2026`, expected rows of P-1 for 2025 too, as line 4 is of 2024; 0 percent from 0 where nothing was agreed",
            "5:5: error[year_missing]: found `2029`, expected rows of P-1 for 2027 to 2028 too, as line 2 is of 2026; 0 percent from 0 where nothing was agreed",
        ],
    );
    // The year in between may be the one that could not be read.
    bonuses(
        "P-1,2024,0,1\nP-1,2O25,0,1\nP-1,2026,0,1\n",
        &["3:5: error[not_a_number]: found `2O25`, expected a whole number from -2147483648 to 2147483647"],
    );
}

#[test]
fn an_account_is_of_one_firm_however_it_is_spelled() {
    let accounts = |rows: &str, expect: &[&str]| check("bank_accounts.csv", rows, expect);
    accounts("account,firm\nFR76 1,P-1\nfr761,P-1\n12-3/0100,P-2\n", &[]);
    accounts(
        "account,firm\nFR76 1,P-1\nfr761,workshop\n--,P-1\n",
        &[
            "3:1: error[said_twice]: found `fr761`, expected the same as in line 2, which is about the same",
            "4:1: error[not_an_account]: found `--`, expected an IBAN or the bank's own number: letters and digits",
        ],
    );
    // Under `iban` a slip of the pen is found by the check digits.
    accounts("iban,firm\nDE79 0000 0000 1234 5678 90,P-1\n", &[]);
    accounts("account,iban,firm\n,DE79000000001234567890,P-1\n0815,,P-2\n", &[]);
    let iban = "an IBAN whose check digits hold: a country, two digits, then 11 to 30 capitals and digits";
    accounts(
        "account,iban,firm\n,DE79 0000 0000 1234 5678 09,P-1\n,,P-2\n0815,DE79000000001234567890,P-3\nde79000000001234567890,,P-4\n,DE79000000001234567890,P-5\n",
        &[
            &format!("2:2: error[not_an_iban]: found `DE79 0000 0000 1234 5678 09`, expected {iban}"),
            "3:1: error[empty_cell]: found nothing, expected account: an IBAN or the bank's own number, or iban",
            "4:1: error[said_twice]: found `0815`, expected nothing, as the account is said under iban",
            "6:2: error[said_twice]: found `DE79000000001234567890`, expected the same as in line 5, which is about the same",
        ],
    );
}

#[test]
fn two_parts_share_an_account_only_where_both_say_so() {
    let chart = |rows: &str, expect: &[&str]| check("chart.csv", rows, expect);
    chart("role,account\nbank,1200\nbank,1200\nrevenue,4400\n", &[]);
    chart(
        "role,account,shared\nbank,1200,\nrounding,6855,yes\nbank_charges,6855,yes\nrevenue,4400,no\n",
        &[],
    );
    chart(
        "role,account\nreceivable,1210\nrevenue,12 10\nbonus,1210\n",
        &[
            "3:9: error[account_shared]: found `12 10`, expected an account that no other part has, but line 2 has it for `receivable`; or yes under shared in both rows",
            "4:7: error[account_shared]: found `1210`, expected an account that no other part has, but line 2 has it for `receivable`; or yes under shared in both rows",
        ],
    );
    chart(
        "shared,role,account\n,rounding,6855\nyes,exchange,6855\nyes,bank,1200\n",
        &[
            "2:11: error[account_shared]: found `6855`, expected an account that no other part has, but line 3 has it for `exchange`; or yes under shared in both rows",
            "4:1: error[account_not_shared]: found `yes`, expected an account that another part has too, or nothing here",
        ],
    );
    // A part without an account goes by its word.
    chart(
        "role,account\nbank,receivable\n",
        &[
            "2:6: error[account_shared]: found `receivable`, expected an account that no other part has, but `receivable` has no row and goes by its word",
        ],
    );
    chart("role,account\nbank,receivable\nreceivable,1200\n", &[]);
    let files = vec![rules(), file("chart.csv", "role,account,shared\nbank,1,yes\ntransit,1,yes\n")];
    let read = parse_books(files, day_of("2026-07-31")).map_err(|report| report.to_string()).unwrap();
    assert_eq!([Role::Bank, Role::Transit].map(|role| read.chart.account(role)), ["1", "1"]);
}

/// Partner, year, turnover and percentage.
type Step = (u8, i32, i64, u8);

/// Is a file of the books refused?
fn is_refused(path: &str, text: &str) -> bool {
    parse_books(vec![rules(), file(path, text)], day_of("2026-07-31")).is_err()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Steps are taken where every two of them make sense together and no year is missing, in any order, and else refused.
    #[test]
    fn steps_are_taken_that_make_sense(
        steps in prop::collection::vec((0..2_u8, 2024..2028_i32, -1..3_i64, 0..3_u8), 0..6),
    ) {
        let rows = steps.iter().map(|(partner, year, from, percent)| format!("P-{partner},{year},{from},{percent}\n"));
        let text = format!("partner,year,from_turnover,percent\n{}", rows.collect::<String>());
        let pair = |(a, b): (&Step, &Step)| {
            (a.0, a.1) != (b.0, b.1) || a.2.cmp(&b.2) == a.3.cmp(&b.3)
        };
        let pairs = steps.iter().flat_map(|a| steps.iter().map(move |b| (a, b)));
        let years = |partner: u8| steps.iter().filter(move |step| step.0 == partner).map(|step| step.1);
        let is_whole = |partner: u8| (2024..2028).all(|year| {
            years(partner).all(|other| other > year) || years(partner).all(|other| other < year) || years(partner).any(|other| other == year)
        });
        let makes_sense = steps.iter().all(|step| step.2 >= 0) && pairs.into_iter().all(pair) && (0..2).all(is_whole);
        prop_assert_eq!(is_refused("bonuses.csv", &text), !makes_sense, "{}", text);
    }

    /// No two parts have one account unless both say so, and nobody says so alone.
    #[test]
    fn a_chart_has_no_account_twice_unsaid(
        rows in prop::collection::btree_map(0..4_usize, (0..5_usize, any::<bool>()), 0..5),
    ) {
        let accounts = ["1", "2", "3 3", "33", "revenue"];
        let row = |(role, (account, shared)): (&usize, &(usize, bool))| {
            format!("{},{},{}\n", Role::ALL[*role].word(), accounts[*account], if *shared { "yes" } else { "" })
        };
        let text = format!("role,account,shared\n{}", rows.iter().map(row).collect::<String>());
        let account = |role: &Role| {
            let own = rows.iter().find(|(at, _)| Role::ALL[**at] == *role);
            own.map_or((role.word().to_owned(), false), |(_, (at, shared))| (accounts[*at].replace(' ', ""), *shared))
        };
        let effective: Vec<(String, bool)> = Role::ALL.iter().map(account).collect();
        let is_fair = effective.iter().enumerate().all(|(at, (own, shared))| {
            let mut others = effective.iter().enumerate().filter(|(other, (account, _))| *other != at && account == own);
            let is_alone = others.clone().next().is_none();
            if is_alone { !shared } else { *shared && others.all(|(_, (_, shared))| *shared) }
        });
        prop_assert_eq!(is_refused("chart.csv", &text), !is_fair, "{}", text);
    }

    /// One account for two firms is found in any spelling.
    #[test]
    fn an_account_of_two_firms_is_found(
        digits in "[0-9A-Z]{1,12}", gaps in prop::collection::vec(0..12_usize, 0..4), lower in any::<bool>(), same in any::<bool>(),
    ) {
        let mut other: String = if lower { digits.to_lowercase() } else { digits.clone() };
        for gap in gaps {
            other.insert(gap % (other.len() + 1), if gap % 2 == 0 { ' ' } else { '-' });
        }
        let firm = if same { "P-1" } else { "P-2" };
        let text = format!("account,firm\n{digits},P-1\n{other},{firm}\n");
        prop_assert_eq!(is_refused("bank_accounts.csv", &text), !same, "{}", text);
    }
}
