//! The editor's documents, and which files of a library they are.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use groundrule::language::{Kind, Layout};
use groundrule::library::{self, Texts};
use groundrule::source::SourceId;
use lsp_types::{
    DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams,
    InitializeParams, Uri,
};

use super::Session;

/// The folders of a library.
const PARTS: [&str; 3] = ["rules", "jurisdictions", "shared"];

/// Where the files belong that are not open.
#[derive(Debug, Clone)]
pub enum Home {
    /// In the library of a folder.
    Folder(PathBuf),
    /// In the library inside the program.
    Embedded,
}

impl Home {
    /// The library asked for, or else the first of the editor's folders that is one.
    pub fn of(asked: Option<&Path>, params: &InitializeParams) -> Home {
        if let Some(folder) = asked {
            return Home::Folder(absolute(folder));
        }
        let folders = params.workspace_folders.iter().flatten();
        let mut roots: Vec<&Uri> = folders.map(|folder| &folder.uri).collect();
        #[expect(deprecated, reason = "older editors say their folder so")]
        roots.extend(params.root_uri.as_ref());
        roots
            .into_iter()
            .filter_map(path_of)
            .find(|folder| library::read_folder(folder).is_ok())
            .map_or(Home::Embedded, Home::Folder)
    }

    /// Its texts as they are saved; nothing while the folder can't be read.
    pub fn texts(&self) -> Option<Texts> {
        match self {
            Home::Folder(folder) => match library::read_folder(folder) {
                Ok(texts) => Some(texts),
                Err(failure) => {
                    crate::output::complain(&failure.to_string());
                    None
                }
            },
            Home::Embedded => Some(library::embedded()),
        }
    }

    /// The document of a file that is not open.
    fn uri(&self, name: &str) -> Option<Uri> {
        match self {
            Home::Folder(folder) => uri_of(&folder.join(name)),
            Home::Embedded => None,
        }
    }

    /// The name in the library of a file on the disk.
    fn name(&self, path: &Path) -> Option<String> {
        let within = match self {
            Home::Folder(folder) => match path.strip_prefix(folder) {
                Ok(within) => within.to_owned(),
                Err(_) => absolute(path)
                    .strip_prefix(absolute(folder))
                    .ok()?
                    .to_owned(),
            },
            Home::Embedded => below_a_part(path)?,
        };
        let name = within.to_string_lossy().replace('\\', "/");
        let (part, _) = name.split_once('/')?;
        PARTS.contains(&part).then_some(name)
    }
}

/// A path from the last of its folders that is called as one of a library's.
fn below_a_part(path: &Path) -> Option<PathBuf> {
    let parts: Vec<_> = path.components().collect();
    let at = parts
        .iter()
        .rposition(|part| PARTS.iter().any(|known| part.as_os_str() == *known))?;
    Some(parts[at..].iter().collect())
}

fn absolute(path: &Path) -> PathBuf {
    std::fs::canonicalize(path)
        .or_else(|_| std::path::absolute(path))
        .unwrap_or_else(|_| path.to_owned())
}

/// A document that is open.
#[derive(Debug, Clone)]
pub struct Document {
    /// What the editor calls it.
    pub uri: Uri,
    /// The editor's number of its state.
    pub version: i32,
}

/// The open documents by their names in the library.
pub struct Documents {
    /// Where the others belong.
    pub home: Home,
    open: BTreeMap<String, Document>,
}

impl Documents {
    /// None is open yet.
    pub fn new(home: Home) -> Documents {
        Documents {
            home,
            open: BTreeMap::new(),
        }
    }

    /// The name of an open document.
    pub fn name(&self, uri: &Uri) -> Option<&str> {
        let mut open = self.open.iter();
        let (name, _) = open.find(|(_, document)| document.uri == *uri)?;
        Some(name)
    }

    /// The document of a name, open or not.
    pub fn uri(&self, name: &str) -> Option<Uri> {
        match self.open.get(name) {
            Some(document) => Some(document.uri.clone()),
            None => self.home.uri(name),
        }
    }

