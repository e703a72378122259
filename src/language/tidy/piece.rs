//! Words put together, with the comments at both ends kept apart so that lines break there.

use pretty::{Arena, DocAllocator, DocBuilder};

use super::words::{Note, Word};
use super::{INDENT, WIDTH};

/// Between a line and the comment behind it.
pub const BEFORE_COMMENT: &str = "     ";

/// A width that no line reaches.
const UNBROKEN: usize = usize::MAX / 2;

/// What the words become.
pub type Doc<'a> = DocBuilder<'a, Arena<'a>>;

/// Some words in a row.
#[derive(Clone)]
pub struct Piece<'a> {
    /// Their text.
    pub doc: Doc<'a>,
    /// The comments before the first.
    pub first: &'a [Note],
    /// Whether a blank line stands before the first, behind its comments.
    pub blank: bool,
    /// The comment behind the last.
    pub last: Option<&'a str>,
}

/// What stands between two pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// They touch.
    Nothing,
    /// So many blanks.
    Blanks(usize),
    /// A blank or the end of a line, as the group around them has it.
    Line,
    /// A blank, or the end of a line where what follows does not fit on it as a whole.
    Fill,
}

impl<'a> Piece<'a> {
    /// One word.
    pub fn word(arena: &'a Arena<'a>, word: &'a Word) -> Piece<'a> {
        Piece {
            doc: arena.text(word.text.as_str()),
            first: &word.before,
            blank: word.blank,
            last: word.after.as_deref(),
        }
    }

    /// This and then another.
    pub fn then(self, arena: &'a Arena<'a>, between: Between, other: Piece<'a>) -> Piece<'a> {
        self.and(arena, between, other, 0)
    }

    /// This and then another, whose lines stand farther in.
    pub fn then_deeper(
        self,
        arena: &'a Arena<'a>,
        between: Between,
        other: Piece<'a>,
    ) -> Piece<'a> {
        self.and(arena, between, other, INDENT)
    }

    fn and(
        self,
        arena: &'a Arena<'a>,
        between: Between,
        other: Piece<'a>,
        deeper: usize,
    ) -> Piece<'a> {
        let mut rest = arena.nil();
        if let Some(comment) = self.last {
            rest = rest.append(BEFORE_COMMENT).append(comment);
        }
        if self.last.is_some() || !other.first.is_empty() {
            rest = rest.append(arena.hardline());
            for note in other.first {
                rest = rest.append(note.text.as_str()).append(arena.hardline());
            }
            rest = rest.append(other.doc);
        } else {
            rest = match between {
                Between::Nothing => other.doc,
                Between::Blanks(number) => arena.text(" ".repeat(number)).append(other.doc),
                Between::Line => arena.line().append(other.doc),
                Between::Fill => arena.line().append(other.doc).group(),
            };
        }
        Piece {
            doc: self.doc.append(rest.nest(columns(deeper))),
            first: self.first,
            blank: self.blank,
            last: other.last,
        }
    }

    /// Lines of this, but for the first, stand farther in.
    pub fn nest(mut self, by: usize) -> Piece<'a> {
        self.doc = self.doc.nest(columns(by));
        self
    }

    /// All on one line if that fits, else a line at each of its own breaks.
    pub fn group(mut self) -> Piece<'a> {
        self.doc = self.doc.group();
        self
    }

    /// Its text on one line, unless a comment keeps it from that.
    pub fn flat(&self) -> Option<String> {
        let text = self.doc.clone().group().pretty(UNBROKEN).to_string();
        (!text.contains('\n')).then_some(text)
    }

    /// Its text from a column on, in lines.
    pub fn lines(&self, arena: &'a Arena<'a>, indent: usize) -> String {
        let doc = arena.text(" ".repeat(indent)).append(self.doc.clone());
        let text = doc.nest(columns(indent)).pretty(WIDTH).to_string();
        let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
        lines.join("\n")
    }
}

fn columns(number: usize) -> isize {
    isize::try_from(number).expect("no line begins that far in")
}
