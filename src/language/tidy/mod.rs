//! Rule text in, the same in its one layout out: every word and every comment, other white space.
//!
//! What is made of words goes by what they say. Of the old layout three things count: a blank
//! line between two items or two lines of one, whether a comment stands by itself or behind
//! something, and whether a comment between two items is indented.

mod columns;
mod expressions;
mod items;
mod piece;
mod words;

use pretty::Arena;

use super::error::SyntaxError;
use super::layout::Layout;
use super::parse::parse;
use crate::source::{Located, SourceId, Sources};

use items::Page;
use words::Words;

/// So many columns a line has, where it can be broken: texts never are.
const WIDTH: usize = 120;
/// So far a line stands in that belongs to another.
const INDENT: usize = 2;

/// Lays a file out.
///
/// The tree is the same but for its places, and the result is laid out already.
///
/// # Errors
///
/// The file's mistakes, as [`parse`] tells them: what does not read has no layout.
pub fn tidy(sources: &Sources, id: SourceId) -> Result<String, Vec<Located<SyntaxError>>> {
    parse(sources, id)?;
    let text = &sources.get(id).text;
    Ok(laid_out(&Layout::of(text, id)))
}

/// The layout of a text that reads.
fn laid_out(layout: &Layout<'_>) -> String {
    let words = Words::of(layout);
    let mut whole = String::new();
    for (at, item) in words.items.iter().enumerate() {
        let arena = Arena::new();
        let mut page = Page::new(&arena, &words);
        page.item(item);
        let written = page.finish();
        page_break(&mut whole, &words, item.words.start);
        whole.push_str(words::notes(&words, item.words.start, at > 0).as_str());
        if words.same_when_read(&written, item) {
            whole.push_str(&written);
        } else {
            // A number that ends its line and a unit's name on the next: on one line they'd be one.
            whole.push_str(words.verbatim(item));
        }
        words::trailing(&mut whole, words.all[item.words.end - 1].after.as_deref());
    }
    words::rest(&mut whole, &words);
    whole
}

/// A blank line where there was one, but not at the beginning.
fn page_break(whole: &mut String, words: &Words<'_>, first: usize) {
    let word = &words.all[first];
    let blank = word.before.first().map_or(word.blank, |note| note.blank);
    if blank && !whole.is_empty() {
        whole.push('\n');
    }
}
