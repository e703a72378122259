//! The text of a GeoJSON plan (RFC 7946) in, features with their ids and places out.

use super::error::PlanError;
use crate::record::tree::{Node, NodeKind, Style};
use crate::source::{Span, Spanned};

/// What a plan says of one thing.
#[derive(Debug)]
pub(super) struct Feature {
    pub id: Spanned<String>,
    pub places: Vec<Place>,
}

/// A place on the earth, in degrees.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub longitude: f64,
    pub latitude: f64,
    pub at: Span,
}

const COLLECTION: &str = "a FeatureCollection";
const LIKE: &str = "write { \"type\": \"FeatureCollection\", \"features\": [ { \"type\": \"Feature\", \"properties\": { \"id\": \"W-1\" }, \"geometry\": { \"type\": \"Point\", \"coordinates\": [ -77.0365, 38.8977 ] } } ] }";

/// The features of a plan; mistakes are added to `mistakes`.
pub(super) fn features(root: &Node, mistakes: &mut Vec<PlanError>) -> Vec<Feature> {
    if let Some(system) = root.get("crs").filter(|system| !system.is_empty()) {
        mistakes.push(PlanError::ReferenceSystem { at: system.span });
    }
    let is_collection = named(root, "type") == Some("FeatureCollection");
    let features = root.get("features").and_then(Node::elements);
    let Some(features) = features.filter(|_| is_collection) else {
        mistakes.push(shape(root, COLLECTION));
        return Vec::new();
    };
    let mut found = Vec::new();
    for node in features {
        match feature(node) {
            Ok(feature) => found.push(feature),
            Err(mistake) => mistakes.push(mistake),
        }
    }
    found
}

fn feature(node: &Node) -> Result<Feature, PlanError> {
    if named(node, "type") != Some("Feature") {
        return Err(shape(node, "a Feature"));
    }
    let properties = node.get("properties");
    let id = properties.and_then(|properties| properties.get("id"));
    let text = id.and_then(Node::text).map(str::trim);
    let (Some(id), Some(text)) = (id, text.filter(|text| !text.is_empty())) else {
        return Err(PlanError::Shape {
            found: "a feature that names no thing".into(),
            expected: "a property `id`",
            mend: "write the id that the thing has in the record, \"properties\": { \"id\": \"W-1\" }",
            at: short(properties.unwrap_or(node).span),
        });
    };
    let geometry = node.get("geometry").filter(|geometry| !geometry.is_empty());
    let geometry = geometry.ok_or_else(|| shape(node, "a geometry"))?;
    let coordinates = geometry.get("coordinates");
    let coordinates = coordinates.ok_or_else(|| shape(geometry, "coordinates"))?;
    let places = match named(geometry, "type") {
        Some("Point") => vec![place(coordinates)?],
        Some("LineString") => line(coordinates)?,
        Some(other) => {
            return Err(PlanError::Geometry {
                id: text.into(),
                found: other.into(),
                at: short(geometry.span),
            });
        }
        None => return Err(shape(geometry, "a Point or a LineString")),
    };
    Ok(Feature {
        id: Spanned::new(text.to_owned(), id.span),
        places,
    })
}

fn line(node: &Node) -> Result<Vec<Place>, PlanError> {
    let places = node.elements().filter(|places| places.len() > 1);
    let places = places.ok_or_else(|| shape(node, "two places or more"))?;
    places.iter().map(place).collect()
}

/// Longitude and latitude; a height after them is left to the record's levels.
fn place(node: &Node) -> Result<Place, PlanError> {
    let wrong = || PlanError::Coordinates {
        found: written(node),
        at: short(node.span),
    };
    let numbers = node.elements().ok_or_else(wrong)?;
    let ([longitude, latitude] | [longitude, latitude, _]) = numbers else {
        return Err(wrong());
    };
    let longitude = degrees(longitude, 180.0).ok_or_else(wrong)?;
    let latitude = degrees(latitude, 90.0).ok_or_else(wrong)?;
    Ok(Place {
        longitude,
        latitude,
        at: node.span,
    })
}

fn degrees(node: &Node, most: f64) -> Option<f64> {
    let NodeKind::Scalar(scalar) = &node.kind else {
        return None;
    };
    let is_number = scalar.style == Style::Plain
        && scalar
            .text
            .bytes()
            .all(|byte| matches!(byte, b'0'..=b'9' | b'.' | b'-' | b'+' | b'e' | b'E'));
    let value: f64 = scalar.text.parse().ok().filter(|_| is_number)?;
    (value.abs() <= most).then_some(value)
}

/// What was written for a place, if it is short.
fn written(node: &Node) -> String {
    let Some(numbers) = node.elements() else {
        return node.called().into();
    };
    let text = |one: &Node| match &one.kind {
        NodeKind::Scalar(scalar) if scalar.style == Style::Quoted => format!("\"{}\"", scalar.text),
        _ => one.text().unwrap_or("…").to_owned(),
    };
    let texts: Vec<_> = numbers.iter().take(4).map(text).collect();
    format!("[ {} ]", texts.join(", "))
}

fn named<'n>(node: &'n Node, key: &str) -> Option<&'n str> {
    node.get(key).and_then(Node::text)
}

fn shape(node: &Node, expected: &'static str) -> PlanError {
    PlanError::Shape {
        found: named(node, "type")
            .map_or_else(|| node.called().to_owned(), |kind| format!("a {kind}")),
        expected,
        mend: LIKE,
        at: short(node.span),
    }
}

/// The beginning of a place that may be long.
fn short(span: Span) -> Span {
    Span {
        end: span.end.min(span.start.saturating_add(1)),
        ..span
    }
}
