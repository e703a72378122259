//! Cases and changes in; which changes some case notices, and a case for those that none does.

use std::collections::{BTreeMap, BTreeSet};

use super::apply::apply;
use super::borrow::borrow;
use super::cases::{Case, CaseFile, Check, verdicts};
use super::mutant::{Author, Change, Mutant, Seat};
use super::never::never_shows;
use super::proof::{Changes, NeverDecides, Suggestion, Unproved, Where};
use super::stages::{Progress, Stage};
use super::suggest::{NoCase, Suggested, suggest};
use crate::check::typed::{Action, Constant, Library, LimitId};
use crate::finding::Verdict;
use crate::layers::{Direction, direction_of_limit};
use crate::library::Opened;
use crate::source::Sources;

/// Where the verdict turns between two readings that nobody could tell apart.
const TOO_FINE: &str = "in no known case does a reading of six decimals stand exactly at it";

const NONE_YET: &str = "no case expects anything of the rule yet: write a first one";
const NOT_JUDGED: &str = "no case is judged by it: write one for its place and its dates";

/// The most cases of the model that are taken over to a place in search of one.
const MOST_TAKEN_OVER: usize = 12;

/// A case's expectation of a rule that comes out as expected.
#[derive(Clone, Copy)]
pub(super) struct Witness<'a> {
    /// The file.
    pub file: &'a CaseFile,
    /// The case.
    pub case: &'a Case,
    /// The expectation.
    pub check: &'a Check,
}

impl Witness<'_> {
    /// What a change makes of the verdicts; none where the rule doesn't use what is changed.
    fn changed(&self, opened: &Opened, mutant: &Mutant) -> Option<Vec<Verdict>> {
        let mut program = self.check.program.clone();
        apply(&mut program, mutant).then(|| verdicts(&program, opened, &self.case.complete))
    }

    fn notices(&self, opened: &Opened, mutant: &Mutant) -> bool {
        self.changed(opened, mutant)
            .is_some_and(|found| !self.check.expects(&found))
    }
}

/// Tries every change on the cases of some files; others lend theirs to places that have none.
/// `watch` is told of each that was tried.
pub(super) fn try_all(
    opened: &Opened,
    sources: &Sources,
    (files, lent): (&[CaseFile], &[CaseFile]),
    mutants: &[Mutant],
    watch: &dyn Fn(Progress),
) -> Changes {
    let witnesses = witnesses_of(opened, files);
    let lent = witnesses_of(opened, lent);
    let (by_rule, lent_by_rule) = (by_rule(&witnesses), by_rule(&lent));
    let survive = |mutant: &Mutant| {
        let noticed = mutant
            .rules
            .iter()
            .flat_map(|rule| by_rule.get(rule.as_str()).into_iter().flatten())
            .filter(|witness| is_of_one_layer(sources, witness.file, mutant))
            .any(|witness| witness.notices(opened, mutant));
        !noticed
    };
    let mut survivors = Vec::new();
    for (done, mutant) in mutants.iter().enumerate() {
        if survive(mutant) {
            survivors.push(mutant);
        }
        watch(Progress {
            stage: Stage::Trying,
            done: done + 1,
            of: mutants.len(),
        });
    }
    let of = survivors.len();
    let mut tried = Tried {
        opened,
        sources,
        files,
        suggested: Vec::new(),
        changes: Changes {
            tried: mutants.len(),
            noticed: mutants.len() - survivors.len(),
            ..Changes::default()
        },
    };
    for (done, mutant) in survivors.into_iter().enumerate() {
        let bases: Vec<Witness<'_>> = mutant
            .rules
            .iter()
            .flat_map(|rule| by_rule.get(rule.as_str()).into_iter().flatten())
            .copied()
            .collect();
        let (bases, others): (Vec<Witness<'_>>, Vec<Witness<'_>>) = bases
            .into_iter()
            .partition(|witness| is_of_one_layer(sources, witness.file, mutant));
        let lent: Vec<Witness<'_>> = mutant
            .rules
            .iter()
            .flat_map(|rule| lent_by_rule.get(rule.as_str()).into_iter().flatten())
            .copied()
            .chain(others)
            .collect();
        tried.survivor(mutant, &bases, &lent);
        watch(Progress {
            stage: Stage::Suggesting,
            done: done + 1,
            of,
        });
    }
    tried.changes
}

/// Whether cases are of the layer whose value is changed: each proves its own.
fn is_of_one_layer(sources: &Sources, file: &CaseFile, mutant: &Mutant) -> bool {
    layer(&sources.get(file.id).name) == layer(&sources.get(mutant.span.source).name)
}

/// The folder of a place; none for the model.
fn layer(name: &str) -> Option<&str> {
    let (folder, _) = name.strip_prefix("jurisdictions/")?.rsplit_once('/')?;
    Some(folder)
}

fn witnesses_of<'a>(opened: &Opened, files: &'a [CaseFile]) -> Vec<Witness<'a>> {
    let mut found = Vec::new();
    for file in files {
        for case in &file.cases {
            for check in &case.checks {
                if check.expects(&check.verdicts(opened, &case.complete)) {
                    found.push(Witness { file, case, check });
                }
            }
        }
    }
    found
}

fn by_rule<'w, 'a>(witnesses: &'w [Witness<'a>]) -> BTreeMap<&'w str, Vec<Witness<'a>>> {
    let mut by_rule: BTreeMap<&str, Vec<Witness<'a>>> = BTreeMap::new();
    for witness in witnesses {
        by_rule
            .entry(&witness.check.rule)
            .or_default()
            .push(*witness);
    }
    by_rule
}

struct Tried<'a> {
    opened: &'a Opened,
    sources: &'a Sources,
    files: &'a [CaseFile],
    /// The cases suggested so far: one may notice several changes.
    suggested: Vec<Suggested>,
    changes: Changes,
}

