//! What the editor asks of a place in a document, and of a document as a whole.

use std::ops::Range;

use groundrule::editing::position::{Encoding, Lines, Position as Place};
use groundrule::editing::{Candidate, CandidateKind, Meaning, completions, meaning};
use groundrule::language;
use groundrule::source::Sources;
use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionParams, CompletionTextEdit,
    DocumentFormattingParams, Documentation, GotoDefinitionParams, Hover, HoverContents,
    HoverParams, Location, MarkupContent, MarkupKind, Position, TextDocumentPositionParams,
    TextEdit, Uri,
};

use super::Session;
use crate::input;

impl Session {
    /// What the name under the cursor means.
    pub fn hover(&self, asked: HoverParams) -> Option<Hover> {
        let (text, meaning) = self.meaning(&asked.text_document_position_params)?;
        Some(Hover {
            contents: HoverContents::Markup(markdown(meaning.words)),
            range: Some(range(&Lines::of(text), meaning.bytes, self.encoding)),
        })
    }

    /// Where the name under the cursor is declared.
    pub fn definition(&self, asked: GotoDefinitionParams) -> Option<Location> {
        let (_, meaning) = self.meaning(&asked.text_document_position_params)?;
        let declared = meaning.declared?;
        let tree = self.workspace.tree(&declared.name)?;
        Some(Location {
            uri: self.documents.uri(&declared.name)?,
            range: range(&Lines::of(&tree.text), declared.bytes, self.encoding),
        })
    }

    fn meaning(&self, asked: &TextDocumentPositionParams) -> Option<(&str, Meaning)> {
        let (name, text, byte) = self.place(&asked.text_document.uri, asked.position)?;
        let meaning = meaning(&self.workspace, name, byte, input::today())?;
        Some((text, meaning))
    }

    /// What may be written at the cursor.
    pub fn completion(&self, asked: CompletionParams) -> Option<Vec<CompletionItem>> {
        let asked = asked.text_document_position;
        let (name, text, byte) = self.place(&asked.text_document.uri, asked.position)?;
        let (bytes, candidates) = completions(&self.workspace, name, byte);
        let range = range(&Lines::of(text), bytes, self.encoding);
        let items = candidates.into_iter().enumerate();
        Some(items.map(|(at, one)| item(at, one, range)).collect())
    }

    /// The layout of a document; nothing for one with mistakes, which are shown anyway.
    pub fn formatting(&self, asked: DocumentFormattingParams) -> Option<Vec<TextEdit>> {
        let name = self.documents.name(&asked.text_document.uri)?;
        let text = self.workspace.text(name)?;
        let mut sources = Sources::default();
        let id = sources.add(name, text);
        let tidied = language::tidy(&sources, id).ok()?;
        if tidied == text {
            return Some(Vec::new());
        }
        Some(vec![TextEdit {
            range: range(&Lines::of(text), 0..text.len(), self.encoding),
            new_text: tidied,
        }])
    }

    /// An open document's name and text, and the byte of a position.
    fn place(&self, uri: &Uri, position: Position) -> Option<(&str, &str, usize)> {
        let name = self.documents.name(uri)?;
        let text = self.workspace.text(name)?;
        let place = Place {
            line: position.line,
            unit: position.character,
        };
        Some((name, text, Lines::of(text).byte(place, self.encoding)))
    }
}

/// Some bytes as the editor counts them.
pub fn range(lines: &Lines<'_>, bytes: Range<usize>, encoding: Encoding) -> lsp_types::Range {
    let position = |place: Place| Position {
        line: place.line,
        character: place.unit,
    };
    let (start, end) = lines.range(bytes, encoding);
    lsp_types::Range {
        start: position(start),
        end: position(end),
    }
}

fn markdown(value: String) -> MarkupContent {
    MarkupContent {
        kind: MarkupKind::Markdown,
        value,
    }
}

/// A candidate; editors keep the order that is given in `sort_text`.
fn item(at: usize, candidate: Candidate, range: lsp_types::Range) -> CompletionItem {
    let kind = match candidate.kind {
        CandidateKind::Word => CompletionItemKind::KEYWORD,
        CandidateKind::Fact => CompletionItemKind::FIELD,
        CandidateKind::List => CompletionItemKind::PROPERTY,
        CandidateKind::Label => CompletionItemKind::ENUM_MEMBER,
        CandidateKind::Limit => CompletionItemKind::CONSTANT,
        CandidateKind::Function => CompletionItemKind::FUNCTION,
        CandidateKind::Element => CompletionItemKind::VARIABLE,
        CandidateKind::Type => CompletionItemKind::CLASS,
        CandidateKind::Topic => CompletionItemKind::MODULE,
        CandidateKind::Rule => CompletionItemKind::METHOD,
        CandidateKind::Document => CompletionItemKind::REFERENCE,
    };
    let said = |text: String| (!text.is_empty()).then_some(text);
    CompletionItem {
        kind: Some(kind),
        detail: said(candidate.detail),
        documentation: said(candidate.meaning).map(Documentation::String),
        sort_text: Some(format!("{at:05}")),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit {
            range,
            new_text: candidate.text.clone(),
        })),
        label: candidate.text,
        ..CompletionItem::default()
    }
}
