//! Decisions in, rules in the rule language out: right by construction, in every form that an
//! expression can have.

use super::choices::Choices;
use super::vocabulary::{
    BORES, HOLDS, Kind, MATERIALS, PERMITS, TEXTS, THINGS, day, thing, written,
};
use num_rational::Ratio;

use Kind::*;

/// How deep an expression may go.
const DEPTH: usize = 4;
/// How many lists may lie within each other.
const MOST_LISTS: usize = 3;

/// What an amendment may aim at: its name, what it is now, and another value for it.
#[derive(Debug, Clone)]
pub struct Target {
    pub name: String,
    pub values: String,
    pub others: Vec<String>,
    /// Whether the places set it.
    pub unset: bool,
}

/// A rule's name and its clauses.
#[derive(Debug, Clone)]
pub struct Rule {
    pub name: String,
    pub body: String,
    pub is_precaution: bool,
}

/// The things bound where an expression stands.
#[derive(Debug, Clone, Default)]
struct Scope {
    things: Vec<(String, &'static str)>,
    values: Vec<(String, Kind)>,
    lists: usize,
    /// A define's body must not call defines: one may come back to itself.
    in_define: bool,
}

/// Writes rules and the limits, tables and defines that they use.
pub struct Writer<'c> {
    choices: &'c mut Choices,
    /// Limits, tables and defines, as items.
    pub items: Vec<String>,
    pub targets: Vec<Target>,
    prefix: String,
    names: usize,
    /// Whether limits without a value may stand here.
    may_be_unset: bool,
}

impl<'c> Writer<'c> {
    /// A writer whose names begin with `prefix`.
    pub fn new(choices: &'c mut Choices, prefix: &str) -> Writer<'c> {
        Writer {
            choices,
            items: Vec::new(),
            targets: Vec::new(),
            prefix: prefix.to_owned(),
            names: 0,
            may_be_unset: false,
        }
    }

    pub fn below(&mut self, end: usize) -> usize {
        self.choices.below(end)
    }

    pub fn chance(&mut self, often: usize, of: usize) -> bool {
        self.choices.chance(often, of)
    }

    pub fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        self.choices.pick(from)
    }

    fn fresh(&mut self, what: &str) -> String {
        self.names += 1;
        format!("{}{what}{}", self.prefix, self.names)
    }

    /// A rule; of a topic without a permit, a precaution.
    pub fn rule(&mut self, precautions_only: bool) -> Rule {
        let name = self.fresh("rule");
        let mut scope = Scope::default();
        let mut body = format!("  title \"{name}\"\n");
        self.may_be_unset = false;
        for _ in 0..self.choices.below(5) {
            if self.choices.chance(1, 3) {
                let condition = self.condition(&scope, 2);
                body += &format!("  when {condition}\n");
            } else if scope.lists < 2 {
                let (bound, list, of) = self.bind(&scope);
                body += &format!("  each {bound} in {list}\n");
                scope.things.push((bound, of));
                scope.lists += 1;
            }
        }
        let obligation = if precautions_only {
            4
        } else {
            self.choices.below(8)
        };
        body += &match obligation {
            1 => format!("  shall record {}\n", self.recorded(&scope)),
            2 => "  refer \"What does the office say?\"\n".to_owned(),
            3 => format!("  should {}\n", self.obliged(&scope)),
            4 => format!("  precaution {}\n", self.condition(&scope, DEPTH)),
            _ => format!("  shall {}\n", self.obliged(&scope)),
        };
        let hold = self.choices.pick(&HOLDS);
        body += &format!("  cite norm \"1\"\n  hold {hold}\n  remedy \"Mend it.\"\n");
        Rule {
            name,
            body,
            is_precaution: obligation == 4,
        }
    }

    /// The condition of a `shall` or a `should`, where limits with equivalents and limits that
    /// the places set may stand.
    fn obliged(&mut self, scope: &Scope) -> String {
        self.may_be_unset = self.choices.chance(1, 4);
        let written = if self.choices.chance(1, 4) {
            self.beside_equivalents(scope)
        } else {
            match self.choices.below(2) {
                0 => self.usual(scope),
                _ => self.condition(scope, DEPTH),
            }
        };
        self.may_be_unset = false;
        written
    }

