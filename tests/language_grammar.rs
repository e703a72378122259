//! The rule language reads what its reference says.

use groundrule::language::parse;
use groundrule::source::Sources;

/// The fenced blocks of the reference that stand for themselves.
fn examples() -> Vec<String> {
    let reference = include_str!("../docs/language.md");
    let mut examples = Vec::new();
    for (index, block) in reference.split("\n```").enumerate() {
        if index % 2 == 1
            && let Some(example) = block.strip_prefix('\n')
        {
            examples.push(example.to_string());
        }
    }
    examples
}

#[test]
fn every_example_of_the_reference_reads() {
    let examples = examples();
    assert!(
        !examples.is_empty(),
        "no example was found in the reference"
    );
    for example in examples {
        let mut sources = Sources::default();
        let id = sources.add("docs/language.md", example.as_str());
        if let Err(errors) = parse(&sources, id) {
            panic!("{example}\n{errors:#?}");
        }
    }
}

#[test]
fn the_reference_holds_the_grammar() {
    let reference = include_str!("../docs/language.md");
    let grammar = include_str!("../src/language/grammar.pest");
    let block = reference
        .split_once("```pest\n")
        .and_then(|(_, rest)| rest.split_once("```"))
        .map(|(block, _)| block);
    assert!(
        block == Some(grammar),
        "the block ```pest of docs/language.md is not src/language/grammar.pest: \
         replace what stands between its fences with the whole of that file"
    );
}
