//! Plain JSON is read as YAML would read it: the same tree, the same places.

use proptest::prelude::*;
use serde_json::{Map, Value};

use crate::record::error::Mistakes;
use crate::record::tree::{Node, NodeKind};
use crate::record::yaml;
use crate::source::SourceId;

/// Texts with what JSON escapes, what YAML takes for itself, and what neither minds.
fn texts() -> BoxedStrategy<String> {
    prop_oneof![
        Just("42 in ± 1/2 in".to_owned()),
        Just("<<".to_owned()),
        "[a-e_ ]{0,5}",
        "[ -~]{0,12}",
        "\\PC{0,8}",
        "[\\x00-\\x20\"\\\\/:#&*!%@`{}\\[\\],\u{7f}\u{85}\u{a0}\u{2028}\u{feff}\u{fffd}\u{10000}é-]{0,6}",
        "[a-z ]{990,1040}",
    ]
    .boxed()
}

fn values(texts: BoxedStrategy<String>) -> impl Strategy<Value = Value> {
    let keys = texts.clone();
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::Bool),
        any::<i64>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        texts.prop_map(Value::String),
    ];
    leaf.prop_recursive(6, 48, 6, move |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..6).prop_map(Value::Array),
            entries(keys.clone(), inner).prop_map(Value::Object),
        ]
    })
}

fn entries(
    key: impl Strategy<Value = String>,
    value: impl Strategy<Value = Value>,
) -> impl Strategy<Value = Map<String, Value>> {
    proptest::collection::vec((key, value), 0..6).prop_map(|all| all.into_iter().collect())
}

/// An object as programs write it, on one line or on many.
fn objects(texts: BoxedStrategy<String>) -> impl Strategy<Value = String> {
    (entries(texts.clone(), values(texts)), any::<bool>()).prop_map(|(entries, pretty)| {
        let object = Value::Object(entries);
        match pretty {
            true => serde_json::to_string_pretty(&object).expect("JSON is written"),
            false => object.to_string(),
        }
    })
}

/// A text cut and patched with signs that mean something to JSON or to YAML.
pub(super) fn spoilt_of(text: impl Strategy<Value = String>) -> impl Strategy<Value = String> {
    let patch = "([\"\\\\{}\\[\\],:#' \n\r\t0-9eE.+-]|null|true|\\\\u00e9|\\\\ud83d|---|<<|: |- |&a|\\*a|!a|é){0,5}";
    let place = any::<prop::sample::Index>();
    (text, place, 0usize..4, patch).prop_map(|(mut text, at, length, patch)| {
        let start = boundary(&text, at.index(text.len() + 1));
        let end = boundary(&text, (start + length).min(text.len())).max(start);
        text.replace_range(start..end, &patch);
        text
    })
}

fn boundary(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// What YAML makes of it, where that is a tree without a mistake.
pub(super) fn by_events(text: &str) -> Option<Node<'_>> {
    let mut mistakes = Mistakes::default();
    let root = yaml::parse_events(text, SourceId(0), &mut mistakes);
    root.filter(|_| mistakes.is_empty())
}

/// As plain JSON and nothing else.
fn scan(text: &str, source: SourceId) -> Option<Node<'_>> {
    text.starts_with('{')
        .then(|| yaml::plain_tree(text, source))?
}

/// Whether it was read here, and then as YAML reads it.
fn is_same(text: &str) -> bool {
    let Some(root) = scan(text, SourceId(0)) else {
        return false;
    };
    assert_eq!(Some(root), by_events(text), "{text:?}");
    true
}

proptest! {
    #![proptest_config(super::config(600))]

    #[test]
    fn json_as_programs_write_it_is_the_tree_of_yaml(text in objects(texts())) {
        is_same(&text);
    }

    #[test]
    fn json_of_ordinary_texts_is_never_left_to_yaml(text in objects("[ -~±é]{0,12}".boxed())) {
        prop_assert!(is_same(&text), "{text}");
    }

    #[test]
    fn json_that_is_spoilt_is_the_tree_of_yaml_or_left_to_it(text in spoilt_of(objects(texts()))) {
        is_same(&text);
    }
}

#[test]
fn what_records_are_written_with_is_read_as_json() {
    for text in [
        "{}",
        "{ }\n",
        "{\"a\":[]}",
        r#"{"record": 1, "lot": "GA-000001", "a": [1, -0.5, 2e3, 1E-2, true, false, null, {}]}"#,
        r#"{"cover":"24 in ± 1/4 in","note":"a \"b\" \\ \/ \n \t \u00b1 \u0041"}"#,
        "{\n  \"wells\": [\n    {\n      \"depth\": \"120 ft\"\n    }\n  ]\n}\n",
        &format!("{{\"note\":\"{}\"}}", "long ".repeat(1_000)),
    ] {
        assert!(is_same(text), "{text}");
    }
}

/// Each is JSON, or near it; what is right or wrong with it is said by one reader.
#[test]
fn where_json_and_yaml_part_the_text_is_left_to_yaml() {
    let deep = |depth: usize| format!("{{\"a\":{}{}}}", "[".repeat(depth), "]".repeat(depth));
    let key = |length: usize| format!("{{\"{}\":1}}", "k".repeat(length));
    assert!(is_same(&deep(yaml::MOST_DEEP - 1)));
    assert!(is_same(&key(990)));
    let many: Vec<String> = (0..100).map(|number| format!("\"{number}\":1")).collect();
    assert!(is_same(&format!("{{{}}}", many.join(","))));
    for text in [
        deep(yaml::MOST_DEEP),
        key(1_100),
        format!("{{{},\"77\":2}}", many.join(",")),
        r#"{"a":1,"a":2}"#.into(),
        r#"{"a":"\ud83d\ude00"}"#.into(),
        r#"{"a":"\ud83d"}"#.into(),
        r#"{"a":"\u0000"}"#.into(),
        r#"{"a":"\x41"}"#.into(),
        "{\"a\":\"\t\"}".into(),
        "{\t\"a\":1}".into(),
        "{\r\n\"a\":1}".into(),
        "{\"a\":\"\u{2028}\"}".into(),
        "{\"a\" :1}".into(),
        r#"{"a":01}"#.into(),
        r#"{"a":1.}"#.into(),
        r#"{"a":nul}"#.into(),
        r#"{"a":1,}"#.into(),
        r#"{"a":1} # so"#.into(),
        r#"{"a":1}{}"#.into(),
        r#"{"a"}"#.into(),
        r#"{a: 1}"#.into(),
        r#"{"a":1"#.into(),
        r#"{"a":"b"#.into(),
        "[]".into(),
        "".into(),
    ] {
        assert_eq!(scan(&text, SourceId(0)), None, "{text}");
    }
}

#[test]
fn a_null_is_nothing_and_a_word_in_quotes_is_a_text() {
    let root = scan(r#"{"a":null,"b":"null"}"#, SourceId(0)).expect("plain JSON");
    let kind = |key: &str| &root.get(key).expect("the key is there").kind;
    assert_eq!(kind("a"), &NodeKind::Empty);
    assert!(matches!(kind("b"), NodeKind::Scalar(text) if text.text == "null"));
}
