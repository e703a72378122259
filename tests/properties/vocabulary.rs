//! The small vocabulary of the properties: something of each type, and each list that the survey
//! functions read.

use std::fmt::Write;

use num_rational::Ratio;

pub type Exact = Ratio<i128>;

/// A type, as far as generating goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Length,
    Slope,
    Number,
    Elevation,
    PublicElevation,
    Temperature,
    Date,
    Time,
    Flow,
    Volume,
    Pressure,
    Angle,
    Chainage,
    YesNo,
    Material,
    Bore,
    Text,
    Reference,
}

use Kind::*;

pub const MATERIALS: [&str; 4] = ["clay", "iron", "plastic", "none"];
/// The labels of each place in the order of sizes.
pub const BORES: [&[&str]; 3] = [&["2 in"], &["3 in", "DN 80"], &["4 in", "DN 100"]];
pub const TEXTS: [&str; 3] = ["brick", "slate", "oak"];
pub const HOLDS: [&str; 3] = ["early", "middle", "late"];
pub const PERMITS: [&str; 2] = ["plumbing", "electrical"];

/// A unit: its name, and what one of it is in the canonical unit.
///
/// The inch is 25.4 mm, the foot 12 in, the gallon 231 in³ (NIST Handbook 44, appendix C); a
/// pound-force is 4.448 221 615 260 5 N and degF = 9/5 K − 459.67 (NIST SP 811, appendix B).
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    pub name: &'static str,
    factor: (i128, i128),
    /// What is added to a point before it is multiplied.
    zero: (i128, i128),
}

const fn unit(name: &'static str, numerator: i128, denominator: i128) -> Unit {
    Unit {
        name,
        factor: (numerator, denominator),
        zero: (0, 1),
    }
}

const LENGTHS: [Unit; 6] = [
    unit("in", 254, 10_000),
    unit("ft", 3_048, 10_000),
    unit("m", 1, 1),
    unit("mm", 1, 1_000),
    unit("cm", 1, 100),
    unit("yd", 9_144, 10_000),
];
const SLOPES: [Unit; 3] = [
    unit("in/ft", 1, 12),
    unit("%", 1, 100),
    unit("mm/m", 1, 1_000),
];
const NUMBERS: [Unit; 2] = [unit("", 1, 1), unit("%", 1, 100)];
const TEMPERATURES: [Unit; 3] = [
    Unit {
        zero: (45_967, 100),
        ..unit("degF", 5, 9)
    },
    Unit {
        zero: (27_315, 100),
        ..unit("degC", 1, 1)
    },
    unit("K", 1, 1),
];
const TIMES: [Unit; 4] = [
    unit("min", 60, 1),
    unit("s", 1, 1),
    unit("h", 3_600, 1),
    unit("d", 86_400, 1),
];
// A cubic inch is 16.387 064 mL, a gallon 3.785 411 784 L.
const FLOWS: [Unit; 3] = [
    unit("gpm", 3_785_411_784, 60_000_000_000_000),
    unit("L/s", 1, 1_000),
    unit("gpd", 3_785_411_784, 86_400_000_000_000_000),
];
const VOLUMES: [Unit; 4] = [
    unit("gal", 3_785_411_784, 1_000_000_000_000),
    unit("L", 1, 1_000),
    unit("m3", 1, 1),
    unit("ft3", 28_316_846_592, 1_000_000_000_000),
];
const PRESSURES: [Unit; 3] = [
    unit("psi", 44_482_216_152_605, 6_451_600_000),
    unit("kPa", 1_000, 1),
    unit("bar", 100_000, 1),
];
const ANGLES: [Unit; 1] = [unit("deg", 1, 1)];

impl Unit {
    fn factor(&self) -> Exact {
        Ratio::new(self.factor.0, self.factor.1)
    }

    /// How many of this unit a canonical value is.
    pub fn count(&self, canonical: Exact, kind: Kind) -> Exact {
        let counted = canonical / self.factor();
        if kind == Temperature {
            counted - Ratio::new(self.zero.0, self.zero.1)
        } else {
            counted
        }
    }

    /// How many of this unit a canonical difference is.
    pub fn count_difference(&self, canonical: Exact) -> Exact {
        canonical / self.factor()
    }

