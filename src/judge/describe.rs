//! A judgement in, a finding out: the words, the units, the places and the clauses.
//!
//! The comparison that a judgement tells of is walked once more, this time taking down every
//! fact, limit and cell that it reads.

use std::cell::OnceCell;
use std::collections::BTreeMap;

use super::evaluate::{Machine, Trace};
use super::show::{Shown, show_value};
use super::value::Reported;
use super::{Cause, Judgement, dates};
use crate::check::typed::{
    self, Citation, DocumentKind, Library, Obligation as Asked, PlaceId, RuleOrigin,
};
use crate::finding::{
    Clause, ClauseStanding, Decision, Due, Finding, Layer, Limit, Missing, MissingKind, Obligation,
    Place, Subject, Variance, Verdict,
};
use crate::language::syntax::Comparator;
use crate::layers::{Dates, Note, Standing, Step as LayerStep, topic_date};
use crate::program::code::{LimitSide, Node, Program, Rule, Step};
use crate::program::standing_of_cell;
use crate::quantity::{Rational, date};
use crate::record::facts::{FactOrList, Record, ThingRef};
use crate::source::{Sources, Span};
use crate::survey::{self, Answer, Function, Mode, Survey};
use crate::vocabulary::{
    FactId, Form, HoldId, Named, POINT_AT, PermitId, RUN_LENGTH, STRETCH_FROM, STRETCH_TO, ThingId,
    Vocabulary,
};

/// What it takes to tell a judgement.
pub struct Describer<'a> {
    /// The library.
    pub library: &'a Library,
    /// The rules that were in force.
    pub program: &'a Program,
    /// The survey functions.
    pub survey: &'a Survey,
    /// The record.
    pub record: &'a Record,
    /// The record's text.
    pub texts: &'a Sources,
    /// The record's dates.
    dates: Dates,
    /// Which fact each reading belongs to; made when first asked for.
    readings: OnceCell<BTreeMap<Span, (ThingRef, FactId)>>,
}

/// What a comparison reads.
#[derive(Default)]
pub(super) struct Read {
    pub facts: Vec<(ThingRef, FactId)>,
    pub limits: Vec<usize>,
    pub cells: Vec<(usize, usize)>,
    pub spans: Vec<Span>,
    /// Where along which run the value was found.
    pub along: Option<(ThingRef, crate::quantity::Interval)>,
}

impl Trace<'_> for Read {
    fn fact(&mut self, thing: ThingRef, fact: FactId) {
        if !self.facts.contains(&(thing, fact)) {
            self.facts.push((thing, fact));
        }
    }

    fn limit(&mut self, limit: usize) {
        if !self.limits.contains(&limit) {
            self.limits.push(limit);
        }
    }

    fn cell(&mut self, table: usize, cell: usize) {
        if !self.cells.contains(&(table, cell)) {
            self.cells.push((table, cell));
        }
    }

    fn survey(&mut self, _function: Function, answer: &Answer) {
        self.spans.extend(&answer.readings);
        if let (Some(run), Some(at)) = (answer.at_of, answer.at) {
            self.along.get_or_insert((run, at));
        }
    }
}

impl<'a> Describer<'a> {
    /// Ready to tell of one record.
    pub fn new(
        library: &'a Library,
        program: &'a Program,
        survey: &'a Survey,
        record: &'a Record,
        texts: &'a Sources,
    ) -> Self {
        Describer {
            library,
            program,
            survey,
            record,
            texts,
            dates: dates(record),
            readings: OnceCell::new(),
        }
    }

