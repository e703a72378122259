//! A record's text in, its report out: read, surveyed, judged and told.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::chosen::{Chooser, Chosen};
use super::describe::note_words;
use super::quick::{Ruling, Rulings, Sifting};
use super::{Describer, Judge, budget, caution, judge};
use crate::check::nearest;
use crate::check::typed::{Action, DocumentKind, Library, PlaceId};
use crate::figures::Figures;
use crate::finding::{
    self, Clause, ClauseStanding, Counts, Due, Finding, Missing, MissingKind, Obligation, Place,
    Provenance, Report, STANDING, Verdict,
};
use crate::layers::{Dates, InForce, LayerError, Mark, PermitDates, TopicState};
use crate::program::Program;
use crate::quantity::date;
use crate::record::facts::{Record, State, ThingRef};
use crate::source::{Located, SourceId, Sources, Span};
use crate::survey::{self, Contradiction, Survey};
use crate::vocabulary::{PermitId, Vocabulary};

/// What every report of a run says.
#[derive(Debug, Clone, Copy)]
pub struct Setting<'a> {
    /// The library.
    pub library: &'a Library,
    /// Its survey functions.
    pub survey: &'a Survey,
    /// Its digest.
    pub ruleset_digest: &'a str,
    /// Who signed it, and what is to be said of it.
    pub provenance: &'a Provenance,
}

/// A record that was judged, with what it takes to look closer.
#[derive(Debug)]
pub struct Judged {
    /// The record.
    pub record: Record,
    /// The rules that were in force.
    pub chosen: Arc<Chosen>,
    /// What was found.
    pub report: Report,
}

/// The places of a record, by their paths.
///
/// # Errors
///
/// Each place that the library doesn't have.
pub fn places(
    library: &Library,
    record: &Record,
    texts: &Sources,
) -> Result<Vec<PlaceId>, Vec<LayerError>> {
    let mut found = Vec::new();
    let mut errors = Vec::new();
    for place in &record.head.places {
        match library.place_named(&place.value) {
            Some(id) => found.push(id),
            None => errors.push(LayerError::UnknownPlace {
                name: place.value.clone(),
                // A place that stands in from outside is not written in the record.
                at: texts
                    .slice(place.span)
                    .contains(&place.value)
                    .then_some(place.span),
                help: nearest(
                    &place.value,
                    library.places.iter().map(|known| known.path.as_str()),
                ),
            }),
        }
    }
    if errors.is_empty() {
        Ok(found)
    } else {
        Err(errors)
    }
}

/// The dates by which a record's rules are chosen.
pub fn dates(record: &Record) -> Dates {
    let value = |date: &Option<crate::source::Spanned<crate::quantity::Rational>>| {
        date.as_ref().map(|date| date.value)
    };
    Dates {
        recorded: record.head.recorded_date.value,
        on: None,
        permits: record
            .head
            .permits
            .iter()
            .map(|permit| PermitDates {
                kind: permit.kind,
                applied: value(&permit.applied),
                issued: value(&permit.issued),
                plan_approved: value(&permit.plan_approved),
                expires: value(&permit.expires),
                span: Some(permit.span),
            })
            .collect(),
    }
}

/// Chooses the rules for a record, judges it and tells what was found.
///
/// # Errors
///
/// A place that isn't there, two places that claim one topic, no rule in force.
pub fn report(
    setting: Setting<'_>,
    record: Record,
    texts: &Sources,
    id: SourceId,
) -> Result<Judged, Vec<Located<LayerError>>> {
    let chooser = Chooser::new(setting.library);
    report_by(&chooser, setting, record, texts, id, Telling::All)
}

/// Which findings are told. All of them are counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Telling {
    /// All.
    All,
    /// Not what meets or does not apply, which is most of an archive and asks nothing of anyone.
    Open,
    /// For a summary: in words what falls short, and in outline what is undecided or refers.
    Outline {
        /// What is met by less than this share of its limit is told all the same.
        near: Option<f64>,
    },
}

