//! A text in, its words and items out: what must be known before the grammar reads it.
//!
//! Every bracket and prefix is counted here, so that no text can exhaust the stack of a later pass.

use super::error::SyntaxError;
use super::mistake::{clause_words, of_outsider};
use crate::source::{SourceId, Span};

/// So many levels an expression may have.
pub const DEEPEST: usize = 64;
/// So many bytes a file may have.
pub const LARGEST: usize = 4 * 1024 * 1024;

/// What kind of word or mark a [`Token`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenKind {
    /// Letters, digits and `_`, beginning with a letter or `_`.
    Word,
    /// A number, with its marks of feet or inches.
    Number,
    /// A text with its quotes.
    Text,
    /// One or two characters that are none of these.
    Mark,
}

/// A word or mark, in bytes of the text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Token {
    /// What it is.
    pub kind: TokenKind,
    /// Its first byte.
    pub start: usize,
    /// One past its last byte.
    pub end: usize,
    /// Whether only blanks stand before it on its line.
    pub begins_line: bool,
    /// How far it stands from the margin, where it begins a line.
    pub indent: usize,
}

macro_rules! kinds {
    ($($kind:ident $word:literal),* $(,)?) => {
        /// What an item is, by its first word.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Kind { $(#[doc = $word] $kind),* }

        impl Kind {
            /// Every word that begins an item.
            pub const WORDS: &[&str] = &[$($word),*];

            /// The kind of item that a word begins.
            pub fn of(word: &str) -> Option<Kind> {
                match word { $($word => Some(Kind::$kind),)* _ => None }
            }

            /// The word that begins it.
            pub fn word(self) -> &'static str {
                match self { $(Kind::$kind => $word),* }
            }
        }
    };
}
kinds! {
    Holds "holds", Permits "permits", Hazards "hazards", People "people", Choice "choice", Size "size", Thing "thing",
    Extend "extend", List "list", Survey "survey", Source "source", Topic "topic", Limit "limit",
    Table "table", Define "define", Rule "rule", Place "place", Adopt "adopt", Amend "amend",
    Set "set", Strike "strike", Restrict "restrict", Add "add", Replace "replace",
    Variance "variance",
}

/// An item, or a clause of one: which bytes of the text, which tokens.
#[derive(Debug, Clone)]
pub struct ItemText {
    /// The item's kind.
    pub kind: Kind,
    /// Its first byte.
    pub start: usize,
    /// One past its last byte.
    pub end: usize,
    /// Its tokens, as indexes of [`Layout::tokens`].
    pub tokens: std::ops::Range<usize>,
}

/// A text in words and items.
#[derive(Debug)]
pub struct Layout<'a> {
    /// The text.
    pub text: &'a str,
    /// Which one.
    pub source: SourceId,
    /// Its words and marks in order.
    pub tokens: Vec<Token>,
    /// Its items in order, but for those of which a mistake is known.
    pub items: Vec<ItemText>,
    /// The mistakes known so far, each with the byte at which it begins.
    pub errors: Vec<(usize, SyntaxError)>,
}

impl<'a> Layout<'a> {
    /// Cuts a text up.
    pub fn of(text: &'a str, source: SourceId) -> Layout<'a> {
        let mut layout = Layout {
            text,
            source,
            tokens: Vec::new(),
            items: Vec::new(),
            errors: Vec::new(),
        };
        if text.len() > LARGEST {
            let error = SyntaxError::TooLarge {
                size: text.len(),
                largest: LARGEST,
                at: span(source, 0, 0),
            };
            layout.errors.push((0, error));
            return layout;
        }
        let scan = Scan::of(text, source);
        layout.tokens = scan.tokens;
        layout.errors = scan.errors;
        layout.cut();
        layout.drop_unreadable();
        layout
    }

    /// The place of a token.
    pub fn span(&self, token: Token) -> Span {
        span(self.source, token.start, token.end)
    }

    /// What a token says.
    pub fn word(&self, token: Token) -> &'a str {
        &self.text[token.start..token.end]
    }

    /// Finds the items, and what stands outside of any.
    fn cut(&mut self) {
        let starts: Vec<usize> = (0..self.tokens.len())
            .filter(|&index| index == 0 || self.begins_item(self.tokens[index]))
            .collect();
        for (nth, &first) in starts.iter().enumerate() {
            let next = starts.get(nth + 1).copied().unwrap_or(self.tokens.len());
            let token = self.tokens[first];
            let word = self.word(token);
            match Kind::of(word) {
                Some(kind) if token.indent == 0 => self.items.push(ItemText {
                    kind,
                    start: token.start,
                    end: self.tokens[next - 1].end,
                    tokens: first..next,
                }),
                Some(_) => {
                    let error = SyntaxError::IndentedItem {
                        word: word.to_string(),
                        at: self.span(token),
                    };
                    self.errors.push((token.start, error));
                }
                None => self.outsider(first),
            }
        }
    }

