//! Commands as transcripts: what is typed, what comes back, the status.
//!
//! Digests change with every word of the library; the transcripts leave them open (`[..]`).

#[test]
fn commands_answer_as_their_transcripts_say() {
    trycmd::TestCases::new().case("tests/commands/*.trycmd");
}
