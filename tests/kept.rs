//! What is kept of an archive: nothing is judged again in vain, what was cut off goes on, what
//! turned is told, and whatever is asked the answer is that of a screening that keeps nothing.

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use groundrule::finding::Report;
use groundrule::kept::{Asked, Keeping};
use groundrule::library::{embedded, open};
use groundrule::record::Overrides;
use groundrule::screen::{Content, Screening, Submitted};
use rusqlite::{Connection, types::Value};
use tempfile::TempDir;

mod archive;

/// A folder of its own, with lots of the demo in `lots/`.
struct Place {
    folder: TempDir,
}

impl Place {
    fn new(lots: &[&str]) -> Place {
        let place = Place {
            folder: TempDir::new().expect("a folder"),
        };
        std::fs::create_dir(place.path("lots")).expect("a folder in it");
        for lot in lots {
            let name = lot.rsplit('/').next().expect("a name");
            place.write(&format!("lots/{name}"), &demo(lot));
        }
        place
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).expect("a file");
    }

    fn change(&self, name: &str, from: &str, to: &str) {
        let text = std::fs::read_to_string(self.path(name)).expect("a file");
        assert!(text.contains(from), "{name} has `{from}`");
        self.write(name, &text.replace(from, to));
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_groundrule"));
        command
            .arg("screen")
            .args(arguments)
            .current_dir(self.folder.path());
        command
    }

    fn screen(&self, arguments: &[&str]) -> Output {
        let output = self.command(arguments).output();
        output.expect("the program runs")
    }

    /// Screens the lots and keeps them in `kept.gpkg`; the summary.
    fn keep(&self) -> String {
        text(&self.screen(&["lots", "--keep", "kept.gpkg"]).stdout)
    }

    fn database(&self) -> Connection {
        Connection::open(self.path("kept.gpkg")).expect("a database")
    }
}