    /// The open documents.
    pub fn open(&self) -> impl Iterator<Item = (&String, &Document)> {
        self.open.iter()
    }

    /// The name under which a document's text stands in the library: its own, or else one that
    /// suits what is in it.
    fn name_for(&self, uri: &Uri, text: &str) -> String {
        let path = path_of(uri);
        if let Some(name) = path.as_ref().and_then(|path| self.home.name(path)) {
            return name;
        }
        let path = path.unwrap_or_else(|| PathBuf::from(uri.path().as_str()));
        let stem = path
            .file_stem()
            .map_or("draft".into(), |stem| stem.to_string_lossy());
        match suited_part(text) {
            Part::Place => format!("jurisdictions/{stem}/place.rules"),
            Part::Rules => format!("rules/{stem}.rules"),
            Part::Shared => format!("shared/{stem}.rules"),
        }
    }
}

enum Part {
    Place,
    Rules,
    Shared,
}

/// In which part of a library a text belongs, by its items.
fn suited_part(text: &str) -> Part {
    let items = Layout::of(text, SourceId(0)).items;
    let has = |wanted: &[Kind]| items.iter().any(|item| wanted.contains(&item.kind));
    if has(&[
        Kind::Place,
        Kind::Adopt,
        Kind::Amend,
        Kind::Set,
        Kind::Strike,
        Kind::Restrict,
        Kind::Add,
        Kind::Replace,
        Kind::Variance,
    ]) {
        Part::Place
    } else if has(&[
        Kind::Topic,
        Kind::Limit,
        Kind::Table,
        Kind::Define,
        Kind::Rule,
    ]) {
        Part::Rules
    } else {
        Part::Shared
    }
}

impl Session {
    /// Takes up a document.
    pub fn opened(&mut self, told: DidOpenTextDocumentParams) {
        let document = told.text_document;
        let name = self.documents.name_for(&document.uri, &document.text);
        self.workspace.edit(&name, document.text);
        let open = Document {
            uri: document.uri,
            version: document.version,
        };
        self.documents.open.insert(name, open);
    }

    /// Takes up a document's new text; it is told whole.
    pub fn edited(&mut self, told: DidChangeTextDocumentParams) {
        let Some(name) = self
            .documents
            .name(&told.text_document.uri)
            .map(str::to_owned)
        else {
            return;
        };
        let whole = told
            .content_changes
            .into_iter()
            .rev()
            .find(|change| change.range.is_none());
        let Some(change) = whole else {
            return;
        };
        self.workspace.edit(&name, change.text);
        if let Some(document) = self.documents.open.get_mut(&name) {
            document.version = told.text_document.version;
        }
    }

    /// Goes back to what is saved.
    pub fn closed(&mut self, told: DidCloseTextDocumentParams) {
        let Some(name) = self
            .documents
            .name(&told.text_document.uri)
            .map(str::to_owned)
        else {
            return;
        };
        self.documents.open.remove(&name);
        self.workspace.close(&name);
    }
}

/// The path of a document on the disk.
fn path_of(uri: &Uri) -> Option<PathBuf> {
    if uri.scheme()?.as_str() != "file" {
        return None;
    }
    let path = uri.path().as_estr().decode().into_string().ok()?;
    let path = path.as_ref();
    // `/c:/rules` is `c:/rules`.
    let drive = path.as_bytes().get(2) == Some(&b':');
    Some(PathBuf::from(if drive { &path[1..] } else { path }))
}

/// The document of a path.
fn uri_of(path: &Path) -> Option<Uri> {
    let path = path.to_string_lossy().replace('\\', "/");
    let mut text = "file://".to_owned();
    if !path.starts_with('/') {
        text.push('/');
    }
    for byte in path.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'.' | b'_' | b'~' => {
                text.push(char::from(byte));
            }
            other => text.push_str(&format!("%{other:02X}")),
        }
    }
    text.parse().ok()
}
