//! A record's places and dates in, the rules in force for it out, compiled once for all records
//! that share them.
//!
//! Rules change on the days on which some statement begins or ends to hold and on no other, so
//! that dates between two such days choose the same rules: an archive of thousands of permits
//! needs few programs.

use std::collections::HashMap;
use std::sync::{Arc, Mutex};

use super::Setting;
use super::quick::Quick;
use super::report::statement_notices;
use crate::check::typed::{Library, PlaceId};
use crate::layers::{Dates, InForce, LayerError, PermitDates, in_force};
use crate::program::{Program, compile};
use crate::quantity::Rational;
use crate::vocabulary::PermitId;

/// How many programs are kept; more would be one place's whole history several times over.
const MOST_KEPT: usize = 64;
/// In seconds.
const ONE_DAY: i64 = 86_400;

/// The rules for some places and dates.
#[derive(Debug)]
pub struct Chosen {
    /// Ready to judge with.
    pub program: Program,
    /// The same for floats.
    pub quick: Quick,
    /// Whether any rule but the model's precautions is in force.
    pub(super) has_rules: bool,
    /// What should be said of the statements on rules, limits and cells.
    pub(super) notices: Vec<String>,
}

/// Chooses rules, and remembers what it chose.
#[derive(Debug)]
pub struct Chooser {
    /// The days on which anything changes in any place, rising.
    turns: Vec<Rational>,
    kept: Mutex<HashMap<Key, Arc<Chosen>>>,
}

/// What decides which rules are in force: places, and each date as how many turns it has seen.
#[derive(Debug, PartialEq, Eq, Hash)]
struct Key {
    places: Vec<PlaceId>,
    recorded: usize,
    permits: Vec<(PermitId, [Option<usize>; 3])>,
}

impl Chooser {
    /// For the records of one library.
    pub fn new(library: &Library) -> Self {
        let statements = library.places.iter().flat_map(|place| &place.statements);
        let mut turns: Vec<Rational> = statements
            .flat_map(|statement| [Some(&statement.from), statement.until.as_ref()])
            .flatten()
            .map(|date| date.value)
            .collect();
        turns.sort();
        turns.dedup();
        Chooser {
            turns,
            kept: Mutex::default(),
        }
    }

    /// The rules for some places and dates.
    ///
    /// # Errors
    ///
    /// Two places that both claim a topic.
    pub(super) fn choose(
        &self,
        setting: Setting<'_>,
        places: &[PlaceId],
        dates: &Dates,
    ) -> Result<Arc<Chosen>, Vec<LayerError>> {
        let key = self.key(places, dates);
        if let Some(known) = self.kept().get(&key) {
            return Ok(Arc::clone(known));
        }
        let in_force = in_force(setting.library, places, &self.rounded(dates))?;
        let chosen = Arc::new(chosen(setting, in_force));
        let mut kept = self.kept();
        if kept.len() == MOST_KEPT {
            kept.clear();
        }
        kept.insert(key, Arc::clone(&chosen));
        Ok(chosen)
    }

    fn kept(&self) -> std::sync::MutexGuard<'_, HashMap<Key, Arc<Chosen>>> {
        // What is kept is whole at any moment, whatever became of another thread.
        self.kept
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    fn key(&self, places: &[PlaceId], dates: &Dates) -> Key {
        let seen = |date: Option<Rational>| date.map(|date| self.seen(date));
        let permits = dates.permits.iter().map(|permit| {
            let of = [permit.applied, permit.issued, permit.plan_approved];
            (permit.kind, of.map(seen))
        });
        let mut permits: Vec<_> = permits.collect();
        permits.sort();
        Key {
            places: places.to_vec(),
            recorded: self.seen(dates.recorded),
            permits,
        }
    }

    /// How many turns lie on or before a date.
    fn seen(&self, date: Rational) -> usize {
        self.turns.partition_point(|turn| *turn <= date)
    }

    /// The dates, each put back to the day on which its rules began.
    fn rounded(&self, dates: &Dates) -> Dates {
        let permits = dates.permits.iter().map(|permit| PermitDates {
            kind: permit.kind,
            applied: permit.applied.map(|date| self.turn(date)),
            issued: permit.issued.map(|date| self.turn(date)),
            plan_approved: permit.plan_approved.map(|date| self.turn(date)),
            expires: None,
            span: None,
        });
        Dates {
            recorded: self.turn(dates.recorded),
            on: None,
            permits: permits.collect(),
        }
    }

    fn turn(&self, date: Rational) -> Rational {
        match self.seen(date) {
            0 => self.before_all(date),
            seen => self.turns[seen - 1],
        }
    }

    /// A day before any statement holds.
    fn before_all(&self, date: Rational) -> Rational {
        let first = self.turns.first().copied();
        first
            .and_then(|first| first.checked_subtract(Rational::from_integer(ONE_DAY)))
            .unwrap_or(date)
    }
}

fn chosen(setting: Setting<'_>, in_force: InForce) -> Chosen {
    let library = setting.library;
    let has_rules = super::report::something_in_force(library, &in_force);
    let marks = in_force.marks.clone();
    let program = compile(library, setting.survey, in_force);
    Chosen {
        has_rules,
        notices: statement_notices(library, &marks, &program),
        quick: Quick::of(&program, &library.vocabulary),
        program,
    }
}
