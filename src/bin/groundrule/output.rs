//! Where output goes: a file, whole or not at all, or standard output.

use std::collections::BTreeMap;
use std::io::{ErrorKind, IsTerminal, Write};
use std::path::Path;

use tempfile::NamedTempFile;

use crate::input::Failure;

/// The width of output that is not on a terminal.
const PLAIN_WIDTH: usize = 80;
/// The widest that prose is set.
const WIDEST: usize = 100;

/// Writes to a file or to standard output.
pub fn write(text: &str, to: Option<&Path>) -> Result<(), Failure> {
    match to {
        Some(file) => write_whole(text, file).map_err(|error| Failure::Unwritable {
            file: file.to_owned(),
            // The error itself would name the file beside it, which nobody asked for.
            reason: error.kind().to_string(),
        }),
        None => match std::io::stdout().lock().write_all(text.as_bytes()) {
            // Who reads has had enough.
            Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
            Err(error) => Err(Failure::Unwritable {
                file: "standard output".into(),
                reason: error.to_string(),
            }),
            Ok(()) => Ok(()),
        },
    }
}

/// A file beside the old one takes its place once it is whole.
fn write_whole(text: &str, file: &Path) -> std::io::Result<()> {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        Some(_) | None => Path::new("."),
    };
    readied(text, folder)?.persist(file)?;
    Ok(())
}

/// A text in a file without a name of its own yet, which vanishes unless it gets one.
fn readied(text: &str, folder: &Path) -> std::io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    readable_by_all(&mut builder);
    let mut beside = builder.tempfile_in(folder)?;
    beside.write_all(text.as_bytes())?;
    beside.as_file().sync_all()?;
    Ok(beside)
}

/// As any new file is, within what the user's mask lets through.
#[cfg(unix)]
fn readable_by_all(builder: &mut tempfile::Builder<'_, '_>) {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(std::fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn readable_by_all(_builder: &mut tempfile::Builder<'_, '_>) {}

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
        let beside = readied(text, folder).map_err(|error| failed(&file, &error))?;
        ready.push((beside, file));
    }
    for (beside, file) in ready {
        beside
            .persist(&file)
            .map_err(|error| failed(&file, &error.error))?;
    }
    Ok(())
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
