//! `screen PATH…`: an archive in, its findings or their summary out.

use std::path::Path;

use groundrule::finding::Verdict;
use groundrule::judge::Telling;
use groundrule::kept::{Asked, Keeping, Kept, KeptError, Reading};
use groundrule::library::Opened;
use groundrule::report::{csv, geojson, json, kept, sarif, summary, terminal};
use groundrule::screen::{
    Filter, Gist, Screened, Screening, SheetText, Summary, SummarySetting, graver,
};
use rayon::{ThreadPool, ThreadPoolBuilder};

use crate::args::{Form, Screen, Wanted};
use crate::input::{self, Failure};
use crate::output::{self, Sink};
use crate::progress::Progress;
use crate::submit::{self, PassedOver, Submission};

/// Screens everything, whatever can't be read among it.
pub fn run(screen: &Screen) -> Result<u8, Failure> {
    let listing = &screen.common.listing;
    if listing.form == Form::Yaml {
        return Err(listing.form.refused("text, json, csv, sarif or geojson"));
    }
    let opened = input::library(&screen.common)?;
    let overrides = input::overrides(&screen.common, &opened)?;
    let stood_in = input::stood_in(&screen.common);
    let sheet = submit::sheet(&opened, screen.tables.sheet.as_deref())?;
    let filter = filter(&screen.wanted, &opened)?;
    let setting = summary_setting(screen, sheet.as_ref())?;
    let told = Told::new(
        listing.form,
        listing.to.as_deref(),
        setting.clone(),
        &opened,
    )?;
    let make = |screened| Some(piece(listing.form, &setting, &filter.apply(screened)?));
    if let Some(file) = &screen.kept {
        let reading = Reading::open(file)?;
        // It tells what the rules of its findings are, which only their own ruleset knows.
        if listing.form == Form::Sarif {
            reading.by_rules(&opened.digest)?;
        }
        return of_kept(&reading, make, told);
    }
    let screening = Screening::new(&opened, &overrides, &stood_in, sheet.as_ref(), &input::plan);
    let telling = match screen.keep {
        // What is kept is kept whole.
        Some(_) => Telling::All,
        None => filter.telling(listing.form == Form::Text, setting.near),
    };
    let screening = screening.telling(telling);
    of_paths(screen, &screening, make, told)
}

/// Tells what the last screening kept.
fn of_kept(
    reading: &Reading,
    make: impl Fn(Screened) -> Option<Piece>,
    mut told: Told<'_>,
) -> Result<u8, Failure> {
    reading.last(|screened| match make(screened) {
        Some(piece) => told.take(piece),
        None => Ok(true),
    })?;
    told.finish(None, None)
}

fn of_paths(
    screen: &Screen,
    screening: &Screening<'_>,
    make: impl Fn(Screened) -> Option<Piece> + Sync,
    mut told: Told<'_>,
) -> Result<u8, Failure> {
    let listing = &screen.common.listing;
    let pool = pool(screen.threads)?;
    let mut submission = Submission::new(
        screening.sheet,
        screen.tables.sheet.as_deref(),
        screen.follow_links,
    );
    submission.kept_file.clone_from(&screen.keep);
    let mut keeping = match &screen.keep {
        Some(file) => Some(Keeping::open(file, screening, asked(screen))?),
        None => None,
    };
    let progress = Progress::new(listing.form, listing.to.as_deref());
    let mut is_read_on = true;
    // A summary says nothing before the end, so that one batch is added up while the next is judged.
    let mut judged: Vec<Option<Piece>> = Vec::new();
    submission.paths(&screen.paths, &mut |batch| {
        let count = batch.len();
        let pieces = match &mut keeping {
            Some(keeping) => keeping.batch(screening, &pool, batch, &make)?,
            None if listing.form == Form::Text => {
                let before = std::mem::take(&mut judged);
                let mut added = Ok(true);
                let add = || added = told.take_all(before);
                judged = screening.batch_while(&pool, batch, &make, add);
                added?;
                Vec::new()
            }
            None => screening.batch(&pool, batch, &make),
        };
        if !told.take_all(pieces)? {
            is_read_on = false;
            return Ok(false);
        }
        progress.add(count);
        told.sink.flush()
    })?;
    told.take_all(judged)?;
    progress.finish();
    let passed_over = words(submission.passed_over);
    // A stream may be empty, as a part of an archive that others divided up; a folder of lots
    // without one is a mistake, and no archive that is in order.
    if submission.count == 0 && !screen.paths.iter().any(|path| path.as_os_str() == "-") {
        if let Some(keeping) = keeping {
            keeping.discard();
        }
        return Err(Failure::Option {
            what: "no record was found".to_owned(),
            mend: passed_over.unwrap_or_else(|| "name a folder that holds records".to_owned()),
        });
    }
    // Where nobody reads on, the screening stays cut off, and may be gone on with.
    let kept = match keeping.filter(|_| is_read_on) {
        Some(keeping) => Some(keeping.finish(screen.most)?),
        None => None,
    };
    if listing.form != Form::Text {
        let kept = kept.as_ref().map(kept::line);
        for note in kept.iter().chain(&passed_over) {
            output::complain(note);
        }
    }
    told.finish(kept.as_ref(), passed_over.as_deref())
}

