//! One layout for rule files: the words and comments of the old one, whatever its white space.

use std::io::Write;
use std::path::{Path, PathBuf};

use groundrule::language::{parse, tidy};
use groundrule::source::Sources;
use proptest::prelude::*;

fn tidied(text: &str) -> String {
    let mut sources = Sources::default();
    let id = sources.add("test.rules", text);
    match tidy(&sources, id) {
        Ok(text) => text,
        Err(errors) => panic!("{text}\n{errors:#?}"),
    }
}

/// The tree of a text without places; nothing where it does not read.
fn tree(text: &str) -> Option<String> {
    let mut sources = Sources::default();
    let id = sources.add("test.rules", text);
    let file = parse(&sources, id).ok()?;
    let shown = format!("{file:?}");
    let mut parts = shown.split("Span { source: SourceId(0), start: ");
    let mut plain = parts.next()?.to_owned();
    for part in parts {
        let (_, rest) = part.split_once(" }")?;
        plain.push_str(rest);
    }
    Some(plain)
}

/// Whether a byte of a text stands in a comment, in quotes, or in neither.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Within {
    Comment,
    Text,
    Neither,
}

fn within(text: &str) -> Vec<Within> {
    let bytes = text.as_bytes();
    let mut now = Within::Neither;
    let mut all = Vec::new();
    for (at, byte) in bytes.iter().enumerate() {
        let inches = at > 0 && bytes[at - 1].is_ascii_digit();
        let here = now;
        now = match (now, byte) {
            (Within::Comment, b'\n') => Within::Neither,
            (Within::Neither, b'#') => Within::Comment,
            (Within::Neither, b'"') if !inches => Within::Text,
            (Within::Text, b'"') => Within::Neither,
            (same, _) => same,
        };
        // Quotes and `#` belong to what they begin or end.
        all.push(match (here, now) {
            (Within::Comment, Within::Neither) => Within::Neither,
            (Within::Neither, now) => now,
            (here, _) => here,
        });
    }
    all
}

fn comments(text: &str) -> Vec<String> {
    let within = within(text);
    let mut found = Vec::new();
    let mut start = None;
    for at in 0..=text.len() {
        match (start, within.get(at)) {
            (None, Some(Within::Comment)) => start = Some(at),
            (Some(from), Some(Within::Neither | Within::Text) | None) => {
                found.push(text[from..at].trim_end().to_owned());
                start = None;
            }
            (None | Some(_), _) => {}
        }
    }
    found
}

fn rule_files() -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    for folder in ["rules", "jurisdictions", "shared"] {
        collect(&root.join(folder), &mut found);
    }
    assert!(found.len() > 40, "only {} files", found.len());
    found
}

fn collect(folder: &Path, found: &mut Vec<(PathBuf, String)>) {
    let mut entries: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("a folder of the library")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            collect(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rules") {
            let text = std::fs::read_to_string(&path).expect("a rule file");
            found.push((path, text));
        }
    }
}

#[test]
fn the_library_is_tidy() {
    let untidy: Vec<String> = rule_files()
        .into_iter()
        .filter(|(_, text)| tidied(text) != *text)
        .map(|(path, _)| path.display().to_string())
        .collect();
    assert!(
        untidy.is_empty(),
        "run `groundrule tidy` on {}",
        untidy.join(" ")
    );
}

/// A run of white space in other white space. What the layout goes by is kept: blank lines, the
/// margin, and whether a comment stands behind something.
fn respaced(run: &str, next: Option<char>, random: &mut Random) -> String {
    let blanks = |random: &mut Random| {
        (0..random.below(4) + 1)
            .map(|_| if random.below(5) == 0 { '\t' } else { ' ' })
            .collect::<String>()
    };
    let lines = run.matches('\n').count();
    let indented = !run.ends_with('\n');
    match lines {
        0 => blanks(random),
        _ if next.is_none() => run.to_owned(),
        _ => {
            let more = if lines > 1 { random.below(3) } else { 0 };
            let mut new = match random.below(2) {
                0 => blanks(random),
                _ => String::new(),
            };
            for _ in 0..lines + more {
                new.push_str(if random.below(3) == 0 { "\r\n" } else { "\n" });
            }
            if indented {
                new.push_str(&blanks(random));
            }
            new
        }
    }
}

/// A line broken where it was none, or the other way round.
fn turned(run: &str) -> Option<String> {
    match run.matches('\n').count() {
        0 => Some(format!("\n   {run}")),
        1 if !run.ends_with('\n') => Some(" ".to_owned()),
        _ => None,
    }
}

