//! One step of a computation after another: code and facts in, a value with its causes out.
//!
//! The same walk serves judging and explaining: what it passes is told to a [`Trace`], which does
//! nothing when records are judged.

use super::cause::{Arena, Cause, Causes};
use super::value::{MOST_BOUND, Outcome, Places, ReportNumber, Reported, Value};
use crate::language::syntax::{Comparator, Fold, Operator};
use crate::program::code::{self, Argument, Axis, Binding, List, Node, Program, Step};
use crate::quantity::{
    Interval, Rational, Undefined, is_at_least, is_at_most, is_equal, is_less_than, is_more_than,
};
use crate::record::facts::{self, Record, State, THE_SITE, ThingRef};
use crate::survey::{self, Answer, Function, Mode, Survey};
use crate::truth::Truth;
use crate::vocabulary::{FactId, Type, Vocabulary};

/// What a walk passes. Every call has a default that does nothing.
pub(crate) trait Trace<'a> {
    /// A step begins, with what is bound there.
    fn begin(&mut self, _node: &'a Node, _bound: &[ThingRef]) {}
    /// A step gave a value.
    fn end(&mut self, _node: &'a Node, _value: Value<'a>) {}
    /// A fact was read.
    fn fact(&mut self, _thing: ThingRef, _fact: FactId) {}
    /// A limit was read, by its place in the program.
    fn limit(&mut self, _limit: usize) {}
    /// A cell was read, by the place of its table in the program.
    fn cell(&mut self, _table: usize, _cell: usize) {}
    /// A survey function answered.
    fn survey(&mut self, _function: Function, _answer: &Answer) {}
    /// Whether survey functions shall tell their steps.
    fn wants_steps(&self) -> bool {
        false
    }
}

impl Trace<'_> for () {}

/// What a walk needs.
pub(crate) struct Machine<'a> {
    pub program: &'a Program,
    pub vocabulary: &'a Vocabulary,
    pub survey: &'a Survey,
    pub record: &'a Record,
    pub mode: Mode,
    /// The things bound, the outermost first.
    pub bound: Vec<ThingRef>,
    pub(super) causes: Arena,
    pub(super) reports: Vec<Reported<'a>>,
}

impl<'a> Machine<'a> {
    pub fn new(
        program: &'a Program,
        vocabulary: &'a Vocabulary,
        survey: &'a Survey,
        record: &'a Record,
        mode: Mode,
    ) -> Self {
        Machine {
            program,
            vocabulary,
            survey,
            record,
            mode,
            bound: Vec::new(),
            causes: Arena::default(),
            reports: Vec::new(),
        }
    }

    /// Forgets what the last rule left.
    pub fn clear(&mut self) {
        self.bound.clear();
        self.causes.clear();
        self.reports.clear();
    }

    pub fn thing(&self, binding: Binding) -> ThingRef {
        match binding {
            Binding::Site => THE_SITE,
            Binding::Local(at) => self.bound[usize::from(at)],
        }
    }