    /// The canonical value of so many of this unit.
    pub fn canonical(&self, count: Exact, kind: Kind) -> Exact {
        if kind == Temperature {
            (count + Ratio::new(self.zero.0, self.zero.1)) * self.factor()
        } else {
            count * self.factor()
        }
    }

    pub fn canonical_difference(&self, count: Exact) -> Exact {
        count * self.factor()
    }
}

impl Kind {
    pub fn name(self) -> &'static str {
        match self {
            Length => "length",
            Slope => "slope",
            Number => "number",
            Elevation => "elevation",
            PublicElevation => "public_elevation",
            Temperature => "temperature",
            Date => "date",
            Time => "time",
            Flow => "flow",
            Volume => "volume",
            Pressure => "pressure",
            Angle => "angle",
            Chainage => "chainage",
            YesNo => "yes_no",
            Material => "material",
            Bore => "bore",
            Text => "text",
            Reference => "reference",
        }
    }

    /// The units that a reading may have; none for what is no quantity.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Length | Elevation | PublicElevation | Chainage => &LENGTHS,
            Slope => &SLOPES,
            Number => &NUMBERS,
            Temperature => &TEMPERATURES,
            Time => &TIMES,
            Flow => &FLOWS,
            Volume => &VOLUMES,
            Pressure => &PRESSURES,
            Angle => &ANGLES,
            Date | YesNo | Material | Bore | Text | Reference => &[],
        }
    }

    /// Counts of the first unit that readings and limits share, so that they often meet exactly.
    pub fn pool(self) -> &'static [(i128, i128)] {
        match self {
            Length => &[
                (24, 1),
                (0, 1),
                (12, 1),
                (18, 1),
                (36, 1),
                (49, 2),
                (95, 4),
                (6, 1),
                (120, 1),
            ],
            Slope => &[(1, 4), (1, 8), (1, 2), (0, 1), (-1, 8), (6, 25), (12, 1)],
            Number => &[(2, 1), (1, 1), (0, 1), (3, 1), (1, 2), (-1, 1), (5, 2)],
            Elevation | PublicElevation => &[
                (1200, 1),
                (1203, 1),
                (1197, 1),
                (1194, 1),
                (1191, 1),
                (2395, 2),
                (1236, 1),
                (1224, 1),
            ],
            Temperature => &[(40, 1), (32, 1), (50, 1), (68, 1), (0, 1)],
            Time => &[(15, 1), (60, 1), (0, 1), (1440, 1), (30, 1)],
            Flow => &[(11, 1), (0, 1), (9, 1), (15, 1), (22, 1)],
            Volume => &[(70, 1), (0, 1), (100, 1), (150, 1)],
            Pressure => &[(5, 1), (0, 1), (100, 1), (150, 1)],
            Angle => &[(90, 1), (45, 1), (0, 1), (360, 1), (180, 1)],
            Chainage => &[
                (0, 1),
                (120, 1),
                (144, 1),
                (288, 1),
                (432, 1),
                (720, 1),
                (1008, 1),
            ],
            Date | YesNo | Material | Bore | Text | Reference => &[],
        }
    }

    /// Tolerances in counts of the first unit.
    pub fn tolerances(self) -> &'static [(i128, i128)] {
        match self {
            Length | Elevation | PublicElevation => &[(0, 1), (1, 4), (1, 2), (1, 1), (6, 1)],
            Slope => &[(0, 1), (1, 100), (1, 16), (1, 4)],
            Number => &[(0, 1), (1, 10), (1, 2), (1, 1)],
            Temperature => &[(0, 1), (1, 2), (2, 1), (10, 1)],
            Time => &[(0, 1), (1, 2), (5, 1)],
            Flow => &[(0, 1), (1, 10), (2, 1)],
            Volume => &[(0, 1), (1, 2), (10, 1)],
            Pressure => &[(0, 1), (1, 10), (1, 1)],
            Angle => &[(0, 1), (1, 1), (5, 1)],
            Date | Chainage | YesNo | Material | Bore | Text | Reference => &[],
        }
    }
}

/// A fact: its name, its type, whether it is measured.
#[derive(Debug, Clone, Copy)]
pub struct Fact {
    pub name: &'static str,
    pub kind: Kind,
    pub measured: bool,
}

const fn read(name: &'static str, kind: Kind) -> Fact {
    Fact {
        name,
        kind,
        measured: true,
    }
}

