//! The rules, the bench, the families and the courier of a tariff.

use crate::{check, check_edge};

#[test]
fn the_rules_of_an_edition_have_their_edges() {
    let rule = |from, within: &[&str], beyond: &[&str], told| {
        check_edge(("edition.toml", from), within, beyond, told);
    };
    rule("2026-12-31", &["2026-07-01"], &["2026-06-30"], "edition.toml:4:9: error[ends_before_it_begins]");
    rule(
        "_days = 30",
        &["_days = 0", "_days = 3650"],
        &["_days = 3651"],
        "edition.toml:39:17: error[too_long]",
    );
    rule("_days = 12", &["_days = 3650"], &["_days = 3651"], "edition.toml:40:19: error[too_long]");
    rule("_months = 12", &["_months = 600"], &["_months = 601"], "edition.toml:41:19: error[too_long]");
    rule(
        "divisor = 5000",
        &["divisor = 1", "divisor = 1000000"],
        &["divisor = 0", "divisor = 1000001"],
        "edition.toml:26:22: error[no_divisor]",
    );
    rule("_kg = \"0.5\"", &["_kg = \"0.001\""], &["_kg = \"0\""], "edition.toml:27:18: error[no_step]");
    rule("\"0.35\"", &["\"100\""], &["\"100.0001\""], "edition.toml:29:21: error[too_many_percent]");
    rule("\"12.5\"", &["\"100\""], &["\"100.0001\""], "edition.toml:20:32: error[too_many_percent]");
    rule("id = \"DE111111117\"", &[], &["id = \"DE111111118\""], "edition.toml:13:10: error[invalid_vat_id]");
    rule(
        "id = \"DE111111117\"",
        &[],
        &["id = \"ATU13585627\""],
        "edition.toml:13:10: error[vat_id_of_another_country]",
    );
    rule(
        "fee = \"85\"",
        &["fee = \"85.01\""],
        &["fee = \"85.001\""],
        "edition.toml:34:7: error[below_the_minor_unit]",
    );
}

#[test]
fn a_minimum_beside_the_ending_is_told_where_the_ending_may_go_below_it() {
    let told = ["edition.toml:16:18: warning[minimum_beside_the_ending]"];
    let direction = |to| ("edition.toml", "ending_direction = \"up\"", to);
    let (nearest, down) = ("ending_direction = \"nearest\"", "ending_direction = \"down\"");
    let beside = ("edition.toml", "minimum_charge = \"95.00\"", "minimum_charge = \"96.00\"");
    check(&[beside], &[]);
    check(&[direction(down)], &[]);
    check(&[beside, direction(nearest)], &told);
    check(&[beside, direction(down)], &told);
    // without an ending there is nothing to be beside
    check(&[beside, direction(down), ("edition.toml", "ending_to = 5", "ending_to = 0")], &[]);
}

#[test]
fn each_category_that_is_marked_up_has_one_markup() {
    let markup = |to| ("edition.toml", "courier = \"0\"", to);
    check(&[markup("")], &["edition.toml:44:1: error[missing_key]"]);
    check(&[markup("courier = \"0\"\nexchange = 5")], &["edition.toml:49:1: error[unknown_key]"]);
    check(
        &[("edition.toml", "\"labour\", \"test\"", "\"labour\", \"flat\"")],
        &["edition.toml:22:15: error[not_covered_by_flat]"],
    );
}

#[test]
fn the_bench_has_its_edges() {
    let long = |place: &str| format!("{place}: error[too_long]");
    let (within, beyond) = ("1.85,20160,fitter", "1.85,20161,fitter");
    check_edge(("parts.csv", "1.85,6,fitter"), &[within], &[beyond], &long("parts.csv:2:42"));
    let (within, beyond) = ("bench,20160,yes", "bench,20161,yes");
    check_edge(("operations.csv", "bench,20,yes"), &[within], &[beyond], &long("operations.csv:2:22"));
    let (within, beyond) = ("9.50,20160,bench", "9.50,20161,bench");
    check_edge(("tests.csv", "9.50,30,bench"), &[within], &[beyond], &long("tests.csv:2:27"));
    let minutes = |minutes| format!("fee = \"85\"\nminutes = {minutes}");
    let (sound, within, beyond) = (minutes(60), minutes(20_160), minutes(20_161));
    check_edge(("edition.toml", &sound), &[&within], &[&beyond], &long("edition.toml:35:11"));

    let breaks = ("price_breaks.csv", "CAP-470,10,1.60");
    check_edge(
        breaks,
        &["CAP-470,10,1.85"],
        &["CAP-470,10,1.8501"],
        "price_breaks.csv:2:12: error[dearer_in_bulk]",
    );
    check_edge(
        breaks,
        &["CAP-470,0.001,1.60"],
        &["CAP-470,0,1.60"],
        "price_breaks.csv:2:9: error[break_at_nothing]",
    );
    // a break is held against the one before it, and each quantity stands once
    let second = |row| ("price_breaks.csv", "1.60\n", row);
    check(&[second("1.60\nCAP-470,20,1.60\n")], &[]);
    check(&[second("1.60\nCAP-470,20,1.61\n")], &["price_breaks.csv:3:12: error[dearer_in_bulk]"]);
    check(&[second("1.60\nCAP-470,10,1.50\n")], &["price_breaks.csv:3:9: error[given_twice]"]);
    check(&[second("1.60\nCAP-471,10,1.50\n")], &["price_breaks.csv:3:1: error[unknown_part]"]);

    check(&[("parts.csv", "1.85,6,fitter", "1.85,6,")], &["parts.csv:2:44: error[missing_grade]"]);
    check(&[("parts.csv", "0.03,0,", "0.03,0,bench")], &["parts.csv:4:23: error[grade_without_minutes]"]);
}

