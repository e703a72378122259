//! What the tree of a rule text says: each construct, how tightly each binds, and where it lies.

use groundrule::language::parse;
use groundrule::language::syntax::*;
use groundrule::source::{Sources, Spanned};
use proptest::prelude::*;

fn read(text: &str) -> File {
    let mut sources = Sources::default();
    let id = sources.add("test.rules", text);
    match parse(&sources, id) {
        Ok(file) => file,
        Err(errors) => panic!("{text}\n{errors:#?}"),
    }
}

fn item(text: &str) -> Item {
    let mut items = read(text).items;
    assert_eq!(items.len(), 1, "{text}");
    items.remove(0)
}

/// The obligation of a rule, with a parenthesis around everything that has parts.
fn bound(condition: &str) -> String {
    let text = format!("rule r {{\n  shall {condition}\n}}\n");
    let Item::Rule(rule) = item(&text) else {
        panic!("not a rule");
    };
    match &rule.clauses[..] {
        [
            Clause::Obligation(Spanned {
                value: Obligation::Shall(expression),
                ..
            }),
        ] => shown(expression),
        other => panic!("not one obligation: {other:?}"),
    }
}

fn path(path: &Path) -> String {
    let parts: Vec<&str> = path.parts.iter().map(|part| part.value.as_str()).collect();
    parts.join(".")
}

fn all(expressions: &[Expression], between: &str) -> String {
    let shown: Vec<String> = expressions.iter().map(shown).collect();
    shown.join(between)
}

fn shown(expression: &Expression) -> String {
    use ExpressionKind as Kind;
    match &expression.kind {
        Kind::Quantity(text) => format!("<{text}>"),
        Kind::Date(text) => format!("date {text}"),
        Kind::Text(text) => format!("\"{text}\""),
        Kind::Path(at) => path(at),
        Kind::Call {
            function,
            arguments,
        } => format!("{}({})", path(function), all(arguments, ", ")),
        Kind::Negate(inner) => format!("(- {})", shown(inner)),
        Kind::Arithmetic {
            operator,
            left,
            right,
        } => {
            let sign = match operator {
                Operator::Add => "+",
                Operator::Subtract => "-",
                Operator::Multiply => "×",
                Operator::Divide => "/",
            };
            format!("({} {sign} {})", shown(left), shown(right))
        }
        Kind::Power { base, exponent } => format!("({} ^ {})", shown(base), exponent.value),
        Kind::In { value, unit } => format!("({} in {})", shown(value), unit.value),
        Kind::Compare {
            comparator,
            left,
            right,
        } => {
            format!("({} {comparator:?} {})", shown(left), shown(right))
        }
        Kind::OneOf {
            value,
            alternatives,
        } => {
            format!("({} one of {})", shown(value), all(alternatives, ", "))
        }
        Kind::Not(inner) => format!("(not {})", shown(inner)),
        Kind::And(operands) => format!("({})", all(operands, " and ")),
        Kind::Or(operands) => format!("({})", all(operands, " or ")),
        Kind::If {
            condition,
            then,
            otherwise,
        } => format!(
            "(if {} then {} else {})",
            shown(condition),
            shown(then),
            shown(otherwise)
        ),
        Kind::Every {
            name,
            list,
            condition,
        } => {
            format!("(every {name} in {} has {})", path(list), shown(condition))
        }
        Kind::Some {
            name,
            list,
            condition,
        } => {
            format!("(some {name} in {} has {})", path(list), shown(condition))
        }
        Kind::Count {
            name,
            list,
            condition,
        } => match condition {
            Some(inner) => format!("(count {name} in {} where {})", path(list), shown(inner)),
            None => format!("(count {name} in {})", path(list)),
        },
        Kind::Fold {
            fold,
            value,
            name,
            list,
        } => {
            format!(
                "({fold:?} of {} for {name} in {})",
                shown(value),
                path(list)
            )
        }
        Kind::Lesser(left, right) => format!("(lesser {} {})", shown(left), shown(right)),
        Kind::Greater(left, right) => format!("(greater {} {})", shown(left), shown(right)),
    }
}

