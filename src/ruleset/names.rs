//! Which names a text of a ruleset may have, and which texts belong to a place.

use crate::library::{EDITIONS, SIGNERS, Texts, is_kept};
use crate::source::is_hidden;

/// The longest name of a text, in bytes.
const LONGEST_NAME: usize = 300;
/// The folder of the places.
const PLACES: &str = "jurisdictions/";

/// A place and those around it, the innermost first: `a/b`, `a`.
pub fn around(place: &str) -> impl Iterator<Item = &str> {
    std::iter::successors(Some(place), |inner| {
        inner.rsplit_once('/').map(|(outer, _)| outer)
    })
}

/// The texts that a place's rules are made of: the model, what all share, its own and those of the
/// places around it.
pub fn texts_of(place: &str, texts: &Texts) -> Texts {
    let belongs = |name: &str| match place_of(name) {
        Some(folder) => around(place).any(|known| known == folder),
        None => true,
    };
    let wanted = texts.0.iter().filter(|(name, _)| belongs(name));
    Texts(
        wanted
            .map(|(name, text)| (name.clone(), text.clone()))
            .collect(),
    )
}

/// The `signers` or `editions` of the nearest of a place and those around it that keeps any, and
/// which place that is.
pub fn text_around<'a>(place: &'a str, kind: &str, texts: &'a Texts) -> Option<(&'a str, &'a str)> {
    around(place).find_map(|known| {
        let text = texts.0.get(&format!("{PLACES}{known}/{kind}"))?;
        Some((known, text.as_str()))
    })
}

/// The folder of a place's text; none for a text of the model or of `shared/`.
pub(super) fn place_of(name: &str) -> Option<&str> {
    let rest = name.strip_prefix(PLACES)?;
    Some(rest.rsplit_once('/').map_or("", |(folder, _)| folder))
}

/// Why a text can't be called so, if it can't.
pub(super) fn mistake_of_name(name: &str) -> Option<String> {
    let says = |why: &str| Some(why.to_owned());
    if name.len() > LONGEST_NAME {
        return Some(format!("it is longer than {LONGEST_NAME} bytes"));
    }
    if let Some(hidden) = name.chars().find(|letter| is_hidden(*letter)) {
        return Some(format!(
            "it holds a character that isn't seen (U+{:04X})",
            u32::from(hidden)
        ));
    }
    if name.contains('\\') || name.contains(':') {
        return says("it holds `\\` or `:`; folders are parted by `/`");
    }
    if name.starts_with('/') {
        return says("it begins at the root of a disk");
    }
    if name.split('/').any(|part| matches!(part, "" | "." | "..")) {
        return says("it leads out of the library, or nowhere: `.`, `..` or an empty folder");
    }
    if !["rules/", "shared/", PLACES]
        .iter()
        .any(|folder| name.starts_with(folder))
    {
        return says("it doesn't lie in `rules/`, `shared/` or `jurisdictions/`");
    }
    if !is_kept(name) {
        return Some(format!(
            "it is no text of a library: those end in `.rules`, or are the `{SIGNERS}` or `{EDITIONS}` of a place"
        ));
    }
    None
}

/// Why a place can't be called so, if it can't.
pub(super) fn mistake_of_place(place: &str) -> Option<String> {
    mistake_of_name(&format!("{PLACES}{place}/place.rules"))
}
