//! A place's rules as they are published: everything that a reader of the page is told, without
//! its looks.

use std::collections::{BTreeMap, BTreeSet};

use super::coming::{Coming, coming};
use super::rules::{RuleEntry, compared_with, one};
use crate::check::typed::{Decision, Library, LimitId, Obligation, PlaceId, TableId, TopicId};
use crate::finding::{Clause, Limit};
use crate::judge::{caution, clause, limit, statement_notices};
use crate::layers::{
    Dates, InForce, LayerError, RuleInForce, TopicState, cell_standing, in_force, limit_standing,
    turning_dates,
};
use crate::library::Opened;
use crate::program::{compile, touched_cells};
use crate::quantity::{Rational, date};

/// The largest table that is told cell by cell.
const MOST_CELLS: usize = 400;

/// A place's rules on a date, and what is to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Published {
    /// The path of the place.
    pub place: String,
    /// What it is called.
    pub title: String,
    /// The date for which the rules are told.
    pub on: String,
    /// The digest of the ruleset.
    pub digest: String,
    /// Whom to ask, the nearest first.
    pub authorities: Vec<AuthorityEntry>,
    /// The topics in force, with their rules.
    pub topics: Vec<PublishedTopic>,
    /// The model's topics that are not in force there, each with its title.
    pub not_in_force: Vec<(String, String)>,
    /// What the model leaves to the place and no place has set.
    pub open: Vec<OpenLimit>,
    /// What changes on which later date.
    pub to_come: Vec<Coming>,
    /// Statements of the place that are stale or have no force, now or later: to be restated.
    pub to_restate: Vec<String>,
}

/// Who answers for a kind of permit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuthorityEntry {
    /// For which kind of permit; none for any other.
    pub permit: Option<String>,
    /// Its name.
    pub name: String,
    /// How it is reached.
    pub contact: String,
    /// Whose authority it is.
    pub place: String,
}

/// A topic and its rules.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PublishedTopic {
    /// Its name.
    pub topic: String,
    /// Its title.
    pub title: String,
    /// Whose date selects its rules; none for those by the recorded date.
    pub permit: Option<String>,
    /// Whether readings are taken as they read.
    pub as_read: bool,
    /// Its rules.
    pub rules: Vec<PublishedRule>,
    /// The tables that they look up, each once.
    pub tables: Vec<TableEntry>,
}

/// A rule as it is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PublishedRule {
    /// Its id, title, obligation, hold point, clauses and limits.
    pub entry: RuleEntry,
    /// As it is written in the rule language.
    pub written: String,
    /// The place that added it or put it in another's stead.
    pub by: Option<String>,
    /// The question, where it refers.
    pub question: Option<String>,
    /// How it is mended.
    pub remedy: String,
    /// What to mind about it, where it can hurt.
    pub hazard: Option<String>,
    /// The tables that it looks up.
    pub tables: Vec<String>,
    /// Whom to ask.
    pub caution: String,
}

/// A table with what each of its cells is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableEntry {
    /// Its name.
    pub name: String,
    /// Its keys.
    pub parameters: Vec<String>,
    /// Its cells; none where there are too many to tell.
    pub cells: Vec<CellEntry>,
    /// How many cells it has.
    pub size: usize,
    /// Where it is published.
    pub clauses: Vec<Clause>,
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellEntry {
    /// Its keys, one a parameter.
    pub keys: Vec<String>,
    /// Its value and its way.
    pub limit: Limit,
}

/// A limit without a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenLimit {
    /// Its name, with its topic's.
    pub name: String,
    /// What it means.
    pub meaning: Option<String>,
    /// The rules that wait for it.
    pub rules: Vec<String>,
    /// Whom to ask.
    pub caution: String,
}

