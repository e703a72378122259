//! The plain predicates in JSON Schema, by `jsonschema`: it compares with fixed values, and computes
//! nothing. Two schemas a predicate, since a schema has two answers: that it is met, and that it
//! does not fall short.

use jsonschema::Validator;
use serde_json::Value;

use crate::answer::{Answer, Answers, PLAIN, PREDICATES};
use crate::peer::Peer;

/// The schemas, compiled.
pub struct Schema {
    predicates: Vec<Pair>,
}

struct Pair {
    met: Validator,
    not_short: Validator,
}

impl Default for Schema {
    fn default() -> Self {
        let text = include_str!("../rules/predicates.schema.json");
        let schemas: Value = serde_json::from_str(text).expect("the schemas are JSON");
        let compiled = |name: &str, which: &str| {
            jsonschema::validator_for(&schemas[name][which]).expect("the schema compiles")
        };
        let names = PREDICATES[..PLAIN].iter();
        let names = names.map(|name| name.trim_start_matches("plain."));
        let predicates = names.map(|name| Pair {
            met: compiled(name, "met"),
            not_short: compiled(name, "not_short"),
        });
        Schema {
            predicates: predicates.collect(),
        }
    }
}

impl Peer for Schema {
    type Input = Value;

    fn name(&self) -> &'static str {
        "jsonschema"
    }

    fn read(&self, line: &str) -> Option<Value> {
        serde_json::from_str(line).ok()
    }

    fn answers(&mut self, input: &Value) -> Answers {
        let mut answers = [Answer::Met; PREDICATES.len()];
        for (answer, pair) in answers.iter_mut().zip(&self.predicates) {
            // Most predicates are met, so that this is asked first.
            if pair.met.is_valid(input) {
                continue;
            }
            *answer = match pair.not_short.is_valid(input) {
                true => Answer::Undecided,
                false => Answer::Short,
            };
        }
        answers
    }
}
