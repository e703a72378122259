//! A record as a plain struct in base units: only what the predicates read.

use serde::Deserialize;

/// What the predicates read of a record, in base units.
#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Record {
    pub site: Site,
    pub supply_cables: Option<Vec<Cable>>,
    pub building_sewers: Option<Vec<Sewer>>,
    pub laterals: Option<Vec<Lateral>>,
    pub stations: Option<Vec<Station>>,
    pub vents: Option<Vec<Vent>>,
    pub excavations: Option<Vec<Excavation>>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Site {
    pub bedrooms: Option<i64>,
    pub largest_stone: Option<i64>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Cable {
    pub conductor_size: Option<i64>,
    pub circuit_length: Option<i64>,
    pub circuit_voltage: Option<i64>,
    pub load_current: Option<i64>,
    pub bedding: Option<Bedding>,
    pub slack_at_basin: Option<bool>,
    pub slack_at_panel: Option<bool>,
    pub spliced: Option<bool>,
    pub splice: Option<Splice>,
    pub spans: Option<Vec<Stretch>>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Stretch {
    pub wiring: Option<Wiring>,
    pub location: Option<Location>,
    pub cover: Option<i64>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Sewer {
    pub length: Option<i64>,
    pub nominal_size: Option<i64>,
    pub test_medium: Option<Medium>,
    pub test_head: Option<i64>,
    pub test_time: Option<i64>,
    pub test_leaked: Option<bool>,
    pub shots: Option<Vec<Shot>>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Shot {
    pub ground: Option<i64>,
    pub invert: Option<i64>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Lateral {
    pub tracer_offset: Option<i64>,
    pub tracer_size: Option<i64>,
    pub curb_stop: Option<CurbStop>,
    pub pressure_tests: Option<Vec<PressureTest>>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct PressureTest {
    pub medium: Option<Medium>,
    pub pressure_start: Option<i64>,
    pub pressure_end: Option<i64>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Station {
    pub lid_above_grade: Option<i64>,
    pub lid_fastened: Option<bool>,
    pub basin_inside_diameter: Option<i64>,
    pub basin_height: Option<i64>,
    pub basin_rim: Option<i64>,
    pub finished_grade: Option<i64>,
    pub working_pressure: Option<i64>,
    pub main_pressure_peak: Option<i64>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Vent {
    pub openings: Option<Vec<Opening>>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Opening {
    pub horizontal: Option<i64>,
    pub above: Option<i64>,
}

#[derive(Debug, Clone, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Excavation {
    pub depth: Option<i64>,
    pub protection: Option<Protection>,
    pub slope_setback: Option<i64>,
    pub spoil_setback: Option<i64>,
    pub travel_to_ladder: Option<i64>,
    pub ladder_above_landing: Option<i64>,
    pub footing_offset: Option<i64>,
    pub footing_depth: Option<i64>,
}

/// A choice of the vocabulary, as far as the generated records use it.
macro_rules! choice {
    ($($name:ident { $($(#[$rename:meta])? $label:ident),+ })+) => {
        $(
            #[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
            #[serde(rename_all = "snake_case")]
            #[expect(missing_docs, reason = "the labels are those of the vocabulary")]
            pub enum $name { $($(#[$rename])? $label),+ }
        )+
    };
}

choice! {
    Bedding { Sand, Screened, NativeFine, Stony }
    Splice { ListedDirectBurialKit, InBox, Other }
    Wiring { DirectBurial, #[serde(rename = "pvc_40")] Pvc40, #[serde(rename = "pvc_80")] Pvc80 }
    Location { Yard, DwellingDriveway, RisingToTermination }
    Medium { Water, Air }
    CurbStop { None, InRightOfWay, OnLine, OnProperty }
    Protection { Sloped, Shield }
}
