//! Where an expression breaks: at its loosest words first.

use super::INDENT;
use super::items::{Page, soft};
use super::piece::{Between, Piece};
use super::words::Tree;
use crate::language::parse::{Part, is_level};

const BLANK: Between = Between::Blanks(1);

impl<'a> Page<'a> {
    /// An expression; nothing for any other part.
    pub fn expression(&self, tree: &'a Tree) -> Option<Piece<'a>> {
        let parts = tree.parts.as_slice();
        let piece = match tree.part {
            level if is_level(level) && parts.len() == 1 => self.piece(&parts[0]),
            Part::conditional => self.conditional(parts),
            Part::every | Part::some => self.quantified(parts),
            Part::disjunction | Part::conjunction => self.operands(parts, Between::Line),
            Part::sum | Part::product => self.operands(parts, Between::Fill),
            Part::comparison => self.comparison(parts),
            Part::negative => self.touching(parts),
            Part::group => self.in_parentheses(parts),
            Part::call => {
                let function = self.piece(&parts[0]);
                function.then(self.arena, Between::Nothing, self.arguments(&parts[1..]))
            }
            Part::count => self.breaking_before(parts, Part::w_where),
            Part::fold => self.breaking_before(parts, Part::w_for),
            Part::lesser => self.breaking_before(parts, Part::w_and),
            _ => return None,
        };
        Some(piece)
    }

    /// `if`, then its `then` and `else` on lines of their own; an `else if` goes on as it began.
    fn conditional(&self, parts: &'a [Tree]) -> Piece<'a> {
        self.branches(parts).group()
    }

    fn branches(&self, parts: &'a [Tree]) -> Piece<'a> {
        let arena = self.arena;
        let then = self.row(&parts[2..4], BLANK);
        let first = self
            .row(&parts[..2], BLANK)
            .then(arena, Between::Line, then)
            .group();
        let word = self.piece(&parts[4]);
        let otherwise = match parts[5].parts.as_slice() {
            [only] if only.part == Part::conditional => self.branches(&only.parts),
            _ => self.piece(&parts[5]),
        };
        first.then(arena, Between::Line, word.then(arena, BLANK, otherwise))
    }

    /// `some x in L has` and what; in parentheses that begins on the same line.
    fn quantified(&self, parts: &'a [Tree]) -> Piece<'a> {
        let (asked, head) = parts.split_last().expect("it asks something");
        let between = match is_group(asked) {
            true => BLANK,
            false => Between::Line,
        };
        self.row(head, BLANK)
            .then(self.arena, between, self.piece(asked))
            .nest(INDENT)
            .group()
    }

    /// Operands with their operators before them.
    fn operands(&self, parts: &'a [Tree], between: Between) -> Piece<'a> {
        let mut whole = self.piece(&parts[0]);
        for pair in parts[1..].chunks(2) {
            let operand = self.joined(pair, BLANK);
            whole = match between {
                Between::Line => whole.then(self.arena, between, operand),
                Between::Nothing | Between::Blanks(_) | Between::Fill => {
                    whole.then_deeper(self.arena, between, operand)
                }
            };
        }
        whole.group()
    }

    fn comparison(&self, parts: &'a [Tree]) -> Piece<'a> {
        let left = self.piece(&parts[0]);
        let comparator = self.piece(&parts[1]);
        let right = self.list(&parts[2..], Between::Fill);
        let compared = comparator.then(self.arena, BLANK, right);
        left.nest(INDENT)
            .then_deeper(self.arena, Between::Line, compared)
            .group()
    }

    fn in_parentheses(&self, parts: &'a [Tree]) -> Piece<'a> {
        self.piece(&parts[0])
            .then(self.arena, Between::Nothing, self.piece(&parts[1]))
            .then(self.arena, Between::Nothing, self.piece(&parts[2]))
            .nest(INDENT)
    }

    /// `(a, b)`: broken first before all of them, then between those that don't fit side by side.
    pub fn arguments(&self, parts: &'a [Tree]) -> Piece<'a> {
        let last = parts.len() - 1;
        let list = self.list(&parts[1..last], Between::Fill);
        self.piece(&parts[0])
            .then(self.arena, Between::Nothing, soft(self.arena, list))
            .nest(INDENT)
            .group()
            .then(self.arena, Between::Nothing, self.piece(&parts[last]))
    }

    fn breaking_before(&self, parts: &'a [Tree], before: Part) -> Piece<'a> {
        let at = parts
            .iter()
            .position(|part| part.part == before)
            .unwrap_or(parts.len());
        let (head, rest) = parts.split_at(at);
        let head = self.row(head, BLANK);
        if rest.is_empty() {
            return head;
        }
        head.then_deeper(self.arena, Between::Line, self.joined(rest, BLANK))
            .group()
    }
}

/// Whether an expression stands in parentheses as a whole.
fn is_group(tree: &Tree) -> bool {
    match tree.parts.as_slice() {
        [only] => only.part == Part::group || is_group(only),
        _ => tree.part == Part::group,
    }
}
