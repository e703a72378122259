//! What `gpkg_contents` says of the layers: when they changed, and how far they reach.

use rusqlite::{Connection, OptionalExtension as _};

use super::Keeping;
use super::geometry::Extent;

/// Whether extents are worked out from all that is held, or are widened by what came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Exact {
    Yes,
    No,
}

const TOUCHED: &str = "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ','now')
WHERE table_name IN ";
/// The tables that say how things stand.
const STANDING: &str = "('lots_on_map', 'things_on_map', 'findings_on_map', 'lots', 'findings',
'rules', 'verdicts', 'records', 'results')";
/// Those that say what was.
const HISTORY: &str = "('screenings', 'history', 'statements')";

impl Keeping {
    /// Keeps the dates and extents of the layers right while a screening goes on.
    pub(super) fn describe(&mut self, exact: Exact) -> rusqlite::Result<()> {
        let database = &self.database;
        let date = |tables: &str| database.execute(&format!("{TOUCHED}{tables}"), []);
        date(HISTORY)?;
        let touched = std::mem::take(&mut self.touched);
        if touched.has_turned {
            date("('changes')")?;
        }
        if !touched.is_shown {
            return Ok(());
        }
        date(STANDING)?;
        for (layers, held, widened) in [
            ("('lots_on_map')", "lots_on_map", touched.lots),
            (
                "('things_on_map', 'findings_on_map')",
                "things_on_map",
                touched.things,
            ),
        ] {
            let extent = match exact {
                Exact::Yes => held_extent(database, held)?,
                Exact::No => [said_extent(database, held)?, widened]
                    .into_iter()
                    .flatten()
                    .reduce(Extent::with),
            };
            say_extent(database, layers, extent)?;
        }
        Ok(())
    }
}

/// The extent of all geometries that a table holds.
fn held_extent(database: &Connection, held: &str) -> rusqlite::Result<Option<Extent>> {
    let mut found = database.prepare(&format!("SELECT geom FROM {held}"))?;
    let mut rows = found.query([])?;
    let mut all: Option<Extent> = None;
    while let Some(row) = rows.next()? {
        let geometry: Vec<u8> = row.get(0)?;
        let extent = Extent::of_held(&geometry);
        all = [all, extent].into_iter().flatten().reduce(Extent::with);
    }
    Ok(all)
}

/// The extent that a layer is said to have.
fn said_extent(database: &Connection, layer: &str) -> rusqlite::Result<Option<Extent>> {
    database
        .query_row(
            "SELECT min_x, min_y, max_x, max_y FROM gpkg_contents
             WHERE table_name = ?1 AND min_x IS NOT NULL",
            [layer],
            |row| {
                Ok(Extent {
                    least: [row.get(0)?, row.get(1)?],
                    greatest: [row.get(2)?, row.get(3)?],
                })
            },
        )
        .optional()
}

fn say_extent(database: &Connection, layers: &str, extent: Option<Extent>) -> rusqlite::Result<()> {
    let least = |axis: usize| extent.map(|extent| extent.least[axis]);
    let greatest = |axis: usize| extent.map(|extent| extent.greatest[axis]);
    let statement = format!(
        "UPDATE gpkg_contents SET min_x = ?1, min_y = ?2, max_x = ?3, max_y = ?4
         WHERE table_name IN {layers}"
    );
    database.execute(&statement, (least(0), least(1), greatest(0), greatest(1)))?;
    Ok(())
}