fn demo(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("demo")
        .join(name);
    std::fs::read_to_string(path).expect("a file of the demo")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

fn rows(database: &Connection, statement: &str) -> Vec<Vec<Value>> {
    let mut prepared = database.prepare(statement).expect("a statement");
    let columns = prepared.column_count();
    let rows = prepared.query_map([], |row| (0..columns).map(|at| row.get(at)).collect());
    let rows = rows.expect("it runs").collect::<Result<_, _>>();
    rows.expect("rows")
}

fn words(database: &Connection, statement: &str) -> Vec<String> {
    let rows = rows(database, statement).into_iter();
    let words = rows.map(|row| {
        let cells = row.into_iter().map(|cell| match cell {
            Value::Text(text) => text,
            Value::Null => "-".to_owned(),
            Value::Integer(number) => number.to_string(),
            other => format!("{other:?}"),
        });
        cells.collect::<Vec<_>>().join(" ")
    });
    words.collect()
}

/// All that a file holds, but for what a clock said.
fn content(file: &Path) -> Vec<(String, Vec<Vec<Value>>)> {
    let database = Connection::open(file).expect("a database");
    let names = words(
        &database,
        "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name",
    );
    let each = names.into_iter().map(|name| {
        let clocks = ["began", "ended", "last_change"];
        let columns = words(
            &database,
            &format!("SELECT name FROM pragma_table_info('{name}')"),
        );
        let columns = columns
            .iter()
            .filter(|column| !clocks.contains(&column.as_str()));
        let columns: Vec<String> = columns.map(|column| format!("\"{column}\"")).collect();
        let all = format!(
            "SELECT {} FROM \"{name}\" ORDER BY 1, 2",
            columns.join(", ")
        );
        let rows = rows(&database, &all);
        (name, rows)
    });
    each.collect()
}

const LOTS: [&str; 4] = [
    "velder_mills/lot_06.yaml",
    "velder_mills/lot_07.yaml",
    "velder_mills/lot_15.yaml",
    "hask_ferry/row_03.yaml",
];

const FORMS: [&str; 5] = ["text", "json", "csv", "sarif", "geojson"];

/// A summary without what it says of the file.
fn without_kept(summary: &str) -> String {
    let Some((before, after)) = summary.split_once("KEPT IN") else {
        return summary.to_owned();
    };
    let (_, after) = after.split_once("This screens").expect("how it ends");
    format!("{before}This screens{after}")
}

#[test]
fn every_form_says_the_same_whether_results_are_kept_or_not() {
    let place = Place::new(&LOTS);
    let plans = ["quern_landing/lot_03.yaml", "quern_landing/lot_03.geojson"];
    for file in plans {
        place.write(&format!("lots/{}", &file[14..]), &demo(file));
    }
    for form in FORMS {
        // The plan is passed over, which only the screening of a folder says.
        let lots = ["lots/lot_07.yaml", "lots/lot_03.yaml", "lots/no_such.yaml"];
        let asked = [&lots[..], &["--as", form]].concat();
        let plain = place.screen(&asked);
        let keeping = [&asked[..], &["--keep", "kept.gpkg"]].concat();
        let first = place.screen(&keeping);
        let again = place.screen(&keeping);
        let read = place.screen(&["--kept", "kept.gpkg", "--as", form]);
        for (what, other) in [("kept", first), ("kept again", again), ("read", read)] {
            let said = without_kept(&text(&other.stdout));
            assert!(said == text(&plain.stdout), "{form}, {what}:\n{said}");
            assert_eq!(other.status.code(), plain.status.code(), "{form}, {what}");
        }
    }
    let filter = ["--verdict", "falls_short", "--near", "0", "--most", "1"];
    let lots = ["lots/lot_07.yaml", "lots/lot_03.yaml", "lots/no_such.yaml"];
    let plain = place.screen(&[&lots[..], &filter].concat());
    let read = place.screen(&[&["--kept", "kept.gpkg"][..], &filter].concat());
    assert_eq!(text(&read.stdout), text(&plain.stdout));
}

/// Every finding of a record of the archive comes back as it was, numbers included.
#[test]
fn generated_records_come_back_from_the_file_byte_for_byte() {
    let place = Place::new(&[]);
    let lines: Vec<String> = archive::Archive::new(21).take(60).collect();
    place.write("lots/archive.jsonl", &(lines.join("\n") + "\nno record\n"));
    let plain = place.screen(&["lots", "--as", "json"]);
    place.keep();
    let again = place.screen(&["lots", "--as", "json", "--keep", "kept.gpkg"]);
    assert!(plain.stdout.len() > 1_000_000);
    assert!(plain.stdout == again.stdout);
    let told = text(&again.stderr);
    assert!(told.contains("61 records: 0 judged"), "{told}");
}

#[test]
fn only_what_changed_is_judged_again() {
    let place = Place::new(&LOTS);
    assert!(place.keep().contains("4 records: 4 judged."));
    let again = place.keep();
    assert!(
        again.contains("4 records: 0 judged and 4 taken over"),
        "{again}"
    );
    assert!(again.contains("nothing turned"), "{again}");
    place.change("lots/lot_07.yaml", "cover: 24 1/2 in", "cover: 24 in");
    assert!(
        place
            .keep()
            .contains("4 records: 1 judged and 3 taken over")
    );
    // Back to what was said before.
    place.change("lots/lot_07.yaml", "cover: 24 in", "cover: 24 1/2 in");
    assert!(
        place
            .keep()
            .contains("4 records: 0 judged and 4 taken over")
    );
    let database = place.database();
    let judged = words(&database, "SELECT judged FROM screenings ORDER BY id");
    assert_eq!(judged, ["4", "0", "1", "0"]);
    // What is shown is what was said last.
    let shown = "SELECT DISTINCT measured FROM findings
                 WHERE lot = 'VM-07' AND rule = 'cable_burial.cover' AND verdict = 'falls_short'";
    assert_eq!(words(&database, shown), ["24 1/2 in ± 1/4 in"]);
}

#[test]
fn other_options_and_other_plans_are_judged_anew() {
    let place = Place::new(&["quern_landing/lot_03.yaml", "quern_landing/lot_03.geojson"]);
    assert!(place.keep().contains("1 record: 1 judged"));
    assert!(place.keep().contains("1 record: 0 judged"));
    place.change("lots/lot_03.geojson", "-39.99972638", "-39.99972639");
    assert!(place.keep().contains("1 record: 1 judged"));
    std::fs::remove_file(place.path("lots/lot_03.geojson")).expect("it is there");
    assert!(place.keep().contains("1 record: 1 judged"));
    let database = place.database();
    let lots = words(&database, "SELECT status, error FROM lots");
    assert!(lots[0].starts_with("2 can't read the plan"), "{lots:?}");
    assert_eq!(
        words(&database, "SELECT count(*) FROM things_on_map"),
        ["0"]
    );
    drop(database);
    place.write("lots/lot_03.geojson", &demo("quern_landing/lot_03.geojson"));
    assert!(place.keep().contains("1 record: 0 judged"), "as at first");
    let asked = ["lots", "--keep", "kept.gpkg", "--at", "hand_over"];
    let told = text(&place.screen(&asked).stdout);
    assert!(told.contains("1 record: 1 judged"), "{told}");
}

#[test]
fn another_ruleset_judges_anew_and_is_named() {
    let place = Place::new(&["velder_mills/lot_07.yaml"]);
    for part in ["rules", "jurisdictions", "shared"] {
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join(part);
        for entry in walkdir::WalkDir::new(&from) {
            let entry = entry.expect("a file");
            let name = entry.path().strip_prefix(env!("CARGO_MANIFEST_DIR"));
            let to = place.path("library").join(name.expect("inside"));
            if entry.file_type().is_dir() {
                std::fs::create_dir_all(to).expect("a folder");
            } else {
                std::fs::copy(entry.path(), to).expect("a file");
            }
        }
    }
    place.keep();
    // The town asks for less from now on.
    let town = "library/jurisdictions/aldmoor/sarnfell/velder_mills/place.rules";
    place.change(town, "24 in becomes 30 in", "24 in becomes 24 in");
    let asked = ["lots", "--keep", "kept.gpkg", "--library", "library"];
    let told = text(&place.screen(&asked).stdout);
    assert!(told.contains("1 record: 1 judged"), "{told}");
    assert!(told.contains("by another ruleset"), "{told}");
    let database = place.database();
    let changed = "SELECT DISTINCT what_changed FROM changes WHERE rule = 'cable_burial.cover'";
    assert_eq!(words(&database, changed), ["rules"]);
    let rulesets = "SELECT count(DISTINCT ruleset) FROM history WHERE lot = 'VM-07'";
    assert_eq!(words(&database, rulesets), ["2"]);
}

#[test]
fn a_lot_that_was_mended_shows_as_mended_and_one_that_got_worse_as_short() {
    let place = Place::new(&LOTS);
    place.keep();
    place.change("lots/lot_07.yaml", "cover: 24 1/2 in", "cover: 31 in");
    place.change(
        "lots/lot_15.yaml",
        "record: 1",
        "record: 1 # looked at again",
    );
    std::fs::remove_file(place.path("lots/row_03.yaml")).expect("it is there");
    place.write("lots/lot_08.yaml", &demo("velder_mills/lot_08.yaml"));
    let told = place.keep();
    let database = place.database();
    let turned = "SELECT lot, turn, rule, before, after, what_changed FROM changes
                  WHERE rule IS NULL OR rule = 'cable_burial.cover' ORDER BY lot";
    assert_eq!(
        words(&database, turned),
        [
            "HF-ROW-03 gone - - - -",
            "VM-07 mended cable_burial.cover falls_short meets record",
            "VM-08 new - - - -",
        ]
    );
    for said in ["1 gone", "1 mended", "1 new"] {
        assert!(told.contains(said), "{said} in {told}");
    }
    let mended =
        "  lots/lot_07.yaml  cable_burial.cover at SC-1, supply_cables[0].spans[1]: mended";
    assert!(told.contains(mended), "{told}");
    assert!(told.contains("  lots/row_03.yaml  gone"), "{told}");
    // What is gone is shown no more, and stays in the history.
    assert_eq!(
        words(
            &database,
            "SELECT count(*) FROM findings WHERE lot = 'HF-ROW-03'"
        ),
        ["0"]
    );
    assert_eq!(
        words(
            &database,
            "SELECT screening, status FROM history WHERE lot = 'HF-ROW-03'"
        ),
        ["1 1"]
    );
    drop(database);
    place.change("lots/lot_07.yaml", "cover: 31 in", "cover: 20 in");
    place.keep();
    let newly = "SELECT lot, turn, before, after, before_measured, after_measured FROM changes
                 WHERE screening = 3";
    assert_eq!(
        words(&place.database(), newly),
        [
            "VM-07 falls short now meets falls_short 31 in ± 1/4 in against 30 in 20 in ± 1/4 in \
             against 30 in"
        ]
    );
}

#[test]
fn what_cannot_be_read_is_kept_with_its_errors_and_told_once_it_can() {
    let place = Place::new(&LOTS[..1]);
    place.write("lots/broken.yaml", "record: 1\nlot: [\n");
    place.keep();
    let broken = "SELECT status, error IS NOT NULL FROM lots WHERE record = 'lots/broken.yaml'";
    assert_eq!(words(&place.database(), broken), ["2 1"]);
    place.write("lots/broken.yaml", &demo("velder_mills/lot_07.yaml"));
    place.write("lots/lot_06.yaml", "no record");
    place.keep();
    let turned = "SELECT record, turn FROM changes ORDER BY record";
    assert_eq!(
        words(&place.database(), turned),
        ["lots/broken.yaml read now", "lots/lot_06.yaml not read now"]
    );
}

/// A lot that moves down a table is the same lot.
#[test]
fn a_lot_of_a_stream_is_known_by_its_number_whatever_its_line() {
    let place = Place::new(&[]);
    let lines: Vec<String> = archive::Archive::new(4).take(6).collect();
    place.write("lots/archive.jsonl", &(lines.join("\n") + "\n"));
    place.keep();
    let mut moved = lines.clone();
    moved.rotate_left(1);
    place.write("lots/archive.jsonl", &(moved.join("\n") + "\n"));
    let told = place.keep();
    assert!(told.contains("nothing turned"), "{told}");
    assert_eq!(
        words(&place.database(), "SELECT count(*) FROM records"),
        ["6"]
    );
}

/// Feeds lines to a screening that keeps, and kills it once so many answers have come.
fn killed_after(place: &Place, lines: &[String], answers: usize) {
    let mut child = place
        .command(&["-", "--as", "json", "--keep", "kept.gpkg"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut stdin = child.stdin.take().expect("standard input");
    let mut said = BufReader::new(child.stdout.take().expect("standard output")).lines();
    for line in &lines[..answers] {
        writeln!(stdin, "{line}").expect("it reads on");
        stdin.flush().expect("it reads on");
        let answer = said.next().expect("an answer").expect("UTF-8");
        assert!(serde_json::from_str::<Report>(&answer).is_ok());
    }
    // More is under way when it ends.
    for line in &lines[answers..] {
        writeln!(stdin, "{line}").expect("it reads on");
    }
    child.kill().expect("it runs");
    child.wait().expect("it ends");
}

fn fed(place: &Place, lines: &[String]) -> Output {
    let mut child = place
        .command(&["-", "--keep", "kept.gpkg"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut stdin = child.stdin.take().expect("standard input");
    for line in lines {
        writeln!(stdin, "{line}").expect("it reads on");
    }
    drop(stdin);
    child.wait_with_output().expect("it ends")
}

#[test]
fn a_killed_screening_goes_on_and_ends_like_one_that_was_not() {
    let lines: Vec<String> = archive::Archive::new(11).take(40).collect();
    let (killed, whole) = (Place::new(&[]), Place::new(&[]));
    // A screening before both, so that something may turn.
    for place in [&killed, &whole] {
        fed(
            place,
            &archive::Archive::new(11).take(3).collect::<Vec<_>>(),
        );
    }
    killed_after(&killed, &lines, 7);
    let cut_off = words(
        &killed.database(),
        "SELECT count(*) FROM screenings WHERE ended IS NULL",
    );
    assert_eq!(cut_off, ["1"]);
    let gone_on = fed(&killed, &lines);
    let uninterrupted = fed(&whole, &lines);
    let told = text(&gone_on.stdout);
    let on_one_line = told.split_whitespace().collect::<Vec<_>>().join(" ");
    let went_on = "A screening that was cut off went on, with ";
    assert!(on_one_line.contains(went_on), "{told}");
    assert!(!told.contains("40 records: 40 judged"), "{told}");
    assert_eq!(
        without_kept(&told),
        without_kept(&text(&uninterrupted.stdout))
    );
    let both = [&killed, &whole].map(|place| content(&place.path("kept.gpkg")));
    assert!(both[0].len() > 10);
    for (one, two) in both[0].iter().zip(&both[1]) {
        assert_eq!(one.0, two.0);
        assert!(one.1 == two.1, "the table {} differs", one.0);
    }
}

#[test]
fn what_another_call_cut_off_is_not_gone_on_with() {
    let lines: Vec<String> = archive::Archive::new(12).take(10).collect();
    let place = Place::new(&LOTS);
    killed_after(&place, &lines, 5);
    let refused = place.screen(&["--kept", "kept.gpkg"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(text(&refused.stderr).contains("no screening in it came to its end"));
    let told = place.keep();
    assert!(told.contains("4 records: 4 judged."), "{told}");
    let database = place.database();
    for (table, count) in [("screenings", "1"), ("records", "4"), ("results", "4")] {
        let counted = words(&database, &format!("SELECT count(*) FROM {table}"));
        assert_eq!(counted, [count], "{table}");
    }
}

/// What standard error says of a call that has to fail, and leaves the file as it is.
fn refused(place: &Place, file: &str) -> String {
    let before = std::fs::read(place.path(file)).ok();
    let output = place.screen(&["lots", "--keep", file]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(text(&output.stdout), "");
    assert_eq!(
        std::fs::read(place.path(file)).ok(),
        before,
        "{file} is as it was"
    );
    text(&output.stderr)
}

#[test]
fn files_of_another_kind_are_refused_and_left_as_they_are() {
    let place = Place::new(&LOTS[..1]);
    place.write("notes.gpkg", "these are notes");
    assert!(refused(&place, "notes.gpkg").contains("found another format"));
    std::fs::create_dir(place.path("folder.gpkg")).expect("a folder");
    assert!(refused(&place, "folder.gpkg").contains("found a folder"));
    let ending = refused(&place, "kept.db");
    assert!(ending.contains("does not end in `.gpkg`") && ending.contains("write `kept.gpkg`"));
    let other = Connection::open(place.path("other.gpkg")).expect("a database");
    other
        .execute_batch("CREATE TABLE pipes (id INTEGER)")
        .expect("a table");
    drop(other);
    assert!(refused(&place, "other.gpkg").contains("found an SQLite database of another program"));
    let map = Connection::open(place.path("map.gpkg")).expect("a database");
    map.execute_batch("PRAGMA application_id = 1196444487; CREATE TABLE roads (id INTEGER)")
        .expect("a table");
    drop(map);
    assert!(refused(&place, "map.gpkg").contains("found a GeoPackage of another program"));
    place.keep();
    place
        .database()
        .execute_batch("UPDATE groundrule SET form = 7, program = '9.0.0'")
        .expect("ours");
    let form = refused(&place, "kept.gpkg");
    assert!(
        form.contains("found form 7 of kept results, expected form 1"),
        "{form}"
    );
    assert!(form.contains("groundrule 9.0.0 wrote it"), "{form}");
    let missing = refused(&place, "no/such/folder.gpkg");
    assert!(
        missing.contains("unable to open database file"),
        "{missing}"
    );
}

#[test]
fn a_second_screening_into_one_file_is_refused() {
    let place = Place::new(&LOTS[..1]);
    let mut first = place
        .command(&["-", "--as", "json", "--keep", "kept.gpkg"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program runs");
    let mut stdin = first.stdin.take().expect("standard input");
    let mut said = BufReader::new(first.stdout.take().expect("standard output")).lines();
    let line = archive::Archive::new(2).next().expect("a record");
    writeln!(stdin, "{line}").expect("it reads on");
    said.next().expect("an answer").expect("UTF-8");
    let second = refused(&place, "kept.gpkg");
    assert!(second.contains("another program is using it"), "{second}");
    let reading = place.screen(&["--kept", "kept.gpkg"]);
    assert!(text(&reading.stderr).contains("another program is using it"));
    drop(stdin);
    first.wait().expect("it ends");
    assert!(place.keep().contains("1 record: 1 judged"));
}

#[test]
fn a_folder_without_records_leaves_no_file() {
    let place = Place::new(&[]);
    let output = place.screen(&["lots", "--keep", "kept.gpkg"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(!place.path("kept.gpkg").exists());
}

#[test]
fn the_file_is_no_part_of_the_folder_that_it_lies_in() {
    let place = Place::new(&LOTS[..1]);
    for _ in 0..2 {
        let output = place.screen(&["lots", "--keep", "lots/kept.gpkg"]);
        let told = text(&output.stdout);
        assert!(!told.contains("passed over"), "{told}");
        assert!(told.contains("1 record screened"), "{told}");
    }
}

#[test]
fn rows_of_a_table_are_taken_over_until_the_sheet_or_the_row_changes() {
    let place = Place::new(&[]);
    for name in ["cards.csv", "cards.sheet"] {
        place.write(&format!("lots/{name}"), &demo(&format!("old_cards/{name}")));
    }
    let keep = || {
        let asked = ["lots", "--sheet", "lots/cards.sheet", "--keep", "kept.gpkg"];
        text(&place.screen(&asked).stdout)
    };
    assert!(keep().contains("6 records: 6 judged."));
    assert!(keep().contains("6 records: 0 judged"));
    place.change("lots/cards.csv", "VM-103", "VM-113");
    assert!(keep().contains("6 records: 1 judged"));
    place.change("lots/cards.sheet", "sheet: 1", "sheet: 1 # copied");
    let told = keep();
    assert!(told.contains("6 records: 6 judged"), "{told}");
}

#[test]
fn the_file_is_the_same_whatever_the_number_of_threads() {
    let lines: Vec<String> = archive::Archive::new(31).take(150).collect();
    let contents = ["1", "4"].map(|threads| {
        let place = Place::new(&[]);
        place.write("lots/archive.jsonl", &(lines.join("\n") + "\n"));
        place.screen(&["lots", "--keep", "kept.gpkg", "--threads", threads]);
        content(&place.path("kept.gpkg"))
    });
    assert!(contents[0] == contents[1]);
}

/// What a run leaves that is cut off after some lots of a folder.
fn cut_off(place: &Place, lots: &[&str]) {
    let opened = open(&embedded()).expect("the library opens");
    let overrides = Overrides::default();
    let plans = |_: &str, _: &str| Err("there are none".to_owned());
    let screening = Screening::new(&opened, &overrides, &[], None, &plans);
    let asked = Asked {
        paths: vec!["lots".to_owned()],
    };
    let pool = rayon::ThreadPoolBuilder::new().build().expect("threads");
    let file = place.path("kept.gpkg");
    let mut keeping = Keeping::open(&file, &screening, asked).expect("a file");
    let batch = lots.iter().map(|lot| Submitted {
        name: format!("lots/{lot}"),
        content: Content::Whole(
            std::fs::read_to_string(place.path(&format!("lots/{lot}"))).expect("a lot"),
        ),
    });
    let all = keeping.batch(&screening, &pool, batch.collect(), |screened| screened);
    assert_eq!(all.expect("it is kept").len(), lots.len());
}

#[test]
fn lots_that_change_or_vanish_while_a_screening_is_cut_off_are_kept_as_they_are_now() {
    let place = Place::new(&LOTS);
    cut_off(&place, &["lot_06.yaml", "lot_07.yaml", "lot_15.yaml"]);
    place.change("lots/lot_07.yaml", "cover: 24 1/2 in", "cover: 31 in");
    std::fs::remove_file(place.path("lots/lot_15.yaml")).expect("it is there");
    let told = place.keep();
    assert!(
        told.contains("3 records: 2 judged and 1 taken over"),
        "{told}"
    );
    let whole = Place::new(&LOTS);
    whole.change("lots/lot_07.yaml", "cover: 24 1/2 in", "cover: 31 in");
    std::fs::remove_file(whole.path("lots/lot_15.yaml")).expect("it is there");
    whole.keep();
    for all in [
        "SELECT record, lot, status, falls_short, not_recorded FROM lots ORDER BY record",
        "SELECT record, rule, subject, verdict, measured, \"limit\", missing, caution FROM findings
         ORDER BY 1, 2, 3, 4, 5",
        "SELECT screening, record, record_digest, status FROM history ORDER BY record",
        "SELECT record_digest, status, length(report) > 0 FROM results ORDER BY record_digest",
        "SELECT records, fall_short, undecided, in_order FROM screenings",
        "SELECT name, result IS NULL FROM records ORDER BY name",
    ] {
        let said = [&place, &whole].map(|place| rows(&place.database(), all));
        assert!(said[0] == said[1], "{all}: {said:?}");
        assert!(!said[0].is_empty(), "{all}");
    }
}

#[test]
fn a_damaged_report_is_judged_anew_and_is_no_panic_where_it_is_read() {
    let place = Place::new(&LOTS[..2]);
    place.keep();
    let damage = "UPDATE results SET report = x'789c00' WHERE id = 1";
    place.database().execute(damage, []).expect("ours");
    let read = place.screen(&["--kept", "kept.gpkg"]);
    assert_eq!(read.status.code(), Some(2));
    assert!(text(&read.stderr).contains("a report in it can't be read"));
    assert!(place.keep().contains("2 records: 1 judged"), "and mended");
    assert_eq!(
        place.screen(&["--kept", "kept.gpkg"]).status.code(),
        Some(1)
    );
}
