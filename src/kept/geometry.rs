//! Places on the map as a GeoPackage holds them: its own header with an envelope, then WKB.
//!
//! OGC GeoPackage 1.3, clause 2.1.3 (Requirement 19); little-endian throughout.

use crate::screen::Shape;

/// WGS 84 in longitude and latitude.
const SRS: i32 = 4326;
/// Little-endian, an envelope of x and y, standard, not empty.
const FLAGS: u8 = 0b0000_0011;
/// The same of WKB.
const LITTLE_ENDIAN: u8 = 1;

/// The least and greatest longitude and latitude of something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// The least longitude and latitude.
    pub least: [f64; 2],
    /// The greatest.
    pub greatest: [f64; 2],
}

impl Extent {
    /// Of some places; none of none.
    pub fn of<'a>(places: impl IntoIterator<Item = &'a [f64; 2]>) -> Option<Extent> {
        let each = places.into_iter().map(|place| Extent {
            least: *place,
            greatest: *place,
        });
        each.reduce(Extent::with)
    }

    /// Of both.
    pub fn with(self, other: Extent) -> Extent {
        Extent {
            least: [0, 1].map(|axis| self.least[axis].min(other.least[axis])),
            greatest: [0, 1].map(|axis| self.greatest[axis].max(other.greatest[axis])),
        }
    }

    /// Its middle.
    pub fn middle(self) -> [f64; 2] {
        [0, 1].map(|axis| f64::midpoint(self.least[axis], self.greatest[axis]))
    }

    /// Of a geometry as it is held; none where it is no such.
    pub fn of_held(geometry: &[u8]) -> Option<Extent> {
        let number = |at: usize| {
            let bytes = geometry.get(at..at + 8)?.try_into().ok()?;
            Some(f64::from_le_bytes(bytes))
        };
        Some(Extent {
            least: [number(8)?, number(24)?],
            greatest: [number(16)?, number(32)?],
        })
    }
}

/// A shape as it is held, and its extent.
pub fn held(shape: Shape<'_>) -> Vec<u8> {
    let places: &[[f64; 2]] = match &shape {
        Shape::Point(place) => std::slice::from_ref(place),
        Shape::Line(places) => places,
    };
    let mut bytes = vec![b'G', b'P', 0, FLAGS];
    bytes.extend(SRS.to_le_bytes());
    let extent = Extent::of(places).expect("a shape has a place");
    for axis in [0, 1] {
        bytes.extend(extent.least[axis].to_le_bytes());
        bytes.extend(extent.greatest[axis].to_le_bytes());
    }
    bytes.push(LITTLE_ENDIAN);
    match shape {
        Shape::Point(_) => bytes.extend(1_u32.to_le_bytes()),
        Shape::Line(places) => {
            bytes.extend(2_u32.to_le_bytes());
            let count = u32::try_from(places.len()).expect("a plan is shorter than 4 GiB");
            bytes.extend(count.to_le_bytes());
        }
    }
    for place in places {
        bytes.extend(place.iter().flat_map(|number| number.to_le_bytes()));
    }
    bytes
}