    fn beside_equivalents(&mut self, scope: &Scope) -> String {
        let name = self.fresh("equivalent");
        let kind = *self.choices.pick(&[Slope, Length]);
        let values = match kind {
            Slope => "1/4 in/ft or 2 %",
            _ => "24 in or 600 mm",
        };
        let others = match kind {
            Slope => "1/8 in/ft or 1 %",
            _ => "30 in or 750 mm",
        };
        let declared = format!("limit {name} : {} = {values} cite norm \"2\"", kind.name());
        self.items.push(declared);
        self.targets.push(Target {
            name: name.clone(),
            values: values.to_owned(),
            others: vec![others.to_owned(), values.to_owned()],
            unset: false,
        });
        let value = self.value(scope, kind, 2);
        let comparator = self.comparator();
        let compared = if self.choices.chance(1, 3) {
            format!("{name} {comparator} {value}")
        } else {
            format!("{value} {comparator} {name}")
        };
        match self.choices.below(4) {
            1 => format!("({compared}) or ({})", self.condition(scope, 2)),
            2 => format!("({}) and ({compared})", self.condition(scope, 2)),
            _ => compared,
        }
    }

    /// A fact or a list, as `shall record` asks for it.
    fn recorded(&mut self, scope: &Scope) -> String {
        let (bound, kind) = self.thing_of(scope);
        let kind = thing(kind);
        let facts: Vec<_> = kind.all_facts().map(|fact| fact.name).collect();
        let at = self.choices.below(facts.len() + kind.lists.len());
        match facts.get(at) {
            Some(fact) => format!("{bound}.{fact}"),
            None => list_path(&bound, kind.lists[at - facts.len()].0),
        }
    }

    /// A thing that is bound, the innermost first; else the site.
    fn thing_of(&mut self, scope: &Scope) -> (String, &'static str) {
        let count = scope.things.len();
        let at = self.choices.below(count + 1);
        if at < count {
            scope.things[count - 1 - at].clone()
        } else {
            ("site".to_owned(), "site")
        }
    }

    /// A new name, a list and the kind of thing in it.
    fn bind(&mut self, scope: &Scope) -> (String, String, &'static str) {
        let bound = format!("x{}", scope.things.len());
        let mut lists: Vec<(String, &'static str)> = Vec::new();
        for (owner, kind) in scope.things.iter().rev() {
            let of_owner = thing(kind).lists.iter();
            lists.extend(of_owner.map(|(list, of)| (list_path(owner, list), *of)));
        }
        lists.extend(
            THINGS[0]
                .lists
                .iter()
                .map(|(list, of)| ((*list).to_owned(), *of)),
        );
        let (list, of) = self.choices.pick(&lists).clone();
        (bound, list, of)
    }

    fn bound_inside(&mut self, scope: &Scope) -> (Scope, String, String) {
        let (bound, list, of) = self.bind(scope);
        let mut inside = scope.clone();
        inside.things.push((bound.clone(), of));
        inside.lists += 1;
        (inside, bound, list)
    }

    fn comparator(&mut self) -> &'static str {
        let comparators = [
            "is at least",
            "is at most",
            "is more than",
            "is less than",
            "is",
        ];
        comparators[self.choices.below(comparators.len())]
    }

    /// Something true or false.
    fn condition(&mut self, scope: &Scope, depth: usize) -> String {
        if self.choices.chance(1, 3) {
            return format!("({})", self.usual(scope));
        }
        if depth == 0 {
            return self.comparison(scope, 0);
        }
        let inner = depth - 1;
        match self.choices.below(16) {
            8 => format!("not ({})", self.condition(scope, inner)),
            9 => {
                let parts = self.conditions(scope, inner);
                parts.join(" and ")
            }
            10 => {
                let parts = self.conditions(scope, inner);
                parts.join(" or ")
            }
            11 => {
                let condition = self.condition(scope, inner);
                let then = self.condition(scope, inner);
                let otherwise = self.condition(scope, inner);
                format!("(if {condition} then {then} else {otherwise})")
            }
            12 | 13 if scope.lists < MOST_LISTS => {
                let quantifier = *self.choices.pick(&["every", "some"]);
                let (inside, bound, list) = self.bound_inside(scope);
                let condition = self.condition(&inside, inner);
                format!("({quantifier} {bound} in {list} has {condition})")
            }
            14 => self.truth(scope),
            15 => self.one_of(scope, inner),
            _ => self.comparison(scope, inner),
        }
    }

