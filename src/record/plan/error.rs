//! What can be wrong with a plan that a record names.

use miette::Diagnostic;
use thiserror::Error;

use crate::record::RecordError;
use crate::source::Span;

/// A mistake in a GeoJSON plan, or in the record's use of it.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum PlanError {
    /// A text of a form that no record and no plan may have, such as a key written twice.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Text(Box<RecordError>),

    /// `{ "type": `
    #[error("the plan is not well-formed JSON: {what}")]
    #[diagnostic(code(plan::malformed), help("{mend}"))]
    Malformed {
        /// What the parser found.
        what: &'static str,
        /// How it is usually mended.
        mend: &'static str,
        /// Where it noticed.
        #[label("noticed here")]
        at: Span,
    },

    /// `plan: { file: lot_8.geojson, … }` beside `lot_08.geojson`
    #[error("can't read the plan `{file}`: {reason}")]
    #[diagnostic(
        code(plan::unreadable),
        help("put the file beside the record, or below its folder, and write its name from there")
    )]
    Unreadable {
        /// As the record names it.
        file: String,
        /// Why.
        reason: String,
        /// The name in the record.
        #[label("named here")]
        at: Span,
    },

    /// `{ "type": "Topology" }`
    #[error("found {found}, expected {expected}")]
    #[diagnostic(code(plan::shape), help("{mend}"))]
    Shape {
        /// What stands there.
        found: String,
        /// What belongs there.
        expected: &'static str,
        /// How it is written.
        mend: &'static str,
        /// Its place.
        #[label("expected {expected}")]
        at: Span,
    },

    /// `{ "type": "Polygon", … }`
    #[error("`{id}` is a {found} in the plan, expected a Point or a LineString")]
    #[diagnostic(
        code(plan::geometry),
        help(
            "draw a thing as a Point, or its line or edge as a LineString; an edge that closes ends where it begins"
        )
    )]
    Geometry {
        /// Whose.
        id: String,
        /// Its type.
        found: String,
        /// Its place.
        #[label("this geometry")]
        at: Span,
    },

    /// `"crs": { … }`
    #[error("the plan names a reference system of its own, expected longitude and latitude")]
    #[diagnostic(
        code(plan::reference_system),
        help("export it as RFC 7946 asks, in degrees on WGS 84, and take `crs` away")
    )]
    ReferenceSystem {
        /// The member.
        #[label("this member")]
        at: Span,
    },

    /// `{ "properties": { "id": "W-9" }, … }`
    #[error("no thing of the record has the id `{id}`")]
    #[diagnostic(code(plan::unknown_id), help("{mend}"))]
    UnknownId {
        /// The id.
        id: String,
        /// The nearest one.
        mend: String,
        /// The id in the plan.
        #[label("names nothing")]
        at: Span,
    },

    /// Two features with `"id": "W-1"`
    #[error("the plan has two features with the id `{id}`")]
    #[diagnostic(
        code(plan::duplicate_id),
        help("keep one: a thing has one place in plan")
    )]
    DuplicateId {
        /// The id.
        id: String,
        /// The first.
        #[label("first here")]
        first: Span,
        /// The second.
        #[label("and again here")]
        again: Span,
    },

    /// `{ "properties": { "id": "PT-1" }, … }` of a test
    #[error("`{id}` is a {thing}, which has no line in plan")]
    #[diagnostic(code(plan::no_line), help("take the feature away"))]
    NoLine {
        /// The id.
        id: String,
        /// What it is.
        thing: String,
        /// The id in the plan.
        #[label("has no line")]
        at: Span,
    },

    /// `line: [ { easting: …, northing: … } ]` beside `plan: …`
    #[error(
        "the record gives places in plan by itself, and names a plan in longitude and latitude"
    )]
    #[diagnostic(
        code(plan::two_frames),
        help("give all places one way: a distance between two frames means nothing")
    )]
    TwoFrames {
        /// The line in the record.
        #[label("given in northing and easting")]
        at: Span,
    },

    /// `[ -77.0 ]`, `[ -277.0, 38.9 ]`
    #[error("found {found}, expected a longitude from -180 to 180 and a latitude from -90 to 90")]
    #[diagnostic(
        code(plan::coordinates),
        help(
            "write each place as [ longitude, latitude ] in degrees, such as [ -77.0365, 38.8977 ]"
        )
    )]
    Coordinates {
        /// What stands there.
        found: String,
        /// Its place.
        #[label("no place on the earth")]
        at: Span,
    },

    /// `[ 179.9, 0 ]` and `[ -179.9, 0 ]`
    #[error("the plan reaches from longitude {west} to {east}")]
    #[diagnostic(
        code(plan::antimeridian),
        help("a plan is of one lot; one on the antimeridian is given in northing and easting")
    )]
    Antimeridian {
        /// The least longitude.
        west: String,
        /// The greatest.
        east: String,
        /// The place farthest east.
        #[label("this place is more than half around the earth from another")]
        at: Span,
    },

    /// `[ 38.9, -77.0 ]` among others
    #[error(
        "a place lies {kilometres} km from the middle of the plan, expected {most} km at the most"
    )]
    #[diagnostic(
        code(plan::too_far),
        help(
            "a plan is of one lot: look for a longitude and a latitude in the wrong order, or take the place away"
        )
    )]
    TooFar {
        /// How far, in words.
        kilometres: String,
        /// The limit.
        most: u32,
        /// The place.
        #[label("this place")]
        at: Span,
    },
}

impl From<RecordError> for PlanError {
    fn from(error: RecordError) -> PlanError {
        match error {
            RecordError::Malformed { what, mend, at } => PlanError::Malformed { what, mend, at },
            error => PlanError::Text(Box::new(error)),
        }
    }
}

impl PlanError {
    /// Where it stands.
    pub(super) fn at(&self) -> Option<Span> {
        match self {
            PlanError::Text(_) => None,
            PlanError::DuplicateId { again: at, .. }
            | PlanError::Malformed { at, .. }
            | PlanError::Unreadable { at, .. }
            | PlanError::Shape { at, .. }
            | PlanError::Geometry { at, .. }
            | PlanError::ReferenceSystem { at }
            | PlanError::UnknownId { at, .. }
            | PlanError::NoLine { at, .. }
            | PlanError::TwoFrames { at }
            | PlanError::Coordinates { at, .. }
            | PlanError::Antimeridian { at, .. }
            | PlanError::TooFar { at, .. } => Some(*at),
        }
    }
}