/// The white space of a text outside of comments and quotes: where each run begins and ends.
fn runs(text: &str) -> Vec<(usize, usize)> {
    let within = within(text);
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (at, byte) in text.bytes().enumerate() {
        if within[at] != Within::Neither || !byte.is_ascii_whitespace() {
            continue;
        }
        match found.last_mut() {
            Some((_, end)) if *end == at => *end = at + 1,
            Some(_) | None => found.push((at, at + 1)),
        }
    }
    found
}

/// Small and the same everywhere.
struct Random(u64);

impl Random {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % bound as u64) as usize
    }
}

/// A text in other white space, all of it.
fn all_respaced(text: &str, random: &mut Random) -> String {
    let mut new = String::new();
    let mut from = 0;
    for (start, end) in runs(text) {
        new.push_str(&text[from..start]);
        new.push_str(&respaced(
            &text[start..end],
            text[end..].chars().next(),
            random,
        ));
        from = end;
    }
    new.push_str(&text[from..]);
    new
}

/// A text with some lines broken or joined where that leaves the tree as it is, and how many.
fn some_turned(text: &str, random: &mut Random) -> (String, usize) {
    let (mut new, mut done) = (text.to_owned(), 0);
    let before = tree(text);
    for _ in 0..6 {
        let runs = runs(&new);
        let (start, end) = runs[random.below(runs.len())];
        let beside_comment =
            new[end..].starts_with('#') || start > 0 && within(&new)[start - 1] == Within::Comment;
        let (false, Some(other)) = (beside_comment, turned(&new[start..end])) else {
            continue;
        };
        let mut trial = new.clone();
        trial.replace_range(start..end, &other);
        if tree(&trial) == before {
            new = trial;
            done += 1;
        }
    }
    (new, done)
}

#[test]
fn some_lines_of_each_file_can_be_broken_or_joined() {
    let mut random = Random(7);
    for (path, text) in rule_files() {
        let any = (0..10).any(|_| some_turned(&text, &mut random).1 > 0);
        assert!(any, "{}", path.display());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn white_space_does_not_matter(at in any::<prop::sample::Index>(), seed in 1..u64::MAX) {
        let files = rule_files();
        let (path, text) = &files[at.index(files.len())];
        let mut random = Random(seed);
        let expected = tidied(text);
        let (turned, _) = some_turned(text, &mut random);
        let respaced = all_respaced(&turned, &mut random);
        prop_assert_eq!(tree(&respaced), tree(text), "{}", path.display());
        let tidied = tidied(&respaced);
        prop_assert_eq!(&tidied, &expected, "{}\n{}", path.display(), respaced);
        prop_assert_eq!(comments(&tidied), comments(text));
        prop_assert_eq!(tree(&tidied), tree(text));
    }

    /// Comments may stand between any two words.
    #[test]
    fn every_comment_survives(at in any::<prop::sample::Index>(), seed in 1..u64::MAX) {
        let files = rule_files();
        let (path, text) = &files[at.index(files.len())];
        let mut random = Random(seed);
        let mut commented = text.clone();
        for number in 0..8 {
            let runs = runs(&commented);
            let (start, end) = runs[random.below(runs.len())];
            let run = commented[start..end].to_owned();
            let note = match random.below(2) {
                0 => format!(" # note {number}\n{}", if run.ends_with('\n') { "" } else { "  " }),
                _ => format!("\n  # note {number}\n{}", if run.ends_with('\n') { "" } else { "  " }),
            };
            let mut trial = commented.clone();
            trial.replace_range(start..end, &note);
            if tree(&trial) == tree(text) {
                commented = trial;
            }
        }
        let once = tidied(&commented);
        prop_assert_eq!(comments(&once), comments(&commented), "{}\n{}", path.display(), commented);
        prop_assert_eq!(tree(&once), tree(text), "{}", once);
        prop_assert_eq!(&tidied(&once), &once);
    }
}

#[test]
fn a_comment_behind_the_sign_of_a_definition_stays_there() {
    let tidy = "\
define least_of (one: length, other: length) gives length =
  # the shallower
  lesser of one and other
";
    let once = tidied(&tidy.replace("=\n  #", "=   #"));
    assert_eq!(once, tidy.replace("=\n  #", "=     #"));
    assert_eq!(tidied(&once), once);
    assert_eq!(tidied(tidy), tidy);
}

#[test]
fn symbols_that_are_hard_to_type_are_written_out() {
    assert_eq!(
        tidied("define area(a:length,b:length)gives area=a*b-−2 ft2"),
        "define area (a: length, b: length) gives area = a × b - -2 ft2\n"
    );
}

#[test]
fn rows_of_a_table_stand_under_each_other() {
    let text = "table t (size: pipe_size) gives slope\n cite c \"1\"\n{\n up to 3 in: 1/4 in/ft\n\n   4 in to 6 in  :1/8 in/ft # why\n 8 in and over : no   value }";
    let tidy = "\
table t (size: pipe_size) gives slope
  cite c \"1\"
{
  up to 3 in    : 1/4 in/ft

  4 in to 6 in  : 1/8 in/ft     # why
  8 in and over : no value
}
";
    assert_eq!(tidied(text), tidy);
}

#[test]
fn a_long_condition_breaks_at_its_loosest_words() {
    let text = "rule r { shall (station.first_reading is at least limit_of_it and station.second_reading is at most the_other_limit) or station.approved_by is one of town, county }";
    let tidy = "\
rule r {
  shall   (station.first_reading is at least limit_of_it and station.second_reading is at most the_other_limit)
          or station.approved_by is one of town, county
}
";
    assert_eq!(tidied(text), tidy);
}