/// As [`report`], with rules that were chosen before where the record goes by the same ones, and
/// with the findings that are to be told.
///
/// # Errors
///
/// A place that isn't there, two places that claim one topic, no rule in force.
pub fn report_by(
    chooser: &Chooser,
    setting: Setting<'_>,
    record: Record,
    texts: &Sources,
    id: SourceId,
    telling: Telling,
) -> Result<Judged, Vec<Located<LayerError>>> {
    let record = survey::complete(&setting.library.vocabulary, record);
    let chosen = choose(chooser, setting, &record, texts, id)?;
    let library = setting.library;
    if let Some(rule) = budget::exceeded(&chosen, &library.vocabulary, &record) {
        return Err(vec![Located {
            source: id,
            error: LayerError::TooManySteps {
                rule: library.rules[rule.rule.index()].id.clone(),
                at: Some(record.head.lot.span),
            },
        }]);
    }
    let report = told(setting, &chosen, &record, texts, id, telling);
    Ok(Judged {
        record,
        chosen,
        report,
    })
}

/// The rules in force for a record.
fn choose(
    chooser: &Chooser,
    setting: Setting<'_>,
    record: &Record,
    texts: &Sources,
    id: SourceId,
) -> Result<Arc<Chosen>, Vec<Located<LayerError>>> {
    let library = setting.library;
    // A place that stands in from outside is not written in the record.
    let at_places = record
        .head
        .places
        .first()
        .filter(|place| texts.slice(place.span).contains(&place.value))
        .map(|place| place.span);
    let locate = |errors: Vec<LayerError>| -> Vec<Located<LayerError>> {
        let errors = errors.into_iter().map(|error| placed(error, at_places));
        errors.map(|error| Located { source: id, error }).collect()
    };
    let places = places(library, record, texts).map_err(locate)?;
    let chosen = chooser
        .choose(setting, &places, &dates(record))
        .map_err(locate)?;
    if chosen.has_rules {
        return Ok(chosen);
    }
    let named = record.head.places.iter().map(|place| place.value.as_str());
    Err(locate(vec![LayerError::NoRules {
        places: named.collect::<Vec<_>>().join(" and "),
        at: at_places,
        help: adoption_help(library, &places),
    }]))
}

/// Judges a record by the rules chosen for it and tells what was found.
fn told(
    setting: Setting<'_>,
    chosen: &Chosen,
    record: &Record,
    texts: &Sources,
    id: SourceId,
    telling: Telling,
) -> Report {
    let library = setting.library;
    let program = &chosen.program;
    let describer = Describer::new(library, program, setting.survey, record, texts);
    let mut findings = built_in(&describer, &dates(record));
    let mut counts = Counts::of(&findings);
    match telling {
        Telling::All => {
            let judgements = judge(program, &library.vocabulary, setting.survey, record);
            for judgement in &judgements {
                counts.add(judgement.verdict());
                findings.push(describer.finding(judgement));
            }
        }
        Telling::Open | Telling::Outline { .. } => {
            open_findings(&describer, chosen, telling, &mut counts, &mut findings);
        }
    }
    let mut notices = setting.provenance.notices.clone();
    notices.extend(chosen.notices.iter().cloned());
    notices.extend(variance_notices(library, program, record, &findings));
    let places = record.head.places.iter();
    Report {
        schema: SCHEMA.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        record: texts.get(id).name.to_string(),
        line: texts.get(id).is_part.then_some(texts.get(id).first_line),
        lot: Some(record.head.lot.value.clone()),
        places: places.map(|place| place.value.clone()).collect(),
        stage: Some(describer.hold_name(record.head.stage.value).to_owned()),
        stood_in: Vec::new(),
        ruleset_digest: setting.ruleset_digest.to_owned(),
        ruleset_signed_by: setting.provenance.signed_by.clone(),
        record_digest: digest(record, texts, id),
        exit_status: exit_status(&findings),
        counts,
        claimed_complete: claimed_complete(&library.vocabulary, record),
        topics_not_in_force: program
            .topics
            .iter()
            .filter(|topic| {
                !matches!(topic.state, TopicState::InForce | TopicState::NoPermit)
                    && library.topics[topic.topic.index()].permit.is_some()
            })
            .map(|topic| library.topics[topic.topic.index()].name.clone())
            .collect(),
        notices,
        findings: Some(findings),
        errors: None,
        standing: STANDING.to_owned(),
    }
}

