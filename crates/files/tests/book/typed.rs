//! Cells as people type them.

use evenfare_files::book::parse_book;
use rust_xlsxwriter::{Format, Workbook};

use crate::by_hand::{Put, book, write};

/// What is told of changes, line by line, and the lines of a file that they are in.
fn check_changes(cells: &[(&str, &str, Put)], told: &[&str], file: &str, line: &str) {
    let imported = parse_book("b.xlsx", &book(cells, |_| {})).unwrap_or_else(|report| panic!("{report}"));
    let changes: Vec<String> = imported.changes().iter().map(ToString::to_string).collect();
    assert_eq!(changes, told);
    let text = imported.text(file).unwrap();
    assert!(text.lines().any(|other| other == line), "no {line} in\n{text}");
}

/// All that is wrong with a book.
fn check_mistakes(cells: &[(&str, &str, Put)], told: &[&str]) {
    let report = parse_book("b.xlsx", &book(cells, |_| {})).unwrap_err();
    let lines: Vec<String> = report.iter().map(|mistake| mistake.located().to_string()).collect();
    assert_eq!(lines, told);
}

#[test]
fn a_book_made_by_hand_is_an_edition() {
    let imported = parse_book("b.xlsx", &book(&[], |_| {})).unwrap_or_else(|report| panic!("{report}"));
    assert_eq!(imported.changes(), []);
    let keys = imported.text("edition.toml").unwrap();
    // Decimals in quotes, whole numbers without, as their keys want them.
    for line in
        ["ending_to = \"5\"", "volumetric_divisor = 5000", "flat_covers = [\"part\", \"labour\", \"test\"]"]
    {
        assert!(keys.lines().any(|other| other == line), "no {line} in\n{keys}");
    }
}

#[test]
fn numbers_are_rounded_to_their_column_and_it_is_told() {
    check_changes(
        &[
            ("parts", "D2", Put::Number(1.1 + 2.2)),
            ("parts", "D3", Put::Number(12.30)),
            ("parts", "D4", Put::Number(1e-7)),
        ],
        &[
            "parts!D2: found `3.3000000000000003`, taken `3.3`: rounded to the decimals of its column",
            "parts!D4: found `0.0000001`, taken `0`: rounded to the decimals of its column",
        ],
        "parts.csv",
        "RELAY-4,Relay 4 A,pc,12.3,15,fitter",
    );
    check_changes(
        &[("tests", "C2", Put::Number(4.0005)), ("currency_rates", "C2", Put::Number(0.932_100_5))],
        &[
            "tests!C2: found `4.0005`, taken `4.001`: rounded to the decimals of its column",
            "currency_rates!C2: found `0.9321005`, taken `0.932101`: rounded to the decimals of its column",
        ],
        "currency_rates.csv",
        "2026-07-01,CHF,0.932101",
    );
    check_changes(
        &[
            ("edition.toml", "B16", Put::Number(95.0)),
            ("edition.toml", "B26", Put::Number(4_999.999_999_999_999)),
        ],
        &["edition.toml!B26: found `4999.999999999999`, taken `5000`: rounded to the decimals of its column"],
        "edition.toml",
        "minimum_charge = \"95\"",
    );
}

#[test]
fn a_number_for_text_is_told_as_zeros_may_be_lost() {
    let zeros = "a number where text belongs; see that it lacks no zeros in front";
    check_changes(
        &[("partners", "D2", Put::Number(1067.0)), ("partners", "A2", Put::Text("P-1"))],
        &[&format!("partners!D2: found `1067`, taken `1067`: {zeros}")],
        "partners.csv",
        "P-1,Beispielpartner Nord,Musterkai 3,1067,Hamburg,DE,DE222222220,",
    );
    check_changes(
        &[("partners", "D2", Put::Text("01067"))],
        &[],
        "partners.csv",
        "P-1,Beispielpartner Nord,Musterkai 3,01067,Hamburg,DE,DE222222220,",
    );
}

