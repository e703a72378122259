//! Every mistake a vocabulary can hold, as its author sees it.

use miette::{GraphicalReportHandler, GraphicalTheme, NamedSource};

use groundrule::language::{self, syntax};
use groundrule::quantity::{Dimension, Interval, Rational};
use groundrule::source::{Located, SourceId, Sources};
use groundrule::vocabulary::{FactId, PointKind, SITE, Type, Vocabulary, VocabularyError, build};

const HOLDS: &str = "holds { before_cover \"Before the trench is closed\" hand_over \"When the owner takes over\" }\n\
                     permits { plumbing \"Plumbing permit\" }\n";

/// Builds the vocabulary of some texts, in the order given.
fn built(texts: &[&str]) -> Result<Vocabulary, String> {
    let mut sources = Sources::default();
    for (index, text) in texts.iter().enumerate() {
        sources.add(format!("{index}.rules"), *text);
    }
    let files = parsed(&sources);
    let files: Vec<_> = files.iter().map(|(id, file)| (*id, file)).collect();
    build(&files).map_err(|errors| shown(&errors, &sources))
}

fn parsed(sources: &Sources) -> Vec<(SourceId, syntax::File)> {
    let files = sources.iter().map(|(id, source)| {
        let file = language::parse(sources, id)
            .unwrap_or_else(|errors| panic!("{} does not parse: {:?}", source.name, errors));
        (id, file)
    });
    files.collect()
}

/// The mistakes in a text that has hold points and permits besides.
fn mistakes_in(text: &str) -> String {
    built(&[&format!("{HOLDS}{text}")]).expect_err("there is a mistake")
}

fn shown(errors: &[Located<VocabularyError>], sources: &Sources) -> String {
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor())
        .with_links(false)
        .with_width(100);
    let mut text = String::new();
    for Located { source, error } in errors {
        let source = sources.get(*source);
        let report = miette::Report::new(error.clone())
            .with_source_code(NamedSource::new(&source.name, source.text.to_string()));
        handler
            .render_report(&mut text, report.as_ref())
            .expect("a text takes what is written to it");
    }
    text
}

macro_rules! refuses {
    ($($name:ident: $text:expr;)*) => {$(
        #[test]
        fn $name() {
            insta::assert_snapshot!(mistakes_in($text));
        }
    )*};
}

refuses! {
    two_things_of_one_name: "thing well \"A well\" { }\nthing well \"A hole\" { }\n";
    two_members_of_one_name: "thing well \"A well\" {\n  depth : length measured \"how deep\"\n  list depth of site \"…\"\n}\n";
    two_lists_of_hold_points: "holds { before_cover \"Again\" }\n";
    someone_who_is_not_among_the_people: "people { crew \"Crew\" electrician \"Licensed electrician\" }\nthing panel \"The pump's panel\" for electrican { }\n";
    one_hold_point_twice: "hazards { fire \"Burns\" fire \"Burns\" }\n";
    a_choice_and_a_thing_of_one_name: "choice well \"Which\" { deep shallow }\nthing well \"A well\" { }\n";
    length_of_a_run_declared: "thing lateral \"A lateral\" run {\n  length : length measured \"how long\"\n}\n";
    an_unknown_type: "thing well \"A well\" {\n  depth : lenght measured \"how deep\"\n}\n";
    a_type_like_no_other: "thing well \"A well\" {\n  depth : fathoms measured \"how deep\"\n}\n";
    a_thing_as_a_fact: "thing well \"A well\" { }\nthing lot \"A lot\" {\n  near : well stated \"the next well\"\n}\n";
    a_list_of_an_unknown_thing: "thing well \"A well\" { }\nlist wells of wel \"wells\"\n";
    more_of_an_unknown_thing: "extend sight {\n  frost_depth : length stated \"how deep\"\n}\n";
    an_unknown_hold_point: "thing well \"A well\" {\n  depth : length measured \"how deep\" until before_covre\n}\n";
    a_label_twice: "size pipe_size \"Nominal size\" {\n  2 in or DN 50\n  3 in or DN 50\n}\n";
    a_choice_label_twice: "choice wiring \"How it is run\" { buried bare buried }\n";
    a_thing_named_like_a_type: "thing length \"A length\" { }\n";
    a_fact_named_id: "thing well \"A well\" {\n  id : text stated \"its id\"\n}\n";
    a_list_named_like_a_head_key: "thing permit \"A permit\" { }\nlist permits of permit \"permits\"\n";
    the_site_declared: "thing site \"The lot\" { }\n";
    a_circle_of_lists: "thing visit \"A visit\" {\n  list corrections of correction \"what was written up\"\n}\nthing correction \"A correction\" {\n  list visits of visit \"later visits\"\n}\n";
    a_thing_within_itself: "thing visit \"A visit\" {\n  list visits of visit \"later visits\"\n}\n";
    a_range_without_unit: "thing well \"A well\" {\n  depth : length measured \"how deep\" between 0 and 20\n}\n";
    a_range_of_another_dimension: "thing well \"A well\" {\n  depth : length measured \"how deep\" between 0 psi and 20 ft\n}\n";
    a_slope_range_without_unit: "thing lid \"A lid\" {\n  tilt : slope measured \"how far off level\" between 0 and 20 %\n}\n";
    a_range_of_a_truth: "thing well \"A well\" {\n  lined : yes_no stated \"it is lined\" between 0 and 1\n}\n";
    a_reversed_range: "thing well \"A well\" {\n  depth : length measured \"how deep\" between 20 ft and 0 in\n}\n";
    a_gap_that_is_no_length: "thing lateral \"A lateral\" run gap 50 psi { }\n";
    a_gap_of_nothing: "thing lateral \"A lateral\" run gap 0 ft { }\n";
    then_without_until: "thing well \"A well\" {\n  depth : length measured \"how deep\" by \"tape\" then \"sounding\"\n}\n";
    a_survey_of_an_unknown_type: "thing well \"A well\" { }\nsurvey depth (of_what: wel) gives lenght \"how deep\"\n";
    a_survey_of_things_and_types: "thing well \"A well\" { }\nsurvey depth (what: well or length) gives length \"how deep\"\n";
}