#[test]
fn wear_has_its_edges() {
    let wear = ("wear.csv", "capacitor,5000,105,65,,");
    let told = |place: &str, code: &str| format!("wear.csv:2:{place}: error[{code}]");
    check_edge(wear, &["capacitor,1,105,65,,"], &["capacitor,0,105,65,,"], &told("17", "no_life"));
    check_edge(
        wear,
        &["capacitor,5000,300,65,,", "capacitor,5000,-100,65,,"],
        &["capacitor,5000,301,65,,", "capacitor,5000,-101,65,,"],
        &told("22", "no_such_temperature"),
    );
    check_edge(
        wear,
        &["capacitor,5000,105,-100,,"],
        &["capacitor,5000,105,-101,,"],
        &told("26", "no_such_temperature"),
    );
    check_edge(wear, &[], &["capacitor,,105,65,,"], &told("17", "missing_wear_value"));
    check_edge(wear, &[], &["capacitor,5000,,65,,"], &told("22", "missing_wear_value"));
    check_edge(wear, &[], &["capacitor,5000,105,,,"], &told("26", "missing_wear_value"));
    check_edge(wear, &[], &["capacitor,5000,105,65,7,"], &told("29", "wear_value_of_the_other_model"));
    check_edge(wear, &[], &["capacitor,5000,105,65,,7"], &told("30", "wear_value_of_the_other_model"));

    let contacts = ("wear.csv", "W-CAP,capacitor,5000,105,65,,");
    let most = &["W-CAP,contacts,,,,1,2", "W-CAP,contacts,,,,1000000000000,2"];
    let more = &["W-CAP,contacts,,,,0,2", "W-CAP,contacts,,,,1000000000001,2"];
    check_edge(contacts, most, more, &told("19", "no_life"));
    check_edge(contacts, &[], &["W-CAP,contacts,,,,,2"], &told("19", "missing_wear_value"));
    check_edge(contacts, &[], &["W-CAP,contacts,,,,7,"], &told("21", "missing_wear_value"));
    check_edge(contacts, &[], &["W-CAP,contacts,8,,,7,2"], &told("16", "wear_value_of_the_other_model"));
}

#[test]
fn families_have_their_edges() {
    let panel = ("families.csv", "900,300,480,24,16");
    let told = |place: &str, code: &str| format!("families.csv:3:{place}[{code}]");
    check_edge(panel, &["900,300,480,600,16"], &["900,300,480,601,16"], &told("35: error", "too_long"));
    check_edge(panel, &["900,300,480,24,24"], &["900,300,480,24,25"], &told("38: error", "long_day"));
    check_edge(panel, &["900,,,24,16"], &["900,,480,24,16"], &told("27: error", "half_an_exchange"));
    check_edge(panel, &[], &["900,300,,24,16"], &told("31: error", "half_an_exchange"));
    check_edge(
        panel,
        &["0.01,300,480,24,16"],
        &["0,300,480,24,16"],
        &told("23: warning", "no_replacement_value"),
    );

    let prices = |rows| ("flat_prices.csv", "PANEL,standard,Panel refreshed,380\n", rows);
    let sound = "PANEL,standard,Panel refreshed,380\nPANEL,minor,Panel refreshed,190\n";
    check(&[prices(sound)], &[]);
    check(&[prices("PANEL,minor,Panel refreshed,380\n")], &["families.csv:3:13: error[no_standard_price]"]);
    let prices = |row| ("flat_prices.csv", "380\n", row);
    check(&[prices("380\nPANEL,standard,Again,190\n")], &["flat_prices.csv:3:7: error[given_twice]"]);
    check(&[prices("380\nPANE,standard,Again,190\n")], &["flat_prices.csv:3:1: error[unknown_family]"]);
    check(
        &[prices("380\nDRV-A,standard,Drive refreshed,190\n")],
        &["flat_prices.csv:3:1: error[flat_price_of_built_up_family]"],
    );
    // what is written twice in one family may stand in another
    let drive = ("families.csv", "DRV-A,Axis drive,built_up", "DRV-A,Axis drive,flat");
    check(&[drive, prices("380\nDRV-A,standard,Drive refreshed,190\n")], &[]);
}

