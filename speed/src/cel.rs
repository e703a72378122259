//! The predicates in the Common Expression Language, by `cel`: one expression for all.

use std::collections::HashMap;
use std::sync::Arc;

use cel::common::value::{CowVal, Val};
use cel::context::VariableResolver;
use cel::objects::{Key, Map};
use cel::{Context, Program, Value};

use crate::answer::{Answer, Answers};
use crate::peer::Peer;

/// The program with the functions it may call.
pub struct Cel {
    program: Program,
    context: Context<'static, 'static>,
}

impl Default for Cel {
    fn default() -> Self {
        let text = include_str!("../rules/predicates.cel");
        Cel {
            program: Program::compile(text).expect("the expression parses"),
            context: Context::default(),
        }
    }
}

/// A record under the one name that the expression knows.
pub struct Named(Box<dyn Val>);

impl VariableResolver for Named {
    fn resolve<'b>(&'b self, name: &str) -> Option<CowVal<'b, 'b>> {
        (name == "r").then_some(CowVal::Borrowed(self.0.as_ref()))
    }
}

impl Peer for Cel {
    type Input = Named;

    fn name(&self) -> &'static str {
        "cel"
    }

    fn read(&self, line: &str) -> Option<Named> {
        let read: serde_json::Value = serde_json::from_str(line).ok()?;
        value(&read).try_into().ok().map(Named)
    }

    fn answers(&mut self, input: &Named) -> Answers {
        let mut context = self.context.new_inner_scope();
        context.set_variable_resolver(input);
        let answers = self.program.execute(&context).expect("the expression runs");
        let Value::List(answers) = answers else {
            panic!("the answers are a list");
        };
        std::array::from_fn(|place| match answers[place] {
            Value::Int(number) => Answer::from_number(number).expect("one of three"),
            ref other => panic!("an answer is a number, not {other:?}"),
        })
    }
}

/// Whole numbers become signed ones, which the expression computes with.
fn value(json: &serde_json::Value) -> Value {
    match json {
        serde_json::Value::Null => Value::Null,
        serde_json::Value::Bool(is) => Value::Bool(*is),
        serde_json::Value::Number(number) => number.as_i64().map_or(Value::Null, Value::Int),
        serde_json::Value::String(text) => Value::String(Arc::new(text.clone())),
        serde_json::Value::Array(items) => Value::List(Arc::new(items.iter().map(value).collect())),
        serde_json::Value::Object(entries) => {
            let entries = entries.iter();
            let entries = entries.map(|(key, item)| (Key::from(key.as_str()), value(item)));
            let map: HashMap<Key, Value> = entries.collect();
            Value::Map(Map { map: Arc::new(map) })
        }
    }
}