#[test]
fn asks_for_hold_points_and_permits() {
    let errors = built(&["thing well \"A well\" { }\n"]).expect_err("both are missing");
    insta::assert_snapshot!(errors);
}

#[test]
fn says_in_both_files_what_is_declared_in_two() {
    let well = "thing well \"A well\" { }\n";
    let first = format!("{HOLDS}{well}");
    let errors = built(&[&first, well]).expect_err("it is declared twice");
    insta::assert_snapshot!(errors);
}

const STATION: &str = "thing station \"A station\" {\n  depth : length measured \"how deep\" until before_cover then \"rod\" between 2 ft and 30 ft\n  list basins of basin \"basins\"\n}\n";
const BASIN: &str = "thing basin \"A basin\" { }\nextend site {\n  snow : length stated \"how much\"\n}\nlist stations of station \"stations\"\nextend station {\n  width : length measured \"how wide\"\n}\n";

#[test]
fn the_order_of_files_does_not_matter() {
    let order = |reversed: bool| {
        let mut sources = Sources::default();
        for text in [HOLDS, STATION, BASIN] {
            sources.add("some.rules", text);
        }
        let mut files = parsed(&sources);
        if reversed {
            files.reverse();
        }
        let files: Vec<_> = files.iter().map(|(id, file)| (*id, file)).collect();
        format!("{:?}", build(&files).expect("no mistake"))
    };
    assert_eq!(order(false), order(true));
}

#[test]
fn the_site_is_first_and_other_things_follow_by_name() {
    let vocabulary = built(&[HOLDS, STATION, BASIN]).expect("no mistake");
    let names: Vec<_> = vocabulary.things.iter().map(|thing| &thing.name).collect();
    assert_eq!(names, ["site", "basin", "station"]);
    assert!(vocabulary.thing(SITE).fact_named("snow").is_some());
    assert!(vocabulary.thing(SITE).list_named("stations").is_some());
}

#[test]
fn added_members_come_after_the_things_own() {
    let vocabulary = built(&[HOLDS, BASIN, STATION]).expect("no mistake");
    let station = vocabulary.thing(vocabulary.thing_names["station"]);
    assert_eq!(station.fact_named("depth"), Some(FactId(0)));
    assert_eq!(station.fact_named("width"), Some(FactId(1)));
}

#[test]
fn a_fact_keeps_all_that_is_said_of_it() {
    let vocabulary = built(&[HOLDS, BASIN, STATION]).expect("no mistake");
    let station = vocabulary.thing(vocabulary.thing_names["station"]);
    let depth = station.fact(FactId(0));
    assert_eq!(depth.kind, Type::Quantity(Dimension::LENGTH));
    assert_eq!(depth.until, vocabulary.hold("before_cover"));
    assert_eq!(depth.then.as_deref(), Some("rod"));
    // The international foot is 0.3048 m exactly (agreement of 1959): 2 ft and 30 ft in metres.
    let ends = [6096, 91440].map(|parts| Rational::new(parts, 10_000).expect("not over zero"));
    assert_eq!(depth.range, Interval::new(ends[0], ends[1]));
}

#[test]
fn runs_stretches_and_points_bring_their_chainages() {
    let vocabulary = built(&[
        HOLDS,
        "thing cable \"A cable\" run gap 50 ft { }\nthing span \"A span\" stretch { }\nthing shot \"A shot\" point { }\n",
    ])
    .expect("no mistake");
    let slots = |thing: &str| -> Vec<_> {
        let thing = vocabulary.thing(vocabulary.thing_names[thing]);
        let facts = thing.facts.iter();
        facts.map(|fact| (fact.name.clone(), fact.kind)).collect()
    };
    let chainage = Type::Point(PointKind::Chainage);
    assert_eq!(slots("cable"), [("length".into(), chainage)]);
    assert_eq!(
        slots("span"),
        [("from".into(), chainage), ("to".into(), chainage)]
    );
    assert_eq!(slots("shot"), [("at".into(), chainage)]);
}

#[test]
fn the_vocabulary_of_the_job_has_no_mistake() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("shared/vocabulary");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .expect("the vocabulary is there")
        .map(|entry| entry.expect("the folder can be listed").path())
        .collect();
    paths.sort();
    let texts: Vec<_> = paths
        .iter()
        .map(|path| std::fs::read_to_string(path).expect("the file can be read"))
        .collect();
    let texts: Vec<_> = texts.iter().map(String::as_str).collect();
    let vocabulary = built(&texts).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    assert!(vocabulary.thing(SITE).list_named("supply_cables").is_some());
}
