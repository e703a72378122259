//! Which name somebody may have meant.

/// How many names a message lists at the most.
const MOST_LISTED: usize = 8;

/// The longest name that is compared with others, in bytes.
const LONGEST_COMPARED: usize = 100;

/// The nearest name if one is near, else those there are.
pub fn suggest<'a>(name: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    match nearest(name, known.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => list("write", known),
    }
}

/// The name most like `name`, if any is like it at all; of equally near ones the first.
pub fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let furthest = (name.chars().count() / 3).clamp(1, 3);
    let lower = name.to_lowercase();
    known
        .filter(|candidate| lower.len().max(candidate.len()) <= LONGEST_COMPARED)
        .map(|candidate| (distance(&lower, candidate), candidate))
        .filter(|(distance, _)| *distance <= furthest)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// The names most like `name`, the nearest first, whether they are near or not.
pub fn nearest_first<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let lower = name.to_lowercase();
    let mut names: Vec<_> = known.collect();
    names.sort_by_key(|candidate| distance(&lower, candidate));
    names
}

/// `write one of a, b, c`, shortened where there are many.
pub fn list<'a>(verb: &str, known: impl Iterator<Item = &'a str>) -> String {
    let names: Vec<_> = known.map(|name| format!("`{name}`")).collect();
    match names.as_slice() {
        [] => "nothing can be written here".into(),
        [only] => format!("{verb} {only}"),
        names if names.len() <= MOST_LISTED => format!("{verb} one of {}", names.join(", ")),
        names => format!(
            "{verb} one of {} … ({} in all)",
            names[..MOST_LISTED].join(", "),
            names.len()
        ),
    }
}

/// Slips between the two; a name written with spaces or hyphens is the same name.
fn distance(lower: &str, candidate: &str) -> usize {
    let plain = |text: &str| text.replace([' ', '-'], "_");
    strsim::osa_distance(&plain(lower), &plain(&candidate.to_lowercase()))
}
