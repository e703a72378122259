//! `rules/`, `jurisdictions/` and `shared/` as one set of texts, embedded or read from a folder.
//!
//! The one module of the library that touches a disk, and only with the `program` feature.

use std::collections::BTreeMap;

use include_dir::{Dir, include_dir};
use miette::Diagnostic;
use sha2::{Digest, Sha256};
use thiserror::Error;

use crate::check::{self, LibraryFile, Role, typed::Library};
use crate::finding::{Provenance, ReportedError};
use crate::judge::Setting;
use crate::language;
use crate::layers;
use crate::source::{Located, SourceId, Sources, Span, is_hidden};
use crate::survey::Survey;
use crate::vocabulary;

static RULES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/rules");
static JURISDICTIONS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/jurisdictions");
static SHARED: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/shared");

/// The ending of files in the rule language.
const RULE_FILE: &str = ".rules";
/// The ending of files of cases.
const CASE_FILE: &str = ".cases.yaml";
/// The file of a place that lists whose keys sign its ruleset, and when.
pub const SIGNERS: &str = "signers";
/// The file of a place that lists the editions of its ruleset that others took the stead of.
pub const EDITIONS: &str = "editions";

/// Whether a text of this name is part of a library: rules, cases, or a place's signers or editions.
pub fn is_kept(name: &str) -> bool {
    let of_a_place = || match name.rsplit_once('/') {
        Some((folder, file)) => {
            folder.starts_with("jurisdictions/") && matches!(file, SIGNERS | EDITIONS)
        }
        None => false,
    };
    name.ends_with(RULE_FILE) || name.ends_with(CASE_FILE) || of_a_place()
}

/// The texts of a library by name: `rules/vents.rules`, with `/` between folders. The rules and
/// what comes with them are told apart by their ending.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Texts(pub BTreeMap<String, String>);

impl Texts {
    /// The texts in the rule language: what a ruleset is, and what its digest is over.
    pub fn rules(&self) -> impl Iterator<Item = (&str, &str)> {
        self.ending_in(RULE_FILE)
    }

    /// The files of cases.
    pub fn cases(&self) -> impl Iterator<Item = (&str, &str)> {
        self.ending_in(CASE_FILE)
    }

    fn ending_in(&self, ending: &'static str) -> impl Iterator<Item = (&str, &str)> {
        self.0
            .iter()
            .filter(move |(name, _)| name.ends_with(ending))
            .map(|(name, text)| (name.as_str(), text.as_str()))
    }
}

/// A library that was read and checked: ready to be asked.
#[derive(Debug, Clone)]
pub struct Opened {
    /// Its texts.
    pub sources: Sources,
    /// What they mean.
    pub library: Library,
    /// The survey functions of its vocabulary.
    pub survey: Survey,
    /// The digest of its rules: SHA-256 over the names and texts of its rule files in order.
    pub digest: String,
    /// What is known of where it came from.
    pub provenance: Provenance,
}

impl Opened {
    /// What every report by this library says.
    pub fn setting(&self) -> Setting<'_> {
        Setting {
            library: &self.library,
            survey: &self.survey,
            ruleset_digest: &self.digest,
            provenance: &self.provenance,
        }
    }
}

/// A mistake in some text, of whatever stage.
#[derive(Debug)]
pub struct Problem {
    /// The text.
    pub source: SourceId,
    /// What is wrong.
    pub diagnostic: miette::Report,
}

impl<E: Diagnostic + Send + Sync + 'static> From<Located<E>> for Problem {
    fn from(located: Located<E>) -> Self {
        Problem {
            source: located.source,
            diagnostic: miette::Report::new(located.error),
        }
    }
}

impl Problem {
    /// As it stands in JSON.
    pub fn reported(&self, sources: &Sources) -> ReportedError {
        let diagnostic: &dyn Diagnostic = self.diagnostic.as_ref();
        let at = diagnostic
            .labels()
            .and_then(|mut labels| labels.next())
            .map(|label| place(sources, self.source, label.offset()));
        let position = at.map(|at| sources.position(at));
        ReportedError {
            code: diagnostic
                .code()
                .map_or_else(String::new, |code| code.to_string()),
            message: self.diagnostic.to_string(),
            help: diagnostic.help().map(|help| help.to_string()),
            line: position.map(|at| at.line),
            column: position.map(|at| at.column),
            cell: at.and_then(|at| sources.cell(at)),
        }
    }
}

fn place(sources: &Sources, source: SourceId, offset: usize) -> Span {
    let start = u32::try_from(offset.min(sources.get(source).text.len())).unwrap_or(0);
    Span {
        source,
        start,
        end: start,
    }
}

/// Why a library can't be used: all mistakes of the first stage that found any.
#[derive(Debug)]
pub struct Problems {
    /// The texts that the mistakes stand in.
    pub sources: Sources,
    /// The mistakes.
    pub problems: Vec<Problem>,
}

