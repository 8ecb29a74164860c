//! What the README shows is what the program says, and its commands work in the order in which it names them.

use std::fs;

use crate::transcript::{root, run, words};

/// Commands that the README shows with what they say.
const SHOWN: [&str; 1] = ["routes jobs/02-two-partners.toml"];

/// The README's fenced blocks, in order: the word behind the first fence, and what stands between the two.
fn blocks(readme: &str) -> Vec<(&str, &str)> {
    readme.split("```").skip(1).step_by(2).filter_map(|block| block.split_once('\n')).collect()
}

fn readme() -> String {
    fs::read_to_string(root().join("README.md")).unwrap()
}

#[test]
fn transcripts_in_the_readme_are_what_the_program_says() {
    let readme = readme();
    let blocks = blocks(&readme);
    let shown: Vec<(&str, &str)> =
        blocks.iter().filter_map(|(_, block)| block.strip_prefix("$ evenfare ")?.split_once('\n')).collect();
    let lines: Vec<&str> = shown.iter().map(|(line, _)| *line).collect();
    assert_eq!(lines, SHOWN, "the transcripts of README.md");
    for (line, text) in shown {
        let said = run(&words(line));
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{line}");
        assert_eq!(text, said.out, "README.md shows what `evenfare {line}` said before");
    }
}

/// Said once, by the program.
#[test]
fn exit_codes_in_the_readme_are_those_of_help() {
    let help = run(&["--help"]).out;
    let listed = help.split_once("Exit codes:\n").unwrap().1.split("\n\n").next().unwrap();
    let mut rows: Vec<(&str, String)> = Vec::new();
    for line in listed.lines().map(str::trim) {
        match line.split_once("  ") {
            Some((code, means)) => rows.push((code, means.to_owned())),
            None => rows.last_mut().unwrap().1.push_str(&format!(" {line}")),
        }
    }
    assert!(rows.iter().all(|(code, _)| code.parse::<u8>().is_ok()) && rows.len() > 5, "{rows:?}");
    let rows: String = rows.iter().map(|(code, means)| format!("| {code} | {means} |\n")).collect();
    let table = format!("| exit code | means |\n| --- | --- |\n{rows}\n");
    assert!(readme().contains(&table), "README.md has another table than\n{table}");
}

/// In the folder that the demo has written, as somebody does who has just come.
#[cfg(all(feature = "pdf", feature = "workbook"))]
mod walked {
    use std::collections::BTreeSet;

    use evenfare::wire::pb;
    use evenfare::wire::pb::office_service_client::OfficeServiceClient;
    use serde_json::Value;

    use super::{blocks, readme};
    use crate::harness::{Server, connect};
    use crate::month::demo;
    use crate::transcript::{program, run_in, words};
    use crate::world::empty;

    /// What is not run here: the demo, which the folder is made by; what cargo does; the server, which is run on
    /// a port of its own.
    const APART: [&str; 4] =
        ["cargo run -- demo", "cargo test", "cargo install --path . && cd evenfare-demo", "evenfare serve"];

    /// What is to be done or seen, in the order of the README.
    #[derive(Debug)]
    enum Step {
        /// A line of a shell, or a command in the text.
        Run(String),
        /// Of what the command before printed, pieces in their order.
        Seen(Vec<String>),
    }

    fn steps(readme: &str) -> Vec<Step> {
        let mut steps = Vec::new();
        for (at, part) in readme.split("```").enumerate() {
            if at % 2 == 0 {
                steps.extend(in_the_text(part).map(Step::Run));
                continue;
            }
            match part.split_once('\n').unwrap() {
                ("sh", lines) => steps.extend(lines.lines().filter_map(command).map(Step::Run)),
                ("text", shown) if !shown.starts_with("$ ") => {
                    let pieces = shown.split("...\n").map(str::to_owned);
                    steps.push(Step::Seen(pieces.filter(|piece| !piece.is_empty()).collect()));
                }
                _ => {}
            }
        }
        steps
    }

    /// A line without what is said beside it.
    fn command(line: &str) -> Option<String> {
        let line = line.split(" #").next().unwrap().trim();
        (!line.is_empty() && !line.starts_with('#')).then(|| line.to_owned())
    }

    /// Commands in the text that could be typed as they stand: with something to work on, and no word in their
    /// place that stands for another.
    fn in_the_text(text: &str) -> impl Iterator<Item = String> {
        let stands_for_another = |word: &&str| {
            let name = word.trim_start_matches('[').split(['.', ']']).next().unwrap_or_default();
            name.len() > 1 && name.bytes().all(|byte| byte.is_ascii_uppercase())
        };
        let spans = text.split('`').skip(1).step_by(2);
        let lines = spans.map(|span| span.split_whitespace().collect::<Vec<_>>());
        let whole = lines.filter(move |words| {
            words.len() > 2 && words[0] == "evenfare" && !words.iter().any(stands_for_another)
        });
        whole.map(|words| words.join(" ")).collect::<Vec<_>>().into_iter()
    }

