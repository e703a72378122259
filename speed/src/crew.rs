//! A record as crews write it as a plain struct: quantities, sizes and choices stay borrowed text.

use serde::Deserialize;

/// A whole record.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Record<'a> {
    pub record: u32,
    pub lot: &'a str,
    #[serde(borrow)]
    pub place: Vec<&'a str>,
    pub permits: Permits<'a>,
    pub recorded: Recorded<'a>,
    pub stage: &'a str,
    pub tolerances: Tolerances<'a>,
    pub datum: &'a str,
    pub site: Site<'a>,
    pub supply_cables: Option<Vec<Cable<'a>>>,
    pub building_sewers: Option<Vec<Sewer<'a>>>,
    pub laterals: Option<Vec<Lateral<'a>>>,
    pub stations: Option<Vec<Station<'a>>>,
    pub vents: Option<Vec<Vent<'a>>>,
    pub excavations: Option<Vec<Excavation<'a>>>,
}

/// Structs whose facts may be missing.
macro_rules! things {
    ($($name:ident { $($fact:ident: $kind:ty),+ $(,)? })+) => {
        $(
            #[derive(Debug, Clone, PartialEq, Deserialize)]
            #[expect(missing_docs, reason = "the facts are those of the vocabulary")]
            pub struct $name<'a> {
                $(#[serde(borrow)] pub $fact: Option<$kind>),+
            }
        )+
    };
}

/// A value as it is written.
type Text<'a> = &'a str;

things! {
    Permits { plumbing: Permit<'a> }
    Permit { issued: Text<'a> }
    Recorded { by: Text<'a>, date: Text<'a> }
    Tolerances { length: Text<'a>, elevation: Text<'a>, others: Text<'a> }
    Cable {
        id: Text<'a>, length: Text<'a>, conductor_size: Text<'a>, circuit_length: Text<'a>,
        circuit_voltage: Text<'a>, load_current: Text<'a>, bedding: Text<'a>,
        slack_at_basin: Text<'a>, slack_at_panel: Text<'a>, spliced: Text<'a>, splice: Text<'a>,
        spans: Vec<Stretch<'a>>,
    }
    Stretch {
        from: Text<'a>, to: Text<'a>, wiring: Text<'a>, location: Text<'a>, cover: Text<'a>,
    }
    Sewer {
        id: Text<'a>, length: Text<'a>, nominal_size: Text<'a>, test_medium: Text<'a>,
        test_head: Text<'a>, test_time: Text<'a>, test_leaked: Text<'a>, shots: Vec<Shot<'a>>,
    }
    Shot { at: Text<'a>, ground: Text<'a>, invert: Text<'a> }
    Lateral {
        id: Text<'a>, length: Text<'a>, tracer_offset: Text<'a>,
        tracer_size: Text<'a>, curb_stop: Text<'a>, pressure_tests: Vec<PressureTest<'a>>,
    }
    PressureTest { medium: Text<'a>, pressure_start: Text<'a>, pressure_end: Text<'a> }
    Station {
        id: Text<'a>, lid_above_grade: Text<'a>, lid_fastened: Text<'a>,
        basin_inside_diameter: Text<'a>, basin_height: Text<'a>, basin_rim: Text<'a>,
        finished_grade: Text<'a>, working_pressure: Text<'a>, main_pressure_peak: Text<'a>,
    }
    Vent { id: Text<'a>, openings: Vec<Opening<'a>> }
    Opening { horizontal: Text<'a>, above: Text<'a> }
    Excavation {
        depth: Text<'a>, protection: Text<'a>, slope_setback: Text<'a>,
        spoil_setback: Text<'a>, travel_to_ladder: Text<'a>, ladder_above_landing: Text<'a>,
        footing_offset: Text<'a>, footing_depth: Text<'a>,
    }
}

/// Facts of the lot itself.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[expect(missing_docs, reason = "the facts are those of the vocabulary")]
pub struct Site<'a> {
    pub bedrooms: Option<u32>,
    #[serde(borrow)]
    pub largest_stone: Option<&'a str>,
}