#[test]
fn each_form_binds_as_the_reference_says() {
    for (written, expected) in [
        ("a or b and not c", "(a or (b and (not c)))"),
        ("a and b and c", "(a and b and c)"),
        ("not a is b", "(not (a Is b))"),
        ("not not a", "(not (not a))"),
        ("a is at least b + c", "(a AtLeast (b + c))"),
        ("a is at most b", "(a AtMost b)"),
        ("a is more than b", "(a MoreThan b)"),
        ("a is less than b", "(a LessThan b)"),
        ("a is one of b, c, d and e", "((a one of b, c, d) and e)"),
        ("a - b - c", "((a - b) - c)"),
        ("a − b × c", "(a - (b × c))"),
        ("a * b / c", "((a × b) / c)"),
        ("a × b in ft", "(a × (b in ft))"),
        ("-a in ft", "((- a) in ft)"),
        ("a^2 in ft2", "((a ^ 2) in ft2)"),
        ("-a ^ 2", "(- (a ^ 2))"),
        ("a ^ -1/2", "(a ^ -1/2)"),
        ("(d in in)^4.8655", "((d in in) ^ 4.8655)"),
        ("24 in in ft", "(<24 in> in ft)"),
        ("(a + b) × c", "((a + b) × c)"),
        (
            "if a then b else if c then d else e",
            "(if a then b else (if c then d else e))",
        ),
        ("every x in l has a or b", "(every x in l has (a or b))"),
        ("some x in s.l has x.a", "(some x in s.l has x.a)"),
        (
            "a and (every x in l has x.a)",
            "(a and (every x in l has x.a))",
        ),
        (
            "count of x in l is at least 2",
            "((count x in l) AtLeast <2>)",
        ),
        (
            "(count of x in l where x.a is b) is 2",
            "((count x in l where (x.a Is b)) Is <2>)",
        ),
        (
            "least of x.a - 1 ft for x in l is b",
            "((Least of (x.a - <1 ft>) for x in l) Is b)",
        ),
        (
            "total of x.a for x in l + b",
            "((Total of x.a for x in l) + b)",
        ),
        ("greatest of x.a for x in l", "(Greatest of x.a for x in l)"),
        ("lesser of a and b + c", "(lesser a (b + c))"),
        ("greater of a and b is c", "((greater a b) Is c)"),
        ("root(a) is t.f(b, c + d)", "(root(a) Is t.f(b, (c + d)))"),
        ("a is \"x # y\"", "(a Is \"x # y\")"),
        ("a is 2026-03-19", "(a Is date 2026-03-19)"),
        ("a.from is a.to", "(a.from Is a.to)"),
        ("notable is orange", "(notable Is orange)"),
    ] {
        assert_eq!(bound(written), expected, "{written}");
    }
}

#[test]
fn quantities_keep_their_text_with_single_spaces() {
    for (written, expected) in [
        ("24", "<24>"),
        ("3.5", "<3.5>"),
        ("1/4", "<1/4>"),
        ("3  1/2", "<3 1/2>"),
        ("3 1/2 in", "<3 1/2 in>"),
        ("2 ft   6 in", "<2 ft 6 in>"),
        ("3'-6 1/2\"", "<3'-6 1/2\">"),
        ("6'", "<6'>"),
        ("42\"", "<42\">"),
        ("1/4 in/ft", "<1/4 in/ft>"),
        ("2 %", "<2 %>"),
        ("2%", "<2%>"),
        ("62.4 lb/ft3", "<62.4 lb/ft3>"),
        ("40 °F", "<40 °F>"),
        ("14 AWG", "<14 AWG>"),
        ("1/0 AWG", "<1/0 AWG>"),
        ("DN 100", "<DN 100>"),
        ("24 in / 2", "(<24 in> / <2>)"),
        ("24 in/2", "(<24 in> / <2>)"),
        (
            "0.2083 ft × (l in ft) / 100",
            "((<0.2083 ft> × (l in ft)) / <100>)",
        ),
        ("5\n    + 2 in", "(<5> + <2 in>)"),
    ] {
        assert_eq!(bound(written), expected, "{written}");
    }
}

