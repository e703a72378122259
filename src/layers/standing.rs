//! What a limit or a cell is at the end of a way of places, on a date.

use super::polarity::{Direction, Target, direction_on, in_precaution};
use super::{Note, Standing, Step};
use crate::check::typed::{Action, Constant, Library, LimitId, Owner, PlaceId, Statement, TableId};
use crate::language::syntax::Narrowing;
use crate::quantity::Rational;

/// What a limit is for permits of a date, after each place from the outermost inwards.
pub fn limit_standing(
    library: &Library,
    limit: LimitId,
    way: &[PlaceId],
    date: Rational,
) -> Standing {
    let known = &library.limits[limit.index()];
    let model = Step {
        place: written_by(library, known.owner),
        values: known.values.clone(),
        from: None,
        until: None,
        citations: known.citations.clone(),
        because: None,
        note: None,
    };
    let direction = || direction_on(library, Target::Limit(limit), way);
    let guarded = || in_precaution(library, Target::Limit(limit), way);
    let mut layered = Layered::new(model, known.narrowing, &direction, &guarded);
    for place in way {
        let governing = latest(library, *place, date, |action| match action {
            Action::AmendLimit {
                limit: target,
                was,
                becomes,
            } if *target == limit => Some((Some(was.clone()), becomes.clone())),
            Action::SetLimit {
                limit: target,
                values,
            } if *target == limit => Some((None, values.clone())),
            _ => None,
        });
        if let Some((statement, (was, becomes))) = governing {
            layered.apply(*place, statement, was, becomes);
        }
        let restriction = latest(library, *place, date, |action| match action {
            Action::RestrictLimit(target, to) if *target == limit => Some(*to),
            _ => None,
        });
        layered.narrow(restriction.map(|(_, to)| to));
    }
    layered.standing
}

/// What a cell of a table is for permits of a date, after each place from the outermost inwards.
pub fn cell_standing(
    library: &Library,
    table: TableId,
    cell: usize,
    way: &[PlaceId],
    date: Rational,
) -> Standing {
    let known = &library.tables[table.index()];
    let model = Step {
        place: written_by(library, known.owner),
        values: known.cells[cell].value.iter().cloned().collect(),
        from: None,
        until: None,
        citations: known.citations.clone(),
        because: None,
        note: None,
    };
    let direction = || direction_on(library, Target::Cells(table), way);
    let guarded = || in_precaution(library, Target::Cells(table), way);
    let mut layered = Layered::new(model, known.narrowing, &direction, &guarded);
    for place in way {
        let governing = latest(library, *place, date, |action| match action {
            Action::AmendCells {
                table: target,
                cells,
                was,
                becomes,
            } if *target == table && cells.contains(&cell) => Some((
                was.iter().cloned().collect::<Vec<_>>(),
                becomes.iter().cloned().collect::<Vec<_>>(),
            )),
            _ => None,
        });
        if let Some((statement, (was, becomes))) = governing {
            layered.apply(*place, statement, Some(was), becomes);
        }
        let restriction = latest(library, *place, date, |action| match action {
            Action::RestrictCells(target, cells, to)
                if *target == table && cells.contains(&cell) =>
            {
                Some(*to)
            }
            _ => None,
        });
        layered.narrow(restriction.map(|(_, to)| to));
    }
    layered.standing
}

/// The place that wrote a limit or table itself; none for the model.
fn written_by(library: &Library, owner: Owner) -> Option<PlaceId> {
    match owner {
        Owner::Topic(topic) => library.topics[topic.index()].home,
        Owner::Place(place) => Some(place),
    }
}

/// The statement of a place that governs a target on a date: the latest in force then.
pub(super) fn latest<'a, T>(
    library: &'a Library,
    place: PlaceId,
    date: Rational,
    wanted: impl Fn(&'a Action) -> Option<T>,
) -> Option<(&'a Statement, T)> {
    library.places[place.index()]
        .statements
        .iter()
        .filter(|statement| in_force_on(statement, date))
        .filter_map(|statement| wanted(&statement.action).map(|found| (statement, found)))
        .max_by(|(a, _), (b, _)| a.from.value.cmp(&b.from.value))
}

/// Whether a statement's period holds a date.
pub fn in_force_on(statement: &Statement, date: Rational) -> bool {
    statement.from.value <= date
        && statement
            .until
            .as_ref()
            .is_none_or(|until| date < until.value)
}

