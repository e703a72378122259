//! Rulesets from strangers: what would take long or fill memory is refused, each for what it is.
//!
//! Each text here is one that some part of the program would otherwise look at again and again.

mod small;

use groundrule::library::{Problems, embedded, open};
use groundrule::report::mistakes;

/// The mistakes of the shipped library with more files.
fn told(files: &[(&str, String)]) -> String {
    let mut texts = embedded();
    for (name, text) in files {
        texts.0.insert((*name).to_owned(), text.clone());
    }
    let Problems { sources, problems } = open(&texts).expect_err("the library is refused");
    mistakes::render(&sources, problems, false, 80)
}

fn rule(demand: &str) -> String {
    format!(
        "rule r {{\n  title \"A\"\n  shall {demand}\n  cite common_practice \"x\"\n  hold at_permit\n  remedy \"R\"\n}}\n"
    )
}

fn topic(items: &str) -> String {
    format!("topic zz \"Z\" permit plumbing\n\n{items}")
}

#[test]
fn parentheses_inside_each_other_are_counted_before_they_are_read() {
    let demand = format!(
        "{}1{} is at least 1",
        "(".repeat(50_000),
        ")".repeat(50_000)
    );
    let told = told(&[("rules/zz.rules", topic(&rule(&demand)))]);
    assert!(told.contains("more than 64 levels"), "{told}");
}

#[test]
fn a_name_of_a_hundred_thousand_letters_is_compared_with_no_other() {
    let demand = format!("{} is at least 1 ft", "a".repeat(50_000));
    let declared = format!(
        "limit {} : length = 1 ft \"x\" cite common_practice \"x\"\n\n",
        "b".repeat(50_000)
    );
    let told = told(&[("rules/zz.rules", topic(&(declared + &rule(&demand))))]);
    assert!(told.contains("check::unknown_name"), "{told}");
}

#[test]
fn of_thousands_of_mistakes_the_first_are_told() {
    let rules: String = (0..3_000)
        .map(|at| rule("nothing_known is at least 1").replace("rule r ", &format!("rule r{at} ")))
        .collect();
    let told = told(&[("rules/zz.rules", topic(&rules))]);
    assert_eq!(told.matches("check::unknown_name").count(), 50);
    assert!(told.contains("and more mistakes after these"), "{told}");
}

#[test]
fn formulas_behind_each_other_are_counted() {
    let mut items =
        "define d0 (x: number) gives number = x cite common_practice \"x\"\n".to_owned();
    for at in 1..3_000 {
        items.push_str(&format!(
            "define d{at} (x: number) gives number = d{}(x) cite common_practice \"x\"\n",
            at - 1
        ));
    }
    let told = told(&[(
        "rules/zz.rules",
        topic(&(items + &rule("d2999(1) is at least 1"))),
    )]);
    assert!(told.contains("check::too_many_calls"), "{told}");
}

#[test]
fn formulas_that_double_each_other_cost_what_they_are_written_out() {
    let mut items =
        "define d0 (x: number) gives number = x cite common_practice \"x\"\n".to_owned();
    for at in 1..60 {
        items.push_str(&format!(
            "define d{at} (x: number) gives number = d{0}(x) + d{0}(x) cite common_practice \"x\"\n",
            at - 1
        ));
    }
    let told = told(&[(
        "rules/zz.rules",
        topic(&(items + &rule("d59(1) is at least 1"))),
    )]);
    assert!(told.contains("check::too_costly"), "{told}");
}

fn many_labels() -> String {
    let labels: String = (0..300).map(|at| format!(" l{at}")).collect();
    format!("choice many \"Many (invented)\" {{{labels} }}\n")
}

#[test]
fn tables_of_few_words_and_many_cells_have_a_bound_together() {
    let tables: String = (0..400)
        .map(|at| {
            format!("table t{at} (a: many, b: many) gives length cite common_practice \"x\" {{\n  any, any : 1 in\n}}\n")
        })
        .collect();
    let told = told(&[
        ("rules/zz.rules", topic(&tables)),
        ("shared/vocabulary/zz.rules", many_labels()),
    ]);
    assert!(told.contains("check::too_many_cells"), "{told}");
}

#[test]
fn the_keys_of_a_table_multiply_without_running_over() {
    let keys: Vec<String> = (0..12).map(|at| format!("p{at}: many")).collect();
    let table = format!(
        "table t ({}) gives length cite common_practice \"x\" {{\n  {} : 1 in\n}}\n",
        keys.join(", "),
        ["any"; 12].join(", ")
    );
    let told = told(&[
        ("rules/zz.rules", topic(&table)),
        ("shared/vocabulary/zz.rules", many_labels()),
    ]);
    assert!(told.contains("check::too_costly"), "{told}");
}

