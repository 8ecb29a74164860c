//! Jobs under the sound edition.

use std::fmt::Write;

use crate::check_job;

/// One value of the sound job: it is priced `within`, and refused for the same reason for each of those `beyond`.
fn check_edge(from: &str, within: &[&str], beyond: &[&str], expect: &str) {
    // Whatever a parcel weighs, there is a rate for it.
    let edition = [("courier_rates.csv", "ISLES,31.5,29", "ISLES,999999,29")];
    for to in within {
        check_job(&edition, &[(from, to)], &[]);
    }
    for to in beyond {
        check_job(&edition, &[(from, to)], &[expect]);
    }
}

#[test]
fn days_have_their_order() {
    let received = "received = 2026-07-14\n";
    let with = |rows: &str| format!("{received}{rows}");
    check_edge(
        received,
        &["received = 2026-07-01\n", "received = 2026-12-31\n"],
        &["received = 2027-01-01\n"],
        "job.toml:2:12: error[not_of_this_edition]",
    );
    let dated = |within: &[&str], beyond: &[&str], expect: &str| {
        let within: Vec<String> = within.iter().map(|rows| with(rows)).collect();
        let beyond: Vec<String> = beyond.iter().map(|rows| with(rows)).collect();
        let within: Vec<&str> = within.iter().map(String::as_str).collect();
        let beyond: Vec<&str> = beyond.iter().map(String::as_str).collect();
        check_edge(received, &within, &beyond, expect);
    };
    dated(&["quoted = 2026-07-14\n"], &["quoted = 2026-07-13\n"], "job.toml:3:10: error[before_receipt]");
    dated(&["quoted = 2200-12-31\n"], &["quoted = 2201-01-01\n"], "job.toml:3:10: error[far_away]");
    dated(&["tax_date = 2026-07-14\n"], &["tax_date = 2026-07-13\n"], "job.toml:3:12: error[before_receipt]");
    dated(
        &["quoted = 2026-07-20\ndispatch = 2026-07-20\n"],
        &["quoted = 2026-07-20\ndispatch = 2026-07-19\n"],
        "job.toml:4:12: error[before_the_quote]",
    );
    check_edge(
        "2016-03-01",
        &["2026-07-14", "1950-01-01"],
        &["2026-07-15", "2200-12-31"],
        "job.toml:17:9: error[built_after_receipt]",
    );
    check_edge("2016-03-01", &[], &["1949-12-31", "2201-01-01"], "job.toml:17:9: error[far_away]");
}

#[test]
fn counts_have_their_edges() {
    check_edge(
        "cycles = 410000",
        &["cycles = 1000000000000"],
        &["cycles = 1000000000001"],
        "job.toml:16:10: error[too_many]",
    );
    check_edge(
        "cycles = 410000",
        &["hours = 2000000"],
        &["hours = 2000001"],
        "job.toml:16:9: error[too_long]",
    );
    check_edge(
        "quantity = 2",
        &["quantity = 1", "quantity = 1000"],
        &["quantity = 0", "quantity = 1001"],
        "job.toml:28:12: error[no_such_quantity]",
    );
}

#[test]
fn parcels_have_their_edges() {
    let told = |place: &str| format!("job.toml:{place}: error[no_such_parcel]");
    check_edge(
        "length_cm = 60",
        &["length_cm = \"0.01\"", "length_cm = 1000"],
        &["length_cm = 0", "length_cm = \"1000.01\""],
        &told("20:13"),
    );
    check_edge("\"40.5\"", &["\"1000\""], &["\"0\"", "\"1000.01\""], &told("21:12"));
    check_edge(
        "height_cm = 30",
        &["height_cm = 1000"],
        &["height_cm = 0", "height_cm = \"1000.01\""],
        &told("22:13"),
    );
    check_edge("\"12.4\"", &["\"0.001\"", "\"10000\""], &["\"0\"", "\"10000.001\""], &told("23:13"));
    // 60 x 40.5 x 30 cm at a divisor of 5000 are 14.58 kg, 15 in steps of a half
    let rate = |up_to: &str, told: &[&str]| {
        check_job(&[("courier_rates.csv", "ISLES,31.5,29", &format!("ISLES,{up_to},29"))], &[], told);
    };
    rate("15", &[]);
    rate("14.999", &["job.toml:19:1: error[too_heavy]"]);
    check_job(
        &[],
        &[("\"DE\"\n", "\"FR\"\nvat_id = \"FR31241157882\"\n")],
        &["job.toml:9:11: error[no_courier_zone]"],
    );
}

