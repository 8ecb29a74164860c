//! What the README shows is what the program says.

use std::fs;

use crate::transcript::{root, run, words};

/// Commands that the README shows with what they say.
const SHOWN: [&str; 1] = ["routes jobs/02-two-partners.toml --tariff tariff"];

#[test]
fn transcripts_in_the_readme_are_what_the_program_says() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    // Between the fences, less the word that may stand behind the first one.
    let fenced: Vec<&str> =
        readme.split("```").skip(1).step_by(2).filter_map(|block| Some(block.split_once('\n')?.1)).collect();
    let shown: Vec<(&str, &str)> =
        fenced.iter().filter_map(|block| block.strip_prefix("$ evenfare ")?.split_once('\n')).collect();
    let lines: Vec<&str> = shown.iter().map(|(line, _)| *line).collect();
    assert_eq!(lines, SHOWN, "the transcripts of README.md");
    for (line, text) in shown {
        let said = run(&words(line));
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{line}");
        assert_eq!(text, said.out, "README.md shows what `evenfare {line}` said before");
    }
}