/// The library inside the program.
pub fn embedded() -> Texts {
    let mut texts = BTreeMap::new();
    for (name, folder) in [
        ("rules", &RULES),
        ("jurisdictions", &JURISDICTIONS),
        ("shared", &SHARED),
    ] {
        add_embedded(name, folder, &mut texts);
    }
    Texts(texts)
}

fn add_embedded(name: &str, folder: &Dir<'_>, texts: &mut BTreeMap<String, String>) {
    for file in folder.files() {
        let path = file.path().to_string_lossy().replace('\\', "/");
        let path = format!("{name}/{path}");
        if let (true, Some(text)) = (is_kept(&path), file.contents_utf8()) {
            texts.insert(path, text.to_owned());
        }
    }
    for inner in folder.dirs() {
        add_embedded(name, inner, texts);
    }
}

/// Reads and checks the texts of a library.
///
/// # Errors
///
/// All mistakes of the first stage that finds any: the language, the vocabulary, the names and
/// dimensions, the survey functions, the places over time.
pub fn open(texts: &Texts) -> Result<Opened, Problems> {
    let mut sources = Sources::default();
    let named: Vec<(SourceId, Role)> = texts
        .rules()
        .map(|(name, text)| (sources.add(name, text), role(name)))
        .collect();
    match open_sources(&sources, &named) {
        Ok((library, survey)) => Ok(Opened {
            digest: digest(texts),
            provenance: Provenance::default(),
            sources,
            library,
            survey,
        }),
        Err(problems) => Err(Problems {
            sources,
            problems: first_of(problems),
        }),
    }
}

/// A text with a character that a terminal or a page would obey rather than show.
#[derive(Debug, Error, Diagnostic)]
#[error("a character that isn't seen (U+{found:04X})")]
#[diagnostic(
    code(library::unseen_character),
    help("take it out: whoever reads the rule would not see what it says")
)]
struct UnseenCharacter {
    found: u32,
    #[label("here")]
    at: Span,
}

/// The first such character of a text, if it has one. Those that only join letters are let through,
/// and a byte order mark is the language's to judge.
fn unseen(sources: &Sources, source: SourceId) -> Option<Located<UnseenCharacter>> {
    let is_plain = |letter| {
        matches!(
            letter,
            '\n' | '\r' | '\t' | '\u{200C}' | '\u{200D}' | '\u{FEFF}'
        )
    };
    let text = &sources.get(source).text;
    let (start, letter) = text
        .char_indices()
        .find(|(_, letter)| is_hidden(*letter) && !is_plain(*letter))?;
    let at = |byte: usize| u32::try_from(byte).expect("texts are shorter than 4 GiB");
    let error = UnseenCharacter {
        found: u32::from(letter),
        at: Span {
            source,
            start: at(start),
            end: at(start + letter.len_utf8()),
        },
    };
    Some(Located { source, error })
}

/// How many mistakes are told at once.
const MOST_TOLD: usize = 50;

/// More than fifty mistakes in a library.
#[derive(Debug, Error, Diagnostic)]
#[error("and more mistakes after these")]
#[diagnostic(
    code(library::more_mistakes),
    help("mend those above first: one mistake often makes others")
)]
struct MoreMistakes;

/// What is told of some mistakes: each is shown with its whole text beside it.
fn first_of(mut problems: Vec<Problem>) -> Vec<Problem> {
    if problems.len() > MOST_TOLD {
        problems.truncate(MOST_TOLD);
        if let Some(source) = problems.last().map(|last| last.source) {
            let error = MoreMistakes;
            problems.push(Problem::from(Located { source, error }));
        }
    }
    problems
}