/// How a ruling is told.
#[derive(Clone, Copy, PartialEq)]
enum Told {
    Not,
    InOutline,
    InWords,
}

fn told_how(ruling: &Ruling, program: &Program, telling: Telling) -> Told {
    let near = match telling {
        Telling::All | Telling::Open => None,
        Telling::Outline { near } => near,
    };
    match ruling.verdict(program) {
        Verdict::DoesNotApply => Told::Not,
        Verdict::Meets => match (near, ruling.share()) {
            (Some(near), Some(share)) if share <= near * (1.0 + ROUNDING) => Told::InWords,
            (Some(_) | None, _) => Told::Not,
        },
        Verdict::FallsShort => Told::InWords,
        Verdict::TooClose | Verdict::NotRecorded | Verdict::Refer => match telling {
            Telling::All | Telling::Open => Told::InWords,
            Telling::Outline { .. } => Told::InOutline,
        },
    }
}

/// Counts all, and judges exactly and tells what does not simply meet or not apply.
fn open_findings(
    describer: &Describer<'_>,
    chosen: &Chosen,
    telling: Telling,
    counts: &mut Counts,
    findings: &mut Vec<Finding>,
) {
    let (program, record) = (describer.program, describer.record);
    let vocabulary = &describer.library.vocabulary;
    let judge = || Judge::new(program, vocabulary, describer.survey, record);
    let quick = chosen.quick(vocabulary);
    let figures = Figures::of(record, quick.layout());
    let mut rulings = Rulings::default();
    let mut sifting = Sifting::new(quick, program, &figures, &judge, &mut rulings);
    for (number, _) in (0..).zip(&program.rules) {
        let before = sifting.rulings().len();
        let judged = sifting.rule(number);
        let told = sifting.rulings()[before..].iter().map(|ruling| {
            counts.add(ruling.verdict(program));
            told_how(ruling, program, telling)
        });
        let told: Vec<Told> = told.collect();
        if told.iter().all(|told| *told == Told::Not) {
            continue;
        }
        let judgements = judged.unwrap_or_else(|| sifting.exactly(number));
        for (told, judgement) in told.iter().zip(&judgements) {
            match told {
                Told::Not => {}
                Told::InOutline => findings.push(describer.outline(judgement)),
                Told::InWords => findings.push(describer.finding(judgement)),
            }
        }
    }
}

/// What a margin of floats may be off, as a share of it.
const ROUNDING: f64 = 1e-6;

/// Of the record's text; with that of its sheet and its plan after it, where it has one.
fn digest(record: &Record, texts: &Sources, id: SourceId) -> String {
    let source = texts.get(id);
    let sheet = source.row.as_ref().map(|row| row.sheet);
    let plan = record.head.plan.as_ref().and_then(|plan| plan.source);
    let mut whole = source.text.to_string();
    for more in [sheet, plan].into_iter().flatten() {
        whole.push('\n');
        whole.push_str(&texts.get(more).text);
    }
    crate::library::text_digest(&whole)
}

/// Which schema reports follow.
pub const SCHEMA: &str = "groundrule findings 1";

