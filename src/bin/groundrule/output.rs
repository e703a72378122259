//! Where output goes: a file, whole or not at all, or standard output.

use std::io::{ErrorKind, IsTerminal, Write};
use std::path::Path;

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
    let mut beside = tempfile::NamedTempFile::new_in(folder)?;
    if let Ok(old) = std::fs::metadata(file) {
        beside.as_file().set_permissions(old.permissions())?;
    }
    beside.write_all(text.as_bytes())?;
    beside.as_file().sync_all()?;
    beside.persist(file)?;
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