    /// What rules of the trade look like: one thing that was measured against one limit.
    fn usual(&mut self, scope: &Scope) -> String {
        match self.choices.below(6) {
            1 if scope.lists < MOST_LISTS => {
                let quantifier = *self.choices.pick(&["every", "some"]);
                let (inside, bound, list) = self.bound_inside(scope);
                let condition = self.against_a_limit(&inside);
                format!("({quantifier} {bound} in {list} has {condition})")
            }
            2 if scope.lists < MOST_LISTS => {
                let (inside, bound, list) = self.bound_inside(scope);
                let condition = self.against_a_limit(&inside);
                let comparator = self.comparator();
                let number = self.choices.below(4);
                format!("(count of {bound} in {list} where {condition}) {comparator} {number}")
            }
            3 if scope.lists < MOST_LISTS => {
                let (inside, bound, list) = self.bound_inside(scope);
                let (value, kind) = self.innermost(&inside);
                if kind == Date || !says_its_type(kind) {
                    return self.against_a_limit(scope);
                }
                let fold = *self.choices.pick(&["least", "greatest", "total"]);
                let comparator = self.comparator();
                let limit = self.literal(kind);
                format!("({fold} of {value} for {bound} in {list}) {comparator} {limit}")
            }
            4 => {
                let kind = *self.choices.pick(&[Length, Slope, Angle]);
                let Some(asked) = self.survey(scope, kind, 0) else {
                    return self.against_a_limit(scope);
                };
                format!("{asked} {} {}", self.comparator(), self.literal(kind))
            }
            _ => self.against_a_limit(scope),
        }
    }

    /// A fact of the innermost thing against a constant.
    fn against_a_limit(&mut self, scope: &Scope) -> String {
        let (value, kind) = self.innermost(scope);
        match kind {
            YesNo => value,
            Text => format!("{value} is \"{}\"", self.choices.pick(&TEXTS)),
            Material => format!("{value} is {}", self.literal(kind)),
            Elevation | PublicElevation | Reference => {
                let other = self.fact(scope, kind);
                let comparator = if kind == Reference {
                    "is"
                } else {
                    self.comparator()
                };
                format!("{value} {comparator} {other}")
            }
            _ if may_be_constant(kind) && self.choices.chance(1, 3) => {
                let limit = if self.choices.chance(1, 2) {
                    self.limit(kind)
                } else {
                    self.lookup(scope, kind, 0)
                };
                format!("{value} {} {limit}", self.comparator())
            }
            _ => format!("{value} {} {}", self.comparator(), self.literal(kind)),
        }
    }

    /// A fact of the innermost thing, with its type.
    fn innermost(&mut self, scope: &Scope) -> (String, Kind) {
        let site = ("site".to_owned(), "site");
        let (bound, kind) = scope.things.last().unwrap_or(&site);
        let facts: Vec<_> = thing(kind).all_facts().collect();
        let fact = self.choices.pick(&facts);
        (format!("{bound}.{}", fact.name), fact.kind)
    }

    fn conditions(&mut self, scope: &Scope, depth: usize) -> Vec<String> {
        (0..2 + self.choices.below(2))
            .map(|_| format!("({})", self.condition(scope, depth)))
            .collect()
    }

    /// A fact that is yes or no, or a survey function that says so.
    fn truth(&mut self, scope: &Scope) -> String {
        let drains = of_kind(scope, &["drain"]);
        if !drains.is_empty() && self.choices.chance(1, 2) {
            let one = self.choices.pick(&drains).clone();
            let two = self.choices.pick(&drains).clone();
            return format!("crosses({one}, {two})");
        }
        self.fact(scope, YesNo)
    }

    fn one_of(&mut self, scope: &Scope, depth: usize) -> String {
        let kind = *self.choices.pick(&[Material, Bore, Length, Number]);
        let value = self.value(scope, kind, depth);
        let first = self.literal(kind);
        let second = self.literal(kind);
        format!("{value} is one of {first}, {second}")
    }

