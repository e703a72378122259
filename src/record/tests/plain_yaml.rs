//! Plain YAML is read as the YAML parser reads it: the same tree, the same places.

use proptest::prelude::*;

use super::plain_json::{by_events, spoilt_of};
use super::with_head;
use crate::record::yaml;
use crate::source::SourceId;

/// What stands behind a key or a dash, on one line or below it.
#[derive(Debug, Clone)]
enum Written {
    OnLine(String),
    Mapping(Vec<(String, Written)>),
    Sequence(Vec<Written>),
}

fn keys() -> BoxedStrategy<String> {
    prop_oneof![
        9 => "[a-d_][a-d0-9_]{0,2}",
        1 => "[a-z]{990,1040}",
        1 => "[ -~é]{0,3}",
        1 => Just("null".to_owned()),
    ]
    .boxed()
}

fn on_line() -> BoxedStrategy<String> {
    let plain = prop_oneof![
        Just("24 1/4 in ± 1/2 in".to_owned()),
        Just("2026-03-02".to_owned()),
        Just("~".to_owned()),
        Just("null".to_owned()),
        Just("3'-6\"".to_owned()),
        "[a-z0-9][a-z0-9 ./]{0,8}",
        "[ -~é±]{0,8}",
        "-?[0-9.]{1,4}",
        "'[a-z ':#]{0,5}'",
        "\"[a-z ':#é\\\\n]{0,5}\"",
        "[\\PC\u{85}\u{2028}\u{feff}]{0,3}",
    ]
    .boxed();
    let flow = plain.clone().prop_recursive(3, 12, 4, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..4)
                .prop_map(|all| format!("[ {} ]", all.join(", "))),
            proptest::collection::vec((keys(), inner), 0..4).prop_map(|all| {
                let all: Vec<_> = all
                    .iter()
                    .map(|(key, value)| format!("{key}: {value}"))
                    .collect();
                format!("{{{}}}", all.join(", "))
            }),
        ]
    });
    prop_oneof![3 => plain, 1 => flow].boxed()
}

fn values() -> BoxedStrategy<Written> {
    let leaf = on_line().prop_map(Written::OnLine);
    leaf.prop_recursive(4, 24, 4, |inner| {
        prop_oneof![
            proptest::collection::vec((keys(), inner.clone()), 1..4).prop_map(Written::Mapping),
            proptest::collection::vec(inner, 1..4).prop_map(Written::Sequence),
        ]
    })
    .boxed()
}

/// A mapping as lines, lists indented or not, with comments and empty lines here and there.
fn lines(entries: &[(String, Written)], indent: usize, step: usize, noise: usize) -> String {
    let mut text = String::new();
    for (at, (key, value)) in entries.iter().enumerate() {
        let margin = if at == 0 { 0 } else { indent };
        text.push_str(&format!("{}{key}:", " ".repeat(margin)));
        match value {
            Written::OnLine(value) => text.push_str(&format!(" {value}{}", end(noise + at))),
            Written::Mapping(inner) => {
                text.push_str(end(noise + at));
                text.push_str(&" ".repeat(indent + 2));
                text.push_str(&lines(inner, indent + 2, step, noise + 1));
            }
            Written::Sequence(elements) => {
                text.push_str(end(noise + at));
                for element in elements {
                    let margin = indent + step;
                    text.push_str(&format!("{}- ", " ".repeat(margin)));
                    match element {
                        Written::OnLine(value) => text.push_str(&format!("{value}{}", end(noise))),
                        Written::Mapping(inner) => {
                            text.push_str(&lines(inner, margin + 2, step, noise + 3));
                        }
                        Written::Sequence(_) => text.push_str("- nested\n"),
                    }
                }
            }
        }
    }
    text
}

fn end(noise: usize) -> &'static str {
    match noise % 11 {
        3 => " # so\n",
        5 => "\n\n",
        7 => "\n   # alone\n",
        8 => "  \n",
        _ => "\n",
    }
}