    fn vocabulary(&self) -> &'a Vocabulary {
        &self.library.vocabulary
    }

    /// Tells a judgement.
    pub fn finding(&self, judgement: &Judgement<'a>) -> Finding {
        let rule = judgement.rule;
        let written = &self.library.rules[rule.rule.index()];
        let outline = self.outline(judgement);
        let read = judgement
            .reported
            .map(|reported| self.read(&reported))
            .unwrap_or_default();
        let shown = judgement
            .reported
            .map(|reported| self.shown(rule, &reported, &read))
            .unwrap_or_default();
        let hazard = self.hazard(written);
        Finding {
            subject: self.subjects(judgement, &read),
            measured: shown.measured,
            limit: shown.limit,
            margin: shown.margin,
            si: shown.plot,
            places: self.places(judgement, &read),
            clauses: self.clauses(rule, judgement.reported, &read),
            limits: self.limits(rule, &read),
            permit: rule
                .permit
                .map(|permit| self.permit_name(permit).to_owned()),
            in_force_on: self.in_force_on(rule),
            place: self.home(written),
            question: self.question(rule, outline.verdict),
            remedy: written.remedy.clone(),
            hazard_caution: hazard.map(|hazard| hazard.text.clone()),
            caution: caution(
                self.library,
                &rule.standing.way,
                self.library.topics[written.topic.index()].permit,
            ),
            ..outline
        }
    }

    /// What is counted of a judgement and what kept it from being decided; nothing else of it is
    /// told, not even of what it speaks.
    pub(super) fn outline(&self, judgement: &Judgement<'a>) -> Finding {
        let rule = judgement.rule;
        let written = &self.library.rules[rule.rule.index()];
        let hazard = self.hazard(written);
        Finding {
            rule: written.id.clone(),
            title: written.title.clone(),
            obligation: match rule.unset {
                // A question takes the place of what can't be asked without the limit.
                Some(_) => Obligation::Refer,
                None => obligation(&written.obligation),
            },
            verdict: judgement.verdict(),
            decision: decision(rule.decision),
            banded: judgement.banded,
            as_read: judgement.as_read,
            due: self.due(rule, &judgement.causes),
            missing: self.missing(&judgement.causes),
            variance: self.variance(rule, &judgement.subject),
            hold: self.hold_name(written.hold).to_owned(),
            hazard: hazard.map(|hazard| hazard.name.clone()),
            subject: Vec::new(),
            measured: None,
            limit: None,
            margin: None,
            si: None,
            places: Vec::new(),
            clauses: Vec::new(),
            limits: Vec::new(),
            permit: None,
            in_force_on: None,
            place: None,
            question: None,
            remedy: String::new(),
            hazard_caution: None,
            caution: String::new(),
        }
    }

    fn hazard(&self, written: &typed::Rule) -> Option<&'a Named> {
        let hazard = written.hazard?;
        Some(&self.vocabulary().hazards[usize::from(hazard.0)])
    }

    /// The date that selected a rule. The program may have been compiled for another day on which
    /// the same rules were in force.
    fn in_force_on(&self, rule: &Rule) -> Option<String> {
        let on = if self.library.rules[rule.rule.index()]
            .obligation
            .is_precaution()
        {
            Some(self.dates.recorded)
        } else {
            let standing = &rule.standing;
            topic_date(self.library, standing.topic, &standing.way, &self.dates)
        };
        on.map(date::show)
    }

    /// Walks a comparison again, taking down what it reads.
    pub(super) fn read(&self, reported: &Reported<'a>) -> Read {
        let mut read = Read::default();
        let mut machine = Machine::new(
            self.program,
            self.vocabulary(),
            self.survey,
            self.record,
            Mode::Banded,
        );
        machine.bound = reported.bound[..reported.depth].to_vec();
        machine.walk(reported.node, &mut read);
        read
    }

    fn shown(&self, rule: &Rule, reported: &Reported<'a>, read: &Read) -> Shown {
        let (at, left, right) = match &reported.node.step {
            Step::Compare(at, _, left, right) => (*at, Some(&**left), Some(&**right)),
            Step::OneOf(at, ..) => (*at, None, None),
            _ => return self.shown_truth(reported),
        };
        let comparison = &rule.comparisons[at];
        let (measured, limit, limit_node) = match comparison.limit_side {
            LimitSide::Right => (reported.left, reported.right, right),
            LimitSide::Left => (reported.right, reported.left, left),
        };
        if let Step::OneOf(_, _, alternatives) = &reported.node.step {
            let none_of = if reported.turned { "none of " } else { "" };
            return Shown {
                measured: show_value(self.vocabulary(), measured, comparison.kind, None),
                limit: Some(format!("{none_of}{}", self.alternatives(alternatives))),
                ..Shown::default()
            };
        }
        if let Step::Compare(_, comparator, ..) = &reported.node.step
            && reported.margin.is_none()
        {
            return Shown::labels(
                self.vocabulary(),
                comparison.kind,
                (measured, limit),
                label_demand(*comparator, comparison.limit_side, reported.turned),
            );
        }
        let unit = limit_node
            .and_then(|node| self.limit_unit(node, reported, read))
            .or_else(|| comparison.unit.clone())
            .or_else(|| self.reading_unit(read, comparison.kind));
        Shown::comparison(
            self.vocabulary(),
            comparison.kind,
            (measured, limit),
            reported.margin,
            unit.as_ref(),
        )
    }

    fn shown_truth(&self, reported: &Reported<'a>) -> Shown {
        Shown {
            measured: show_value(self.vocabulary(), reported.left, reported.node.gives, None),
            limit: Some(if reported.turned { "no" } else { "yes" }.to_owned()),
            ..Shown::default()
        }
    }

    fn alternatives(&self, alternatives: &[Node]) -> String {
        let words: Vec<String> = alternatives
            .iter()
            .map(|alternative| match &alternative.step {
                Step::Constant(_, constant) => constant.written().to_owned(),
                Step::Text(text) => format!("\"{text}\""),
                _ => "…".to_owned(),
            })
            .collect();
        words.join(" or ")
    }

    /// The unit that the limit is written in, where it is a limit, a cell or a constant itself.
    fn limit_unit(
        &self,
        node: &Node,
        reported: &Reported<'a>,
        read: &Read,
    ) -> Option<crate::quantity::Unit> {
        let constants: Vec<typed::Constant> = match &node.step {
            Step::Constant(_, constant) => vec![constant.clone()],
            Step::Limit(at) => {
                // Of equivalents, the one that was told.
                let limit = &self.program.limits[*at];
                let told = [reported.left, reported.right];
                let chosen =
                    limit.standing.values.iter().zip(&limit.values).find(
                        |(_, value)| match value {
                            crate::program::code::Value::Number(number) => {
                                told.iter().any(|told| told.number() == *number)
                            }
                            crate::program::code::Value::Label(_) => false,
                        },
                    );
                chosen
                    .map(|(constant, _)| constant.clone())
                    .into_iter()
                    .collect()
            }
            Step::Lookup(table, _) => read
                .cells
                .iter()
                .filter(|(of, _)| of == table)
                .flat_map(|(of, cell)| {
                    standing_of_cell(self.library, &self.program.tables[*of], *cell).values
                })
                .collect(),
            _ => Vec::new(),
        };
        constants.into_iter().find_map(|constant| match constant {
            typed::Constant::Number { unit, .. } => unit,
            typed::Constant::Label { .. } => None,
        })
    }

    /// The unit of the first reading of the compared kind.
    fn reading_unit(
        &self,
        read: &Read,
        kind: crate::vocabulary::Type,
    ) -> Option<crate::quantity::Unit> {
        let direct = read.facts.iter().copied();
        let surveyed = read.spans.iter().filter_map(|span| self.owner_of(*span));
        direct.chain(surveyed).find_map(|(thing, fact)| {
            let known = self.fact(thing, fact);
            let fits = known.kind == kind
                || matches!(
                    (known.kind, kind),
                    (
                        crate::vocabulary::Type::Point(_),
                        crate::vocabulary::Type::Quantity(_)
                    )
                );
            let slot = self.record.slot(thing, fact);
            slot.readings
                .first()
                .filter(|_| fits)
                .and_then(|reading| reading.unit.clone())
                .filter(|unit| super::show::fits(unit, kind))
        })
    }

    fn fact(&self, thing: ThingRef, fact: FactId) -> &'a crate::vocabulary::Fact {
        self.vocabulary()
            .thing(self.record.thing(thing).kind)
            .fact(fact)
    }

    fn owner_of(&self, span: Span) -> Option<(ThingRef, FactId)> {
        let readings = self.readings.get_or_init(|| {
            let mut found = BTreeMap::new();
            for (thing, fact) in self.record.all_facts(self.vocabulary()) {
                for reading in &self.record.slot(thing, fact).readings {
                    found.insert(reading.span, (thing, fact));
                }
            }
            found
        });
        readings.get(&span).copied()
    }

    fn subjects(&self, judgement: &Judgement<'a>, read: &Read) -> Vec<Subject> {
        judgement
            .subject
            .iter()
            .map(|thing| self.subject(*thing, read))
            .collect()
    }

    /// A thing and those it belongs to, the outermost first; nothing for the lot itself.
    pub(super) fn lineage(&self, thing: ThingRef) -> Vec<Subject> {
        let mut found = Vec::new();
        let mut next = thing;
        while next != crate::record::facts::THE_SITE {
            found.push(self.plain_subject(next));
            next = self.record.thing(next).parent;
        }
        found.reverse();
        found
    }

    /// A thing, with nothing said of where along it.
    pub(super) fn plain_subject(&self, thing: ThingRef) -> Subject {
        self.subject(thing, &Read::default())
    }

    fn subject(&self, thing: ThingRef, read: &Read) -> Subject {
        let this = self.record.thing(thing);
        let kind = self.vocabulary().thing(this.kind);
        let shown = |fact| self.shown_fact(thing, fact);
        let (mut from, mut to, mut at) = match kind.form {
            Form::Stretch => (shown(STRETCH_FROM), shown(STRETCH_TO), None),
            Form::Point => (None, None, shown(POINT_AT)),
            Form::Plain | Form::Run { .. } => (None, None, None),
        };
        if let Some((run, along)) = read.along
            && run == thing
            && let (Some(start), Some(end)) = (along.lower(), along.upper())
            && let Some(unit) = self.unit_along(thing)
        {
            let show = |end| Some(crate::quantity::print::show(end, &unit));
            if along.is_point() {
                at = show(start);
            } else {
                (from, to) = (show(start), show(end));
            }
        }
        Subject {
            thing: kind.name.clone(),
            path: self.record.path(self.vocabulary(), thing),
            id: this.id.map(|id| self.record.text(id).to_owned()),
            from,
            to,
            at,
        }
    }

    /// The unit in which a run's length was read.
    fn unit_along(&self, run: ThingRef) -> Option<crate::quantity::Unit> {
        let read = self.record.slot(run, RUN_LENGTH).readings.first();
        read.and_then(|reading| reading.unit.clone())
            .or_else(|| crate::quantity::Unit::parse("ft").ok())
    }

    /// The first reading of a fact, in the unit it was written in.
    fn shown_fact(&self, thing: ThingRef, fact: FactId) -> Option<String> {
        let reading = self.record.slot(thing, fact).readings.first()?;
        Some(self.texts.unquoted(reading.span).to_owned())
    }

    fn missing(&self, causes: &[Cause]) -> Vec<Missing> {
        causes.iter().map(|cause| self.one_missing(cause)).collect()
    }

    /// In words: what was missing.
    pub(super) fn one_missing(&self, cause: &Cause) -> Missing {
        let record = match cause {
            Cause::Record(record) => record,
            Cause::NoValue(table, cell) => {
                let known = &self.library.tables[self.program.tables[*table].table.index()];
                return Missing {
                    path: String::new(),
                    what: format!(
                        "{} has no value for {}",
                        known.name,
                        known.cell_name(self.vocabulary(), *cell)
                    ),
                    kind: MissingKind::Table,
                };
            }
            Cause::Outside(table, axis) => {
                let known = &self.library.tables[self.program.tables[*table].table.index()];
                return Missing {
                    path: String::new(),
                    what: format!("{} {}", known.name, table_end(&known.axes[*axis])),
                    kind: MissingKind::Table,
                };
            }
        };
        let vocabulary = self.vocabulary();
        let fact_path = |thing, fact| self.record.fact_path(vocabulary, thing, fact);
        match record {
            survey::Cause::Fact { thing, fact } => Missing {
                path: fact_path(*thing, *fact),
                what: self.fact_missing(*thing, *fact, "was not recorded"),
                kind: MissingKind::Fact,
            },
            survey::Cause::NotRead { thing, fact } => Missing {
                path: fact_path(*thing, *fact),
                what: self.fact_missing(
                    *thing,
                    *fact,
                    "is known from the plan or by word of mouth only, which is no reading",
                ),
                kind: MissingKind::NotRead,
            },
            survey::Cause::Disagree { thing, fact } => Missing {
                path: fact_path(*thing, *fact),
                what: self.fact_missing(*thing, *fact, "has readings that exclude each other"),
                kind: MissingKind::Disagree,
            },
            survey::Cause::Apart { thing, function } => Missing {
                path: self.record.path(vocabulary, *thing),
                what: format!(
                    "two ways of having {} exclude each other",
                    function.replace('_', " ")
                ),
                kind: MissingKind::Disagree,
            },
            survey::Cause::List { thing, list } => self.list_missing(*thing, *list),
            survey::Cause::Stretch { thing, from, to } => Missing {
                path: self.record.path(vocabulary, *thing),
                what: format!("nobody measured {}", self.stretch(*thing, *from, *to)),
                kind: MissingKind::Stretch,
            },
            survey::Cause::Curve { thing } => Missing {
                path: self.record.path(vocabulary, *thing),
                what: "outside the curve".to_owned(),
                kind: MissingKind::Curve,
            },
            survey::Cause::Domain(words) => Missing {
                path: String::new(),
                what: (*words).to_owned(),
                kind: MissingKind::Domain,
            },
        }
    }

    fn fact_missing(&self, thing: ThingRef, fact: FactId, what: &str) -> String {
        let known = self.fact(thing, fact);
        format!("{} {what}", known.name.replace('_', " "))
    }

    fn list_missing(&self, thing: ThingRef, list: crate::vocabulary::ListId) -> Missing {
        let known = self
            .vocabulary()
            .thing(self.record.thing(thing).kind)
            .list(list);
        let words = known.name.replace('_', " ");
        let written = self.record.list(thing, list);
        let what = if !written.written {
            format!("{words}: nothing is recorded, and not that there are none")
        } else if written.items.is_empty() && !written.open {
            format!("there is nothing in {words}")
        } else {
            format!("{words}: there may be more than are recorded")
        };
        Missing {
            path: self.record.list_path(self.vocabulary(), thing, list),
            what,
            kind: MissingKind::List,
        }
    }

    fn stretch(&self, run: ThingRef, from: Option<Rational>, to: Option<Rational>) -> String {
        let unit = self.unit_along(run);
        let show = |end: Option<Rational>, otherwise: &str| match (end, &unit) {
            (Some(end), Some(unit)) => crate::quantity::print::show(end, unit),
            (Some(_) | None, _) => otherwise.to_owned(),
        };
        format!(
            "from {} to {}",
            show(from, "its start"),
            show(to, "its end, whose chainage is not recorded")
        )
    }

    fn places(&self, judgement: &Judgement<'a>, read: &Read) -> Vec<Place> {
        let mut found = Vec::new();
        for (thing, fact) in &read.facts {
            self.reading_places(*thing, *fact, &mut found);
        }
        for span in &read.spans {
            let path = match self.owner_of(*span) {
                Some((thing, fact)) => self.record.fact_path(self.vocabulary(), thing, fact),
                None => String::new(),
            };
            self.place(path, *span, &mut found);
        }
        match judgement.asked {
            Some((thing, FactOrList::Fact(fact))) => {
                self.reading_places(thing, fact, &mut found);
            }
            Some((thing, FactOrList::List(list))) => {
                if let Some(span) = self.record.list(thing, list).span {
                    let path = self.record.list_path(self.vocabulary(), thing, list);
                    self.place(path, span, &mut found);
                }
            }
            None => {}
        }
        if found.is_empty()
            && let Some(thing) = judgement.subject.last()
        {
            let path = self.record.path(self.vocabulary(), *thing);
            self.place(path, self.record.thing(*thing).span, &mut found);
        }
        found
    }

    fn reading_places(&self, thing: ThingRef, fact: FactId, found: &mut Vec<Place>) {
        for reading in &self.record.slot(thing, fact).readings {
            let path = self.record.fact_path(self.vocabulary(), thing, fact);
            self.place(path, reading.span, found);
        }
    }

    fn place(&self, path: String, span: Span, found: &mut Vec<Place>) {
        let position = self.texts.position(span);
        let place = Place {
            path,
            line: position.line,
            column: position.column,
            cell: self.texts.cell(span),
        };
        if !found.contains(&place) {
            found.push(place);
        }
    }

    /// The rule's own clauses and those of what it compares with, the local ones first.
    fn clauses(&self, rule: &Rule, reported: Option<Reported<'a>>, read: &Read) -> Vec<Clause> {
        let written = &self.library.rules[rule.rule.index()];
        let mut found: Vec<Clause> = Vec::new();
        let mut add = |citation: &Citation| {
            let clause = self.clause(citation);
            if !found.contains(&clause) {
                found.push(clause);
            }
        };
        for change in &rule.standing.changes {
            change.statement.citations.iter().for_each(&mut add);
        }
        written.citations.iter().for_each(&mut add);
        if let Some(limit) = rule.unset {
            self.library.limits[limit.index()]
                .citations
                .iter()
                .for_each(&mut add);
        }
        for standing in self.standings(read) {
            // What has no force is no basis of a finding; the limit's way tells of it.
            let holds =
                |step: &&LayerStep| !matches!(step.note, Some(Note::Forbidden | Note::CannotTell));
            for step in standing.way.iter().filter(holds) {
                step.citations.iter().for_each(&mut add);
            }
        }
        if let Some(Reported { node, .. }) = reported
            && let Step::Compare(at, ..) | Step::OneOf(at, ..) = &node.step
        {
            rule.comparisons[*at].citations.iter().for_each(&mut add);
        }
        found.sort_by_key(|clause| clause.standing != ClauseStanding::Local);
        found
    }

    fn standings(&self, read: &Read) -> Vec<Standing> {
        let limits = read
            .limits
            .iter()
            .map(|limit| self.program.limits[*limit].standing.clone());
        let cells = read.cells.iter().map(|(table, cell)| {
            standing_of_cell(self.library, &self.program.tables[*table], *cell)
        });
        limits.chain(cells).collect()
    }

    /// A citation with its document's title and edition.
    pub(super) fn clause(&self, citation: &Citation) -> Clause {
        clause(self.library, citation)
    }

    fn limits(&self, rule: &Rule, read: &Read) -> Vec<Limit> {
        let limits = read.limits.iter().map(|at| {
            let known = &self.program.limits[*at];
            let limit = &self.library.limits[known.limit.index()];
            self.limit(limit.name.clone(), &known.standing)
        });
        let cells = read.cells.iter().map(|(table, cell)| {
            let known = &self.program.tables[*table];
            let table = &self.library.tables[known.table.index()];
            let name = format!(
                "{}({})",
                table.name,
                table.cell_name(self.vocabulary(), *cell)
            );
            self.limit(name, &standing_of_cell(self.library, known, *cell))
        });
        let unset = rule.unset.map(|limit| {
            let known = &self.library.limits[limit.index()];
            let standing = self
                .program
                .limits
                .iter()
                .find(|known| known.limit == limit)
                .map(|known| known.standing.clone());
            match standing {
                Some(standing) => self.limit(known.name.clone(), &standing),
                None => Limit {
                    name: known.name.clone(),
                    value: "set by the place".into(),
                    way: Vec::new(),
                },
            }
        });
        limits.chain(cells).chain(unset).collect()
    }

    fn limit(&self, name: String, standing: &Standing) -> Limit {
        limit(self.library, name, standing)
    }

    /// A value's way through the layers on one line.
    pub(super) fn told_standing(&self, standing: &Standing) -> String {
        let layers: Vec<String> = standing
            .way
            .iter()
            .map(|step| {
                let layer = layer(self.library, step);
                let note = layer
                    .note
                    .map(|note| format!(", {note}"))
                    .unwrap_or_default();
                format!("{} ({}: {}{note})", layer.value, layer.layer, layer.clause)
            })
            .collect();
        layers.join(" → ")
    }

    fn home(&self, rule: &typed::Rule) -> Option<String> {
        let place = match rule.origin {
            RuleOrigin::Topic => self.library.topics[rule.topic.index()].home,
            RuleOrigin::Added(place) | RuleOrigin::Replacement { place, .. } => Some(place),
        };
        place.map(|place| self.library.places[place.index()].path.clone())
    }

    fn question(&self, rule: &Rule, verdict: Verdict) -> Option<String> {
        if verdict != Verdict::Refer {
            return None;
        }
        if let Some(limit) = rule.unset {
            let known = &self.library.limits[limit.index()];
            let meaning = known
                .meaning
                .clone()
                .unwrap_or_else(|| known.name.replace('_', " "));
            return Some(format!(
                "The place sets this and has not: {meaning}. What does the authority ask here?"
            ));
        }
        match &rule.demand {
            crate::program::code::Demand::Refer(question) => Some(question.clone()),
            crate::program::code::Demand::Precaution(_) => Some(
                "What was recorded is in order; whether it is safe to work is for the competent person on site.".to_owned(),
            ),
            crate::program::code::Demand::Shall(_)
            | crate::program::code::Demand::Should(_)
            | crate::program::code::Demand::RecordFact(..)
            | crate::program::code::Demand::RecordList(_) => None,
        }
    }

    /// The variance that a place granted for a rule, a lot and a subject; else one that the record
    /// claims. One that is valid comes before one that is not.
    fn variance(&self, rule: &Rule, subject: &[ThingRef]) -> Option<Variance> {
        let found: Vec<Variance> = self
            .granted(rule, subject)
            .chain(self.claimed(rule, subject))
            .collect();
        let valid = found
            .iter()
            .position(|variance| variance.granted && variance.valid);
        found.into_iter().nth(valid.unwrap_or(0))
    }

    fn granted(&self, rule: &Rule, subject: &[ThingRef]) -> impl Iterator<Item = Variance> {
        let id = &self.library.rules[rule.rule.index()].id;
        rule.standing
            .way
            .iter()
            .rev()
            .flat_map(|place| &self.library.places[place.index()].variances)
            .filter(|variance| {
                self.library.rules[variance.rule.index()].id == *id
                    && variance.lot == self.record.head.lot.value
                    && self.is_named(subject, &variance.subject)
            })
            .map(|variance| {
                let until = variance.until.as_ref().map(|until| until.value);
                Variance {
                    number: variance.number.clone(),
                    authority: variance.authority.clone(),
                    date: date::show(variance.date.value),
                    until: until.map_or("no end".to_owned(), date::show),
                    because: variance.because.clone(),
                    granted: true,
                    valid: self.is_valid(variance.date.value, until),
                }
            })
    }

    fn claimed(&self, rule: &Rule, subject: &[ThingRef]) -> impl Iterator<Item = Variance> {
        let id = &self.library.rules[rule.rule.index()].id;
        self.record
            .head
            .variances
            .iter()
            .filter(|variance| {
                variance.rule.value == *id && self.is_named(subject, &variance.subject.value)
            })
            .map(|variance| {
                let until = variance.until.as_ref().map(|until| until.value);
                Variance {
                    number: variance.number.value.clone(),
                    authority: variance.authority.value.clone(),
                    date: date::show(variance.date.value),
                    until: until.map_or("no end".to_owned(), date::show),
                    because: variance.because.value.clone(),
                    granted: false,
                    valid: self.is_valid(variance.date.value, until),
                }
            })
    }

    /// Whether a variance's subject is one of a finding's things; the lot itself goes by its name.
    fn is_named(&self, subject: &[ThingRef], wanted: &str) -> bool {
        let is_thing = |thing: &ThingRef| {
            let id = self.record.thing(*thing).id;
            id.is_some_and(|id| self.record.text(id) == wanted)
        };
        subject.iter().any(is_thing) || (subject.is_empty() && wanted == self.record.head.lot.value)
    }

    /// Whether the day of the record lies within, the last day included.
    fn is_valid(&self, from: Rational, until: Option<Rational>) -> bool {
        let on = self.record.head.recorded_date.value;
        from <= on && until.is_none_or(|until| on <= until)
    }

    /// Past, where something missing could last be seen before this stage; now, where that or the
    /// rule's hold point has come; else later.
    fn due(&self, rule: &Rule, causes: &[Cause]) -> Due {
        let stage = self.record.head.stage.value;
        let lasts: Vec<HoldId> = causes
            .iter()
            .filter_map(|cause| self.last_hold(cause))
            .collect();
        let hold = self.library.rules[rule.rule.index()].hold;
        if lasts.iter().any(|last| *last < stage) {
            Due::Past
        } else if hold <= stage || lasts.iter().any(|last| *last <= stage) {
            Due::Now
        } else {
            Due::Later
        }
    }

    fn last_hold(&self, cause: &Cause) -> Option<HoldId> {
        let Cause::Record(cause) = cause else {
            return None;
        };
        match cause {
            survey::Cause::Fact { thing, fact }
            | survey::Cause::NotRead { thing, fact }
            | survey::Cause::Disagree { thing, fact } => self.fact(*thing, *fact).until,
            survey::Cause::List { thing, list } => {
                let kind = self.record.thing(*thing).kind;
                self.earliest(self.vocabulary().thing(kind).list(*list).of)
            }
            survey::Cause::Stretch { thing, .. } => {
                // What was not measured of a run is seen as long as the facts along it are.
                let kind = self.vocabulary().thing(self.record.thing(*thing).kind);
                kind.lists
                    .iter()
                    .filter(|list| {
                        matches!(
                            self.vocabulary().thing(list.of).form,
                            Form::Stretch | Form::Point
                        )
                    })
                    .filter_map(|list| self.earliest(list.of))
                    .min()
            }
            survey::Cause::Apart { .. }
            | survey::Cause::Curve { .. }
            | survey::Cause::Domain(_) => None,
        }
    }

    fn earliest(&self, thing: ThingId) -> Option<HoldId> {
        let facts = &self.vocabulary().thing(thing).facts;
        facts.iter().filter_map(|fact| fact.until).min()
    }

    pub(super) fn permit_name(&self, permit: PermitId) -> &'a str {
        &self.vocabulary().permits[usize::from(permit.0)].name
    }

    pub(super) fn hold_name(&self, hold: HoldId) -> &'a str {
        &self.vocabulary().holds[usize::from(hold.0)].name
    }
}

