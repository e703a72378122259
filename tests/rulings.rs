//! Verdicts without words, of lots as they are recorded.

use std::sync::LazyLock;

use groundrule::judge::{self, Judged};
use groundrule::library::{Opened, embedded, open};
use groundrule::record;
use groundrule::source::Sources;

mod agreement;
mod archive;
mod lots;

use agreement::rulings_are_the_judgements;
use lots::demo_lots;

static LIBRARY: LazyLock<Opened> =
    LazyLock::new(|| open(&embedded()).expect("the library inside the program opens"));

fn judged(name: &str, text: &str) -> Option<Judged> {
    let mut sources = Sources::default();
    let id = sources.add(name, text);
    let record = record::read(&LIBRARY.library.vocabulary, &sources, id).ok()?;
    judge::report(LIBRARY.setting(), record, &sources, id).ok()
}

#[test]
fn rulings_on_every_demo_lot_are_its_judgements() {
    let mut rulings = 0;
    let lots = demo_lots();
    for (name, text) in &lots {
        let judged = judged(name, text).expect("a lot that is judged");
        rulings += rulings_are_the_judgements(&LIBRARY, &judged);
    }
    assert!(rulings > 100 * lots.len(), "{rulings} rulings");
}

#[test]
fn rulings_on_a_generated_archive_are_its_judgements() {
    let lines = archive::Archive::new(7).take(300);
    let judged: Vec<Judged> = lines.filter_map(|line| judged("archive", &line)).collect();
    assert!(judged.len() > 250, "{} are judged", judged.len());
    for judged in &judged {
        assert!(rulings_are_the_judgements(&LIBRARY, judged) > 0);
    }
}

#[test]
fn most_rules_are_walked_with_floats() {
    let text = archive::Archive::new(7).next().expect("a record");
    let judged = judged("archive", &text).expect("it is judged");
    let (quick, all) = (
        judged.chosen.quick(&LIBRARY.library.vocabulary).count(),
        judged.chosen.program.rules.len(),
    );
    assert!(quick * 10 > all * 7, "{quick} of {all} rules");
}