#[test]
fn a_rule_has_its_clauses_in_order() {
    let text = "rule r {\n title \"t\" each a in b.c when d shall record a.e\n refer \"q?\"\n should d\n \
                precaution d\n cite s \"1\" from memory\n hold h\n remedy \"m\"\n hazard z\n}\n";
    let Item::Rule(rule) = item(text) else {
        panic!("not a rule");
    };
    let clauses: Vec<String> = rule
        .clauses
        .iter()
        .map(|clause| match clause {
            Clause::Title(text) => format!("title {text}"),
            Clause::Each { name, list } => format!("each {name} in {}", path(list)),
            Clause::When(condition) => format!("when {}", shown(condition)),
            Clause::Obligation(obligation) => match &obligation.value {
                Obligation::Shall(condition) => format!("shall {}", shown(condition)),
                Obligation::Should(condition) => format!("should {}", shown(condition)),
                Obligation::Record(fact) => format!("record {}", path(fact)),
                Obligation::Refer(text) => format!("refer {text}"),
                Obligation::Precaution(condition) => format!("precaution {}", shown(condition)),
            },
            Clause::Cite(cite) => format!(
                "cite {} {} {}",
                cite.document, cite.section, cite.from_memory
            ),
            Clause::Hold(name) => format!("hold {name}"),
            Clause::Remedy(text) => format!("remedy {text}"),
            Clause::Hazard(name) => format!("hazard {name}"),
        })
        .collect();
    assert_eq!(
        clauses,
        [
            "title t",
            "each a in b.c",
            "when d",
            "record a.e",
            "refer q?",
            "should d",
            "precaution d",
            "cite s 1 true",
            "hold h",
            "remedy m",
            "hazard z"
        ]
    );
}

fn texts(texts: &[Text]) -> Vec<&str> {
    texts.iter().map(|text| text.value.as_str()).collect()
}

#[test]
fn every_key_of_a_table_is_read() {
    let text = "table t (a: x, b: y) gives length tighten only cite s \"1\" {\n any, up to 2 1/2 in : 1 in\n \
                p or q, 3 in to 6 in : -2 in\n p, 8 in and over : no value\n beyond, from 3 ft : r\n below, DN 50 or 2 in : 4\n}\n";
    let Item::Table(table) = item(text) else {
        panic!("not a table");
    };
    let key = |key: &Spanned<Key>| match &key.value {
        Key::Labels(labels) => texts(labels).join("|"),
        Key::Any => "any".to_string(),
        Key::UpTo(last) => format!("..={last}"),
        Key::Between(first, last) => format!("{first}..={last}"),
        Key::AndOver(first) => format!("{first}.."),
        Key::From(first) => format!("from {first}"),
        Key::Beyond => "beyond".to_string(),
        Key::Below => "below".to_string(),
    };
    let rows: Vec<String> = table
        .rows
        .iter()
        .map(|row| {
            let keys: Vec<String> = row.keys.iter().map(key).collect();
            format!("{} -> {:?}", keys.join(", "), row.value.value.as_deref())
        })
        .collect();
    assert_eq!(
        rows,
        [
            "any, ..=2 1/2 in -> Some(\"1 in\")",
            "p|q, 3 in..=6 in -> Some(\"-2 in\")",
            "p, 8 in.. -> None",
            "beyond, from 3 ft -> Some(\"r\")",
            "below, DN 50|2 in -> Some(\"4\")",
        ]
    );
    assert_eq!(
        table.narrowing.map(|narrowing| narrowing.value),
        Some(Narrowing::TightenOnly)
    );
    assert_eq!(table.citations.len(), 1);
    assert_eq!(
        (table.parameters.len(), table.gives.value.as_str()),
        (2, "length")
    );
}