    /// Notes what begins no item. A line that belongs to the item above it takes that along:
    /// without the line, it would only seem to lack its end.
    fn outsider(&mut self, first: usize) {
        let token = self.tokens[first];
        let error = of_outsider(self, token);
        if matches!(error, SyntaxError::NotIndented { .. }) {
            self.items.pop_if(|item| item.tokens.end == first);
        }
        self.errors.push((token.start, error));
    }

    /// Leaves out the items of which a mistake is known before the grammar reads them.
    fn drop_unreadable(&mut self) {
        let items = std::mem::take(&mut self.items);
        self.errors.sort_by_key(|(at, _)| *at);
        let known: Vec<usize> = self.errors.iter().map(|(at, _)| *at).collect();
        for item in items {
            let next = known.partition_point(|at| *at < item.start);
            if known.get(next).is_some_and(|at| *at < item.end) {
                continue;
            }
            match self.too_deep(&item) {
                Some(error) => self.errors.push((item.start, error)),
                None => self.items.push(item),
            }
        }
    }

    fn begins_item(&self, token: Token) -> bool {
        token.begins_line && token.indent == 0 && !matches!(self.word(token), "{" | "}")
    }

    /// The clauses of an item: what stands between its braces, cut where a line begins one.
    pub fn clauses(&self, item: &ItemText) -> Vec<ItemText> {
        let tokens = &self.tokens[item.tokens.clone()];
        let Some(open) = tokens.iter().position(|&token| self.word(token) == "{") else {
            return Vec::new();
        };
        let close = tokens.iter().rposition(|&token| self.word(token) == "}");
        let body = open + 1..close.unwrap_or(tokens.len()).max(open + 1);
        let Some(&leading) = tokens[body.clone()].first() else {
            return Vec::new();
        };
        let mut starts: Vec<usize> = body
            .clone()
            .filter(|&index| index == body.start || self.begins_clause(tokens[index], leading))
            .collect();
        starts.push(body.end);
        starts
            .windows(2)
            .map(|pair| ItemText {
                kind: item.kind,
                start: tokens[pair[0]].start,
                end: tokens[pair[1] - 1].end,
                tokens: item.tokens.start + pair[0]..item.tokens.start + pair[1],
            })
            .collect()
    }

    fn begins_clause(&self, token: Token, leading: Token) -> bool {
        let word = self.word(token);
        token.begins_line
            && token.indent <= leading.indent
            && matches!(token.kind, TokenKind::Word | TokenKind::Number)
            && !matches!(
                word,
                "and" | "or" | "then" | "else" | "has" | "where" | "for" | "is" | "in"
            )
    }

    /// The first place at which an item has more levels than are read.
    fn too_deep(&self, item: &ItemText) -> Option<SyntaxError> {
        if !matches!(
            item.kind,
            Kind::Rule | Kind::Add | Kind::Replace | Kind::Define
        ) {
            // Nothing else holds an expression, and only expressions hold each other.
            return None;
        }
        let mut levels: Vec<Level> = Vec::new();
        for index in item.tokens.clone() {
            let token = self.tokens[index];
            let word = self.word(token);
            if token.begins_line && clause_words(Kind::Rule).contains(&word) {
                levels.clear();
            }
            let next = self
                .tokens
                .get(index + 1)
                .map_or("", |&next| self.word(next));
            match word {
                "(" => levels.push(Level::Bracket),
                ")" => close(&mut levels),
                "not" => levels.push(Level::Not),
                "if" | "every" | "some" => levels.push(Level::Open),
                "count" | "least" | "greatest" | "total" | "lesser" | "greater" if next == "of" => {
                    levels.push(Level::Open)
                }
                "+" | "×" | "*" | "/" | "^" => levels.push(Level::Tight),
                "-" | "−" => levels.push(Level::Tight),
                "and" | "or" | "then" | "else" | "has" | "where" | "for" => {
                    leave(&mut levels, true)
                }
                "is" => leave(&mut levels, false),
                "," => {
                    while levels.last().is_some_and(|level| *level != Level::Bracket) {
                        levels.pop();
                    }
                }
                _ => {}
            }
            if levels.len() > DEEPEST {
                return Some(SyntaxError::TooDeep {
                    deepest: DEEPEST,
                    at: self.span(token),
                });
            }
        }
        None
    }
}

/// What an expression is inside of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Level {
    /// `(`, to its `)`.
    Bracket,
    /// `if`, `every` and their like: as far to the right as they can.
    Open,
    /// `not`, to the next `and` or `or`.
    Not,
    /// An operator of arithmetic, to the end of its sum.
    Tight,
}

fn close(levels: &mut Vec<Level>) {
    while let Some(level) = levels.pop() {
        if level == Level::Bracket {
            return;
        }
    }
}

/// Leaves the sums, and at an `and` or its like the `not`s too.
fn leave(levels: &mut Vec<Level>, nots: bool) {
    while levels
        .last()
        .is_some_and(|level| *level == Level::Tight || nots && *level == Level::Not)
    {
        levels.pop();
    }
}

/// A place of a text that has been found short enough.
pub fn span(source: SourceId, start: usize, end: usize) -> Span {
    let place = |at: usize| u32::try_from(at).expect("a text has less than 4 GiB");
    Span {
        source,
        start: place(start),
        end: place(end),
    }
}