/// Where the record names its places, for errors that know no place themselves.
fn placed(error: LayerError, at_places: Option<Span>) -> LayerError {
    match error {
        LayerError::TwoPlacesClaim {
            topic,
            first,
            second,
            at,
        } => LayerError::TwoPlacesClaim {
            topic,
            first,
            second,
            at: at.or(at_places),
        },
        LayerError::UnknownPlace { .. }
        | LayerError::NoRules { .. }
        | LayerError::TargetMissing { .. }
        | LayerError::TooManyDates { .. }
        | LayerError::TooManySteps { .. }
        | LayerError::LimitNotAdopted { .. } => error,
    }
}

/// Whether any rule but the model's precautions is in force, the built-in one on permits among
/// them.
pub(super) fn something_in_force(library: &Library, in_force: &InForce) -> bool {
    let judged = in_force.rules.iter().any(|rule| {
        let written = &library.rules[rule.rule.index()];
        let is_precaution = written.obligation.is_precaution();
        let is_model = library.topics[written.topic.index()].home.is_none()
            && written.origin == crate::check::typed::RuleOrigin::Topic;
        !(is_precaution && is_model)
    });
    judged
        || in_force
            .topics
            .iter()
            .any(|topic| topic.state == TopicState::NoPermit)
}

fn adoption_help(library: &Library, places: &[PlaceId]) -> String {
    let mut dates: Vec<String> = places
        .iter()
        .flat_map(|place| library.way_in(*place))
        .flat_map(|place| &library.places[place.index()].statements)
        .filter_map(|statement| match statement.action {
            Action::Adopt(topic) => Some(format!(
                "{} from {}",
                library.topics[topic.index()].name,
                date::show(statement.from.value)
            )),
            _ => None,
        })
        .collect();
    dates.dedup();
    if dates.is_empty() {
        return "no topic is adopted there at all: choose another place, or have it adopt topics"
            .to_owned();
    }
    format!("adopted there: {}", dates.join(", "))
}

/// 0 all in order, 1 something falls short, 3 nothing falls short but something is undecided; of
/// what is due, the `should`s apart.
pub fn exit_status(findings: &[Finding]) -> u8 {
    let mut undecided = false;
    for finding in findings {
        if finding.due == Due::Later || finding.obligation == Obligation::Should {
            continue;
        }
        match finding.verdict {
            Verdict::FallsShort => {
                let excused = finding.obligation == Obligation::Shall
                    && finding
                        .variance
                        .as_ref()
                        .is_some_and(|variance| variance.granted && variance.valid);
                if !excused {
                    return 1;
                }
                undecided = true;
            }
            Verdict::NotRecorded | Verdict::TooClose => undecided = true,
            Verdict::Refer => undecided |= finding.obligation != Obligation::Precaution,
            Verdict::Meets | Verdict::DoesNotApply => {}
        }
    }
    if undecided { 3 } else { 0 }
}

/// The lists that a record says are complete.
fn claimed_complete(vocabulary: &Vocabulary, record: &Record) -> Vec<String> {
    record
        .all_lists(vocabulary)
        .filter(|(thing, list)| {
            let known = record.list(*thing, *list);
            known.written && !known.open
        })
        .map(|(thing, list)| record.list_path(vocabulary, thing, list))
        .collect()
}

/// The findings that need no rule: permits, and readings that exclude each other.
fn built_in(describer: &Describer<'_>, dates: &Dates) -> Vec<Finding> {
    let mut found = permit_findings(describer, dates);
    found.extend(disagreements(describer));
    found
}