/// What is published of a place on a date.
///
/// # Errors
///
/// Two places that both claim a topic.
pub fn published(
    opened: &Opened,
    place: PlaceId,
    on: Rational,
) -> Result<Published, Vec<LayerError>> {
    let library = &opened.library;
    let known = &library.places[place.index()];
    let now = in_force(library, &[place], &Dates::all_on(on))?;
    Ok(Published {
        place: known.path.clone(),
        title: known.title.clone(),
        on: date::show(on),
        digest: opened.digest.clone(),
        authorities: authorities(library, place),
        topics: topics(opened, &now),
        not_in_force: not_in_force(library, &now),
        open: open_limits(library, &now),
        to_come: coming(opened, place, on, &now)?,
        to_restate: to_restate(opened, place, on)?,
    })
}

fn authorities(library: &Library, place: PlaceId) -> Vec<AuthorityEntry> {
    let inwards = library.way_in(place);
    let places = inwards
        .iter()
        .rev()
        .map(|place| &library.places[place.index()]);
    places
        .flat_map(|place| place.authorities.iter().map(move |known| (place, known)))
        .map(|(place, known)| AuthorityEntry {
            permit: known.permit.map(|permit| {
                let permits = &library.vocabulary.permits;
                permits[usize::from(permit.0)].name.clone()
            }),
            name: known.name.clone(),
            contact: known.contact.clone(),
            place: place.title.clone(),
        })
        .collect()
}

fn topics(opened: &Opened, now: &InForce) -> Vec<PublishedTopic> {
    let library = &opened.library;
    let mut found: Vec<PublishedTopic> = Vec::new();
    let mut told = BTreeSet::new();
    for rule in &now.rules {
        let topic = &library.topics[rule.topic.index()];
        if found.last().is_none_or(|last| last.topic != topic.name) {
            found.push(PublishedTopic {
                topic: topic.name.clone(),
                title: topic.title.clone(),
                permit: topic.permit.map(|permit| {
                    let permits = &library.vocabulary.permits;
                    permits[usize::from(permit.0)].name.clone()
                }),
                as_read: goes_as_read(now, rule.topic),
                rules: Vec::new(),
                tables: Vec::new(),
            });
        }
        if let Some(last) = found.last_mut() {
            last.rules.push(published_rule(opened, rule));
            for table in compared_with(library, rule).1 {
                if told.insert(table) {
                    last.tables.push(table_entry(library, table, rule));
                }
            }
        }
    }
    found
}

fn goes_as_read(now: &InForce, topic: TopicId) -> bool {
    match now.topics[topic.index()].decision {
        Decision::AsRead => true,
        Decision::Banded => false,
    }
}

/// A rule in force, with all that is told of it.
pub(super) fn published_rule(opened: &Opened, rule: &RuleInForce) -> PublishedRule {
    let library = &opened.library;
    let written = &library.rules[rule.rule.index()];
    let permit = library.topics[written.topic.index()].permit;
    let question = match &written.obligation {
        Obligation::Refer(question) => Some(question.clone()),
        Obligation::Shall(_)
        | Obligation::Should(_)
        | Obligation::Record(_)
        | Obligation::Precaution(_) => None,
    };
    let tables = compared_with(library, rule).1;
    PublishedRule {
        entry: one(library, rule),
        written: opened.sources.slice(written.span).to_owned(),
        by: rule
            .changes
            .last()
            .map(|change| library.places[change.place.index()].path.clone()),
        question,
        remedy: written.remedy.clone(),
        hazard: written.hazard.map(|hazard| {
            let hazards = &library.vocabulary.hazards;
            hazards[usize::from(hazard.0)].text.clone()
        }),
        tables: tables
            .into_iter()
            .map(|table| library.tables[table.index()].name.clone())
            .collect(),
        caution: caution(library, &rule.way, permit),
    }
}