    fn comparison(&mut self, scope: &Scope, depth: usize) -> String {
        let kind = *self.choices.pick(&[
            Length,
            Length,
            Slope,
            Number,
            Elevation,
            Material,
            Bore,
            Temperature,
            Date,
            Time,
            Flow,
            Volume,
            Pressure,
            Angle,
            Chainage,
            PublicElevation,
            Text,
            Reference,
            YesNo,
        ]);
        let left = match kind {
            Chainage | Text | Reference | YesNo => self.fact(scope, kind),
            _ => self.value(scope, kind, depth),
        };
        let comparator = match kind {
            Material | Text | Reference | YesNo => "is",
            _ => self.comparator(),
        };
        let right = match kind {
            // What has no literal, or none that says its own type, stands on the left.
            Material | Bore | Temperature | Chainage if self.choices.chance(2, 3) => {
                self.literal(kind)
            }
            Chainage => self.fact(scope, kind),
            Text => format!("\"{}\"", self.choices.pick(&TEXTS)),
            Reference | YesNo => self.fact(scope, kind),
            _ => self.value(scope, kind, depth),
        };
        let is_turned = matches!(kind, Length | Slope | Number | Time) && self.choices.chance(1, 4);
        if is_turned {
            format!("{right} {comparator} {left}")
        } else {
            format!("{left} {comparator} {right}")
        }
    }

    /// A fact of a type; the site has one of nearly every type.
    fn fact(&mut self, scope: &Scope, kind: Kind) -> String {
        let mut known: Vec<String> = Vec::new();
        for (bound, of) in scope.things.iter().rev() {
            let facts = thing(of).all_facts().filter(|fact| fact.kind == kind);
            known.extend(facts.map(|fact| format!("{bound}.{}", fact.name)));
            if kind == Reference {
                known.push(format!("{bound}.id"));
            }
        }
        let of_site = THINGS[0].all_facts().filter(|fact| fact.kind == kind);
        // The site has a fact of each type; where something else has one, that is asked first.
        let of_site = of_site
            .filter(|_| known.is_empty() || self.choices.chance(1, 4))
            .collect::<Vec<_>>();
        known.extend(
            of_site
                .into_iter()
                .map(|fact| format!("site.{}", fact.name)),
        );
        match (known.is_empty(), kind) {
            (false, _) => self.choices.pick(&known).clone(),
            (true, Reference) => "site.note".to_owned(),
            (true, _) => {
                // Only chainages are left: every one lies on a run.
                "(if site.guarded then site.frost else site.tie)".to_owned()
            }
        }
    }

    fn literal(&mut self, kind: Kind) -> String {
        match kind {
            Material => (*self.choices.pick(&MATERIALS)).to_owned(),
            Bore => {
                let labels = *self.choices.pick(&BORES);
                (*self.choices.pick(labels)).to_owned()
            }
            Date => day(self.choices.below(400) as i64),
            _ => {
                let unit = match kind {
                    // A share is a slope where a constant stands.
                    Number => kind.units()[0],
                    _ => *self.choices.pick(kind.units()),
                };
                let (numerator, denominator) = *self.choices.pick(kind.pool());
                let first = Ratio::new(numerator, denominator);
                let number = unit.count(kind.units()[0].canonical(first, kind), kind);
                let number = if kind == Temperature && *number.numer() < 0 {
                    return "40 degF".to_owned();
                } else {
                    number
                };
                constant(number, unit.name)
            }
        }
    }

    fn limit(&mut self, kind: Kind) -> String {
        let unset = self.may_be_unset && self.choices.chance(1, 2);
        let name = self.fresh(if unset { "unset" } else { "limit" });
        let value = self.literal(kind);
        let others = vec![self.literal(kind), self.literal(kind)];
        let said = if unset {
            "set by the place".to_owned()
        } else {
            format!("= {value}")
        };
        self.items.push(format!(
            "limit {name} : {} {said} cite norm \"3\"",
            kind.name()
        ));
        self.targets.push(Target {
            name: name.clone(),
            values: value,
            others,
            unset,
        });
        name
    }

