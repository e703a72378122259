//! The recorded lots of the demo.

use std::path::Path;

/// Each by its name from the project's folder and its text, those of one place together.
pub fn demo_lots() -> Vec<(String, String)> {
    let mut lots = Vec::new();
    for place in ["velder_mills", "quern_landing", "hask_ferry"] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("demo")
            .join(place);
        for entry in std::fs::read_dir(folder).expect("the demo") {
            let path = entry.expect("an entry").path();
            if path.extension().is_none_or(|ending| ending != "yaml") {
                continue;
            }
            let file = path.file_name().expect("a name").to_string_lossy();
            let text = std::fs::read_to_string(&path).expect("a lot");
            lots.push((format!("demo/{place}/{file}"), text));
        }
    }
    assert!(lots.len() >= 28, "only {} lots", lots.len());
    lots
}
