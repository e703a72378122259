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
    })
}

impl Screener<'_> {
    /// Screens a batch and adds it to the summary.
    pub fn screen(&mut self, batch: Vec<Submitted>) {
        let make = |one| Gist::of(&one, &self.setting);
        for gist in self.screening.batch(&self.pool, batch, make) {
            self.summary.add(gist);
        }
    }

    /// How many records were screened.
    pub fn records(&self) -> usize {
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