    /// A table, and a use of it.
    fn lookup(&mut self, scope: &Scope, gives: Kind, depth: usize) -> String {
        let name = self.fresh("table");
        let axes: Vec<(Kind, Vec<&str>)> = (0..1 + self.choices.below(2))
            .map(|_| self.axis())
            .collect();
        let mut combinations: Vec<Vec<&str>> = vec![Vec::new()];
        for (_, keys) in &axes {
            combinations = combinations
                .iter()
                .flat_map(|known| {
                    keys.iter().map(|key| {
                        let mut longer = known.clone();
                        longer.push(*key);
                        longer
                    })
                })
                .collect();
        }
        let mut rows = String::new();
        for keys in &combinations {
            let value = if self.choices.chance(1, 8) {
                "no value".to_owned()
            } else {
                self.literal(gives)
            };
            let keys = keys.join(", ");
            rows += &format!("  {keys} : {value}\n");
            let others = vec![self.literal(gives), "no value".to_owned()];
            self.targets.push(Target {
                name: format!("{name}({keys})"),
                values: value,
                others,
                unset: false,
            });
        }
        let parameters: Vec<_> = axes
            .iter()
            .enumerate()
            .map(|(at, (kind, _))| format!("k{at}: {}", kind.name()))
            .collect();
        self.items.push(format!(
            "table {name} ({}) gives {} cite norm \"4\" {{\n{rows}}}",
            parameters.join(", "),
            gives.name()
        ));
        let arguments: Vec<_> = axes
            .iter()
            .map(|(kind, _)| self.value(scope, *kind, depth))
            .collect();
        format!("{name}({})", arguments.join(", "))
    }

    fn axis(&mut self) -> (Kind, Vec<&'static str>) {
        let axes: [(Kind, &[&str]); 9] = [
            (Bore, &["up to 2 in", "3 in and over"]),
            (Material, &["clay or iron", "plastic", "none"]),
            (Length, &["up to 12 in", "up to 24 in", "beyond"]),
            (Length, &["from 0 in", "from 18 in"]),
            (Length, &["below", "from 24 in", "from 36 in"]),
            (Number, &["up to 1", "up to 2"]),
            (Bore, &["2 in or 4 in", "DN 80"]),
            (Bore, &["2 in to 3 in", "4 in"]),
            (Material, &["any"]),
        ];
        let (kind, keys) = *self.choices.pick(&axes);
        (kind, keys.to_vec())
    }

    /// A define, and a use of it.
    fn define(&mut self, scope: &Scope, gives: Kind, depth: usize) -> String {
        let name = self.fresh("define");
        let kind = *self.choices.pick(&[Length, Number, Slope]);
        let drains = of_kind(scope, &["drain"]);
        let mut inside = Scope {
            in_define: true,
            lists: scope.lists,
            ..Scope::default()
        };
        inside.values.push(("v".to_owned(), kind));
        let mut parameters = format!("v: {}", kind.name());
        let mut arguments = self.value(scope, kind, depth);
        if !drains.is_empty() {
            inside.things.push(("run".to_owned(), "drain"));
            parameters += ", run: drain";
            arguments += &format!(", {}", self.choices.pick(&drains));
        }
        let body = self.value(&inside, gives, depth.min(2));
        self.items.push(format!(
            "define {name} ({parameters}) gives {} = {body} cite norm \"5\"",
            gives.name()
        ));
        format!("{name}({arguments})")
    }

    /// A value of a type, in parentheses where it has parts.
    fn value(&mut self, scope: &Scope, kind: Kind, depth: usize) -> String {
        if depth == 0 {
            return self.leaf(scope, kind);
        }
        let inner = depth - 1;
        let choice = self.choices.below(14);
        match choice {
            0..=3 => return self.leaf(scope, kind),
            4 if may_be_constant(kind) => return self.limit(kind),
            5 if may_be_constant(kind) => return self.lookup(scope, kind, inner),
            6 if !scope.in_define && may_be_constant(kind) => {
                return self.define(scope, kind, inner);
            }
            7 => {
                let condition = self.condition(scope, inner);
                let then = self.value(scope, kind, inner);
                let otherwise = self.value(scope, kind, inner);
                return format!("(if {condition} then {then} else {otherwise})");
            }
            8 if kind != Material => {
                let which = *self.choices.pick(&["lesser", "greater"]);
                let (one, two) = (
                    self.value(scope, kind, inner),
                    self.value(scope, kind, inner),
                );
                return format!("({which} of {one} and {two})");
            }
            9 if scope.lists < MOST_LISTS && !matches!(kind, Material | Bore) => {
                let (inside, bound, list) = self.bound_inside(scope);
                let total = !matches!(kind, Elevation | PublicElevation | Temperature | Date);
                let folds: &[&str] = if total {
                    &["least", "greatest", "total"]
                } else {
                    &["least", "greatest"]
                };
                let fold = *self.choices.pick(folds);
                let value = self.value(&inside, kind, inner);
                return format!("({fold} of {value} for {bound} in {list})");
            }
            10 => {
                if let Some(asked) = self.survey(scope, kind, inner) {
                    return asked;
                }
            }
            _ => {}
        }
        self.reckoned(scope, kind, inner)
    }

