//! A small invented library for tests: texts in; mistakes, or a report, out.
//!
//! Only this file knows how a library is opened and a record judged.

#![allow(dead_code, reason = "each test file uses its own part of this")]

#[path = "../agreement/mod.rs"]
mod agreement;

use std::collections::BTreeMap;

use agreement::rulings_are_the_judgements;
use groundrule::finding::{Finding, Report, Verdict};
use groundrule::judge;
use groundrule::library::{self, Opened, Problem, Problems, Texts};
use groundrule::record::{self, Overrides};
use groundrule::report::mistakes;
use groundrule::source::Sources;

/// What can be recorded: cables in stretches, sewers, wells.
pub const VOCABULARY: &str = r#"
holds   { at_permit "Before work begins" before_cover "Before the trench is closed" hand_over "At hand-over" }
permits { plumbing "Plumbing permit" electrical "Electrical permit" }
hazards { shock "Have the power locked out." }

choice location "Where a stretch lies" { yard driveway rising }

size pipe_size "Nominal pipe size" {
  2 in or DN 50
  3 in
  4 in or DN 100
}

thing cable "A supply cable" run {
  insulated : length measured "where the insulation begins"  by "tape" until before_cover
  list spans of span "stretches that lie one way"
}

thing span "A stretch of a cable" stretch {
  cover    : length   measured "top of the cable to grade"   by "tape" until before_cover then "pothole" between 0 in and 20 ft
  location : location stated   "where it lies"                by "eye"  until before_cover
  warned   : yes_no   stated   "a ribbon lies above it"       by "eye"  until before_cover
}

thing sewer "A building sewer" {
  nominal : pipe_size stated   "its size"             by "print line" until hand_over
  fall    : slope     measured "its least fall"       by "level"      until before_cover
  inlet   : elevation measured "invert at the house"  by "level"      until before_cover
  outlet  : elevation measured "invert at the basin"  by "level"      until hand_over
  shift   : length    measured "how far it lies off its line"  by "tape"  until before_cover
}

thing well "A well" {
  depth : length measured "how deep"       by "sounding"   until hand_over
  owner : text   stated   "whose it is"    by "the deed"   until hand_over
}

extend site {
  frost   : length measured "how deep it freezes"   by "record"  until at_permit between 0 in and 10 ft
  people  : number stated   "how many live there"   by "asking"  until hand_over between 0 and 50
  sloping : yes_no stated   "the lot slopes"        by "eye"     until hand_over
}

list cables of cable "supply cables on this lot"
list sewers of sewer "building sewers on this lot"
list wells  of well  "wells nearby"
"#;

/// Where rules and statements come from.
pub const SOURCES: &str = r#"
source code {
  title     "Model Code (invented)"
  publisher "Model Board (invented)"
  edition   "2020"
  kind      published
}

source law {
  title     "Local Law (invented)"
  publisher "Places of this test (invented)"
  edition   "2020"
  kind      local
}

source practice {
  title     "Common practice"
  publisher "The trade"
  edition   "none"
  kind      practice
}
"#;

/// A library of the small vocabulary and sources and these files.
pub fn texts(files: &[(&str, &str)]) -> Texts {
    let mut texts = BTreeMap::from([
        (
            "shared/vocabulary/all.rules".to_owned(),
            VOCABULARY.to_owned(),
        ),
        ("shared/sources/all.rules".to_owned(), SOURCES.to_owned()),
    ]);
    for (name, text) in files {
        let name = format!("{name}.rules");
        let twice = texts.insert(name, (*text).to_owned());
        assert!(twice.is_none(), "two files of one name");
    }
    Texts(texts)
}

/// Opens a library that has no mistake.
pub fn opened(files: &[(&str, &str)]) -> Opened {
    library::open(&texts(files)).unwrap_or_else(|problems| panic!("{}", shown(problems)))
}

/// The mistakes of a library, as their author sees them.
pub fn mistakes_in(files: &[(&str, &str)]) -> String {
    shown(library::open(&texts(files)).expect_err("the library has a mistake"))
}

fn shown(Problems { sources, problems }: Problems) -> String {
    rendered(&sources, problems)
}

fn rendered(sources: &Sources, problems: Vec<Problem>) -> String {
    let text = mistakes::render(sources, problems, false, 80);
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    lines.join("\n").trim_end().to_owned()
}

/// Judges a record, and holds what floats say against it; the mistakes that kept it from being
/// judged otherwise.
pub fn judged(opened: &Opened, text: &str) -> Result<Report, String> {
    let mut sources = Sources::default();
    let id = sources.add("lot.yaml", text);
    let vocabulary = &opened.library.vocabulary;
    let read = record::read_with(vocabulary, &sources, id, &Overrides::default());
    let record = match read {
        Ok(record) => record,
        Err(errors) => {
            let problems = errors.into_iter().map(Problem::from).collect();
            return Err(rendered(&sources, problems));
        }
    };
    match judge::report(opened.setting(), record, &sources, id) {
        Ok(judged) => {
            rulings_are_the_judgements(opened, &judged);
            Ok(judged.report)
        }
        Err(errors) => {
            let problems = errors.into_iter().map(Problem::from).collect();
            Err(rendered(&sources, problems))
        }
    }
}

/// The findings of a report.
pub fn findings(report: &Report) -> &[Finding] {
    report.findings.as_deref().expect("the record was judged")
}

/// The verdicts of one rule, in the order of its subjects.
pub fn verdicts(report: &Report, rule: &str) -> Vec<Verdict> {
    findings(report)
        .iter()
        .filter(|finding| finding.rule == rule)
        .map(|finding| finding.verdict)
        .collect()
}

/// The one finding of a rule.
pub fn finding<'a>(report: &'a Report, rule: &str) -> &'a Finding {
    let found: Vec<_> = findings(report)
        .iter()
        .filter(|finding| finding.rule == rule)
        .collect();
    match found.as_slice() {
        [finding] => finding,
        _ => panic!(
            "{} findings of {rule} among {:?}",
            found.len(),
            findings(report)
                .iter()
                .map(|finding| finding.rule.as_str())
                .collect::<Vec<_>>()
        ),
    }
}
