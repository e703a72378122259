//! Groundrule's screening of whole archives: everything that is asked of it, in one file.

use groundrule::judge::Telling;
use groundrule::library::Opened;
use groundrule::record::Overrides;
use groundrule::screen::{Content, Gist, Screening, Submitted, Summary, SummarySetting};
use rayon::{ThreadPool, ThreadPoolBuilder};

/// How many records are handed on at once, as the program does.
pub const BATCH: usize = 256;

/// Screens batches on a number of threads and adds them up.
pub struct Screener<'a> {
    screening: Screening<'a>,
    pool: ThreadPool,
    setting: SummarySetting,
    summary: Summary,
    judged: Vec<Gist>,
}

/// Does some work with a screener.
pub fn with_screener<T>(
    opened: &Opened,
    threads: usize,
    work: impl FnOnce(&mut Screener<'_>) -> T,
) -> T {
    let overrides = Overrides::default();
    let no_plans = |_: &str, _: &str| Err("there are no plans here".to_owned());
    let pool = ThreadPoolBuilder::new().num_threads(threads).build();
    let setting = SummarySetting {
        most: 10,
        near: None,
        asked: None,
    };
    let screening = Screening::new(opened, &overrides, &[], None, &no_plans);
    work(&mut Screener {
        screening: screening.telling(Telling::Outline { near: None }),
        pool: pool.expect("the threads start"),
        summary: Summary::new(setting.clone()),
        setting,
        judged: Vec::new(),
    })
}

impl Screener<'_> {
    /// Screens a batch, and meanwhile adds the one before it to the summary, as the program does.
    pub fn screen(&mut self, batch: Vec<Submitted>) {
        let make = |one| Gist::of(&one, &self.setting);
        let (summary, before) = (&mut self.summary, std::mem::take(&mut self.judged));
        let add = || before.into_iter().for_each(|gist| summary.add(gist));
        self.judged = self.screening.batch_while(&self.pool, batch, make, add);
    }

    /// Adds what is left, and tells how many records were screened.
    pub fn records(&mut self) -> usize {
        for gist in self.judged.drain(..) {
            self.summary.add(gist);
        }
        self.summary.records
    }
}

/// A line of a stream, as it is handed on.
pub fn line(text: String, number: usize) -> Submitted {
    Submitted {
        name: "archive".to_owned(),
        content: Content::Line(text, number),
    }
}

/// A file, as it is handed on.
pub fn file(name: String, text: String) -> Submitted {
    Submitted {
        name,
        content: Content::Whole(text),
    }
}