    fn leaf(&mut self, scope: &Scope, kind: Kind) -> String {
        let values: Vec<_> = scope
            .values
            .iter()
            .filter(|(_, known)| *known == kind)
            .map(|(name, _)| name.clone())
            .collect();
        if !values.is_empty() && self.choices.chance(1, 2) {
            return self.choices.pick(&values).clone();
        }
        if says_its_type(kind) && self.choices.chance(1, 3) {
            return self.literal(kind);
        }
        self.fact(scope, kind)
    }

    fn survey(&mut self, scope: &Scope, kind: Kind, depth: usize) -> Option<String> {
        let drains = of_kind(scope, &["drain"]);
        let tanks = of_kind(scope, &["tank"]);
        let drain = self.choices.pick_or(&drains);
        let tank = self.choices.pick_or(&tanks);
        let other = self.choices.pick_or(&of_kind(scope, &["drain", "well"]));
        match kind {
            Slope => {
                let function = *self
                    .choices
                    .pick(&["least_fall", "overall_fall", "greatest_fall"]);
                Some(format!("{function}({})", drain?))
            }
            Angle => Some(format!("total_bend({})", drain?)),
            PublicElevation => {
                let elevation = self.value(scope, Elevation, depth);
                Some(format!("on_public_datum({elevation}, site.tie)"))
            }
            Length => match (drain, tank) {
                (None, Some(tank)) => {
                    let flow = self.value(scope, Flow, depth);
                    Some(format!("pump_head({tank}, {flow})"))
                }
                (drain, _) => {
                    let drain = drain?;
                    let other = other?;
                    let second = self.choices.pick_or(&drains)?;
                    Some(match self.choices.below(8) {
                        0 => format!("least_cover({drain})"),
                        1 => format!("greatest_cover({drain})"),
                        2 | 3 => format!("horizontal_clearance({drain}, {other})"),
                        4 => format!("true_clearance({drain}, {other})"),
                        5 => format!("crossing_clearance({drain}, {second})"),
                        6 => format!("plan_length({drain})"),
                        _ => format!("slope_length({drain})"),
                    })
                }
            },
            _ => None,
        }
    }

    /// What arithmetic gives a value of a type.
    fn reckoned(&mut self, scope: &Scope, kind: Kind, depth: usize) -> String {
        let choice = self.choices.below(8);
        let mut of = |kind: Kind| self.value(scope, kind, depth);
        match (kind, choice) {
            (Length, 0) => format!("({} - {})", of(Elevation), of(Elevation)),
            (Length, 1) => format!("({} × {})", of(Length), of(Slope)),
            (Length, 2) => format!("root({} × {})", of(Length), of(Length)),
            (Length, 3) => format!("({} / ({} × {}))", of(Volume), of(Length), of(Length)),
            (Number, 0) => format!("({} / {})", of(Length), of(Length)),
            (Number, 1) => format!("({} in ft)", of(Length)),
            (Number, 2) => {
                let base = of(Number);
                let exponent = *self
                    .choices
                    .pick(&["2", "3", "-1", "-2", "0", "1/2", "1.852", "-1/2"]);
                format!("(({base}) ^ {exponent})")
            }
            (Number, 3) => format!("root({})", of(Number)),
            (Number, 4) if scope.lists < MOST_LISTS => {
                let (inside, bound, list) = self.bound_inside(scope);
                if self.choices.chance(1, 3) {
                    return format!("(count of {bound} in {list})");
                }
                let condition = self.condition(&inside, depth);
                format!("(count of {bound} in {list} where {condition})")
            }
            (Number, 5) => format!("({} × {})", of(Number), of(Number)),
            (Number, 6) => format!("({} in h)", of(Time)),
            (Number, 7) => format!("({} / {})", of(Number), of(Number)),
            (Slope, _) => format!("({} + {})", of(Slope), of(Slope)),
            (Elevation, 0..=3) => format!("({} + {})", of(Elevation), of(Length)),
            (Elevation, _) => format!("({} - {})", of(Elevation), of(Length)),
            (PublicElevation, _) => format!("({} + {})", of(PublicElevation), of(Length)),
            (Temperature, _) => {
                format!(
                    "({} + ({} - {}))",
                    of(Temperature),
                    of(Temperature),
                    of(Temperature)
                )
            }
            (Date, _) => format!("({} + {})", of(Date), of(Time)),
            (Time, 0) => format!("({} - {})", of(Date), of(Date)),
            (Time, 1) => format!("({} / {})", of(Volume), of(Flow)),
            (Flow, 0) => format!("({} / {})", of(Volume), of(Time)),
            (Volume, 0) => format!("({} × {})", of(Flow), of(Time)),
            (Volume, 1) => format!("({} × ({} × {}))", of(Length), of(Length), of(Length)),
            (Length | Number | Time | Flow | Volume | Pressure | Angle, 4) => {
                format!("({} × {})", of(Number), of(kind))
            }
            (Length | Time | Flow | Volume | Pressure | Angle, 5) => {
                format!("({} / {})", of(kind), of(Number))
            }
            (Length | Time | Flow | Volume | Pressure | Angle, 6) => {
                format!("(-{})", of(kind))
            }
            (Length | Time | Flow | Volume | Pressure | Angle, 7) => {
                format!("({} - {})", of(kind), of(kind))
            }
            (Length | Number | Time | Flow | Volume | Pressure | Angle, _) => {
                format!("({} + {})", of(kind), of(kind))
            }
            (Chainage | YesNo | Material | Bore | Text | Reference, _) => self.leaf(scope, kind),
        }
    }
}

