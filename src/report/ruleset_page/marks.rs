//! Names as words and as anchors.

/// A name of the rule language as words.
pub(super) fn words(name: &str) -> String {
    name.replace('_', " ")
}

/// The anchor of a rule or a topic. What stands in its name stays apart from the page's own
/// anchors by the `r-` before it.
pub(super) fn anchor(name: &str) -> String {
    format!("r-{name}")
}

/// The anchor of a table.
pub(super) fn table_anchor(name: &str) -> String {
    format!("t-{name}")
}
