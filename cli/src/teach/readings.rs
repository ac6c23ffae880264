//! The log of readings taken on a drill: each reading carries a mark that follows from the one before, so that none can be taken out or
//! put in unseen. It keeps honest people honest; who takes the program apart can make the marks.

use serde::{Deserialize, Serialize};

use super::seed::Seed;

/// The log in the folder of a drill.
pub(crate) const READINGS_FILE: &str = "readings.toml";

/// A log of readings.
#[derive(Clone, Debug, Default, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Log {
    /// Readings in the order in which they were taken.
    #[serde(default)]
    pub(crate) reading: Vec<Taken>,
}

/// A reading.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Taken {
    /// Where the probes were, in which state.
    pub(crate) of: String,
    /// What the meter showed.
    pub(crate) shows: String,
    /// Follows from all before.
    pub(crate) mark: String,
}

fn mark(drill: u64, before: &str, of: &str, shows: &str) -> String {
    let mut sum = Seed::new(drill).number();
    for byte in [before, of, shows].join("\n").bytes() {
        sum = Seed::new(sum ^ u64::from(byte)).number();
    }
    format!("{sum:016x}")
}

impl Log {
    /// Adds a reading.
    pub(crate) fn add(&mut self, drill: u64, of: String, shows: String) {
        let before = self.reading.last().map_or("", |taken| taken.mark.as_str());
        let mark = mark(drill, before, &of, &shows);
        self.reading.push(Taken { of, shows, mark });
    }

    /// Returns whether every reading is as it was taken, on this drill, with none left out between.
    pub(crate) fn is_whole(&self, drill: u64) -> bool {
        let mut before = "";
        self.reading.iter().all(|taken| {
            let right = mark(drill, before, &taken.of, &taken.shows) == taken.mark;
            before = &taken.mark;
            right
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_that_was_changed_is_not_whole() {
        let mut log = Log::default();
        for shows in ["120 V", "0 V", "open"] {
            log.add(3, String::from("a to b"), String::from(shows));
        }
        assert!(log.is_whole(3) && !log.is_whole(4));
        let mut less = log.clone();
        less.reading.remove(1);
        assert!(!less.is_whole(3));
        let mut other = log.clone();
        other.reading[0].shows = String::from("0 V");
        assert!(!other.is_whole(3));
    }
}
