//! Each mistake of a rule text as its author sees it.

use groundrule::language::{SyntaxError, parse};
use groundrule::source::{Located, Sources};
use miette::{GraphicalReportHandler, GraphicalTheme, NamedSource, Report};

fn errors(text: &str) -> Vec<Located<SyntaxError>> {
    let mut sources = Sources::default();
    let id = sources.add("cover.rules", text);
    parse(&sources, id).expect_err("the text has a mistake")
}

fn rendered(text: &str) -> String {
    let handler =
        GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor()).with_width(80);
    let mut shown = String::new();
    for located in errors(text) {
        let report = Report::new(located.error)
            .with_source_code(NamedSource::new("cover.rules", text.to_string()));
        handler
            .render_report(&mut shown, report.as_ref())
            .expect("a string takes every report");
    }
    let lines: Vec<&str> = shown.lines().map(str::trim_end).collect();
    lines.join("\n")
}

/// A rule whose obligation is this.
fn shall(condition: &str) -> String {
    format!("rule cover {{\n  title \"Cover\"\n  shall {condition}\n  hold  before_cover\n}}\n")
}

macro_rules! shows {
    ($($name:ident: $text:expr;)*) => {
        $(#[test]
        fn $name() {
            insta::assert_snapshot!(stringify!($name), rendered(&$text));
        })*
    };
}

shows! {
    at_least_in_symbols: shall("span.cover >= 24 in");
    at_most_in_symbols: shall("span.cover ≤ 24 in");
    equals_in_symbols: shall("span.cover == 24 in");
    single_equals: shall("span.location = yard");
    more_in_symbols: shall("span.cover > 24 in");
    is_before_a_symbol: shall("span.cover is >= 24 in");
    is_not: shall("span.location is not yard");
    is_not_in_symbols: shall("span.location != yard");
    is_greater_than: shall("span.cover is greater than 24 in");
    is_larger_than: shall("span.cover is larger than 24 in");
    is_equal_to: shall("span.cover is equal to 24 in");
    at_least_without_is: shall("span.cover at least 24 in");
    and_in_symbols: shall("span.cover is at least 24 in && span.location is yard");
    or_in_symbols: shall("span.cover is at least 24 in || span.location is yard");
    not_in_symbols: shall("!span.buried");
    chained_comparison: shall("12 in is less than span.cover is less than 24 in");
    ratio: shall("sewer.fall is at least 1:48");
    ratio_in_a_limit: "limit fall : slope = 1:48\n";
    tolerance: shall("span.cover is at least 24 in ± 1/4 in");
    tolerance_typed: shall("span.cover is at least 24 in +/- 1/4 in");
    missing_then: shall("span.cover is at least if a is b 2 in else 3 in");
    missing_then_at_the_start: shall("if span.shallow span.cased else span.buried");
    missing_else: shall("if span.shallow then span.cased");
    elif: shall("if a then b elif c then d else e");
    missing_has: shall("every span in cable.spans span.buried");
    missing_where: shall("count of span in spans has span.buried");
    missing_for: shall("least of span.cover is at least 3 in");
    needs_parentheses: shall("span.buried and every shot in shots has shot.dry");
    unclosed_parenthesis: shall("(span.buried or span.cased");
    unclosed_brace: "rule cover {\n  title \"Cover\"\n  hold before_cover\n\nlimit depth : length = 2 in\n";
    unclosed_text: "rule cover {\n  title \"Cover\n  hold before_cover\n}\n";
    stray_character: "rule cover {\n  title “Cover”\n  hold\u{a0}before_cover\n}\n";
    upper_case_name: "rule Cover {\n  title \"Cover\"\n}\n";
    joined_name: "rule leastCover {\n  title \"Cover\"\n}\n";
    hyphenated_name: "rule least-cover {\n  title \"Cover\"\n}\n";
    reserved_name: "rule when {\n  title \"Cover\"\n}\n";
    indented_item: "  rule cover {\n    title \"Cover\"\n  }\n";
    item_inside_an_item: "rule cover {\n  title \"Cover\"\n\n  rule depth {\n    title \"Depth\"\n  }\n}\n";
    clause_at_the_margin: "rule cover {\ntitle \"Cover\"\n}\n";
    unknown_item: "rul cover {\n  title \"Cover\"\n}\n";
    unknown_item_without_a_near_one: "zebra cover {\n}\n";
    unknown_clause_of_a_rule: "rule cover {\n  title \"Cover\"\n  remdy \"Dig.\"\n}\n";
    unknown_clause_of_a_source: "source code {\n  titel \"The code\"\n}\n";
    unknown_clause_of_a_place: "place \"Velder Mills (invented)\" {\n  autority any \"Clerk\" \"Hall\"\n}\n";
    unknown_clause_of_a_variance: "variance \"VM-1\" {\n  reason \"rock\"\n}\n";
    missing_comma: "table least_cover (a: wiring, b: location) gives length {\n  direct_burial yard : 24 in\n}\n";
    missing_colon: "limit depth length = 24 in\n";
    missing_text: "rule cover {\n  title Cover\n}\n";
    limit_without_a_value: "limit depth : length =\n";
    nothing_after_shall: shall("");
    power_of_a_name: shall("span.cover ^ n is at least 2");
    too_deep: shall(&format!("{}a{}", "(".repeat(65), ")".repeat(65)));
    two_mistakes_with_a_wrong_clause_word: "rule cover {\n  each span in spans\n  whn  span.a\n    or span.b\n  shall span.c is at least\n  hold  before_cover\n}\n";
    a_mistake_in_a_fact: "thing span \"s\" stretch {\n  cover : length \"depth\"\n  size : wire_gauge stated \"s\"\n}\n";
    a_mistake_in_a_statement: "amend t.l : 24 in to 30 in\n  from 2025-01-01  cite c \"1\"  because \"why\"\n";
    a_date_of_another_form: "adopt t\n  from 1/1/2025  cite c \"1\"  because \"why\"\n";
    where_for_has: shall("every span in spans where span.buried");
    two_mistakes_of_one_rule: "rule cover {\n  title Cover\n  when  a = b\n  hold  before_cover\n}\n\nlimit depth : length 2 in\n";
    more_than_twenty: "limit a\n".repeat(23);
}