fn permit_findings(describer: &Describer<'_>, dates: &Dates) -> Vec<Finding> {
    let library = describer.library;
    let mut found = Vec::new();
    for kind in library.vocabulary.permit_ids() {
        let name = describer.permit_name(kind);
        let of_kind = |topic: &&crate::layers::TopicStanding| {
            library.topics[topic.topic.index()].permit == Some(kind)
        };
        let lacking: Vec<&crate::layers::TopicStanding> = describer
            .program
            .topics
            .iter()
            .filter(of_kind)
            .filter(|topic| topic.state == TopicState::NoPermit)
            .collect();
        let in_force: Vec<&crate::layers::TopicStanding> = describer
            .program
            .topics
            .iter()
            .filter(of_kind)
            .filter(|topic| topic.state == TopicState::InForce)
            .collect();
        let written = dates.permits.iter().find(|known| known.kind == kind);
        let expires = written.and_then(|written| written.expires);
        let expired = expires.filter(|day| *day < dates.recorded);
        if let Some(first) = lacking.first() {
            let topics: Vec<&str> = lacking
                .iter()
                .map(|topic| library.topics[topic.topic.index()].name.as_str())
                .collect();
            let mut finding = plain(describer, "record.permit", &first.way, Some(kind));
            finding.title = format!("The record names the {} permit and its date", name);
            finding.obligation = Obligation::ShallRecord;
            finding.verdict = Verdict::NotRecorded;
            finding.banded = Verdict::NotRecorded;
            finding.as_read = Verdict::NotRecorded;
            finding.missing = vec![Missing {
                path: format!("permits.{}", name),
                what: format!(
                    "{} that selects the rules of {}",
                    match written {
                        None => "the permit",
                        Some(_) => "the date of the permit",
                    },
                    topics.join(", ")
                ),
                kind: MissingKind::Permit,
            }];
            finding.remedy = "Add the permit and its dates to the record's head.".to_owned();
            finding.clauses = adopting_clauses(describer, &lacking);
            found.push(finding);
        }
        if let (Some(topic), Some(day)) = (in_force.first(), expired) {
            let mut finding = plain(describer, "record.permit", &topic.way, Some(kind));
            finding.title = format!("The {} permit was valid when this was recorded", name);
            finding.verdict = Verdict::FallsShort;
            finding.banded = Verdict::FallsShort;
            finding.as_read = Verdict::FallsShort;
            finding.measured = Some(date::show(dates.recorded));
            finding.limit = Some(date::show(day));
            finding.places = written
                .and_then(|written| written.span)
                .map(|span| place(describer, format!("permits.{}", name), span))
                .into_iter()
                .collect();
            finding.remedy = "Have the permit renewed before work goes on.".to_owned();
            finding.clauses = adopting_clauses(describer, &in_force);
            found.push(finding);
        }
    }
    found
}

fn place(describer: &Describer<'_>, path: String, span: Span) -> Place {
    let position = describer.texts.position(span);
    Place {
        path,
        line: position.line,
        column: position.column,
        cell: describer.texts.cell(span),
    }
}

/// Under which clauses some topics were adopted, each clause once.
fn adopting_clauses(
    describer: &Describer<'_>,
    topics: &[&crate::layers::TopicStanding],
) -> Vec<Clause> {
    let mut found = Vec::new();
    for topic in topics {
        let statements = topic
            .way
            .iter()
            .flat_map(|place| &describer.library.places[place.index()].statements)
            .filter(|statement| {
                matches!(statement.action, Action::Adopt(adopted) if adopted == topic.topic)
            });
        for citation in statements.flat_map(|statement| &statement.citations) {
            let clause = describer.clause(citation);
            if !found.contains(&clause) {
                found.push(clause);
            }
        }
    }
    found
}

/// A finding of the program's own, due at once.
fn plain(
    describer: &Describer<'_>,
    rule: &str,
    way: &[PlaceId],
    permit: Option<PermitId>,
) -> Finding {
    Finding {
        rule: rule.to_owned(),
        title: String::new(),
        obligation: Obligation::Shall,
        verdict: Verdict::FallsShort,
        decision: finding::Decision::Banded,
        banded: Verdict::FallsShort,
        as_read: Verdict::FallsShort,
        due: Due::Now,
        subject: Vec::new(),
        measured: None,
        limit: None,
        margin: None,
        si: None,
        missing: Vec::new(),
        places: Vec::new(),
        clauses: Vec::new(),
        limits: Vec::new(),
        permit: permit.map(|permit| describer.permit_name(permit).to_owned()),
        in_force_on: Some(date::show(describer.record.head.recorded_date.value)),
        place: None,
        variance: None,
        question: None,
        remedy: String::new(),
        hold: describer
            .hold_name(describer.record.head.stage.value)
            .to_owned(),
        hazard: None,
        hazard_caution: None,
        caution: caution(describer.library, way, permit),
    }
}

