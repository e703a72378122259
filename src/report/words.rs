//! Sentences that more than one form of output says.

use crate::finding::{Layer, Limit};

/// A limit and its way through the layers.
pub fn way_words(limit: &Limit) -> String {
    let steps: Vec<String> = limit.way.iter().map(layer_words).collect();
    format!("{}: {}", limit.name, steps.join(" → "))
}

fn layer_words(layer: &Layer) -> String {
    let mut inside = vec![layer.layer.clone()];
    if let Some(from) = &layer.from {
        inside.push(format!("from {from}"));
    }
    if let Some(until) = &layer.until {
        inside.push(format!("until {until}"));
    }
    if layer.layer != "model" {
        inside.push(layer.clause.clone());
    }
    if let Some(because) = &layer.because {
        inside.push(because.clone());
    }
    if let Some(note) = &layer.note {
        inside.push(note.to_uppercase());
    }
    format!("{} ({})", layer.value, inside.join("; "))
}
