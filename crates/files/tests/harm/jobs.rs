//! Jobs, of 1 MiB at most.

use evenfare_files::parse_job;

use crate::workshop::JOB;
use crate::{MIB, alone, refused, within};

/// What a job may take: every second of its 1,048,576 bytes may be a value for which a whole unit stands.
const MOST: usize = 384;

fn check(name: &str, what: &str, text: impl AsRef<[u8]>, code: &str) {
    assert!(text.as_ref().len() <= MIB, "{what} is {} bytes", text.as_ref().len());
    refused(&within(MOST, what, || parse_job(name, &text)), code);
}

/// As much of a text, again and again, as a job may have.
fn filled(before: &str, with: &str, after: &str) -> String {
    let room = MIB - before.len() - after.len();
    format!("{before}{}{after}", with.repeat(room / with.len()))
}

#[test]
fn json() {
    let _alone = alone();
    let list = |before: &str| filled(before, "1,", "1]}");
    check("j.json", "a list of ones", list("{\"units\": ["), "wrong_kind");
    check("j.json", "empty units", filled("{\"units\": [", "{},", "{}]}"), "missing_key");
    check("j.json", "keys", filled("{", "\"a\":0,", "\"b\":0}"), "json_syntax");
    // Each of the ones would have a path with all of the key in it.
    let long = "k".repeat(MIB / 2);
    check("j.json", "a long key above many values", list(&format!("{{\"{long}\": [")), "unknown_key");
    let key = "k".repeat(8_000);
    let deep = format!("{{\"{key}\":").repeat(60);
    check(
        "j.json",
        "long keys in each other",
        filled(&deep, "[],", &"}".repeat(60)).replacen(":[]", ":[[]", 1),
        "json_syntax",
    );
    check("j.json", "no end", "[".repeat(MIB), "json_syntax");
    check("j.json", "one text", filled("{\"reference\": \"", "9", "\"}"), "not_a_code");
    check("j.json", "one number", filled("{\"reference\": ", "9", "}"), "wrong_kind");
    check("j.json", "one exponent", filled("{\"reference\": 1e", "9", "}"), "wrong_kind");
    check("j.json", "escapes", filled("{\"reference\": \"", "\\u0041", "\"}"), "not_a_code");
}

#[test]
fn toml() {
    let _alone = alone();
    check("j.toml", "a list of ones", filled("units = [", "1,", "]"), "wrong_kind");
    check("j.toml", "empty units", filled("", "[[units]]\n", ""), "missing_key");
    check("j.toml", "tables in each other", filled("", "[", ""), "toml_syntax");
    check("j.toml", "a key in a thousand parts", filled("a", ".a", "=1"), "toml_syntax");
    check("j.toml", "a header in a thousand parts", filled("[a", ".a", "]\n"), "toml_syntax");
    check("j.toml", "the same key", filled("", "a=1\n", ""), "toml_syntax");
    check("j.toml", "equals signs", filled("", "=", ""), "toml_syntax");
    check("j.toml", "lines of nothing", filled("", "\n", ""), "missing_key");
    check("j.toml", "quotes", filled("", "\"", ""), "toml_syntax");
    let long = "k".repeat(MIB / 2);
    check("j.toml", "a long key above many values", filled(&format!("{long} = ["), "1,", "]"), "unknown_key");
}

#[test]
fn xml() {
    let _alone = alone();
    let root =
        "<RequestForQuotation xmlns=\"urn:oasis:names:specification:ubl:schema:xsd:RequestForQuotation-2\">";
    let end = "</RequestForQuotation>";
    let with = |piece: &str| filled(root, piece, end);
    check("j.xml", "elements", with("<a/>"), "too_many_elements");
    check("j.xml", "lines", with("<RequestForQuotationLine/>"), "missing_key");
    // All of the space would be looked at again before each element.
    let space = format!("{root}{}", " ".repeat(MIB / 2));
    check("j.xml", "space before elements", filled(&space, "<a/>", end), "too_many_mistakes");
    let attributes: String = (0..80_000).map(|number| format!(" a{number}=''")).collect();
    check("j.xml", "attributes", format!("{root}<ID{attributes}/>{end}"), "not_a_code");
    let attributes = attributes.replace("a1=", "a2=");
    check("j.xml", "an attribute twice", format!("{root}<ID{attributes}/>{end}"), "xml_syntax");
    check("j.xml", "depth", filled(root, "<a>", ""), "xml_syntax");
    check(
        "j.xml",
        "characters by number",
        filled(&format!("{root}<ID>"), "&#x41;", &format!("</ID>{end}")),
        "not_a_code",
    );
    let laughs =
        "<!DOCTYPE r [<!ENTITY a 'ha'><!ENTITY b '&a;&a;&a;&a;&a;&a;&a;&a;'><!ENTITY c '&b;&b;&b;&b;'>]>";
    check("j.xml", "entities in entities", format!("{laughs}{root}<ID>&c;</ID>{end}"), "xml_doctype");
    check("j.xml", "an entity of nobody", format!("{root}<ID>&c;</ID>{end}"), "xml_entity");
    let outside = "<!DOCTYPE r SYSTEM 'file:///etc/passwd'>";
    check("j.xml", "a file from outside", format!("{outside}{root}{end}"), "xml_doctype");
}

#[test]
fn bytes_that_are_no_text() {
    let _alone = alone();
    for name in ["j.toml", "j.json", "j.xml"] {
        check(name, "no UTF-8", vec![0xFF; MIB], "invalid_utf8");
        check(name, "zeros", vec![0; MIB], "not_text");
        // Longer than it needs to be written, half of a pair, and beyond the last character.
        for bytes in [&b"\xC0\xAF"[..], b"\xED\xA0\x80", b"\xF4\x90\x80\x80", b"\xE2\x82"] {
            check(name, "no UTF-8", bytes.repeat(1_000), "invalid_utf8");
        }
        refused(&within(4, "too much", || parse_job(name, vec![b' '; MIB + 1])), "file_too_large");
    }
}

#[test]
fn numbers_of_ten_thousand_digits() {
    let _alone = alone();
    let sound = within(8, "a sound job", || parse_job("j.toml", JOB));
    assert_eq!(sound, "");
    let digits = "9".repeat(10_000);
    let fraction = format!("0.{}1", "0".repeat(10_000));
    for (value, quotes) in [("\"1200\"", "\""), ("410000", ""), ("\"40.5\"", "\""), ("\"12.4\"", "\"")] {
        for number in [&digits, &fraction, &format!("-{digits}"), &format!("{digits}.{digits}")] {
            assert!(JOB.contains(value));
            let text = JOB.replacen(value, &format!("{quotes}{number}{quotes}"), 1);
            let told = within(8, "digits", || parse_job("j.toml", text));
            assert!(told.starts_with("j.toml:"), "{value}: {told}");
        }
    }
    // What comes to the same may be written at any length.
    let zeros = format!("\"1200.{}\"", "0".repeat(10_000));
    let told = within(8, "zeros", || parse_job("j.toml", JOB.replacen("\"1200\"", &zeros, 1)));
    assert!(told.is_empty() || told.contains("too_many_decimals"), "{told}");
}