/// Readings of one fact, or two ways of having one value, that exclude each other.
fn disagreements(describer: &Describer<'_>) -> Vec<Finding> {
    let record = describer.record;
    let vocabulary = &describer.library.vocabulary;
    let mut found = Vec::new();
    for (thing, fact) in record.all_facts(vocabulary) {
        let slot = record.slot(thing, fact);
        if slot.state == State::Disagree {
            let path = record.fact_path(vocabulary, thing, fact);
            let readings: Vec<Span> = slot.readings.iter().map(|reading| reading.span).collect();
            found.push(disagreement(describer, thing, path, &readings));
        }
    }
    for apart in describer.survey.contradictions(record) {
        found.push(contradiction(describer, &apart));
    }
    found
}

/// Two ways of having one value, such as the tape and the level.
fn contradiction(describer: &Describer<'_>, apart: &Contradiction) -> Finding {
    let vocabulary = &describer.library.vocabulary;
    let things = apart.things.iter();
    let paths: Vec<String> = things
        .map(|thing| describer.record.path(vocabulary, *thing))
        .collect();
    let path = format!("{}({})", apart.function, paths.join(", "));
    let subject = *apart.things.first().expect("a value is of something");
    let mut finding = disagreement(describer, subject, path, &apart.readings);
    finding.subject = apart
        .things
        .iter()
        .map(|thing| describer.plain_subject(*thing))
        .collect();
    finding.measured = Some(apart.values.join("; "));
    finding
}

fn disagreement(
    describer: &Describer<'_>,
    thing: ThingRef,
    path: String,
    readings: &[Span],
) -> Finding {
    let way: Vec<PlaceId> = describer
        .program
        .topics
        .iter()
        .find(|topic| !topic.way.is_empty())
        .map(|topic| topic.way.clone())
        .unwrap_or_default();
    let mut finding = plain(describer, "record.agrees", &way, None);
    finding.title = "The readings of one value agree within their tolerances".to_owned();
    finding.subject = describer.lineage(thing);
    let shown: Vec<&str> = readings
        .iter()
        .map(|span| describer.texts.unquoted(*span))
        .collect();
    finding.measured = (!shown.is_empty()).then(|| shown.join(" and "));
    finding.places = readings
        .iter()
        .map(|span| place(describer, path.clone(), *span))
        .collect();
    if finding.places.is_empty() {
        finding.places = vec![place(
            describer,
            path.clone(),
            describer.record.thing(thing).span,
        )];
    }
    finding.missing = vec![Missing {
        path,
        what: "has readings that exclude each other, so none of them counts".to_owned(),
        kind: MissingKind::Disagree,
    }];
    finding.remedy = "Measure again, and keep the reading that holds.".to_owned();
    finding.clauses = practice_clause(describer.library);
    finding
}

/// Common practice, under the name that the library gives it.
fn practice_clause(library: &Library) -> Vec<Clause> {
    library
        .documents
        .iter()
        .find(|document| document.kind == DocumentKind::Practice)
        .map(|document| Clause {
            source: document.name.clone(),
            document: document.title.clone(),
            edition: document.edition.clone(),
            section: "two readings of one value agree within their tolerances".to_owned(),
            standing: ClauseStanding::Practice,
        })
        .into_iter()
        .collect()
}

