//! Quotes that are kept: listed, and shown and explained by their numbers; and where they are kept.

use std::process::Command;

use serde_json::{Value, json};

use crate::month::demo;
use crate::transcript::{Said, check, program, run_in, words};

const JOB: &str = "jobs/02-two-partners.toml";
const NUMBER: &str = "Q-2026-00002";

/// Name and command line of each transcript on the store of the demo.
pub const TRANSCRIPTS: [(&str, &str); 8] = [
    ("quotes.txt", "quotes"),
    ("quotes-page.txt", "quotes --most 3 --before Q-2026-00006"),
    ("quotes-partner.txt", "quotes --partner P-OLOM --from 2026-10-05 --until 2026-10-05"),
    ("quotes-partner.json", "quotes --partner P-BRZEGG --format json"),
    ("quotes-state.txt", "quotes --state open,lost"),
    ("quotes-series.txt", "quotes --series q"),
    ("quotes-before.txt", "quotes --before R-2026-00001"),
    ("quotes-backwards.txt", "quotes --from 2026-12-31 --until 2026-07-01"),
];

#[test]
fn kept_quotes_are_listed() {
    let dir = demo("quotes");
    for (name, line) in TRANSCRIPTS {
        check(&dir, name, line);
    }
}

#[test]
fn pages_go_on_until_all_is_listed_and_each_is_as_its_number_shows_it() {
    let dir = demo("quotes-pages");
    let json = |line: &str| -> Value {
        let said = run_in(&dir, &words(&format!("{line} --format json")));
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{line}");
        serde_json::from_str(&said.out).unwrap()
    };
    let all = json("quotes");
    assert_eq!(all["before"], Value::Null);
    let all = all["quotes"].as_array().unwrap();
    let (mut paged, mut more) = (Vec::new(), String::new());
    loop {
        let page = json(&format!("quotes --most 4{more}"));
        paged.extend(page["quotes"].as_array().unwrap().clone());
        let Some(before) = page["before"].as_str() else { break };
        assert_eq!(Some(before), paged.last().unwrap()["number"].as_str());
        more = format!(" --before {before}");
    }
    assert_eq!(&paged, all);
    assert_eq!(json("quotes --series Q")["quotes"].as_array(), Some(all));
    assert_eq!(json("quotes --series QS")["quotes"], json!([]));
    assert!(all.len() > 8, "{}", all.len());
    for line in all {
        let quote = json(&format!("quote {}", line["number"].as_str().unwrap()));
        for key in [
            "number",
            "revision",
            "state",
            "reference",
            "quoted",
            "valid_until",
            "currency",
            "accepted_offer",
        ] {
            assert_eq!(line[key], quote[key], "{key} of {line}");
        }
        assert_eq!(line["customer"], quote["customer"]["name"]);
        let net = &quote["end"]["net_minor"];
        assert_eq!(&line["end_net_minor"], net);
        let accepted = if line["state"] == "accepted" { net } else { &Value::Null };
        assert_eq!(&line["accepted_net_minor"], accepted);
    }
}

/// A tariff that is named beside a number would be looked at in vain; the environment names it for all commands.
#[test]
fn a_tariff_of_the_environment_is_for_jobs_alone() {
    let dir = demo("kept-tariff");
    let code = |tariff: &str, line: &str| {
        let output = program(&dir, &words(line)).env("EVENFARE_TARIFF", tariff).output().unwrap();
        output.status.code()
    };
    let job = format!("quote {JOB}");
    assert_eq!(code("tariff", &job), Some(0));
    assert_eq!(code("nowhere", &job), Some(66));
    assert_eq!(code("nowhere", &format!("{job} --tariff tariff")), Some(0));
    assert_eq!(code("nowhere", &format!("quote {NUMBER}")), Some(0));
}

/// `VARIABLE=` is how many a script says that there is none.
#[test]
fn an_empty_variable_names_no_tariff_and_no_store() {
    let dir = demo("kept-empty");
    let said = |mut command: Command| {
        let output = command.output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        (output.stdout, output.stderr)
    };
    let empty = |line: &str| {
        let mut command = program(&dir, &words(line));
        command.env("EVENFARE_TARIFF", "");
        said(command)
    };
    let month = String::from("reconcile books --month 2026-10");
    for line in [format!("quote {JOB}"), format!("quote {NUMBER}"), month] {
        assert_eq!(empty(&line), said(program(&dir, &words(&line))), "{line}");
    }
    empty("close books 2026-09");
    // Another store than the one that was meant would give numbers out anew.
    let output = program(&dir, &words("quotes")).env("EVENFARE_DATABASE", "").output().unwrap();
    assert_eq!(output.status.code(), Some(64), "{output:?}");
}