/// Whom to ask: the nearest place's authority for the permit, or for any.
pub fn caution(library: &Library, way: &[PlaceId], permit: Option<PermitId>) -> String {
    let authority = way.iter().rev().find_map(|place| {
        let known = &library.places[place.index()].authorities;
        known
            .iter()
            .find(|authority| authority.permit.is_some() && authority.permit == permit)
            .or_else(|| known.iter().find(|authority| authority.permit.is_none()))
    });
    match authority {
        Some(authority) => format!(
            "Verify with local authority: {}, {}.",
            authority.name, authority.contact
        ),
        None => "Verify with local authority.".to_owned(),
    }
}

/// A citation with its document's title and edition.
pub fn clause(library: &Library, citation: &Citation) -> Clause {
    let document = &library.documents[citation.document.index()];
    Clause {
        source: document.name.clone(),
        document: document.title.clone(),
        edition: document.edition.clone(),
        section: citation.section.clone(),
        standing: match document.kind {
            DocumentKind::Practice => ClauseStanding::Practice,
            DocumentKind::Local => ClauseStanding::Local,
            DocumentKind::Published if citation.from_memory => ClauseStanding::Memory,
            DocumentKind::Published => ClauseStanding::Published,
        },
    }
}

/// A value with its way through the layers, in words.
pub fn limit(library: &Library, name: String, standing: &Standing) -> Limit {
    Limit {
        name,
        value: typed::Constant::all_written(&standing.values),
        way: standing
            .way
            .iter()
            .map(|step| layer(library, step))
            .collect(),
    }
}

