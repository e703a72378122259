//! A generated archive for measuring: each record as crews write it and, the same, in whole
//! numbers of base units, as the peers want it.
//!
//! From a seed, the same on every machine. A few facts of each record are missing, units are mixed,
//! and a few of a thousand lines can't be read. Lots, permits, people and places are invented.

use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use serde_json::{Map, Value, json};

use crate::written::{self, Written};

/// How often a fact is left out.
const MISSING: f64 = 0.05;
/// How often a whole list is left out.
const LIST_MISSING: f64 = 0.015;
/// How often a line can't be read.
const BROKEN: f64 = 0.004;

/// The place that adopts all predicates.
pub const PLACE: &str = "quoin_moor";

/// One record in both forms.
#[derive(Debug, Clone)]
pub struct Lot {
    /// As crews write it: quantities are text with their units.
    pub written: Value,
    /// The same in base units: micrometres, seconds, milliamperes, volts, thousandths of a psi, and
    /// sizes by their place in the order.
    pub base: Value,
    /// Whether its line was cut off.
    pub broken: bool,
}

impl Lot {
    /// Its line of JSON as crews write it.
    pub fn line(&self) -> String {
        self.cut(self.written.to_string())
    }

    /// Its line of JSON in base units.
    pub fn base_line(&self) -> String {
        self.cut(self.base.to_string())
    }

    fn cut(&self, line: String) -> String {
        match self.broken {
            true => line.chars().take(line.chars().count() / 2).collect(),
            false => line,
        }
    }
}

/// One record after the other; there is no end to it.
pub struct Archive {
    random: ChaCha8Rng,
    number: usize,
}

/// A thing in both forms.
#[derive(Default)]
struct Thing {
    written: Map<String, Value>,
    base: Map<String, Value>,
}

impl Thing {
    fn put(&mut self, key: &str, value: Written) {
        self.written.insert(key.to_owned(), value.text);
        self.base.insert(key.to_owned(), value.base);
    }

    fn list(&mut self, key: &str, things: Vec<Thing>) {
        let (written, base): (Vec<Value>, Vec<Value>) = things
            .into_iter()
            .map(|thing| (json!(thing.written), json!(thing.base)))
            .unzip();
        self.put(key, Written::of(json!(written), json!(base)));
    }
}

impl Archive {
    /// The archive of a seed.
    pub fn new(seed: u64) -> Archive {
        Archive {
            random: ChaCha8Rng::seed_from_u64(seed),
            number: 0,
        }
    }

    fn chance(&mut self, share: f64) -> bool {
        self.random.random_bool(share)
    }

    fn between(&mut self, least: i64, greatest: i64) -> i64 {
        self.random.random_range(least..=greatest)
    }

