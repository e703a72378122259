//! The file that a screening keeps, held against OGC 12-128r17, GeoPackage Encoding Standard 1.3.
//!
//! Requirements are named by their numbers there; those marked *from memory* were not read again
//! when the test was written.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

use rusqlite::Connection;
use tempfile::TempDir;

/// Two lots with plans and two without, kept.
static KEPT: LazyLock<(TempDir, PathBuf)> = LazyLock::new(|| {
    let folder = TempDir::new().expect("a folder");
    let file = folder.path().join("kept.gpkg");
    let output = Command::new(env!("CARGO_BIN_EXE_groundrule"))
        .args(["screen", "demo/quern_landing/lot_01.yaml"])
        .args([
            "demo/quern_landing/lot_03.yaml",
            "demo/quern_landing/lot_07.yaml",
        ])
        .args(["demo/velder_mills/lot_07.yaml", "--keep"])
        .arg(&file)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("the program runs");
    assert_eq!(output.status.code(), Some(1));
    (folder, file)
});

fn database() -> Connection {
    Connection::open(&KEPT.1).expect("a database")
}

fn texts(database: &Connection, statement: &str) -> Vec<String> {
    let mut prepared = database.prepare(statement).expect("a statement");
    let rows = prepared.query_map([], |row| {
        let value: rusqlite::types::Value = row.get(0)?;
        Ok(match value {
            rusqlite::types::Value::Text(text) => text,
            rusqlite::types::Value::Integer(number) => number.to_string(),
            other => format!("{other:?}"),
        })
    });
    let texts = rows.expect("it runs").collect::<Result<_, _>>();
    texts.expect("rows")
}

fn columns(database: &Connection, table: &str) -> Vec<String> {
    texts(
        database,
        &format!(
            "SELECT name || ' ' || type || ' ' || \"notnull\" || ' ' || pk
             FROM pragma_table_info('{table}') ORDER BY cid"
        ),
    )
}

/// Requirements 1, 2 and 3; the offsets are those of SQLite's file format.
#[test]
fn the_header_says_sqlite_geopackage_and_version_1_3() {
    let bytes = std::fs::read(&KEPT.1).expect("a file");
    assert_eq!(&bytes[..16], b"SQLite format 3\0");
    assert_eq!(&bytes[68..72], b"GPKG");
    assert_eq!(bytes[60..64], 10300_u32.to_be_bytes());
    assert_eq!(KEPT.1.extension().expect("an ending"), "gpkg");
}

/// Requirements 6 and 7.
#[test]
fn the_file_is_whole_and_every_reference_leads_somewhere() {
    let database = database();
    assert_eq!(texts(&database, "PRAGMA integrity_check"), ["ok"]);
    assert!(texts(&database, "PRAGMA foreign_key_check").is_empty());
}

/// Requirements 10 and 13, and 21 (from memory): the columns of the three tables.
#[test]
fn the_tables_of_the_standard_have_its_columns() {
    let database = database();
    assert_eq!(
        columns(&database, "gpkg_spatial_ref_sys"),
        [
            "srs_name TEXT 1 0",
            "srs_id INTEGER 1 1",
            "organization TEXT 1 0",
            "organization_coordsys_id INTEGER 1 0",
            "definition TEXT 1 0",
            "description TEXT 0 0",
        ]
    );
    assert_eq!(
        columns(&database, "gpkg_contents"),
        [
            "table_name TEXT 1 1",
            "data_type TEXT 1 0",
            "identifier TEXT 0 0",
            "description TEXT 0 0",
            "last_change DATETIME 1 0",
            "min_x DOUBLE 0 0",
            "min_y DOUBLE 0 0",
            "max_x DOUBLE 0 0",
            "max_y DOUBLE 0 0",
            "srs_id INTEGER 0 0",
        ]
    );
    assert_eq!(
        columns(&database, "gpkg_geometry_columns"),
        [
            "table_name TEXT 1 1",
            "column_name TEXT 1 2",
            "geometry_type_name TEXT 1 0",
            "srs_id INTEGER 1 0",
            "z TINYINT 1 0",
            "m TINYINT 1 0",
        ]
    );
}

/// Requirements 11 and 12.
#[test]
fn the_reference_systems_are_those_that_every_file_has() {
    let systems = "SELECT srs_id || ' ' || organization || ' ' || organization_coordsys_id
                   FROM gpkg_spatial_ref_sys ORDER BY srs_id";
    assert_eq!(
        texts(&database(), systems),
        ["-1 NONE -1", "0 NONE 0", "4326 EPSG 4326"]
    );
    let undefined = "SELECT DISTINCT definition FROM gpkg_spatial_ref_sys WHERE srs_id <> 4326";
    assert_eq!(texts(&database(), undefined), ["undefined"]);
}