fn open_sources(
    sources: &Sources,
    named: &[(SourceId, Role)],
) -> Result<(Library, Survey), Vec<Problem>> {
    let unseen = named.iter().filter_map(|(id, _)| unseen(sources, *id));
    let mut problems: Vec<Problem> = unseen.map(Problem::from).collect();
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut files = Vec::new();
    for (id, role) in named {
        match language::parse(sources, *id) {
            Ok(file) => files.push((*id, role, file)),
            Err(errors) => problems.extend(errors.into_iter().map(Problem::from)),
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let trees: Vec<_> = files.iter().map(|(id, _, file)| (*id, file)).collect();
    let vocabulary = vocabulary::build(&trees).map_err(all)?;
    let survey = Survey::new(&vocabulary).map_err(all)?;
    let files: Vec<_> = files
        .iter()
        .map(|(id, role, file)| LibraryFile {
            id: *id,
            name: &sources.get(*id).name,
            role,
            file,
        })
        .collect();
    let library = check::check(&files, vocabulary).map_err(all)?;
    let errors = layers::verify(&library);
    if errors.is_empty() {
        Ok((library, survey))
    } else {
        Err(all(errors))
    }
}

fn all<E: Diagnostic + Send + Sync + 'static>(errors: Vec<Located<E>>) -> Vec<Problem> {
    errors.into_iter().map(Problem::from).collect()
}

/// Where a file stands, from its name.
fn role(name: &str) -> Role {
    match name.split_once('/') {
        Some(("jurisdictions", rest)) => {
            let folder = rest.rsplit_once('/').map_or("", |(folder, _)| folder);
            Role::Place(folder.to_owned())
        }
        Some(("rules", _)) => Role::Model,
        Some(_) | None => Role::Shared,
    }
}

/// Of the rules alone: who signs them, and which editions came before, can be put right without
/// making another ruleset of them.
fn digest(texts: &Texts) -> String {
    let mut hash = Sha256::new();
    for (name, text) in texts.rules() {
        // Lengths keep a name from running into its text.
        hash.update(format!("{} {}\n", name.len(), text.len()));
        hash.update(name);
        hash.update(text);
    }
    hex(&hash.finalize())
}

/// The SHA-256 digest of a text, in hexadecimal.
pub fn text_digest(text: &str) -> String {
    hex(&Sha256::digest(text))
}

/// Bytes in hexadecimal.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(feature = "program")]
pub use folder::{FolderFailure, read_folder};

#[cfg(feature = "program")]
mod folder {
    use std::collections::BTreeMap;
    use std::io::Read;
    use std::path::{Path, PathBuf};

    use miette::Diagnostic;
    use thiserror::Error;
    use walkdir::WalkDir;

    use super::{Texts, is_kept};

    /// The most that a library's files may hold together, in bytes.
    const MOST_BYTES: u64 = 64 << 20;

    /// What keeps a library from being read from a folder.
    #[derive(Debug, Error, Diagnostic)]
    pub enum FolderFailure {
        /// A folder that isn't there, or isn't one.
        #[error("no library in {}", .folder.display())]
        #[diagnostic(
            code(library::not_a_folder),
            help(
                "a library is a folder that holds `rules/`, `jurisdictions/` and `shared/`, or a ruleset file that somebody published"
            )
        )]
        NotALibrary {
            /// The folder.
            folder: PathBuf,
        },
        /// A file that can't be read.
        #[error("can't read {}: {reason}", .file.display())]
        #[diagnostic(code(library::unreadable))]
        Unreadable {
            /// The file.
            file: PathBuf,
            /// Why.
            reason: String,
        },
        /// `rules/vents.rules -> /elsewhere`
        #[error("{} is a link", .link.display())]
        #[diagnostic(
            code(library::link),
            help(
                "a library is what lies in its folder: put the file or folder itself in the link's place, or take the link away"
            )
        )]
        Link {
            /// The link.
            link: PathBuf,
        },
        /// More than a library can be.
        #[error("the rules and cases in {} hold more than 64 MiB", .folder.display())]
        #[diagnostic(
            code(library::too_large),
            help("name the folder of the library itself")
        )]
        TooLarge {
            /// The folder.
            folder: PathBuf,
        },
    }

    /// Reads the texts of a library's folder. Nothing outside the folder is reached: a link in it is
    /// an error, since to pass it over would leave rules out.
    ///
    /// # Errors
    ///
    /// A folder without any of the three folders of a library, a link in it, a file that can't be
    /// read, more than a library can hold.
    pub fn read_folder(folder: &Path) -> Result<Texts, FolderFailure> {
        let parts: Vec<&str> = ["rules", "jurisdictions", "shared"]
            .into_iter()
            .filter(|part| std::fs::symlink_metadata(folder.join(part)).is_ok())
            .collect();
        if parts.is_empty() {
            return Err(FolderFailure::NotALibrary {
                folder: folder.to_owned(),
            });
        }
        let mut texts = BTreeMap::new();
        let mut bytes = 0;
        for part in parts {
            let walk = WalkDir::new(folder.join(part)).follow_root_links(false);
            for entry in walk.sort_by_file_name() {
                let entry = entry.map_err(|error| FolderFailure::Unreadable {
                    file: error.path().unwrap_or(folder).to_owned(),
                    reason: error.to_string(),
                })?;
                let name = entry
                    .path()
                    .strip_prefix(folder)
                    .unwrap_or(entry.path())
                    .to_string_lossy()
                    .replace('\\', "/");
                if entry.path_is_symlink() {
                    return Err(FolderFailure::Link {
                        link: entry.path().to_owned(),
                    });
                }
                if !entry.file_type().is_file() || !is_kept(&name) {
                    continue;
                }
                let unreadable = |reason: String| FolderFailure::Unreadable {
                    file: entry.path().to_owned(),
                    reason,
                };
                let mut content = Vec::new();
                let file = std::fs::File::open(entry.path())
                    .map_err(|error| unreadable(error.to_string()))?;
                let read = file.take(MOST_BYTES - bytes + 1).read_to_end(&mut content);
                read.map_err(|error| unreadable(error.to_string()))?;
                bytes += content.len() as u64;
                if bytes > MOST_BYTES {
                    return Err(FolderFailure::TooLarge {
                        folder: folder.to_owned(),
                    });
                }
                let text = String::from_utf8(content)
                    .map_err(|_| unreadable("it is not UTF-8 text; save it as UTF-8".to_owned()))?;
                texts.insert(name, text);
            }
        }
        Ok(Texts(texts))
    }
}