fn asked(screen: &Screen) -> Asked {
    let paths = screen.paths.iter();
    Asked {
        paths: paths
            .map(|path| path.to_string_lossy().into_owned())
            .collect(),
    }
}

impl From<KeptError> for Failure {
    fn from(error: KeptError) -> Failure {
        Failure::refused(error.to_string(), &error)
    }
}

fn pool(threads: Option<usize>) -> Result<ThreadPool, Failure> {
    let threads = match threads {
        Some(0) => {
            return Err(Failure::Option {
                what: "--threads 0: nobody would do the work".to_owned(),
                mend: "leave it out to use all cores, or write 1 or more".to_owned(),
            });
        }
        // Rayon takes 0 for all there are.
        threads => threads.unwrap_or_default(),
    };
    let pool = ThreadPoolBuilder::new().num_threads(threads).build();
    pool.map_err(|error| Failure::Option {
        what: format!("can't start the threads: {error}"),
        mend: "ask for fewer with `--threads NUMBER`".to_owned(),
    })
}

// What is asked.

fn summary_setting(screen: &Screen, sheet: Option<&SheetText>) -> Result<SummarySetting, Failure> {
    Ok(SummarySetting {
        most: screen.most,
        near: share(&screen.near)?,
        asked: sheet.and_then(|sheet| sheet.sheet.asked.clone()),
    })
}

/// `5%`, `5 %` or `0.05`; none of nothing.
fn share(text: &str) -> Result<Option<f64>, Failure> {
    let number = text.trim().trim_end_matches('%').trim();
    let divisor = if text.contains('%') { 100.0 } else { 1.0 };
    let share = number.parse::<f64>().map(|number| number / divisor);
    match share {
        Ok(share) if (0.0..=1.0).contains(&share) => Ok((share > 0.0).then_some(share)),
        Ok(_) | Err(_) => Err(Failure::Option {
            what: format!("--near {text}: not a share from 0 to 100 %"),
            mend: "write it like `--near 5%`; `--near 0` tells of nothing near".to_owned(),
        }),
    }
}

fn filter(wanted: &Wanted, opened: &Opened) -> Result<Filter, Failure> {
    let vocabulary = &opened.library.vocabulary;
    let verdicts = wanted.verdict.iter().map(|name| verdict(name));
    let hazards: Vec<&str> = vocabulary
        .hazards
        .iter()
        .map(|hazard| hazard.name.as_str())
        .collect();
    for hazard in &wanted.hazard {
        known("--hazard", hazard, &hazards)?;
    }
    for hold in &wanted.hold {
        input::hold(opened, Some(hold))?;
    }
    for place in &wanted.within {
        input::place(opened, place)?;
    }
    let date = |option: &str, text: &Option<String>| match text {
        Some(text) => input::date_option(option, text).map(Some),
        None => Ok(None),
    };
    Ok(Filter {
        verdicts: verdicts.collect::<Result<_, _>>()?,
        hazards: wanted.hazard.clone(),
        holds: wanted.hold.clone(),
        within: wanted.within.clone(),
        from: date("--from", &wanted.from)?,
        until: date("--until", &wanted.until)?,
    })
}

fn verdict(name: &str) -> Result<Verdict, Failure> {
    let names = Verdict::ALL.map(Verdict::name);
    known("--verdict", name, &names)?;
    Ok(Verdict::named(name).expect("it is one of them"))
}