#[test]
fn a_percentage_is_no_number() {
    let cells = [
        ("edition.toml", "B16", Put::Shown(0.95, "0%")),
        ("parts", "D3", Put::Shown(0.125, "0.00%;[Red]-0.00%")),
        ("vat_rates", "D2", Put::Shown(0.19, "0\" \"%")),
    ];
    let report = parse_book("b.xlsx", &book(&cells, |_| {})).unwrap_err();
    let lines = report.iter().map(|mistake| mistake.located().to_string());
    let mut lines: Vec<String> = lines.filter(|line| line.contains("percent_cell")).collect();
    lines.sort();
    let told = |cell: &str, number: &str| {
        format!(
            "b.xlsx: {cell}: error[percent_cell]: found `{number}`, expected the number without %, such as 19 for 19 %, \
             in a cell that is not formatted as a percentage"
        )
    };
    assert_eq!(
        lines,
        [told("edition.toml!B16", "0.95"), told("parts!D3", "0.125"), told("vat_rates!D2", "0.19")]
    );
    // A sign that is quoted or escaped is a letter beside the number.
    for format in ["0\" %\"", "0\\%", "0_%", "0.00"] {
        check_changes(
            &[("vat_rates", "D2", Put::Shown(19.0, format))],
            &[],
            "vat_rates.csv",
            "DE,2021-01-01,,19",
        );
    }
}

#[test]
fn days_are_dates_and_formulas_are_taken_as_they_came_out() {
    check_changes(
        &[
            ("vat_rates", "B2", Put::Date("2021-01-02")),
            ("parts", "D2", Put::Formula("=1.7*1.1", "1.8700000000000003")),
            ("operations", "E2", Put::Truth(true)),
            ("grades", "B2", Put::Formula("=\"Bench\"", "Bench")),
        ],
        &[
            "grades!B2: found `=\"Bench\"`, taken `Bench`: a formula, taken as it came out last",
            "parts!D2: found `=1.7*1.1`, taken `1.87`: a formula, taken as it came out last",
            "parts!D2: found `1.8700000000000003`, taken `1.87`: rounded to the decimals of its column",
            "operations!E2: found `TRUE`, taken `yes`: a truth value, taken for yes or no",
        ],
        "vat_rates.csv",
        "DE,2021-01-02,,19",
    );
}

#[test]
fn what_no_file_can_have_is_refused_at_its_cell() {
    check_mistakes(
        &[
            ("parts", "A2", Put::Date("2026-03-01")),
            ("parts", "D2", Put::Formula("=#REF!*2", "#REF!")),
            ("parts", "D3", Put::Text("1,234.50")),
            ("parts", "D4", Put::Truth(true)),
            ("vat_rates", "B2", Put::Number(44_197.0)),
            ("vat_rates", "B3", Put::Date("2016-01-01T12:30:00")),
        ],
        &[
            "b.xlsx: parts!A2: error[date_cell]: found `2026-03-01`, expected no date; a spreadsheet makes dates of what looks like one, unless the cell is formatted as text",
            "b.xlsx: parts!D2: error[error_cell]: found `#REF!`, expected a value, no error",
            "b.xlsx: parts!D3: error[not_a_number]: found `1,234.50`, expected a price from 0 to 1000000000 with at most 4 decimals; one point, nothing between the thousands",
            "b.xlsx: parts!D4: error[truth_cell]: found `TRUE`, expected a text or a number, no truth value",
            "b.xlsx: vat_rates!B2: error[not_a_date]: found `44197`, expected a day such as 2026-07-01, or a cell formatted as a date",
            "b.xlsx: vat_rates!B3: error[date_cell]: found `2016-01-01 12:30:00`, expected a day of the calendar without a time",
            "b.xlsx: warning[held_back]: 5 more mistakes may follow from these; mend these first",
        ],
    );
}

#[test]
fn mistakes_of_the_edition_are_told_by_sheet_and_cell() {
    check_mistakes(
        &[
            ("parts", "F3", Put::Text("fiter")),
            ("edition.toml", "B16", Put::Text("95,00")),
            ("edition.toml", "A26", Put::Text("volumetric_divizor")),
            ("edition.toml", "B33", Put::Nothing),
        ],
        &[
            "b.xlsx: edition.toml!B16: error[not_a_number]: found `95,00`, expected a price from 0 to 1000000000 with at most 4 decimals; a point, not a comma",
            "b.xlsx: edition.toml!A25: error[missing_key]: found nothing, expected volumetric_divisor: a whole number from 0 to 4294967295",
            "b.xlsx: edition.toml!A26: error[unknown_key]: found `volumetric_divizor`, expected one of volumetric_divisor, weight_step_kg, fuel_percent, insurance_percent, insurance_minimum, packaging_per_parcel; the nearest: volumetric_divisor",
            "b.xlsx: parts!F3: error[unknown_grade]: found `fiter`, expected a code of sheet grades; the nearest: fitter",
            "b.xlsx: warning[held_back]: 1 more mistake may follow from these; mend these first",
        ],
    );
}