impl Choices {
    fn pick_or(&mut self, from: &[String]) -> Option<String> {
        (!from.is_empty()).then(|| self.pick(from).clone())
    }
}

/// Whether a literal of a type can stand by itself.
fn says_its_type(kind: Kind) -> bool {
    matches!(
        kind,
        Length | Slope | Number | Time | Flow | Volume | Pressure | Angle | Date
    )
}

fn may_be_constant(kind: Kind) -> bool {
    matches!(
        kind,
        Length
            | Slope
            | Number
            | Time
            | Flow
            | Volume
            | Pressure
            | Angle
            | Material
            | Bore
            | Temperature
    )
}

fn of_kind(scope: &Scope, kinds: &[&str]) -> Vec<String> {
    let bound = scope.things.iter().rev();
    bound
        .filter(|(_, kind)| kinds.contains(kind))
        .map(|(name, _)| name.clone())
        .collect()
}

fn list_path(owner: &str, list: &str) -> String {
    if owner == "site" {
        list.to_owned()
    } else {
        format!("{owner}.{list}")
    }
}

/// A constant with its unit; a negative one keeps its sign at its number.
pub fn constant(number: num_rational::Ratio<i128>, unit: &str) -> String {
    format!("{} {unit}", written(number)).trim_end().to_owned()
}

/// Rules that ask every survey function of everything, so that each way of contradicting itself
/// that a record has comes to light. They advise only.
pub fn probes() -> Vec<String> {
    let each = |lists: &[(&str, &str)]| -> String {
        lists
            .iter()
            .map(|(name, list)| format!("  each {name} in {list}\n"))
            .collect()
    };
    let drain = each(&[("a", "drains")]);
    let drains = each(&[("a", "drains"), ("b", "drains")]);
    let wells = each(&[("a", "drains"), ("b", "wells")]);
    let tanks = each(&[("a", "tanks")]);
    let asked: [(&str, &str); 14] = [
        (&drain, "least_fall(a) is at most 1 %"),
        (&drain, "overall_fall(a) is at most 1 %"),
        (&drain, "greatest_fall(a) is at most 1 %"),
        (&drain, "least_cover(a) is at most 1 ft"),
        (&drain, "greatest_cover(a) is at most 1 ft"),
        (&drains, "horizontal_clearance(a, b) is at most 1 ft"),
        (&wells, "horizontal_clearance(a, b) is at most 1 ft"),
        (&drains, "true_clearance(a, b) is at most 1 ft"),
        (&wells, "true_clearance(a, b) is at most 1 ft"),
        (&drains, "crosses(a, b)"),
        (&drains, "crossing_clearance(a, b) is at most 1 ft"),
        (&drain, "slope_length(a) is at most 1 ft"),
        (&drain, "total_bend(a) is at most 1 deg"),
        (&tanks, "pump_head(a, a.inflow) is at most 1 ft"),
    ];
    let rules = asked.iter().enumerate().map(|(at, (head, condition))| {
        format!(
            "rule probe{at} {{\n  title \"probe\"\n{head}  should {condition}\n  cite norm \"6\"\n  hold late\n  remedy \"None is needed.\"\n}}"
        )
    });
    rules.collect()
}

