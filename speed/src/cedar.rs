//! The predicates as policies, by `cedar-policy`.
//!
//! Cedar looks into no list, so that each thing of a record is a request of its own, with the facts
//! in its context, and is held only against the policies for its kind of thing. Laying the record
//! out in requests is done before the clock starts; so is what is said of a list that isn't there.

use std::collections::HashMap;
use std::str::FromStr;

use cedar_policy::{
    Authorizer, Context, Entities, EntityUid, PolicyId, PolicySet, Request, RestrictedExpression,
};
use serde_json::{Map, Value};

use crate::answer::{Answer, Answers, PREDICATES};
use crate::peer::Peer;

/// The kinds of things, and their policies.
const KINDS: [(&str, &str); 10] = [
    ("site", include_str!("../rules/cedar/site.cedar")),
    ("cable", include_str!("../rules/cedar/cable.cedar")),
    ("span", include_str!("../rules/cedar/span.cedar")),
    ("sewer", include_str!("../rules/cedar/sewer.cedar")),
    ("shot", include_str!("../rules/cedar/shot.cedar")),
    ("lateral", include_str!("../rules/cedar/lateral.cedar")),
    ("test", include_str!("../rules/cedar/test.cedar")),
    ("station", include_str!("../rules/cedar/station.cedar")),
    ("opening", include_str!("../rules/cedar/opening.cedar")),
    ("hole", include_str!("../rules/cedar/hole.cedar")),
];

/// The policies, by the kind of thing.
pub struct Cedar {
    authorizer: Authorizer,
    entities: Entities,
    kinds: Vec<Kind>,
    anybody: EntityUid,
}

struct Kind {
    policies: PolicySet,
    /// The predicate of each policy, and what is so where it permits.
    meaning: HashMap<PolicyId, (usize, Answer)>,
    /// The predicates of which a thing has to be shown to meet them.
    asked: Vec<usize>,
}

/// A record as requests, each with its kind.
pub struct Requests {
    requests: Vec<(usize, Request)>,
    /// What is so before any of them: undecided where a list isn't there.
    from_lists: Answers,
}

impl Default for Cedar {
    fn default() -> Self {
        Cedar {
            authorizer: Authorizer::new(),
            entities: Entities::empty(),
            kinds: KINDS.iter().map(|(_, text)| kind(text)).collect(),
            anybody: EntityUid::from_str(r#"Anybody::"anybody""#).expect("it is an identifier"),
        }
    }
}

fn kind(text: &str) -> Kind {
    let policies = PolicySet::from_str(text).expect("the policies parse");
    let meaning: HashMap<_, _> = policies
        .policies()
        .map(|policy| {
            let id = policy.annotation("id").expect("each policy has its name");
            let (name, which) = id.split_once('.').expect("a name and what is so");
            let answer = match which {
                "met" => Answer::Met,
                _ => Answer::Short,
            };
            (policy.id().clone(), (place(name), answer))
        })
        .collect();
    let asked = meaning
        .values()
        .filter(|(_, answer)| *answer == Answer::Met);
    Kind {
        asked: asked.map(|(place, _)| *place).collect(),
        meaning,
        policies,
    }
}

fn place(name: &str) -> usize {
    let known = |full: &&str| full.rsplit('.').next() == Some(name);
    PREDICATES
        .iter()
        .position(known)
        .expect("a predicate of the list")
}

impl Peer for Cedar {
    type Input = Requests;

    fn name(&self) -> &'static str {
        "cedar-policy"
    }

    fn read(&self, line: &str) -> Option<Requests> {
        let record: Value = serde_json::from_str(line).ok()?;
        Some(self.requests(&record))
    }

    fn answers(&mut self, input: &Requests) -> Answers {
        let mut answers = input.from_lists;
        for (kind, request) in &input.requests {
            let kind = &self.kinds[*kind];
            let response = self
                .authorizer
                .is_authorized(request, &kind.policies, &self.entities);
            let mut thing = [Answer::Met; PREDICATES.len()];
            for place in &kind.asked {
                thing[*place] = Answer::Undecided;
            }
            for policy in response.diagnostics().reason() {
                let (place, answer) = kind.meaning[policy];
                thing[place] = answer;
            }
            for (answer, thing) in answers.iter_mut().zip(thing) {
                *answer = answer.and(thing);
            }
        }
        answers
    }
}

