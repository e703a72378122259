//! Why a value is not decided: what was missing, carried beside the value.
//!
//! A value names its causes by a number in an arena, so that values stay small and a decided
//! truth drops its causes by forgetting the number.

use crate::survey;

/// One thing that was missing.
#[derive(Debug, Clone, PartialEq)]
pub enum Cause {
    /// Something of the record, as the survey names it.
    Record(survey::Cause),
    /// The table says that it has no value there; by its place in the program, and the cell.
    NoValue(usize, usize),
    /// The key lies beyond the table's first or last row; by its place in the program, and the axis.
    Outside(usize, usize),
}

/// The causes of a value: none, or a node of the arena.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Causes(Option<std::num::NonZeroU32>);

impl Causes {
    pub const NONE: Causes = Causes(None);

    pub fn is_none(self) -> bool {
        self.0.is_none()
    }
}

#[derive(Debug)]
enum Node {
    One(Cause),
    Both(Causes, Causes),
}

/// All causes met while one rule is judged.
#[derive(Debug, Default)]
pub(super) struct Arena {
    nodes: Vec<Node>,
}

impl Arena {
    pub fn clear(&mut self) {
        self.nodes.clear();
    }

    pub fn one(&mut self, cause: Cause) -> Causes {
        self.push(Node::One(cause))
    }

    pub fn both(&mut self, a: Causes, b: Causes) -> Causes {
        if a.is_none() || a == b {
            return b;
        }
        if b.is_none() {
            return a;
        }
        self.push(Node::Both(a, b))
    }

    fn push(&mut self, node: Node) -> Causes {
        self.nodes.push(node);
        let number = u32::try_from(self.nodes.len()).expect("fewer than four billion causes");
        Causes(std::num::NonZeroU32::new(number))
    }

    /// Each cause once, in the order in which they were met.
    pub fn list(&self, causes: Causes) -> Vec<Cause> {
        let mut found: Vec<Cause> = Vec::new();
        let mut seen = vec![false; self.nodes.len()];
        let mut waiting = vec![causes];
        while let Some(Causes(number)) = waiting.pop() {
            let Some(number) = number else { continue };
            let at = number.get() as usize - 1;
            if std::mem::replace(&mut seen[at], true) {
                continue;
            }
            match &self.nodes[at] {
                Node::One(cause) => {
                    if !found.contains(cause) {
                        found.push(cause.clone());
                    }
                }
                Node::Both(a, b) => {
                    waiting.push(*b);
                    waiting.push(*a);
                }
            }
        }
        found
    }
}