fn texts() -> impl Strategy<Value = String> {
    let entries = proptest::collection::vec((keys(), values()), 1..5);
    let margins = prop_oneof![Just(0_usize), Just(2), Just(4), Just(1)];
    (entries, margins, 0_usize..11)
        .prop_map(|(entries, step, noise)| lines(&entries, 0, step, noise))
}

/// As plain YAML and nothing else.
fn scan(text: &str, source: SourceId) -> Option<crate::record::tree::Node<'_>> {
    (!text.starts_with('{')).then(|| yaml::plain_tree(text, source))?
}

/// Whether it was read here, and then as the parser reads it.
fn is_same(text: &str) -> bool {
    let Some(root) = scan(text, SourceId(0)) else {
        return false;
    };
    assert_eq!(Some(root), by_events(text), "{text:?}");
    true
}

proptest! {
    #![proptest_config(super::config(1500))]

    #[test]
    fn yaml_in_lines_is_the_tree_of_the_parser_or_left_to_it(text in texts()) {
        is_same(&text);
    }

    #[test]
    fn yaml_that_is_spoilt_is_the_tree_of_the_parser_or_left_to_it(text in spoilt_of(texts())) {
        is_same(&text);
    }

    #[test]
    fn a_spoilt_record_is_the_tree_of_the_parser_or_left_to_it(
        text in spoilt_of(Just(with_head(super::robust::BODY))),
    ) {
        is_same(&text);
    }
}

#[test]
fn records_are_read_as_plain_yaml() {
    for text in [
        with_head(super::robust::BODY),
        "a: 1".into(),
        "a:\n- b: 1\n  c: 2\n- d: [ x, y ]\ne: f\n".into(),
        "a:\n  - 1 in # so\n  # and so\n\n  - -2 ft\nb: { c: { d: 'it''s' } }\n".into(),
    ] {
        assert!(is_same(&text), "{text}");
    }
}

#[test]
fn what_is_not_plain_is_left_to_the_parser() {
    for text in [
        "a: &b 1\n",
        "a: *b\n",
        "a: !b 1\n",
        "a: |\n  text\n",
        "a: >\n  text\n",
        "a: b\n  c\n",
        "a: 'b\n  c'\n",
        "a:\n",
        "a: b: c\n",
        "a: 1\na: 2\n",
        "a: [ 1,\n  2 ]\n",
        "a: [ 1, ]\n",
        "a: {b: }\n",
        "---\na: 1\n",
        "a: 1\n---\nb: 1\n",
        "a: 1\n...\n",
        "%YAML 1.2\n",
        "a: 1\r\n",
        "a:\t1\n",
        " a: 1\n",
        "a:\n  b: 1\n c: 2\n",
        "- a\n",
        "a\n",
        "? a\n",
        "<<: a\n",
        "null: a\n",
        "a: - b\n",
        "a: @b\n",
        "a: \"b\" c\n",
        "a: \u{feff}b\n",
        "a: b\u{2000}\n",
        "# nothing\n",
        "",
    ] {
        assert_eq!(scan(text, SourceId(0)), None, "{text}");
    }
}

#[test]
fn nearly_all_lots_of_the_demo_are_read_as_plain_yaml() {
    let folders = ["hask_ferry", "quern_landing", "velder_mills"];
    let files = folders.iter().flat_map(|folder| {
        let folder = format!("{}/demo/{folder}", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_dir(folder).expect("a folder of the demo")
    });
    let paths = files.map(|file| file.expect("a file of the demo").path());
    let lots = paths.filter(|path| path.extension().is_some_and(|end| end == "yaml"));
    let read = lots.map(|path| is_same(&std::fs::read_to_string(path).expect("a lot")));
    let (plain, others): (Vec<bool>, Vec<bool>) = read.partition(|plain| *plain);
    assert!(plain.len() >= 20, "{} are plain", plain.len());
    assert!(others.len() <= 2, "{} are not", others.len());
}
