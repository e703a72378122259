//! No text whatever makes the reader panic, and every place lies in its text.

use miette::Diagnostic;
use proptest::prelude::*;

use super::trade::vocabulary;
use super::{read_text, with_head};

pub(super) const BODY: &str = "\
site: { frost_depth: 30 in, soil: \"sandy ± clay\", located_on: 2026-03-01, trench_angle: 45 deg }
supply_cables:
  - id: SC-1
    length: 62 ft
    conduit_fall: 1/4 in/ft
    spans:
      - { from: 0 ft, to: 3 ft, wiring: pvc_80, cover: [ 24 in, 24 1/4 in ± 1 in ] }
      - { from: 3 ft, to: 62 ft, ribbon: yes, cover: { reads: 2 ft 6 in, how: measured, by: R. Ames } }
building_sewers:
  - id: BS-1
    nominal_size: 4 in
    shots:
      - { at: 0 ft, invert: 809.10 ft }
      - more
wells: [ { id: W-1, depth: 120 ft } ]
clearances: [ { from: BS-1, to: W-1, horizontal: 62 ft ± 0.1 ft } ]
";

/// Reads a text; whatever is told of it lies in it.
fn reads_or_tells(text: &str) -> Result<(), TestCaseError> {
    let Err(mistakes) = read_text(text) else {
        return Ok(());
    };
    prop_assert!(!mistakes.is_empty());
    for mistake in &mistakes {
        prop_assert!(mistake.error.help().is_some());
        let labels: Vec<_> = mistake.error.labels().into_iter().flatten().collect();
        prop_assert!(!labels.is_empty());
        for label in labels {
            let end = label.offset() + label.len();
            prop_assert!(text.is_char_boundary(label.offset()), "{:?}", mistake.error);
            prop_assert!(text.is_char_boundary(end), "{:?}", mistake.error);
        }
    }
    Ok(())
}

/// The nearest boundary of a character at or before an offset.
fn boundary(text: &str, mut at: usize) -> usize {
    at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn any_text_is_read_or_told_of(text in "\\PC{0,200}") {
        reads_or_tells(&text)?;
    }

    #[test]
    fn any_text_of_yaml_signs_is_read_or_told_of(
        text in "([a-c:,\\[\\]{}&*!|>'\"%#?@`~\\-\n\t ±é]|: |- |more|none|site|wells|exact|24 in){0,60}",
    ) {
        reads_or_tells(&text)?;
        reads_or_tells(&with_head(&text))?;
    }

    #[test]
    fn a_record_cut_and_patched_is_read_or_told_of(
        from in 0usize..1400, length in 0usize..40, patch in "[ -~\n±é]{0,12}",
    ) {
        let mut text = with_head(BODY);
        let start = boundary(&text, from);
        let end = boundary(&text, start + length).max(start);
        text.replace_range(start..end, &patch);
        reads_or_tells(&text)?;
    }

    #[test]
    fn a_record_with_facts_deleted_is_read(keep in proptest::collection::vec(any::<bool>(), 40)) {
        // A value between a colon and its end is emptied, what refers to ids left alone.
        let mut kept = keep.into_iter().cycle();
        let facts = ["30 in", "\"sandy ± clay\"", "2026-03-01", "45 deg", "62 ft,", "62 ft\n", "1/4 in/ft", "0 ft", "3 ft",
            "pvc_80", "[ 24 in, 24 1/4 in ± 1 in ]", "yes", "2 ft 6 in", "4 in\n", "809.10 ft", "120 ft", "62 ft ± 0.1 ft"];
        let mut body = BODY.to_owned();
        for fact in facts {
            prop_assert!(BODY.contains(fact));
            if kept.next() == Some(false) {
                let left = fact.trim_start_matches(|sign: char| sign != ',' && sign != '\n' || fact.starts_with(['[', '"']));
                body = body.replacen(&format!(": {fact}"), &format!(": {left}"), 1);
            }
        }
        let text = with_head(&body);
        prop_assert!(read_text(&text).is_ok(), "{text}\n{:?}", read_text(&text).err());
    }
}

#[test]
fn the_whole_record_is_read() {
    let record = read_text(&with_head(BODY)).unwrap_or_else(|mistakes| panic!("{mistakes:#?}"));
    assert_eq!(record.things.len(), 8);
    assert_eq!(vocabulary().things.len(), 7);
}
