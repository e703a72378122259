//! The language server, spoken to as an editor does.

mod client;

use client::{Client, end_of, file, library, place};
use serde_json::{Value, json};

const BURIAL: &str = "rules/cable_burial.rules";
const TOWN: &str = "jurisdictions/aldmoor/sarnfell/velder_mills/place.rules";

/// A file of the library with something else in the place of some words.
fn changed(name: &str, from: &str, to: &str) -> (String, String) {
    let (uri, text) = file(name);
    assert!(text.contains(from), "{name} has no {from}");
    (uri, text.replacen(from, to, 1))
}

fn words(hover: &Value) -> &str {
    hover["contents"]["value"].as_str().expect("words")
}

fn labels(items: &Value) -> Vec<&str> {
    let items = items.as_array().expect("a list").iter();
    items
        .map(|item| item["label"].as_str().expect("a label"))
        .collect()
}

/// What may be written at the end of a text that takes the place of some words of a file.
fn candidates(client: &mut Client, name: &str, from: &str, to: &str) -> Vec<String> {
    let (uri, text) = changed(name, from, to);
    client.open(&uri, &text);
    let at = end_of(&text, to);
    let items = client.ask("textDocument/completion", &uri, at);
    let document = json!({ "textDocument": { "uri": uri } });
    client.notify("textDocument/didClose", document);
    labels(&items).into_iter().map(str::to_owned).collect()
}

fn has(candidates: &[String], wanted: &[&str]) -> bool {
    let is_there = |word: &&str| candidates.iter().any(|candidate| candidate == word);
    wanted.iter().all(is_there)
}

#[test]
fn a_library_without_mistakes_shows_none() {
    let (uri, text) = file(BURIAL);
    let mut client = Client::of_library();
    client.open(&uri, &text);
    assert_eq!(client.mistakes(&uri, 1), Vec::<Value>::new());
}

/// One mistake of each stage: of the language, the vocabulary, the names and dimensions, the
/// places over time.
#[test]
fn mistakes_of_every_stage_are_shown_and_cleared() {
    for (name, from, to, code, at) in [
        (
            BURIAL,
            "shall   span.cover is at least",
            "shall   span.cover is atleast",
            "language::",
            "cover_by_wiring(span",
        ),
        (
            "shared/vocabulary/supply.rules",
            "cover    : length ",
            "cover    : lenght ",
            "vocabulary::unknown_type",
            "lenght",
        ),
        (
            BURIAL,
            "shall   span.cover is at least",
            "shall   span.depth is at least",
            "check::unknown_fact",
            "span.depth",
        ),
        (
            TOWN,
            "strike rule cable_burial.sleeve\n  from 2024",
            "strike rule cable_burial.sleeve\n  from 2014",
            "layers::target_missing",
            "strike rule cable_burial.sleeve",
        ),
    ] {
        let (uri, right) = file(name);
        let (_, wrong) = changed(name, from, to);
        let mut client = Client::of_library();
        client.open(&uri, &right);
        assert_eq!(client.mistakes(&uri, 1), Vec::<Value>::new());
        client.change(&uri, 2, &wrong);
        let mistakes = client.mistakes(&uri, 2);
        let Some(mistake) = mistakes.first() else {
            panic!("{to}: none");
        };
        let told = mistake["code"].as_str().expect("a code");
        assert!(told.starts_with(code), "{to}: {told}");
        let (line, character) = place(&wrong, at, 0);
        assert_eq!(mistake["range"]["start"]["line"], line, "{to}: {mistake}");
        let start = mistake["range"]["start"]["character"]
            .as_u64()
            .expect("a number");
        let end = mistake["range"]["end"]["character"]
            .as_u64()
            .expect("a number");
        assert!(
            start <= character as u64 + at.len() as u64 && end >= character as u64,
            "{to}: {mistake}"
        );
        client.change(&uri, 3, &right);
        assert_eq!(client.mistakes(&uri, 3), Vec::<Value>::new());
    }
}