/// This many of something that a job has a list of, written out.
fn many(count: usize, one: impl Fn(usize) -> String) -> String {
    (0..count).fold(String::new(), |mut text, number| {
        write!(text, "{}", one(number)).unwrap();
        text
    })
}

#[test]
fn lists_end_somewhere() {
    let parcel =
        |_| "[[units.parcels]]\nlength_cm = 10\nwidth_cm = 10\nheight_cm = 10\nweight_kg = 1\n\n".to_owned();
    let unit = |number| {
        format!("[[units]]\nid = \"V{number}\"\nfamily = \"DRV-A\"\nserial = \"1\"\ndeclared_value = 1\n\n")
    };
    let finding = |number| format!("[[units.findings]]\ncode = \"DEAD-CAP\"\nposition = \"K{number}\"\n\n");
    let alternative =
        |number| format!("[[alternatives]]\nid = \"B{number}\"\ntext = \"As it is\"\nchanges = []\n\n");
    let edge = |before: &str, most: usize, one: &dyn Fn(usize) -> String, expect: &str| {
        // one of them stands in the sound job
        let within = many(most - 1, one) + before;
        let beyond = many(most, one) + before;
        check_edge(before, &[&within], &[&beyond], expect);
    };
    edge("[[units.parcels]]", 100, &parcel, "job.toml:19:1: error[too_many]");
    edge("[[units.findings]]", 500, &finding, "job.toml:25:1: error[too_many]");
    edge("[[units]]", 200, &unit, "job.toml:12:1: error[too_many]");
    let end = "quantity = 2\n";
    let with = |count| format!("{end}\n{}", many(count, alternative));
    check_edge(end, &[&with(20)], &[&with(21)], "job.toml:30:1: error[too_many]");
    // Nothing else is told of so many: each of them is a unit that is none, or one more time.
    let change = |number| format!("[[alternatives.changes]]\nunit = \"V{number}\"\n");
    let changes = format!("{end}\n[[alternatives]]\nid = \"B\"\ntext = \"As it is\"\n{}", many(201, change));
    check_edge(end, &[], &[&changes], "job.toml:33:1: error[too_many]");
}

#[test]
fn a_warranty_is_held_against_what_is_known() {
    let returned = |rows: &str| format!("quantity = 2\n\n[units.returned]\nquote = \"Q-1\"\n{rows}");
    let edge = |within: &str, beyond: &str, expect: &str| {
        check_edge("quantity = 2\n", &[&returned(within)], &[&returned(beyond)], expect);
    };
    edge(
        "dispatched = 2026-07-14\nwarranty_months = 12\n",
        "dispatched = 2026-07-15\nwarranty_months = 12\n",
        "job.toml:32:14: error[dispatched_after_receipt]",
    );
    edge(
        "dispatched = 1950-01-01\nwarranty_months = 12\n",
        "dispatched = 1949-12-31\nwarranty_months = 12\n",
        "job.toml:32:14: error[far_away]",
    );
    edge(
        "dispatched = 2026-01-14\nwarranty_months = 600\n",
        "dispatched = 2026-01-14\nwarranty_months = 601\n",
        "job.toml:33:19: error[too_long]",
    );
    edge(
        "dispatched = 2026-01-14\nwarranty_months = 12\nwarranty_cycles = 9\ncycles_at_dispatch = 410000\n",
        "dispatched = 2026-01-14\nwarranty_months = 12\nwarranty_cycles = 9\ncycles_at_dispatch = 410001\n",
        "job.toml:35:22: error[cycles_run_backwards]",
    );
    edge(
        "dispatched = 2026-01-14\nwarranty_months = 12\ncycles_at_dispatch = 9\n",
        "dispatched = 2026-01-14\nwarranty_months = 12\nwarranty_cycles = 9\n",
        "job.toml:34:19: error[cycles_not_known]",
    );
}