const fn stated(name: &'static str, kind: Kind) -> Fact {
    Fact {
        name,
        kind,
        measured: false,
    }
}

/// A kind of thing; facts that its form implies stand among the others.
#[derive(Debug, Clone, Copy)]
pub struct Thing {
    pub name: &'static str,
    pub form: &'static str,
    pub implied: &'static [Fact],
    pub facts: &'static [Fact],
    /// Name and kind of thing.
    pub lists: &'static [(&'static str, &'static str)],
}

const fn plain(
    name: &'static str,
    facts: &'static [Fact],
    lists: &'static [(&'static str, &'static str)],
) -> Thing {
    Thing {
        name,
        form: "",
        implied: &[],
        facts,
        lists,
    }
}

const AT: [Fact; 1] = [stated("at", Chainage)];

const fn point(name: &'static str, facts: &'static [Fact]) -> Thing {
    Thing {
        form: "point",
        implied: &AT,
        ..plain(name, facts, &[])
    }
}

/// The site is the first.
pub const THINGS: [Thing; 14] = [
    plain(
        "site",
        &[
            read("frost", Length),
            read("grade", Slope),
            stated("dwellings", Number),
            read("rate", Number),
            read("ground", Elevation),
            stated("flood", PublicElevation),
            read("tie", Length),
            read("air", Temperature),
            read("dug", Date),
            stated("started", Date),
            read("pause", Time),
            read("supply", Flow),
            read("store", Volume),
            read("press", Pressure),
            read("turn", Angle),
            stated("soil", Material),
            stated("main", Bore),
            stated("note", Text),
            stated("guarded", YesNo),
        ],
        &[
            ("drains", "drain"),
            ("wells", "well"),
            ("tanks", "tank"),
            ("clearances", "clearance"),
            ("crossings", "crossing"),
        ],
    ),
    Thing {
        form: "run gap 60 ft",
        implied: &[stated("length", Chainage)],
        ..plain(
            "drain",
            &[
                stated("bore", Bore),
                stated("lining", Material),
                read("fall", Slope),
                read("depth", Length),
                stated("sealed", YesNo),
                read("outside_diameter", Length),
                read("cover", Length),
            ],
            &[
                ("spans", "span"),
                ("shots", "shot"),
                ("ground_shots", "ground_shot"),
                ("line", "vertex"),
                ("bends", "bend"),
                ("pull_points", "pull_point"),
                ("parts", "part"),
            ],
        )
    },
    Thing {
        form: "stretch",
        implied: &[stated("from", Chainage), stated("to", Chainage)],
        ..plain(
            "span",
            &[
                read("cover", Length),
                stated("lining", Material),
                stated("wet", YesNo),
            ],
            &[],
        )
    },
    point(
        "shot",
        &[
            read("invert", Elevation),
            read("crown", Elevation),
            read("ground", Elevation),
        ],
    ),
    point("ground_shot", &[read("ground", Elevation)]),
    plain(
        "vertex",
        &[read("northing", Length), read("easting", Length)],
        &[],
    ),
    point("bend", &[read("angle", Angle)]),
    point("pull_point", &[]),
    plain(
        "part",
        &[
            read("width", Length),
            stated("pieces", Number),
            read("sound", YesNo),
            stated("what", Text),
            stated("made", Date),
            stated("bore", Bore),
        ],
        &[],
    ),
    plain(
        "well",
        &[
            read("depth", Length),
            stated("dry", YesNo),
            stated("lining", Material),
        ],
        &[("line", "vertex")],
    ),
    plain(
        "tank",
        &[
            read("volume", Volume),
            read("inflow", Flow),
            read("rest", Time),
            read("warmth", Temperature),
            read("load", Pressure),
            read("top", Elevation),
            stated("bore", Bore),
        ],
        &[("pump_curve", "curve_point"), ("parts", "part")],
    ),
    plain(
        "curve_point",
        &[read("flow", Flow), read("head", Length)],
        &[],
    ),
    plain(
        "clearance",
        &[
            stated("from", Reference),
            stated("to", Reference),
            read("horizontal", Length),
            read("vertical", Length),
        ],
        &[],
    ),
    plain(
        "crossing",
        &[
            stated("upper", Reference),
            stated("lower", Reference),
            read("vertical", Length),
        ],
        &[],
    ),
];

