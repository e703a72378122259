//! From a YAML record to answers, beside other readers that only fill a plain struct.

use std::hint::black_box;

use groundrule::library::Opened;

use crate::archive::Lot;
use crate::block::block;
use crate::crew;
use crate::measure::{Contestant, race};
use crate::ours::{Reader, Rules, first_of};
use crate::table::{Bound, Line};

const ROUNDS: usize = 15;

/// Races the readers and tells what came of it.
pub fn yaml(opened: &Opened, lots: &[Lot]) -> Vec<Line> {
    let whole = lots.iter().filter(|lot| !lot.broken);
    let texts: Vec<String> = whole.map(|lot| block(&lot.written)).collect();
    let rules = Rules::of(opened, &first_of(opened, &texts));
    let reader = Reader::new(opened, &rules);
    let mut contestants = [
        Contestant::new("groundrule, to judgements", || {
            reader.judge_whole_texts(&rules, &texts);
        }),
        Contestant::new("groundrule, without positions", || {
            reader.judge_texts(&rules, &texts);
        }),
        Contestant::new("serde_yaml into a plain struct", || {
            for text in &texts {
                let read: Result<crew::Record<'_>, _> = serde_yaml::from_str(black_box(text));
                assert!(black_box(read).is_ok(), "what is not read costs nothing");
            }
        }),
        Contestant::new("serde-saphyr into a plain struct", || {
            for text in &texts {
                let read: Result<crew::Record<'_>, _> = serde_saphyr::from_str(black_box(text));
                assert!(black_box(read).is_ok(), "what is not read costs nothing");
            }
        }),
    ];
    race(ROUNDS, &mut contestants, 0);
    let [ours, figures, serde, saphyr] = &contestants;
    vec![
        Line::own(ours, texts.len(), "with positions"),
        Line::own(figures, texts.len(), "the figures alone"),
        Line::beside(serde, texts.len(), ours, Some(Bound::AtMost(1.0))),
        Line::beside(saphyr, texts.len(), ours, None),
    ]
}
