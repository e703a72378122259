//! Time, taken side by side: all contestants in turn, round after round, and of each the least.

use std::time::Duration;

use rustix::time::{ClockId, clock_gettime};

/// Somebody who does the same work as the others.
pub struct Contestant<'a> {
    /// What the table calls it.
    pub name: String,
    /// Does all the work once, and tells how long it took.
    work: Box<dyn FnMut() -> Duration + 'a>,
    /// The least time that it took.
    pub least: Duration,
}

impl<'a> Contestant<'a> {
    /// One who works on this thread alone: what counts is the processor's time that it takes, so that
    /// what else the machine does is left out. It works twice, and the second time counts: what the
    /// one before it put in the processor's caches is of no use to it.
    pub fn new(name: impl Into<String>, mut work: impl FnMut() + 'a) -> Self {
        Contestant::timed(name, move || {
            work();
            let start = processor_time();
            work();
            processor_time() - start
        })
    }

    /// One who takes the time himself, since part of the work doesn't count.
    pub fn timed(name: impl Into<String>, work: impl FnMut() -> Duration + 'a) -> Self {
        Contestant {
            name: name.into(),
            work: Box::new(work),
            least: Duration::MAX,
        }
    }
}

fn processor_time() -> Duration {
    let now = clock_gettime(ClockId::ThreadCPUTime);
    let seconds = u64::try_from(now.tv_sec).expect("a thread's time begins at 0");
    let nanoseconds = u32::try_from(now.tv_nsec).expect("less than a second");
    Duration::new(seconds, nanoseconds)
}

/// Lets all of them run in turn, so that a busy moment of the machine meets all alike. The first
/// ones, who are brief, run before each of the others, so that they meet its quiet moments too.
pub fn race(rounds: usize, contestants: &mut [Contestant<'_>], brief: usize) {
    let (brief, others) = contestants.split_at_mut(brief);
    for _ in 0..rounds {
        for other in &mut *others {
            for contestant in brief.iter_mut().chain([other]) {
                let taken = (contestant.work)();
                contestant.least = contestant.least.min(taken);
            }
        }
    }
}

/// How many times as long the one took as the other.
pub fn times(slow: Duration, quick: Duration) -> f64 {
    slow.as_secs_f64() / quick.as_secs_f64()
}