#[test]
fn limits_keep_values_meaning_narrowing_and_citations() {
    let Item::Limit(limit) =
        item("limit f : slope = 1/4 in/ft or 2 % \"fall\" fixed cite a \"1\" cite b \"2\"\n")
    else {
        panic!("not a limit");
    };
    assert_eq!(texts(&limit.values), ["1/4 in/ft", "2 %"]);
    assert_eq!(limit.meaning.expect("it has one").value, "fall");
    assert_eq!(limit.narrowing.expect("it has one").value, Narrowing::Fixed);
    assert_eq!(limit.citations.len(), 2);
    let Item::Limit(open) = item("limit d : length set by the place \"depth\" cite a \"1\"\n")
    else {
        panic!("not a limit");
    };
    assert!(open.values.is_empty());
    let Item::Limit(cold) = item("limit t : temperature = − 20 °F\n") else {
        panic!("not a limit");
    };
    assert_eq!(texts(&cold.values), ["-20 °F"]);
}

#[test]
fn vocabulary_is_read() {
    let text = "thing cable \"c\" run gap 50 ft {\n size : wire_gauge stated \"s\"\n cover : length measured \"d\" by \"tape\" \
                until before_cover then \"pothole\" between 0 in and 20 ft\n list spans of span \"s\"\n}\n";
    let Item::Thing(thing) = item(text) else {
        panic!("not a thing");
    };
    assert!(matches!(&thing.form, Form::Run { gap: Some(gap) } if gap.value == "50 ft"));
    let [Member::Fact(size), Member::Fact(cover), Member::List(spans)] = &thing.members[..] else {
        panic!("{:?}", thing.members);
    };
    assert_eq!(
        (size.name.value.as_str(), size.origin, &size.by),
        ("size", Origin::Stated, &None)
    );
    assert_eq!(cover.origin, Origin::Measured);
    assert_eq!(cover.by.as_ref().map(|by| by.value.as_str()), Some("tape"));
    assert_eq!(
        cover.until.as_ref().map(|until| until.value.as_str()),
        Some("before_cover")
    );
    assert_eq!(
        cover.then.as_ref().map(|then| then.value.as_str()),
        Some("pothole")
    );
    let (least, most) = cover.between.as_ref().expect("it has a range");
    assert_eq!(
        (least.value.as_str(), most.value.as_str()),
        ("0 in", "20 ft")
    );
    assert_eq!(spans.of.value, "span");

    let Item::Size(size) =
        item("size s \"n\" {\n 1 1/4 in or DN 32\n 1 1/2 in or DN 40\n 14 AWG\n type_c\n}\n")
    else {
        panic!("not a size");
    };
    let places: Vec<Vec<&str>> = size.places.iter().map(|place| texts(place)).collect();
    assert_eq!(
        places,
        [
            vec!["1 1/4 in", "DN 32"],
            vec!["1 1/2 in", "DN 40"],
            vec!["14 AWG"],
            vec!["type_c"]
        ]
    );

    let Item::Survey(survey) =
        item("survey least_fall (run: building_sewer or lateral) gives slope \"f\"\n")
    else {
        panic!("not a survey function");
    };
    assert_eq!(survey.parameters[0].kinds.len(), 2);
}