/// An edit in one file may make another wrong, which is not open.
#[test]
fn mistakes_in_files_that_are_not_open_are_shown_and_cleared() {
    let (uri, text) = changed(
        "shared/sources/practice.rules",
        "source common_practice",
        "source usual_practice",
    );
    let (other, _) = file(BURIAL);
    let mut client = Client::of_library();
    client.open(&uri, &text);
    let of_other = |message: &Value| {
        message["method"] == "textDocument/publishDiagnostics" && message["params"]["uri"] == other
    };
    let told = client.wait_for(of_other);
    let mistake = &told["params"]["diagnostics"][0];
    assert_eq!(mistake["code"], "check::unknown_name");
    client.notify(
        "textDocument/didClose",
        json!({ "textDocument": { "uri": uri } }),
    );
    let told = client.wait_for(of_other);
    assert_eq!(told["params"]["diagnostics"], json!([]));
}

#[test]
fn related_places_are_told() {
    let (uri, text) = file(BURIAL);
    let text = text + "\nlimit concrete_over_rock : length = 2 in\n  cite nec_2023 \"x\"\n";
    let mut client = Client::of_library();
    client.open(&uri, &text);
    let mistakes = client.mistakes(&uri, 1);
    assert_eq!(mistakes[0]["code"], "check::declared_twice");
    let related = &mistakes[0]["relatedInformation"][0];
    assert_eq!(related["location"]["uri"], uri);
}

