//! The editions of the demo, out and back.

use std::path::{Path, PathBuf};

use evenfare_files::book::{parse_book, write_book};
use evenfare_files::{Folder, parse_tariff};

/// The editions of the demo.
pub fn editions() -> [PathBuf; 3] {
    let tariff = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/bakery/tariff");
    ["2025-07", "2026-01", "2026-07"].map(|edition| tariff.join(edition))
}

#[test]
fn the_demo_comes_back_as_it_was() {
    for dir in editions() {
        let folder = Folder::from_disk(&dir);
        let before = parse_tariff(&folder).unwrap();
        let book = write_book(&folder).unwrap_or_else(|report| panic!("{report}"));
        assert!(book == write_book(&folder).unwrap(), "the same files give the same bytes");
        let imported = parse_book("book.xlsx", &book).unwrap_or_else(|report| panic!("{report}"));
        assert_eq!(imported.changes(), []);
        assert_eq!(imported.warnings().to_string(), "");
        assert_eq!(format!("{:?}", imported.tariffs().editions()), format!("{:?}", before.editions()));
        let mut files = 0;
        for (name, bytes) in imported.files() {
            files += 1;
            let original = std::fs::read(dir.join(name)).unwrap();
            if name.ends_with(".toml") {
                // Before a comment there are two spaces, however many there were.
                let original = String::from_utf8(original).unwrap();
                assert_eq!(spaces(imported.text(name).unwrap()), spaces(&original));
            } else {
                assert!(bytes == original, "{name} of {} is another", dir.display());
            }
        }
        assert_eq!(files, std::fs::read_dir(&dir).unwrap().count());
    }
}

fn spaces(text: &str) -> String {
    text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ") + "\n").collect()
}