fn known(option: &str, name: &str, names: &[&str]) -> Result<(), Failure> {
    if names.contains(&name) {
        return Ok(());
    }
    Err(Failure::Option {
        what: format!("{option} {name}: nothing of that name"),
        mend: format!("one of {}", names.join(", ")),
    })
}

// What is told.

/// What a thread makes of one record.
struct Piece {
    status: u8,
    said: Said,
}

enum Said {
    Text(String),
    Gist(Box<Gist>),
}

/// Made on the thread that screened the record.
fn piece(form: Form, setting: &SummarySetting, screened: &Screened) -> Piece {
    let report = &screened.report;
    let said = match form {
        Form::Text | Form::Yaml => Said::Gist(Box::new(Gist::of(screened, setting))),
        Form::Json => Said::Text(json::line(report) + "\n"),
        Form::Csv => Said::Text(csv::rows(report)),
        Form::Sarif => Said::Text(sarif::results(report)),
        Form::Geojson => Said::Text(geojson::features(screened)),
    };
    Piece {
        status: report.exit_status,
        said,
    }
}

/// What has been told so far.
struct Told<'a> {
    form: Form,
    to: Option<&'a Path>,
    sink: Sink,
    summary: Summary,
    gravest: u8,
    /// Whether something stands in the list already, so that a comma is due.
    has_some: bool,
}

impl<'a> Told<'a> {
    fn new(
        form: Form,
        to: Option<&'a Path>,
        setting: SummarySetting,
        opened: &Opened,
    ) -> Result<Self, Failure> {
        let mut sink = Sink::open(to)?;
        match form {
            Form::Csv => sink.write(&csv::header())?,
            Form::Sarif => sink.write(&sarif::before(&opened.library, &opened.digest))?,
            Form::Geojson => sink.write(&geojson::before())?,
            Form::Text | Form::Json | Form::Yaml => true,
        };
        Ok(Told {
            form,
            to,
            sink,
            summary: Summary::new(setting),
            gravest: 0,
            has_some: false,
        })
    }

    /// Tells pieces, in the order of the records; false once nobody reads on.
    fn take_all(&mut self, pieces: Vec<Option<Piece>>) -> Result<bool, Failure> {
        for piece in pieces.into_iter().flatten() {
            if !self.take(piece)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Tells a piece, in the order of the records; false once nobody reads on.
    fn take(&mut self, piece: Piece) -> Result<bool, Failure> {
        self.gravest = graver(self.gravest, piece.status);
        match piece.said {
            Said::Gist(gist) => {
                self.summary.add(*gist);
                Ok(true)
            }
            Said::Text(text) if text.is_empty() => Ok(true),
            Said::Text(text) => {
                let is_list = matches!(self.form, Form::Sarif | Form::Geojson);
                let comma = if is_list && self.has_some { "," } else { "" };
                self.has_some = true;
                self.sink.write(&format!("{comma}{text}"))
            }
        }
    }

    fn finish(mut self, kept: Option<&Kept>, passed_over: Option<&str>) -> Result<u8, Failure> {
        let end = match self.form {
            Form::Text | Form::Yaml => {
                let style = terminal::Style {
                    colour: output::stdout_has_colour(self.to),
                    width: output::width(),
                };
                summary::summary(&self.summary, kept, passed_over, style)
            }
            Form::Json | Form::Csv => String::new(),
            Form::Sarif => sarif::after().to_owned(),
            Form::Geojson => geojson::after().to_owned(),
        };
        self.sink.write(&end)?;
        self.sink.finish()?;
        Ok(self.gravest)
    }
}

/// What was passed over, in words; nothing where nothing was.
fn words(passed_over: PassedOver) -> Option<String> {
    let parts = [
        (passed_over.hidden, "hidden"),
        (passed_over.foreign, "of another kind"),
        (
            passed_over.links,
            "linked (`--follow-links` goes through links)",
        ),
        (
            passed_over.tables,
            "without a sheet (`--sheet FILE` says how a table is read)",
        ),
    ];
    let parts = parts.iter().filter(|(count, _)| *count > 0);
    let parts: Vec<String> = parts
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    (!parts.is_empty()).then(|| format!("Files passed over: {}.", parts.join(", ")))
}
