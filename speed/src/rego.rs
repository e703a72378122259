//! The predicates in Rego, by `regorus`: compiled once for its register machine, which is quicker than
//! its interpreter. The machine tries no `else` after a body that walks a list, so that the bodies
//! are rules of their own.

use std::sync::Arc;

use regorus::languages::rego::compiler::Compiler;
use regorus::rvm::vm::RegoVM;
use regorus::{Engine, Value};

use crate::answer::{Answer, Answers};
use crate::peer::Peer;

/// The rule that holds all answers.
const ANSWERS: &str = "data.speed.answers";

/// The machine with its program.
pub struct Rego {
    machine: RegoVM,
}

impl Default for Rego {
    fn default() -> Self {
        let mut engine = Engine::new();
        let policy = include_str!("../rules/predicates.rego");
        let added = engine.add_policy("predicates.rego".to_owned(), policy.to_owned());
        added.expect("the policy parses");
        let compiled = engine.compile_with_entrypoint(&Arc::from(ANSWERS));
        let compiled = compiled.expect("the policy compiles");
        let program = Compiler::compile_from_policy(&compiled, &[ANSWERS]);
        let mut machine = RegoVM::new();
        machine.load_program(program.expect("the machine's program compiles"));
        Rego { machine }
    }
}

impl Peer for Rego {
    type Input = Value;

    fn name(&self) -> &'static str {
        "regorus"
    }

    fn read(&self, line: &str) -> Option<Value> {
        Value::from_json_str(line).ok()
    }

    fn answers(&mut self, input: &Value) -> Answers {
        self.machine.set_input(input.clone());
        let answers = self.machine.execute().expect("the policy runs");
        let answers = answers.as_array().expect("the answers are a list");
        std::array::from_fn(|place| {
            let number = answers[place].as_i64().expect("an answer is a number");
            Answer::from_number(number).expect("an answer is one of three")
        })
    }
}