/// What one layer says, in words.
fn layer(library: &Library, step: &LayerStep) -> Layer {
    let clauses: Vec<String> = step
        .citations
        .iter()
        .map(|citation| clause(library, citation).cited())
        .collect();
    Layer {
        layer: match step.place {
            None => "model".to_owned(),
            Some(place) => library.places[place.index()].path.clone(),
        },
        value: typed::Constant::all_written(&step.values),
        from: step.from.map(date::show),
        until: step.until.map(date::show),
        clause: clauses.join("; "),
        because: step.because.clone(),
        note: step.note.map(|note| note_words(note).to_owned()),
    }
}

/// What is asked of a label, in words before it; turned where a `not` stands around it.
fn label_demand(comparator: Comparator, side: LimitSide, turned: bool) -> &'static str {
    let mirrored = match (comparator, side) {
        (Comparator::Is, _) | (_, LimitSide::Right) => comparator,
        (Comparator::AtLeast, LimitSide::Left) => Comparator::AtMost,
        (Comparator::AtMost, LimitSide::Left) => Comparator::AtLeast,
        (Comparator::MoreThan, LimitSide::Left) => Comparator::LessThan,
        (Comparator::LessThan, LimitSide::Left) => Comparator::MoreThan,
    };
    match (mirrored, turned) {
        (Comparator::Is, false) => "",
        (Comparator::Is, true) => "not ",
        (Comparator::AtLeast, false) | (Comparator::LessThan, true) => "at least ",
        (Comparator::AtMost, false) | (Comparator::MoreThan, true) => "at most ",
        (Comparator::MoreThan, false) | (Comparator::AtMost, true) => "more than ",
        (Comparator::LessThan, false) | (Comparator::AtLeast, true) => "less than ",
    }
}

