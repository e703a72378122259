//! The page on records shows a record that reads: its example is one.

use groundrule::library::{embedded, open};
use groundrule::record::table::{self, Rows};
use groundrule::record::{self, Overrides};
use groundrule::source::Sources;

#[test]
fn the_example_of_the_page_on_records_reads_without_an_error() {
    let page = include_str!("../docs/records.md");
    let (_, after) = page.split_once("```yaml\n").expect("an example");
    let (example, _) = after.split_once("```").expect("its end");
    let opened = open(&embedded()).expect("the library opens");
    let mut sources = Sources::default();
    let id = sources.add("docs/records.md", example);
    let record = record::read(&opened.library.vocabulary, &sources, id).unwrap_or_else(|errors| {
        panic!("{} mistakes, the first: {}", errors.len(), errors[0].error)
    });
    assert_eq!(record.head.lot.value, "VM-31");
    assert!(record.has_several, "one invert is read twice");
}

#[test]
fn the_sheet_of_the_page_on_records_reads_a_row_of_its_table() {
    let page = include_str!("../docs/records.md");
    let (_, tables) = page.split_once("## Tables").expect("a part on tables");
    let (_, after) = tables.split_once("```yaml\n").expect("an example");
    let (example, _) = after.split_once("```").expect("its end");
    let opened = open(&embedded()).expect("the library opens");
    let vocabulary = &opened.library.vocabulary;
    let mut sources = Sources::default();
    let id = sources.add("docs/records.md", example);
    let sheet = table::read(vocabulary, &sources, id)
        .unwrap_or_else(|errors| panic!("{}", errors[0].error));
    let rows = "Lot;Wiring;Length;Cover;Frost line;Remarks\nVM-7;DB;62;31;-;wet\n";
    let mut rows =
        Rows::new(rows.as_bytes(), &sheet).unwrap_or_else(|errors| panic!("{}", errors[0]));
    let row = rows.next().expect("a row").expect("a row that can be read");
    let none = Overrides::default();
    let (_, read) = table::record(vocabulary, &mut sources, "cards.csv", &row, &sheet, &none);
    let record = read.unwrap_or_else(|errors| panic!("{}", errors[0].error));
    assert_eq!(record.head.lot.value, "VM-7");
    assert_eq!(sheet.asked.expect("it says so").len(), 2);
}
