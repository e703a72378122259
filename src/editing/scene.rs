//! A text and a place in it in, the words around it out: what is under the cursor, what stands
//! before it, which names are bound there.
//!
//! Words are looked at, no tree: the item under the cursor is mostly half written.

use std::ops::Range;

use crate::language::{Kind, Layout, Token, TokenKind};
use crate::source::SourceId;

/// A name with dots, and which of its parts is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dotted {
    /// The parts.
    pub parts: Vec<String>,
    /// The part under the cursor.
    pub part: usize,
    /// The place of that part.
    pub bytes: Range<usize>,
    /// The token with which it begins.
    first: usize,
}

/// What a name is bound to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Binding {
    /// An element of a list: `each cable in supply_cables`.
    ElementOf(Vec<String>),
    /// A parameter of these kinds.
    Parameter(Vec<String>),
}

/// The item around a place of a text.
#[derive(Debug)]
pub struct Scene<'a> {
    text: &'a str,
    tokens: Vec<Token>,
    item: Range<usize>,
    at: usize,
}

impl<'a> Scene<'a> {
    /// What is around a byte of a text.
    pub fn at(text: &'a str, byte: usize) -> Scene<'a> {
        let tokens = Layout::of(text, SourceId(0)).tokens;
        let begins = |token: &Token| {
            token.begins_line
                && token.indent == 0
                && !matches!(&text[token.start..token.end], "{" | "}")
        };
        let behind = tokens.partition_point(|token| token.start <= byte);
        let first = tokens[..behind].iter().rposition(begins).unwrap_or(0);
        let next = tokens[behind..].iter().position(begins);
        Scene {
            text,
            item: first..next.map_or(tokens.len(), |next| behind + next),
            tokens,
            at: byte,
        }
    }

    /// The kind of the item, if its first word says one.
    pub fn kind(&self) -> Option<Kind> {
        self.item_tokens()
            .first()
            .and_then(|first| Kind::of(self.word(*first)))
    }

    /// The item's name, or what else stands behind its first word.
    pub fn second_word(&self) -> Option<&'a str> {
        self.item_tokens().get(1).map(|token| self.word(*token))
    }

    /// Where the item begins.
    pub fn item_start(&self) -> usize {
        self.item_tokens()
            .first()
            .map_or(self.at, |first| first.start)
    }