#[test]
fn a_file_of_more_than_four_mebibytes_is_refused() {
    let text = "# a comment\n".repeat(400_000);
    let errors = errors(&text);
    assert!(matches!(
        errors[..],
        [Located {
            error: SyntaxError::TooLarge { .. },
            ..
        }]
    ));
}

#[test]
fn hostile_nesting_is_refused_and_not_followed() {
    let opened = [
        "(".repeat(100_000),
        "not ".repeat(100_000),
        "- ".repeat(100_000),
        "a ^ ".repeat(100_000),
        "a + ".repeat(100_000),
        "a / ".repeat(100_000),
        "if a then b else ".repeat(50_000),
        "every x in y has ".repeat(50_000),
        "least of ".repeat(100_000),
        "lesser of a and ".repeat(50_000),
        "count of x in y where ".repeat(50_000),
        "f(".repeat(100_000),
        "not (".repeat(100_000),
    ];
    for text in opened {
        let errors = errors(&shall(&format!("{text}a")));
        assert!(
            matches!(
                errors[..],
                [Located {
                    error: SyntaxError::TooDeep { .. },
                    ..
                }]
            ),
            "{}: {errors:?}",
            &text[..20]
        );
    }
}

#[test]
fn every_mistake_has_its_snapshot() {
    let snapshots: String = std::fs::read_dir("tests/snapshots")
        .expect("the snapshots stand beside the tests")
        .map(|entry| entry.expect("the folder can be read").path())
        .filter(|path| path.to_string_lossy().contains("language_errors"))
        .map(|path| std::fs::read_to_string(path).expect("a snapshot is a text"))
        .collect();
    let declared = include_str!("../src/language/error.rs");
    let codes: Vec<&str> = declared
        .split("code(language::")
        .skip(1)
        .filter_map(|rest| rest.split(')').next())
        .collect();
    assert!(codes.len() > 20, "the codes were not found");
    for code in codes {
        // Its text would be four megabytes long; the test above looks at it.
        let shown = code == "too_large" || snapshots.contains(&format!("language::{code}\n"));
        assert!(shown, "no snapshot shows language::{code}");
    }
}

#[test]
fn a_mistake_in_one_item_hides_none_in_another() {
    let text = "rule a {\n  title \"A\n}\n\nrul b {\n}\n\nlimit c : length 2 in\n\nlimit d : length = 2 in\n";
    let errors: Vec<SyntaxError> = errors(text)
        .into_iter()
        .map(|located| located.error)
        .collect();
    assert!(
        matches!(
            errors[..],
            [
                SyntaxError::UnclosedText { .. },
                SyntaxError::UnknownItem { .. },
                SyntaxError::Unexpected { .. },
            ]
        ),
        "{errors:?}"
    );
}