/// Rules that ask each thing of each list by itself.
pub fn dense() -> Vec<String> {
    let mut asked = Vec::new();
    for (list, of) in THINGS[0].lists {
        of_list("", list, of, &mut asked);
        for (inner, of) in thing(of).lists {
            of_list(
                &format!("  each a in {list}\n"),
                &format!("a.{inner}"),
                of,
                &mut asked,
            );
        }
    }
    let drain = "  each a in drains\n";
    let pairs = "  each a in drains\n  each b in drains\n";
    let wells = "  each a in drains\n  each b in wells\n";
    let tanks = "  each a in tanks\n";
    for (head, survey, kind) in [
        (drain, "least_fall(a)", Slope),
        (drain, "overall_fall(a)", Slope),
        (drain, "greatest_fall(a)", Slope),
        (drain, "least_cover(a)", Length),
        (drain, "greatest_cover(a)", Length),
        (pairs, "horizontal_clearance(a, b)", Length),
        (wells, "horizontal_clearance(a, b)", Length),
        (pairs, "true_clearance(a, b)", Length),
        (wells, "true_clearance(a, b)", Length),
        (pairs, "crossing_clearance(a, b)", Length),
        (drain, "plan_length(a)", Length),
        (drain, "slope_length(a)", Length),
        (drain, "total_bend(a)", Angle),
        (tanks, "pump_head(a, a.inflow)", Length),
    ] {
        for limit in limits(kind) {
            for comparator in ["is at least", "is at most"] {
                asked.push((head.to_owned(), format!("{survey} {comparator} {limit}")));
            }
        }
    }
    asked.push((pairs.to_owned(), "crosses(a, b)".to_owned()));
    asked.push((pairs.to_owned(), "not crosses(a, b)".to_owned()));
    let rules = asked.iter().enumerate();
    rules
        .map(|(at, (head, condition))| asking(&format!("dense{at}"), head, condition))
        .collect()
}

/// A rule that asks one thing.
pub fn asking(name: &str, head: &str, condition: &str) -> String {
    format!(
        "rule {name} {{\n  title \"{name}\"\n{head}  shall {condition}\n  cite norm \"8\"\n  hold late\n  remedy \"Mend it.\"\n}}"
    )
}

/// The first limits of a type that readings may meet.
fn limits(kind: Kind) -> impl Iterator<Item = String> {
    let unit = kind.units()[0].name;
    let first = kind.pool().iter().take(3);
    first.map(move |(numerator, denominator)| constant(Ratio::new(*numerator, *denominator), unit))
}

fn of_list(head: &str, list: &str, of: &str, asked: &mut Vec<(String, String)>) {
    let mut ask = |condition: String| asked.push((head.to_owned(), condition));
    for number in 0..3 {
        ask(format!("(count of x in {list}) is at most {number}"));
        ask(format!("(count of x in {list}) is at least {number}"));
    }
    for fact in thing(of).facts {
        let name = fact.name;
        if fact.kind == YesNo {
            ask(format!("every x in {list} has x.{name}"));
            ask(format!("some x in {list} has not x.{name}"));
            ask(format!(
                "(count of x in {list} where x.{name}) is at most 1"
            ));
        }
        if fact.kind == Date || fact.kind.units().is_empty() || matches!(fact.kind, Elevation) {
            continue;
        }
        for limit in limits(fact.kind).take(2) {
            for comparator in ["is at least", "is at most"] {
                for quantifier in ["every", "some"] {
                    ask(format!(
                        "{quantifier} x in {list} has x.{name} {comparator} {limit}"
                    ));
                }
                for fold in ["least", "greatest", "total"] {
                    // The total of points is none.
                    if fold != "total" || fact.kind != Temperature {
                        ask(format!(
                            "(({fold} of x.{name} for x in {list})) {comparator} {limit}"
                        ));
                    }
                }
            }
        }
    }
}

/// The kinds of permit that a topic may go by.
pub fn permit(choices: &mut Choices) -> &'static str {
    PERMITS[choices.below(PERMITS.len())]
}