#[test]
fn a_fact_shows_its_type_its_meaning_and_how_it_is_had() {
    let (uri, text) = file(BURIAL);
    let mut client = Client::of_library();
    client.open(&uri, &text);
    let hover = client.ask("textDocument/hover", &uri, place(&text, "span.cover is", 6));
    let said = words(&hover);
    for part in [
        "`length`",
        "measured",
        "finished grade",
        "by: tape",
        "`before_cover`",
        "pothole",
        "20 ft",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let (line, character) = place(&text, "span.cover is", 5);
    assert_eq!(
        hover["range"]["start"],
        json!({ "line": line, "character": character })
    );
    let hover = client.ask("textDocument/hover", &uri, place(&text, "span.cover is", 1));
    assert!(words(&hover).contains("each of `cable.spans`"), "{hover}");
}

#[test]
fn labels_limits_tables_sources_and_hold_points_show_what_they_mean() {
    let (uri, text) = file(BURIAL);
    let mut client = Client::of_library();
    client.open(&uri, &text);
    for (wanted, on, part) in [
        ("over_rock)", 2, "solid rock beneath"),
        (
            "at least concrete_over_rock",
            12,
            "limit concrete_over_rock : length = 2 in",
        ),
        ("at least cover_by_wiring", 12, "table cover_by_wiring"),
        ("cite    nec_2023", 10, "National Electrical Code"),
        (
            "hold    before_cover",
            10,
            "Before pipe and cable are covered",
        ),
        ("hazard  electric_shock", 10, "Electricity can kill"),
        ("in supply_cables", 5, "supply cables and conductors"),
        ("wiring_method", 2, "How the conductors are run"),
    ] {
        let hover = client.ask("textDocument/hover", &uri, place(&text, wanted, on));
        assert!(words(&hover).contains(part), "{wanted}: {hover}");
    }
    let nothing = client.ask("textDocument/hover", &uri, place(&text, "Each stretch", 2));
    assert_eq!(nothing, Value::Null);
}

/// The town asks for 30 in where the model has 24 in.
#[test]
fn in_a_places_file_limits_show_their_way_through_the_layers() {
    let (uri, text) = file(TOWN);
    let mut client = Client::of_library();
    client.open(&uri, &text);
    client.mistakes(&uri, 1);
    let table = client.ask(
        "textDocument/hover",
        &uri,
        place(&text, "cover_by_wiring(direct", 3),
    );
    let said = words(&table);
    assert!(
        said.contains("direct_burial, yard: 24 in (model) → 30 in"),
        "{said}"
    );
    let limit = client.ask("textDocument/hover", &uri, place(&text, "greatest_bend", 3));
    let said = words(&limit);
    assert!(said.contains("360 deg (model) → 270 deg"), "{said}");
    assert!(said.contains("aldmoor/sarnfell/velder_mills"), "{said}");
}

#[test]
fn definitions_are_found_across_files() {
    let (burial, burial_text) = file(BURIAL);
    let (town, town_text) = file(TOWN);
    let mut client = Client::of_library();
    client.open(&burial, &burial_text);
    client.open(&town, &town_text);
    for (from, text, wanted, on, to, declared) in [
        (
            &burial,
            &burial_text,
            "span.cover is",
            6,
            "shared/vocabulary/supply.rules",
            "cover    : length",
        ),
        (
            &burial,
            &burial_text,
            "at least concrete_over_rock",
            12,
            BURIAL,
            "concrete_over_rock : length",
        ),
        (
            &burial,
            &burial_text,
            "at least cover_by_wiring",
            12,
            BURIAL,
            "cover_by_wiring (",
        ),
        (
            &burial,
            &burial_text,
            "cite    nec_2023",
            10,
            "shared/sources/codes.rules",
            "nec_2023 {",
        ),
        (
            &burial,
            &burial_text,
            "over_rock)",
            2,
            "shared/vocabulary/labels.rules",
            "over_rock             \"",
        ),
        (
            &town,
            &town_text,
            "strike rule cable_burial.sleeve",
            27,
            BURIAL,
            "sleeve {",
        ),
        (
            &town,
            &town_text,
            "strike rule cable_burial.sleeve",
            14,
            BURIAL,
            "cable_burial \"Burial",
        ),
        (
            &town,
            &town_text,
            "raceways.greatest_bend",
            12,
            "rules/raceways.rules",
            "greatest_bend :",
        ),
        (
            &town,
            &town_text,
            "adopt mills_stations",
            8,
            "jurisdictions/aldmoor/sarnfell/velder_mills/own_topic.rules",
            "mills_stations \"Stations",
        ),
        (
            &town,
            &town_text,
            "at least ribbon_height",
            10,
            TOWN,
            "ribbon_height :",
        ),
    ] {
        let found = client.ask("textDocument/definition", from, place(text, wanted, on));
        let (uri, target) = file(to);
        let (line, character) = place(&target, declared, 0);
        assert_eq!(found["uri"], uri, "{wanted}: {found}");
        let start = json!({ "line": line, "character": character });
        assert_eq!(found["range"]["start"], start, "{wanted}");
    }
}

#[test]
fn behind_a_dot_the_things_facts_are_offered() {
    let mut client = Client::of_library();
    let found = candidates(
        &mut client,
        BURIAL,
        "shall   span.cover is at least",
        "shall   span.",
    );
    assert!(
        has(&found, &["cover", "wiring", "location", "from", "to", "id"]),
        "{found:?}"
    );
    assert!(!found.iter().any(|word| word == "rule"), "{found:?}");
    let found = candidates(
        &mut client,
        TOWN,
        "amend raceways.greatest_bend",
        "amend raceways.",
    );
    assert!(
        has(&found, &["greatest_bend", "greatest_fill"]),
        "{found:?}"
    );
    let found = candidates(
        &mut client,
        TOWN,
        "strike rule cable_burial.sleeve",
        "strike rule cable_burial.",
    );
    assert!(has(&found, &["sleeve", "cover"]), "{found:?}");
    assert!(!has(&found, &["concrete_over_rock"]), "{found:?}");
}

#[test]
fn behind_is_the_choices_labels_are_offered() {
    let mut client = Client::of_library();
    let found = candidates(
        &mut client,
        BURIAL,
        "when    span.location is over_rock",
        "when    span.location is ",
    );
    assert!(
        has(&found, &["over_rock", "yard", "one of", "at least"]),
        "{found:?}"
    );
    assert!(!has(&found, &["direct_burial"]), "{found:?}");
    let found = candidates(
        &mut client,
        BURIAL,
        "is one of rising_to_termination, over_rock",
        "is one of rising_to_termination, o",
    );
    assert!(has(&found, &["over_rock", "yard"]), "{found:?}");
    let found = candidates(
        &mut client,
        TOWN,
        "cover_by_wiring(direct_burial, yard)",
        "cover_by_wiring(direct_burial, ",
    );
    assert!(has(&found, &["yard", "under_slab"]), "{found:?}");
}

#[test]
fn names_in_sight_and_the_languages_words_are_offered_where_they_can_stand() {
    let mut client = Client::of_library();
    let found = candidates(
        &mut client,
        BURIAL,
        "shall   span.cover is at least",
        "shall   ",
    );
    assert!(
        has(
            &found,
            &[
                "span",
                "cable",
                "site",
                "concrete_over_rock",
                "cover_by_wiring",
                "least_cover",
                "every",
                "if",
                "count of"
            ]
        ),
        "{found:?}"
    );
    assert!(!has(&found, &["remedy"]), "{found:?}");
    let found = candidates(
        &mut client,
        BURIAL,
        "shall   span.cover is at least",
        "shall   span.cover ",
    );
    assert!(
        has(&found, &["is at least", "is one of", "and", "in"]),
        "{found:?}"
    );
    let found = candidates(&mut client, BURIAL, "rule cover {\n", "rule cover {\n  ");
    assert!(
        has(
            &found,
            &[
                "title", "each", "when", "shall", "refer", "cite", "hold", "remedy", "hazard"
            ]
        ),
        "{found:?}"
    );
    let found = candidates(&mut client, BURIAL, "hold    before_cover", "hold    ");
    assert!(has(&found, &["before_cover", "later"]), "{found:?}");
    let found = candidates(
        &mut client,
        BURIAL,
        "cite    nec_2023 \"300.5(A)\"\n",
        "cite    ",
    );
    assert!(has(&found, &["nec_2023", "common_practice"]), "{found:?}");
    let found = candidates(
        &mut client,
        BURIAL,
        "each    cable in supply_cables",
        "each    cable in ",
    );
    assert!(has(&found, &["supply_cables", "stations"]), "{found:?}");
    let found = candidates(
        &mut client,
        "shared/vocabulary/supply.rules",
        "cover    : length          measured",
        "cover    : ",
    );
    assert!(
        has(&found, &["length", "slope", "wiring_method"]),
        "{found:?}"
    );
    let found = candidates(
        &mut client,
        "shared/vocabulary/supply.rules",
        "cover    : length          measured",
        "cover    : length ",
    );
    assert!(has(&found, &["measured", "stated"]), "{found:?}");
    let found = candidates(&mut client, TOWN, "# Cables\n", "# Cables\n\nam");
    assert!(has(&found, &["amend", "adopt", "rule"]), "{found:?}");
    let found = candidates(&mut client, TOWN, "adopt sewer_fall_upc\n", "adopt ");
    assert!(has(&found, &["sewer_fall_upc", "raceways"]), "{found:?}");
    assert_eq!(
        candidates(&mut client, TOWN, "# Cables\n", "# Cab"),
        Vec::<String>::new()
    );
}

/// `text_edit` takes the place of what was begun.
#[test]
fn a_begun_word_is_replaced() {
    let (uri, text) = changed(
        BURIAL,
        "shall   span.cover is at least",
        "shall   span.cov is at least",
    );
    let mut client = Client::of_library();
    client.open(&uri, &text);
    let (line, character) = place(&text, "span.cov ", 8);
    let items = client.ask("textDocument/completion", &uri, (line, character));
    let items = items.as_array().expect("a list");
    let cover = items
        .iter()
        .find(|item| item["label"] == "cover")
        .expect("cover");
    let range = &cover["textEdit"]["range"];
    assert_eq!(
        range["start"],
        json!({ "line": line, "character": character - 3 })
    );
    assert_eq!(
        range["end"],
        json!({ "line": line, "character": character })
    );
    assert_eq!(cover["detail"], "length");
}

#[test]
fn formatting_is_that_of_tidy() {
    let (uri, right) = file(BURIAL);
    let untidy = right
        .replace("  shall   ", " shall ")
        .replace(" : 24 in", ":24 in");
    let mut client = Client::of_library();
    client.open(&uri, &untidy);
    let ask = json!({ "textDocument": { "uri": uri }, "options": { "tabSize": 4, "insertSpaces": true } });
    let answer = client.request("textDocument/formatting", ask.clone());
    let edits = answer["result"].as_array().expect("edits");
    assert_eq!(edits.len(), 1);
    assert_eq!(edits[0]["newText"], right);
    assert_eq!(
        edits[0]["range"]["start"],
        json!({ "line": 0, "character": 0 })
    );
    assert_eq!(edits[0]["range"]["end"]["line"], untidy.lines().count());
    client.change(&uri, 2, &right);
    assert_eq!(
        client.request("textDocument/formatting", ask.clone())["result"],
        json!([])
    );
    client.change(&uri, 3, "rule {");
    assert_eq!(
        client.request("textDocument/formatting", ask)["result"],
        Value::Null
    );
}

/// `𐐀` is two units of UTF-16 and four bytes of UTF-8; the protocol counts in UTF-16 unless both
/// sides want otherwise.
#[test]
fn positions_are_counted_as_agreed() {
    let (uri, text) = file(BURIAL);
    let text = text + "\nrule r {\n  remedy \"𐐀\" hold nowhere\n}\n";
    let line = text.lines().count() - 2;
    for (offered, agreed, unit) in [
        (json!({}), "utf-16", 19),
        (
            json!({ "general": { "positionEncodings": ["utf-16", "utf-8"] } }),
            "utf-8",
            21,
        ),
        (
            json!({ "general": { "positionEncodings": ["utf-32"] } }),
            "utf-16",
            19,
        ),
    ] {
        let (mut client, said) = Client::started(Some(&library()), offered);
        assert_eq!(said["capabilities"]["positionEncoding"], agreed);
        client.open(&uri, &text);
        let mistakes = client.mistakes(&uri, 1);
        let unknown = mistakes
            .iter()
            .find(|mistake| mistake["code"] == "check::unknown_name");
        let unknown = unknown.expect("there is no such hold point");
        let start = json!({ "line": line, "character": unit });
        assert_eq!(unknown["range"]["start"], start, "{agreed}");
    }
}

/// Without a library's folder the file stands in the library inside the program.
#[test]
fn outside_of_a_library_a_file_stands_in_the_one_inside_the_program() {
    let (mut client, _) = Client::started(None, json!({}));
    let uri = "file:///nowhere/at%20all/my%20town.rules";
    let place_text = "place \"Town (invented)\" {\n  authority any \"Clerk (invented)\" \"Hall\"\n}\n\nadopt wells\n  from 2024-01-01   cite common_practice \"x\"   because \"x\"\n\nset wells.search_within = 100 ft\n  from 2024-01-01   cite common_practice \"x\"   because \"x\"\n";
    client.open(uri, place_text);
    assert_eq!(client.mistakes(uri, 1), Vec::<Value>::new());
    let hover = client.ask(
        "textDocument/hover",
        uri,
        place(place_text, "search_within", 2),
    );
    assert!(
        words(&hover).contains("limit search_within : length"),
        "{hover}"
    );
    let wrong = place_text.replace("wells.search_within", "wells.search_with");
    client.change(uri, 2, &wrong);
    assert_eq!(client.mistakes(uri, 2).len(), 1);
    let rules = "file:///elsewhere/rules/cable_burial.rules";
    let (_, text) = changed(BURIAL, "span.cover is at least", "span.depth is at least");
    client.change(uri, 3, place_text);
    client.open(rules, &text);
    assert_eq!(client.mistakes(rules, 1)[0]["code"], "check::unknown_fact");
}

#[test]
fn a_library_can_be_named() {
    let mut client = Client::silent(&["--library", env!("CARGO_MANIFEST_DIR")]);
    let start = json!({ "processId": null, "rootUri": null, "capabilities": {} });
    client.request("initialize", start);
    client.notify("initialized", json!({}));
    let (uri, text) = changed(BURIAL, "span.cover is at least", "span.depth is at least");
    client.open(&uri, &text);
    assert_eq!(client.mistakes(&uri, 1)[0]["code"], "check::unknown_fact");
    assert_eq!(
        Client::silent(&["--library", "no_such_folder"]).end(),
        Some(2)
    );
}

#[test]
fn bad_requests_get_errors_and_the_server_goes_on() {
    let mut client = Client::silent(&[]);
    let code = |answer: &Value| answer["error"]["code"].as_i64();
    let early = client.request("textDocument/hover", json!({}));
    assert_eq!(code(&early), Some(-32002), "{early}");
    let wrong = client.request("initialize", json!(7));
    assert_eq!(code(&wrong), Some(-32602), "{wrong}");
    client.request("initialize", json!({ "capabilities": {} }));
    client.notify("initialized", json!({}));
    for (method, params, expected) in [
        ("initialize", json!({ "capabilities": {} }), -32600),
        ("no/such/method", json!({}), -32601),
        ("textDocument/hover", json!({ "textDocument": 3 }), -32602),
        ("textDocument/formatting", Value::Null, -32602),
        ("textDocument/completion", json!([1, 2]), -32602),
    ] {
        let answer = client.request(method, params);
        assert_eq!(code(&answer), Some(expected), "{method}: {answer}");
    }
    client.notify("textDocument/didOpen", json!({ "textDocument": "none" }));
    client.notify("no/such/notification", json!({}));
    client.change("file:///not/open.rules", 2, "rule");
    let null_id = |message: &Value| message.get("id") == Some(&Value::Null);
    client.raw("Content-Length: 5\r\n\r\n{not}");
    assert_eq!(code(&client.wait_for(null_id)), Some(-32700));
    client.send(&json!({ "jsonrpc": "2.0", "id": 77 }));
    let answer = client.wait_for(|message| message["id"] == 77);
    assert_eq!(code(&answer), Some(-32600));
    let hover = client.ask("textDocument/hover", "file:///not/open.rules", (0, 0));
    assert_eq!(hover, Value::Null);
    client.open("file:///x.rules", "rule é { title \"");
    for at in [(0, 0), (0, 6), (0, 999), (999, 0)] {
        for method in ["hover", "definition", "completion"] {
            client.ask(&format!("textDocument/{method}"), "file:///x.rules", at);
        }
    }
    let deep = format!("rule r {{\n  shall {}", "(not ".repeat(100_000));
    client.change("file:///x.rules", 2, &deep);
    let at = end_of(&deep, &deep);
    let nothing = client.ask("textDocument/completion", "file:///x.rules", at);
    assert!(!labels(&nothing).contains(&"every"), "{nothing}");
    assert_eq!(
        client.request("shutdown", Value::Null)["result"],
        Value::Null
    );
}

#[test]
fn the_server_shuts_down_when_asked() {
    let (mut client, _) = Client::started(None, json!({}));
    client.request("shutdown", Value::Null);
    let late = client.request("textDocument/hover", json!({}));
    assert_eq!(late["error"]["code"], -32600);
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), Some(0));
    let (mut client, _) = Client::started(None, json!({}));
    client.notify("exit", Value::Null);
    assert_eq!(client.end(), Some(1));
    let (client, _) = Client::started(None, json!({}));
    assert_eq!(client.end(), Some(1));
}