/// Requirements 4, 14, 16 and 118: every table and view is one of the standard's own, or is listed
/// as features or attributes, so that the file needs no extension.
#[test]
fn every_table_and_view_is_listed_and_every_listed_one_is_there() {
    let database = database();
    let there = "SELECT name FROM sqlite_master WHERE type IN ('table', 'view')
                 AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' AND name NOT LIKE 'gpkg\\_%' ESCAPE '\\'
                 ORDER BY name";
    let listed = "SELECT table_name FROM gpkg_contents
                  WHERE data_type IN ('features', 'attributes') ORDER BY table_name";
    let there = texts(&database, there);
    assert_eq!(there, texts(&database, listed));
    assert!(there.len() > 10);
    let features = "SELECT table_name FROM gpkg_contents WHERE data_type = 'features'
                    AND srs_id = 4326 ORDER BY table_name";
    let layers = ["findings_on_map", "lots_on_map", "things_on_map"];
    assert_eq!(texts(&database, features), layers);
    // Requirement 22, from memory: a row for each of them.
    let geometries = "SELECT table_name FROM gpkg_geometry_columns
                      WHERE srs_id = 4326 AND z = 0 AND m = 0 ORDER BY table_name";
    assert_eq!(texts(&database, geometries), layers);
}

/// Requirements 119 and 151; 29 and 150, from memory, say the same of features.
#[test]
fn tables_have_an_integer_key_and_views_begin_with_unique_integers() {
    let database = database();
    let named = |kind: &str| {
        format!(
            "SELECT name FROM sqlite_master JOIN gpkg_contents ON table_name = name
             WHERE type = '{kind}'"
        )
    };
    for table in texts(&database, &named("table")) {
        let first = columns(&database, &table).swap_remove(0);
        assert!(first.ends_with(" INTEGER 1 1"), "{table}: {first}");
    }
    for view in texts(&database, &named("view")) {
        let first = "SELECT name FROM pragma_table_info('V') WHERE cid = 0".replace('V', &view);
        let first = texts(&database, &first).swap_remove(0);
        let unique = format!(
            "SELECT count(*) = count(DISTINCT {first}) AND count(*) > 0
             AND sum(typeof({first}) <> 'integer') = 0 FROM {view}"
        );
        assert_eq!(texts(&database, &unique), ["1"], "{view}");
    }
}

/// Requirement 5.
#[test]
fn columns_have_the_types_of_the_standard() {
    let database = database();
    let types = "SELECT DISTINCT info.type FROM gpkg_contents
                 JOIN sqlite_master ON sqlite_master.name = table_name AND sqlite_master.type = 'table'
                 JOIN pragma_table_info(table_name) AS info ORDER BY 1";
    let types = texts(&database, types);
    let known = [
        "BLOB", "BOOLEAN", "DATETIME", "DOUBLE", "GEOMETRY", "INTEGER", "POINT", "TEXT",
    ];
    assert!(types.len() > 5);
    for one in types {
        assert!(known.contains(&one.as_str()), "{one}");
    }
}

/// Requirements 5 and 15: `YYYY-MM-DDTHH:MM:SS.SSSZ`.
#[test]
fn dates_are_told_in_utc_to_the_millisecond() {
    let database = database();
    let mut dates = texts(&database, "SELECT last_change FROM gpkg_contents");
    dates.extend(texts(&database, "SELECT began FROM screenings"));
    dates.extend(texts(&database, "SELECT ended FROM screenings"));
    for date in dates {
        let form: String = date
            .chars()
            .map(|letter| if letter.is_ascii_digit() { '0' } else { letter })
            .collect();
        assert_eq!(form, "0000-00-00T00:00:00.000Z", "{date}");
    }
}

/// A geometry, read as Requirement 19 and clause 2.1.3 lay it out.
struct Geometry {
    envelope: [f64; 4],
    kind: u32,
    places: Vec<[f64; 2]>,
}