/// What a mark on a statement says.
pub(super) fn note_words(note: Note) -> &'static str {
    match note {
        Note::Stale => "stale: what it amends is no longer what its author saw; it still holds",
        Note::Forbidden => "without force: an outer place allows no such change",
        Note::CannotTell => {
            "without force: only tightening is allowed, and whether this tightens can't be told"
        }
    }
}

fn table_end(axis: &typed::Axis) -> String {
    match axis {
        typed::Axis::UpTo { bounds, .. } => match bounds.last() {
            Some(last) => format!("ends at {}", last.written()),
            None => "has no rows".to_owned(),
        },
        typed::Axis::From { bounds, .. } => match bounds.first() {
            Some(first) => format!("begins at {}", first.written()),
            None => "has no rows".to_owned(),
        },
        typed::Axis::Scale { .. } => "has no such row".to_owned(),
    }
}

/// What a rule asks, as findings call it.
pub fn obligation(asked: &Asked) -> Obligation {
    match asked {
        Asked::Shall(_) => Obligation::Shall,
        Asked::Should(_) => Obligation::Should,
        Asked::Record(_) => Obligation::ShallRecord,
        Asked::Refer(_) => Obligation::Refer,
        Asked::Precaution(_) => Obligation::Precaution,
    }
}

fn decision(decision: typed::Decision) -> Decision {
    match decision {
        typed::Decision::Banded => Decision::Banded,
        typed::Decision::AsRead => Decision::AsRead,
    }
}