#[test]
fn statements_keep_their_circumstances() {
    let tail = "from 2025-01-01 until 2028-01-01 cite c \"1\" because \"why\" tighten only\n";
    let statement = |head: &str| match item(&format!("{head} {tail}")) {
        Item::Statement(statement) => statement,
        other => panic!("{other:?}"),
    };
    let amend = statement("amend t.l(a or b, up to 3 in) : 24 in or 60 cm becomes no value");
    assert_eq!(amend.from.expect("it has a date").value, "2025-01-01");
    assert_eq!(amend.until.expect("it has a date").value, "2028-01-01");
    assert_eq!(amend.because.expect("it has a reason").value, "why");
    assert_eq!(
        amend.narrowing.expect("it has one").value,
        Narrowing::TightenOnly
    );
    let Action::Amend {
        target,
        was,
        becomes,
    } = amend.action
    else {
        panic!("not an amendment");
    };
    assert_eq!(path(&target.path), "t.l");
    assert_eq!(target.keys.expect("it has keys").len(), 2);
    assert_eq!(
        (texts(&was), texts(&becomes)),
        (vec!["24 in", "60 cm"], vec![])
    );
    assert!(matches!(statement("adopt t").action, Action::Adopt(_)));
    assert!(matches!(
        statement("strike topic t").action,
        Action::StrikeTopic(_)
    ));
    assert!(matches!(
        statement("strike rule t.r").action,
        Action::StrikeRule(_)
    ));
    assert!(
        matches!(statement("set t.l = 3 in").action, Action::Set { values, .. } if values.len() == 1)
    );
    assert!(matches!(
        statement("restrict t.l to fixed").action,
        Action::Restrict {
            to: Narrowing::Fixed,
            ..
        }
    ));
    assert!(matches!(
        statement("restrict rule t.r to tighten only").action,
        Action::RestrictRule {
            to: Narrowing::TightenOnly,
            ..
        }
    ));
    let body = "from 2024-01-01 cite c \"1\" because \"why\"\n{\n  title \"t\"\n}\n";
    let Item::Statement(add) = item(&format!("add rule r in t {body}")) else {
        panic!("not a statement");
    };
    assert_eq!(add.citations.len(), 1);
    assert!(
        matches!(add.action, Action::Add { topic, rule } if topic.value == "t" && rule.name.value == "r" && rule.clauses.len() == 1)
    );
    let Item::Statement(replace) = item(&format!("replace rule t.r {body}")) else {
        panic!("not a statement");
    };
    assert!(
        matches!(replace.action, Action::Replace { rule, .. } if rule.name.value == "r" && rule.clauses.len() == 1)
    );
}

#[test]
fn spans_cover_what_was_written_and_no_blank_after_it() {
    let text =
        "rule r {\n  shall (a + b)  # why\n     is at least 3 in   # end\n  hold h\n}\n# after\n";
    let mut sources = Sources::default();
    let id = sources.add("test.rules", text);
    let file = parse(&sources, id).expect("it reads");
    let Item::Rule(rule) = &file.items[0] else {
        panic!("not a rule");
    };
    assert!(sources.slice(rule.span).ends_with("hold h\n}"));
    let Clause::Obligation(Spanned {
        value: Obligation::Shall(shall),
        ..
    }) = &rule.clauses[0]
    else {
        panic!("not an obligation");
    };
    assert!(sources.slice(shall.span).ends_with("3 in"));
    let ExpressionKind::Compare { left, .. } = &shall.kind else {
        panic!("not a comparison");
    };
    assert_eq!(sources.slice(left.span), "(a + b)");
}

#[test]
fn sixty_four_levels_are_read_on_a_small_stack() {
    let deep = [
        format!("{}a{}", "(".repeat(64), ")".repeat(64)),
        format!("{}a", "not ".repeat(64)),
        format!("{}a", "if b then c else ".repeat(64)),
        format!("{}a", "every x in y has ".repeat(64)),
        format!("a{}", " + b".repeat(64)),
        format!("{}a{}", "f(".repeat(64), ")".repeat(64)),
    ];
    let reader = std::thread::Builder::new()
        .stack_size(1024 * 1024)
        .spawn(move || {
            for condition in deep {
                assert!(bound(&condition).contains('a'));
            }
        });
    reader
        .expect("a thread starts")
        .join()
        .expect("no level is too deep for it");
}

/// The examples of the reference, one after the other.
fn reference() -> String {
    let reference = include_str!("../docs/language.md");
    let mut text = String::new();
    for (index, block) in reference.split("\n```").enumerate() {
        if index % 2 == 1
            && let Some(example) = block.strip_prefix('\n')
        {
            text.push_str(example);
            text.push('\n');
        }
    }
    text
}

