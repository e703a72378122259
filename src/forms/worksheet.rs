//! The rules in force in, what has to be read or seen on the lot out: by hold point and person,
//! with the limit, the clause, and what it costs to miss it.

use std::collections::{BTreeMap, BTreeSet};

use schemars::JsonSchema;
use serde::Serialize;

use super::reads::{self, Read, Within};
use super::requirement::{Words, spaced};
use super::rules::clauses;
use crate::check::typed::{self, ExpressionKind, Library, PlaceId};
use crate::finding::{Clause, Obligation, STANDING};
use crate::judge::{caution, obligation};
use crate::layers::{InForce, RuleInForce, date_choice};
use crate::quantity::date;
use crate::record::facts::{Record, State, THE_SITE};
use crate::source::Sources;
use crate::survey::{Member, Survey};
use crate::vocabulary::{Fact, FactId, Form, HoldId, ListId, PersonId, SITE, ThingId, Vocabulary};

/// What a lot has to be read for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Worksheet {
    /// The places whose rules are in force.
    pub places: Vec<String>,
    /// The lot, where a record is filled in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// By which date each kind of permit selects its rules.
    pub permits: Vec<PermitOn>,
    /// By hold point, in the order of the work.
    pub holds: Vec<HoldSheet>,
    /// That this screens and does not approve.
    pub standing: String,
}

/// A kind of permit, its date and who answers for it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct PermitOn {
    /// The kind; none for precautions, which go by the day of the record.
    pub permit: Option<String>,
    /// The date.
    pub on: String,
    /// Which of the permit's dates that is: `issued`, `applied`, `plan_approved`.
    pub which: Option<String>,
    /// Whom to verify it with.
    pub caution: String,
}

/// What is to be read at one hold point.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct HoldSheet {
    /// Its name.
    pub hold: String,
    /// What it is.
    pub title: String,
    /// By person.
    pub people: Vec<PersonSheet>,
    /// What to put to the authority.
    pub questions: Vec<Question>,
    /// The cautions of the hazards that its rules name.
    pub cautions: Vec<String>,
}

/// What one person reads at a hold point.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PersonSheet {
    /// Who, as the vocabulary names them; none where it names nobody.
    pub person: Option<String>,
    /// What they are called.
    pub title: Option<String>,
    /// What is computed from what they read: falls, covers, clearances.
    pub computed: Vec<Computed>,
    /// What they read.
    pub readings: Vec<Asking>,
}

/// A value that is computed from several readings, and what a rule asks of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Computed {
    /// Of what, in words: `building sewer, well`.
    pub of: String,
    /// What is asked of it.
    pub ask: Ask,
    /// What it is computed from, in any of the ways that there are.
    pub from: Vec<String>,
}

/// A fact that rules ask for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Asking {
    /// Where it stands in a record: `supply_cables.spans.cover`.
    pub path: String,
    /// Of what, in words.
    pub thing: String,
    /// Its name, in words.
    pub fact: String,
    /// What it means.
    pub meaning: String,
    /// How it is had.
    pub by: Option<String>,
    /// The labels it may have; empty where it is no choice.
    pub choices: Vec<String>,
    /// What the rules ask of it.
    pub asks: Vec<Ask>,
    /// The other rules that read it: what they compute, or whether and how they apply.
    pub serves: Vec<String>,
    /// The last hold point at which it can be seen; none where it always can.
    pub until: Option<String>,
    /// What it costs to miss it.
    pub missed: String,
    /// What is recorded already, by thing.
    pub recorded: Vec<Recorded>,
}

/// What one rule asks of a fact.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Ask {
    /// The rule.
    pub rule: String,
    /// How it asks.
    pub obligation: Obligation,
    /// What it asks, with the limits in force.
    pub words: String,
    /// Under which conditions.
    pub when: Vec<String>,
    /// Its clauses, the local ones first.
    pub clauses: Vec<Clause>,
}

/// A question for the authority.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Question {
    /// The rule.
    pub rule: String,
    /// What to ask.
    pub question: String,
    /// Its clauses.
    pub clauses: Vec<Clause>,
}

/// A value of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Recorded {
    /// The thing: `supply_cables[0].spans[1]`, or its id.
    pub of: String,
    /// The values as written; empty where none is.
    pub values: Vec<String>,
}

