//! A generated archive: records as crews hand them in, from a seed, the same on every machine.
//!
//! Facts are missing, units are mixed, and a few of a thousand can't be read. Lots, permits,
//! people and places are invented.

use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use serde_json::{Map, Value, json};

/// How often a fact is left out.
const MISSING: f64 = 0.12;
/// How often a record can't be read.
const BROKEN: f64 = 0.004;

/// Where the lots lie, and how often.
const PLACES: [&[&str]; 3] = [
    &[
        "aldmoor/sarnfell/velder_mills",
        "aldmoor/upper_quarn_sewer_district",
    ],
    &["aldmoor/sarnfell/hask_ferry"],
    &["aldmoor/sarnfell/quern_landing"],
];

/// One record after the other, each a line of JSON; some lines are broken.
pub struct Archive {
    random: ChaCha8Rng,
    number: usize,
}

impl Archive {
    /// The archive of a seed; there is no end to it.
    pub fn new(seed: u64) -> Archive {
        Archive {
            random: ChaCha8Rng::seed_from_u64(seed),
            number: 0,
        }
    }

    fn chance(&mut self, share: f64) -> bool {
        self.random.random_bool(share)
    }

    fn one<'t>(&mut self, of: &[&'t str]) -> &'t str {
        of[self.random.random_range(0..of.len())]
    }

    /// Quarters of an inch, written in whatever unit the crew thinks in.
    fn length(&mut self, least: u32, greatest: u32) -> String {
        let quarters = self.random.random_range(least * 4..=greatest * 4);
        let (inches, quarter) = (quarters / 4, quarters % 4);
        match self.random.random_range(0..10) {
            0 => format!("{} mm", quarters * 635 / 100),
            1 => format!("{}.{:02} ft", quarters / 48, (quarters % 48) * 100 / 48),
            2 => format!("{} ft {} in", inches / 12, inches % 12),
            3 => format!("{inches} in ± 1/2 in"),
            _ if quarter == 2 => format!("{inches} 1/2 in"),
            _ => format!("{inches} in"),
        }
    }

    fn date(&mut self, year: u32) -> String {
        let month = self.random.random_range(1..=12);
        let day = self.random.random_range(1..=28);
        format!("{year}-{month:02}-{day:02}")
    }

    /// Puts a fact in, unless it was left out.
    fn fact(&mut self, thing: &mut Map<String, Value>, key: &str, value: impl Into<Value>) {
        if !self.chance(MISSING) {
            thing.insert(key.to_owned(), value.into());
        }
    }

    fn record(&mut self) -> Value {
        self.number += 1;
        let year = self.random.random_range(2023..=2026);
        let place = PLACES[match self.random.random_range(0..10) {
            0..=5 => 0,
            6 | 7 => 1,
            _ => 2,
        }];
        let mut permits = Map::new();
        for kind in ["plumbing", "electrical", "connection"] {
            let issued = self.date(year);
            self.fact(&mut permits, kind, json!({ "issued": issued }));
        }
        let permits = match permits.is_empty() {
            true => json!("none"),
            false => json!(permits),
        };
        let stage = self.one(&["before_cover", "final_grade", "hand_over"]);
        let date = self.date(year + 1);
        let mut record = json!({
            "record": 1,
            "lot": format!("GA-{:06}", self.number),
            "place": place,
            "permits": permits,
            "recorded": { "by": self.one(&["A. Holt", "R. Ames", "V. Osk"]), "date": date },
            "stage": stage,
            "tolerances": { "length": "1/4 in", "elevation": "0.02 ft", "others": "exact" },
            "datum": "benchmark on the hydrant",
        });
        let parts = [
            ("supply_cables", self.cable()),
            ("building_sewers", self.sewer()),
            ("laterals", self.lateral()),
            ("vents", self.vent()),
            ("stations", self.station()),
        ];
        for (list, thing) in parts {
            if !self.chance(MISSING) {
                record[list] = json!([thing]);
            }
        }
        for list in ["wells", "ignition_sources", "fuel_sources", "utilities"] {
            if self.chance(0.6) {
                record[list] = json!("none");
            }
        }
        record
    }

    fn cable(&mut self) -> Value {
        let length = self.random.random_range(20..120);
        let cover = self.length(20, 40);
        let wiring = self.one(&["direct_burial", "pvc_40", "pvc_80"]);
        let location = self.one(&["yard", "yard", "dwelling_driveway"]);
        let mut span = Map::from_iter([
            ("from".to_owned(), json!("3 ft")),
            ("to".to_owned(), json!(format!("{length} ft"))),
        ]);
        self.fact(&mut span, "wiring", wiring);
        self.fact(&mut span, "location", location);
        self.fact(&mut span, "cover", cover);
        json!({
            "id": "SC-1",
            "length": format!("{length} ft"),
            "spans": [
                { "from": "0 ft", "to": "3 ft", "wiring": "pvc_80", "location": "rising_to_termination" },
                span,
            ],
        })
    }

    /// A sewer in feet, or in metres as a third of the surveyors write it.
    fn sewer(&mut self) -> Value {
        let length = self.random.random_range(16..60);
        let fall = self.random.random_range(1..30);
        let metric = self.chance(0.3);
        let written = |hundredths: i64| match metric {
            true => format!(
                "{}.{:03} m",
                hundredths * 3048 / 1_000_000,
                hundredths * 3048 / 1000 % 1000
            ),
            false => format!("{}.{:02} ft", hundredths / 100, hundredths % 100),
        };
        let mut sewer = Map::from_iter([
            ("id".to_owned(), json!("BS-1")),
            ("length".to_owned(), json!(format!("{length} ft"))),
        ]);
        let size = self.one(&["4 in", "4 in", "3 in", "6 in"]);
        self.fact(&mut sewer, "nominal_size", size);
        let mut shots = Vec::new();
        for at in [0, length / 2, length] {
            let mut shot = Map::from_iter([("at".to_owned(), json!(format!("{at} ft")))]);
            // Hundredths of a foot above the datum; the fall is in tenths of a per cent.
            self.fact(&mut shot, "ground", written(81_240 - at * 2));
            self.fact(&mut shot, "invert", written(80_910 - at * fall / 10));
            shots.push(json!(shot));
        }
        sewer.insert("shots".to_owned(), json!(shots));
        json!(sewer)
    }

    fn lateral(&mut self) -> Value {
        let mut lateral = Map::from_iter([("id".to_owned(), json!("PL-1"))]);
        let length = self.random.random_range(30..200);
        self.fact(&mut lateral, "length", format!("{length} ft"));
        let offset = self.length(1, 9);
        self.fact(&mut lateral, "tracer_offset", offset);
        let size = self.one(&["12 AWG", "14 AWG", "10 AWG"]);
        self.fact(&mut lateral, "tracer_size", size);
        self.fact(&mut lateral, "nominal_size", "1 1/4 in");
        self.fact(&mut lateral, "curb_stop", "in_right_of_way");
        json!(lateral)
    }

    fn vent(&mut self) -> Value {
        let mut opening = Map::from_iter([("kind".to_owned(), json!("window"))]);
        let (horizontal, above) = (self.length(90, 240), self.length(2, 60));
        self.fact(&mut opening, "horizontal", horizontal);
        self.fact(&mut opening, "above", above);
        let size = self.one(&["2 in", "3 in", "4 in"]);
        json!({ "id": "V-1", "size": size, "ends_above": "roof", "openings": [opening] })
    }

    fn station(&mut self) -> Value {
        let mut station = Map::from_iter([("id".to_owned(), json!("GP-1"))]);
        let above = self.length(0, 8);
        self.fact(&mut station, "lid_above_grade", above);
        let fastened = self.one(&["yes", "yes", "yes", "no"]);
        self.fact(&mut station, "lid_fastened", fastened);
        self.fact(&mut station, "solids_handling", "grinder");
        json!(station)
    }

    /// Spoils a line as hands and disks do.
    fn spoilt(&mut self, record: &mut Value) -> Option<String> {
        match self.random.random_range(0..4) {
            0 => {
                let line = record.to_string();
                let half = line.floor_char_boundary(line.len() / 2);
                return Some(line[..half].to_owned());
            }
            1 => record["lot_number"] = json!("17"),
            2 => record["stage"] = json!("before_covering"),
            _ => record["laterals"] = json!([{ "id": "PL-1", "length": "84" }]),
        }
        None
    }
}

impl Iterator for Archive {
    type Item = String;

    fn next(&mut self) -> Option<String> {
        let mut record = self.record();
        let spoilt = match self.chance(BROKEN) {
            true => self.spoilt(&mut record),
            false => None,
        };
        Some(spoilt.unwrap_or_else(|| record.to_string()))
    }
}
