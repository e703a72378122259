//! The files of a library, some of them as an editor has them, and what they mean together.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use miette::Diagnostic;

use crate::language::parse_what_reads;
use crate::language::syntax::File;
use crate::library::{self, Opened, Problem, Texts};
use crate::source::{SourceId, Sources, Span};

/// A rule file: its name in its library, its text, and the items that read.
#[derive(Debug, Clone)]
pub struct Tree {
    /// Its name, `rules/vents.rules`.
    pub name: Arc<str>,
    /// Its text.
    pub text: Arc<str>,
    /// Its items; places in it are of this text, whatever their source says.
    pub file: File,
}

impl Tree {
    fn of(name: &str, text: &str) -> Tree {
        let mut sources = Sources::default();
        let id = sources.add(name, text);
        let (file, _) = parse_what_reads(&sources, id);
        let source = sources.get(id);
        Tree {
            name: source.name.clone(),
            text: source.text.clone(),
            file,
        }
    }

    /// The place of a span of this file.
    pub fn target(&self, span: Span) -> Target {
        Target {
            name: self.name.to_string(),
            bytes: span.start as usize..span.end as usize,
        }
    }
}

/// A place in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Target {
    /// The file's name in its library.
    pub name: String,
    /// The bytes of its text.
    pub bytes: Range<usize>,
}

/// A mistake as an editor shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// Its code, `check::unknown_name`.
    pub code: String,
    /// What is wrong, and how to mend it.
    pub message: String,
    /// Where.
    pub at: Range<usize>,
    /// The other places that it speaks of, in the same file, and what it says of each.
    pub related: Vec<(Range<usize>, String)>,
}

/// A library whose files are being edited.
#[derive(Debug, Default)]
pub struct Workspace {
    saved: Texts,
    open: BTreeMap<String, String>,
    trees: BTreeMap<String, Tree>,
    opened: Option<Opened>,
}

impl Workspace {
    /// A library as it was saved.
    pub fn new(saved: Texts) -> Workspace {
        let mut workspace = Workspace::default();
        workspace.save(saved);
        workspace
    }

    /// Takes up the library as it is saved now; open files stay as they are.
    pub fn save(&mut self, saved: Texts) {
        self.saved = saved;
        self.refresh();
    }

    /// Puts a text in the place of a file's.
    pub fn edit(&mut self, name: &str, text: String) {
        self.trees.insert(name.to_owned(), Tree::of(name, &text));
        self.open.insert(name.to_owned(), text);
    }

    /// Goes back to a file's saved text, if it has one.
    pub fn close(&mut self, name: &str) {
        self.open.remove(name);
        self.refresh();
    }

    /// The text of an open file.
    pub fn text(&self, name: &str) -> Option<&str> {
        self.open.get(name).map(String::as_str)
    }

    /// Every file with the items that read.
    pub fn trees(&self) -> impl Iterator<Item = &Tree> + Clone {
        self.trees.values()
    }

    /// A file with the items that read.
    pub fn tree(&self, name: &str) -> Option<&Tree> {
        self.trees.get(name)
    }

    /// The library as it was when it last had no mistake.
    pub fn last_good(&self) -> Option<&Opened> {
        self.opened.as_ref()
    }

    /// Reads and checks the library, and tells each file's mistakes; those without any are left
    /// out.
    pub fn check(&mut self) -> BTreeMap<String, Vec<Mistake>> {
        let texts = self.texts();
        match library::open(&texts) {
            Ok(opened) => {
                self.opened = Some(opened);
                BTreeMap::new()
            }
            Err(problems) => {
                let mut found: BTreeMap<String, Vec<Mistake>> = BTreeMap::new();
                for problem in &problems.problems {
                    let name = problems.sources.get(problem.source).name.to_string();
                    let mistake = mistake(&problems.sources, problem);
                    found.entry(name).or_default().push(mistake);
                }
                found
            }
        }
    }

    fn texts(&self) -> Texts {
        let mut texts = self.saved.clone();
        for (name, text) in &self.open {
            texts.0.insert(name.clone(), text.clone());
        }
        texts
    }

    /// Reads the files whose texts are no longer those that were read.
    fn refresh(&mut self) {
        let texts = self.texts();
        let names: BTreeSet<&String> = texts.0.keys().collect();
        self.trees.retain(|name, _| names.contains(name));
        for (name, text) in &texts.0 {
            let known = self.trees.get(name);
            if known.is_none_or(|tree| *tree.text != **text) {
                self.trees.insert(name.clone(), Tree::of(name, text));
            }
        }
    }
}

fn mistake(sources: &Sources, problem: &Problem) -> Mistake {
    let diagnostic: &dyn Diagnostic = problem.diagnostic.as_ref();
    let message = match diagnostic.help() {
        Some(help) => format!("{}\n{help}", problem.diagnostic),
        None => problem.diagnostic.to_string(),
    };
    let mut labels = diagnostic.labels().into_iter().flatten();
    let first = labels.next();
    let within = |label: &miette::LabeledSpan| within(sources, problem.source, label);
    Mistake {
        code: diagnostic
            .code()
            .map_or_else(String::new, |code| code.to_string()),
        message,
        at: first.as_ref().map_or(0..0, within),
        related: labels
            .map(|label| {
                let words = label.label().unwrap_or("see here").to_owned();
                (within(&label), words)
            })
            .collect(),
    }
}

fn within(sources: &Sources, source: SourceId, label: &miette::LabeledSpan) -> Range<usize> {
    let length = sources.get(source).text.len();
    let start = label.offset().min(length);
    start
        ..label
            .offset()
            .saturating_add(label.len())
            .clamp(start, length)
}
