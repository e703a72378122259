//! The vocabulary that the project ships, and the record that its documents show.

use crate::language;
use crate::record::read;
use crate::source::Sources;
use crate::vocabulary;

const RECORD: &str = "\
record: 1
lot: VM-07
place: [ aldmoor/sarnfell/velder_mills, aldmoor/upper_quarn_sewer_district ]
permits:
  plumbing:   { number: VM-26-0117, issued: 2026-03-02 }
  electrical: { number: E-26-4410, issued: 2026-03-19 }
  connection: { number: UQ-26-031, issued: 2026-02-24 }
recorded: { by: R. Ames, role: crew_lead, date: 2026-04-18 }
stage: before_cover
tolerances: { length: 1/4 in, elevation: 0.02 ft, others: exact }
datum: benchmark on the hydrant at Mill and Third
supply_cables:
  - id: SC-1
    length: 62 ft                            # the chainage of its end
    spans:
      - { from: 0 ft, to: 3 ft, wiring: pvc_80, location: rising_to_termination }
      - { from: 3 ft, to: 62 ft, wiring: direct_burial, location: yard, cover: 24 1/2 in }
building_sewers:
  - id: BS-1
    nominal_size: 4 in                       # a size: a label, not a reading
    length: 38 ft
    shots:                                   # invert and ground, along the run
      - { at: 0 ft,  ground: 812.40 ft, invert: 809.10 ft }
      - { at: 19 ft, ground: 812.10 ft, invert: 808.68 ft }
      - { at: 38 ft, ground: 811.60 ft, invert: 808.25 ft }
water_services: none
wells: [ { id: W-1 } ]
clearances: [ { from: BS-1, to: W-1, horizontal: 62 ft ± 0.1 ft } ]
";

#[test]
fn the_record_of_the_documents_is_read_with_the_shared_vocabulary() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/shared/vocabulary");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .expect("the vocabulary is there")
        .map(|entry| entry.expect("a file").path())
        .collect();
    paths.sort();
    let mut sources = Sources::default();
    let mut files = Vec::new();
    for path in paths {
        let text = std::fs::read_to_string(&path).expect("a text");
        let id = sources.add(path.to_string_lossy(), text);
        files.push((id, language::parse(&sources, id).expect("a file of rules")));
    }
    let files: Vec<_> = files.iter().map(|(id, file)| (*id, file)).collect();
    let vocabulary = vocabulary::build(&files).expect("a vocabulary");
    let id = sources.add("lot_07.yaml", RECORD);
    let record = read(&vocabulary, &sources, id).unwrap_or_else(|mistakes| panic!("{mistakes:#?}"));
    assert_eq!(record.things.len(), 10);
}
