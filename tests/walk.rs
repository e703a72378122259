//! The README's walk for municipalities, as it is written.
//!
//! Commands are run by a shell in an empty folder, texts go where their block says. OpenSSH need
//! not be on every machine that passes the tests: in place of making a key, the invented one of
//! the tests is taken; `tests/reference/signatures.sh` verifies with the stock program.
#![cfg(unix)]

use std::path::{Path, PathBuf};
use std::process::Command;

/// A step of the walk.
enum Step<'a> {
    /// A command, and the status it ends with.
    Command(&'a str, i32),
    /// A text, and the file at whose end it goes.
    Text(&'a str, String),
}

fn section() -> String {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = std::fs::read_to_string(readme).expect("the README is readable");
    let (_, after) = readme
        .split_once("## For municipalities\n")
        .expect("the README has the section");
    let (section, _) = after.split_once("\n## ").expect("another section follows");
    section.to_owned()
}

/// The steps of the blocks in fences that have a language: `console`, or one and a file's name.
fn steps(section: &str) -> Vec<Step<'_>> {
    let mut steps = Vec::new();
    for block in section.split("\n```").skip(1).step_by(2) {
        let (info, body) = block.split_once('\n').expect("a block has lines");
        match info.split_once(' ') {
            Some((_, file)) => steps.push(Step::Text(file, format!("\n{body}\n"))),
            None if info == "console" => steps.extend(body.lines().map(command)),
            // What a person would see.
            None => {}
        }
    }
    steps
}

fn command(line: &str) -> Step<'_> {
    let typed = line
        .strip_prefix("$ ")
        .expect("a command is typed at a prompt");
    match typed.split_once("   # ") {
        Some((typed, why)) => {
            let status = why.split(':').next().and_then(|status| status.parse().ok());
            Step::Command(typed, status.expect("a comment begins with the status"))
        }
        None => Step::Command(typed, 0),
    }
}

/// The folder of the program, first in the path.
fn path() -> String {
    let program = PathBuf::from(env!("CARGO_BIN_EXE_groundrule"));
    let folder = program.parent().expect("a program lies in a folder");
    let before = std::env::var("PATH").unwrap_or_default();
    format!("{}:{before}", folder.display())
}

fn make_key(folder: &Path) {
    let invented = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/ruleset");
    std::fs::copy(invented.join("clerk_ed25519"), folder.join("clerk_key"))
        .expect("the key is copied");
    let signers = std::fs::read_to_string(invented.join("signers")).expect("its public half");
    let line = signers
        .lines()
        .find(|line| line.contains("ssh-ed25519"))
        .expect("the signers list the key");
    let (_, public) = line.split_once(" ssh-ed25519 ").expect("kind and key");
    std::fs::write(
        folder.join("clerk_key.pub"),
        format!("ssh-ed25519 {public}\n"),
    )
    .expect("it is written");
}

#[test]
fn a_town_comes_from_an_empty_folder_to_a_signed_ruleset_as_the_readme_says() {
    let section = section();
    let folder = tempfile::tempdir().expect("a folder");
    let mut run = Vec::new();
    for step in steps(&section) {
        match step {
            Step::Text(file, text) => {
                let file = folder.path().join(file);
                let before = std::fs::read_to_string(&file).expect("the place was laid down");
                std::fs::write(&file, before + &text).expect("it is written");
            }
            Step::Command(typed, _) if typed.starts_with("ssh-keygen -q -t ") => {
                make_key(folder.path());
            }
            Step::Command(typed, _) if typed.starts_with("ssh-keygen -Y verify ") => {}
            Step::Command(typed, status) => {
                let done = Command::new("sh")
                    .args(["-c", typed])
                    .env("PATH", path())
                    .current_dir(folder.path())
                    .output()
                    .expect("a shell runs");
                let out = String::from_utf8_lossy(&done.stdout);
                let err = String::from_utf8_lossy(&done.stderr);
                assert_eq!(done.status.code(), Some(status), "$ {typed}\n{out}\n{err}");
                run.push((typed.to_owned(), out.into_owned()));
            }
        }
    }
    let said = |start: &str| {
        let found = run.iter().rfind(|(typed, _)| typed.starts_with(start));
        found
            .unwrap_or_else(|| panic!("no `{start}` in the walk"))
            .1
            .clone()
    };
    assert!(said("groundrule compare").contains("24 in → 30 in"));
    assert!(said("groundrule rules").contains("clerk@little-weir.example"));
    for file in [
        "index.html",
        "ruleset",
        "ruleset.sig",
        "signers",
        "digests.txt",
    ] {
        assert!(folder.path().join("site").join(file).is_file(), "{file}");
    }
}