#[test]
fn branches_stand_under_each_other() {
    let long = "a_name_that_is_long_enough(for_one, and_for_another)";
    let text = format!(
        "define d (x: length) gives length = if x is at least one then {long} else if x is at least two then {long} else x"
    );
    let tidy = format!(
        "\
define d (x: length) gives length =
  if x is at least one then {long}
  else if x is at least two then {long}
  else x
"
    );
    assert_eq!(tidied(&text), tidy);
}

/// On one line `2` and `in` would be one quantity.
#[test]
fn what_another_layout_would_change_is_left_as_it_is() {
    let text = "define d (x: length) gives number =   2\n    in ft\n";
    assert_eq!(tidied(text), text);
}

#[test]
fn comments_stay_behind_or_before_what_they_stood_by() {
    let text = "\u{feff}  # of the file\r\n\r\n\r\n# of the rule\r\nrule r{ # of the brace\r\n   # of the title\r\n title \"t\" # behind it\r\n when a is # within\r\n at least b # last\r\n   # of nothing\r\n}#behind\r\n  # after\r\n\r\n# end";
    let tidy = "\
# of the file

# of the rule
rule r {     # of the brace
  # of the title
  title   \"t\"     # behind it
  when    a
            # within
            is at least b     # last
  # of nothing
}     #behind
  # after

# end
";
    assert_eq!(tidied(text), tidy);
    assert_eq!(tidied(tidy), tidy);
}

#[test]
fn an_empty_file_stays_empty() {
    assert_eq!(tidied(""), "");
    assert_eq!(tidied("\n\n"), "");
    assert_eq!(tidied("# only this"), "# only this\n");
}

#[test]
fn a_file_with_a_mistake_has_no_layout() {
    let mut sources = Sources::default();
    let id = sources.add("test.rules", "rule r { title }\n");
    assert!(tidy(&sources, id).is_err());
}

/// As many operands as a file can hold: nothing here goes as deep as they are many.
#[test]
fn many_operands_do_not_exhaust_the_stack() {
    let sum = vec!["a"; 40_000].join(" and ");
    let text = format!("rule r {{\n  when {sum}\n}}\n");
    let lines = tidied(&text).lines().count();
    assert_eq!(lines, 40_000 + 2);
}

#[test]
fn standard_input_goes_to_standard_output() {
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_groundrule"))
        .args(["tidy", "-"])
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut stdin = child.stdin.take().expect("it was piped");
    stdin
        .write_all(b"limit a:length=2 in \"x\"")
        .expect("it reads");
    drop(stdin);
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(output.stdout, b"limit a : length = 2 in   \"x\"\n");
}

#[test]
fn as_many_levels_as_are_read_are_laid_out() {
    let deep = |levels: usize| {
        let (open, close) = ("(a and not ".repeat(levels), ")".repeat(levels));
        format!("rule r {{\n  when {open}b{close}\n}}\n")
    };
    let text = deep(31);
    let once = tidied(&text);
    assert_eq!(tree(&once), tree(&text));
    assert!(once.lines().count() > 3, "{once}");
    assert_eq!(tidied(&once), once);
    assert_eq!(tree(&deep(40)), None);
}
