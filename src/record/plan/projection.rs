//! Longitude and latitude in, northing and easting about the middle of a lot out.
//!
//! Azimuthal equidistant about the middle of the plan, by geodesics on the WGS 84 ellipsoid:
//! distance and direction from the middle are true. Between two places it is off by less than
//! ρ² / (6 R²) of their distance, where ρ is how far they lie from the middle: by less than
//! 0.04 mm where nothing lies farther than 1 km.
//!
//! Distances are those on the ellipsoid. On high ground they are longer by the height over the
//! earth's radius, 0.016 % for each kilometre, and the plan's stated tolerance must allow for it.

use geographiclib_rs::{Geodesic, InverseGeodesic};

use super::error::PlanError;
use super::geojson::Place;
use crate::quantity::Rational;

/// How far a place may lie from the middle.
const MOST_KILOMETRES: u32 = 1;

/// How far a projected coordinate may be off: 0.05 mm by rounding and 0.05 mm by projecting.
/// In tenths of a millimetre, to which coordinates are rounded so that the last digits of
/// floating-point functions, which differ between platforms, do not show.
pub(super) const OFF: (i128, i128) = (1, 10_000);

/// Northing and easting, in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Projected {
    pub northing: Rational,
    pub easting: Rational,
}

/// The middle of a plan.
pub(super) struct Projection {
    geodesic: Geodesic,
    longitude: f64,
    latitude: f64,
}

impl Projection {
    /// About the middle of all places; none where there are none.
    pub fn about<'p>(
        places: impl Iterator<Item = &'p Place> + Clone,
    ) -> Result<Option<Projection>, PlanError> {
        let longitude = |place: &&Place| place.longitude;
        let by = |one: &f64, two: &f64| one.total_cmp(two);
        let west = places.clone().map(|place| longitude(&place)).min_by(by);
        let east = places
            .clone()
            .max_by(|one, two| one.longitude.total_cmp(&two.longitude));
        let latitudes = places.map(|place| place.latitude);
        let (south, north) = (latitudes.clone().min_by(by), latitudes.max_by(by));
        let (Some(west), Some(east), Some(south), Some(north)) = (west, east, south, north) else {
            return Ok(None);
        };
        if east.longitude - west > 180.0 {
            return Err(PlanError::Antimeridian {
                west: west.to_string(),
                east: east.longitude.to_string(),
                at: east.at,
            });
        }
        Ok(Some(Projection {
            geodesic: Geodesic::wgs84(),
            longitude: f64::midpoint(west, east.longitude),
            latitude: f64::midpoint(south, north),
        }))
    }

    /// Where a place lies from the middle.
    pub fn project(&self, place: &Place) -> Result<Projected, PlanError> {
        let (distance, azimuth, _, _): (f64, f64, f64, f64) = self.geodesic.inverse(
            self.latitude,
            self.longitude,
            place.latitude,
            place.longitude,
        );
        let far = || PlanError::TooFar {
            kilometres: format!("{:.1}", distance / 1000.0),
            most: MOST_KILOMETRES,
            at: place.at,
        };
        if distance.is_nan() || distance > 1000.0 * f64::from(MOST_KILOMETRES) {
            return Err(far());
        }
        let azimuth = azimuth.to_radians();
        let northing = rounded(distance * libm::cos(azimuth)).ok_or_else(far)?;
        let easting = rounded(distance * libm::sin(azimuth)).ok_or_else(far)?;
        Ok(Projected { northing, easting })
    }
}

/// To a tenth of a millimetre.
fn rounded(metres: f64) -> Option<Rational> {
    let tenths = Rational::from_f64(libm::round(metres * 10_000.0))?;
    tenths.checked_divide(Rational::new(10_000, 1)?)
}
