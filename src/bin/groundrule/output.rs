//! Where output goes: a file, whole or not at all, or standard output.

use std::collections::BTreeMap;
use std::io::{BufWriter, ErrorKind, IsTerminal, StdoutLock, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::input::Failure;

/// What standard output is called.
const STANDARD: &str = "standard output";
/// The width of output that is not on a terminal.
const PLAIN_WIDTH: usize = 80;
/// The widest that prose is set.
const WIDEST: usize = 100;

/// Writes to a file or to standard output.
pub fn write(text: &str, to: Option<&Path>) -> Result<(), Failure> {
    match to {
        Some(file) => write_whole(text, file).map_err(|error| unwritable(file, &error)),
        None => match std::io::stdout().lock().write_all(text.as_bytes()) {
            // Who reads has had enough.
            Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
            Err(error) => Err(Failure::Unwritable {
                file: STANDARD.into(),
                reason: error.to_string(),
            }),
            Ok(()) => Ok(()),
        },
    }
}

fn unwritable(file: &Path, error: &std::io::Error) -> Failure {
    Failure::Unwritable {
        file: file.to_owned(),
        // The error itself would name the file beside it, which nobody asked for.
        reason: error.kind().to_string(),
    }
}

/// A file beside the old one takes its place once it is whole.
fn write_whole(text: &str, file: &Path) -> std::io::Result<()> {
    persist(readied(text, file)?, file)
}

fn beside(file: &Path) -> std::io::Result<NamedTempFile> {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        Some(_) | None => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    readable_by_all(&mut builder);
    let beside = builder.tempfile_in(folder)?;
    // What is written over keeps who may read it.
    if let Ok(old) = std::fs::metadata(file) {
        beside.as_file().set_permissions(old.permissions())?;
    }
    Ok(beside)
}

fn persist(beside: NamedTempFile, file: &Path) -> std::io::Result<()> {
    beside.as_file().sync_all()?;
    beside.persist(file)?;
    Ok(())
}

/// As any new file is, within what the user's mask lets through.
#[cfg(unix)]
fn readable_by_all(builder: &mut tempfile::Builder<'_, '_>) {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(std::fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn readable_by_all(_builder: &mut tempfile::Builder<'_, '_>) {}

/// A text in a file without a name of its own yet, which vanishes unless it gets one.
fn readied(text: &str, file: &Path) -> std::io::Result<NamedTempFile> {
    let mut beside = beside(file)?;
    beside.write_all(text.as_bytes())?;
    Ok(beside)
}

/// Writes files into a folder, which is made if it isn't there: each whole, and none before all
/// are ready beside their places.
pub fn write_all(folder: &Path, files: &BTreeMap<String, String>) -> Result<(), Failure> {
    let failed = |file: &Path, error: &std::io::Error| Failure::Unwritable {
        file: file.to_owned(),
        reason: error.kind().to_string(),
    };
    if folder.exists() && !folder.is_dir() {
        return Err(Failure::Option {
            what: format!("{} is not a folder", folder.display()),
            mend: "name a folder; it is made if it isn't there".to_owned(),
        });
    }
    std::fs::create_dir_all(folder).map_err(|error| failed(folder, &error))?;
    let mut ready = Vec::new();
    for (name, text) in files {
        let file = folder.join(name);
        if file.is_dir() {
            return Err(failed(&file, &ErrorKind::IsADirectory.into()));
        }
        let readied = readied(text, &file).map_err(|error| failed(&file, &error))?;
        ready.push((readied, file));
    }
    for (readied, file) in ready {
        persist(readied, &file).map_err(|error| failed(&file, &error))?;
    }
    Ok(())
}

/// Where output goes piece by piece: standard output, or a file that is there only once it is
/// whole.
pub enum Sink {
    /// Standard output.
    Standard(BufWriter<StdoutLock<'static>>),
    /// A file beside the one that it becomes.
    Beside {
        /// What has been written.
        beside: BufWriter<NamedTempFile>,
        /// What it becomes.
        file: PathBuf,
    },
}

impl Sink {
    /// Ready to be written to.
    pub fn open(to: Option<&Path>) -> Result<Sink, Failure> {
        Ok(match to {
            None => Sink::Standard(BufWriter::new(std::io::stdout().lock())),
            Some(file) => Sink::Beside {
                beside: BufWriter::new(beside(file).map_err(|error| unwritable(file, &error))?),
                file: file.to_owned(),
            },
        })
    }

    /// Writes on; false once nobody reads.
    pub fn write(&mut self, text: &str) -> Result<bool, Failure> {
        let bytes = text.as_bytes();
        let done = match self {
            Sink::Standard(out) => out.write_all(bytes),
            Sink::Beside { beside, .. } => beside.write_all(bytes),
        };
        self.goes_on(done)
    }

    /// Hands on what has been written so far; false once nobody reads.
    pub fn flush(&mut self) -> Result<bool, Failure> {
        match self {
            Sink::Standard(out) => {
                let done = out.flush();
                self.goes_on(done)
            }
            Sink::Beside { .. } => Ok(true),
        }
    }

    /// Puts the whole in its place.
    pub fn finish(self) -> Result<(), Failure> {
        match self {
            Sink::Standard(mut out) => match out.flush() {
                Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::Unwritable {
                    file: STANDARD.into(),
                    reason: error.to_string(),
                }),
                Ok(()) | Err(_) => Ok(()),
            },
            Sink::Beside { beside, file } => {
                let beside = beside.into_inner();
                let beside = beside.map_err(|error| unwritable(&file, error.error()))?;
                persist(beside, &file).map_err(|error| unwritable(&file, &error))
            }
        }
    }

    fn goes_on(&self, done: std::io::Result<()>) -> Result<bool, Failure> {
        match (done, self) {
            (Ok(()), _) => Ok(true),
            // Who reads has had enough.
            (Err(error), Sink::Standard(_)) if error.kind() == ErrorKind::BrokenPipe => Ok(false),
            (Err(error), Sink::Standard(_)) => Err(Failure::Unwritable {
                file: STANDARD.into(),
                reason: error.to_string(),
            }),
            (Err(error), Sink::Beside { file, .. }) => Err(unwritable(file, &error)),
        }
    }
}

/// Says on standard error what went wrong.
pub fn complain(message: &str) {
    // Nobody is left to be told that this fails.
    let _ = writeln!(std::io::stderr(), "{}", message.trim_end());
}

/// Whether standard output shows colours.
pub fn stdout_has_colour(to: Option<&Path>) -> bool {
    to.is_none() && colour_is_wanted() && std::io::stdout().is_terminal()
}

/// Whether standard error shows colours.
pub fn stderr_has_colour() -> bool {
    colour_is_wanted() && std::io::stderr().is_terminal()
}

fn colour_is_wanted() -> bool {
    let is_set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !is_set("NO_COLOR") && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
}

/// How many columns prose is set in.
pub fn width() -> usize {
    if !std::io::stdout().is_terminal() {
        return PLAIN_WIDTH;
    }
    std::env::var("COLUMNS")
        .ok()
        .and_then(|columns| columns.parse().ok())
        .map_or(PLAIN_WIDTH, |columns: usize| columns.clamp(40, WIDEST))
}