/// A value on its way through the layers. Which way it is looser, and whether a precaution uses
/// it, is asked only where some layer changes it.
struct Layered<'a> {
    standing: Standing,
    narrowing: Option<Narrowing>,
    direction: &'a dyn Fn() -> Direction,
    guarded: &'a dyn Fn() -> bool,
}

impl<'a> Layered<'a> {
    fn new(
        model: Step,
        narrowing: Option<Narrowing>,
        direction: &'a dyn Fn() -> Direction,
        guarded: &'a dyn Fn() -> bool,
    ) -> Self {
        Layered {
            standing: Standing {
                values: model.values.clone(),
                way: vec![model],
            },
            narrowing,
            direction,
            guarded,
        }
    }

    fn narrow(&mut self, to: Option<Narrowing>) {
        self.narrowing = self.narrowing.max(to);
    }

    /// `was` is what the statement's author saw; none where a blank is filled.
    fn apply(
        &mut self,
        place: PlaceId,
        statement: &Statement,
        was: Option<Vec<Constant>>,
        becomes: Vec<Constant>,
    ) {
        let saw = was.unwrap_or_default();
        let stale = !same_values(&saw, &self.standing.values);
        let note = match self.forbids(&becomes) {
            Some(note) => Some(note),
            None => stale.then_some(Note::Stale),
        };
        let holds = !matches!(note, Some(Note::Forbidden | Note::CannotTell));
        self.standing.way.push(Step {
            place: Some(place),
            values: becomes.clone(),
            from: Some(statement.from.value),
            until: statement.until.as_ref().map(|until| until.value),
            citations: statement.citations.clone(),
            because: Some(statement.because.clone()),
            note,
        });
        if holds {
            self.standing.values = becomes;
            self.narrow(statement.narrowing);
        }
    }

    /// Why an outer layer keeps a change from having force, if it does.
    fn forbids(&self, becomes: &[Constant]) -> Option<Note> {
        // What a precaution uses is `tighten only` from the start.
        let guarded = (self.guarded)().then_some(Narrowing::TightenOnly);
        match self.narrowing.max(guarded) {
            None => None,
            Some(Narrowing::Fixed) => Some(Note::Forbidden),
            // To fill a blank asks more than to leave it.
            Some(Narrowing::TightenOnly) if self.standing.values.is_empty() => None,
            Some(Narrowing::TightenOnly) => {
                match change(&self.standing.values, becomes, (self.direction)()) {
                    Effect::Same | Effect::Tightens => None,
                    Effect::Loosens => Some(Note::Forbidden),
                    Effect::CannotTell => Some(Note::CannotTell),
                }
            }
        }
    }
}

/// What a change of value does to the rules that use it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effect {
    /// It says the same in other words.
    Same,
    /// The rules ask more.
    Tightens,
    /// The rules ask less.
    Loosens,
    /// It can't be told.
    CannotTell,
}

/// What it does to put one set of equivalents in another's stead.
pub fn change(was: &[Constant], becomes: &[Constant], direction: Direction) -> Effect {
    if same_values(was, becomes) {
        return Effect::Same;
    }
    match (was, becomes) {
        ([was], [becomes]) => single_change(was, becomes, direction),
        // One that is met suffices: fewer equivalents ask more.
        _ if !becomes.is_empty() && contains_all(was, becomes) => Effect::Tightens,
        _ if !was.is_empty() && contains_all(becomes, was) => Effect::Loosens,
        _ => Effect::CannotTell,
    }
}

fn single_change(was: &Constant, becomes: &Constant, direction: Direction) -> Effect {
    let rises = match (was, becomes) {
        (Constant::Number { value: a, .. }, Constant::Number { value: b, .. }) => a < b,
        (Constant::Label { place: a, .. }, Constant::Label { place: b, .. }) => a < b,
        (Constant::Number { .. }, Constant::Label { .. })
        | (Constant::Label { .. }, Constant::Number { .. }) => return Effect::CannotTell,
    };
    match (direction, rises) {
        (Direction::CannotTell, _) => Effect::CannotTell,
        (Direction::Unused, _) => Effect::Same,
        (Direction::RisingTightens, true) | (Direction::RisingLoosens, false) => Effect::Tightens,
        (Direction::RisingTightens, false) | (Direction::RisingLoosens, true) => Effect::Loosens,
    }
}

fn contains_all(outer: &[Constant], inner: &[Constant]) -> bool {
    inner
        .iter()
        .all(|wanted| outer.iter().any(|known| known.same(wanted)))
}

fn same_values(a: &[Constant], b: &[Constant]) -> bool {
    a.len() == b.len() && contains_all(a, b)
}
