//! The predicates as a script, by `rhai`.

use rhai::{AST, Array, Dynamic, Engine, Scope};

use crate::answer::{Answer, Answers};
use crate::peer::Peer;

/// The engine and its script.
pub struct Rhai {
    engine: Engine,
    script: AST,
    scope: Scope<'static>,
}

impl Default for Rhai {
    fn default() -> Self {
        let engine = Engine::new();
        let text = include_str!("../rules/predicates.rhai");
        let script = engine.compile(text).expect("the script parses");
        Rhai {
            engine,
            script,
            scope: Scope::new(),
        }
    }
}

impl Peer for Rhai {
    type Input = Dynamic;

    fn name(&self) -> &'static str {
        "rhai"
    }

    fn read(&self, line: &str) -> Option<Dynamic> {
        let read: Dynamic = serde_json::from_str(line).ok()?;
        Some(shared(read))
    }

    fn answers(&mut self, input: &Dynamic) -> Answers {
        self.scope.clear();
        self.scope.push_dynamic("record", input.clone());
        let answers = self
            .engine
            .eval_ast_with_scope::<Array>(&mut self.scope, &self.script)
            .expect("the script runs");
        std::array::from_fn(|place| {
            let number = answers[place].as_int().expect("an answer is a number");
            Answer::from_number(number).expect("an answer is one of three")
        })
    }
}

/// Maps and lists counted by reference: the language hands values on by copying them.
fn shared(value: Dynamic) -> Dynamic {
    if value.is_map() {
        let map = value.cast::<rhai::Map>().into_iter();
        let map: rhai::Map = map.map(|(key, item)| (key, shared(item))).collect();
        return Dynamic::from_map(map).into_shared();
    }
    if value.is_array() {
        let items = value.cast::<Array>().into_iter().map(shared);
        return Dynamic::from_array(items.collect()).into_shared();
    }
    value
}
