//! Every value of the model rules, against a sheet of published provisions.
//!
//! `reference/provisions.csv` was made from that sheet and not from the rules: the value stands
//! there as it was read (or recalled: `memory`), with the document, the edition it was read in
//! and the section. `entry` is the sheet's name for it, empty where the sheet has no figure and the
//! value was recalled without it. A key is one cell of a table. What a formula or a package of a
//! registry gives as well is in `reference_tables/`.

use std::collections::{BTreeMap, BTreeSet};

use groundrule::check::typed::{Citation, Constant, DocumentKind, Library, Owner};
use groundrule::library::{embedded, open};
use groundrule::quantity::parse;

const SHEET: &str = include_str!("reference/provisions.csv");

struct Row {
    value: String,
    source: String,
    section: String,
    from_memory: bool,
}

/// By limit or table, and by cell.
type Sheet = BTreeMap<(String, String), Vec<Row>>;

fn sheet() -> Sheet {
    let mut sheet = Sheet::new();
    for line in SHEET.lines().skip(1) {
        let mut fields = fields(line).into_iter();
        let mut next = || fields.next().unwrap_or_else(|| panic!("too short: {line}"));
        let target = (next(), next());
        let row = Row {
            value: next(),
            source: next(),
            section: next(),
            from_memory: match next().as_str() {
                "memory" => true,
                "seen" => false,
                other => panic!("`{other}` in {line}"),
            },
        };
        sheet.entry(target).or_default().push(row);
    }
    sheet
}

/// The fields of a line, where one with a comma stands in quotes.
fn fields(line: &str) -> Vec<String> {
    let mut found = vec![String::new()];
    let mut quoted = false;
    for character in line.chars() {
        match character {
            '"' => quoted = !quoted,
            ',' if !quoted => found.push(String::new()),
            other => found.last_mut().expect("never empty").push(other),
        }
    }
    found
}

fn same(constant: &Constant, value: &str) -> bool {
    match constant {
        Constant::Number { value: ours, .. } => {
            let written = parse::quantity(value)
                .unwrap_or_else(|error| panic!("`{value}` of the sheet: {error:?}"));
            // A temperature is a point; everything else a plain quantity.
            written.nominal == *ours || written.point().is_some_and(|point| point == *ours)
        }
        Constant::Label { written, .. } => written == value,
    }
}

struct Held<'a> {
    library: &'a Library,
    sheet: Sheet,
    used: BTreeSet<(String, String)>,
    wrong: Vec<String>,
    compared: usize,
}

impl Held<'_> {
    fn is_practice(&self, citation: &Citation) -> bool {
        self.library.documents[citation.document.index()].kind == DocumentKind::Practice
    }

    /// One value, or equivalents, under its citations.
    fn holds(&mut self, of: &str, key: &str, values: &[&Constant], citations: &[Citation]) {
        let target = (of.to_owned(), key.to_owned());
        let Some(rows) = self.sheet.get(&target) else {
            if !citations.iter().all(|citation| self.is_practice(citation)) {
                self.wrong.push(format!("{of} ({key}) is not in the sheet"));
            }
            return;
        };
        self.compared += 1;
        for value in values {
            if !rows.iter().any(|row| same(value, &row.value)) {
                let known: Vec<&str> = rows.iter().map(|row| row.value.as_str()).collect();
                let written = value.written();
                self.wrong
                    .push(format!("{of} ({key}): {written}, in the sheet {known:?}"));
            }
        }
        for row in rows {
            let cited = citations.iter().any(|citation| {
                self.library.documents[citation.document.index()].name == row.source
                    && citation.section == row.section
                    && citation.from_memory == row.from_memory
            });
            if !cited {
                let (source, section) = (&row.source, &row.section);
                let memory = if row.from_memory {
                    "from memory"
                } else {
                    "not from memory"
                };
                self.wrong.push(format!(
                    "{of} ({key}) does not cite {source} \"{section}\" {memory}"
                ));
            }
            if !values.iter().any(|value| same(value, &row.value)) {
                self.wrong
                    .push(format!("{of} ({key}) lacks the sheet's {}", row.value));
            }
        }
        self.used.insert(target);
    }

    /// Every citation of a value is one that the sheet bears out.
    fn citations(&mut self, of: &str, citations: &[Citation]) {
        for citation in citations {
            if self.is_practice(citation) {
                continue;
            }
            let document = &self.library.documents[citation.document.index()].name;
            let borne_out = self
                .sheet
                .iter()
                .filter(|((target, _), _)| target == of)
                .flat_map(|(_, rows)| rows)
                .any(|row| row.source == *document && row.section == citation.section);
            if !borne_out {
                let section = &citation.section;
                self.wrong.push(format!(
                    "{of}: the sheet has nothing of {document} \"{section}\""
                ));
            }
        }
    }
}

#[test]
fn every_value_of_the_model_is_the_published_one() {
    let opened = open(&embedded()).expect("the embedded library has no mistakes");
    let library = &opened.library;
    let mut held = Held {
        library,
        sheet: sheet(),
        used: BTreeSet::new(),
        wrong: Vec::new(),
        compared: 0,
    };
    let of_model = |owner: Owner| match owner {
        Owner::Topic(topic) => library.topics[topic.index()].home.is_none(),
        Owner::Place(_) => false,
    };
    for limit in library.limits.iter().filter(|limit| of_model(limit.owner)) {
        if limit.values.is_empty() {
            continue;
        }
        let name = library.owned_name(limit.owner, &limit.name);
        let values: Vec<&Constant> = limit.values.iter().collect();
        held.holds(&name, "", &values, &limit.citations);
        held.citations(&name, &limit.citations);
    }
    for table in library.tables.iter().filter(|table| of_model(table.owner)) {
        let name = library.owned_name(table.owner, &table.name);
        for (at, cell) in table.cells.iter().enumerate() {
            if let Some(value) = &cell.value {
                let key = table.cell_name(&library.vocabulary, at);
                held.holds(&name, &key, &[value], &table.citations[..]);
            }
        }
        held.citations(&name, &table.citations);
    }
    for (of, key) in held
        .sheet
        .keys()
        .filter(|target| !held.used.contains(*target))
    {
        held.wrong
            .push(format!("{of} ({key}) of the sheet is in no rule"));
    }
    assert!(held.wrong.is_empty(), "{}", held.wrong.join("\n"));
    assert!(held.compared > 300, "only {} values", held.compared);
}
