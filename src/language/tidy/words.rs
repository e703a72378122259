//! A text's words in order, each with the comments around it, and the trees over them.

use std::ops::Range;

use crate::language::layout::{ItemText, Layout};
use crate::language::parse::{Node, Part, concrete, tidied};
use crate::source::SourceId;

/// A comment with a line of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// From its `#` to the end of its line.
    pub text: String,
    /// Whether a blank line stands before it.
    pub blank: bool,
    /// Whether it stands in from the margin.
    pub indented: bool,
}

/// A word, a mark, a text, a quantity or a name with dots.
#[derive(Debug)]
pub struct Word {
    /// What the grammar takes it for.
    pub part: Part,
    /// As it shall be written.
    pub text: String,
    /// The comments before it, each on a line of its own.
    pub before: Vec<Note>,
    /// Whether a blank line stands before it, behind those comments.
    pub blank: bool,
    /// The comment behind it on its line.
    pub after: Option<String>,
}

/// A part of an item and which words it is made of.
#[derive(Debug)]
pub struct Tree {
    /// What it is.
    pub part: Part,
    /// Its words, as indexes of [`Words::all`].
    pub words: Range<usize>,
    /// Its parts; none for a single word.
    pub parts: Vec<Tree>,
    /// Where it stands in the text.
    bytes: Range<usize>,
}

/// The words of a text that reads, and its items.
#[derive(Debug)]
pub struct Words<'a> {
    text: &'a str,
    /// Every word in order.
    pub all: Vec<Word>,
    /// The items in order.
    pub items: Vec<Tree>,
    /// The comments after the last item.
    pub tail: Vec<Note>,
}

impl<'a> Words<'a> {
    /// Takes a text apart.
    pub fn of(layout: &Layout<'a>) -> Words<'a> {
        let mut words = Words {
            text: layout.text,
            all: Vec::new(),
            items: Vec::new(),
            tail: Vec::new(),
        };
        let mut end = 0;
        for item in &layout.items {
            if let Some(node) = concrete(layout, item) {
                let tree = words.add(&node, &mut end);
                words.items.push(tree);
            }
        }
        words.tail = words.between(end, layout.text.len()).before;
        words
    }

    fn add(&mut self, node: &Node, end: &mut usize) -> Tree {
        let first = self.all.len();
        if !node.parts.is_empty() {
            let parts: Vec<Tree> = node.parts.iter().map(|part| self.add(part, end)).collect();
            return Tree {
                part: node.part,
                words: first..self.all.len(),
                parts,
                bytes: node.start..*end,
            };
        }
        let gap = self.between(*end, node.start);
        let written = &self.text[node.start..node.end];
        let (text, within) = canonical(node.part, written);
        self.all.push(Word {
            part: node.part,
            text,
            before: gap.before.into_iter().chain(within).collect(),
            blank: gap.blank,
            after: None,
        });
        *end = node.end;
        Tree {
            part: node.part,
            words: first..first + 1,
            parts: Vec::new(),
            bytes: node.start..node.end,
        }
    }

    /// What stands between two words; a comment behind the first is given to it.
    fn between(&mut self, start: usize, end: usize) -> Gap {
        let mut gap = Gap::default();
        let text = self.text[start..end]
            .replace("\r\n", "\n")
            .replace('\r', "\n");
        let text = text.trim_start_matches('\u{feff}');
        let lines: Vec<&str> = text.split('\n').collect();
        for (at, line) in lines.iter().enumerate() {
            let words = line.trim();
            if words.starts_with('#') {
                match self.all.last_mut() {
                    Some(before) if at == 0 => before.after = Some(words.to_owned()),
                    Some(_) | None => gap.before.push(Note {
                        text: words.to_owned(),
                        blank: std::mem::take(&mut gap.blank),
                        indented: line.starts_with([' ', '\t']),
                    }),
                }
            } else if at > 0 && at + 1 < lines.len() {
                gap.blank = true;
            }
        }
        gap
    }

    /// An item as it was written.
    pub fn verbatim(&self, item: &Tree) -> &str {
        &self.text[item.bytes.clone()]
    }

    /// Whether a text is this item in other white space.
    pub fn same_when_read(&self, written: &str, item: &Tree) -> bool {
        let layout = Layout::of(written, SourceId(0));
        let [only] = layout.items.as_slice() else {
            return false;
        };
        let whole = ItemText {
            kind: only.kind,
            start: only.start,
            end: only.end,
            tokens: only.tokens.clone(),
        };
        let Some(node) = concrete(&layout, &whole) else {
            return false;
        };
        let mut again = Words {
            text: written,
            all: Vec::new(),
            items: Vec::new(),
            tail: Vec::new(),
        };
        let mut end = 0;
        again.add(&node, &mut end);
        let pairs = self.all[item.words.clone()].iter().zip(&again.all);
        again.all.len() == item.words.len()
            && pairs
                .into_iter()
                .all(|(a, b)| a.part == b.part && a.text == b.text)
    }
}

#[derive(Default)]
struct Gap {
    before: Vec<Note>,
    blank: bool,
}

/// How a word is written, and the comments that stood inside of `is at least` and its like.
fn canonical(part: Part, written: &str) -> (String, Vec<Note>) {
    match part {
        Part::text => (written.to_owned(), Vec::new()),
        Part::times => ("×".to_owned(), Vec::new()),
        _ if written.contains('#') => {
            let mut words = Vec::new();
            let mut notes = Vec::new();
            for line in written.split(['\n', '\r']) {
                let (before, note) = match line.find('#') {
                    Some(at) => line.split_at(at),
                    None => (line, ""),
                };
                words.extend(before.split_whitespace());
                if !note.is_empty() {
                    notes.push(Note {
                        text: note.trim_end().to_owned(),
                        blank: false,
                        indented: true,
                    });
                }
            }
            (words.join(" "), notes)
        }
        _ => (tidied(written), Vec::new()),
    }
}

/// The comments before an item, each on its line.
pub fn notes(words: &Words<'_>, first: usize, after_another: bool) -> String {
    let word = &words.all[first];
    let mut text = String::new();
    for (at, note) in word.before.iter().enumerate() {
        note_line(&mut text, note, at > 0, after_another);
    }
    if word.blank && !word.before.is_empty() {
        text.push('\n');
    }
    text
}

/// The comments after the last item.
pub fn rest(whole: &mut String, words: &Words<'_>) {
    let after_another = !whole.is_empty();
    for note in &words.tail {
        let blank = !whole.is_empty();
        note_line(whole, note, blank, after_another);
    }
}

fn note_line(text: &mut String, note: &Note, blank_may_stand: bool, after_another: bool) {
    if note.blank && blank_may_stand {
        text.push('\n');
    }
    if note.indented && after_another {
        text.push_str("  ");
    }
    text.push_str(&note.text);
    text.push('\n');
}

/// The comment behind an item's last word, and the end of its line.
pub fn trailing(whole: &mut String, comment: Option<&str>) {
    if let Some(comment) = comment {
        whole.push_str(super::piece::BEFORE_COMMENT);
        whole.push_str(comment);
    }
    whole.push('\n');
}
