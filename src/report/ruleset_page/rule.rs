//! One rule, one limit's way, one table.

use maud::{Markup, html};

use super::marks::{anchor, table_anchor, words};
use crate::finding::{Clause, ClauseStanding, Layer, Limit};
use crate::forms::{PublishedRule, TableEntry};

/// A rule; of one to come, from when.
pub(super) fn article(rule: &PublishedRule, from: Option<&str>) -> Markup {
    let entry = &rule.entry;
    let id = match from {
        None => anchor(&entry.rule),
        Some(from) => format!("{}-{from}", anchor(&entry.rule)),
    };
    html! {
        article id=(id) {
            h4 { a href={ "#" (id) } { (entry.title) } }
            p class="tags" {
                span class={ "tag " (kind(entry.obligation)) } { (demand(entry.obligation)) }
                span class="tag" { "by: " (words(&entry.hold)) }
                @if let Some(by) = &rule.by { span class="tag own" { "of " (by) } }
                @if let Some(from) = from { span class="tag" { "from " (from) } }
                code { (entry.rule) }
            }
            @if let Some(question) = &rule.question { p class="question" { (question) } }
            @if !entry.limits.is_empty() {
                ul class="limits" {
                    @for limit in &entry.limits { li { (one_limit(limit)) } }
                }
            }
            @if !rule.tables.is_empty() {
                p { "Values by table: "
                    @for (at, table) in rule.tables.iter().enumerate() {
                        @if at > 0 { ", " }
                        a href={ "#" (table_anchor(table)) } { code { (table) } }
                    }
                }
            }
            dl {
                div { dt { "Clause" } dd { (clauses(&entry.clauses)) } }
                div { dt { "Remedy" } dd { (rule.remedy) } }
                @if let Some(hazard) = &rule.hazard {
                    div class="hazard" { dt { "Hazard" } dd { (hazard) } }
                }
                div { dt { "Ask" } dd { (rule.caution) } }
            }
            details {
                summary { "As written" }
                pre { (rule.written) }
            }
        }
    }
}

/// The class of an obligation's mark.
fn kind(obligation: &str) -> &'static str {
    match obligation {
        "should" => "should",
        "refer" => "refer",
        "precaution" => "precaution",
        _ => "shall",
    }
}

/// An obligation, as who reads the page says it.
fn demand(obligation: &str) -> &str {
    match obligation {
        "shall" => "required",
        "should" => "advised",
        "shall record" => "to be recorded",
        "refer" => "for the authority to decide",
        "precaution" => "precaution for people at work",
        other => other,
    }
}

fn one_limit(limit: &Limit) -> Markup {
    html! {
        code { (limit.name) } " "
        strong { (limit.value) }
        (way(limit))
    }
}

/// The way of a limit through the layers, the model first.
pub(super) fn way(limit: &Limit) -> Markup {
    html! {
        ol class="way" {
            @for layer in &limit.way { li { (one_layer(layer)) } }
        }
    }
}

fn one_layer(layer: &Layer) -> Markup {
    html! {
        span class="value" { (layer.value) }
        " " (layer.layer)
        @if let Some(from) = &layer.from { ", from " (from) }
        @if let Some(until) = &layer.until { ", until " (until) }
        @if !layer.clause.is_empty() { "; " (layer.clause) }
        @if let Some(because) = &layer.because { span class="because" { " " (because) } }
        @if let Some(note) = &layer.note { strong class="note" { " " (note) } }
    }
}

fn clauses(clauses: &[Clause]) -> Markup {
    html! {
        ul {
            @for clause in clauses {
                li {
                    (clause.document)
                    @if !clause.edition.is_empty() { ", " (clause.edition) }
                    ", " (clause.section)
                    @match clause.standing {
                        ClauseStanding::Published => {}
                        ClauseStanding::Practice => span class="mark" { "common practice" },
                        ClauseStanding::Memory => span class="mark" { "from memory: read the text before relying on it" },
                        ClauseStanding::Local => span class="mark local" { "local" },
                    }
                }
            }
        }
    }
}

/// A table with each cell's value there.
pub(super) fn table(table: &TableEntry) -> Markup {
    html! {
        details class="table" id=(table_anchor(&table.name)) {
            summary { "Table " code { (table.name) } " (" (table.size) " values)" }
            (clauses(&table.clauses))
            @if table.cells.is_empty() {
                p { "Too many values for this page; they stand in the ruleset file." }
            } @else {
                div class="wide" {
                    table {
                        thead { tr {
                            @for parameter in &table.parameters { th scope="col" { (words(parameter)) } }
                            th scope="col" { "value" }
                        } }
                        tbody {
                            @for cell in &table.cells {
                                tr {
                                    @for key in &cell.keys { td { (words(key)) } }
                                    td {
                                        strong { (cell.limit.value) }
                                        // How it changed is told by the rules that look it up.
                                        @if let [first, _, ..] = &cell.limit.way[..] {
                                            span class="was" { "model: " (first.value) }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
