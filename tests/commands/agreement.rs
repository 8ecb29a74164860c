//! What different commands say of one job agrees.

use serde_json::Value;

use crate::transcript::{run, run_in, words};
use crate::world::{copy, jobs, spoil};

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
            let partners: Vec<&str> =
                side["route"].as_array().unwrap().iter().map(|code| code.as_str().unwrap()).collect();
            let route = if partners.is_empty() { "direct".to_owned() } else { partners.join(",") };
            let quote = json(&format!("quote {job} --tariff tariff --route {route} --format json"));
            assert_eq!(&quote["end"]["net_minor"], end, "{job} by {route}");
            for figure in ["workshop_net_minor", "cost_minor", "contribution_minor"] {
                assert_eq!(quote[figure], side[figure], "{figure} of {job} by {route}");
            }
            let shares = |of: &Value, list: &str| -> Vec<(Value, Value)> {
                let each = of[list].as_array().unwrap().iter();
                each.map(|share| (share["partner"].clone(), share["share_minor"].clone())).collect()
            };
            assert_eq!(shares(&quote, "shares"), shares(side, "partners"), "{job} by {route}");
            if side["is_the_jobs_own"] == true {
                for format in ["text", "json"] {
                    let line = format!("quote {job} --tariff tariff --format {format}");
                    let (own, named) = (run(&words(&line)), run(&words(&format!("{line} --route {route}"))));
                    assert!(own.out == named.out && own.code == 0, "{job} by its own route {route}");
                }
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
fn a_program_is_told_why_there_is_no_answer() {
    let told = |line: &str, code: i32| -> Value {
        let line = format!("{line} --tariff tariff --format json");
        let said = run(&words(&line));
        assert_eq!(said.code, code, "{line}");
        assert!(!said.err.is_empty(), "people are told as well: {line}");
        serde_json::from_str(&said.out).unwrap()
    };
    let keys = |value: &Value| value.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    let nine = "quote jobs/09-floor-refuses.toml";
    let (office, customer) = (told(nine, 69), told(&format!("{nine} --as customer"), 69));
    assert_eq!(keys(&customer), ["end_net_minor", "offer", "refused"]);
    for key in keys(&customer) {
        assert_eq!(customer[&key], office[&key]);
    }
    assert_eq!(
        keys(&office),
        ["available_minor", "end_net_minor", "offer", "refused", "refused_by", "shares_minor"]
    );
    assert_eq!((&office["refused"], &office["offer"]), (&"under_the_floor".into(), &"main".into()));
    let wrong = told("quote jobs/02-two-partners.toml --route P-NONE", 64);
    assert_eq!(wrong["refused"], "invalid_input");
    assert_eq!(wrong["problems"][0]["file"], "--route");
    let missing = told("routes jobs/13.toml", 66);
    assert_eq!(
        (&missing["refused"], &missing["problems"][0]["file"]),
        (&"unreadable".into(), &"jobs/13.toml".into())
    );
    assert_eq!(told("quote jobs/02-two-partners.toml --as partner:P-NONE", 64)["refused"], "wrong_usage");
}

#[test]
fn a_wrong_route_hides_no_other_mistake() {
    let dir = copy("wrong-route");
    spoil(&dir, "jobs/02-two-partners.toml", "family = \"MIX-SP4\"", "family = \"MIX-SP5\"");
    let line = "quote jobs/02-two-partners.toml --tariff tariff --route P-NONE";
    let said = run_in(&dir, &words(line));
    assert_eq!((said.code, said.out.as_str()), (65, ""));
    assert!(said.err.contains("--route: found `P-NONE`"), "{}", said.err);
    assert!(said.err.contains("found `MIX-SP5`"), "{}", said.err);
    let said = run_in(&dir, &words(&format!("{line} --format json")));
    let told: Value = serde_json::from_str(&said.out).unwrap();
    let found: Vec<&str> = told["problems"]
        .as_array()
        .unwrap()
        .iter()
        .map(|problem| problem["found"].as_str().unwrap())
        .collect();
    assert_eq!(found, ["P-NONE", "MIX-SP5"]);
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