fn read(bytes: &[u8]) -> Geometry {
    let number = |at: usize| f64::from_le_bytes(bytes[at..at + 8].try_into().expect("8 bytes"));
    let count = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().expect("4 bytes"));
    assert_eq!(&bytes[..2], b"GP");
    assert_eq!(bytes[2], 0, "version 1 of the format");
    // Bit 0: little-endian; bits 1 to 3: 1, an envelope of x and y; bit 4: not empty; bit 5:
    // standard.
    assert_eq!(bytes[3], 0b0000_0011);
    assert_eq!(count(4), 4326);
    assert_eq!(bytes[40], 1, "little-endian");
    let kind = count(41);
    let (first, places) = match kind {
        1 => (45, 1),
        2 => (49, count(45)),
        other => panic!("a geometry of kind {other}"),
    };
    let end = first + 16 * places as usize;
    assert_eq!(bytes.len(), end);
    Geometry {
        envelope: [number(8), number(16), number(24), number(32)],
        kind,
        places: (first..end)
            .step_by(16)
            .map(|at| [number(at), number(at + 8)])
            .collect(),
    }
}

fn geometries(database: &Connection, layer: &str) -> Vec<Geometry> {
    let mut prepared = database
        .prepare(&format!("SELECT geom FROM {layer}"))
        .expect("a layer");
    let bytes = prepared.query_map([], |row| row.get::<_, Vec<u8>>(0));
    let bytes = bytes.expect("it runs").map(|bytes| bytes.expect("bytes"));
    bytes.map(|bytes| read(&bytes)).collect()
}

fn bounds(places: &[[f64; 2]]) -> [f64; 4] {
    let of = |axis: usize, pick: fn(f64, f64) -> f64| {
        let each = places.iter().map(|place| place[axis]);
        each.reduce(pick).expect("a place")
    };
    [
        of(0, f64::min),
        of(0, f64::max),
        of(1, f64::min),
        of(1, f64::max),
    ]
}

#[test]
fn each_geometry_has_its_envelope_and_each_layer_its_extent() {
    let database = database();
    for layer in ["lots_on_map", "things_on_map", "findings_on_map"] {
        let all = geometries(&database, layer);
        assert!(all.len() >= 2, "{layer}");
        for one in &all {
            assert_eq!(one.envelope, bounds(&one.places), "{layer}");
        }
        let said = database.query_row(
            "SELECT min_x, max_x, min_y, max_y FROM gpkg_contents WHERE table_name = ?1",
            [layer],
            |row| Ok([row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?]),
        );
        let places: Vec<[f64; 2]> = all.iter().flat_map(|one| one.places.clone()).collect();
        // Findings stand at some of the things, so that these may reach farther.
        let within: [f64; 4] = said.expect("an extent");
        let exact = bounds(&places);
        if layer == "findings_on_map" {
            assert!(within[0] <= exact[0] && within[1] >= exact[1]);
            assert!(within[2] <= exact[2] && within[3] >= exact[3]);
        } else {
            assert_eq!(within, exact, "{layer}");
        }
    }
    assert!(
        geometries(&database, "lots_on_map")
            .iter()
            .all(|one| one.kind == 1)
    );
}

#[test]
fn things_stand_where_the_plan_has_them() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let plan = std::fs::read_to_string(root.join("demo/quern_landing/lot_01.geojson"));
    let plan: geojson::FeatureCollection = plan.expect("a plan").parse().expect("GeoJSON");
    let database = database();
    assert!(plan.features.len() > 5);
    for feature in plan.features {
        let id = feature
            .property("id")
            .expect("an id")
            .as_str()
            .expect("a text")
            .to_owned();
        let bytes: Vec<u8> = database
            .query_row(
                "SELECT geom FROM things_on_map WHERE lot = 'QL-01' AND thing = ?1",
                [&id],
                |row| row.get(0),
            )
            .expect("the thing");
        let held = read(&bytes).places;
        let drawn: Vec<[f64; 2]> = match feature.geometry.expect("a geometry").value {
            geojson::GeometryValue::Point { coordinates } => vec![[coordinates[0], coordinates[1]]],
            geojson::GeometryValue::LineString { coordinates } => coordinates
                .iter()
                .map(|place| [place[0], place[1]])
                .collect(),
            other => panic!("{other:?}"),
        };
        assert_eq!(held, drawn, "{id}");
    }
}

/// What is shown of a lot carries whom to ask, wherever it is opened.
#[test]
fn every_finding_carries_its_caution_and_the_file_its_standing() {
    let database = database();
    for layer in ["findings", "findings_on_map"] {
        let without = format!("SELECT count(*) FROM {layer} WHERE coalesce(caution, '') = ''");
        assert_eq!(texts(&database, &without), ["0"]);
    }
    let standing = texts(&database, "SELECT standing FROM groundrule");
    assert!(standing[0].contains("approves nothing"));
}