#[test]
fn a_kept_quote_is_shown_as_it_was_priced() {
    let dir = demo("kept");
    let said = |line: String| run_in(&dir, &words(&line));
    let shown = |line: String| {
        let Said { out, err, code } = said(line);
        assert_eq!((code, err.as_str()), (0, ""), "{out}");
        out
    };
    for command in ["quote", "explain"] {
        for more in ["", " --as partner:P-OLOM", " --as customer"] {
            let [job, kept] = [JOB, NUMBER].map(|what| shown(format!("{command} {what}{more}")));
            let is_its_own = |line: &&str| line.starts_with("Number");
            let number = kept.lines().find(is_its_own);
            let expected = (command == "quote").then_some("Number    Q-2026-00002, accepted on 2026-10-06");
            assert_eq!(number, expected);
            let rest: Vec<&str> = kept.lines().filter(|line| !is_its_own(line)).collect();
            assert_eq!(rest, job.lines().collect::<Vec<_>>(), "{command}{more}");
        }
    }
    let [job, mut kept] = [JOB, NUMBER]
        .map(|what| serde_json::from_str::<Value>(&shown(format!("quote {what} --format json"))).unwrap());
    let became = ["number", "state", "accepted_offer", "settled"];
    let became = became.map(|key| kept.as_object_mut().unwrap().remove(key).unwrap());
    assert_eq!(became, [json!(NUMBER), json!("accepted"), json!("main"), json!("2026-10-06")]);
    assert_eq!(job, kept);
    for line in ["explain WHAT share.P-OLOM --depth all", "routes WHAT", "routes WHAT --format json"] {
        let [job, kept] = [JOB, NUMBER].map(|what| shown(line.replace("WHAT", what)));
        assert_eq!(job, kept, "{line}");
    }

    let refused = |line: String| {
        let Said { out, err, code } = said(line);
        assert_eq!((code, out.as_str()), (64, ""), "{err}");
        err.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let none = "Q-2026-00099";
    // Whose quote it is not learns no more than of one that is not there.
    for reader in ["office", "partner:P-ASSEN"] {
        let unknown = refused(format!("quote {none} --as {reader}"));
        assert_eq!(unknown, format!("error: there is no {none} in evenfare.db"));
    }
    let foreign = refused(format!("quote {NUMBER} --as partner:P-ASSEN"));
    assert_eq!(foreign.replace(NUMBER, none), format!("error: there is no {none} in evenfare.db"));
    let invoice = refused("quote R-2026-00003".to_owned());
    assert_eq!(invoice, format!("error: R-2026-00003 is an invoice; its quote is {NUMBER}"));
    for (line, told) in [
        (format!("quote {NUMBER} --revision 2"), "there is no revision 2 of Q-2026-00002 in evenfare.db"),
        (format!("quote {NUMBER} --route direct"), "is kept with its route; --route is for a job"),
        (format!("quote {NUMBER} --tariff tariff"), "is kept with its prices; --tariff is for a job"),
        (format!("routes {NUMBER} --tariff tariff"), "is kept with its prices; --tariff is for a job"),
        (format!("routes {none}"), "there is no Q-2026-00099 in evenfare.db"),
        (format!("explain {NUMBER} --tariff tariff"), "is kept with its prices; --tariff is for a job"),
        (
            format!("paper {NUMBER} --tariff tariff -o a.pdf"),
            "is kept with its prices; --tariff is for a job",
        ),
        (format!("quote {JOB} --revision 1"), "--revision is of a quote that is kept; name it by its number"),
        (
            "quote Q-2026-2".to_owned(),
            "Q-2026-2: not a number; expected one such as Q-2026-00017, or a job file",
        ),
    ] {
        let said = refused(line);
        assert!(said.ends_with(told), "{said}");
    }
    let elsewhere = said(format!("quote {NUMBER} --database none.db"));
    assert_eq!((elsewhere.code, elsewhere.out.as_str()), (66, ""), "{}", elsewhere.err);
}

/// What is said to be done works as it is said, also where the store is in another place.
#[test]
fn the_way_to_answer_names_the_store() {
    let dir = demo("month-elsewhere");
    let elsewhere = "./evenfare.db";
    assert_eq!(run_in(&dir, &words("close books 2026-09")).code, 0);
    let told = |mut command: Command| {
        let output = command.output().unwrap();
        assert_eq!(output.status.code(), Some(69));
        let said = String::from_utf8(output.stderr).unwrap();
        said.split_whitespace().collect::<Vec<_>>().join(" ").split('`').nth(1).unwrap().to_owned()
    };
    let close = program(&dir, &words(&format!("close books 2026-10 --database {elsewhere}")));
    let named = told(close);
    assert_eq!(named, format!("evenfare reconcile books --month 2026-10 --database {elsewhere}"));
    let shown = run_in(&dir, &words(named.strip_prefix("evenfare ").unwrap()));
    assert!(shown.code == 0 && shown.out.contains("QUESTION 1"), "{}", shown.err);
    // The environment says it to both.
    let mut close = program(&dir, &words("close books 2026-10"));
    close.env("EVENFARE_DATABASE", elsewhere);
    assert_eq!(told(close), "evenfare reconcile books --month 2026-10");
}