impl Tried<'_> {
    fn survivor(&mut self, mutant: &Mutant, bases: &[Witness<'_>], lent: &[Witness<'_>]) {
        if let Some(why) = self.why_never(mutant, bases) {
            self.never(mutant, why);
            return;
        }
        let known = self
            .suggested
            .iter()
            .position(|suggested| suggested.notices(self.opened, mutant));
        let suggestion = known.map_or_else(|| self.new_case(mutant, bases, lent), Ok);
        let (suggestion, why_none) = match suggestion {
            Ok(at) => (Some(at), None),
            Err(NoCase::TooFine) => {
                self.never(mutant, TOO_FINE);
                return;
            }
            Err(NoCase::NotJudged) => (None, Some(NOT_JUDGED.to_owned())),
            Err(NoCase::NoneYet) => (None, Some(NONE_YET.to_owned())),
            Err(NoCase::Because(why)) => (None, Some(why.to_owned())),
        };
        self.changes.unproved.push(Unproved {
            what: mutant.what.clone(),
            is: mutant.is.clone(),
            tried: mutant.tried.clone(),
            at: Where::of(self.sources, mutant.span),
            rules: mutant.rules.iter().cloned().collect(),
            suggestion,
            why_none,
        });
    }

    fn new_case(
        &mut self,
        mutant: &Mutant,
        bases: &[Witness<'_>],
        lent: &[Witness<'_>],
    ) -> Result<usize, NoCase> {
        let suggested = match suggest(self.opened, self.sources, mutant, bases) {
            Err(none @ (NoCase::NotJudged | NoCase::NoneYet)) => {
                let lent: Vec<Witness<'_>> = [bases, lent].concat();
                self.at_the_place(mutant, &lent).ok_or(none)?
            }
            found => found?,
        };
        self.changes.suggestions.push(Suggestion {
            file: suggested.file.clone(),
            rule: suggested.rule.clone(),
            yaml: suggested.yaml.clone(),
            begins: suggested.begins.clone(),
        });
        self.suggested.push(suggested);
        Ok(self.suggested.len() - 1)
    }

    /// A case of the model, taken over to the place that gave the value.
    fn at_the_place(&self, mutant: &Mutant, bases: &[Witness<'_>]) -> Option<Suggested> {
        bases.iter().take(MOST_TAKEN_OVER).find_map(|base| {
            let taken = borrow(self.opened, self.sources, self.files, mutant, base)?;
            let file = &taken.file;
            let witnesses: Vec<Witness<'_>> = file
                .cases
                .iter()
                .flat_map(|case| {
                    let checks = case.checks.iter();
                    checks.map(move |check| Witness { file, case, check })
                })
                .collect();
            let mut found = suggest(self.opened, &taken.sources, mutant, &witnesses).ok()?;
            found.begins = taken.begins.clone();
            Some(found)
        })
    }

    fn never(&mut self, mutant: &Mutant, why: &str) {
        self.changes.never_decides.push(NeverDecides {
            what: mutant.what.clone(),
            is: mutant.is.clone(),
            tried: mutant.tried.clone(),
            why: why.to_owned(),
            at: Where::of(self.sources, mutant.span),
        });
    }

    /// Why no record can show a change, where that is sure of every rule that uses it.
    fn why_never(&self, mutant: &Mutant, bases: &[Witness<'_>]) -> Option<&'static str> {
        if self.is_beside_another(mutant) {
            return Some("another equivalent asks less, and one that is met suffices");
        }
        let mut seen = BTreeSet::new();
        let mut why = None;
        for base in bases {
            let mut changed = base.check.program.clone();
            if !apply(&mut changed, mutant) || !seen.insert((&base.check.rule, base.file.id)) {
                continue;
            }
            why = Some(never_shows(
                self.opened,
                mutant,
                &base.check.program,
                &changed,
            )?);
        }
        let is_seen = |rule: &String| seen.iter().any(|(of, _)| *of == rule);
        why.filter(|_| mutant.rules.iter().all(is_seen))
    }

    /// Whether the change leaves another equivalent deciding, as it does without it.
    fn is_beside_another(&self, mutant: &Mutant) -> bool {
        let library = &self.opened.library;
        let Seat::Limit { limit, value, by } = &mutant.seat else {
            return false;
        };
        let values = values_of(library, *limit, *by);
        let (Change::Number(becomes), Some(Constant::Number { value: is, .. })) =
            (mutant.change, values.get(*value))
        else {
            return false;
        };
        let others = values.iter().enumerate().filter(|(at, _)| at != value);
        let mut others = others.filter_map(|(_, other)| match other {
            Constant::Number { value, .. } => Some(*value),
            Constant::Label { .. } => None,
        });
        // Of equivalents one that is met suffices: the one that asks least decides.
        match direction_of_limit(library, *limit) {
            Direction::RisingTightens => others.any(|other| other < becomes && other <= *is),
            Direction::RisingLoosens => others.any(|other| other > becomes && other >= *is),
            Direction::CannotTell | Direction::Unused => false,
        }
    }
}

/// The values that an author gave a limit.
fn values_of(library: &Library, limit: LimitId, by: Author) -> Vec<Constant> {
    let Some((place, from)) = by else {
        return library.limits[limit.index()].values.clone();
    };
    library.places[place.index()]
        .statements
        .iter()
        .filter(|statement| statement.from.value == from)
        .find_map(|statement| match &statement.action {
            Action::AmendLimit {
                limit: of,
                becomes: values,
                ..
            }
            | Action::SetLimit { limit: of, values }
                if *of == limit =>
            {
                Some(values.clone())
            }
            _ => None,
        })
        .unwrap_or_default()
}