#[test]
fn what_is_named_is_named_once() {
    check_job(&[], &[("[\"URGENT\"]", "[\"URGENT\", \"URGENT\"]")], &["job.toml:4:21: error[given_twice]"]);
    let night = [("extras.csv", "flat\n", "flat\nNIGHT,By night,5,labour\n")];
    check_job(&night, &[("[\"URGENT\"]", "[\"URGENT\", \"NIGHT\"]")], &[]);
    let change = |changes: &str, rows: &str| {
        format!(
            "quantity = 2\n\n[[alternatives]]\nid = \"B\"\ntext = \"As it is\"\nchanges = [{changes}]\n{rows}"
        )
    };
    let alternatives = |changes: &str, rows: &str, told: &[&str]| {
        check_job(&[], &[("quantity = 2\n", &change(changes, rows))], told);
    };
    alternatives("", "", &[]);
    alternatives("", "\n[[alternatives]]\nid = \"C\"\ntext = \"So too\"\nchanges = []\n", &[]);
    alternatives(
        "",
        "\n[[alternatives]]\nid = \"B\"\ntext = \"So too\"\nchanges = []\n",
        &["job.toml:36:6: error[given_twice]"],
    );
    alternatives(
        "",
        "\n[[alternatives]]\nid = \"main\"\ntext = \"So too\"\nchanges = []\n",
        &["job.toml:36:6: error[given_twice]"],
    );
    alternatives("{ unit = \"U1\", task = \"decline\" }", "", &[]);
    alternatives("{ unit = \"U9\", task = \"decline\" }", "", &["job.toml:33:21: error[unknown_unit]"]);
    alternatives(
        "{ unit = \"U1\", task = \"decline\" }, { unit = \"U1\" }",
        "",
        &["job.toml:33:56: error[given_twice]"],
    );
    alternatives("{ unit = \"U1\", task = \"exchange\" }", "", &["job.toml:33:34: error[no_exchange_unit]"]);
}

#[test]
fn a_unit_has_an_id_that_no_line_has() {
    for id in ["surcharge", "minimum", "ending", "U1/part"] {
        check_job(
            &[],
            &[("family = \"DRV-A\"", &format!("id = \"{id}\"\nfamily = \"DRV-A\""))],
            &["job.toml:13:6: error[reserved_id]"],
        );
    }
}

#[test]
fn a_fixed_price_has_a_class_and_no_other_has() {
    let panel = |class: &str| format!("family = \"PANEL\"{class}");
    let family = |to: &str, told: &[&str]| check_job(&[], &[("family = \"DRV-A\"", to)], told);
    family(&panel(""), &[]);
    family(&panel("\nclass = \"standard\""), &[]);
    let unknown = ["job.toml:14:9: error[unknown_class]"];
    family(&panel("\nclass = \"minor\""), &unknown);
    // A code that nobody knows is told, whether a price is looked up by it or not.
    for task in ["decline", "exchange"] {
        family(&panel(&format!("\nclass = \"standard\"\ntask = \"{task}\"")), &[]);
        family(&panel(&format!("\nclass = \"minor\"\ntask = \"{task}\"")), &unknown);
    }
    family("family = \"DRV-A\"\nclass = \"standard\"", &["job.toml:14:9: error[class_of_built_up_family]"]);
    // An alternative tells of the class that it names itself; the unit's own is told once.
    let changed = |class: &str, change: &str, told: &[&str]| {
        let alternative = format!(
            "quantity = 2\n\n[[alternatives]]\nid = \"B\"\ntext = \"So too\"\nchanges = [{{ unit = \"U1\", {change} }}]\n"
        );
        check_job(&[], &[("family = \"DRV-A\"", &panel(class)), ("quantity = 2\n", &alternative)], told);
    };
    changed("", "class = \"standard\"", &[]);
    changed("", "class = \"minor\"", &["job.toml:33:35: error[unknown_class]"]);
    changed("", "task = \"decline\", class = \"minor\"", &["job.toml:33:53: error[unknown_class]"]);
    changed("\nclass = \"minor\"", "task = \"decline\"", &unknown);
}

