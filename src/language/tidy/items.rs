//! An item's tree in, its lines out.

use pretty::{Arena, DocAllocator};

use super::columns::{Columns, Entry, aligned};
use super::piece::{Between, Piece};
use super::words::{Tree, Words};
use super::{INDENT, WIDTH};
use crate::language::parse::Part;

/// Between the parts of a line that are told apart by more than a blank.
const APART: Between = Between::Blanks(3);
const BLANK: Between = Between::Blanks(1);

/// Puts words together and writes lines.
pub struct Page<'a> {
    /// Where pieces live.
    pub arena: &'a Arena<'a>,
    words: &'a Words<'a>,
    text: String,
    /// The comment behind the last line, not written yet.
    comment: Option<&'a str>,
}

impl<'a> Page<'a> {
    /// An empty page.
    pub fn new(arena: &'a Arena<'a>, words: &'a Words<'a>) -> Page<'a> {
        Page {
            arena,
            words,
            text: String::new(),
            comment: None,
        }
    }

    /// What was written, without the comment behind it.
    pub fn finish(self) -> String {
        self.text
    }

    /// Writes an item; the comments before it and behind it are not its own.
    pub fn item(&mut self, item: &'a Tree) {
        let parts = item.parts.as_slice();
        match item.part {
            Part::choice => self.choice(parts),
            Part::size
            | Part::thing
            | Part::extend
            | Part::source
            | Part::rule
            | Part::place
            | Part::variance
            | Part::holds
            | Part::permits
            | Part::hazards
            | Part::people => self.braced(parts, &[]),
            Part::table => {
                let (head, lines) = split(parts, Part::citation, Part::open);
                self.braced(head, lines);
            }
            Part::survey => {
                let text = parts.len() - 1;
                self.line(0, self.row(&parts[..text], BLANK));
                self.line(INDENT, self.piece(&parts[text]));
            }
            Part::limit => self.limit(parts),
            Part::define => self.define(parts),
            Part::adopt
            | Part::amend
            | Part::set
            | Part::strike_topic
            | Part::strike_rule
            | Part::restrict
            | Part::add
            | Part::replace => {
                let (head, lines) = split(parts, Part::circumstances, Part::open);
                self.braced(head, lines);
            }
            _ => self.line(0, self.row(parts, BLANK)),
        }
    }

    /// A head, lines of its own after it, and a body in braces if there is one.
    fn braced(&mut self, head: &'a [Tree], lines: &'a [Tree]) {
        let own = lines.iter().take_while(|part| part.part != Part::open);
        let own: Vec<&Tree> = own.collect();
        let (all, body_in_head) = if lines.is_empty() {
            (head, true)
        } else {
            (lines, false)
        };
        let open = all.iter().position(|part| part.part == Part::open);
        let head = match open {
            Some(open) if body_in_head => &head[..=open],
            Some(_) | None => head,
        };
        self.line(0, self.row(head, BLANK));
        for line in own {
            self.line(INDENT, self.piece(line));
        }
        let Some(open) = open else {
            return;
        };
        if !body_in_head {
            self.line(0, self.piece(&all[open]));
        }
        self.body(&all[open + 1..all.len() - 1]);
        self.close(&all[all.len() - 1]);
    }

    fn body(&mut self, parts: &'a [Tree]) {
        let entries = parts.iter().map(|part| self.entry(part)).collect();
        for (at, piece) in aligned(self.arena, entries).into_iter().enumerate() {
            self.body_line(INDENT, piece, at > 0);
        }
    }

    /// The brace that ends a body, after the comments that stand before it.
    fn close(&mut self, brace: &'a Tree) {
        let mut piece = self.piece(brace);
        for (at, note) in std::mem::take(&mut piece.first).iter().enumerate() {
            self.end_line();
            if note.blank && at > 0 {
                self.text.push('\n');
            }
            self.text.push_str(&" ".repeat(INDENT));
            self.text.push_str(&note.text);
        }
        self.line(0, piece);
    }

    fn entry(&self, part: &'a Tree) -> Entry<'a> {
        let parts = part.parts.as_slice();
        // How many parts stand in columns of their own; the rest is the last cell.
        let (cells, kind) = match part.part {
            Part::label | Part::alternative => (vec![1], Columns::Widest),
            Part::fact => (vec![1, 2, 1], Columns::Widest),
            Part::row => (vec![1], Columns::Widest),
            Part::source_clause => (vec![1], Columns::First(10, 0)),
            Part::title
            | Part::each
            | Part::when
            | Part::obligation
            | Part::citation
            | Part::hold
            | Part::remedy
            | Part::hazard => (vec![1], Columns::First(7, 0)),
            Part::authority | Part::date_choice => (vec![1, 1], Columns::First(9, 0)),
            Part::decision => (vec![1, 1], Columns::First(9, 1)),
            Part::variance_clause => (vec![1], Columns::First(9, 0)),
            _ => (Vec::new(), Columns::Widest),
        };
        let mut rest = parts;
        let mut pieces = Vec::new();
        for number in cells {
            let (cell, others) = rest.split_at(number.min(rest.len()));
            pieces.push(self.row(cell, BLANK));
            rest = others;
        }
        if !rest.is_empty() {
            pieces.push(self.row(rest, BLANK));
        }
        Entry {
            cells: pieces,
            kind,
        }
    }

    /// Labels without texts stand on one line, or as many as they need.
    fn choice(&mut self, parts: &'a [Tree]) {
        let plain = parts
            .iter()
            .all(|part| part.part != Part::alternative || part.parts.len() == 1);
        if !plain {
            return self.braced(parts, &[]);
        }
        let whole = self.row(parts, BLANK);
        if whole
            .flat()
            .is_some_and(|line| line.chars().count() <= WIDTH)
        {
            return self.line(0, whole);
        }
        let open = parts.iter().position(|part| part.part == Part::open);
        let open = open.expect("a choice has its braces");
        self.line(0, self.row(&parts[..=open], BLANK));
        self.line(
            INDENT,
            self.row(&parts[open + 1..parts.len() - 1], Between::Fill),
        );
        self.close(&parts[parts.len() - 1]);
    }

    fn limit(&mut self, parts: &'a [Tree]) {
        let (line, citations) = split(parts, Part::citation, Part::citation);
        let values = line
            .iter()
            .position(|part| matches!(part.part, Part::text | Part::narrowing))
            .unwrap_or(line.len());
        let mut whole = self.row(&line[..values], BLANK);
        for part in &line[values..] {
            whole = whole.then(self.arena, APART, self.piece(part));
        }
        self.line(0, whole.nest(INDENT));
        for citation in citations {
            self.line(INDENT, self.piece(citation));
        }
    }

    fn define(&mut self, parts: &'a [Tree]) {
        let (line, citations) = split(parts, Part::citation, Part::citation);
        let (body, head) = line.split_last().expect("a define has its expression");
        let head = self.joined(head, BLANK);
        let whole = head.then(self.arena, Between::Line, self.piece(body));
        self.line(0, whole.nest(INDENT).group());
        for citation in citations {
            self.line(INDENT, self.piece(citation));
        }
    }

    /// Writes a line that no blank line may stand before.
    fn line(&mut self, indent: usize, piece: Piece<'a>) {
        self.body_line(indent, piece, false);
    }

    fn body_line(&mut self, indent: usize, piece: Piece<'a>, blank_may_stand: bool) {
        // The comments before an item are written before it.
        let is_first = self.text.is_empty();
        if !is_first {
            self.end_line();
            let mut blank_may_stand = blank_may_stand;
            for note in piece.first {
                if note.blank && blank_may_stand {
                    self.text.push('\n');
                }
                self.text.push_str(&" ".repeat(indent));
                self.text.push_str(&note.text);
                self.text.push('\n');
                blank_may_stand = true;
            }
            if piece.blank && blank_may_stand {
                self.text.push('\n');
            }
        }
        self.text.push_str(&piece.lines(self.arena, indent));
        self.comment = piece.last;
    }

    fn end_line(&mut self) {
        if let Some(comment) = self.comment.take() {
            self.text.push_str(super::piece::BEFORE_COMMENT);
            self.text.push_str(comment);
        }
        self.text.push('\n');
    }

    /// Parts side by side.
    pub fn joined(&self, parts: &'a [Tree], between: Between) -> Piece<'a> {
        let mut pieces = parts.iter().map(|part| self.piece(part));
        let first = pieces.next().expect("there is a part");
        pieces.fold(first, |whole, piece| whole.then(self.arena, between, piece))
    }

    /// Parts side by side; lines after the first stand in.
    pub fn row(&self, parts: &'a [Tree], between: Between) -> Piece<'a> {
        let whole = self.joined(parts, between);
        // A line that stands in already goes on at its own beginning.
        match parts.len() == 1 || between == Between::Fill {
            true => whole,
            false => whole.nest(INDENT),
        }
    }

    /// A part of whatever kind.
    pub fn piece(&self, tree: &'a Tree) -> Piece<'a> {
        if tree.parts.is_empty() {
            return Piece::word(self.arena, &self.words.all[tree.words.start]);
        }
        match tree.part {
            Part::parameters => self.arguments(&tree.parts),
            Part::parameter => self.parameter(&tree.parts),
            Part::keys => self.list(&tree.parts, BLANK),
            Part::target => self.touching(&tree.parts),
            Part::circumstances => {
                // `from` and its date are two parts.
                let (from, rest) = match tree.parts.first() {
                    Some(first) if first.part == Part::w_from => tree.parts.split_at(2),
                    Some(_) | None => tree.parts.split_at(1),
                };
                rest.iter()
                    .map(|part| self.piece(part))
                    .fold(self.row(from, BLANK), |whole, piece| {
                        whole.then(self.arena, APART, piece)
                    })
                    .nest(INDENT)
            }
            _ => self
                .expression(tree)
                .unwrap_or_else(|| self.row(&tree.parts, BLANK)),
        }
    }

    /// Parts without anything between them.
    pub fn touching(&self, parts: &'a [Tree]) -> Piece<'a> {
        self.row(parts, Between::Nothing)
    }

    /// Parts with a comma behind each but the last; the commas are among the parts.
    pub fn list(&self, parts: &'a [Tree], between: Between) -> Piece<'a> {
        let mut whole = self.piece(&parts[0]);
        for part in &parts[1..] {
            let here = match part.part {
                Part::comma => Between::Nothing,
                _ => between,
            };
            whole = whole.then(self.arena, here, self.piece(part));
        }
        whole
    }

    /// `name: kind or kind`
    fn parameter(&self, parts: &'a [Tree]) -> Piece<'a> {
        let mut whole = self.joined(&parts[..2], Between::Nothing);
        whole = whole.then(self.arena, BLANK, self.piece(&parts[2]));
        for pair in parts[3..].chunks(2) {
            whole = whole.then(self.arena, Between::Fill, self.joined(pair, BLANK));
        }
        whole.nest(INDENT)
    }
}

/// A piece that may begin a line, where no comment before it does that already.
pub fn soft<'a>(arena: &'a Arena<'a>, mut piece: Piece<'a>) -> Piece<'a> {
    if piece.first.is_empty() {
        piece.doc = arena.line_().append(piece.doc);
    }
    piece
}

/// Cuts before the first of one of two parts.
fn split(parts: &[Tree], first: Part, other: Part) -> (&[Tree], &[Tree]) {
    let at = parts
        .iter()
        .position(|part| part.part == first || part.part == other)
        .unwrap_or(parts.len());
    match parts.get(at) {
        // A body alone belongs to the head.
        Some(part) if part.part == Part::open => (parts, &[]),
        Some(_) => parts.split_at(at),
        None => (parts, &[]),
    }
}