    /// The first words of the item.
    pub fn first_words(&self, number: usize) -> Vec<&'a str> {
        self.words(0..number.min(self.item.len()))
    }

    /// The types of its parameters.
    pub fn parameter_kinds(&self) -> Vec<String> {
        let bindings = self.bindings().into_iter();
        bindings
            .flat_map(|(_, _, binding)| match binding {
                Binding::Parameter(kinds) => kinds,
                Binding::ElementOf(_) => Vec::new(),
            })
            .collect()
    }

    fn item_tokens(&self) -> &[Token] {
        &self.tokens[self.item.clone()]
    }

    fn word(&self, token: Token) -> &'a str {
        &self.text[token.start..token.end]
    }

    /// The name under the cursor, with the parts before it.
    pub fn dotted(&self) -> Option<Dotted> {
        let tokens = self.item_tokens();
        let under = tokens.iter().position(|token| {
            token.kind == TokenKind::Word && token.start <= self.at && self.at <= token.end
        })?;
        Some(self.dotted_from(under))
    }

    fn dotted_from(&self, under: usize) -> Dotted {
        let tokens = self.item_tokens();
        let mut parts = vec![self.word(tokens[under]).to_owned()];
        let mut first = under;
        while first >= 2
            && self.word(tokens[first - 1]) == "."
            && tokens[first - 2].kind == TokenKind::Word
            && tokens[first - 2].end == tokens[first - 1].start
        {
            first -= 2;
            parts.insert(0, self.word(tokens[first]).to_owned());
        }
        Dotted {
            part: parts.len() - 1,
            parts,
            bytes: tokens[under].start..tokens[under].end,
            first,
        }
    }

    /// The words of the item before a name.
    pub fn before(&self, name: &Dotted) -> Vec<&'a str> {
        self.words(0..name.first)
    }

    fn words(&self, range: Range<usize>) -> Vec<&'a str> {
        self.item_tokens()[range]
            .iter()
            .map(|token| self.word(*token))
            .collect()
    }

    /// Whether the cursor stands in a text or in a comment.
    pub fn is_in_prose(&self) -> bool {
        let in_text = self.tokens.iter().any(|token| {
            token.kind == TokenKind::Text && token.start < self.at && self.at < token.end
        });
        let end = self
            .tokens
            .iter()
            .rev()
            .find(|token| token.end <= self.at)
            .map_or(0, |token| token.end);
        let between = &self.text[end..self.at.max(end)];
        let line = between.rsplit(['\n', '\r']).next().unwrap_or("");
        in_text || line.contains('#')
    }

    /// What is being written: the bytes of the word that ends at the cursor, and the words of the
    /// item before it; a dot and what stands before that is the last of them.
    pub fn being_written(&self) -> (Range<usize>, Vec<&'a str>) {
        let tokens = self.item_tokens();
        let under = tokens.iter().position(|token| {
            token.kind == TokenKind::Word && token.start < self.at && self.at <= token.end
        });
        match under {
            Some(under) => (tokens[under].start..self.at, self.words(0..under)),
            None => {
                let before = tokens.partition_point(|token| token.end <= self.at);
                (self.at..self.at, self.words(0..before))
            }
        }
    }

    /// Whether only blanks stand before a byte on its line, and how many.
    pub fn indent(&self, byte: usize) -> Option<usize> {
        let before = self.text[..byte].rsplit(['\n', '\r']).next().unwrap_or("");
        before.trim().is_empty().then_some(before.len())
    }

    /// What a name is bound to: by the nearest binding before the cursor, or else the next one, as
    /// in `least of shot.invert for shot in run.shots`.
    pub fn binding(&self, name: &str) -> Option<Binding> {
        let bound = self.bindings();
        let before = bound
            .iter()
            .rfind(|(at, known, _)| known == name && *at <= self.at);
        before
            .or_else(|| bound.iter().find(|(_, known, _)| known == name))
            .map(|(_, _, binding)| binding.clone())
    }

    /// Every name that the item binds, each with the byte at which it does.
    pub fn bindings(&self) -> Vec<(usize, String, Binding)> {
        let tokens = self.item_tokens();
        let mut found = Vec::new();
        for at in 1..tokens.len().saturating_sub(2) {
            let [before, name, after] = [at - 1, at, at + 1].map(|at| self.word(tokens[at]));
            let is_name = tokens[at].kind == TokenKind::Word;
            if is_name
                && after == "in"
                && matches!(before, "each" | "every" | "some" | "of" | "for")
            {
                let list = self.path_from(at + 2);
                if !list.is_empty() {
                    found.push((tokens[at].start, name.to_owned(), Binding::ElementOf(list)));
                }
            } else if is_name
                && after == ":"
                && matches!(before, "(" | ",")
                && self.has_parameters()
            {
                let kinds = self.kinds_from(at + 2);
                found.push((tokens[at].start, name.to_owned(), Binding::Parameter(kinds)));
            }
        }
        found
    }

    fn has_parameters(&self) -> bool {
        matches!(self.kind(), Some(Kind::Define | Kind::Table | Kind::Survey))
    }

    fn path_from(&self, first: usize) -> Vec<String> {
        let tokens = self.item_tokens();
        let mut parts = Vec::new();
        let mut at = first;
        while let Some(token) = tokens.get(at).filter(|token| token.kind == TokenKind::Word) {
            parts.push(self.word(*token).to_owned());
            match tokens.get(at + 1) {
                Some(dot) if self.word(*dot) == "." => at += 2,
                Some(_) | None => break,
            }
        }
        parts
    }

    fn kinds_from(&self, first: usize) -> Vec<String> {
        let tokens = self.item_tokens();
        let mut kinds = Vec::new();
        let mut at = first;
        while let Some(token) = tokens.get(at).filter(|token| token.kind == TokenKind::Word) {
            kinds.push(self.word(*token).to_owned());
            match tokens.get(at + 1) {
                Some(or) if self.word(*or) == "or" => at += 2,
                Some(_) | None => break,
            }
        }
        kinds
    }
}