#[test]
fn merged_and_hidden_and_foreign_sheets_are_dealt_with() {
    let plain = Format::new();
    let bytes = book(&[], |book| {
        book.worksheet_from_name("parts").unwrap().merge_range(6, 0, 6, 3, "# sundries", &plain).unwrap();
        book.worksheet_from_name("grades").unwrap().set_hidden(true);
        let scratch = book.add_worksheet().set_name("#scratch").unwrap();
        write(scratch, "A1", &Put::Formula("=1/0", "#DIV/0!"));
        book.add_worksheet().set_name("Sheet1").unwrap();
        write(book.add_worksheet().set_name("offers").unwrap(), "A1", &Put::Number(0.1));
    });
    let imported = parse_book("b.xlsx", &bytes).unwrap_or_else(|report| panic!("{report}"));
    assert_eq!(
        imported.warnings().to_string(),
        "b.xlsx: grades: warning[hidden_sheet]: found `grades`, expected a sheet that is shown; it is read all the same\n\
         b.xlsx: offers: warning[unused_file]: found `offers.csv`, expected the name of a table of a tariff; it becomes offers.csv, which prices nothing. # before its name leaves it out"
    );
    let parts = imported.text("parts.csv").unwrap();
    assert!(parts.ends_with("\n\n\n# sundries\n"), "{parts}");
    let bytes = book(&[], |book| {
        book.worksheet_from_name("parts").unwrap().merge_range(1, 1, 2, 1, "both", &plain).unwrap();
        write(book.add_worksheet().set_name("parts.csv").unwrap(), "A1", &Put::Text("code"));
    });
    assert_eq!(
        parse_book("b.xlsx", &bytes).unwrap_err().to_string(),
        "b.xlsx: parts!B2: error[merged_cells]: found `B2:B3`, expected cells that are not merged\n\
         b.xlsx: parts!B3: error[empty_cell]: found nothing, expected text: one line of at most 200 characters, none of them a control character\n\
         b.xlsx: parts.csv: error[doubled_sheet]: found `parts.csv`, expected one sheet for parts.csv"
    );
}

#[test]
fn mistakes_of_a_book_speak_of_its_sheets() {
    let file = |name: &'static str| {
        move |book: &mut Workbook| {
            write(book.add_worksheet().set_name(name).unwrap(), "A1", &Put::Text("key"));
        }
    };
    let imported = parse_book("b.xlsx", &book(&[], file("notes.toml"))).unwrap();
    assert_eq!(
        imported.warnings().to_string(),
        "b.xlsx: notes.toml: warning[unused_file]: found `notes.toml`, expected the name of a table of a tariff; \
         it becomes notes.toml, which prices nothing. # before its name leaves it out"
    );
    // What an export would leave out an import leaves out as well.
    let imported = parse_book("b.xlsx", &book(&[], file("chart"))).unwrap();
    assert_eq!(
        imported.warnings().to_string(),
        "b.xlsx: chart: warning[unused_file]: found `chart.csv`, expected the picture that the letterhead names, \
         or a table of a tariff; it is left out"
    );
    assert_eq!(imported.text("chart.csv"), None);
    let mut alone = Workbook::new();
    write(alone.add_worksheet().set_name("notes").unwrap(), "A1", &Put::Text("code"));
    let told = parse_book("b.xlsx", &alone.save_to_buffer().unwrap()).unwrap_err().to_string();
    assert_eq!(told, "b.xlsx: error[no_edition]: found nothing, expected a sheet edition.toml");
    write(alone.add_worksheet().set_name("edition.toml").unwrap(), "A1", &Put::Text("[edition]"));
    let told = parse_book("b.xlsx", &alone.save_to_buffer().unwrap()).unwrap_err().to_string();
    assert!(
        told.contains("b.xlsx: parts: error[missing_file]: found nothing, expected the sheet parts\n"),
        "{told}"
    );
}