/// A tree without its places, and the places.
fn unspanned(file: &File) -> (String, Vec<(usize, usize)>) {
    let whole = format!("{file:?}");
    let mut pieces = whole.split("Span { source: SourceId(0), start: ");
    let mut bare = pieces.next().unwrap_or_default().to_string();
    let mut spans = Vec::new();
    for piece in pieces {
        let (numbers, rest) = piece.split_once(" }").expect("a span ends");
        let (start, end) = numbers.split_once(", end: ").expect("a span has two ends");
        let number = |text: &str| text.parse().expect("a place is a number");
        spans.push((number(start), number(end)));
        bare.push_str(rest);
    }
    (bare, spans)
}

fn assert_well_placed(text: &str) {
    let mut sources = Sources::default();
    let id = sources.add("test.rules", text);
    match parse(&sources, id) {
        Ok(file) => {
            for (start, end) in unspanned(&file).1 {
                assert!(
                    start <= end && text.get(start..end).is_some(),
                    "{start}..{end}"
                );
            }
        }
        Err(errors) => {
            assert!(!errors.is_empty() && errors.len() <= 21);
            for located in errors {
                let labels = miette::Diagnostic::labels(&located.error);
                for label in labels.into_iter().flatten() {
                    let end = label.offset() + label.len();
                    assert!(
                        text.get(label.offset()..end).is_some(),
                        "{:?}",
                        located.error
                    );
                }
            }
        }
    }
}

#[test]
fn the_same_tree_comes_of_other_line_ends_and_a_byte_order_mark() {
    let text = reference();
    let (plain, _) = unspanned(&read(&text));
    assert!(plain.len() > 1000);
    for other in [
        text.replace('\n', "\r\n"),
        format!("\u{feff}{text}"),
        text.replace("  ", "\t"),
        text.replace('×', "*").replace(" - ", " − "),
    ] {
        assert_eq!(unspanned(&read(&other)).0, plain);
    }
}

proptest! {
    #[test]
    fn no_text_makes_it_panic(text in any::<String>()) {
        assert_well_placed(&text);
    }

    #[test]
    fn no_heap_of_words_makes_it_panic(words in prop::collection::vec(prop::sample::select(vec![
        "rule", "r", "{", "}", "\n", "\n", "\n  ", "shall", "when", "(", ")", "not", "-", "is", "at", "least", "of",
        "if", "then", "else", "every", "in", "has", "24 in", "3'-6\"", "\"é\"", "\"", "#", "limit", ":", "=", "1/4", "%",
        "table", "gives", ",", "or", "and", "±", "×", "Ü", "DN 100", "cite", "from", "any", "to", "source", "place",
    ]), 0..80)) {
        assert_well_placed(&words.join(" "));
        assert_well_placed(&words.concat());
    }

    #[test]
    fn no_change_to_a_valid_file_makes_it_panic(at in any::<prop::sample::Index>(), length in 0..12_usize, new in "[\\PC\n]{0,4}") {
        let text = reference();
        let boundaries: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
        let first = at.index(boundaries.len());
        let last = (first + length).min(boundaries.len() - 1);
        let changed = format!("{}{new}{}", &text[..boundaries[first]], &text[boundaries[last]..]);
        assert_well_placed(&changed);
    }

    #[test]
    fn comments_and_blank_lines_say_nothing(lines in prop::collection::vec((any::<prop::sample::Index>(), prop::sample::select(vec!["", "   ", "# é \" { (", "\t# if", " # rule x {"])), 1..12)) {
        let text = reference();
        let mut all: Vec<&str> = text.lines().collect();
        for (at, line) in lines {
            all.insert(at.index(all.len() + 1), line);
        }
        prop_assert_eq!(unspanned(&read(&all.join("\n"))).0, unspanned(&read(&text)).0);
    }
}
