//! The shipped library with one file of rules beside it, which asks for values of its formulas.
//!
//! A value is asked for in the rule language itself and read from a finding, so that what is
//! checked is what a rule would see: the formula, its constants and the arithmetic.

use std::fmt::Write as _;

use groundrule::finding::{Finding, Verdict};
use groundrule::judge;
use groundrule::library::{Opened, Texts, embedded, open};
use groundrule::record;
use groundrule::report::mistakes;
use groundrule::source::Sources;

/// More than any value that is asked for.
const BEYOND: &str = "1000000000000";

/// The place in which the file of rules is in force, and the topics it calls.
const BENCH: &str = r#"place "Bench of the checks (invented)" {
  authority any "Bench of the checks (invented)" "nowhere"
}

adopt checked           from 2000-01-01  cite common_practice "checks"  because "the checks"
adopt flow_and_head     from 2000-01-01  cite common_practice "checks"  because "the checks"
adopt flotation         from 2000-01-01  cite common_practice "checks"  because "the checks"
adopt supply_circuit    from 2000-01-01  cite common_practice "checks"  because "the checks"
adopt raceways          from 2000-01-01  cite common_practice "checks"  because "the checks"
adopt excavation_safety from 2000-01-01  cite common_practice "checks"  because "the checks"
adopt lateral_test_ipc  from 2000-01-01  cite common_practice "checks"  because "the checks"
adopt lateral_test_texas from 2000-01-01 cite common_practice "checks"  because "the checks"
"#;

const HEAD: &str = "record: 1
lot: CHECK
place: bench
permits:
  connection: { number: C-1, issued: 2026-03-02 }
  plumbing: { number: N-1, issued: 2026-03-02 }
  electrical: { number: E-1, issued: 2026-03-02 }
recorded: { by: A. Check, role: crew_lead, date: 2026-04-18 }
stage: hand_over
tolerances: exact
datum: a nail
";

/// What each expression is worth, in a unit; a plain number where the unit is empty.
pub fn values(asked: &[(String, &str)]) -> Vec<f64> {
    let mut rules = topic();
    for (number, (expression, unit)) in asked.iter().enumerate() {
        let value = if unit.is_empty() {
            format!("({expression})")
        } else {
            format!("({expression}) in {unit}")
        };
        let demand = format!("{value} is at most {BEYOND}");
        rules.push_str(&rule(number, &demand));
    }
    let findings = findings(&rules, "", "");
    let asked = asked.iter().enumerate();
    asked
        .map(|(number, (expression, _))| {
            let finding = numbered(&findings, number);
            let plot = finding.si.as_ref();
            let [Some(low), Some(high)] = plot
                .unwrap_or_else(|| panic!("`{expression}` has a value: {finding:?}"))
                .measured
            else {
                panic!("`{expression}` has no ends: {finding:?}");
            };
            assert!(
                (high - low).abs() <= 1e-9 * high.abs(),
                "`{expression}` is from {low} to {high}"
            );
            (low + high) / 2.0
        })
        .collect()
}

/// The value of one expression.
pub fn value(expression: &str, unit: &str) -> f64 {
    values(&[(expression.to_owned(), unit)])[0]
}

/// Those of some conditions that don't hold.
pub fn untrue(conditions: &[String]) -> Vec<String> {
    let mut rules = topic();
    for (number, condition) in conditions.iter().enumerate() {
        rules.push_str(&rule(number, condition));
    }
    let findings = findings(&rules, "", "");
    let conditions = conditions.iter().enumerate();
    conditions
        .filter(|(number, _)| numbered(&findings, *number).verdict != Verdict::Meets)
        .map(|(_, condition)| condition.clone())
        .collect()
}

/// The findings of a record under the shipped rules, with more statements of the place.
pub fn judged(statements: &str, facts: &str) -> Vec<Finding> {
    let rules = topic() + &rule(0, "1 is at least 1");
    findings(&rules, statements, facts)
}

fn topic() -> String {
    "topic checked \"What is asked of the shipped formulas\" permit connection\n".to_owned()
}

fn rule(number: usize, demand: &str) -> String {
    let mut text = String::new();
    write!(
        text,
        "\nrule asked_{number} {{\n  title \"Asked\"\n  shall {demand}\n  \
         cite common_practice \"checks\"\n  hold at_permit\n  remedy \"None.\"\n}}\n"
    )
    .expect("a text takes what is written to it");
    text
}

fn numbered(findings: &[Finding], number: usize) -> &Finding {
    let name = format!("checked.asked_{number}");
    let found = findings.iter().find(|finding| finding.rule == name);
    found.unwrap_or_else(|| panic!("no finding of {name}"))
}

fn findings(rules: &str, statements: &str, facts: &str) -> Vec<Finding> {
    let mut texts = embedded();
    texts
        .0
        .insert("rules/checked.rules".into(), rules.to_owned());
    texts.0.insert(
        "jurisdictions/bench/place.rules".into(),
        format!("{BENCH}\n{statements}"),
    );
    let opened = opened(&texts);
    let mut sources = Sources::default();
    let id = sources.add("record.yaml", format!("{HEAD}{facts}"));
    let record = record::read(&opened.library.vocabulary, &sources, id)
        .unwrap_or_else(|errors| panic!("the record reads: {errors:?}"));
    let judged = judge::report(opened.setting(), record, &sources, id)
        .unwrap_or_else(|errors| panic!("the record is judged: {errors:?}"));
    judged.report.findings.expect("a record that was read")
}

fn opened(texts: &Texts) -> Opened {
    open(texts).unwrap_or_else(|problems| {
        panic!(
            "{}",
            mistakes::render(&problems.sources, problems.problems, false, 100)
        )
    })
}