    pub fn list(&self, list: List) -> &'a facts::List {
        self.record.list(self.thing(list.of), list.list)
    }

    /// Why a list may hold more than it does.
    pub(super) fn list_causes(&mut self, list: List) -> Causes {
        let thing = self.thing(list.of);
        let known = self.list(list);
        if known.gaps.is_empty() {
            return self.record_cause(survey::Cause::List {
                thing,
                list: list.list,
            });
        }
        let mut causes = Causes::NONE;
        for gap in &known.gaps {
            let one = self.record_cause(survey::Cause::Stretch {
                thing,
                from: gap.from,
                to: gap.to,
            });
            causes = self.causes.both(causes, one);
        }
        causes
    }

    fn record_cause(&mut self, cause: survey::Cause) -> Causes {
        self.causes.one(Cause::Record(cause))
    }

    /// Why a fact has no value.
    pub(super) fn fact_cause(&mut self, thing: ThingRef, fact: FactId) -> Causes {
        let cause = match self.record.slot(thing, fact).state {
            State::Absent => survey::Cause::Fact { thing, fact },
            State::NotRead => survey::Cause::NotRead { thing, fact },
            State::Disagree => survey::Cause::Disagree { thing, fact },
            State::Read => return Causes::NONE,
        };
        self.record_cause(cause)
    }

    /// Walks one step and all below it.
    pub fn walk<T: Trace<'a>>(&mut self, node: &'a Node, trace: &mut T) -> Outcome<'a> {
        trace.begin(node, &self.bound);
        let mut outcome = self.step(node, trace);
        if let Value::Truth(truth) = outcome.value
            && truth.is_definite()
        {
            outcome.causes = Causes::NONE;
        }
        trace.end(node, outcome.value);
        outcome
    }

    fn step<T: Trace<'a>>(&mut self, node: &'a Node, trace: &mut T) -> Outcome<'a> {
        match &node.step {
            Step::Constant(value, _) => plain(constant(*value)),
            Step::Text(text) => plain(Value::Text(Some(text))),
            Step::Fact(of, fact) => self.fact(node, *of, *fact, trace),
            Step::Id(of) => {
                let thing = self.record.thing(self.thing(*of));
                plain(Value::Text(thing.id.map(|id| self.record.text(id))))
            }
            Step::Limit(at) => {
                trace.limit(*at);
                let values = &self.program.limits[*at].values;
                plain(
                    values
                        .first()
                        .map_or(unknown(node.gives), |value| constant(*value)),
                )
            }
            Step::Lookup(table, keys) => self.lookup(node, *table, keys, trace),
            Step::Define(_, body) => self.walk(body, trace),
            Step::Survey(function, arguments) => self.ask_survey(node, *function, arguments, trace),
            Step::Negate(inner) => self.one_number(inner, trace, Interval::negate),
            Step::Arithmetic(operator, left, right) => {
                self.arithmetic(*operator, left, right, trace)
            }
            Step::Power(base, exponent) => {
                let base = self.walk(base, trace);
                let raised = match exponent.as_integer().and_then(|n| i64::try_from(n).ok()) {
                    Some(whole) => base.value.number().power_integer(whole),
                    None => base.value.number().power(*exponent),
                };
                self.defined(raised, base.causes, Causes::NONE)
            }
            Step::Root(inner) => {
                let inner = self.walk(inner, trace);
                self.defined(inner.value.number().root(), inner.causes, Causes::NONE)
            }
            Step::In(inner, unit) => {
                let inner = self.walk(inner, trace);
                let counted = inner.value.number().divide(Interval::point(unit.factor));
                self.defined(counted, inner.causes, Causes::NONE)
            }
            Step::Compare(_, comparator, left, right) => {
                self.compare(node, *comparator, left, right, trace)
            }
            Step::OneOf(_, value, alternatives) => self.one_of(node, value, alternatives, trace),
            Step::Not(inner) => {
                let inner = self.walk(inner, trace);
                self.turned(inner)
            }
            Step::And(parts) => self.joined(parts, Truth::True, Truth::and, trace),
            Step::Or(parts) => self.joined(parts, Truth::False, Truth::or, trace),
            Step::If(condition, then, otherwise) => {
                self.branch(node, condition, then, otherwise, trace)
            }
            Step::Every(list, inner) => self.quantified(*list, inner, Quantifier::Every, trace),
            Step::Some(list, inner) => self.quantified(*list, inner, Quantifier::Some, trace),
            Step::Count(list, inner) => self.count(*list, inner.as_deref(), trace),
            Step::Fold(fold, list, inner) => self.fold(*fold, *list, inner, trace),
            Step::Lesser(left, right) => self.choose(node, left, right, Fold::Least, trace),
            Step::Greater(left, right) => self.choose(node, left, right, Fold::Greatest, trace),
        }
    }

    fn fact<T: Trace<'a>>(
        &mut self,
        node: &'a Node,
        of: Binding,
        fact: FactId,
        trace: &mut T,
    ) -> Outcome<'a> {
        let thing = self.thing(of);
        trace.fact(thing, fact);
        let value = read_as(self.record, thing, fact, self.mode, node.gives);
        let causes = self.fact_cause(thing, fact);
        self.read(node, value, causes)
    }

    /// What was read; a truth is its own comparison.
    fn read(&mut self, node: &'a Node, value: Value<'a>, causes: Causes) -> Outcome<'a> {
        let report = match value {
            Value::Truth(truth) => Some(self.report(node, value, Value::Text(None), None, truth)),
            Value::Number(_) | Value::Places(_) | Value::Text(_) => None,
        };
        Outcome {
            value,
            causes,
            report,
        }
    }

    fn ask_survey<T: Trace<'a>>(
        &mut self,
        node: &'a Node,
        function: Function,
        arguments: &'a [Argument],
        trace: &mut T,
    ) -> Outcome<'a> {
        let mut causes = Causes::NONE;
        let mut given = Vec::with_capacity(arguments.len());
        for argument in arguments {
            given.push(match argument {
                Argument::Thing(binding) => survey::Argument::Thing(self.thing(*binding)),
                Argument::Value(node) => {
                    let outcome = self.walk(node, trace);
                    causes = self.causes.both(causes, outcome.causes);
                    survey::Argument::Quantity(outcome.value.number())
                }
            });
        }
        let answer = if trace.wants_steps() {
            self.survey
                .compute_with_steps(function, &given, self.record, self.mode)
        } else {
            self.survey
                .compute(function, &given, self.record, self.mode)
        };
        trace.survey(function, &answer);
        for cause in &answer.causes {
            let one = self.record_cause(*cause);
            causes = self.causes.both(causes, one);
        }
        let value = recorded(self.record, answer.value, node.gives);
        self.read(node, value, causes)
    }

    fn one_number<T: Trace<'a>>(
        &mut self,
        inner: &'a Node,
        trace: &mut T,
        step: impl Fn(Interval) -> Interval,
    ) -> Outcome<'a> {
        let inner = self.walk(inner, trace);
        Outcome {
            value: Value::Number(step(inner.value.number())),
            causes: inner.causes,
            report: None,
        }
    }

    fn arithmetic<T: Trace<'a>>(
        &mut self,
        operator: Operator,
        left: &'a Node,
        right: &'a Node,
        trace: &mut T,
    ) -> Outcome<'a> {
        let left = self.walk(left, trace);
        let right = self.walk(right, trace);
        let (a, b) = (left.value.number(), right.value.number());
        let value = match operator {
            Operator::Add => Ok(a.add(b)),
            Operator::Subtract => Ok(a.subtract(b)),
            Operator::Multiply => Ok(a.multiply(b)),
            Operator::Divide => a.divide(b),
        };
        self.defined(value, left.causes, right.causes)
    }

    /// A value that may have none; then the whole line, for the causes of its operands or, where
    /// they have none, for that reason.
    fn defined(
        &mut self,
        value: Result<Interval, Undefined>,
        left: Causes,
        right: Causes,
    ) -> Outcome<'a> {
        let mut causes = self.causes.both(left, right);
        let interval = match value {
            Ok(interval) => interval,
            Err(reason) => {
                if causes.is_none() {
                    let words = match reason {
                        Undefined::DivisorMayBeZero => "divisor may be zero",
                        Undefined::OutsideDomain => "outside domain",
                    };
                    causes = self.record_cause(survey::Cause::Domain(words));
                }
                Interval::WHOLE
            }
        };
        Outcome {
            value: Value::Number(interval),
            causes,
            report: None,
        }
    }

    fn lookup<T: Trace<'a>>(
        &mut self,
        node: &'a Node,
        number: usize,
        keys: &'a [Node],
        trace: &mut T,
    ) -> Outcome<'a> {
        let table = &self.program.tables[number];
        let mut causes = Causes::NONE;
        let mut outside = None;
        let mut cells: Vec<usize> = vec![0];
        for (at, (axis, key)) in table.axes.iter().zip(keys).enumerate() {
            let key = self.walk(key, trace);
            causes = self.causes.both(causes, key.causes);
            let (first, past, beyond) = axis_places(axis, key.value);
            if beyond {
                outside.get_or_insert(at);
            }
            cells = cells
                .iter()
                .flat_map(|cell| (first..past).map(move |place| cell * axis.length() + place))
                .collect();
        }
        let mut value: Option<Value<'a>> = None;
        let mut empty = None;
        let ordered = self.vocabulary.is_ordered(node.gives);
        for cell in &cells {
            trace.cell(number, *cell);
            match table.cells[*cell] {
                None => empty = empty.or(Some(*cell)),
                Some(found) => value = Some(hull(value, constant(found), ordered)),
            }
        }
        if causes.is_none() {
            if let Some(axis) = outside {
                causes = self.causes.one(Cause::Outside(number, axis));
            } else if let Some(cell) = empty {
                causes = self.causes.one(Cause::NoValue(number, cell));
            }
        }
        let value = match value {
            Some(value) if outside.is_none() && empty.is_none() => value,
            Some(_) | None => unknown(node.gives),
        };
        Outcome {
            value,
            causes,
            report: None,
        }
    }

    fn compare<T: Trace<'a>>(
        &mut self,
        node: &'a Node,
        comparator: Comparator,
        left: &'a Node,
        right: &'a Node,
        trace: &mut T,
    ) -> Outcome<'a> {
        let a = self.walk(left, trace);
        let b = self.walk(right, trace);
        let causes = self.causes.both(a.causes, b.causes);
        let (mut left_value, mut right_value) = (a.value, b.value);
        let (mut truth, mut margin) = compared(comparator, left_value, right_value);
        // Published equivalents: one that is met suffices; the greatest margin is told.
        for (values, is_left) in [
            (self.equivalents(left), true),
            (self.equivalents(right), false),
        ] {
            for equivalent in values.iter().skip(1) {
                let other = constant(*equivalent);
                let (x, y) = if is_left {
                    (other, b.value)
                } else {
                    (a.value, other)
                };
                let (also, its_margin) = compared(comparator, x, y);
                truth = truth.or(also);
                if greater_margin(its_margin, margin) {
                    (margin, left_value, right_value) = (its_margin, x, y);
                }
            }
        }
        let report = self.report(node, left_value, right_value, margin, truth);
        Outcome {
            value: Value::Truth(truth),
            causes,
            report: Some(report),
        }
    }

    fn equivalents(&self, side: &'a Node) -> &'a [code::Value] {
        match &side.step {
            Step::Limit(at) => &self.program.limits[*at].values,
            _ => &[],
        }
    }

    fn one_of<T: Trace<'a>>(
        &mut self,
        node: &'a Node,
        value: &'a Node,
        alternatives: &'a [Node],
        trace: &mut T,
    ) -> Outcome<'a> {
        let value = self.walk(value, trace);
        let (mut truth, mut causes) = (Truth::False, value.causes);
        for alternative in alternatives {
            let other = self.walk(alternative, trace);
            truth = truth.or(compared(Comparator::Is, value.value, other.value).0);
            causes = self.causes.both(causes, other.causes);
        }
        let report = self.report(node, value.value, Value::Text(None), None, truth);
        Outcome {
            value: Value::Truth(truth),
            causes,
            report: Some(report),
        }
    }

    fn report(
        &mut self,
        node: &'a Node,
        left: Value<'a>,
        right: Value<'a>,
        margin: Option<Interval>,
        truth: Truth,
    ) -> ReportNumber {
        let mut bound = [THE_SITE; MOST_BOUND];
        let depth = self.bound.len().min(MOST_BOUND);
        bound[..depth].copy_from_slice(&self.bound[..depth]);
        self.keep(Reported {
            node,
            left,
            right,
            margin,
            truth,
            turned: false,
            bound,
            depth,
        })
    }

    fn keep(&mut self, reported: Reported<'a>) -> ReportNumber {
        let number = u32::try_from(self.reports.len()).expect("fewer than four billion reports");
        self.reports.push(reported);
        ReportNumber(number)
    }

    fn reported(&self, number: ReportNumber) -> &Reported<'a> {
        &self.reports[number.0 as usize]
    }

    fn turned(&mut self, inner: Outcome<'a>) -> Outcome<'a> {
        let report = inner.report.map(|number| {
            let mut reported = *self.reported(number);
            reported.truth = reported.truth.negated();
            reported.turned = !reported.turned;
            reported.margin = reported.margin.map(Interval::negate);
            self.keep(reported)
        });
        Outcome {
            value: Value::Truth(inner.value.truth().negated()),
            causes: inner.causes,
            report,
        }
    }

    fn joined<T: Trace<'a>>(
        &mut self,
        parts: &'a [Node],
        start: Truth,
        join: impl Fn(Truth, Truth) -> Truth,
        trace: &mut T,
    ) -> Outcome<'a> {
        let mut truth = start;
        let mut causes = Causes::NONE;
        let mut outcomes = Vec::with_capacity(parts.len());
        for part in parts {
            let outcome = self.walk(part, trace);
            truth = join(truth, outcome.value.truth());
            if outcome.value.truth() == Truth::Unknown {
                causes = self.causes.both(causes, outcome.causes);
            }
            outcomes.push((outcome.value.truth(), outcome.report));
        }
        let report = self.first_with_margin(&outcomes, truth);
        Outcome {
            value: Value::Truth(truth),
            causes,
            report,
        }
    }

    /// Among those of the result's truth, the first that has a margin, or the first.
    fn first_with_margin(
        &self,
        outcomes: &[(Truth, Option<ReportNumber>)],
        truth: Truth,
    ) -> Option<ReportNumber> {
        let candidates = || {
            outcomes
                .iter()
                .filter(|(of, _)| *of == truth)
                .filter_map(|(_, report)| *report)
        };
        candidates()
            .find(|report| least(self.reported(*report).margin).is_some())
            .or_else(|| candidates().next())
    }

    fn branch<T: Trace<'a>>(
        &mut self,
        node: &'a Node,
        condition: &'a Node,
        then: &'a Node,
        otherwise: &'a Node,
        trace: &mut T,
    ) -> Outcome<'a> {
        let condition = self.walk(condition, trace);
        match condition.value.truth() {
            Truth::True => self.walk(then, trace),
            Truth::False => self.walk(otherwise, trace),
            Truth::Unknown => {
                let then = self.walk(then, trace);
                let otherwise = self.walk(otherwise, trace);
                let branches = self.causes.both(then.causes, otherwise.causes);
                let ordered = self.vocabulary.is_ordered(node.gives);
                Outcome {
                    value: hull(Some(then.value), otherwise.value, ordered),
                    causes: self.causes.both(condition.causes, branches),
                    report: None,
                }
            }
        }
    }

    fn quantified<T: Trace<'a>>(
        &mut self,
        list: List,
        inner: &'a Node,
        quantifier: Quantifier,
        trace: &mut T,
    ) -> Outcome<'a> {
        let known = self.list(list);
        let mut truth = match quantifier {
            Quantifier::Every => Truth::True,
            Quantifier::Some => Truth::False,
        };
        let mut causes = Causes::NONE;
        let mut outcomes = Vec::with_capacity(known.items.len());
        for item in &known.items {
            self.bound.push(*item);
            let outcome = self.walk(inner, trace);
            self.bound.pop();
            let of = outcome.value.truth();
            truth = quantifier.join(truth, of);
            if of == Truth::Unknown {
                causes = self.causes.both(causes, outcome.causes);
            }
            outcomes.push((of, outcome.report));
        }
        if known.open {
            truth = quantifier.join(truth, Truth::Unknown);
            let more = self.list_causes(list);
            causes = self.causes.both(causes, more);
        }
        let report = self.extreme_margin(&outcomes, truth, quantifier);
        Outcome {
            value: Value::Truth(truth),
            causes,
            report,
        }
    }

    /// Among elements of the result's truth: of `every` the least margin, of `some` the greatest;
    /// where none has a margin, the first.
    fn extreme_margin(
        &self,
        outcomes: &[(Truth, Option<ReportNumber>)],
        truth: Truth,
        quantifier: Quantifier,
    ) -> Option<ReportNumber> {
        let mut best: Option<ReportNumber> = None;
        for (_, report) in outcomes.iter().filter(|(of, _)| *of == truth) {
            let Some(report) = report else { continue };
            let margin = self.reported(*report).margin;
            let better = match best {
                None => true,
                Some(best) => {
                    let known = self.reported(best).margin;
                    match quantifier {
                        Quantifier::Every => lesser_margin(margin, known),
                        Quantifier::Some => greater_margin(margin, known),
                    }
                }
            };
            if better {
                best = Some(*report);
            }
        }
        best
    }

    fn count<T: Trace<'a>>(
        &mut self,
        list: List,
        inner: Option<&'a Node>,
        trace: &mut T,
    ) -> Outcome<'a> {
        let known = self.list(list);
        let (mut sure, mut perhaps) = (0i64, 0i64);
        let mut causes = Causes::NONE;
        for item in &known.items {
            let Some(inner) = inner else {
                sure += 1;
                continue;
            };
            self.bound.push(*item);
            let outcome = self.walk(inner, trace);
            self.bound.pop();
            match outcome.value.truth() {
                Truth::True => sure += 1,
                Truth::False => {}
                Truth::Unknown => {
                    perhaps += 1;
                    causes = self.causes.both(causes, outcome.causes);
                }
            }
        }
        let least = Interval::at_least(Rational::from_integer(sure));
        let value = if known.open {
            let more = self.list_causes(list);
            causes = self.causes.both(causes, more);
            least
        } else {
            let most = Interval::at_most(Rational::from_integer(sure + perhaps));
            least.intersect(most).unwrap_or(Interval::WHOLE)
        };
        Outcome {
            value: Value::Number(value),
            causes,
            report: None,
        }
    }

    fn fold<T: Trace<'a>>(
        &mut self,
        fold: Fold,
        list: List,
        inner: &'a Node,
        trace: &mut T,
    ) -> Outcome<'a> {
        let known = self.list(list);
        let mut causes = Causes::NONE;
        let mut value: Option<Interval> = match fold {
            Fold::Total => Some(Interval::point(Rational::ZERO)),
            Fold::Least | Fold::Greatest => None,
        };
        for item in &known.items {
            self.bound.push(*item);
            let outcome = self.walk(inner, trace);
            self.bound.pop();
            causes = self.causes.both(causes, outcome.causes);
            let number = outcome.value.number();
            value = Some(match (fold, value) {
                (_, None) => number,
                (Fold::Least, Some(known)) => known.lesser(number),
                (Fold::Greatest, Some(known)) => known.greater(number),
                (Fold::Total, Some(known)) => known.add(number),
            });
        }
        let value = value.unwrap_or(Interval::WHOLE);
        let value = if known.open {
            match fold {
                // More elements can only lower the least and raise the greatest.
                Fold::Least => value.lesser(Interval::WHOLE),
                Fold::Greatest => value.greater(Interval::WHOLE),
                Fold::Total => Interval::WHOLE,
            }
        } else {
            value
        };
        let nothing_in_it = known.items.is_empty() && fold != Fold::Total;
        if known.open || nothing_in_it {
            let more = self.list_causes(list);
            causes = self.causes.both(causes, more);
        }
        Outcome {
            value: Value::Number(value),
            causes,
            report: None,
        }
    }

    fn choose<T: Trace<'a>>(
        &mut self,
        node: &'a Node,
        left: &'a Node,
        right: &'a Node,
        which: Fold,
        trace: &mut T,
    ) -> Outcome<'a> {
        let left = self.walk(left, trace);
        let right = self.walk(right, trace);
        let causes = self.causes.both(left.causes, right.causes);
        let value = match node.gives {
            Type::Label(_) => {
                let (a, b) = (left.value.places(), right.value.places());
                Value::Places(match which {
                    Fold::Least => a.lesser(b),
                    Fold::Greatest | Fold::Total => a.greater(b),
                })
            }
            Type::Quantity(_)
            | Type::Slope
            | Type::Point(_)
            | Type::YesNo
            | Type::Text
            | Type::Reference => {
                let (a, b) = (left.value.number(), right.value.number());
                Value::Number(match which {
                    Fold::Least => a.lesser(b),
                    Fold::Greatest | Fold::Total => a.greater(b),
                })
            }
        };
        Outcome {
            value,
            causes,
            report: None,
        }
    }
}

