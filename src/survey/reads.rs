//! What geometry reads of things, for those who have to measure it.

use super::slots::{ShotSlots, Slots};
use super::{Function, Kind, Survey};
use crate::vocabulary::{FactId, ListId, RUN_LENGTH, SITE, ThingId, Vocabulary};

/// A member that geometry reads, in one of the ways of having a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Member {
    /// A fact of a thing that the asked thing, or the lot, lists; or of the asked thing itself.
    Fact {
        /// What lists it; none for the asked thing itself.
        owner: Option<ThingId>,
        /// Of what.
        thing: ThingId,
        /// Which.
        fact: FactId,
    },
    /// Which things stand in a list.
    List(ThingId, ListId),
}

impl Survey {
    /// The members that a function of these things reads: of each way of having its value, all.
    pub fn reads(
        &self,
        vocabulary: &Vocabulary,
        function: Function,
        of: &[ThingId],
    ) -> Vec<Member> {
        let mut found = Found {
            slots: &self.slots,
            vocabulary,
            members: Vec::new(),
        };
        for thing in of {
            found.of_thing(function.0, *thing);
        }
        found.of_the_lot(function.0);
        found.members
    }
}

struct Found<'a> {
    slots: &'a Slots,
    vocabulary: &'a Vocabulary,
    members: Vec<Member>,
}

impl Found<'_> {
    fn of_thing(&mut self, kind: Kind, thing: ThingId) {
        let known = self.slots.thing(thing);
        if known.is_run {
            self.facts(None, thing, [Some(RUN_LENGTH)]);
        }
        match kind {
            Kind::Fall(_) | Kind::SagDepth => {
                self.shots(thing, known.shots, |shots| [shots.invert, None]);
                if let Some(readings) = known.fall_readings {
                    self.within(thing, readings.list, [Some(readings.fall)]);
                }
            }
            Kind::Cover(_) => {
                if let Some(spans) = known.spans {
                    self.within(thing, spans.list, [Some(spans.cover)]);
                }
                self.facts(None, thing, [known.cover]);
                self.shots(thing, known.shots, |shots| [shots.crown, shots.ground]);
                self.shots(thing, known.ground_shots, |shots| [None, shots.ground]);
                self.facts(None, thing, [known.outside_diameter, known.wall]);
            }
            Kind::Horizontal | Kind::Straight | Kind::Crosses | Kind::CrossingClearance => {
                if let Some(line) = known.line {
                    self.within(thing, line.list, [Some(line.northing), Some(line.easting)]);
                }
                self.facts(None, thing, [known.outside_diameter]);
                if !matches!(kind, Kind::Horizontal) {
                    self.shots(thing, known.shots, |shots| [shots.invert, shots.crown]);
                }
            }
            Kind::TotalBend => {
                if let Some(bends) = known.bends {
                    self.within(thing, bends.list, [Some(bends.angle)]);
                }
                if let Some(list) = known.pull_points {
                    self.within(thing, list, []);
                }
            }
            Kind::PumpHead => {
                if let Some(curve) = known.curve {
                    self.within(thing, curve.list, [Some(curve.flow), Some(curve.head)]);
                }
            }
            Kind::SlopeLength => {
                self.shots(thing, known.shots, |shots| [shots.invert, shots.crown]);
            }
            Kind::PlanLength | Kind::OnPublicDatum => {}
        }
    }

    fn of_the_lot(&mut self, kind: Kind) {
        match kind {
            Kind::Horizontal | Kind::Straight => {
                if let Some(taped) = self.slots.clearances {
                    let facts = [Some(taped.from), Some(taped.to), Some(taped.horizontal)];
                    self.within(SITE, taped.list, facts);
                    if matches!(kind, Kind::Straight) {
                        self.within(SITE, taped.list, [taped.vertical]);
                    }
                }
            }
            Kind::Crosses | Kind::CrossingClearance => {
                if let Some(taped) = self.slots.crossings {
                    let facts = [Some(taped.upper), Some(taped.lower), Some(taped.vertical)];
                    self.within(SITE, taped.list, facts);
                }
            }
            Kind::Fall(_)
            | Kind::Cover(_)
            | Kind::TotalBend
            | Kind::PumpHead
            | Kind::PlanLength
            | Kind::SlopeLength
            | Kind::SagDepth
            | Kind::OnPublicDatum => {}
        }
    }

    fn shots(
        &mut self,
        thing: ThingId,
        shots: Option<ShotSlots>,
        wanted: impl Fn(&ShotSlots) -> [Option<FactId>; 2],
    ) {
        if let Some(shots) = shots {
            self.within(thing, shots.list, wanted(&shots));
        }
    }

    /// A list, and these facts of its things.
    fn within<const N: usize>(&mut self, owner: ThingId, list: ListId, facts: [Option<FactId>; N]) {
        self.members.push(Member::List(owner, list));
        let inner = self.vocabulary.thing(owner).list(list).of;
        self.facts(Some(owner), inner, facts);
    }

    fn facts<const N: usize>(
        &mut self,
        owner: Option<ThingId>,
        thing: ThingId,
        facts: [Option<FactId>; N],
    ) {
        let facts = facts.into_iter().flatten();
        self.members
            .extend(facts.map(|fact| Member::Fact { owner, thing, fact }));
    }
}
