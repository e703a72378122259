//! A record's places and dates in, the rules in force for it out, compiled once for all records
//! that share them.
//!
//! Rules change on the days on which some statement begins or ends to hold and on no other
//! (`turns`), so that dates between two such days choose the same rules: an archive of thousands of
//! permits needs few programs.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock};

use super::quick::Quick;
use super::report::statement_notices;
use super::turns::Turns;
use super::{Setting, budget};
use crate::check::typed::{Library, PlaceId};
use crate::layers::{Dates, InForce, LayerError, PermitDates, in_force};
use crate::program::{Program, compile};
use crate::vocabulary::{PermitId, Vocabulary};

/// After how many programs those are let go that were not used since as many before.
const MOST_KEPT: usize = 64;

/// The rules for some places and dates.
#[derive(Debug)]
pub struct Chosen {
    /// Ready to judge with.
    pub program: Program,
    /// The same for floats, once it is asked for.
    quick: OnceLock<Quick>,
    /// Whether a record with short lists needs no reckoning of its steps.
    pub(super) suits_short_lists: bool,
    /// Whether any rule but the model's precautions is in force.
    pub(super) has_rules: bool,
    /// What should be said of the statements on rules, limits and cells.
    pub(super) notices: Vec<String>,
}

impl Chosen {
    /// The program for floats. The vocabulary is that of the library it was chosen from.
    pub fn quick(&self, vocabulary: &Vocabulary) -> &Quick {
        let program = &self.program;
        self.quick.get_or_init(|| Quick::of(program, vocabulary))
    }
}

/// Chooses rules, and remembers what it chose.
#[derive(Debug)]
pub struct Chooser {
    turns: Turns,
    kept: Mutex<Kept>,
}

/// The programs of two generations, so that memory stays bounded and what is in use stays known.
#[derive(Debug, Default)]
struct Kept {
    young: HashMap<Key, Arc<Chosen>>,
    old: HashMap<Key, Arc<Chosen>>,
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
        Chooser {
            turns: Turns::of(library),
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
        let ways = places
            .iter()
            .flat_map(|place| setting.library.way_in(*place));
        let ways: Vec<PlaceId> = ways.collect();
        let key = self.key(places, &ways, dates);
        if let Some(known) = self.kept().get(&key) {
            return Ok(known);
        }
        let in_force = in_force(setting.library, places, &self.rounded(&ways, dates))?;
        let chosen = Arc::new(chosen(setting, in_force));
        self.kept().insert(key, Arc::clone(&chosen));
        Ok(chosen)
    }

    fn kept(&self) -> std::sync::MutexGuard<'_, Kept> {
        // What is kept is whole at any moment, whatever became of another thread.
        self.kept
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    fn key(&self, places: &[PlaceId], ways: &[PlaceId], dates: &Dates) -> Key {
        let permits = dates.permits.iter().map(|permit| {
            let seen = |date| self.turns.seen(ways, Some(permit.kind), date);
            let of = [permit.applied, permit.issued, permit.plan_approved];
            (permit.kind, of.map(|date| date.map(seen)))
        });
        let mut permits: Vec<_> = permits.collect();
        permits.sort();
        Key {
            places: places.to_vec(),
            recorded: self.turns.seen(ways, None, dates.recorded),
            permits,
        }
    }

    /// The dates, each put back to the day on which its rules began.
    fn rounded(&self, ways: &[PlaceId], dates: &Dates) -> Dates {
        let permits = dates.permits.iter().map(|permit| {
            let turn = |date| self.turns.turn(ways, Some(permit.kind), date);
            PermitDates {
                kind: permit.kind,
                applied: permit.applied.map(turn),
                issued: permit.issued.map(turn),
                plan_approved: permit.plan_approved.map(turn),
                expires: None,
                span: None,
            }
        });
        Dates {
            recorded: self.turns.turn(ways, None, dates.recorded),
            on: None,
            permits: permits.collect(),
        }
    }
}

impl Kept {
    fn get(&mut self, key: &Key) -> Option<Arc<Chosen>> {
        if let Some(known) = self.young.get(key) {
            return Some(Arc::clone(known));
        }
        let (key, known) = self.old.remove_entry(key)?;
        self.insert(key, Arc::clone(&known));
        Some(known)
    }

    fn insert(&mut self, key: Key, chosen: Arc<Chosen>) {
        if self.young.len() == MOST_KEPT {
            self.old = std::mem::take(&mut self.young);
        }
        self.young.insert(key, chosen);
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
        suits_short_lists: budget::suits_short_lists(&program),
        quick: OnceLock::new(),
        program,
    }
}