#[test]
fn courier_rates_and_zones_have_their_edges() {
    let rates = ("courier_rates.csv", "DE,10,9.40\nDE,31.5,14");
    let told = |place: &str, code: &str| format!("courier_rates.csv:{place}[{code}]");
    check_edge(
        rates,
        &["DE,0.001,9.40\nDE,31.5,14"],
        &["DE,0,9.40\nDE,31.5,14"],
        &told("2:4: error", "no_weight"),
    );
    check_edge(
        rates,
        &["DE,10,9.40\nDE,31.5,9.40", "DE,31.5,14\nDE,10,9.40"],
        &["DE,10,9.40\nDE,31.5,9.39"],
        &told("3:9: warning", "heavier_is_cheaper"),
    );
    check_edge(rates, &[], &["DE,10,9.40\nDE,10,14"], &told("3:4: error", "given_twice"));
    // of the same weight and cheaper, in any order: the weight is what is wrong
    check_edge(rates, &[], &["DE,10,14\nDE,10,9.40"], &told("2:4: error", "given_twice"));
    check(
        &[("courier_rates.csv", "EU,31.5,22", "EU,31.5,22\nXX,10,22")],
        &["courier_rates.csv:6:1: warning[unused_row]"],
    );

    let zones = |row| ("zones.csv", "ISLES,DE,25\n", row);
    check(&[zones("ISLES,DE,25\nEU,DE,26\nEU,AT,25\n")], &[]);
    check(&[zones("ISLES,DE,25\nEU,DE,25\n")], &["zones.csv:4:4: error[given_twice]"]);
    check(&[zones("ISLES,DE,25\nEU,DE,\n")], &["zones.csv:4:4: error[given_twice]"]);
    check(&[zones("ISLES,DE,25\nEAST,DE,1\n")], &["zones.csv:4:1: error[zone_without_rates]"]);

    let extras = ("extras.csv", "25,labour test flat");
    check_edge(
        extras,
        &["25,part labour test courier flat exchange inspection"],
        &["25,labour surcharge", "25,labour minimum", "25,labour ending"],
        "extras.csv:2:29: error[no_surcharge_on_this]",
    );
    check_edge(extras, &[], &["25,"], "extras.csv:2:29: error[empty_cell]");
}

#[test]
fn what_nothing_refers_to_is_told() {
    let told = |file: &str, place: &str| format!("{file}:{place}: warning[unused_row]");
    let unused = |file: &str, from: &str, row: &str, place: &str| {
        check_edge((file, from), &[], &[&format!("{from}{row}")], &told(file, place));
    };
    unused("grades.csv", "39.50\n", "helper,Helper,20\n", "4:1");
    unused("parts.csv", "0.03,0,\n", "FUSE,Fuse,pc,1,0,\n", "5:1");
    unused("operations.csv", "20,yes\n", "DRY,Drying,bench,20,yes\n", "3:1");
    unused("tests.csv", "bench,1.2\n", "SOAK,Soak,4,9.50,30,bench,1.2\n", "3:1");
    unused("wear.csv", "65,,\n", "W-FAN,capacitor,5000,105,65,,\n", "3:1");
    unused(
        "refresh.csv",
        "always,,\n",
        "R-OLD,part,SCREW,8,,always,,\nR-OLD,part,CAP-470,8,,always,,\n",
        "5:1",
    );
    // each of these uses the row by itself
    let grade = ("grades.csv", "39.50\n", "39.50\nhelper,Helper,20\n");
    check(&[grade, ("parts.csv", "7.20,15,fitter", "7.20,15,helper")], &[]);
    check(&[grade, ("operations.csv", "bench,20,yes", "helper,20,yes")], &[]);
    check(&[grade, ("tests.csv", "30,bench", "30,helper")], &[]);
    check(&[grade, ("edition.toml", "grade = \"bench\"", "grade = \"helper\"")], &[]);
    let soak = ("tests.csv", "bench,1.2\n", "bench,1.2\nSOAK,Soak,4,9.50,30,bench,1.2\n");
    check(&[soak, ("finding_steps.csv", "CLEAN,,\n", "CLEAN,,\nDEAD-CAP,test,SOAK,,\n")], &[]);
    check(&[soak, ("families.csv", "flat,RUN", "flat,SOAK")], &[]);
    let dry = ("operations.csv", "20,yes\n", "20,yes\nDRY,Drying,bench,20,yes\n");
    check(&[dry, ("refresh.csv", "always,,\n", "always,,\nR-DRV,operation,DRY,,,always,,\n")], &[]);
    // a part and an operation of one code are two things
    let clean = ("parts.csv", "0.03,0,\n", "0.03,0,\nCLEAN,Cleaner,pc,1,0,\n");
    check(&[clean], &["parts.csv:5:1: warning[unused_row]"]);
}
