//! An archive is screened as its records are checked one by one: same findings, same order, and
//! what can't be read among them stops nothing.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::LazyLock;

use groundrule::finding::{Finding, Report, Verdict};
use groundrule::judge::{self, Chooser, Describer, Telling};
use groundrule::layers::{Dates, in_force};
use groundrule::library::{Opened, embedded, open};
use groundrule::program::compile;
use groundrule::quantity::date;
use groundrule::record::{self, Overrides};
use groundrule::report::{self, terminal};
use groundrule::screen::{Content, Gist, Screening, Submitted, Summary, SummarySetting};
use groundrule::source::Sources;
use groundrule::survey;
use serde_json::Value;

mod archive;

static LIBRARY: LazyLock<Opened> = LazyLock::new(|| open(&embedded()).expect("the library opens"));

/// The output and the status of `groundrule screen`, given a text on standard input.
fn screen(arguments: &[&str], input: &str) -> (String, i32) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_groundrule"))
        .arg("screen")
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut stdin = child.stdin.take().expect("standard input");
    let input = input.to_owned();
    let writer = std::thread::spawn(move || stdin.write_all(input.as_bytes()));
    let output = child.wait_with_output().expect("the program ends");
    writer
        .join()
        .expect("a thread")
        .expect("it reads to the end");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    (text, output.status.code().expect("it ends by itself"))
}

fn generated(count: usize) -> String {
    let lines = archive::Archive::new(7).take(count);
    lines.map(|line| line + "\n").collect()
}

fn reports(lines: &str) -> Vec<Report> {
    let documents = lines.lines().map(serde_json::from_str);
    documents
        .collect::<Result<_, _>>()
        .expect("a report a line")
}

fn demo(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("demo")
        .join(name);
    std::fs::read_to_string(path).expect("a file of the demo")
}

#[test]
fn the_output_is_the_same_whatever_the_number_of_threads() {
    let archive = generated(40);
    for form in ["text", "json", "csv", "sarif", "geojson"] {
        let (one, _) = screen(&["-", "--as", form, "--threads", "1"], &archive);
        let (four, _) = screen(&["-", "--as", form, "--threads", "4"], &archive);
        assert!(!one.is_empty());
        assert!(
            one == four,
            "{form}: one thread and four say different things"
        );
    }
}

#[test]
fn a_stream_gives_a_line_for_each_line_in_its_order_and_bad_lines_are_answered() {
    let mut lines: Vec<String> = archive::Archive::new(3).take(40).collect();
    lines.insert(11, "{ \"record\": 1, \"lot\": ".to_owned());
    lines.insert(25, String::new());
    lines.insert(26, "no record at all".to_owned());
    let (out, status) = screen(&["-", "--as", "json"], &(lines.join("\n") + "\n"));
    let reports = reports(&out);
    assert_eq!(reports.len(), lines.len());
    assert_eq!(status, 2);
    for (at, (line, report)) in lines.iter().zip(&reports).enumerate() {
        assert_eq!(report.line, Some(at + 1));
        if let Ok(record) = serde_json::from_str::<Value>(line)
            && report.errors.is_none()
        {
            assert_eq!(record["lot"].as_str(), report.lot.as_deref());
        }
    }
    for bad in [11, 25, 26] {
        let errors = reports[bad].errors.as_ref().expect("its errors");
        assert_eq!(errors[0].line, Some(bad + 1), "{}", errors[0].message);
        assert_eq!(reports[bad].exit_status, 2);
    }
    assert!(
        reports[27].findings.is_some(),
        "the line after it is judged"
    );
}