fn table_entry(library: &Library, id: TableId, rule: &RuleInForce) -> TableEntry {
    let known = &library.tables[id.index()];
    let shown = if known.cells.len() <= MOST_CELLS {
        known.cells.len()
    } else {
        0
    };
    TableEntry {
        name: known.name.clone(),
        parameters: known.parameters.clone(),
        cells: (0..shown)
            .map(|cell| CellEntry {
                keys: known
                    .axes
                    .iter()
                    .zip(known.keys(cell))
                    .map(|(axis, key)| axis.place_name(&library.vocabulary, key))
                    .collect(),
                limit: cell_limit(library, id, cell, rule),
            })
            .collect(),
        size: known.cells.len(),
        clauses: known
            .citations
            .iter()
            .map(|citation| clause(library, citation))
            .collect(),
    }
}

fn cell_limit(library: &Library, id: TableId, cell: usize, rule: &RuleInForce) -> Limit {
    let known = &library.tables[id.index()];
    let name = format!(
        "{}({})",
        known.name,
        known.cell_name(&library.vocabulary, cell)
    );
    let standing = cell_standing(library, id, cell, &rule.way, rule.on);
    limit(library, name, &standing)
}

/// Every limit that a rule compares with, and every cell that some place speaks of, by name.
pub(super) fn every_limit(library: &Library, rule: &RuleInForce) -> BTreeMap<String, Limit> {
    let (limits, tables) = compared_with(library, rule);
    let limits = limits.into_iter().map(|id| {
        let standing = limit_standing(library, id, &rule.way, rule.on);
        limit(library, library.limits[id.index()].name.clone(), &standing)
    });
    let cells = tables.into_iter().flat_map(|id| {
        touched_cells(library, id, &rule.way)
            .into_iter()
            .map(move |cell| cell_limit(library, id, cell, rule))
    });
    limits
        .chain(cells)
        .map(|limit| (limit.name.clone(), limit))
        .collect()
}

fn not_in_force(library: &Library, now: &InForce) -> Vec<(String, String)> {
    let topics = now.topics.iter().zip(&library.topics);
    topics
        .filter(|(standing, topic)| {
            standing.state != TopicState::InForce && topic.home.is_none() && topic.permit.is_some()
        })
        .map(|(_, topic)| (topic.name.clone(), topic.title.clone()))
        .collect()
}

fn open_limits(library: &Library, now: &InForce) -> Vec<OpenLimit> {
    let mut found: BTreeMap<LimitId, OpenLimit> = BTreeMap::new();
    for rule in &now.rules {
        for id in compared_with(library, rule).0 {
            let known = &library.limits[id.index()];
            let standing = limit_standing(library, id, &rule.way, rule.on);
            if !standing.values.is_empty() {
                continue;
            }
            let permit = library.topics[rule.topic.index()].permit;
            let entry = found.entry(id).or_insert_with(|| OpenLimit {
                name: library.owned_name(known.owner, &known.name),
                meaning: known.meaning.clone(),
                rules: Vec::new(),
                caution: caution(library, &rule.way, permit),
            });
            let rule = &library.rules[rule.rule.index()].id;
            if !entry.rules.contains(rule) {
                entry.rules.push(rule.clone());
            }
        }
    }
    found.into_values().collect()
}

/// What of the place's own statements does not hold as it is written, on the date or later.
fn to_restate(
    opened: &Opened,
    place: PlaceId,
    on: Rational,
) -> Result<Vec<String>, Vec<LayerError>> {
    let library = &opened.library;
    let own = format!("{}: ", library.places[place.index()].path);
    let mut found = Vec::new();
    let later = turning_dates(library, place)
        .into_iter()
        .filter(|turn| *turn > on);
    for turn in std::iter::once(on).chain(later) {
        let then = in_force(library, &[place], &Dates::all_on(turn))?;
        let marks = then.marks.clone();
        let program = compile(library, &opened.survey, then);
        for notice in statement_notices(library, &marks, &program) {
            let told = format!("{notice} (on {})", date::show(turn));
            let is_known = found
                .iter()
                .any(|known: &String| known.starts_with(&notice));
            if notice.starts_with(&own) && !is_known {
                found.push(told);
            }
        }
    }
    Ok(found)
}
