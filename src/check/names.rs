//! Who declares which name, and the nearest name to one that is not known.

use std::collections::BTreeMap;

use super::typed::{DefineId, DocumentId, LimitId, Owner, RuleId, TableId, TopicId};
use crate::source::Span;

/// What a name stands for within its owner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Declared {
    Limit(LimitId),
    Table(TableId),
    Define(DefineId),
    Rule(RuleId),
}

/// All names of a library.
#[derive(Debug, Default)]
pub(super) struct Names {
    pub documents: BTreeMap<String, (DocumentId, Span)>,
    pub topics: BTreeMap<String, (TopicId, Span)>,
    pub owned: BTreeMap<(Owner, String), (Declared, Span)>,
}

impl Names {
    /// What a name stands for, looked for in each owner in turn.
    pub fn find(&self, owners: &[Owner], name: &str) -> Option<Declared> {
        owners
            .iter()
            .find_map(|owner| self.owned.get(&(*owner, name.to_owned())))
            .map(|(declared, _)| *declared)
    }

    /// Every name of a limit, a table or a define that some owners declare.
    pub fn of_owners<'a>(&'a self, owners: &'a [Owner]) -> impl Iterator<Item = &'a str> {
        self.owned
            .iter()
            .filter(|((owner, _), (declared, _))| {
                owners.contains(owner) && !matches!(declared, Declared::Rule(_))
            })
            .map(|((_, name), _)| name.as_str())
    }
}

/// The longest name that is compared with others, in bytes.
const LONGEST_COMPARED: usize = 100;

/// With how many names one is compared.
const MOST_COMPARED: usize = 2_000;

/// A help text that names the nearest of some names, or lists them.
pub(crate) fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.into_iter().collect();
    let comparable = known
        .iter()
        .filter(|known| name.len().max(known.len()) <= LONGEST_COMPARED)
        .take(MOST_COMPARED);
    let best = comparable
        .map(|candidate| (strsim::damerau_levenshtein(name, candidate), *candidate))
        .min();
    match best {
        Some((distance, candidate))
            if distance <= name.len().div_ceil(3) && distance < name.len() =>
        {
            format!("did you mean `{candidate}`?")
        }
        Some(_) if known.len() <= 16 => format!("known here: {}", known.join(", ")),
        Some((_, candidate)) => format!(
            "the nearest of {} names known here is `{candidate}`",
            known.len()
        ),
        None if !known.is_empty() => "no name known here is like it".to_owned(),
        None => "nothing of the kind is declared here".to_owned(),
    }
}