#[test]
fn a_line_is_answered_before_the_next_one_is_written() {
    use std::io::{BufRead as _, BufReader};
    let mut child = Command::new(env!("CARGO_BIN_EXE_groundrule"))
        .args(["screen", "-", "--as", "json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut stdin = child.stdin.take().expect("standard input");
    let mut answers = BufReader::new(child.stdout.take().expect("standard output")).lines();
    for line in archive::Archive::new(5).take(3) {
        writeln!(stdin, "{line}").expect("it reads on");
        stdin.flush().expect("it reads on");
        let answer = answers.next().expect("an answer").expect("UTF-8");
        assert!(serde_json::from_str::<Report>(&answer).is_ok());
    }
    drop(stdin);
    assert!(answers.next().is_none());
    child.wait().expect("it ends");
}

/// What a result says, wherever its record stands in a stream.
fn without_lines(mut result: Value) -> Value {
    fn forget(value: &mut Value) {
        match value {
            Value::Object(object) => {
                object.remove("line");
                object.values_mut().for_each(forget);
            }
            Value::Array(list) => list.iter_mut().for_each(forget),
            Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
        }
    }
    forget(&mut result);
    result
}

/// What lets engines spread an archive over machines (`examples/spark/run.sh` does so).
#[test]
fn the_parts_of_an_archive_say_what_the_whole_says_but_for_the_line() {
    let results = |text: &str| -> Vec<Value> {
        let (out, _) = screen(&["-", "--as", "json"], text);
        let results = out.lines().map(serde_json::from_str);
        results.collect::<Result<_, _>>().expect("a result a line")
    };
    let archive = generated(24);
    let lines: Vec<&str> = archive.lines().collect();
    let whole = results(&archive);
    assert_eq!(whole.len(), lines.len());
    // The second part is empty, and the last line of each has no end.
    let parts = [&lines[..9], &lines[9..9], &lines[9..]];
    let spread = parts.iter().flat_map(|part| results(&part.join("\n")));
    for (one, other) in whole.into_iter().zip(spread) {
        assert_eq!(without_lines(one), without_lines(other));
    }
    let (nothing, status) = screen(&["-", "--as", "json"], "");
    assert_eq!((nothing.as_str(), status), ("", 0));
}

#[test]
fn a_line_beyond_the_bounds_of_a_record_is_answered_and_not_kept() {
    let good = generated(1);
    let huge = format!("{}\n{good}", "x".repeat(20 << 20));
    let (out, status) = screen(&["-", "--as", "json"], &huge);
    let reports = reports(&out);
    assert_eq!((reports.len(), status), (2, 2));
    let errors = reports[0].errors.as_ref().expect("its error");
    assert_eq!(errors[0].code, "record::unreadable");
    assert_eq!(errors[0].line, Some(1));
    assert!(reports[1].findings.is_some());
}

#[test]
fn a_stream_ends_quietly_where_nobody_reads_on() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_groundrule"))
        .args(["screen", "-", "--as", "json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    drop(child.stdout.take());
    let mut stdin = child.stdin.take().expect("standard input");
    // It stops reading in its turn, with records still to come.
    let refused = archive::Archive::new(5)
        .take(100_000)
        .any(|line| writeln!(stdin, "{line}").is_err());
    assert!(refused);
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

#[test]
fn screening_the_demo_says_of_each_lot_what_checking_it_says() {
    let (out, status) = screen(&["demo/velder_mills", "--as", "json"], "");
    let screened = reports(&out);
    assert!(screened.len() >= 18);
    assert_eq!(status, 1);
    let checked = Command::new(env!("CARGO_BIN_EXE_groundrule"))
        .args(["check", "--as", "json"])
        .args(screened.iter().map(|report| &report.record))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("the program runs");
    let checked = String::from_utf8(checked.stdout).expect("UTF-8");
    assert_eq!(reports(&checked), screened);
}

/// Whether a record is read, and is then judged by kept rules as by those chosen and compiled for
/// its very dates.
fn is_judged_as_on_the_very_day(chooser: &Chooser, text: &str, overrides: &Overrides) -> bool {
    let setting = LIBRARY.setting();
    let mut sources = Sources::default();
    let id = sources.add("record", text);
    let vocabulary = &LIBRARY.library.vocabulary;
    let Ok(record) = record::read_with(vocabulary, &sources, id, overrides) else {
        return false;
    };
    let report = judge::report_by(chooser, setting, record.clone(), &sources, id, Telling::All);
    let Ok(judged) = report else {
        return false;
    };
    let record = survey::complete(vocabulary, record);
    let places = judge::places(&LIBRARY.library, &record, &sources).expect("places");
    let dates: Dates = judge::dates(&record);
    let standing = in_force(&LIBRARY.library, &places, &dates).expect("rules");
    let on: Vec<_> = standing
        .rules
        .iter()
        .map(|rule| date::show(rule.on))
        .collect();
    let program = compile(&LIBRARY.library, setting.survey, standing);
    let describer = Describer::new(
        &LIBRARY.library,
        &program,
        setting.survey,
        &record,
        &sources,
    );
    let exact: Vec<Finding> = judge::judge(&program, vocabulary, setting.survey, &record)
        .iter()
        .map(|judgement| describer.finding(judgement))
        .collect();
    let chosen = judged.report.findings.expect("findings");
    let own: Vec<Finding> = chosen
        .into_iter()
        .filter(|finding| !finding.rule.starts_with("record."))
        .collect();
    assert_eq!(own, exact, "{text}");
    let said: Vec<&String> = exact
        .iter()
        .filter_map(|f| f.in_force_on.as_ref())
        .collect();
    assert!(said.iter().all(|day| on.contains(day)));
    true
}

#[test]
fn rules_chosen_once_are_those_chosen_for_the_very_day() {
    let chooser = Chooser::new(&LIBRARY.library);
    let mut judged_days = 0;
    for lot in [
        "velder_mills/lot_07.yaml",
        "hask_ferry/row_03.yaml",
        "velder_mills/lot_05.yaml",
    ] {
        for day in [
            "2019-06-01",
            "2022-12-31",
            "2023-01-01",
            "2024-12-31",
            "2025-01-01",
            "2025-01-02",
            "2026-06-30",
            "2026-07-01",
            "2027-12-31",
            "2028-01-01",
            "2040-01-01",
        ] {
            let overrides = Overrides {
                on: date::parse(day),
                ..Overrides::default()
            };
            let is_judged = is_judged_as_on_the_very_day(&chooser, &demo(lot), &overrides);
            judged_days += usize::from(is_judged);
        }
    }
    assert!(judged_days > 15, "only {judged_days} days had rules");
}

/// Permits of one record lie on different sides of the days on which rules change, so that each
/// date must be told from the others.
#[test]
fn rules_chosen_once_are_those_of_each_permit_by_its_own_date() {
    let chooser = Chooser::new(&LIBRARY.library);
    let overrides = Overrides::default();
    let judged = archive::Archive::new(11)
        .take(80)
        .filter(|text| is_judged_as_on_the_very_day(&chooser, text, &overrides))
        .count();
    assert!(judged > 70, "only {judged} could be read");
}

#[test]
fn a_summary_is_the_same_whether_what_meets_is_told_or_not() {
    let overrides = Overrides::default();
    let no_plans = |_: &str, _: &str| Err("there are no plans here".to_owned());
    let setting = SummarySetting {
        most: 40,
        near: Some(0.2),
        asked: None,
    };
    let summed_up = |telling: Telling| {
        let screening = Screening::new(&LIBRARY, &overrides, &[], None, &no_plans);
        let screening = screening.telling(telling);
        let mut summary = Summary::new(setting.clone());
        for (number, line) in (1..).zip(archive::Archive::new(3).take(120)) {
            let screened = screening.one(Submitted {
                name: "archive".to_owned(),
                content: Content::Line(line, number),
            });
            summary.add(Gist::of(&screened, &setting));
        }
        assert!(summary.near_count > 20, "{} are near", summary.near_count);
        let style = terminal::Style {
            colour: false,
            width: 100,
        };
        report::summary::summary(&summary, None, None, style)
    };
    let open = Telling::Outline { near: setting.near };
    assert_eq!(summed_up(open), summed_up(Telling::All));
}

#[test]
fn filters_leave_what_was_asked_for_and_what_cannot_be_read() {
    let archive = generated(90) + "{ \"record\": 1, \"lot\":\n";
    let (all, _) = screen(&["-", "--as", "json"], &archive);
    let all = reports(&all);
    let unread = all.iter().filter(|report| report.errors.is_some()).count();
    assert!(unread > 0, "the last line is broken");
    let asked = [
        "-",
        "--as",
        "json",
        "--verdict",
        "falls_short",
        "--hazard",
        "electric_shock",
    ];
    let (short, _) = screen(&asked, &archive);
    let short = reports(&short);
    let of = |report: &Report| -> Vec<Finding> {
        let findings = report.findings.iter().flatten().cloned();
        let wanted = |finding: &Finding| {
            finding.verdict == Verdict::FallsShort
                && finding.hazard.as_deref() == Some("electric_shock")
        };
        findings.filter(wanted).collect()
    };
    let expected: Vec<&Report> = all
        .iter()
        .filter(|report| report.errors.is_some() || !of(report).is_empty())
        .collect();
    assert_eq!(short.len(), expected.len());
    assert!(short.len() > unread && short.len() < all.len());
    for (filtered, whole) in short.iter().zip(expected) {
        assert_eq!(filtered.lot, whole.lot);
        assert_eq!(filtered.counts, whole.counts, "counts are the record's own");
        assert_eq!(filtered.findings.clone().unwrap_or_default(), of(whole));
    }
    let within = [
        "-",
        "--as",
        "json",
        "--within",
        "aldmoor/sarnfell/hask_ferry",
    ];
    let (within, _) = screen(&within, &archive);
    let ferry = |report: &&Report| report.places == ["aldmoor/sarnfell/hask_ferry"];
    let count = all.iter().filter(ferry).count();
    assert!(count > 0);
    assert_eq!(reports(&within).len(), count + unread);
    let dated = [
        "-",
        "--as",
        "json",
        "--from",
        "2026-01-01",
        "--until",
        "2027-01-01",
    ];
    let (dated, _) = screen(&dated, &archive);
    assert!(reports(&dated).len() > unread && reports(&dated).len() < all.len());
}

#[test]
fn a_file_is_written_whole_or_not_at_all() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("screen_to");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder");
    let file = folder.join("findings.csv");
    let to = file.to_string_lossy();
    let (printed, _) = screen(&["demo/quern_landing", "--as", "csv"], "");
    let (out, status) = screen(&["demo/quern_landing", "--as", "csv", "--to", &to], "");
    assert_eq!((out.as_str(), status), ("", 1));
    assert_eq!(
        std::fs::read_to_string(&file).expect("it is there"),
        printed
    );
    let (_, status) = screen(
        &["demo", "--as", "csv", "--verdict", "wrong", "--to", &to],
        "",
    );
    assert_eq!(status, 2);
    assert_eq!(
        std::fs::read_to_string(&file).expect("the old one"),
        printed
    );
    let left: Vec<_> = std::fs::read_dir(&folder).expect("a folder").collect();
    assert_eq!(left.len(), 1, "nothing is left beside it");
}

#[cfg(unix)]
#[test]
fn links_are_followed_only_when_asked_and_hidden_and_foreign_files_are_counted() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("screen_links");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(folder.join("lots/.old")).expect("folders");
    std::fs::create_dir_all(folder.join("elsewhere")).expect("folders");
    let lot = demo("velder_mills/lot_01.yaml");
    for name in [
        "lots/b.yaml",
        "lots/a.yaml",
        "lots/.hidden.yaml",
        "elsewhere/c.yaml",
    ] {
        std::fs::write(folder.join(name), &lot).expect("a file");
    }
    std::fs::write(folder.join("lots/photo.jpg"), "no record").expect("a file");
    let link = folder.join("lots/link");
    std::os::unix::fs::symlink(folder.join("elsewhere"), &link).expect("a link");
    // A link back to where it lies: a walk that follows it must end all the same.
    std::os::unix::fs::symlink(folder.join("lots"), folder.join("elsewhere/back")).expect("a link");
    let lots = folder.join("lots");
    let lots = lots.to_string_lossy();
    let (text, status) = screen(&[&lots], "");
    assert_eq!(status, 0, "{text}");
    assert!(text.contains("2 records screened"), "{text}");
    let passed_over = "Files passed over: 2 hidden, 1 of another kind, 1 linked";
    assert!(text.contains(passed_over), "{text}");
    let (lines, status) = screen(&[&lots, "--follow-links", "--as", "json"], "");
    let reports = reports(&lines);
    let names: Vec<&str> = reports
        .iter()
        .filter(|report| report.errors.is_none())
        .map(|report| report.record.strip_prefix(&*lots).expect("its folder"))
        .collect();
    assert_eq!(names, ["/a.yaml", "/b.yaml", "/link/c.yaml"]);
    assert_eq!(status, 2, "the loop is told as a result");
}

#[test]
fn a_record_cannot_steer_the_terminal_it_is_shown_on() {
    let evil = demo("velder_mills/lot_07.yaml").replace("lot: VM-07", "lot: \"\\e[2J\\x07evil\"");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("screen_terminal");
    std::fs::create_dir_all(&folder).expect("a folder");
    let file = folder.join("lot.yaml");
    std::fs::write(&file, evil).expect("a file");
    let file = file.to_string_lossy();
    let (summary, _) = screen(&[&file], "");
    let checked = Command::new(env!("CARGO_BIN_EXE_groundrule"))
        .args(["check", &file])
        .output()
        .expect("the program runs");
    let checked = String::from_utf8(checked.stdout).expect("UTF-8");
    for text in [summary, checked] {
        assert!(text.contains("evil"), "{text}");
        assert!(!text.contains(['\u{1b}', '\u{7}']), "{text:?}");
    }
}
