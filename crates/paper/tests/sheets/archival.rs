//! Every PDF is PDF/A-3a, as another reader finds it, and carries what belongs to it.

use evenfare_engine::language::Language;
use evenfare_paper::pdf::{Attachment, NotSet, Relationship, pdf};
use lopdf::{Dictionary, Document, Object};

use crate::world::{Kind, quote, stationery};

fn attachment() -> Attachment {
    let xml = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Quotation>ł</Quotation>\n";
    Attachment {
        name: "Q-2026-000042.xml".to_owned(),
        bytes: xml.as_bytes().to_vec(),
        description: "Quotation".to_owned(),
        media_type: "application/xml".to_owned(),
        relationship: Relationship::Alternative,
    }
}

/// An entry, behind its reference where it is one.
fn entry<'a>(document: &'a Document, dictionary: &'a Dictionary, key: &str) -> &'a Object {
    let found = dictionary.get(key.as_bytes()).unwrap_or_else(|_| panic!("no /{key}"));
    document.dereference(found).unwrap().1
}

fn sub<'a>(document: &'a Document, dictionary: &'a Dictionary, key: &str) -> &'a Dictionary {
    entry(document, dictionary, key).as_dict().unwrap()
}

#[test]
fn every_kind_is_pdf_a_3a_with_its_xml_inside() {
    let stationery = stationery();
    let quote = quote(2).unwrap();
    for kind in Kind::ALL {
        let sheet = kind.sheet(&quote, &stationery, Language::Polish).unwrap();
        let bytes = pdf(&sheet, &[attachment()]).unwrap();
        let document = Document::load_mem(&bytes).unwrap();
        let catalog = document.catalog().unwrap();

        // What it claims to be (ISO 19005-3, 6.6.4).
        let metadata = entry(&document, catalog, "Metadata").as_stream().unwrap();
        assert!(metadata.dict.get(b"Filter").is_err(), "metadata is plain");
        let xmp = std::str::from_utf8(&metadata.content).unwrap();
        assert!(xmp.contains("<pdfaid:part>3</pdfaid:part>"), "{xmp}");
        assert!(xmp.contains("<pdfaid:conformance>A</pdfaid:conformance>"), "{xmp}");
        assert!(xmp.contains(&sheet.title.replace('&', "&amp;")), "{xmp}");
        // Colours (6.2.3), structure and language (6.7).
        let intents = entry(&document, catalog, "OutputIntents").as_array().unwrap();
        let intent = document.dereference(&intents[0]).unwrap().1.as_dict().unwrap();
        assert_eq!(intent.get(b"S").unwrap().as_name().unwrap(), b"GTS_PDFA1");
        assert!(entry(&document, intent, "DestOutputProfile").as_stream().is_ok());
        assert_eq!(
            sub(&document, catalog, "StructTreeRoot").get(b"Type").unwrap().as_name().unwrap(),
            b"StructTreeRoot"
        );
        assert!(sub(&document, catalog, "MarkInfo").get(b"Marked").unwrap().as_bool().unwrap());
        assert!(entry(&document, catalog, "Lang").as_str().unwrap().starts_with(b"pl"));
        // Every font is inside.
        let descriptors = document.objects.values().filter_map(|object| object.as_dict().ok());
        let is_descriptor = |dictionary: &&Dictionary| {
            dictionary
                .get(b"Type")
                .is_ok_and(|kind| kind.as_name().is_ok_and(|name| name == b"FontDescriptor"))
        };
        let descriptors: Vec<_> = descriptors.filter(is_descriptor).collect();
        assert!(!descriptors.is_empty());
        for descriptor in descriptors {
            assert!(["FontFile", "FontFile2", "FontFile3"].iter().any(|key| descriptor.has(key.as_bytes())));
        }
        // What goes with it (6.8).
        let files = entry(&document, catalog, "AF").as_array().unwrap();
        let [file] = files.as_slice() else { panic!("{} files", files.len()) };
        let file = document.dereference(file).unwrap().1.as_dict().unwrap();
        assert_eq!(file.get(b"AFRelationship").unwrap().as_name().unwrap(), b"Alternative");
        assert!(file.has(b"UF") && file.has(b"Desc"));
        let embedded = entry(&document, sub(&document, file, "EF"), "F").as_stream().unwrap();
        let plain = embedded.decompressed_content().unwrap_or_else(|_| embedded.content.clone());
        assert_eq!(plain, attachment().bytes, "the file is as it was");
    }
}

#[test]
fn the_same_sheet_gives_the_same_bytes() {
    let stationery = stationery();
    let quote = quote(1).unwrap();
    let sheet = Kind::Quote.sheet(&quote, &stationery, Language::Czech).unwrap();
    let first = pdf(&sheet, &[attachment()]).unwrap();
    // Other documents in between leave no trace.
    let other = Kind::Bench.sheet(&quote, &stationery, Language::French).unwrap();
    pdf(&other, &[]).unwrap();
    assert!(pdf(&sheet, &[attachment()]).unwrap() == first);
    let threads: Vec<_> = (0..2)
        .map(|_| {
            let sheet = sheet.clone();
            std::thread::spawn(move || pdf(&sheet, &[attachment()]).unwrap())
        })
        .collect();
    for thread in threads {
        assert!(thread.join().unwrap() == first);
    }
}

#[test]
fn names_of_attachments_are_names() {
    let stationery = stationery();
    let sheet = Kind::Quote.sheet(&quote(1).unwrap(), &stationery, Language::English).unwrap();
    for name in ["", ".", "..", "a/b.xml", "a\\b.xml", "../up.xml", "a\0b"] {
        let found = pdf(&sheet, &[Attachment { name: name.to_owned(), ..attachment() }]);
        assert_eq!(found, Err(NotSet::Name { found: name.to_owned() }), "{name:?}");
    }
    let twice = pdf(&sheet, &[attachment(), attachment()]);
    assert_eq!(twice, Err(NotSet::Name { found: attachment().name }));
}
