//! Quotes that are kept, shown and explained by their numbers.

use crate::month::demo;
use crate::transcript::{Said, run_in, words};

const JOB: &str = "jobs/02-two-partners.toml";
const NUMBER: &str = "Q-2026-00002";

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
    let [job, kept] = [JOB, NUMBER].map(|what| shown(format!("quote {what} --format json")));
    assert_eq!(job, kept);
    let [job, kept] = [JOB, NUMBER].map(|what| shown(format!("explain {what} share.P-OLOM --depth all")));
    assert_eq!(job, kept);

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
