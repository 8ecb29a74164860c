use evenfare_paper::sheet::*;
use evenfare_paper::pdf::*;
fn main() {
    let long = "Donaudampfschifffahrtsgesellschaftskapitänsmützenfabrikationsbetriebsgesellschaft".repeat(3);
    let row = |i: usize| Row { cells: vec![format!("{i}"), if i % 9 == 0 { long.clone() } else { "Electrolytic capacitor 470 µF #panic() *bold* $x$ <label>".into() }, "104\u{a0}min".into(), "1,234.50".into()], strong: false, note: None };
    let sheet = Sheet {
        language: "en".into(), title: "Quote".into(), identity: "x".into(), day: (2026, 7, 1), heading: "Quote".into(), number: "Q-1".into(),
        page: "Page \u{1} of \u{2}".into(), mark: Some("Superseded".into()), confidential: None,
        letterhead: Letterhead { name: "Drehmoment".into(), lines: vec!["Repair".into()], sender: "a · b".into(), foot: vec![vec!["a".into(), "b".into()], vec!["IBAN".into()]], accent: "#1f4e5f".into(), ink: "#10303c".into(), logo: None },
        recipient: vec!["A".into(), long.clone()], facts: vec![Fact { name: "Date".into(), value: "1 July".into() }],
        blocks: vec![
            Block::Heading { text: "Price".into() },
            Block::Table { columns: vec![Column { head: "No".into(), width: Width::Short }, Column { head: "Item".into(), width: Width::Wide }, Column { head: "Quantity".into(), width: Width::Amount }, Column { head: "EUR".into(), width: Width::Amount }],
                groups: vec![Rows { head: Some("Unit U1".into()), rows: (1..40).map(row).collect() }, Rows { head: Some("Unit U2".into()), rows: (1..30).map(row).collect() }], totals: vec![Row::of([String::new(), "Net".into(), String::new(), "9,999,999.00".into()]), Row::strong([String::new(), "Total".into(), String::new(), "9,999,999.00".into()])] },
            Block::Bars { bars: vec![Bar { name: "Cost".into(), amount: "10.00".into(), from: 0, length: 300, strong: false }, Bar { name: "Rest".into(), amount: "10.00".into(), from: 300, length: 700, strong: true }] },
            Block::List { items: vec!["Mains voltage.".into(), "Stored charge.".into()], caution: true },
            Block::Places { labels: vec!["Place and date".into(), "Name".into()] },
        ],
    };
    let file = [Attachment { name: "quote.xml".into(), bytes: b"<a/>".to_vec(), description: "x".into(), media_type: "application/xml".into(), relationship: Relationship::Alternative }];
    for _ in 0..3 {
    let t = std::time::Instant::now();
    let bytes = pdf(&sheet, &file);
    eprintln!("{:?}", t.elapsed());
    std::fs::write("/tmp/try.pdf", bytes.unwrap()).unwrap();
    }
}
