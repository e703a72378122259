//! A record as YAML in block style, as it is typed.

use std::fmt::Write as _;

use serde_json::Value;

/// The record as YAML. Texts are written plain: those of the generated archive need no quotes.
pub fn block(record: &Value) -> String {
    let mut out = String::new();
    entries(&mut out, record, 0, "");
    out
}

/// The entries of a map; the first stands behind the dash of its item, if there is one.
fn entries(out: &mut String, map: &Value, depth: usize, dash: &str) {
    let Some(map) = map.as_object() else {
        return;
    };
    let mut lead = dash;
    for (key, value) in map {
        let indent = match lead.is_empty() {
            true => depth,
            false => depth - 1,
        };
        let _ = write!(out, "{:width$}{lead}{key}:", "", width = indent * 2);
        lead = "";
        put(out, value, depth);
    }
}

fn put(out: &mut String, value: &Value, depth: usize) {
    match value {
        // A thing of which nothing is recorded.
        Value::Object(map) if map.is_empty() => out.push_str(" {}\n"),
        Value::Object(_) => {
            out.push('\n');
            entries(out, value, depth + 1, "");
        }
        Value::Array(items) => {
            out.push('\n');
            for item in items {
                match item {
                    Value::Object(map) if !map.is_empty() => entries(out, item, depth + 2, "- "),
                    other => {
                        let _ = write!(out, "{:width$}-", "", width = (depth + 1) * 2);
                        put(out, other, depth);
                    }
                }
            }
        }
        Value::String(text) => {
            let _ = writeln!(out, " {text}");
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {
            let _ = writeln!(out, " {value}");
        }
    }
}