    #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
    async fn every_command_of_the_readme_works_in_the_folder_of_the_demo() {
        let above = empty("readme");
        let demo = run_in(&above, &["demo", "--no-paper"]);
        assert_eq!(demo.code, 0, "{}", demo.err);
        let dir = above.join("evenfare-demo");
        let readme = readme();
        let (mut apart, mut run, mut seen) = (Vec::new(), 0, 0);
        let (mut last, mut office) = (String::new(), None::<String>);
        for step in steps(&readme) {
            match step {
                Step::Run(line) if APART.contains(&line.as_str()) => {
                    if line == "evenfare serve" {
                        let token = office.clone().expect("somebody may call before the server is started");
                        assert_eq!(quotes_of_a_server(&dir, &token).await, 11);
                    }
                    apart.push(line);
                }
                Step::Run(line) => {
                    let args = line.strip_prefix("evenfare ").unwrap_or_else(|| panic!("what is {line:?}?"));
                    let said = run_in(&dir, &words(&args.split_whitespace().collect::<Vec<_>>().join(" ")));
                    assert_eq!(said.code, 0, "{line}\n{}{}", said.out, said.err);
                    if line.ends_with("--role office") {
                        office = said
                            .out
                            .lines()
                            .find_map(|line| line.strip_prefix("authorization: Bearer "))
                            .map(str::to_owned);
                    }
                    last = said.out;
                    run += 1;
                }
                Step::Seen(pieces) => {
                    let mut rest = last.as_str();
                    for piece in pieces {
                        let found = rest.split_once(&piece);
                        rest = found.unwrap_or_else(|| panic!("{piece}\nis not, or not there, in\n{last}")).1;
                    }
                    seen += 1;
                }
            }
        }
        assert_eq!(apart, APART, "each of these once, in this order");
        assert!(run >= 13 && seen == 1, "{run} commands run, {seen} excerpts seen");
        assert!(blocks(&readme).iter().all(|(kind, _)| ["sh", "text", "toml", "rust"].contains(kind)));
    }

    /// Command lines, each with the first cell of its row.
    const ANSWERS: [(&str, &str); 8] = [
        ("routes", "routes jobs/02-two-partners.toml"),
        ("reconcile", "reconcile books --month 2026-10"),
        ("close", "close books 2026-09"),
        ("audit", "audit"),
        ("tariff check", "tariff check tariff"),
        ("tariff try", "tariff try tariff --from 2026-07-01 --until 2026-12-31"),
        ("tariff import", "tariff import prices.xlsx drafts/2026-07"),
        ("caller list", "caller list"),
    ];

    #[test]
    fn the_keys_of_answers_as_json_are_those_in_the_readme() {
        let dir = demo("readme-keys");
        assert_eq!(run_in(&dir, &words("tariff export tariff/2026-07 prices.xlsx")).code, 0);
        let readme = readme();
        let table = readme.split_once("| command | keys | besides |\n").unwrap().1;
        let rows: Vec<_> = table.lines().skip(1).map_while(|row| row.strip_prefix("| ")).collect();
        assert_eq!(rows.len(), ANSWERS.len());
        for (row, (command, line)) in rows.into_iter().zip(ANSWERS) {
            let mut cells = row.split(" | ").map(|cell| cell.split('`').skip(1).step_by(2));
            assert_eq!(cells.next().unwrap().collect::<Vec<_>>(), [command]);
            let listed: BTreeSet<String> = cells.next().unwrap().map(str::to_owned).collect();
            let said = run_in(&dir, &words(&format!("{line} --format json")));
            assert_eq!(said.code, 0, "{line}: {}", said.err);
            let json: Value = serde_json::from_str(&said.out).unwrap();
            let object = json.as_array().map_or(&json, |all| &all[0]).as_object().unwrap();
            let list = |value: &Value| if value.is_array() { "[]" } else { "" };
            let printed: BTreeSet<_> =
                object.iter().map(|(key, value)| format!("{key}{}", list(value))).collect();
            assert_eq!(listed, printed, "{line}");
        }
    }

    /// How many quotes somebody lists at a server on the demo's store.
    async fn quotes_of_a_server(dir: &std::path::Path, token: &str) -> usize {
        let server = Server::start_by(program(dir, &[]), "evenfare.db", &[]);
        let mut office = OfficeServiceClient::new(connect(&server.url, token).await);
        office.list_quotes(pb::ListQuotesRequest::default()).await.unwrap().into_inner().quotes.len()
    }
}