/// `every` or `some`.
#[derive(Debug, Clone, Copy)]
enum Quantifier {
    Every,
    Some,
}

impl Quantifier {
    fn join(self, a: Truth, b: Truth) -> Truth {
        match self {
            Quantifier::Every => a.and(b),
            Quantifier::Some => a.or(b),
        }
    }
}

fn plain(value: Value<'_>) -> Outcome<'_> {
    Outcome {
        value,
        causes: Causes::NONE,
        report: None,
    }
}

/// A fact of a thing, its tolerance taken one way or the other.
fn read_as(record: &Record, thing: ThingRef, fact: FactId, mode: Mode, gives: Type) -> Value<'_> {
    let slot = record.slot(thing, fact);
    let value = match mode {
        Mode::Banded => slot.banded,
        Mode::AsRead => slot.as_read,
    };
    recorded(record, value, gives)
}

fn recorded(record: &Record, value: facts::Value, gives: Type) -> Value<'_> {
    match value {
        facts::Value::Nothing => unknown(gives),
        facts::Value::Quantity(interval) => Value::Number(interval),
        facts::Value::Label(place) => Value::Places(Places::one(place)),
        facts::Value::Truth(truth) => Value::Truth(truth.into()),
        facts::Value::Text(text) => Value::Text(Some(record.text(text))),
    }
}