/// The words of a text, as far as read.
struct Scan<'a> {
    text: &'a str,
    source: SourceId,
    at: usize,
    line_start: usize,
    tokens: Vec<Token>,
    errors: Vec<(usize, SyntaxError)>,
}

/// Marks of two and three characters; a longer one stands before its own beginning.
const LONG_MARKS: &[&str] = &["+/-", ">=", "<=", "==", "!=", "<>", "=>", "=<", "&&", "||"];
/// Marks of one character that the language has, or that authors are likely to try.
const MARKS: &str = "{}():,.=+-−×*/^%°'<>!&|≥≤≠±;?½¼¾²³µΩ";

impl<'a> Scan<'a> {
    fn of(text: &'a str, source: SourceId) -> Scan<'a> {
        let mut scan = Scan {
            text,
            source,
            at: 0,
            line_start: 0,
            tokens: Vec::new(),
            errors: Vec::new(),
        };
        scan.run();
        scan
    }

    fn run(&mut self) {
        // A byte order mark says nothing.
        self.at = if self.text.starts_with('\u{feff}') {
            '\u{feff}'.len_utf8()
        } else {
            0
        };
        self.line_start = self.at;
        while let Some(next) = self.text[self.at..].chars().next() {
            match next {
                '\n' | '\r' => {
                    self.at += 1;
                    self.line_start = self.at;
                }
                ' ' | '\t' => self.at += 1,
                '#' => self.at = self.line_end(),
                '"' => self.text_token(),
                '0'..='9' => self.number_token(),
                'a'..='z' | 'A'..='Z' | '_' => self.word_token(),
                other => self.mark_token(other),
            }
        }
    }

    fn line_end(&self) -> usize {
        let rest = &self.text[self.at..];
        self.at + rest.find(['\n', '\r']).unwrap_or(rest.len())
    }

    fn push(&mut self, kind: TokenKind, end: usize) {
        let start = self.at;
        let before = &self.text[self.line_start..start];
        let begins_line = self
            .tokens
            .last()
            .is_none_or(|last| last.end <= self.line_start);
        let indent = if begins_line {
            before.chars().count()
        } else {
            0
        };
        self.tokens.push(Token {
            kind,
            start,
            end,
            begins_line,
            indent,
        });
        self.at = end;
    }

    fn text_token(&mut self) {
        let line_end = self.line_end();
        match self.text[self.at + 1..line_end].find('"') {
            Some(length) => self.push(TokenKind::Text, self.at + length + 2),
            None => {
                let error = SyntaxError::UnclosedText {
                    at: span(self.source, self.at, line_end),
                };
                self.errors.push((self.at, error));
                self.push(TokenKind::Text, line_end);
            }
        }
    }

    fn number_token(&mut self) {
        let bytes = self.text.as_bytes();
        let digits = |mut at: usize| {
            while bytes.get(at).is_some_and(u8::is_ascii_digit) {
                at += 1;
            }
            at
        };
        let mut end = digits(self.at);
        if matches!(bytes.get(end), Some(b'.' | b'/')) && digits(end + 1) > end + 1 {
            end = digits(end + 1);
        }
        // `6'` and `42"` as the trade writes feet and inches.
        if matches!(bytes.get(end), Some(b'\'' | b'"')) {
            end += 1;
        }
        self.push(TokenKind::Number, end);
    }

    fn word_token(&mut self) {
        let rest = &self.text[self.at..];
        let length = rest
            .find(|c: char| !(c.is_alphanumeric() || c == '_'))
            .unwrap_or(rest.len());
        self.push(TokenKind::Word, self.at + length);
    }

    fn mark_token(&mut self, mark: char) {
        let rest = &self.text[self.at..];
        if let Some(long) = LONG_MARKS.iter().find(|long| rest.starts_with(**long)) {
            return self.push(TokenKind::Mark, self.at + long.len());
        }
        let end = self.at + mark.len_utf8();
        if !MARKS.contains(mark) {
            let error = SyntaxError::StrayCharacter {
                found: shown(mark),
                mend: stray_mend(mark).to_string(),
                at: span(self.source, self.at, end),
            };
            self.errors.push((self.at, error));
        }
        self.push(TokenKind::Mark, end);
    }
}

/// A character as a message can show it: one that cannot be seen by its number.
fn shown(character: char) -> String {
    if character.is_whitespace() || character.is_control() || character == '\u{feff}' {
        format!("an unusual blank (U+{:04X})", u32::from(character))
    } else {
        format!("`{character}`")
    }
}

fn stray_mend(character: char) -> &'static str {
    match character {
        '“' | '”' | '„' | '‘' | '’' | '«' | '»' => {
            "write the straight quotes `\"` around texts"
        }
        '–' | '—' => "write `-` for a minus",
        '÷' => "write `/` for a division",
        '·' | '⋅' => "write `×` or `*` for a product",
        blank if blank.is_whitespace() => "write an ordinary blank",
        _ => "leave it out; any character may stand inside a text in quotes or a comment",
    }
}
