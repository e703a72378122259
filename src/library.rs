//! `rules/`, `jurisdictions/` and `shared/` as one set of texts, embedded or read from a folder.
//!
//! The one module of the library that touches a disk, and only with the `program` feature.

use std::collections::BTreeMap;

use include_dir::{Dir, include_dir};
use miette::Diagnostic;
use sha2::{Digest, Sha256};

use crate::check::{self, LibraryFile, Role, typed::Library};
use crate::finding::ReportedError;
use crate::judge::Setting;
use crate::language;
use crate::layers;
use crate::source::{Located, SourceId, Sources, Span};
use crate::survey::Survey;
use crate::vocabulary;

static RULES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/rules");
static JURISDICTIONS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/jurisdictions");
static SHARED: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/shared");

/// The ending of files in the rule language.
const RULE_FILE: &str = ".rules";

/// The texts of a library by name: `rules/vents.rules`, with `/` between folders.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Texts(pub BTreeMap<String, String>);

/// A library that was read and checked: ready to be asked.
#[derive(Debug, Clone)]
pub struct Opened {
    /// Its texts.
    pub sources: Sources,
    /// What they mean.
    pub library: Library,
    /// The survey functions of its vocabulary.
    pub survey: Survey,
    /// The digest of its texts: SHA-256 over names and texts in order.
    pub digest: String,
}

impl Opened {
    /// What every report by this library says.
    pub fn setting(&self) -> Setting<'_> {
        Setting {
            library: &self.library,
            survey: &self.survey,
            ruleset_digest: &self.digest,
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
        if let (true, Some(text)) = (path.ends_with(RULE_FILE), file.contents_utf8()) {
            texts.insert(format!("{name}/{path}"), text.to_owned());
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
        .0
        .iter()
        .map(|(name, text)| (sources.add(name.as_str(), text.as_str()), role(name)))
        .collect();
    match open_sources(&sources, &named) {
        Ok((library, survey)) => Ok(Opened {
            digest: digest(texts),
            sources,
            library,
            survey,
        }),
        Err(problems) => Err(Problems { sources, problems }),
    }
}

fn open_sources(
    sources: &Sources,
    named: &[(SourceId, Role)],
) -> Result<(Library, Survey), Vec<Problem>> {
    let mut files = Vec::new();
    let mut problems = Vec::new();
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

fn digest(texts: &Texts) -> String {
    let mut hash = Sha256::new();
    for (name, text) in &texts.0 {
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

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(feature = "program")]
pub use folder::{FolderFailure, read_folder};

#[cfg(feature = "program")]
mod folder {
    use std::collections::BTreeMap;
    use std::path::{Path, PathBuf};

    use miette::Diagnostic;
    use thiserror::Error;
    use walkdir::WalkDir;

    use super::{RULE_FILE, Texts};

    /// The most that a library's rule files may hold together, in bytes.
    const MOST_BYTES: u64 = 64 << 20;

    /// What keeps a library from being read from a folder.
    #[derive(Debug, Error, Diagnostic)]
    pub enum FolderFailure {
        /// A folder that isn't there, or isn't one.
        #[error("no library in {}", .folder.display())]
        #[diagnostic(
            code(library::not_a_folder),
            help("a library is a folder that holds `rules/`, `jurisdictions/` and `shared/`")
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
        /// More than a library can be.
        #[error("the rule files in {} hold more than 64 MiB", .folder.display())]
        #[diagnostic(
            code(library::too_large),
            help("name the folder of the library itself")
        )]
        TooLarge {
            /// The folder.
            folder: PathBuf,
        },
    }

    /// Reads the rule files of a folder. Links are not followed: a library is what lies in it.
    ///
    /// # Errors
    ///
    /// A folder without any of the three folders of a library, a file that can't be read.
    pub fn read_folder(folder: &Path) -> Result<Texts, FolderFailure> {
        let parts: Vec<&str> = ["rules", "jurisdictions", "shared"]
            .into_iter()
            .filter(|part| folder.join(part).is_dir())
            .collect();
        if parts.is_empty() {
            return Err(FolderFailure::NotALibrary {
                folder: folder.to_owned(),
            });
        }
        let mut texts = BTreeMap::new();
        let mut bytes = 0;
        for part in parts {
            for entry in WalkDir::new(folder.join(part)).sort_by_file_name() {
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
                if !entry.file_type().is_file() || !name.ends_with(RULE_FILE) {
                    continue;
                }
                let unreadable = |reason: String| FolderFailure::Unreadable {
                    file: entry.path().to_owned(),
                    reason,
                };
                bytes += entry
                    .metadata()
                    .map_err(|error| unreadable(error.to_string()))?
                    .len();
                if bytes > MOST_BYTES {
                    return Err(FolderFailure::TooLarge {
                        folder: folder.to_owned(),
                    });
                }
                let text = std::fs::read_to_string(entry.path())
                    .map_err(|error| unreadable(error.to_string()))?;
                texts.insert(name, text);
            }
        }
        Ok(Texts(texts))
    }
}
