//! A proposed edition, tried on quotes of the demo world.

use std::path::{Path, PathBuf};

use evenfare_engine::job::Job;
use evenfare_engine::quote;
use evenfare_engine::tariff::Edition;
use evenfare_files::{Folder, parse_tariff, read_job};
use evenfare_reconcile::agreed::NotAgreed;
use evenfare_reconcile::firm::Firms;
use evenfare_reconcile::what_if::{NotTried, Past, Proposal, Refusals, Trial, Tried, lines};

use crate::world::currency;

fn bakery() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery")
}

fn job(name: &str) -> Job {
    read_job(&bakery().join(format!("jobs/{name}.toml"))).unwrap().0
}

/// An edition of the demo world, with other words in some of its files: the file, what stood there, what stands there.
fn edition(name: &str, changes: &[(&str, &str, &str)]) -> Edition {
    let files = std::fs::read_dir(bakery().join("tariff").join(name)).unwrap().map(|entry| {
        let path = entry.unwrap().path();
        let file = path.file_name().unwrap().to_str().unwrap();
        let mut bytes = std::fs::read(&path).unwrap();
        for (_, old, new) in changes.iter().filter(|(of, ..)| *of == file) {
            let text = String::from_utf8(bytes).unwrap();
            assert!(text.contains(old), "{name}/{file} has no {old}");
            bytes = text.replacen(old, new, 1).into_bytes();
        }
        (format!("{name}/{file}"), bytes)
    });
    parse_tariff(&Folder::from_files("tariff", files)).unwrap().editions()[0].clone()
}

/// What an offer of a job, quoted by the edition of July, would have come to by another.
fn tried(job: &Job, accepted: Option<&str>, proposed: Edition) -> Tried {
    let published = [edition("2026-07", &[])];
    let quote = quote(job, &published[0]).unwrap();
    let past = Past { number: "Q-2026-00002", job, quote: &quote, accepted };
    Proposal::new(proposed, &published).tried(&past, &mut Firms::default()).unwrap()
}

/// The figures are those of the demo world's quote.
#[test]
fn a_line_says_both_of_each_figure() {
    let job = job("02-two-partners");
    let same = tried(&job, None, edition("2026-07", &[]));
    let of_quote =
        ["Q-2026-00002", "1", "J-2026-0238", "2026-10-05", "2026-07", "main", "P-BRZEG P-OLOM", "EUR"];
    let figures = ["2125.00", "569.90", "1555.10", "1208.57", "346.53"].map(|figure| [figure, figure]);
    let expect = [&of_quote[..], &figures.concat()[..], &["", ""]].concat();
    assert_eq!(lines::line(&same).unwrap().as_slice(), expect);
    // Dearer parts: what it came to stays, and what it would come to is another.
    let dearer = tried(&job, None, edition("2026-07", &[("edition.toml", "part = \"60\"", "part = \"75\"")]));
    let (line, now) = (lines::line(&dearer).unwrap(), dearer.now.as_ref().unwrap());
    assert_eq!((dearer.then, line[8].as_str()), (same.then, "2125.00"));
    assert!(now.end_net_minor > dearer.then.end_net_minor, "{now:?}");
    assert_eq!(line[9].replace('.', ""), now.end_net_minor.to_string());
    // Nothing but the reason stands in the place of what it would come to.
    let refused = tried(&self::job("04-swiss-francs"), None, edition("2025-07", &[]));
    let line = lines::line(&refused).unwrap();
    assert_eq!([&*line[8], &*line[9], &*line[18]], ["1471.05", "", "unknown_partner"]);
    assert!(line[19].starts_with("route[0].partner: found `P-OLTEN`, expected "), "{}", line[19]);
}

/// The job names no currency, and the edition that is tried has another: 2125.00 EUR are 1956.49 CHF of that day.
#[test]
fn a_quote_is_tried_in_its_own_currency() {
    let job = job("02-two-partners");
    let francs = edition("2026-07", &[("edition.toml", "currency = \"EUR\"", "currency = \"CHF\"")]);
    let one = tried(&job, None, francs.clone());
    let in_euros = Job { currency: Some(currency("EUR")), ..job };
    let expect = quote(&in_euros, &francs).unwrap().main().unwrap().end.net.minor();
    assert_eq!((one.currency, one.now.as_ref().unwrap().end_net_minor), (currency("EUR"), expect));
    let mut trial = Trial::new(&francs);
    trial.add(&one).unwrap();
    assert_eq!((trial.currency, trial.converted), (currency("CHF"), 1));
    assert_eq!(trial.all.then.end_net_minor, 195_649);
}

/// Sent back as it came, little is left to the workshop: one agreement scales what the partner keeps, the other refuses.
#[test]
fn the_floor_refuses_one_offer_and_leaves_the_other() {
    let mut job = job("04-swiss-francs");
    job.alternatives = self::job("10-uneconomic").alternatives;
    job.alternatives.truncate(1);
    let (scales, refuses) = ("A-OLTEN-26,P-OLTEN,2026-01-01,,scale", "A-OLTEN-26,P-OLTEN,2026-01-01,,refuse");
    let proposed = edition("2026-07", &[("agreements.csv", scales, refuses)]);
    for accepted in [None, Some("main")] {
        let main = tried(&job, accepted, proposed.clone());
        assert_eq!((&*main.offer, main.now), ("main", Ok(main.then)));
    }
    let back = tried(&job, Some("BACK"), proposed);
    let objection = back.now.as_ref().unwrap_err();
    assert_eq!((&*back.offer, objection.code), ("BACK", "under_the_floor"));
    assert!(objection.text.contains("P-OLTEN"), "{}", objection.text);
}

/// No rate says what the quote is worth in the currency of the trial: it is counted, and adds nothing.
#[test]
fn what_cannot_be_converted_is_refused() {
    let (rate, both) = ("2026-07-01,USD,1.1290\n", "2026-07-01,USD,1.1290\n2026-07-01,NOK,11.25\n");
    let crowns =
        [("edition.toml", "currency = \"EUR\"", "currency = \"NOK\""), ("currency_rates.csv", rate, both)];
    let crowns = edition("2026-07", &crowns);
    let one = tried(&job("01-direct-oven"), None, crowns.clone());
    let mut trial = Trial::new(&crowns);
    trial.add(&one).unwrap();
    let Refusals { quotes, end_net_minor, .. } = trial.refused["no_currency_rate"];
    assert_eq!((quotes, end_net_minor, trial.refusals(), trial.all.then.quotes), (1, 0, 1, 0));
}

#[test]
fn what_is_no_quote_of_a_published_edition_is_not_tried() {
    let (job, published) = (job("01-direct-oven"), [edition("2026-07", &[])]);
    let proposal = Proposal::new(edition("2026-07", &[]), &[edition("2026-01", &[])]);
    let issued = quote(&job, &published[0]).unwrap();
    let past = Past { number: "Q-1", job: &job, quote: &issued, accepted: None };
    let unknown = NotTried::UnknownEdition("2026-07".parse().unwrap());
    assert_eq!(proposal.tried(&past, &mut Firms::default()), Err(unknown));
    let reversed = issued.reversed().unwrap();
    let past = Past { quote: &reversed, ..past };
    let taken_back = Proposal::new(edition("2026-07", &[]), &published).tried(&past, &mut Firms::default());
    assert_eq!(taken_back, Err(NotTried::NotAgreed(NotAgreed::Reversal)));
}
