//! The whole computation of one rule on one subject: each step with its value and where it came
//! from, as a person would work it on paper.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::describe::Describer;
use super::evaluate::{Machine, Trace};
use super::show::{fits, show_value};
use super::value::Value;
use super::{Judgement, judge};
use crate::check::typed::Constant;
use crate::finding::Finding;
use crate::program::code::{Clause, Demand, Node, Rule, Step};
use crate::program::standing_of_cell;
use crate::quantity::Unit;
use crate::record::facts::{FactOrList, How, Provenance, State, ThingRef};
use crate::source::Sources;
use crate::survey::{Answer, Function, Mode};
use crate::truth::Truth;
use crate::vocabulary::{FactId, Type};

/// One step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Line {
    /// How deep it lies within the steps above it, from 0.
    pub depth: usize,
    /// What is computed, as the rule says it.
    pub step: String,
    /// Its value.
    pub value: String,
    /// Where that came from: a place in the record, a clause.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub from: Option<String>,
}

/// A finding and how it came to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Explanation {
    /// The finding.
    pub finding: Finding,
    /// The steps.
    pub steps: Vec<Line>,
}

/// Explains what one rule says of each of its subjects, in the order of the findings.
///
/// `rule_texts` are the library's, to quote the rule from.
pub fn why(describer: &Describer<'_>, rule_texts: &Sources, rule: &str) -> Vec<Explanation> {
    let vocabulary = &describer.library.vocabulary;
    judge(
        describer.program,
        vocabulary,
        describer.survey,
        describer.record,
    )
    .iter()
    .filter(|judgement| describer.library.rules[judgement.rule.rule.index()].id == rule)
    .map(|judgement| Explanation {
        finding: describer.finding(judgement),
        steps: steps(describer, rule_texts, judgement),
    })
    .collect()
}

fn steps<'a>(
    describer: &'a Describer<'a>,
    rule_texts: &'a Sources,
    judgement: &Judgement<'a>,
) -> Vec<Line> {
    let mut machine = Machine::new(
        describer.program,
        &describer.library.vocabulary,
        describer.survey,
        describer.record,
        Mode::Banded,
    );
    let mut worked = Working {
        describer,
        rule_texts,
        rule: judgement.rule,
        lines: Vec::new(),
        open: Vec::new(),
    };
    let mut subject = judgement.subject.iter();
    for clause in &judgement.rule.head {
        match clause {
            Clause::Each(_) => match subject.next() {
                Some(thing) => {
                    machine.bound.push(*thing);
                    worked.each(*thing);
                }
                // The finding is about the list itself.
                None => return worked.lines,
            },
            Clause::When(condition) => {
                let outcome = machine.walk(condition, &mut worked);
                if outcome.value.truth() == Truth::False {
                    return worked.lines;
                }
            }
        }
    }
    match &judgement.rule.demand {
        Demand::Shall(condition) | Demand::Should(condition) | Demand::Precaution(condition) => {
            worked.condition(condition, &mut machine);
        }
        Demand::RecordFact(..) | Demand::RecordList(_) => worked.recorded(judgement),
        Demand::Refer(question) => worked.plain("refer", question),
    }
    worked.lines
}

/// The lines so far, and the steps that have begun.
struct Working<'a> {
    describer: &'a Describer<'a>,
    rule_texts: &'a Sources,
    rule: &'a Rule,
    lines: Vec<Line>,
    open: Vec<Begun>,
}

/// A step that has begun.
struct Begun {
    /// Its line; constants have none.
    line: Option<usize>,
    /// Whether its parts are asked of each element of a list.
    goes_through_a_list: bool,
    /// The units in which its parts were shown, with their types.
    units: Vec<(Type, Unit)>,
    from: Option<String>,
    unit: Option<Unit>,
    missing: Option<&'static str>,
}

impl<'a> Working<'a> {
    fn depth(&self) -> usize {
        self.open
            .iter()
            .filter(|begun| begun.line.is_some())
            .count()
    }

    fn plain(&mut self, step: &str, value: &str) {
        let depth = self.depth();
        self.lines.push(Line {
            depth,
            step: step.to_owned(),
            value: value.to_owned(),
            from: None,
        });
    }