/// A statement on a rule that is stale or without force.
/// What is to be said of the places' statements on some dates: that one is stale, or has no force.
pub fn statement_notices(library: &Library, marks: &[Mark], program: &Program) -> Vec<String> {
    let of_rules = marks.iter().map(|mark| rule_notice(library, mark));
    of_rules.chain(limit_notices(library, program)).collect()
}

fn rule_notice(library: &Library, mark: &Mark) -> String {
    let place = &library.places[mark.place.index()];
    let rule = place
        .statements
        .iter()
        .find(|statement| statement.span == mark.span)
        .and_then(|statement| match statement.action {
            Action::StrikeRule(rule)
            | Action::Add(rule)
            | Action::Replace { old: rule, .. }
            | Action::RestrictRule(rule, _) => Some(library.rules[rule.index()].id.as_str()),
            Action::Adopt(_)
            | Action::StrikeTopic(_)
            | Action::AmendLimit { .. }
            | Action::AmendCells { .. }
            | Action::SetLimit { .. }
            | Action::RestrictLimit(..)
            | Action::RestrictCells(..) => None,
        })
        .unwrap_or("a rule");
    format!(
        "{}: its statement on {rule} is {}",
        place.path,
        note_words(mark.note)
    )
}

/// Statements on limits and cells in force that are stale or without force.
fn limit_notices(library: &Library, program: &Program) -> Vec<String> {
    let limits = program.limits.iter().map(|limit| {
        let known = &library.limits[limit.limit.index()];
        (
            library.owned_name(known.owner, &known.name),
            &limit.standing,
        )
    });
    let cells = program.tables.iter().flat_map(|table| {
        let known = &library.tables[table.table.index()];
        table.standings.iter().map(move |(cell, standing)| {
            let keys = known.cell_name(&library.vocabulary, *cell);
            let name = library.owned_name(known.owner, &known.name);
            (format!("{name}({keys})"), standing)
        })
    });
    let mut found = BTreeSet::new();
    for (name, standing) in limits.chain(cells) {
        for step in &standing.way {
            if let (Some(place), Some(note)) = (step.place, step.note) {
                let place = &library.places[place.index()].path;
                found.insert(format!(
                    "{place}: its statement on {name} is {}",
                    note_words(note)
                ));
            }
        }
    }
    found.into_iter().collect()
}

/// Variances of this lot that are expired, or match no finding that falls short or refers.
fn variance_notices(
    library: &Library,
    program: &Program,
    record: &Record,
    findings: &[Finding],
) -> Vec<String> {
    let lot = &record.head.lot.value;
    let on = record.head.recorded_date.value;
    let ways: BTreeSet<PlaceId> = program
        .topics
        .iter()
        .flat_map(|topic| topic.way.iter().copied())
        .collect();
    let granted = ways
        .iter()
        .flat_map(|place| &library.places[place.index()].variances)
        .filter(|variance| variance.lot == *lot)
        .map(|variance| {
            let rule = library.rules[variance.rule.index()].id.as_str();
            let until = variance.until.as_ref().map(|until| until.value);
            (variance.number.as_str(), rule, until, "granted")
        });
    let claimed = record.head.variances.iter().map(|variance| {
        let until = variance.until.as_ref().map(|until| until.value);
        (
            variance.number.value.as_str(),
            variance.rule.value.as_str(),
            until,
            "claimed",
        )
    });
    let mut notices = Vec::new();
    for (number, rule, until, how) in granted.chain(claimed) {
        let expired = until.is_some_and(|until| until < on);
        let matches = findings.iter().any(|finding| {
            finding.rule == rule
                && finding
                    .variance
                    .as_ref()
                    .is_some_and(|variance| variance.number == number)
                && matches!(finding.verdict, Verdict::FallsShort | Verdict::Refer)
        });
        if expired {
            notices.push(format!(
                "variance {number} ({how}) for {rule} had expired when this was recorded"
            ));
        } else if !matches {
            notices.push(format!(
                "variance {number} ({how}) for {rule} matches no finding that falls short or refers"
            ));
        }
    }
    notices
}