#[test]
fn a_route_is_one_that_the_tariff_has() {
    let route = |to: &str, told: &[&str]| check_job(&[], &[("[\"P-1\"]", to)], told);
    route("[]", &[]);
    route("[{ partner = \"P-1\", takes_over = [\"removal\"] }]", &[]);
    route(
        "[{ partner = \"P-1\", takes_over = [\"refitting\"] }]",
        &["job.toml:3:43: error[work_without_credit]"],
    );
    route(
        "[{ partner = \"P-1\", takes_over = [\"removal\", \"removal\"] }]",
        &["job.toml:3:54: error[taken_over_twice]"],
    );
    route("[\"P-1\", \"P-1\"]", &["job.toml:3:17: error[not_his_supplier]"]);
    let partners = |count: usize| format!("[{}]", vec!["\"P-1\""; count].join(", "));
    // sixteen are looked at one by one, seventeen are not
    check_job(&[], &[("[\"P-1\"]", &partners(17))], &["job.toml:3:9: error[too_many]"]);
    let told = vec!["error[not_his_supplier]"; 15];
    let places: Vec<String> =
        told.iter().zip(1..).map(|(told, at)| format!("job.toml:3:{}: {told}", 10 + 7 * at)).collect();
    check_job(&[], &[("[\"P-1\"]", &partners(16))], &places.iter().map(String::as_str).collect::<Vec<_>>());
    let late = [("agreements.csv", "2026-01-01", "2026-07-15")];
    check_job(&late, &[], &["job.toml:3:10: error[no_agreement]"]);
    check_job(&late, &[("2026-07-14", "2026-07-15")], &[]);
}

#[test]
fn a_quote_is_in_a_currency_that_is_in_use() {
    let rates = [
        ("edition.toml", "from = 2026-07-01", "from = 2025-07-01"),
        ("currency_rates.csv", "2026-07-01,CHF,0.9321\n", "2025-12-30,BGN,1.9558\n2025-07-01,CHF,0.9321\n"),
        ("agreements.csv", "2026-01-01", "2025-01-01"),
    ];
    let on = |received: &str, currency: &str, told: &[&str]| {
        let head = format!("received = {received}\ncurrency = \"{currency}\"");
        check_job(&rates, &[("received = 2026-07-14", &head)], told);
    };
    on("2025-12-31", "BGN", &[]);
    on("2026-01-02", "CHF", &[]);
    // ISO 4217 withdrew the lev: what it was worth last is no rate of a day after that.
    on("2026-01-01", "BGN", &["job.toml:3:12: error[withdrawn_currency]"]);
    on("2026-01-02", "BGN", &["job.toml:3:12: error[withdrawn_currency]"]);
    on("2026-01-02", "SEK", &["job.toml:3:12: error[no_currency_rate]"]);
    let levs = [
        ("edition.toml", "currency = \"EUR\"", "currency = \"BGN\""),
        ("currency_rates.csv", "2026-07-01,CHF,0.9321\n", ""),
    ];
    check_job(&levs, &[], &["job.toml:1:1: error[withdrawn_currency]"]);
}

#[test]
fn an_identifier_is_one_of_the_customers_country() {
    let japan = [("zones.csv", "EU,AT,\n", "EU,AT,\nEU,JP,\n")];
    let of = |country: &str, vat_id: &str, told: &[&str]| {
        let given = if vat_id.is_empty() { String::new() } else { format!("vat_id = \"{vat_id}\"\n") };
        check_job(&japan, &[("country = \"DE\"\n", &format!("country = \"{country}\"\n{given}"))], told);
    };
    of("AT", "ATU13585627", &[]);
    of("AT", "", &["job.toml:6:1: error[missing_vat_id]"]);
    of("AT", "DE136695976", &["job.toml:10:10: error[vat_id_of_another_country]"]);
    of("AT", "ATU13585628", &["job.toml:10:10: error[invalid_vat_id]"]);
    of("DE", "", &[]);
    of("DE", "DE136695977", &["job.toml:10:10: error[invalid_vat_id]"]);
    // Elsewhere identifiers follow rules that are not checked.
    of("JP", "T1234567890123", &[]);
    of("JP", "", &[]);
}
