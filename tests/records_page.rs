//! The page on records shows a record that reads: its example is one.

use groundrule::library::{embedded, open};
use groundrule::record;
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
