//! The clerk's list: what the model leaves to the place and nobody filled.

use super::mutant::Scope;
use super::proof::{OpenLimit, Where};
use crate::check::typed::{DocumentKind, Library, LimitId, Place, PlaceId};
use crate::finding::Clause;
use crate::forms::compared_with;
use crate::judge::clause;
use crate::layers::{Dates, in_force, limit_standing};
use crate::quantity::{Rational, date};
use crate::source::Sources;
use crate::vocabulary::{Type, Vocabulary};

/// The limits without a value that rules in force at the places of a scope use on a date, each at
/// the outermost of those places.
pub(super) fn open_limits(
    library: &Library,
    sources: &Sources,
    scope: Scope,
    on: Rational,
) -> Vec<OpenLimit> {
    let mut found = Vec::new();
    for (at, place) in library.places.iter().enumerate() {
        let id = PlaceId::at(at);
        if matches!(scope, Scope::Place(of) if of != id) {
            continue;
        }
        // Two places that claim a topic are told where a record names both; one place can't.
        let Ok(standing) = in_force(library, &[id], &Dates::all_on(on)) else {
            continue;
        };
        let mut open: Vec<(LimitId, Vec<String>)> = Vec::new();
        for known in &standing.rules {
            let rule = &library.rules[known.rule.index()];
            if matches!(scope, Scope::Topic(topic) if topic != rule.topic) {
                continue;
            }
            for limit in compared_with(library, known).0 {
                let values = limit_standing(library, limit, &known.way, known.on).values;
                if !values.is_empty() {
                    continue;
                }
                match open.iter_mut().find(|(of, _)| *of == limit) {
                    Some((_, rules)) => rules.push(rule.id.clone()),
                    None => open.push((limit, vec![rule.id.clone()])),
                }
            }
        }
        let told_outside = |limit: LimitId| {
            let way = library.way_in(id);
            let outer = |path: &str| way.iter().any(|of| library.places[of.index()].path == path);
            let known = &library.limits[limit.index()];
            let name = library.owned_name(known.owner, &known.name);
            found
                .iter()
                .any(|told: &OpenLimit| outer(&told.place) && told.limit == name)
        };
        open.retain(|(limit, _)| !told_outside(*limit));
        for (limit, rules) in open {
            found.push(told(library, sources, place, limit, rules, on));
        }
    }
    found
}

fn told(
    library: &Library,
    sources: &Sources,
    place: &Place,
    limit: LimitId,
    rules: Vec<String>,
    on: Rational,
) -> OpenLimit {
    let known = &library.limits[limit.index()];
    let name = library.owned_name(known.owner, &known.name);
    let clauses: Vec<Clause> = known
        .citations
        .iter()
        .map(|citation| clause(library, citation))
        .collect();
    let example = example(&library.vocabulary, known.kind);
    let source = own_source(library, place).unwrap_or("<source>");
    // It stands as it is but for what only the place knows: that is in < >.
    let statement = format!(
        "set {name} = <{example}>\n  from {}   cite {source} \"<section>\"   because \"<why>\"",
        date::show(on)
    );
    OpenLimit {
        place: place.path.clone(),
        limit: name,
        meaning: known.meaning.clone(),
        expects: library.vocabulary.type_name(known.kind),
        at: Where::of(sources, known.span),
        rules,
        clauses,
        file: sources.get(place.span.source).name.to_string(),
        statement,
    }
}

/// The first local document that the place's file declares.
fn own_source<'a>(library: &'a Library, place: &Place) -> Option<&'a str> {
    let own = library.documents.iter().find(|document| {
        document.kind == DocumentKind::Local && document.span.source == place.span.source
    })?;
    Some(&own.name)
}

/// How a value of a type is written.
fn example(vocabulary: &Vocabulary, kind: Type) -> String {
    match kind {
        Type::Quantity(dimension) => match dimension.example_unit() {
            Some(unit) => format!("number {unit}"),
            None => "number".to_owned(),
        },
        Type::Slope => "number in/ft".to_owned(),
        Type::Label(scale) => {
            let known = vocabulary.scale(scale);
            format!("{}, as {}", known.name, known.label(0))
        }
        Type::Point(_) | Type::YesNo | Type::Text | Type::Reference => vocabulary.type_name(kind),
    }
}