/// Everything that the rules in force ask for, as it would stand in a record.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    facts: BTreeMap<(Within, FactId), Vec<AskedBy>>,
    lists: BTreeSet<(ThingId, ListId)>,
}

/// A rule that asks for a fact, by its place in [`InForce::rules`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct AskedBy {
    rule: usize,
}

/// A list path and the facts asked of its things.
#[derive(Debug, Clone)]
pub(super) struct Template {
    pub thing: ThingId,
    pub facts: Vec<FactId>,
    pub lists: Vec<(ListId, Template)>,
}

/// How deep lists of things may lie in each other.
const MOST_DEEP: usize = 8;

/// What has to be read, under the rules in force; with what a record has already.
pub fn worksheet(
    library: &Library,
    survey: &Survey,
    in_force: &InForce,
    asked: &Asked,
    places: &[PlaceId],
    recorded: Option<(&Record, &Sources)>,
) -> Worksheet {
    let sheet = Sheet {
        library,
        in_force,
        recorded,
        asked,
    };
    let names = places.iter();
    Worksheet {
        places: names
            .map(|place| library.places[place.index()].path.clone())
            .collect(),
        lot: recorded.map(|(record, _)| record.head.lot.value.clone()),
        permits: permits(library, in_force),
        holds: sheet.holds(survey),
        standing: STANDING.to_owned(),
    }
}

/// The kinds of permit and their dates.
fn permits(library: &Library, in_force: &InForce) -> Vec<PermitOn> {
    let found: BTreeSet<PermitOn> = in_force
        .rules
        .iter()
        .map(|rule| {
            let topic = &library.topics[rule.topic.index()];
            let written = &library.rules[rule.rule.index()];
            let permit = topic.permit.filter(|_| !written.obligation.is_precaution());
            PermitOn {
                permit: permit.map(|permit| {
                    library.vocabulary.permits[usize::from(permit.0)]
                        .name
                        .clone()
                }),
                on: date::show(rule.on),
                which: permit
                    .map(|permit| date_choice(library, &rule.way, permit).name().to_owned()),
                caution: caution(library, &rule.way, permit),
            }
        })
        .collect();
    found.into_iter().collect()
}

impl Asked {
    /// Of all rules in force.
    pub fn of(library: &Library, survey: &Survey, in_force: &InForce) -> Asked {
        let mut asked = Asked::default();
        for (at, rule) in in_force.rules.iter().enumerate() {
            let by = AskedBy { rule: at };
            let written = &library.rules[rule.rule.index()];
            for read in reads::of_rule(library, written) {
                match read {
                    Read::Fact(of, fact) => asked.fact(of, fact, by),
                    Read::List(owner, list) => asked.list(&library.vocabulary, owner, list, by),
                    Read::Survey(at, of) => {
                        for held in surveyed(library, survey, at, &of) {
                            match held {
                                Held::Fact(of, fact) => asked.fact(of, fact, by),
                                Held::List(owner, list) => {
                                    asked.list(&library.vocabulary, owner, list, by);
                                }
                            }
                        }
                    }
                }
            }
        }
        asked
    }

    fn fact(&mut self, of: Within, fact: FactId, by: AskedBy) {
        let known = self.facts.entry((of, fact)).or_default();
        if known.last() != Some(&by) {
            known.push(by);
        }
    }

    /// A list, and where its things lie along their run: without that, a list of stretches is open.
    fn list(&mut self, vocabulary: &Vocabulary, owner: ThingId, list: ListId, by: AskedBy) {
        self.lists.insert((owner, list));
        let thing = vocabulary.thing(owner).list(list).of;
        let chainages = match vocabulary.thing(thing).form {
            Form::Plain => 0,
            Form::Run { .. } | Form::Point => 1,
            Form::Stretch => 2,
        };
        // They stand in its first slots.
        for fact in vocabulary.thing(thing).fact_ids().take(chainages) {
            self.fact(Within { owner, thing }, fact, by);
        }
    }

    /// What a record of it looks like, from the lot inwards.
    pub(super) fn template(&self, vocabulary: &Vocabulary) -> Template {
        self.inner(vocabulary, Within::THE_SITE, 0)
    }

