//! Names of declared fields as texts that live as long as the program, so that they are of the same sort as those of the built-in table.

use std::collections::HashSet;
use std::sync::{Mutex, MutexGuard, PoisonError};

use ahash::RandomState;

/// The bytes of all declared names, words and questions that one run can hold: more than a thousand times what a country's places would
/// need. A text is kept once, however often it is read, so that a program that reads rulesets again and again does not grow.
const MOST_BYTES: usize = 16 << 20;

#[derive(Default)]
struct Pool {
    texts: HashSet<&'static str, RandomState>,
    lists: HashSet<&'static [&'static str], RandomState>,
    bytes: usize,
}

static POOL: Mutex<Option<Pool>> = Mutex::new(None);

fn pool() -> MutexGuard<'static, Option<Pool>> {
    // A pool is whole after every step: one left by a thread that stopped is as good as any.
    POOL.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Pool {
    fn text(&mut self, text: &str) -> Option<&'static str> {
        if let Some(known) = self.texts.get(text) {
            return Some(known);
        }
        self.bytes = self.bytes.checked_add(text.len()).filter(|bytes| *bytes <= MOST_BYTES)?;
        let kept: &'static str = Box::leak(Box::from(text));
        self.texts.insert(kept);
        Some(kept)
    }
}

/// Returns a text that lives as long as the program; nothing where no more can be held.
pub(crate) fn text(text: &str) -> Option<&'static str> {
    pool().get_or_insert_default().text(text)
}

/// Returns a list of words that lives as long as the program; nothing where no more can be held.
pub(crate) fn words(words: &[&str]) -> Option<&'static [&'static str]> {
    let mut pool = pool();
    let pool = pool.get_or_insert_default();
    let kept: Vec<&'static str> = words.iter().map(|word| pool.text(word)).collect::<Option<_>>()?;
    if let Some(known) = pool.lists.get(kept.as_slice()) {
        return Some(known);
    }
    let size = std::mem::size_of::<&str>() * kept.len();
    pool.bytes = pool.bytes.checked_add(size).filter(|bytes| *bytes <= MOST_BYTES)?;
    let kept: &'static [&'static str] = Box::leak(kept.into_boxed_slice());
    pool.lists.insert(kept);
    Some(kept)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_kept_once() {
        let first = text("a name of this test alone").unwrap();
        let again = text(&String::from("a name of this test alone")).unwrap();
        assert!(std::ptr::eq(first, again));
        let list = words(&["left", "right"]).unwrap();
        assert!(std::ptr::eq(list, words(&[&String::from("left"), "right"]).unwrap()));
        assert_ne!(list, words(&["right", "left"]).unwrap());
    }

    #[test]
    fn what_is_too_much_is_refused_and_takes_no_room() {
        let before = pool().get_or_insert_default().bytes;
        assert_eq!(text(&"x".repeat(MOST_BYTES + 1)), None);
        assert!(pool().get_or_insert_default().bytes < MOST_BYTES);
        assert!(before <= MOST_BYTES);
        assert!(text("a short one still fits").is_some());
    }
}