pub fn thing(name: &str) -> &'static Thing {
    let found = THINGS.iter().find(|thing| thing.name == name);
    found.expect("a thing of the small vocabulary")
}

impl Thing {
    pub fn all_facts(&self) -> impl Iterator<Item = &'static Fact> {
        self.implied.iter().chain(self.facts)
    }
}

const SURVEYS: [&str; 14] = [
    "least_fall (run: drain) gives slope",
    "overall_fall (run: drain) gives slope",
    "greatest_fall (run: drain) gives slope",
    "least_cover (run: drain) gives length",
    "greatest_cover (run: drain) gives length",
    "horizontal_clearance (a: drain or tank, b: well or drain) gives length",
    "true_clearance (a: drain, b: well or drain) gives length",
    "crosses (a: drain, b: drain) gives yes_no",
    "crossing_clearance (a: drain, b: drain) gives length",
    "total_bend (run: drain) gives angle",
    "pump_head (tank: tank, q: flow) gives length",
    "plan_length (run: drain) gives length",
    "slope_length (run: drain) gives length",
    "on_public_datum (e: elevation, tie: length) gives public_elevation",
];

/// Its items in the rule language.
pub fn items() -> Vec<String> {
    let named = |names: &[&str]| -> String {
        names
            .iter()
            .map(|name| format!(" {name} \"about {name}\""))
            .collect()
    };
    let bores: String = BORES
        .iter()
        .map(|labels| format!("  {}\n", labels.join(" or ")))
        .collect();
    let mut items = vec![
        format!("holds {{{} }}", named(&HOLDS)),
        format!("permits {{{} }}", named(&PERMITS)),
        format!("choice material \"what it is of\" {{ {} }}", MATERIALS.join(" ")),
        format!("size bore \"how wide it is\" {{\n{bores}}}"),
        "source norm {\n  title \"A norm (invented)\"\n  publisher \"Nobody (invented)\"\n  edition \"1\"\n  kind practice\n}".to_owned(),
    ];
    items.extend(THINGS.iter().map(declared));
    for (list, of) in THINGS[0].lists {
        items.push(format!("list {list} of {of} \"about {list}\""));
    }
    items.extend(
        SURVEYS
            .iter()
            .map(|survey| format!("survey {survey} \"computed\"")),
    );
    items
}

fn declared(thing: &Thing) -> String {
    let mut text = match thing.name {
        "site" => "extend site {\n".to_owned(),
        name => format!("thing {name} \"about {name}\" {} {{\n", thing.form),
    };
    for (at, fact) in thing.facts.iter().enumerate() {
        let origin = if fact.measured { "measured" } else { "stated" };
        let hold = HOLDS[at % HOLDS.len()];
        let (name, kind) = (fact.name, fact.kind.name());
        writeln!(
            text,
            "  {name} : {kind} {origin} \"about {name}\" by \"looking\" until {hold}"
        )
        .expect("a text takes more");
    }
    if thing.name != "site" {
        for (list, of) in thing.lists {
            writeln!(text, "  list {list} of {of} \"about {list}\"").expect("a text takes more");
        }
    }
    text.push('}');
    text
}

/// A number as a person might write it.
pub fn written(number: Exact) -> String {
    let (numerator, denominator) = (*number.numer(), *number.denom());
    if denominator == 1 {
        return numerator.to_string();
    }
    if denominator <= 64 && numerator > denominator {
        let whole = numerator / denominator;
        return format!("{whole} {}/{denominator}", numerator % denominator);
    }
    for (digits, power) in [(1, 10), (2, 100), (3, 1_000), (4, 10_000)] {
        let scaled = number * Ratio::from_integer(power);
        if *scaled.denom() == 1 {
            let sign = if numerator < 0 { "-" } else { "" };
            let scaled = scaled.numer().abs();
            return format!("{sign}{}.{:0digits$}", scaled / power, scaled % power);
        }
    }
    format!("{numerator}/{denominator}")
}

/// A day as it is written, by its number from 2020-01-01 on; days up to the end of February 2021.
pub fn day(number: i64) -> String {
    let first = jiff::civil::date(2020, 1, 1);
    let date = first.saturating_add(jiff::Span::new().days(number));
    date.to_string()
}