impl Cedar {
    fn requests(&self, record: &Value) -> Requests {
        let mut requests = Requests {
            requests: Vec::new(),
            from_lists: [Answer::Met; PREDICATES.len()],
        };
        let site = record["site"].as_object().cloned().unwrap_or_default();
        let bedrooms = site.get("bedrooms").cloned();
        self.ask(&mut requests, "site", &site);
        self.each(
            &mut requests,
            record,
            "supply_cables",
            "cable",
            |cable, into| {
                self.each(into, cable, "spans", "span", |_, _| ());
            },
        );
        self.each(
            &mut requests,
            record,
            "building_sewers",
            "sewer",
            |sewer, into| {
                self.each(into, sewer, "shots", "shot", |_, _| ());
            },
        );
        self.each(
            &mut requests,
            record,
            "laterals",
            "lateral",
            |lateral, into| {
                self.each(into, lateral, "pressure_tests", "test", |_, _| ());
            },
        );
        for station in things(record, "stations") {
            let mut station = station.as_object().cloned().unwrap_or_default();
            if let Some(bedrooms) = &bedrooms {
                station.insert("bedrooms".to_owned(), bedrooms.clone());
            }
            self.ask(&mut requests, "station", &station);
        }
        for vent in things(record, "vents") {
            self.each(&mut requests, vent, "openings", "opening", |_, _| ());
        }
        self.each(&mut requests, record, "excavations", "hole", |_, _| ());
        for (list, kinds) in LISTS {
            if record.get(list).is_none() {
                self.undecided(&mut requests, kinds);
            }
        }
        requests
    }

    fn each(
        &self,
        requests: &mut Requests,
        of: &Value,
        list: &str,
        kind: &str,
        within: impl Fn(&Value, &mut Requests),
    ) {
        for thing in things(of, list) {
            if let Some(facts) = thing.as_object() {
                self.ask(requests, kind, facts);
            }
            within(thing, requests);
        }
    }

    fn ask(&self, requests: &mut Requests, kind: &str, facts: &Map<String, Value>) {
        let facts = facts.iter().filter_map(|(key, value)| {
            let value = match value {
                Value::Bool(is) => RestrictedExpression::new_bool(*is),
                Value::Number(number) => RestrictedExpression::new_long(number.as_i64()?),
                Value::String(text) => RestrictedExpression::new_string(text.clone()),
                Value::Null | Value::Array(_) | Value::Object(_) => return None,
            };
            Some((key.clone(), value))
        });
        let context = Context::from_pairs(facts).expect("no fact is there twice");
        let who = || self.anybody.clone();
        let request = Request::new(who(), who(), who(), context, None);
        let kind = KINDS.iter().position(|(name, _)| *name == kind);
        let kind = kind.expect("a kind of the list");
        requests
            .requests
            .push((kind, request.expect("there is no schema to break")));
    }

    fn undecided(&self, requests: &mut Requests, kinds: &[&str]) {
        for (kind, (name, _)) in self.kinds.iter().zip(KINDS) {
            if kinds.contains(&name) {
                for place in &kind.asked {
                    requests.from_lists[*place] = Answer::Undecided;
                }
            }
        }
    }
}

/// The lists of a record, and the kinds of things that are in them at any depth.
const LISTS: [(&str, &[&str]); 6] = [
    ("supply_cables", &["cable", "span"]),
    ("building_sewers", &["sewer", "shot"]),
    ("laterals", &["lateral", "test"]),
    ("stations", &["station"]),
    ("vents", &["opening"]),
    ("excavations", &["hole"]),
];

fn things<'v>(of: &'v Value, list: &str) -> impl Iterator<Item = &'v Value> {
    of.get(list).and_then(Value::as_array).into_iter().flatten()
}