pub(crate) fn constant<'a>(value: code::Value) -> Value<'a> {
    match value {
        code::Value::Number(interval) => Value::Number(interval),
        code::Value::Label(place) => Value::Places(Places::one(place)),
    }
}

/// What is absent narrows nothing.
pub(crate) fn unknown<'a>(gives: Type) -> Value<'a> {
    match gives {
        Type::Quantity(_) | Type::Slope | Type::Point(_) => Value::Number(Interval::WHOLE),
        Type::YesNo => Value::Truth(Truth::Unknown),
        Type::Text | Type::Reference => Value::Text(None),
        Type::Label(_) => Value::Places(Places::UNKNOWN),
    }
}

/// The least value that holds both; `ordered` says whether labels have a range between.
pub(crate) fn hull<'a>(known: Option<Value<'a>>, more: Value<'a>, ordered: bool) -> Value<'a> {
    match (known, more) {
        (None, more) => more,
        (Some(Value::Number(a)), Value::Number(b)) => Value::Number(a.hull(b)),
        (Some(Value::Places(a)), Value::Places(b)) => Value::Places(a.hull(b, ordered)),
        (Some(Value::Truth(a)), Value::Truth(b)) => {
            Value::Truth(if a == b { a } else { Truth::Unknown })
        }
        (Some(Value::Text(a)), Value::Text(b)) => Value::Text(a.filter(|_| a == b)),
        (Some(_), more) => more,
    }
}

