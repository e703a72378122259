//! YAML files in folders, cold: screened, beside the mere reading of their bytes.
//!
//! Before each round the system is asked to forget the files (`posix_fadvise`, `DONTNEED`), which
//! needs no rights; that it did so shows in the line of the same reading while they are remembered.

use std::fs::{self, File};
use std::hint::black_box;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use groundrule::library::Opened;
use rustix::fs::{Advice, fadvise};
use walkdir::WalkDir;

use crate::archive::Lot;
use crate::block::block;
use crate::measure::{Contestant, race};
use crate::screened::{BATCH, file, with_screener};
use crate::table::Line;

const ROUNDS: usize = 3;
const IN_A_FOLDER: usize = 100;

/// Races screening of files against reading them and tells what came of it.
///
/// # Errors
///
/// A disk that doesn't take or give the files.
pub fn files(opened: &Opened, lots: &[Lot], threads: usize) -> io::Result<Vec<Line>> {
    let folder = tempfile::tempdir()?;
    let written = write(folder.path(), lots)?;
    let reading = |taken: io::Result<Duration>| taken.unwrap_or(Duration::MAX);
    let cold = |work: &dyn Fn() -> io::Result<Duration>| {
        forget(&written)?;
        work()
    };
    let read = || read(folder.path());
    let screen = || screen(opened, folder.path(), threads);
    let mut contestants = [
        Contestant::timed("reading the bytes, cold", || reading(cold(&read))),
        Contestant::timed("groundrule, cold", || reading(cold(&screen))),
        Contestant::timed("groundrule, remembered", || reading(screen())),
        Contestant::timed("reading the bytes, remembered", || reading(read())),
    ];
    race(ROUNDS, &mut contestants, 0);
    let [bytes, screened, warm, warm_bytes] = &contestants;
    let note = format!("{} files in folders of {IN_A_FOLDER}", written.len());
    Ok(vec![
        Line::own(screened, written.len(), &note),
        Line::beside(bytes, written.len(), screened, None),
        Line::beside(warm, written.len(), screened, None),
        Line::beside(warm_bytes, written.len(), screened, None),
    ])
}

fn write(folder: &Path, lots: &[Lot]) -> io::Result<Vec<PathBuf>> {
    let mut written = Vec::new();
    for (number, lot) in lots.iter().enumerate() {
        let within = folder.join(format!("{:03}", number / IN_A_FOLDER));
        fs::create_dir_all(&within)?;
        let path = within.join(format!("{number:05}.yaml"));
        fs::write(&path, block(&lot.written))?;
        // What still waits to be written can't be forgotten.
        File::open(&path)?.sync_data()?;
        written.push(path);
    }
    Ok(written)
}

fn forget(paths: &[PathBuf]) -> io::Result<()> {
    for path in paths {
        fadvise(File::open(path)?, 0, None, Advice::DontNeed)?;
    }
    Ok(())
}

fn each_file(
    folder: &Path,
    mut take: impl FnMut(PathBuf) -> io::Result<()>,
) -> io::Result<Duration> {
    let since = Instant::now();
    for entry in WalkDir::new(folder).sort_by_file_name() {
        let entry = entry?;
        if entry.file_type().is_file() {
            take(entry.into_path())?;
        }
    }
    Ok(since.elapsed())
}

fn read(folder: &Path) -> io::Result<Duration> {
    each_file(folder, |path| {
        black_box(fs::read(path)?);
        Ok(())
    })
}

fn screen(opened: &Opened, folder: &Path, threads: usize) -> io::Result<Duration> {
    with_screener(opened, threads, |screener| {
        let mut batch = Vec::new();
        let since = Instant::now();
        each_file(folder, |path| {
            let text = fs::read_to_string(&path)?;
            batch.push(file(path.display().to_string(), text));
            if batch.len() == BATCH {
                screener.screen(std::mem::take(&mut batch));
            }
            Ok(())
        })?;
        screener.screen(batch);
        Ok(since.elapsed())
    })
}