    fn inner(&self, vocabulary: &Vocabulary, of: Within, depth: usize) -> Template {
        let thing = vocabulary.thing(of.thing);
        let facts = thing
            .fact_ids()
            .filter(|fact| self.facts.contains_key(&(of, *fact)));
        let lists = thing
            .list_ids()
            .filter(|list| depth < MOST_DEEP && self.lists.contains(&(of.thing, *list)));
        Template {
            thing: of.thing,
            facts: facts.collect(),
            lists: lists
                .map(|list| {
                    let inner = Within {
                        owner: of.thing,
                        thing: thing.list(list).of,
                    };
                    (list, self.inner(vocabulary, inner, depth + 1))
                })
                .collect(),
        }
    }
}

enum Held {
    Fact(Within, FactId),
    List(ThingId, ListId),
}

fn surveyed(library: &Library, survey: &Survey, at: usize, of: &[Within]) -> Vec<Held> {
    let Some(function) = survey.function(&library.vocabulary.surveys[at].name) else {
        return Vec::new();
    };
    let things: Vec<ThingId> = of.iter().map(|within| within.thing).collect();
    let members = survey.reads(&library.vocabulary, function, &things);
    members
        .into_iter()
        .map(|member| match member {
            Member::Fact { owner, thing, fact } => {
                let itself = of.iter().find(|within| within.thing == thing);
                let within = match (owner, itself) {
                    (Some(owner), _) => Within { owner, thing },
                    (None, Some(itself)) => *itself,
                    (None, None) => Within { owner: SITE, thing },
                };
                Held::Fact(within, fact)
            }
            Member::List(owner, list) => Held::List(owner, list),
        })
        .collect()
}

/// What each person computes from, and reads.
type ByPerson = BTreeMap<Option<PersonId>, (Vec<Computed>, Vec<Asking>)>;

struct Sheet<'a> {
    library: &'a Library,
    in_force: &'a InForce,
    recorded: Option<(&'a Record, &'a Sources)>,
    asked: &'a Asked,
}

/// A fact at its place in a record, and the rules that ask for it.
struct Line<'a> {
    path: String,
    /// The list in which its thing stands; none for the lot.
    list: Option<ListId>,
    of: Within,
    fact: FactId,
    by: &'a [AskedBy],
}

impl<'a> Sheet<'a> {
    fn holds(&self, survey: &Survey) -> Vec<HoldSheet> {
        let template = self.asked.template(&self.library.vocabulary);
        let mut lines = Vec::new();
        self.lines(&template, Within::THE_SITE, None, "site", &mut lines);
        let mut by_hold: BTreeMap<HoldId, ByPerson> = BTreeMap::new();
        for (hold, person, computed) in self.computed(survey, &lines) {
            let people = by_hold.entry(hold).or_default();
            people.entry(person).or_default().0.push(computed);
        }
        for line in &lines {
            let fact = self.library.vocabulary.thing(line.of.thing).fact(line.fact);
            let people = by_hold.entry(self.hold(line, fact)).or_default();
            let readings = &mut people.entry(fact.person).or_default().1;
            readings.push(self.asking(line, fact));
        }
        let vocabulary = &self.library.vocabulary;
        let all = (0..vocabulary.holds.len()).filter_map(|at| u16::try_from(at).ok());
        all.map(HoldId)
            .map(|hold| self.hold_sheet(hold, by_hold.remove(&hold).unwrap_or_default()))
            .filter(|sheet| !sheet.people.is_empty() || !sheet.questions.is_empty())
            .collect()
    }

    fn lines(
        &self,
        template: &Template,
        of: Within,
        list: Option<ListId>,
        path: &str,
        lines: &mut Vec<Line<'a>>,
    ) {
        for fact in &template.facts {
            if let Some(by) = self.asked.facts.get(&(of, *fact)) {
                lines.push(Line {
                    path: path.to_owned(),
                    list,
                    of,
                    fact: *fact,
                    by,
                });
            }
        }
        let thing = self.library.vocabulary.thing(of.thing);
        for (list, inner) in &template.lists {
            let name = &thing.list(*list).name;
            let path = match of.thing {
                SITE => name.clone(),
                _ => format!("{path}.{name}"),
            };
            let within = Within {
                owner: of.thing,
                thing: inner.thing,
            };
            self.lines(inner, within, Some(*list), &path, lines);
        }
    }