/// How two values compare, and the margin: positive where it holds.
pub(crate) fn compared(
    comparator: Comparator,
    left: Value<'_>,
    right: Value<'_>,
) -> (Truth, Option<Interval>) {
    match (left, right) {
        (Value::Number(a), Value::Number(b)) => match comparator {
            Comparator::AtLeast => (is_at_least(a, b), Some(a.subtract(b))),
            Comparator::MoreThan => (is_more_than(a, b), Some(a.subtract(b))),
            Comparator::AtMost => (is_at_most(a, b), Some(b.subtract(a))),
            Comparator::LessThan => (is_less_than(a, b), Some(b.subtract(a))),
            Comparator::Is => {
                let apart = a.subtract(b);
                let distance = apart.greater(apart.negate());
                (is_equal(a, b), Some(distance.negate()))
            }
        },
        (Value::Places(a), Value::Places(b)) => (compared_places(comparator, a, b), None),
        (Value::Text(a), Value::Text(b)) => match (a, b) {
            (Some(a), Some(b)) => ((a == b).into(), None),
            _ => (Truth::Unknown, None),
        },
        (Value::Truth(a), Value::Truth(b)) => {
            let same = if a.is_definite() && b.is_definite() {
                (a == b).into()
            } else {
                Truth::Unknown
            };
            (same, None)
        }
        _ => (Truth::Unknown, None),
    }
}