    fn one<'t>(&mut self, of: &[&'t str]) -> &'t str {
        of[self.random.random_range(0..of.len())]
    }

    /// Puts a fact in, unless it was left out.
    fn fact(&mut self, thing: &mut Thing, key: &str, value: Written) {
        if !self.chance(MISSING) {
            thing.put(key, value);
        }
    }

    fn choice(&mut self, thing: &mut Thing, key: &str, of: &[&str]) {
        let chosen = self.one(of);
        self.fact(thing, key, Written::same(chosen));
    }

    fn yes_no(&mut self, thing: &mut Thing, key: &str, yes: f64) {
        let is = self.chance(yes);
        self.fact(thing, key, Written::yes_no(is));
    }

    /// A length between two numbers of inches, in whatever unit the crew thinks in.
    fn length(&mut self, thing: &mut Thing, key: &str, inches: [i64; 2]) {
        let quarters = self.between(inches[0] * 4, inches[1] * 4);
        let style = self.between(0, 9);
        self.fact(thing, key, written::length(quarters, style));
    }

    fn size(&mut self, thing: &mut Thing, key: &str, labels: &[&str], of: &[&str]) {
        let label = self.one(of);
        self.fact(thing, key, Written::size(label, labels));
    }

    fn lot(&mut self) -> Lot {
        self.number += 1;
        let mut lot = self.head();
        let mut site = Thing::default();
        let bedrooms = self.between(1, 5);
        self.fact(&mut site, "bedrooms", Written::same(bedrooms));
        self.length(&mut site, "largest_stone", [0, 4]);
        lot.put("site", Written::of(json!(site.written), json!(site.base)));
        let lists = [
            ("supply_cables", vec![self.cable()]),
            ("building_sewers", vec![self.sewer()]),
            ("laterals", vec![self.lateral()]),
            ("stations", vec![self.station()]),
            ("vents", vec![self.vent()]),
            ("excavations", self.excavations()),
        ];
        for (key, things) in lists {
            if !self.chance(LIST_MISSING) {
                lot.list(key, things);
            }
        }
        Lot {
            written: json!(lot.written),
            base: json!(lot.base),
            broken: self.chance(BROKEN),
        }
    }

    fn head(&mut self) -> Thing {
        let mut head = Thing::default();
        let day = |month: i64, day: i64| format!("2026-{month:02}-{day:02}");
        let issued = day(self.between(1, 6), self.between(1, 28));
        let recorded = day(self.between(7, 12), self.between(1, 28));
        let by = self.one(&["A. Holt", "R. Ames", "V. Osk"]);
        head.put("record", Written::same(1));
        let lot = format!("QM-{:06}", self.number);
        head.put("lot", Written::same(lot));
        head.put("place", Written::same(json!([PLACE])));
        let permits = json!({ "plumbing": { "issued": issued } });
        head.put("permits", Written::same(permits));
        let recorded = json!({ "by": by, "date": recorded });
        head.put("recorded", Written::same(recorded));
        head.put("stage", Written::same("hand_over"));
        let tolerances = json!({ "length": "1/4 in", "elevation": "0.02 ft", "others": "exact" });
        let in_base = json!({ "length": 6350, "elevation": 6096, "others": 0 });
        head.put("tolerances", Written::of(tolerances, in_base));
        head.put("datum", Written::same("hydrant"));
        head
    }

    fn cable(&mut self) -> Thing {
        let mut cable = Thing::default();
        let feet = self.between(20, 120);
        cable.put("id", Written::same("SC-1"));
        cable.put("length", written::feet(feet));
        let gauges = ["14 AWG", "12 AWG", "10 AWG", "8 AWG"];
        self.size(&mut cable, "conductor_size", &written::GAUGES, &gauges);
        let circuit = self.between(feet, feet + 60);
        self.fact(&mut cable, "circuit_length", written::feet(circuit));
        let volts = *[120, 240].get(self.between(0, 1) as usize).unwrap_or(&240);
        self.fact(&mut cable, "circuit_voltage", written::volts(volts));
        let tenths = self.between(80, 200);
        self.fact(
            &mut cable,
            "load_current",
            written::tenths_of_ampere(tenths),
        );
        let beds = ["sand", "screened", "native_fine", "native_fine", "stony"];
        self.choice(&mut cable, "bedding", &beds);
        self.yes_no(&mut cable, "slack_at_basin", 0.9);
        self.yes_no(&mut cable, "slack_at_panel", 0.9);
        self.yes_no(&mut cable, "spliced", 0.2);
        let splices = ["listed_direct_burial_kit", "in_box", "other"];
        self.choice(&mut cable, "splice", &splices);
        let mut riser = Thing::default();
        riser.put("from", written::feet(0));
        riser.put("to", written::feet(3));
        riser.put("wiring", Written::same("pvc_80"));
        riser.put("location", Written::same("rising_to_termination"));
        let mut span = Thing::default();
        span.put("from", written::feet(3));
        span.put("to", written::feet(feet));
        self.choice(&mut span, "wiring", &["direct_burial", "pvc_40", "pvc_80"]);
        self.choice(
            &mut span,
            "location",
            &["yard", "yard", "dwelling_driveway"],
        );
        self.length(&mut span, "cover", [15, 34]);
        cable.list("spans", vec![riser, span]);
        cable
    }

    fn sewer(&mut self) -> Thing {
        let mut sewer = Thing::default();
        let feet = self.between(16, 60);
        sewer.put("id", Written::same("BS-1"));
        self.fact(&mut sewer, "length", written::feet(feet));
        let sizes = ["3 in", "4 in", "4 in", "6 in"];
        self.size(&mut sewer, "nominal_size", &written::PIPES, &sizes);
        self.choice(&mut sewer, "test_medium", &["water", "water", "air"]);
        self.length(&mut sewer, "test_head", [108, 160]);
        let minutes = self.between(12, 40);
        self.fact(&mut sewer, "test_time", written::minutes(minutes));
        self.yes_no(&mut sewer, "test_leaked", 0.1);
        let metric = self.chance(0.3);
        let fall = self.between(15, 40);
        let shots = [0, feet / 2, feet].map(|at| {
            let mut shot = Thing::default();
            shot.put("at", written::feet(at));
            // Hundredths of a foot above the datum; the fall is in tenths of a per cent.
            let bump = self.between(-6, 6);
            let invert = written::elevation(80_910 - at * fall / 10 + bump, metric);
            let ground = written::elevation(81_240 - at * 2, metric);
            self.fact(&mut shot, "ground", ground);
            self.fact(&mut shot, "invert", invert);
            shot
        });
        sewer.list("shots", shots.into());
        sewer
    }

    fn lateral(&mut self) -> Thing {
        let mut lateral = Thing::default();
        let feet = self.between(30, 200);
        lateral.put("id", Written::same("PL-1"));
        self.fact(&mut lateral, "length", written::feet(feet));
        self.length(&mut lateral, "tracer_offset", [1, 8]);
        let gauges = ["14 AWG", "12 AWG", "12 AWG", "10 AWG"];
        self.size(&mut lateral, "tracer_size", &written::GAUGES, &gauges);
        let stops = ["in_right_of_way", "in_right_of_way", "on_line", "none"];
        self.choice(&mut lateral, "curb_stop", &stops);
        let count = self.between(1, 2);
        let tests = (0..count).map(|_| {
            let mut test = Thing::default();
            self.choice(&mut test, "medium", &["water", "water", "air"]);
            let start = self.between(1000, 1500);
            let lost = self.between(0, 90);
            self.fact(&mut test, "pressure_start", written::tenths_of_psi(start));
            self.fact(
                &mut test,
                "pressure_end",
                written::tenths_of_psi(start - lost),
            );
            test
        });
        let tests = tests.collect();
        lateral.list("pressure_tests", tests);
        lateral
    }

    fn station(&mut self) -> Thing {
        let mut station = Thing::default();
        station.put("id", Written::same("GP-1"));
        self.length(&mut station, "lid_above_grade", [1, 8]);
        self.yes_no(&mut station, "lid_fastened", 0.8);
        self.length(&mut station, "basin_inside_diameter", [24, 36]);
        self.length(&mut station, "basin_height", [60, 110]);
        let metric = self.chance(0.3);
        let grade = self.between(80_900, 81_200);
        let above = self.between(5, 60);
        let rim = written::elevation(grade + above, metric);
        self.fact(&mut station, "basin_rim", rim);
        let grade = written::elevation(grade, metric);
        self.fact(&mut station, "finished_grade", grade);
        let (works, peak) = (self.between(500, 900), self.between(250, 700));
        self.fact(
            &mut station,
            "working_pressure",
            written::tenths_of_psi(works),
        );
        self.fact(
            &mut station,
            "main_pressure_peak",
            written::tenths_of_psi(peak),
        );
        station
    }

    fn vent(&mut self) -> Thing {
        let mut vent = Thing::default();
        vent.put("id", Written::same("V-1"));
        let openings = [(), ()].map(|()| {
            let mut opening = Thing::default();
            self.length(&mut opening, "horizontal", [90, 240]);
            self.length(&mut opening, "above", [2, 60]);
            opening
        });
        vent.list("openings", openings.into());
        vent
    }

    fn excavations(&mut self) -> Vec<Thing> {
        let count = self.between(1, 2);
        (0..count).map(|_| self.excavation()).collect()
    }

    fn excavation(&mut self) -> Thing {
        let mut excavation = Thing::default();
        self.length(&mut excavation, "depth", [36, 96]);
        self.choice(
            &mut excavation,
            "protection",
            &["sloped", "sloped", "shield"],
        );
        self.length(&mut excavation, "slope_setback", [70, 200]);
        self.length(&mut excavation, "spoil_setback", [18, 60]);
        self.length(&mut excavation, "travel_to_ladder", [120, 330]);
        self.length(&mut excavation, "ladder_above_landing", [30, 60]);
        self.length(&mut excavation, "footing_offset", [12, 90]);
        self.length(&mut excavation, "footing_depth", [24, 60]);
        excavation
    }
}

impl Iterator for Archive {
    type Item = Lot;

    fn next(&mut self) -> Option<Lot> {
        Some(self.lot())
    }
}
