//! The shipped rulesets as text, carried inside the binary.
//!
//! The folders beside this package's `src` are the rulesets: manifests, entries of the code, rules and trials. They are
//! plain text that people read and change; this crate only carries them, sorted by path.

#![deny(missing_docs)]

include!(concat!(env!("OUT_DIR"), "/files.rs"));

#[cfg(test)]
mod tests {
    use super::FILES;

    #[test]
    fn files_are_sorted_and_of_the_sorts_that_rulesets_are_made_of() {
        assert!(FILES.is_sorted_by(|a, b| a.0 < b.0));
        for (path, _) in FILES {
            assert!(path.ends_with(".toml") || path.ends_with(".rhai"), "{path}");
            assert!(!path.contains('\\') && !path.starts_with('/'), "{path}");
        }
    }
}