    fn each(&mut self, thing: ThingRef) {
        let subject = self.describer.plain_subject(thing);
        let id = subject.id.map(|id| format!(" {id}")).unwrap_or_default();
        self.plain(
            "each",
            &format!("{}{id} ({})", subject.thing.replace('_', " "), subject.path),
        );
    }

    fn condition(&mut self, condition: &'a Node, machine: &mut Machine<'a>) {
        if let Some(limit) = self.rule.unset {
            let name = &self.describer.library.limits[limit.index()].name;
            self.plain(name, "set by the place, and no place on the way has set it");
            return;
        }
        machine.walk(condition, self);
    }

    fn recorded(&mut self, judgement: &Judgement<'a>) {
        let Some((thing, asked)) = judgement.asked else {
            return;
        };
        let record = self.describer.record;
        let vocabulary = &self.describer.library.vocabulary;
        let path = match asked {
            FactOrList::Fact(fact) => record.fact_path(vocabulary, thing, fact),
            FactOrList::List(list) => record.list_path(vocabulary, thing, list),
        };
        let missing: Vec<String> = judgement
            .causes
            .iter()
            .map(|cause| self.describer.one_missing(cause).what)
            .collect();
        let value = if missing.is_empty() {
            "recorded".to_owned()
        } else {
            missing.join("; ")
        };
        self.plain(&format!("shall record {path}"), &value);
    }

    /// A step as its rule says it, on one line.
    fn written(&self, node: &Node) -> String {
        let text = self.rule_texts.slice(node.span);
        let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
        // What is called may be broken behind its parenthesis.
        line.replace("( ", "(")
    }

    fn reading(&self, thing: ThingRef, fact: FactId) -> (Option<String>, Option<Unit>) {
        let slot = self.describer.record.slot(thing, fact);
        let places: Vec<String> = slot
            .readings
            .iter()
            .map(|reading| {
                let texts = self.describer.texts;
                let at = texts.position(reading.span);
                let name = &texts.get(reading.span.source).name;
                let how = reading
                    .provenance
                    .as_ref()
                    .map(|provenance| provenance_words(provenance))
                    .unwrap_or_default();
                format!("{name}:{}:{}{how}", at.line, at.column)
            })
            .collect();
        let unit = slot
            .readings
            .first()
            .and_then(|reading| reading.unit.clone());
        ((!places.is_empty()).then(|| places.join(", ")), unit)
    }
}

/// How a reading was had, in words.
fn provenance_words(provenance: &Provenance) -> String {
    let how = provenance.how.map(|how| match how {
        How::Measured => "measured",
        How::Seen => "seen",
        How::FromPlate => "from the plate",
        How::FromTicket => "from the ticket",
        How::FromCertificate => "from the certificate",
        How::Computed => "computed",
        How::FromPlan => "from the plan",
        How::Told => "told",
    });
    let parts: Vec<String> = how
        .map(str::to_owned)
        .into_iter()
        .chain(provenance.by.as_ref().map(|by| format!("by {by}")))
        .chain(provenance.date.clone())
        .chain(provenance.with.as_ref().map(|with| format!("with {with}")))
        .chain(
            provenance
                .witness
                .as_ref()
                .map(|witness| format!("witness {witness}")),
        )
        .collect();
    if parts.is_empty() {
        String::new()
    } else {
        format!(" ({})", parts.join(", "))
    }
}