fn compared_places(comparator: Comparator, a: Places, b: Places) -> Truth {
    let decide = |always: bool, never: bool| match (always, never) {
        (true, _) => Truth::True,
        (false, true) => Truth::False,
        (false, false) => Truth::Unknown,
    };
    match comparator {
        Comparator::AtLeast => decide(a.least >= b.greatest, a.greatest < b.least),
        Comparator::MoreThan => decide(a.least > b.greatest, a.greatest <= b.least),
        Comparator::AtMost => decide(a.greatest <= b.least, a.least > b.greatest),
        Comparator::LessThan => decide(a.greatest < b.least, a.least >= b.greatest),
        Comparator::Is => decide(
            a.is_one() && a == b,
            a.greatest < b.least || b.greatest < a.least,
        ),
    }
}

fn least(margin: Option<Interval>) -> Option<Interval> {
    margin.filter(|margin| margin.lower().is_some())
}

/// Whether one margin is less than another, by the least that each allows; none is greater than
/// any.
fn lesser_margin(one: Option<Interval>, other: Option<Interval>) -> bool {
    match (least(one), least(other)) {
        (Some(one), Some(other)) => one.lower() < other.lower(),
        (Some(_), None) => true,
        (None, _) => false,
    }
}

fn greater_margin(one: Option<Interval>, other: Option<Interval>) -> bool {
    match (least(one), least(other)) {
        (Some(one), Some(other)) => one.lower() > other.lower(),
        (Some(_), None) => true,
        (None, _) => false,
    }
}

