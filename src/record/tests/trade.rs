//! A small vocabulary, built by hand, with something of each type.

use crate::language::syntax::Origin::{self, Measured, Stated};
use crate::quantity::Dimension;
use crate::source::{SourceId, Span};
use crate::vocabulary::{
    Fact, FactId, Form, List, ListId, Member, Named, PointKind, Scale, ScaleId, Thing, ThingId,
    Type, Vocabulary,
};

const NOWHERE: Span = Span {
    source: SourceId(0),
    start: 0,
    end: 0,
};
const PIPE_SIZE: Type = Type::Label(ScaleId(0));
const WIRING: Type = Type::Label(ScaleId(1));
const CHAINAGE: Type = Type::Point(PointKind::Chainage);
const LENGTH: Type = Type::Quantity(Dimension::LENGTH);

pub(crate) fn vocabulary() -> Vocabulary {
    let mut vocabulary = Vocabulary {
        holds: named(&["before_digging", "before_cover", "start_up"]),
        permits: named(&["plumbing", "electrical"]),
        hazards: named(&["electric_shock"]),
        scales: vec![
            scale(
                "pipe_size",
                true,
                &[&["2 1/2 in", "DN 65"], &["3 in"], &["4 in", "DN 100"]],
            ),
            scale(
                "wiring_method",
                false,
                &[&["direct_burial"], &["pvc_40"], &["pvc_80"]],
            ),
        ],
        ..Vocabulary::default()
    };
    let site = [
        ("frost_depth", LENGTH, Measured),
        ("soil", Type::Text, Stated),
        (
            "flood_level",
            Type::Point(PointKind::PublicElevation),
            Stated,
        ),
        (
            "ground_temperature",
            Type::Point(PointKind::Temperature),
            Measured,
        ),
        ("located_on", Type::Point(PointKind::Date), Stated),
        ("bends", Type::Quantity(Dimension::NUMBER), Stated),
        ("trench_angle", Type::Quantity(Dimension::ANGLE), Measured),
    ];
    let site_lists = [
        ("supply_cables", 1),
        ("building_sewers", 3),
        ("wells", 5),
        ("clearances", 6),
    ];
    thing(&mut vocabulary, "site", Form::Plain, &site, &site_lists);
    let run = Form::Run { gap: None };
    let cable = [
        ("length", CHAINAGE, Stated),
        ("conduit_fall", Type::Slope, Measured),
    ];
    thing(
        &mut vocabulary,
        "supply_cable",
        run.clone(),
        &cable,
        &[("spans", 2)],
    );
    let span = [
        ("from", CHAINAGE, Stated),
        ("to", CHAINAGE, Stated),
        ("cover", LENGTH, Measured),
        ("wiring", WIRING, Stated),
        ("ribbon", Type::YesNo, Measured),
    ];
    thing(&mut vocabulary, "span", Form::Stretch, &span, &[]);
    let sewer = [
        ("length", CHAINAGE, Stated),
        ("nominal_size", PIPE_SIZE, Stated),
        ("rated_length", LENGTH, Stated),
    ];
    thing(
        &mut vocabulary,
        "building_sewer",
        run,
        &sewer,
        &[("shots", 4)],
    );
    let shot = [
        ("at", CHAINAGE, Stated),
        ("invert", Type::Point(PointKind::Elevation), Measured),
    ];
    thing(&mut vocabulary, "shot", Form::Point, &shot, &[]);
    thing(
        &mut vocabulary,
        "well",
        Form::Plain,
        &[("depth", LENGTH, Measured)],
        &[],
    );
    let clearance = [
        ("from", Type::Reference, Stated),
        ("to", Type::Reference, Stated),
        ("horizontal", LENGTH, Measured),
    ];
    thing(&mut vocabulary, "clearance", Form::Plain, &clearance, &[]);
    vocabulary
}

fn named(names: &[&str]) -> Vec<Named> {
    names
        .iter()
        .map(|name| Named {
            name: (*name).into(),
            text: format!("what {name} says"),
            span: NOWHERE,
        })
        .collect()
}

fn scale(name: &str, ordered: bool, places: &[&[&str]]) -> Scale {
    let labels = |place: &&[&str]| place.iter().map(|label| (*label).to_owned()).collect();
    Scale {
        name: name.into(),
        meaning: format!("what {name} says"),
        ordered,
        places: places.iter().map(labels).collect(),
        meanings: vec![None; places.len()],
        span: NOWHERE,
    }
}

fn thing(
    vocabulary: &mut Vocabulary,
    name: &str,
    form: Form,
    facts: &[(&str, Type, Origin)],
    lists: &[(&str, u16)],
) {
    let mut thing = Thing {
        name: name.into(),
        meaning: format!("what {name} is"),
        form,
        facts: Vec::new(),
        lists: Vec::new(),
        members: Default::default(),
        span: NOWHERE,
    };
    for (index, (name, kind, origin)) in (0..).zip(facts) {
        let member = Member::Fact(FactId(index));
        thing.members.insert((*name).into(), member);
        thing.facts.push(fact(name, *kind, *origin));
    }
    for (index, (name, of)) in (0..).zip(lists) {
        thing
            .members
            .insert((*name).into(), Member::List(ListId(index)));
        thing.lists.push(List {
            name: (*name).into(),
            of: ThingId(*of),
            meaning: format!("what {name} lists"),
            span: NOWHERE,
        });
    }
    let id = ThingId(u16::try_from(vocabulary.things.len()).expect("few things"));
    vocabulary.thing_names.insert(name.into(), id);
    vocabulary.things.push(thing);
}

fn fact(name: &str, kind: Type, origin: Origin) -> Fact {
    Fact {
        name: name.into(),
        kind,
        origin,
        meaning: format!("what {name} means"),
        by: None,
        until: None,
        then: None,
        range: None,
        unit: None,
        person: None,
        span: NOWHERE,
    }
}
