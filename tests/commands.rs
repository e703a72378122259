//! Commands as transcripts: what is typed, what comes back, the status. The README's among them.

#[test]
fn commands_answer_as_their_transcripts_say() {
    let cases = trycmd::TestCases::new();
    // The digest changes with every word of the library; its form is what is promised.
    cases
        .insert_var("[RULESET]", regex_of("ruleset [0-9a-f]{12}"))
        .expect("a variable");
    cases.case("tests/commands/*.trycmd");
}

fn regex_of(pattern: &str) -> regex::Regex {
    regex::Regex::new(pattern).expect("a pattern")
}
