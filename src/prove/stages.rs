//! The stages one after another.

use super::amendments::amendments;
use super::cases::{CaseFile, Outcome, Under, read_cases};
use super::change::try_all;
use super::lacking::lacking;
use super::mutant::{Scope, mutants};
use super::open_limits::open_limits;
use super::over_time::over_time;
use super::proof::{Amendment, Cases, Force, Proof, Where, WrongCase};
use super::settled::settled;
use crate::check::typed::Library;
use crate::layers::topic_of;
use crate::library::{Opened, Problems, Texts};
use crate::quantity::{Rational, date};
use crate::source::Sources;

/// How far proving has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// With what.
    pub stage: Stage,
    /// How many are done.
    pub done: usize,
    /// Of how many.
    pub of: usize,
}

/// What takes long in proving.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Changes are tried.
    Trying,
    /// For a change that no case noticed, one is looked for that does.
    Suggesting,
}

/// Proves a part of a library by the cases that come with it.
///
/// `on` is the date by which what a place has in force is taken; `watch` is told how far it is.
///
/// # Errors
///
/// Mistakes of the files of cases.
pub fn prove(
    opened: &Opened,
    texts: &Texts,
    scope: Scope,
    on: Rational,
    watch: &dyn Fn(Progress),
) -> Result<Proof, Problems> {
    let library = &opened.library;
    let mut sources = opened.sources.clone();
    let (files, lent) = read_all(opened, texts, scope, &mut sources)?;
    let outcomes: Vec<Outcome> = files
        .iter()
        .flat_map(|file| file.outcomes(opened))
        .collect();
    let cases = Cases {
        run: files.iter().map(|file| file.cases.len()).sum(),
        expectations: outcomes.len(),
        wrong: wrong(&outcomes, &sources),
        lacking: lacking(library, &sources, scope, &outcomes),
    };
    let amendments = amendments(library, &sources, scope);
    let mut mutants = mutants(library, scope);
    // What never has force is told as that: no case could be judged by it.
    mutants.retain(|mutant| {
        let at = Where::of(&sources, mutant.span);
        !amendments
            .iter()
            .any(|known| known.at == at && has_never_force(known))
    });
    let mut proof = Proof {
        of: name(library, scope),
        ruleset: opened.digest.clone(),
        on: date::show(on),
        proved: false,
        cases,
        open_limits: open_limits(library, &sources, scope, on),
        changes: try_all(opened, &sources, (&files, &lent), &mutants, watch),
        amendments,
        settled: settled(opened, &sources, scope, on),
        over_time: over_time(library, &sources, scope),
    };
    proof.proved = proof.is_proved();
    Ok(proof)
}

fn has_never_force(amendment: &Amendment) -> bool {
    amendment.force.iter().all(|from| from.force.is_none())
}

impl Proof {
    /// Whether nothing fails and nothing is unproved. What is left to the place, which way an
    /// amendment goes and the times of statements are for somebody to look at.
    fn is_proved(&self) -> bool {
        let is_weak = |amendment: &Amendment| {
            let mut force = amendment.force.iter();
            force.any(|from| from.force != Force::Holds)
        };
        self.cases.wrong.is_empty()
            && self.cases.lacking.is_empty()
            && self.changes.unproved.is_empty()
            && self.settled.is_empty()
            && !self.amendments.iter().any(is_weak)
    }
}

fn name(library: &Library, scope: Scope) -> String {
    match scope {
        Scope::Whole => "the model and every place".to_owned(),
        Scope::Place(place) => library.places[place.index()].path.clone(),
        Scope::Topic(topic) => format!("topic {}", library.topics[topic.index()].name),
    }
}

/// The files whose cases can notice a change in a scope, and those that lend theirs to a place.
fn read_all(
    opened: &Opened,
    texts: &Texts,
    scope: Scope,
    sources: &mut Sources,
) -> Result<(Vec<CaseFile>, Vec<CaseFile>), Problems> {
    let library = &opened.library;
    let wanted = |under: Under| match (scope, under) {
        (Scope::Whole, _) | (Scope::Topic(_), Under::Place(_)) => true,
        (Scope::Topic(topic), Under::Topic(of)) => topic == of,
        (Scope::Place(place), Under::Topic(of)) => library.topics[of.index()].home == Some(place),
        (Scope::Place(place), Under::Place(of)) => library.way_in(of).contains(&place),
    };
    // The model's cases of what a place changes.
    let lends = |under: Under| match (scope, under) {
        (Scope::Place(place), Under::Topic(of)) => library.places[place.index()]
            .statements
            .iter()
            .any(|statement| topic_of(library, &statement.action) == Some(of)),
        (Scope::Whole | Scope::Topic(_), _) | (Scope::Place(_), Under::Place(_)) => false,
    };
    let (mut files, mut lent, mut problems) = (Vec::new(), Vec::new(), Vec::new());
    let ids: Vec<_> = texts
        .cases()
        .map(|(name, text)| sources.add(name, text))
        .collect();
    for id in ids {
        match read_cases(opened, sources, id, &wanted) {
            Ok(Some(file)) => files.push(file),
            Ok(None) => match read_cases(opened, sources, id, &lends) {
                Ok(file) => lent.extend(file),
                Err(mistakes) => problems.extend(mistakes),
            },
            Err(mistakes) => problems.extend(mistakes),
        }
    }
    if !problems.is_empty() {
        return Err(Problems {
            sources: sources.clone(),
            problems,
        });
    }
    if let Scope::Topic(topic) = scope {
        let rules = library.rules.iter().filter(|rule| rule.topic == topic);
        let ids: Vec<&str> = rules.map(|rule| rule.id.as_str()).collect();
        for case in files.iter_mut().flat_map(|file| &mut file.cases) {
            case.checks
                .retain(|check| ids.contains(&check.rule.as_str()));
        }
        for file in &mut files {
            file.cases.retain(|case| !case.checks.is_empty());
        }
    }
    Ok((files, lent))
}

fn wrong(outcomes: &[Outcome], sources: &Sources) -> Vec<WrongCase> {
    outcomes
        .iter()
        .filter(|outcome| !outcome.holds())
        .map(|outcome| WrongCase {
            case: outcome.case.clone(),
            at: Where::of(sources, outcome.span),
            rule: outcome.rule.clone(),
            expected: outcome.expected.clone(),
            found: outcome.found.clone(),
        })
        .collect()
}