impl<'a> Trace<'a> for Working<'a> {
    fn begin(&mut self, node: &'a Node, bound: &[ThingRef]) {
        let is_shown = !matches!(node.step, Step::Constant(..) | Step::Text(_));
        let depth = self.depth();
        let line = is_shown.then(|| {
            // An element of a list says which it is: the same words are asked of each.
            let element = match (self.open.last(), bound.last()) {
                (
                    Some(Begun {
                        goes_through_a_list: true,
                        ..
                    }),
                    Some(thing),
                ) => {
                    let subject = self.describer.plain_subject(*thing);
                    format!("{}: ", subject.id.unwrap_or(subject.path))
                }
                _ => String::new(),
            };
            self.lines.push(Line {
                depth,
                step: format!("{element}{}", self.written(node)),
                value: String::new(),
                from: None,
            });
            self.lines.len() - 1
        });
        self.open.push(Begun {
            line,
            goes_through_a_list: matches!(
                node.step,
                Step::Every(..) | Step::Some(..) | Step::Count(..) | Step::Fold(..)
            ),
            units: Vec::new(),
            from: None,
            unit: None,
            missing: None,
        });
    }

    fn end(&mut self, node: &'a Node, value: Value<'a>) {
        let begun = self.open.pop().expect("a step that ends has begun");
        let unit = begun.unit.or_else(|| match &node.step {
            Step::Constant(_, Constant::Number { unit, .. }) => unit.clone(),
            _ => begun
                .units
                .iter()
                .find(|(kind, unit)| *kind == node.gives || fits(unit, node.gives))
                .map(|(_, unit)| unit.clone()),
        });
        if let Some(above) = self.open.last_mut()
            && let Some(unit) = &unit
        {
            above.units.push((node.gives, unit.clone()));
        }
        let Some(line) = begun.line else { return };
        let vocabulary = &self.describer.library.vocabulary;
        let shown = match value {
            Value::Truth(Truth::True) => Some("so".to_owned()),
            Value::Truth(Truth::False) => Some("not so".to_owned()),
            Value::Truth(Truth::Unknown) => Some("not decided".to_owned()),
            Value::Number(_) | Value::Places(_) | Value::Text(_) => {
                show_value(vocabulary, value, node.gives, unit.as_ref())
            }
        };
        let is_fact = matches!(node.step, Step::Fact(..));
        let shown = match (is_fact, value) {
            // A yes-or-no fact is shown as it was recorded.
            (true, Value::Truth(Truth::True)) => Some("yes".to_owned()),
            (true, Value::Truth(Truth::False)) => Some("no".to_owned()),
            (true, Value::Truth(Truth::Unknown)) => None,
            _ => shown,
        };
        self.lines[line].value = shown
            .or(begun.missing.map(str::to_owned))
            .unwrap_or_else(|| "not known".to_owned());
        self.lines[line].from = begun.from;
    }

    fn fact(&mut self, thing: ThingRef, fact: FactId) {
        let (from, unit) = self.reading(thing, fact);
        let missing = match self.describer.record.slot(thing, fact).state {
            State::Read => None,
            State::Absent => Some("not recorded"),
            State::NotRead => Some("from the plan or told only, so not recorded"),
            State::Disagree => Some("readings exclude each other, so not recorded"),
        };
        if let Some(begun) = self.open.last_mut() {
            begun.from = from;
            begun.unit = unit;
            begun.missing = missing;
        }
    }

    fn limit(&mut self, limit: usize) {
        let standing = &self.describer.program.limits[limit].standing;
        let told = self.describer.told_standing(standing);
        if let Some(begun) = self.open.last_mut() {
            begun.from = Some(told);
            begun.unit = unit_of(&standing.values);
        }
    }

    fn cell(&mut self, table: usize, cell: usize) {
        let known = &self.describer.program.tables[table];
        let standing = standing_of_cell(self.describer.library, known, cell);
        let told = self.describer.told_standing(&standing);
        if let Some(begun) = self.open.last_mut() {
            begun.from.get_or_insert(told);
            if begun.unit.is_none() {
                begun.unit = unit_of(&standing.values);
            }
        }
    }

    fn survey(&mut self, _function: Function, answer: &Answer) {
        let depth = self.depth();
        for step in &answer.steps {
            self.lines.push(Line {
                depth,
                step: step.text.clone(),
                value: String::new(),
                from: None,
            });
        }
        let texts = self.describer.texts;
        let places: Vec<String> = answer
            .readings
            .iter()
            .map(|span| {
                let at = texts.position(*span);
                format!("{}:{}:{}", texts.get(span.source).name, at.line, at.column)
            })
            .collect();
        if let Some(begun) = self.open.last_mut()
            && !places.is_empty()
        {
            begun.from = Some(places.join(", "));
        }
    }

    fn wants_steps(&self) -> bool {
        true
    }
}

fn unit_of(values: &[Constant]) -> Option<Unit> {
    values.iter().find_map(|constant| match constant {
        Constant::Number { unit, .. } => unit.clone(),
        Constant::Label { .. } => None,
    })
}
