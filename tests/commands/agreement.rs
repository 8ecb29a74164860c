//! What different commands say of one job agrees.

use serde_json::Value;

use crate::transcript::{run, words};
use crate::world::jobs;

fn json(line: &str) -> Value {
    let said = run(&words(line));
    assert_eq!((said.code, said.err.as_str()), (0, ""), "{line}");
    assert!(said.out.ends_with("}\n"), "{line}");
    serde_json::from_str(&said.out).unwrap()
}

#[test]
fn the_end_price_is_the_same_in_all_answers() {
    for (_, job) in jobs() {
        let routes = json(&format!("routes {job} --tariff tariff --format json"));
        assert_eq!(routes["end_price_is_the_same"], true, "{job}");
        assert_eq!(routes["vat_due_is_the_same"], true, "{job}");
        let routes = routes["routes"].as_array().unwrap();
        let end = &routes[0]["end_net_minor"];
        assert!(end.is_i64() && routes.len() > 3, "{job}");
        for side in routes.iter().filter(|side| side["refused"].is_null()) {
            assert_eq!(&side["end_net_minor"], end, "{job}");
            if side["is_the_jobs_own"] == true {
                // With the work that the job names, which a route from the command line does not.
                continue;
            }
            let partners: Vec<&str> =
                side["route"].as_array().unwrap().iter().map(|code| code.as_str().unwrap()).collect();
            let route = if partners.is_empty() { "direct".to_owned() } else { partners.join(",") };
            let quote = json(&format!("quote {job} --tariff tariff --route {route} --format json"));
            assert_eq!(&quote["end"]["net_minor"], end, "{job} by {route}");
            for figure in ["workshop_net_minor", "cost_minor", "contribution_minor"] {
                assert_eq!(quote[figure], side[figure], "{figure} of {job} by {route}");
            }
        }
    }
}

#[test]
fn the_accountant_sees_what_the_office_sees() {
    for (number, job) in jobs() {
        for format in ["text", "json"] {
            let as_reader =
                |who: &str| run(&words(&format!("quote {job} --tariff tariff --as {who} --format {format}")));
            let (office, accountant) = (as_reader("office"), as_reader("accountant"));
            assert_eq!((office.out, office.code), (accountant.out, accountant.code));
            assert_eq!(office.code, if number == "09" { 69 } else { 0 });
        }
    }
}

#[test]
fn the_same_bytes_every_time() {
    for (_, job) in jobs() {
        let line = format!("quote {job} --tariff tariff --format json");
        assert_eq!(run(&words(&line)).out, run(&words(&line)).out);
    }
}

#[test]
fn text_for_the_customer_names_nothing_of_the_workshop() {
    let said = run(&words("quote jobs/02-two-partners.toml --tariff tariff --as customer"));
    assert_eq!(said.code, 0);
    for word in ["P-BRZEG", "Brzeg", "cost of", "contribution", "keeps", "share", "carries"] {
        assert!(!said.out.contains(word), "{word}");
    }
    let said = run(&words("quote jobs/02-two-partners.toml --tariff tariff --as partner:P-OLOM"));
    for word in ["cost of", "contribution", "303.29", "1 555.10", "share of P-BRZEG"] {
        assert!(!said.out.contains(word), "{word}");
    }
}
