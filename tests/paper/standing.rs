//! Every document stands before the published standards.

use std::io::Write;
use std::path::PathBuf;

use evenfare_engine::view::Reader;
use evenfare_paper::ubl;

use crate::asked::demo_jobs;
use crate::drawn::{Document, Kind, Seen, Tally, cases, demo, quotes};
use crate::standards::checker;

#[test]
fn documents_pass_the_published_rules() {
    let checker = match checker() {
        Ok(checker) => checker,
        Err(why) => {
            let _ = writeln!(std::io::stderr().lock(), "documents_pass_the_published_rules: not held: {why}");
            return;
        }
    };
    let folder = tempfile::tempdir().unwrap();
    let (mut files, mut tally): (Vec<PathBuf>, _) = (Vec::new(), Tally::default());
    for (number, job) in demo_jobs().iter().enumerate() {
        let path = folder.path().join(format!("job-{number:02}.xml"));
        std::fs::write(&path, ubl::request(job)).unwrap();
        files.push(path);
    }
    let mut keep = |document: Document<'_>| {
        tally.count(&document);
        if let Ok(xml) = &document.written {
            let path = folder.path().join(format!("{:05}-{:?}.xml", files.len(), document.kind));
            std::fs::write(&path, xml).unwrap();
            files.push(path);
        }
    };
    for quote in demo() {
        Seen::by(&quote, &Reader::Office)
            .each(|document| {
                keep(document);
                Ok(())
            })
            .unwrap();
    }
    let wanted = cases(0).clamp(200, 256);
    let mut drawn = 0_usize;
    quotes("documents_pass_the_published_rules", wanted, |quote| {
        drawn += 1;
        // One sale of each quote: the routes take turns.
        let mut number = 0;
        let sales = quote.offers.iter().map(|offer| offer.sales.len()).sum::<usize>();
        Seen::by(quote, &Reader::Office).each(|document| {
            let sale = (number % (sales * 2)) / 2;
            number += 1;
            // Invoices below nothing differ from credit notes in their signs; some will do.
            if sale == drawn % sales && (document.kind != Kind::Below || drawn.is_multiple_of(4)) {
                keep(document);
            }
            Ok(())
        })
    });
    tally.tell("documents_pass_the_published_rules");
    let least = usize::try_from(wanted).unwrap() / 2;
    assert!(
        tally.of(Kind::Quotation) >= 200
            && tally.of(Kind::Invoice) >= least
            && tally.of(Kind::CreditNote) >= least
    );
    // Yen and dinars, and what takes amounts back: of each a fair part of what is drawn. EN 16931 has no third decimal,
    // so few invoices in dinars can be written.
    let part = least / 10;
    for decimals in [0, 2, 3] {
        assert!(tally.with_decimals(Kind::Quotation, decimals) >= part, "{decimals} decimals");
    }
    for kind in [Kind::Invoice, Kind::CreditNote] {
        assert!(tally.with_decimals(kind, 0) >= part, "{kind:?} of no decimals");
    }
    assert!(tally.of(Kind::Below) >= part);
    // An invoice of nothing has nothing to take back.
    assert!(tally.negative(Kind::Below) >= tally.of(Kind::Below) / 2, "what takes back is below nothing");
    for kind in [Kind::Quotation, Kind::Invoice, Kind::CreditNote] {
        assert!(tally.negative(kind) > 0, "{kind:?} with a line below nothing");
    }
    let kept = files.len();
    if let Err(wrong) = checker.check(&files) {
        panic!("of {kept} files in {}:\n{wrong}", folder.keep().display());
    }
}