/// The places of an axis that a key may fall in, `first..past`, and whether it may fall outside.
pub(crate) fn axis_places(axis: &Axis, key: Value<'_>) -> (usize, usize, bool) {
    match axis {
        Axis::Scale { places, ordered } => {
            let key = key.places();
            let last = i32::from(*places) - 1;
            if key.is_one() || *ordered {
                let clamp = |place: i32| usize::try_from(place.clamp(0, last)).unwrap_or(0);
                (clamp(key.least), clamp(key.greatest) + 1, false)
            } else {
                (0, usize::from(*places), false)
            }
        }
        Axis::UpTo { bounds, beyond } => {
            let key = key.number();
            let place_of =
                |end| bounds.partition_point(|bound| crate::quantity::End::from(*bound) < end);
            let first = key.lower().map_or(0, place_of);
            let last = key.upper().map_or(bounds.len(), place_of);
            let outside = last >= bounds.len() && !*beyond;
            let length = axis.length();
            (first.min(length), (last + 1).min(length), outside)
        }
        Axis::From { bounds, below } => {
            let key = key.number();
            // How many bounds lie at or under an end.
            let under =
                |end| bounds.partition_point(|bound| crate::quantity::End::from(*bound) <= end);
            let first = key.lower().map_or(0, under);
            let last = key.upper().map_or(bounds.len(), under);
            let shift = usize::from(!*below);
            let outside = first == 0 && !*below;
            (
                first.saturating_sub(shift),
                (last + 1).saturating_sub(shift).max(1),
                outside,
            )
        }
    }
}
