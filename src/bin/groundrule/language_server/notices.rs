//! What the server tells by itself: mistakes, cleared when they are mended.

use std::collections::BTreeMap;

use groundrule::editing::Mistake;
use groundrule::editing::position::Lines;
use lsp_server::{Message, Notification, Request};
use lsp_types::{
    Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, Location, NumberOrString,
    PublishDiagnosticsParams, Uri,
};
use serde_json::json;

use super::Session;
use super::answers::range;
use super::messages::Messages;

/// What was last told of each document, and of which state of it.
#[derive(Default)]
pub struct Published(BTreeMap<String, (Option<i32>, Vec<Diagnostic>)>);

/// The request that the client tells when a rule file changes beside it.
pub fn watch() -> Message {
    let watchers = json!([{ "globPattern": "**/*.rules" }]);
    Message::Request(Request {
        id: "watch".to_owned().into(),
        method: "client/registerCapability".to_owned(),
        params: json!({ "registrations": [{
            "id": "rule files",
            "method": "workspace/didChangeWatchedFiles",
            "registerOptions": { "watchers": watchers },
        }] }),
    })
}

impl Session {
    /// Checks the library, and tells of each document what is new.
    pub fn publish(&mut self, messages: &Messages) {
        let mut told: BTreeMap<String, (Uri, Option<i32>, Vec<Diagnostic>)> = BTreeMap::new();
        for (name, document) in self.documents.open() {
            let empty = (document.uri.clone(), Some(document.version), Vec::new());
            told.insert(name.clone(), empty);
        }
        let mut homeless = Vec::new();
        for (name, mistakes) in self.workspace.check() {
            let Some(uri) = self.documents.uri(&name) else {
                homeless.extend(mistakes.into_iter().map(|mistake| (name.clone(), mistake)));
                continue;
            };
            let shown = self.diagnostics(&name, &uri, &mistakes);
            told.entry(name)
                .or_insert_with(|| (uri, None, Vec::new()))
                .2
                .extend(shown);
        }
        // What an edit breaks in the library inside the program has no document of its own.
        if let Some((_, _, shown)) = told.values_mut().next() {
            shown.extend(
                homeless
                    .iter()
                    .map(|(name, mistake)| elsewhere(name, mistake)),
            );
        }
        self.tell(told, messages);
    }

    fn tell(
        &mut self,
        told: BTreeMap<String, (Uri, Option<i32>, Vec<Diagnostic>)>,
        messages: &Messages,
    ) {
        let mut before = std::mem::take(&mut self.published.0);
        for (_, (uri, version, diagnostics)) in told {
            let key = uri.as_str().to_owned();
            let now = (version, diagnostics);
            if before.remove(&key).as_ref() != Some(&now) {
                publish(uri, version, now.1.clone(), messages);
            }
            self.published.0.insert(key, now);
        }
        for (key, (_, diagnostics)) in before {
            if let (false, Ok(uri)) = (diagnostics.is_empty(), key.parse()) {
                publish(uri, None, Vec::new(), messages);
            }
        }
    }

    fn diagnostics(&self, name: &str, uri: &Uri, mistakes: &[Mistake]) -> Vec<Diagnostic> {
        let Some(tree) = self.workspace.tree(name) else {
            return Vec::new();
        };
        let lines = Lines::of(&tree.text);
        let place = |bytes| range(&lines, bytes, self.encoding);
        let shown = mistakes.iter().map(|mistake| Diagnostic {
            range: place(mistake.at.clone()),
            related_information: related(mistake, uri, place),
            ..plain(mistake, mistake.message.clone())
        });
        shown.collect()
    }
}

fn related(
    mistake: &Mistake,
    uri: &Uri,
    place: impl Fn(std::ops::Range<usize>) -> lsp_types::Range,
) -> Option<Vec<DiagnosticRelatedInformation>> {
    let all: Vec<_> = mistake
        .related
        .iter()
        .map(|(bytes, words)| DiagnosticRelatedInformation {
            location: Location {
                uri: uri.clone(),
                range: place(bytes.clone()),
            },
            message: words.clone(),
        })
        .collect();
    (!all.is_empty()).then_some(all)
}

fn elsewhere(name: &str, mistake: &Mistake) -> Diagnostic {
    plain(mistake, format!("in {name}: {}", mistake.message))
}

fn plain(mistake: &Mistake, message: String) -> Diagnostic {
    Diagnostic {
        severity: Some(DiagnosticSeverity::ERROR),
        code: Some(NumberOrString::String(mistake.code.clone())),
        source: Some("groundrule".to_owned()),
        message,
        ..Diagnostic::default()
    }
}

fn publish(uri: Uri, version: Option<i32>, diagnostics: Vec<Diagnostic>, messages: &Messages) {
    let params = PublishDiagnosticsParams {
        uri,
        diagnostics,
        version,
    };
    messages.send(Message::Notification(Notification {
        method: "textDocument/publishDiagnostics".to_owned(),
        params: serde_json::to_value(params).expect("diagnostics are what JSON can say"),
    }));
}
