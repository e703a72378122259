//! The members of a thing by name: looked up for every key of every record.

use std::collections::HashMap;

use foldhash::fast::FixedState;

use super::Member;

/// The facts and lists of a thing by name.
#[derive(Debug, Clone, Default)]
pub struct Members {
    // The names are ours, so that a seed of its own would keep nobody from anything.
    by_name: HashMap<String, Member, FixedState>,
}

impl Members {
    /// Adds a member.
    pub fn insert(&mut self, name: String, member: Member) {
        self.by_name.insert(name, member);
    }

    /// The member of a name.
    #[inline]
    pub fn get(&self, name: &str) -> Option<&Member> {
        self.by_name.get(name)
    }

    /// Whether there is a member of that name.
    pub fn contains(&self, name: &str) -> bool {
        self.by_name.contains_key(name)
    }

    /// All names, in alphabetical order.
    pub fn names(&self) -> std::vec::IntoIter<&str> {
        let mut names: Vec<&str> = self.by_name.keys().map(String::as_str).collect();
        names.sort_unstable();
        names.into_iter()
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.by_name.len()
    }
}