#[test]
fn cells_that_statements_name_again_and_again_have_a_bound() {
    let table = "table t (a: many, b: many) gives length cite common_practice \"x\" {\n  any, any : 1 in\n}\n";
    let rules = topic(&format!("{table}\n{}", rule("t(l0, l1) is at least 1 in")));
    let mut town = "place \"Z (invented)\" {\n  authority any \"A\" \"b\"\n}\n\nadopt zz from 2000-01-01 cite common_practice \"x\" because \"b\"\n".to_owned();
    for at in 0..40 {
        town.push_str(&format!(
            "amend zz.t(any, any) : 1 in becomes 2 in from 2001-{:02}-{:02} cite common_practice \"x\" because \"b\"\n",
            at / 28 + 1,
            at % 28 + 1
        ));
    }
    let told = told(&[
        ("rules/zz.rules", rules),
        ("shared/vocabulary/zz.rules", many_labels()),
        ("jurisdictions/zz/place.rules", town),
    ]);
    assert!(told.contains("check::too_many_cells"), "{told}");
}

#[test]
fn a_place_that_changes_every_day_for_decades_is_not_looked_at_day_by_day() {
    let mut town = "place \"Z (invented)\" {\n  authority any \"A\" \"b\"\n}\n\n".to_owned();
    for year in 2000..2015 {
        for day in 0..336 {
            town.push_str(&format!(
                "adopt vents from {year}-{:02}-{:02} cite common_practice \"x\" because \"b\"\n",
                day / 28 + 1,
                day % 28 + 1
            ));
        }
    }
    let told = told(&[("jurisdictions/zz/place.rules", town)]);
    let told: Vec<&str> = told.lines().map(str::trim_end).collect();
    insta::with_settings!({ prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!("layers__too_many_dates", told.join("\n").trim_end());
    });
}

#[test]
fn no_text_holds_what_a_terminal_obeys() {
    for hidden in [
        "\u{1B}[2J",
        "\u{7}",
        "\u{0}",
        "\u{9B}31m",
        "\u{202E}",
        "\u{2066}",
    ] {
        let rule = rule("1 is at least 1").replace("\"A\"", &format!("\"A {hidden} B\""));
        let shown = told(&[("rules/zz.rules", topic(&rule))]);
        assert!(shown.contains("library::unseen_character"), "{shown:?}");
        assert!(!shown.contains(hidden), "{shown:?}");
    }
}

#[test]
fn lists_within_lists_are_counted() {
    let heads: String = (0..20)
        .map(|at| format!("  each c{at} in supply_cables\n"))
        .collect();
    let rule = rule("1 is at least 1").replace("  shall", &format!("{heads}  shall"));
    let told = told(&[("rules/zz.rules", topic(&rule))]);
    assert!(told.contains("check::too_nested"), "{told}");
}

#[test]
fn a_rule_that_compares_each_with_each_and_each_is_reckoned_before_it_runs() {
    let rule = "rule r {\n  title \"A\"\n  each a in wells\n  each b in wells\n  each c in wells\n  shall a.depth + b.depth is at least c.depth\n  cite code \"1\"\n  hold hand_over\n  remedy \"R\"\n}\n";
    let town = "place \"Z (invented)\" {\n  authority any \"A\" \"b\"\n}\n\nadopt t from 2000-01-01 cite law \"1\" because \"b\"\n";
    let opened = small::opened(&[
        (
            "rules/t",
            &format!("topic t \"T\" permit plumbing\n\n{rule}"),
        ),
        ("jurisdictions/zz/place", town),
    ]);
    let wells: String = (0..1_500)
        .map(|at| format!("  - {{ id: W-{at}, depth: 10 ft }}\n"))
        .collect();
    let record = format!(
        "record: 1\nlot: L-1\nplace: zz\npermits:\n  plumbing: {{ number: P-1, issued: 2026-03-02 }}\nrecorded: {{ by: A. Test, role: crew_lead, date: 2026-04-18 }}\nstage: hand_over\ntolerances: exact\nwells:\n{wells}"
    );
    let told = small::judged(&opened, &record).expect_err("too much to judge");
    insta::with_settings!({ prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!("layers__too_many_steps", told);
    });
}
