//! The documents behind the rules: what each is, where it binds, which rules stand on it.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::check::every_part;
use crate::check::typed::{Citation, DocumentId, DocumentKind, ExpressionKind, Library, Rule};

/// A document and what stands on it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct SourceEntry {
    /// Its name in the rule language.
    pub source: String,
    /// Its title.
    pub title: String,
    /// Who puts it out.
    pub publisher: String,
    /// Its edition.
    pub edition: String,
    /// `published`, `practice` or `local`.
    pub kind: &'static str,
    /// Where it binds, where that is said.
    pub binding: Option<String>,
    /// Where it can be read, where that is said.
    pub address: Option<String>,
    /// The rules that cite it, themselves or through a limit, a table or a formula, each with the
    /// sections.
    pub rules: Vec<CitingRule>,
}

/// A rule and the sections it cites.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct CitingRule {
    /// The rule.
    pub rule: String,
    /// The sections; those stated from memory say so.
    pub sections: Vec<String>,
}

/// Every document of a library, in the order of their names.
pub fn sources(library: &Library) -> Vec<SourceEntry> {
    let mut citing: BTreeMap<DocumentId, Vec<CitingRule>> = BTreeMap::new();
    for rule in &library.rules {
        for (document, sections) in cited(library, rule) {
            citing.entry(document).or_default().push(CitingRule {
                rule: rule.id.clone(),
                sections,
            });
        }
    }
    let mut entries: Vec<SourceEntry> = library
        .documents
        .iter()
        .enumerate()
        .map(|(at, document)| {
            let id = DocumentId::at(at);
            SourceEntry {
                source: document.name.clone(),
                title: document.title.clone(),
                publisher: document.publisher.clone(),
                edition: document.edition.clone(),
                kind: match document.kind {
                    DocumentKind::Published => "published",
                    DocumentKind::Practice => "practice",
                    DocumentKind::Local => "local",
                },
                binding: document.binding.clone(),
                address: document.address.clone(),
                rules: citing.remove(&id).unwrap_or_default(),
            }
        })
        .collect();
    entries.sort_by(|a, b| a.source.cmp(&b.source));
    entries
}

/// The sections that a rule cites, by document.
fn cited(library: &Library, rule: &Rule) -> BTreeMap<DocumentId, Vec<String>> {
    let mut citations: Vec<&Citation> = rule.citations.iter().collect();
    for condition in rule.conditions() {
        every_part(library, condition, &mut |part| match &part.kind {
            ExpressionKind::Limit(limit) => {
                citations.extend(&library.limits[limit.index()].citations);
            }
            ExpressionKind::Lookup(table, _) => {
                citations.extend(&library.tables[table.index()].citations);
            }
            ExpressionKind::Define(define, _) => {
                citations.extend(&library.defines[define.index()].citations);
            }
            _ => {}
        });
    }
    let mut found: BTreeMap<DocumentId, Vec<String>> = BTreeMap::new();
    for citation in citations {
        let section = if citation.from_memory {
            format!("{} (from memory)", citation.section)
        } else {
            citation.section.clone()
        };
        let sections = found.entry(citation.document).or_default();
        if !sections.contains(&section) {
            sections.push(section);
        }
    }
    found
}