    /// The earliest hold point of the rules that ask, while it can still be seen.
    fn hold(&self, line: &Line<'_>, fact: &Fact) -> HoldId {
        let of_rules = line.by.iter().map(|by| self.written(*by).hold);
        of_rules
            .chain(fact.until)
            .min()
            .expect("some rule asks for every line")
    }

    fn rule(&self, by: AskedBy) -> &'a RuleInForce {
        &self.in_force.rules[by.rule]
    }

    fn written(&self, by: AskedBy) -> &'a crate::check::typed::Rule {
        &self.library.rules[self.rule(by).rule.index()]
    }

    /// The rules that ask something of what a survey function gives.
    fn computed(
        &self,
        survey: &Survey,
        lines: &[Line<'_>],
    ) -> Vec<(HoldId, Option<PersonId>, Computed)> {
        let mut found = Vec::new();
        for (at, rule) in self.in_force.rules.iter().enumerate() {
            let by = AskedBy { rule: at };
            let mut members: Vec<(Within, FactId)> = Vec::new();
            let ask = self.ask(by, |read| match read {
                Read::Survey(at, of) => {
                    members.extend(
                        surveyed(self.library, survey, *at, of)
                            .into_iter()
                            .filter_map(|held| match held {
                                Held::Fact(of, fact) => Some((of, fact)),
                                Held::List(..) => None,
                            }),
                    );
                    true
                }
                Read::Fact(..) | Read::List(..) => false,
            });
            let Some(ask) = ask.filter(|_| !members.is_empty()) else {
                continue;
            };
            let read = lines
                .iter()
                .filter(|line| members.contains(&(line.of, line.fact)));
            let mut from: Vec<String> = Vec::new();
            let mut person = None;
            for line in read {
                let fact = self.library.vocabulary.thing(line.of.thing).fact(line.fact);
                // Who reads most of it is who stands last: the lot's own lists come after its runs.
                person = fact.person.or(person);
                from.push(format!("{}.{}", line.path, fact.name));
            }
            let of = reads::head_locals(self.library, self.written(by)).into_iter();
            let of: Vec<String> = of
                .map(|within| spaced(&self.library.vocabulary.thing(within.thing).name))
                .collect();
            let hold = self.library.rules[rule.rule.index()].hold;
            let of = of.join(", ");
            found.push((hold, person, Computed { of, ask, from }));
        }
        found
    }

    fn hold_sheet(&self, hold: HoldId, people: ByPerson) -> HoldSheet {
        let vocabulary = &self.library.vocabulary;
        let named = &vocabulary.holds[usize::from(hold.0)];
        let people = people.into_iter().map(|(person, (computed, readings))| {
            let person = person.map(|person| &vocabulary.people[usize::from(person.0)]);
            PersonSheet {
                person: person.map(|person| person.name.clone()),
                title: person.map(|person| person.text.clone()),
                computed,
                readings,
            }
        });
        HoldSheet {
            hold: named.name.clone(),
            title: named.text.clone(),
            people: people.collect(),
            questions: self.questions(hold),
            cautions: self.cautions(hold),
        }
    }

    fn of_hold(&self, hold: HoldId) -> impl Iterator<Item = &'a RuleInForce> {
        let rules = self.in_force.rules.iter();
        rules.filter(move |rule| self.library.rules[rule.rule.index()].hold == hold)
    }

    fn questions(&self, hold: HoldId) -> Vec<Question> {
        self.of_hold(hold)
            .filter_map(|rule| {
                let written = &self.library.rules[rule.rule.index()];
                let typed::Obligation::Refer(question) = &written.obligation else {
                    return None;
                };
                Some(Question {
                    rule: written.id.clone(),
                    question: question.clone(),
                    clauses: clauses(self.library, rule),
                })
            })
            .collect()
    }

    fn cautions(&self, hold: HoldId) -> Vec<String> {
        let mut cautions = Vec::new();
        for rule in self.of_hold(hold) {
            if let Some(hazard) = self.library.rules[rule.rule.index()].hazard {
                let caution = &self.library.vocabulary.hazards[usize::from(hazard.0)].text;
                if !cautions.contains(caution) {
                    cautions.push(caution.clone());
                }
            }
        }
        cautions
    }

    fn asking(&self, line: &Line<'_>, fact: &Fact) -> Asking {
        let vocabulary = &self.library.vocabulary;
        let thing = vocabulary.thing(line.of.thing);
        let this = Read::Fact(line.of, line.fact);
        let (mut asks, mut serves) = (Vec::new(), Vec::new());
        for by in line.by {
            match self.ask(*by, |read| *read == this) {
                Some(ask) => asks.push(ask),
                None => serves.push(self.written(*by).id.clone()),
            }
        }
        let hold_name = |hold: HoldId| vocabulary.holds[usize::from(hold.0)].name.clone();
        let is_last = |hold: &HoldId| usize::from(hold.0) + 1 >= vocabulary.holds.len();
        let until = fact.until.filter(|hold| !is_last(hold));
        let choices = match fact.kind {
            crate::vocabulary::Type::Label(scale) => {
                let labels = vocabulary.scale(scale).places.iter();
                labels.map(|labels| labels[0].clone()).collect()
            }
            _ => Vec::new(),
        };
        Asking {
            path: format!("{}.{}", line.path, fact.name),
            thing: spaced(&thing.name),
            fact: spaced(&fact.name),
            meaning: fact.meaning.clone(),
            by: fact.by.clone(),
            choices,
            asks,
            serves,
            until: until.map(hold_name),
            missed: missed(until.is_some(), fact.then.as_deref()),
            recorded: self.recorded(line),
        }
    }

    /// What a rule asks of something that it reads; none where that only serves its head, or what
    /// it asks of something else.
    fn ask(&self, by: AskedBy, mut is_about: impl FnMut(&Read) -> bool) -> Option<Ask> {
        let (rule, written) = (self.rule(by), self.written(by));
        let words = Words::new(self.library, rule);
        let said = match &written.obligation {
            typed::Obligation::Record(target) => {
                let locals = reads::head_locals(self.library, written);
                let read = reads::of_target(self.library, *target, &locals);
                is_about(&read).then(|| "recorded".to_owned())
            }
            typed::Obligation::Refer(_) => None,
            typed::Obligation::Shall(condition)
            | typed::Obligation::Should(condition)
            | typed::Obligation::Precaution(condition) => {
                let parts = match &condition.kind {
                    ExpressionKind::And(parts) => parts.as_slice(),
                    _ => std::slice::from_ref(condition),
                };
                let locals = reads::head_locals(self.library, written);
                let mut about = Vec::new();
                for part in parts {
                    let reads = reads::of_expression(self.library, part, &locals);
                    let mut is_of_it = false;
                    for read in &reads {
                        is_of_it |= is_about(read);
                    }
                    if is_of_it {
                        about.push(words.truth(part));
                    }
                }
                (!about.is_empty()).then(|| about.join(" and "))
            }
        };
        Some(Ask {
            rule: written.id.clone(),
            obligation: obligation(&written.obligation),
            words: said?,
            when: words.when(),
            clauses: clauses(self.library, rule),
        })
    }

    /// The values of a record, a line each thing that has the fact.
    fn recorded(&self, line: &Line<'_>) -> Vec<Recorded> {
        let Some((record, texts)) = self.recorded else {
            return Vec::new();
        };
        let things = record.all_things().filter(|thing| {
            let known = record.thing(*thing);
            match line.list {
                None => *thing == THE_SITE,
                Some(list) => {
                    *thing != THE_SITE
                        && known.list == list
                        && record.thing(known.parent).kind == line.of.owner
                }
            }
        });
        things
            .map(|thing| {
                let known = record.thing(thing);
                let slot = record.slot(thing, line.fact);
                Recorded {
                    of: match known.id {
                        Some(id) => record.text(id).to_owned(),
                        None => record.path(&self.library.vocabulary, thing),
                    },
                    values: match slot.state {
                        State::Absent => Vec::new(),
                        State::Read | State::NotRead | State::Disagree => slot
                            .readings
                            .iter()
                            .map(|reading| texts.unquoted(reading.span).to_owned())
                            .collect(),
                    },
                }
            })
            .collect()
    }
}

/// What it costs to miss a fact.
fn missed(passes: bool, then: Option<&str>) -> String {
    match (passes, then) {
        (false, _) => "nothing: it can be read later".to_owned(),
        (true, Some(then)) => then.to_owned(),
        (true, None) => "it can't be had again".to_owned(),
    }
}
