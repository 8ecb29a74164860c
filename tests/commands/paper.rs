//! Documents: what is written, what is refused, and that nothing is left half.
#![cfg(feature = "pdf")]

use std::fs;
use std::path::Path;

use crate::transcript::{check, program, run_in, words};
use crate::world::copy;

const TWO: &str = "paper jobs/02-two-partners.toml --tariff tariff";

/// Names and command lines, in this order in one folder.
pub fn transcripts() -> Vec<(&'static str, String)> {
    let twelve = "paper jobs/12-consignment.toml --tariff tariff";
    vec![
        ("paper-quote.txt", format!("{TWO} -o quote.pdf")),
        ("paper-again.txt", format!("{TWO} -o quote.pdf")),
        ("paper-folder.txt", format!("{TWO} --kind partner --as partner:P-OLOM --language de -o .")),
        ("paper-which-partner.txt", format!("{TWO} --kind partner -o none.pdf")),
        ("paper-not-the-seller.txt", format!("{TWO} --as partner:P-BRZEG -o none.pdf")),
        ("paper-not-his.txt", format!("{TWO} --kind office --as partner:P-OLOM -o none.pdf")),
        ("paper-stranger.txt", format!("{TWO} --kind partner --as partner:P-ASSEN -o none.pdf")),
        ("paper-xml.txt", format!("{TWO} --format xml -o .")),
        ("paper-ending.txt", format!("{TWO} --format pdf -o none.xml")),
        ("paper-no-xml.txt", format!("{TWO} --kind bench --format xml -o none.xml")),
        ("paper-all-offers.txt", format!("{twelve} --offer DRIVE -o none.pdf")),
        ("paper-bench.txt", format!("{twelve} --kind bench --offer DRIVE --language pl -o .")),
        ("paper-no-offer.txt", format!("{twelve} --kind bench --offer NONE -o none.pdf")),
        ("paper-invoice.txt", format!("{TWO} --kind invoice -o none.pdf")),
        ("paper-floor.txt", "paper jobs/09-floor-refuses.toml --tariff tariff -o none.pdf".to_owned()),
        ("paper-language.txt", format!("{TWO} --language Polish -o none.pdf")),
        ("paper-no-file.txt", TWO.to_owned()),
        ("paper-no-folder.txt", format!("{TWO} --format xml -o nowhere/none.xml")),
        ("paper-other-ending.txt", format!("{TWO} -o none.txt")),
        ("paper-no-number.txt", "paper Q-2026-1 -o none.pdf".to_owned()),
        ("paper-no-revision.txt", format!("{TWO} --revision 1 -o none.pdf")),
        ("paper-no-store.txt", "paper Q-2026-00001 -o none.pdf".to_owned()),
        ("help-paper.txt", "paper --help".to_owned()),
    ]
}

#[test]
fn documents_are_written_or_refused_as_before() {
    let dir = copy("paper");
    for (name, line) in transcripts() {
        check(&dir, name, &line);
    }
    let mut written: Vec<String> = fs::read_dir(&dir)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.contains('.') && name != "README.md")
        .collect();
    written.sort();
    let expected = [
        "J-2026-0227-draft-bench-DRIVE-pl.pdf",
        "J-2026-0238-draft-partner-P-OLOM-de.pdf",
        "J-2026-0238-draft-quote.xml",
        "quote.pdf",
    ];
    assert_eq!(written, expected, "no document that was refused, and no part of one");
}

#[test]
fn the_ending_of_a_file_says_what_is_written() {
    let dir = copy("paper-ending");
    fs::create_dir(dir.join("folder.xml")).unwrap();
    for (line, file, starts) in [
        ("-o one.xml", "one.xml", "<?xml"),
        ("-o two.XML --format xml", "two.XML", "<?xml"),
        ("-o three.pdf", "three.pdf", "%PDF-"),
        ("-o folder.xml", "folder.xml/J-2026-0238-draft-quote-en.pdf", "%PDF-"),
    ] {
        let said = run_in(&dir, &words(&format!("{TWO} --language en {line}")));
        assert_eq!((said.code, said.err.as_str()), (0, ""), "{line}");
        assert!(fs::read(dir.join(file)).unwrap().starts_with(starts.as_bytes()), "{line}");
    }
    for (line, expected) in [
        ("-o none.pdf --format xml", ".xml"),
        ("-o none.xml --format pdf", ".pdf"),
        ("-o none.txt", ".pdf or .xml"),
        ("-o none.txt --format pdf", ".pdf"),
        ("-o none", ".pdf or .xml"),
        ("-o none/", ".pdf or .xml"),
    ] {
        let said = run_in(&dir, &words(&format!("{TWO} {line}")));
        assert_eq!((said.code, said.out.as_str()), (64, ""), "{line}");
        let told = said.err.split_whitespace().collect::<Vec<_>>().join(" ");
        let expected = format!("expected a name that ends in {expected}, or a folder that is there");
        assert!(told.ends_with(&expected), "{line}: {told}");
        assert!(!dir.join("none.txt").exists() && !dir.join("none").exists(), "{line}");
    }
}

/// What a document writes to standard output.
fn bytes(dir: &Path, line: &str) -> Vec<u8> {
    let output = program(dir, &words(&format!("{line} -o -"))).output().unwrap();
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!((output.status.code(), err.as_str()), (Some(0), ""), "{line}");
    output.stdout
}

#[test]
fn standard_output_has_the_bytes_of_the_file() {
    let dir = copy("paper-bytes");
    let said = run_in(&dir, &words(&format!("{TWO} -o quote.pdf")));
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    let pdf = bytes(&dir, TWO);
    assert_eq!(pdf, fs::read(dir.join("quote.pdf")).unwrap());
    assert!(pdf.starts_with(b"%PDF-") && pdf.len() > 10_000, "{} bytes", pdf.len());
    assert_ne!(pdf, bytes(&dir, &format!("{TWO} --language fr")));
    // The customer and who sells to him hold the same in their hands.
    for reader in ["customer", "accountant", "partner:P-OLOM"] {
        assert!(pdf == bytes(&dir, &format!("{TWO} --as {reader}")), "{reader}");
    }
}

#[test]
fn xml_is_what_its_reader_pays() {
    let dir = copy("paper-xml");
    let payable = |line: &str| {
        let xml = String::from_utf8(bytes(&dir, &format!("{line} --format xml"))).unwrap();
        let tree = roxmltree::Document::parse(&xml).unwrap();
        assert_eq!(tree.root_element().tag_name().name(), "Quotation");
        let total = tree.descendants().find(|node| node.tag_name().name() == "TaxExclusiveAmount").unwrap();
        (total.attribute("currencyID").unwrap().to_owned(), total.text().unwrap().to_owned())
    };
    let eur = |amount: &str| ("EUR".to_owned(), amount.to_owned());
    assert_eq!(payable(TWO), eur("2125.00"));
    assert_eq!(payable(&format!("{TWO} --kind partner --as partner:P-OLOM")), eur("1858.39"));
    assert_eq!(payable(&format!("{TWO} --kind partner --as partner:P-BRZEG")), eur("1555.10"));
}
